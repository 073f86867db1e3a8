package command

import (
	"context"
	"fmt"
	"regexp"
	"strconv"
	"strings"
	"time"

	"kitbell/bot"
	"kitbell/bot/department"
	"kitbell/bot/kit"
	"kitbell/schedule"
)

// ConvertCommand brings kits from one version of the kit list to the next.
func ConvertCommand() Command {
	return Command{
		Name:    convertVerb,
		Usage:   "kit list, or: {rig} converted to version 3",
		For:     department.Lead,
		Summary: "See which kits are not on the list in force yet, and what brings them there.",
		Run:     convert,
	}
}

const convertVerb = "convert"

// listTopic begins the topic of a due thing that announces a list; its version
// follows. listKind is the journal's word for a list that was announced.
const (
	listTopic = "list"
	listKind  = "list-announced"
)

var (
	listWords      = regexp.MustCompile(`^(?:the )?(?:kit lists?|list versions?|conversions?|who is not converted|which kits are not converted|what changed (?:in|on) the (?:kit )?list)$`)
	convertedWords = regexp.MustCompile(`\b(?:converted|repacked|brought)\b.*\b(?:version|list|v)\s*(\d{1,4})\b|\b(?:converted|repacked)\b`)
)

// convert shows what is not converted, or takes a conversion: a tap's
// UNIT:KIT:VERSION, or in words.
func convert(ctx context.Context, r *Request) (Result, error) {
	fleet, err := r.fleet(ctx)
	if err != nil {
		return Result{}, err
	}
	switch what, ref := press(r.Ref); what {
	case "done":
		id, version := press(ref)
		k, ok := fleet.Kit(id)
		if n, err := strconv.Atoi(version); !ok || err != nil || n != r.Department.InForce {
			return Result{}, bot.SayOldButton.With()
		}
		return r.converted(ctx, k)
	case "say":
		k, err := r.kitOn(ctx, firstOf(r.Reading.Unit, r.Who.Unit))
		if err != nil {
			return Result{}, err
		}
		said := convertedWords.FindStringSubmatch(strings.ToLower(r.Event.Text))
		if said != nil && said[1] != "" && said[1] != strconv.Itoa(r.Department.InForce) {
			return Result{}, bot.SayListForce.With(r.Department.InForce)
		}
		return r.converted(ctx, k)
	}
	return Answer(r.listPage(fleet)), nil
}

func firstOf(a, b string) string {
	if a != "" {
		return a
	}
	return b
}

// listPage says which kits are not on the list in force, and what each lacks.
func (r *Request) listPage(fleet kit.Fleet) bot.Reply {
	reply := bot.Reply{Title: fmt.Sprintf("Kit list, version %d in force", r.Department.InForce)}
	for _, k := range fleet.All() {
		if k.List == r.Department.InForce {
			continue
		}
		reply.Steps = append(reply.Steps, fmt.Sprintf("Kit %s %s, version %d: %s", k.ID, r.whereWords(k.Place), k.List, r.changeWords(k)))
		reply.Buttons = append(reply.Buttons, r.convertButton(k))
	}
	if len(reply.Steps) == 0 {
		reply.Text = "Every kit is packed to it."
	} else {
		reply.Text = "Not converted yet. Old records keep the list that they were made with."
	}
	return reply
}

func (r *Request) convertButton(k kit.Kit) bot.Button {
	return bot.Button{Label: fmt.Sprintf("%s converted", k.ID), Value: fmt.Sprintf("%s:done:%s:%d", convertVerb, k.ID, r.Department.InForce)}
}

// changeWords say what brings a kit to the list in force.
func (r *Request) changeWords(k kit.Kit) string {
	old, _ := r.Department.ListOf(k)
	now, _ := r.Department.List(r.Department.InForce)
	var words []string
	for _, c := range kit.Changes(old, now) {
		switch {
		case c.From == 0:
			words = append(words, fmt.Sprintf("put in %d × %s", c.To, r.itemName(c.Item)))
		case c.To == 0:
			words = append(words, fmt.Sprintf("take out %s", r.itemName(c.Item)))
		case c.To > c.From:
			words = append(words, fmt.Sprintf("put in %d more × %s", c.To-c.From, r.itemName(c.Item)))
		default:
			words = append(words, fmt.Sprintf("take out %d × %s", c.From-c.To, r.itemName(c.Item)))
		}
	}
	if len(words) == 0 {
		return "nothing to change but its record"
	}
	return strings.Join(words, "; ")
}

// converted notes that a kit is packed to the list in force. Open lines about
// what leaves the kit are named: they are somebody's to settle, and nothing is
// closed behind their back.
func (r *Request) converted(ctx context.Context, k kit.Kit) (Result, error) {
	if k.List == r.Department.InForce {
		return Result{}, bot.SayOnList.With(k.ID, k.List)
	}
	if !r.Who.May(department.Officer) {
		return Result{}, bot.SayOfficerOnly.With()
	}
	open, err := r.openOn(ctx, k.ID)
	if err != nil {
		return Result{}, err
	}
	now, _ := r.Department.List(r.Department.InForce)
	text := fmt.Sprintf("Kit %s is packed to version %d: %s.", k.ID, r.Department.InForce, r.changeWords(k))
	var buttons []bot.Button
	for _, l := range open {
		if _, listed := now.Line(l.Item); !listed {
			text += fmt.Sprintf(" #%d is about the %s, which leaves the kit: settle it too.", l.Number, r.itemName(l.Item))
			buttons = append(buttons, bot.Button{Label: fmt.Sprintf("#%d: not a fault", l.Number), Value: queueValue("no-fault", l.Number, l.Version)})
		}
	}
	entry := bot.NewEntry(kitPackedKind, k.ID, r.Who.Person, r.Now, kit.Packing{Kit: k.ID, List: r.Department.InForce})
	return Result{
		Posts:   []Post{{Reply: bot.Reply{Text: text, Buttons: append(buttons, r.undoButton())}}},
		Changes: []bot.Change{bot.Written{Entry: entry}},
	}, nil
}

// announced is the body of a journal entry: a list whose crews have been told.
type announced struct {
	List int `json:"list"`
}

// announceList makes a new list due in the post of every rig whose kit is not on
// it, once for each version.
func (b *Bundler) announceList(ctx context.Context, desk *Desk, now time.Time) ([]bot.Change, error) {
	p := b.page(desk, "", now)
	before, err := fold(ctx, p.Request, listKind, bodies[announced])
	if err != nil {
		return nil, err
	}
	version := desk.Department.InForce
	for _, one := range before {
		if one.List == version {
			return nil, nil
		}
	}
	fleet, err := p.fleet(ctx)
	if err != nil {
		return nil, err
	}
	changes := []bot.Change{bot.Written{Entry: bot.NewEntry(listKind, fmt.Sprintf("list:%d", version), "", now, announced{version})}}
	for _, k := range fleet.All() {
		if k.List != version && k.Place.Kind == kit.OnUnit {
			changes = append(changes, schedule.Fell{Due: schedule.Due{
				Entry: fmt.Sprintf("list-%d", version), Wall: k.ID, Unit: k.Place.At, Kind: schedule.NewsDue, Topic: fmt.Sprintf("%s:%s", listTopic, k.ID), At: now,
			}})
		}
	}
	return changes, nil
}

// addList tells a crew what brings its kit to the list in force.
func (p page) addList(ctx context.Context, reply *bot.Reply, id string) error {
	fleet, err := p.fleet(ctx)
	if err != nil {
		return err
	}
	k, _ := fleet.Kit(id)
	reply.Fields = append(reply.Fields, bot.Field{Name: fmt.Sprintf("Kit list, version %d", p.Department.InForce), Value: upperFirst(p.changeWords(k)) + ". An officer taps when it is done."})
	reply.Buttons = append(reply.Buttons, p.convertButton(k))
	return nil
}
