package command

import (
	"context"
	"fmt"
	"hash/fnv"
	"math/rand/v2"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	"kitbell/bot"
	"kitbell/bot/department"
	"kitbell/bot/kit"
)

// SpotAuditCommand looks each quarter whether the records are what is in the
// kits: somebody from outside the crew looks at a few random lines.
func SpotAuditCommand() Command {
	return Command{
		Name:    auditVerb,
		Usage:   "spot audit",
		For:     department.Lead,
		Summary: "Once a quarter: compare a few kits that are not your crew's with the records.",
		Run:     spotAudit,
	}
}

// The verb of the command, and the journal's word for one audited kit.
const (
	auditVerb = "audit"
	auditKind = "spot-audit"
)

var auditWords = regexp.MustCompile(`^(?:the )?spot audits?$|^audit(?: kits?)?$`)

// How much an audit looks at: common practice, no source.
const (
	auditShare = 4 // one kit in so many, one at least
	auditLines = 6
)

// audited is the body of an entry: what somebody found in one kit.
type audited struct {
	Quarter string   `json:"quarter"`
	Kit     string   `json:"kit"`
	Lines   []string `json:"lines"`
	Matched int      `json:"matched"`
}

// quarter names the quarter of a moment: 2026-Q4.
func (r *Request) quarter(t time.Time) string {
	local := t.In(r.Department.Zone)
	return fmt.Sprintf("%d-Q%d", local.Year(), (int(local.Month())+2)/3)
}

// auditPick draws the quarter's kits and each one's lines. The same quarter
// draws the same ones, whoever asks, and nobody can choose.
func (r *Request) auditPick(fleet kit.Fleet, quarter string) map[string][]string {
	h := fnv.New64a()
	fmt.Fprint(h, r.Department.Slug, quarter)
	draw := rand.New(rand.NewPCG(h.Sum64(), 1))
	kits := slices.DeleteFunc(fleet.All(), func(k kit.Kit) bool { return k.Place.Kind != kit.OnUnit })
	draw.Shuffle(len(kits), func(i, j int) { kits[i], kits[j] = kits[j], kits[i] })
	picked := map[string][]string{}
	for _, k := range kits[:min(len(kits), max(1, len(kits)/auditShare))] {
		list, _ := r.Department.ListOf(k)
		var items []string
		for _, i := range draw.Perm(len(list.Lines)) {
			if len(items) < auditLines {
				items = append(items, list.Lines[i].Item)
			}
		}
		picked[k.ID] = items
	}
	return picked
}

// spotAudit shows the quarter's kits, one kit's lines, or takes what was found:
// see:KIT, or found:QUARTER:KIT:MATCHED.
func spotAudit(ctx context.Context, r *Request) (Result, error) {
	fleet, err := r.fleet(ctx)
	if err != nil {
		return Result{}, err
	}
	done, err := fold(ctx, r, auditKind, bodies[audited])
	if err != nil {
		return Result{}, err
	}
	quarter := r.quarter(r.Now)
	picked := r.auditPick(fleet, quarter)
	switch what, ref := press(r.Ref); what {
	case "see":
		return r.auditKit(ctx, fleet, picked, ref)
	case "found":
		parts := append(strings.Split(ref, ":"), "", "")
		matched, err := strconv.Atoi(parts[2])
		lines, drawn := picked[parts[1]]
		if parts[0] != quarter || err != nil || !drawn || matched < 0 || matched > len(lines) {
			return Result{}, bot.SayOldButton.With()
		}
		return r.auditFound(fleet, done, audited{Quarter: quarter, Kit: parts[1], Lines: lines, Matched: matched})
	}
	return Answer(r.auditPage(fleet, picked, done, quarter)), nil
}

// auditPage says what the quarter's audit has found so far.
func (r *Request) auditPage(fleet kit.Fleet, picked map[string][]string, done []audited, quarter string) bot.Reply {
	reply := bot.Reply{Title: "Spot audit, " + quarter, Text: r.auditWords(done, quarter)}
	for _, k := range fleet.All() {
		if _, drawn := picked[k.ID]; !drawn {
			continue
		}
		i := slices.IndexFunc(done, func(a audited) bool { return a.Quarter == quarter && a.Kit == k.ID })
		if i >= 0 {
			reply.Steps = append(reply.Steps, fmt.Sprintf("Kit %s %s: %d of %d lines", k.ID, r.whereWords(k.Place), done[i].Matched, len(done[i].Lines)))
			continue
		}
		reply.Steps = append(reply.Steps, fmt.Sprintf("Kit %s %s: not looked at yet", k.ID, r.whereWords(k.Place)))
		reply.Buttons = append(reply.Buttons, bot.Button{Label: "Look at " + k.ID, Value: auditVerb + ":see:" + k.ID})
	}
	return reply
}

// auditWords say how far the records were right in a quarter.
func (r *Request) auditWords(done []audited, quarter string) string {
	matched, lines := 0, 0
	for _, a := range done {
		if a.Quarter == quarter {
			matched, lines = matched+a.Matched, lines+len(a.Lines)
		}
	}
	if lines == 0 {
		return "Nobody has looked yet. Somebody from outside the crew looks at a few lines of each kit."
	}
	return fmt.Sprintf("Records matched the kit on %d of %d lines.", matched, lines)
}

// auditKit shows what the records say of the lines that were drawn.
func (r *Request) auditKit(ctx context.Context, fleet kit.Fleet, picked map[string][]string, id string) (Result, error) {
	k, ok := fleet.Kit(id)
	lines, drawn := picked[id]
	if !ok || !drawn {
		return Result{}, bot.SayOldButton.With()
	}
	if err := r.mayAudit(k); err != nil {
		return Result{}, err
	}
	open, err := r.openOn(ctx, id)
	if err != nil {
		return Result{}, err
	}
	list, _ := r.Department.ListOf(k)
	reply := bot.Reply{Title: fmt.Sprintf("Kit %s %s: what the records say", id, r.whereWords(k.Place)), Text: "Look at each line. How many are as recorded?"}
	for _, item := range lines {
		on, _ := list.Line(item)
		words := fmt.Sprintf("%d × %s", on.Qty, r.itemName(item))
		for _, l := range open {
			if l.Item == item {
				words += fmt.Sprintf(", but #%d: %s", l.Number, r.lineWords(l))
			}
		}
		reply.Steps = append(reply.Steps, words)
	}
	for n := len(lines); n >= 0; n-- {
		label := strconv.Itoa(n)
		if n == len(lines) {
			label = "All " + label
		}
		reply.Buttons = append(reply.Buttons, bot.Button{Label: label, Value: fmt.Sprintf("%s:found:%s:%s:%d", auditVerb, r.quarter(r.Now), id, n)})
	}
	return Answer(reply), nil
}

// mayAudit says why the speaker cannot audit a kit: it is their own crew's.
func (r *Request) mayAudit(k kit.Kit) error {
	if !r.Who.May(department.Crew) {
		return bot.SayNotYours.With()
	}
	if k.Place.At == r.Who.Unit {
		return bot.SayOwnKit.With()
	}
	return nil
}

// auditFound keeps what was found. A kit is looked at once a quarter.
func (r *Request) auditFound(fleet kit.Fleet, done []audited, a audited) (Result, error) {
	k, _ := fleet.Kit(a.Kit)
	if err := r.mayAudit(k); err != nil {
		return Result{}, err
	}
	if slices.ContainsFunc(done, func(d audited) bool { return d.Quarter == a.Quarter && d.Kit == a.Kit }) {
		return Result{}, bot.SayAudited.With(a.Kit)
	}
	text := fmt.Sprintf("Kit %s: %d of %d lines as recorded. %s", a.Kit, a.Matched, len(a.Lines), r.auditWords(append(slices.Clone(done), a), a.Quarter))
	if a.Matched < len(a.Lines) {
		text += " Report what differs, so that the records are right again: name the rig and the tool."
	}
	entry := bot.NewEntry(auditKind, a.Kit, r.Who.Person, r.Now, a)
	return Result{
		Posts:   []Post{{Reply: bot.Reply{Text: text, Buttons: []bot.Button{r.undoButton()}}}},
		Changes: []bot.Change{bot.Written{Entry: entry}},
	}, nil
}
