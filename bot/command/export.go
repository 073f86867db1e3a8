package command

import (
	"cmp"
	"context"
	"encoding/json"
	"fmt"
	"regexp"
	"slices"
	"strings"
	"time"

	"kitbell/bot"
	"kitbell/bot/budget"
	"kitbell/bot/kit"
	"kitbell/bot/sheet"
)

// Exported is one dated record of what a department did, for whoever asks for its
// records. It names nobody.
type Exported struct {
	Kind    string          `json:"kind"` // as in ExportKinds
	Date    string          `json:"date"` // with its time, in the department's zone
	Unit    string          `json:"unit,omitempty"`
	Platoon string          `json:"platoon,omitempty"`
	Kit     string          `json:"kit,omitempty"`
	Item    string          `json:"item,omitempty"`
	What    string          `json:"what"`              // in a few words
	Details json.RawMessage `json:"details,omitempty"` // the record, but for what is left out

	at time.Time
}

// ExportFilter says which records are wanted. Zero fields want all.
type ExportFilter struct {
	From, To time.Time // To is the first instant that is not wanted
	Unit     string
	Kinds    []string
}

// LeftOut is a kind of record that is not handed out, and why.
type LeftOut struct{ Kind, Why string }

// queueExport is the kind of the queue's steps, which are no journal.
const queueExport = "queue"

// exportKinds are the kinds of the journal that are handed out, by the name under
// which they are. A kind is here or in leftOutKinds: a test sees to it.
var exportKinds = map[string]string{
	adoptedKind: "card adoptions", auditKind: "spot audits", budget.StepKind: "requests", budgetAskKind: "request lines", checkKind: "kit checks",
	drillGivenKind: "drills", entryCallsKind: "entry calls", kitMovedKind: "kit moves", kitPackedKind: "kit lists", kitSealedKind: "seals", listKind: "list news",
	loanKind: "loans", pieceKind: "tools", raisedKind: "late lines", rollOutKind: "roll-outs", sessionKind: "training sessions", sharedDoorKind: "shared doors",
	shelfKind: "shelves", stopUseKind: "stop-uses", useKind: "uses", wishKind: "wishes", wishAnswerKind: "wish answers",
}

// leftOutKinds are the others, with the reason.
var leftOutKinds = map[string]string{
	accessKind: "about one person's access", accountKind: "about one person's account", actingKind: "about one person's role", bookKind: "about one person; kitbell taskbook prints a signed page",
	bundleKind: "the schedule's own bookkeeping", drillKind: "each member's own answer", noteKind: "words for one desk, which may name people",
	photoKind: "pictures", ridingKind: "about one person's tour", seenKind: "about one person", settledKind: "the lead's own bookkeeping",
	transferKind: "about one person", unansweredKind: "questions in people's own words",
}

// personal are the keys of a record that name a person, or are words that may.
var personal = []string{
	"by", "member", "name", "names", "person", "signer", "instructor", "asker", "fetch", "fetcher", "account", "accounts", "crewed_by", "confirmed_by",
	"note", "notes", "incident", "frozen", "event", "key", "asked",
}

// ExportKinds lists the names of what is handed out.
func ExportKinds() []string {
	names := []string{queueExport}
	for _, name := range exportKinds {
		names = append(names, name)
	}
	slices.Sort(names)
	return names
}

// ExportedAs says under which name a kind of the journal is handed out, or else why
// it is not; both are empty for a kind that nobody has decided on.
func ExportedAs(kind string) (name, leftOutBecause string) {
	return exportKinds[kind], leftOutKinds[kind]
}

// NotExported lists what is not, and why.
func NotExported() []LeftOut {
	out := []LeftOut{
		{"names of people", "who did it is not part of the record; signed training records by name are in kitbell training"},
		{"notes, incident numbers", "they may lead to people and addresses"},
	}
	for kind, why := range leftOutKinds {
		words, _ := KindWords(kind)
		out = append(out, LeftOut{strings.TrimPrefix(strings.TrimPrefix(words, "the "), "your "), why})
	}
	slices.SortStableFunc(out[2:], func(a, b LeftOut) int { return cmp.Compare(a.Kind, b.Kind) })
	return out
}

// Export gives a department's records, oldest first. The error is the store's, or a
// *bot.UserError for a kind or a rig that there is not.
func Export(ctx context.Context, d *Desk, books Books, filter ExportFilter) ([]Exported, error) {
	r := &Request{Desk: d, Books: books}
	for _, name := range filter.Kinds {
		if !slices.Contains(ExportKinds(), name) {
			return nil, bot.SayExportKind.With(name, strings.Join(ExportKinds(), ", "))
		}
	}
	if _, ok := d.Department.Unit(filter.Unit); filter.Unit != "" && !ok {
		return nil, bot.SayNoRig.With(d.Department.Units[0].Name)
	}
	var all []Exported
	steps, err := books.LineSteps(ctx, d.Department.Slug)
	if err != nil {
		return nil, fmt.Errorf("read steps of lines: %w", err)
	}
	for _, c := range steps {
		all = append(all, r.exportedStep(c))
	}
	for kind, name := range exportKinds {
		entries, err := books.Entries(ctx, d.Department.Slug, kind, "", time.Time{})
		if err != nil {
			return nil, fmt.Errorf("read %s: %w", name, err)
		}
		for _, e := range entries {
			one, err := r.exportedEntry(name, e)
			if err != nil {
				return nil, err
			}
			all = append(all, one)
		}
	}
	all = slices.DeleteFunc(all, func(e Exported) bool { return !filter.wants(e) })
	slices.SortStableFunc(all, func(a, b Exported) int {
		return cmp.Or(a.at.Compare(b.at), cmp.Compare(a.Kind, b.Kind), cmp.Compare(a.What, b.What), cmp.Compare(string(a.Details), string(b.Details)))
	})
	return all, nil
}

func (f ExportFilter) wants(e Exported) bool {
	return !e.at.Before(f.From) && (f.To.IsZero() || e.at.Before(f.To)) && (f.Unit == "" || e.Unit == f.Unit) &&
		(len(f.Kinds) == 0 || slices.Contains(f.Kinds, e.Kind))
}

// exportedStep is a step of a queue line.
func (r *Request) exportedStep(c kit.Change) Exported {
	l := c.New
	details, err := json.Marshal(map[string]any{
		"line": l.Number, "version": l.Version, "condition": l.Condition, "count": l.Count, "state": l.State, "order": l.Order, "received": l.Received, "paid_cents": l.Paid, "whereabout": l.Where,
	})
	if err != nil {
		panic(fmt.Sprintf("encode a line: %v", err)) // numbers and words
	}
	return r.dated(Exported{
		Kind: queueExport, Unit: l.Unit, Platoon: l.Platoon, Kit: l.Kit, Item: l.Item, Details: details,
		What: fmt.Sprintf("#%d %s %s, %d: %s", l.Number, l.Item, l.Condition, l.Count, l.State),
	}, c.At)
}

func (r *Request) dated(e Exported, at time.Time) Exported {
	e.at, e.Date = at, at.In(r.Department.Zone).Format("2006-01-02 15:04")
	return e
}

// exportedEntry is an entry of the journal without what names people.
func (r *Request) exportedEntry(name string, e bot.Entry) (Exported, error) {
	var body map[string]any
	if err := json.Unmarshal(e.Body, &body); err != nil {
		return Exported{}, fmt.Errorf("read %s entry %d: %w", e.Kind, e.ID, err)
	}
	kept := r.withoutPeople(body).(map[string]any)
	details, err := json.Marshal(kept)
	if err != nil {
		return Exported{}, fmt.Errorf("write %s entry %d: %w", e.Kind, e.ID, err)
	}
	out := Exported{Kind: name, Details: details, Unit: textAt(kept, "unit"), Platoon: textAt(kept, "platoon"), Kit: textAt(kept, "kit"), Item: textAt(kept, "item")}
	if crew, ok := kept["crew"].(map[string]any); ok && out.Unit == "" {
		out.Unit, out.Platoon = textAt(crew, "unit"), textAt(crew, "platoon")
	}
	if k, ok := r.kitByID(out.Kit); ok && out.Unit == "" && k.Place.Kind == kit.OnUnit {
		out.Unit = k.Place.At
	}
	out.What = cmp.Or(textAt(kept, "what"), textAt(kept, "result"), textAt(kept, "outcome"), textAt(kept, "for"), textAt(kept, "verdict"), name)
	return r.dated(out, e.At), nil
}

func (r *Request) kitByID(id string) (kit.Kit, bool) {
	i := slices.IndexFunc(r.Department.Kits, func(k kit.Kit) bool { return k.ID == id })
	if i < 0 {
		return kit.Kit{}, false
	}
	return r.Department.Kits[i], true
}

// textAt is a text of a record, whatever the case of its key.
func textAt(body map[string]any, key string) string {
	for k, v := range body {
		if text, ok := v.(string); ok && strings.EqualFold(k, key) {
			return text
		}
	}
	return ""
}

// withoutPeople is a value without the keys that name people, and without texts that
// are a member's id or name.
func (r *Request) withoutPeople(value any) any {
	switch v := value.(type) {
	case map[string]any:
		kept := make(map[string]any, len(v))
		for key, one := range v {
			if !slices.Contains(personal, strings.ToLower(key)) {
				kept[key] = r.withoutPeople(one)
			}
		}
		return kept
	case []any:
		kept := make([]any, 0, len(v))
		for _, one := range v {
			kept = append(kept, r.withoutPeople(one))
		}
		return kept
	case string:
		return r.unnamed(v)
	}
	return value
}

// struck stands for a name that was there.
const struck = "[name left out]"

// unnamed is a text with each member's name struck, the whole one and, in words that
// somebody typed, the id. A single word such as guest is a fixed word too, and is
// struck only where it is all that stands there.
func (r *Request) unnamed(text string) string {
	low := strings.ToLower(text)
	for _, m := range r.Department.Members {
		for _, name := range []string{m.Name, m.ID} {
			switch n := strings.ToLower(name); {
			case n == "" || !strings.Contains(low, n):
			case low == n:
				return struck
			case strings.ContainsAny(n, " -"):
				text = regexp.MustCompile(`(?i)`+regexp.QuoteMeta(name)).ReplaceAllLiteralString(text, struck)
				low = strings.ToLower(text)
			}
		}
	}
	return text
}

// ExportTable is records as a table, for a spreadsheet.
func ExportTable(records []Exported) sheet.Table {
	table := sheet.Table{Name: "Records", Landscape: true}
	for _, heading := range []string{"kind", "date", "unit", "platoon", "kit", "item", "what", "details"} {
		table.Columns = append(table.Columns, sheet.Column{Heading: heading})
	}
	for _, e := range records {
		var cells []sheet.Cell
		for _, text := range []string{e.Kind, e.Date, e.Unit, e.Platoon, e.Kit, e.Item, e.What, string(e.Details)} {
			cells = append(cells, sheet.Text(text))
		}
		table.Rows = append(table.Rows, sheet.Row{Cells: cells})
	}
	return table
}
