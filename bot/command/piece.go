package command

import (
	"context"
	"fmt"
	"regexp"
	"strings"
	"time"

	"kitbell/bot"
	"kitbell/bot/department"
	"kitbell/bot/kit"
)

// PieceCommand keeps since when a kit's tool serves, and its number and lot: what
// a stop-use by lot and the yearly request go by.
func PieceCommand() Command {
	return Command{
		Name:    pieceVerb,
		Usage:   "{rig} air wedge in service 2026-01-10, number 12, lot 7",
		For:     department.Officer,
		Summary: "Note since when a tool serves, its number and its lot. pieces {rig} shows a kit's.",
		Run:     notePiece,
	}
}

// The verb of the command, and the journal's word for what is told of a tool.
const (
	pieceVerb = "piece"
	pieceKind = "piece"
)

var (
	pieceSaid   = regexp.MustCompile(`\b(?:in service|serves|since|new) (?:since |from )?(\d{4}-\d{2}-\d{2}|\d{4}-\d{2})\b|\bin service\b.*\b(?:number|no\.?|lot)\b|\b(?:serial|marked) (?:number|no\.?)\b`)
	pieceAsked  = regexp.MustCompile(`^pieces\b`)
	pieceNumber = regexp.MustCompile(`(?i)\b(?:number|serial|no\.?)\s*(?:number|no\.?)?\s*#?([a-z0-9-]*\d[a-z0-9-]*)\b`)
	pieceMonth  = regexp.MustCompile(`\b(\d{4})-(\d{2})(?:-(\d{2}))?\b`)
)

func notePiece(ctx context.Context, r *Request) (Result, error) {
	k, err := r.kitOn(ctx, firstOf(r.Reading.Unit, r.Who.Unit))
	if err != nil {
		return Result{}, err
	}
	told, err := r.pieces(ctx)
	if err != nil {
		return Result{}, err
	}
	if r.Ref == "list" {
		return Answer(r.piecePage(k, told)), nil
	}
	list, _ := r.Department.ListOf(k)
	switch items := r.Reading.Items; {
	case len(items) != 1:
		return Result{}, bot.SayWhichPiece.With()
	case !r.Who.May(department.Officer):
		return Result{}, bot.SayOfficerOnly.With()
	default:
		if _, listed := list.Line(items[0]); !listed {
			return Result{}, bot.SayNoSuchPiece.With(r.itemName(items[0]), k.ID, k.List)
		}
	}
	p := kit.Piece{Kit: k.ID, Item: r.Reading.Items[0], Lot: r.Reading.Lot}
	if m := pieceNumber.FindStringSubmatch(r.Event.Text); m != nil {
		p.Number = m[1]
	}
	if m := pieceMonth.FindStringSubmatch(r.Event.Text); m != nil {
		day := m[3]
		if day == "" {
			day = "01"
		}
		since, err := time.ParseInLocation(time.DateOnly, m[1]+"-"+m[2]+"-"+day, r.Department.Zone)
		if err != nil || since.After(r.Now) {
			return Result{}, bot.SayServesSince.With()
		}
		p.Since = since
	}
	entry := bot.NewEntry(pieceKind, k.ID, r.Who.Person, r.Now, p)
	return Result{
		Posts:   []Post{{Reply: bot.Reply{Text: fmt.Sprintf("Kit %s, %s.", k.ID, r.pieceWords(p)), Buttons: []bot.Button{r.undoButton()}}}},
		Changes: []bot.Change{bot.Written{Entry: entry}},
	}, nil
}

func (r *Request) pieces(ctx context.Context) ([]kit.Piece, error) {
	return fold(ctx, r, pieceKind, func(entries []bot.Entry) ([]kit.Piece, error) {
		told, err := bodies[kit.Piece](entries)
		return kit.Pieces(told), err
	})
}

func (r *Request) piecePage(k kit.Kit, told []kit.Piece) bot.Reply {
	reply := bot.Reply{Title: fmt.Sprintf("Kit %s %s: its tools", k.ID, r.whereWords(k.Place))}
	for _, p := range told {
		if p.Kit == k.ID {
			reply.Steps = append(reply.Steps, r.pieceWords(p))
		}
	}
	if len(reply.Steps) == 0 {
		reply.Text = "Nothing is noted of them. An officer says it like this: {rig} air wedge in service 2026-01-10, number 12, lot 7."
	}
	return reply
}

func (r *Request) pieceWords(p kit.Piece) string {
	words := []string{r.itemName(p.Item)}
	if !p.Since.IsZero() {
		words = append(words, "in service since "+p.Since.In(r.Department.Zone).Format("2 Jan 2006"))
	}
	if p.Number != "" {
		words = append(words, "number "+p.Number)
	}
	if p.Lot != "" {
		words = append(words, "lot "+p.Lot)
	}
	return strings.Join(words, ", ")
}
