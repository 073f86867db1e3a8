package command

import (
	"context"
	"fmt"
	"regexp"
	"strings"

	"kitbell/bot"
	"kitbell/bot/department"
	"kitbell/bot/understand"
)

// UsedCommand records a real use of the kit, or practice: typed in one line, or
// by taps after a door was opened.
func UsedCommand() Command {
	return Command{
		Name:    string(understand.Used),
		Usage:   "used the thick shim on a guarded door, second try, no mark",
		Summary: "Record what you used and how it went. It helps the next crew.",
		Run:     recordUse,
	}
}

// trainedSaid tells of training, which is no call, whatever else the words look like.
var trainedSaid = regexp.MustCompile(`(?i)\b(?:we|i|they|crew|shift|platoon) (?:have |has |had )?(?:trained|drilled|practi[cs]ed|a (?:class|drill|training))\b|\b(?:had|did) (?:a )?(?:training|drill|class)\b`)

// useKind is the journal's word for a use of the kit.
const useKind = "use"

// use is the body of a record of use. Practice never counts for anything but
// itself. There is no place, no name and no code in it.
type use struct {
	understand.Use
	Way      string    `json:"way,omitempty"` // door.Step.Way, where the plan knew it
	Unit     string    `json:"unit,omitempty"`
	Platoon  string    `json:"platoon,omitempty"`
	Facts    saidFacts `json:"facts,omitzero"`
	Ordered  string    `json:"ordered,omitempty"`  // role that ordered the entry
	Tools    []string  `json:"tools,omitempty"`    // that the way takes, where a plan knew it
	Absent   []string  `json:"absent,omitempty"`   // wanted at the door, and not in the kit
	Incident string    `json:"incident,omitempty"` // number, where somebody gave it
	OnScene  bool      `json:"on_scene,omitempty"` // told at the door, the rest is still to be asked
}

// way is the attempt as plans name it.
func (u use) way() string {
	if u.Way != "" {
		return u.Way
	}
	return u.Technique
}

// subject is what the journal files a use under.
func (u use) subject() string {
	if u.Technique == "" && len(u.Items) > 0 {
		return u.Items[0]
	}
	return u.Technique
}

func recordUse(ctx context.Context, r *Request) (Result, error) {
	if r.Verb != "" {
		return r.pressUse(ctx)
	}
	u := use{Use: r.Reading.Use, Unit: r.Who.Unit, Platoon: r.Who.Platoon, Ordered: orderedBy(r.Event.Text), Incident: incidentIn(r.Event.Text)}
	u.Practice = u.Practice || trainedSaid.MatchString(r.Event.Text)
	if r.Reading.DoorSaid {
		u.Facts = saidFacts{r.Reading.Door}
	}
	if unsecured.MatchString(r.Event.Text) {
		u.Left = leftUnsecured
	}
	changes, err := r.completes(ctx, &u)
	if err != nil {
		return Result{}, err
	}
	result := r.writeUse(u, changes)
	result.Posts = append(result.Posts, r.raise(u)...)
	if !u.Practice {
		result.Posts[0].Reply.Text += " Was it practice? Say: that was practice."
	}
	return r.afterUse(ctx, result, u)
}

// writeUse writes a use beside other changes and says what was noted.
func (r *Request) writeUse(u use, changes []bot.Change) Result {
	entry := bot.NewEntry(useKind, u.subject(), r.Who.Person, r.Now, u)
	return Result{
		Posts:   []Post{{Reply: bot.Reply{Text: r.useWords(u), Buttons: []bot.Button{r.undoButton()}}}},
		Changes: append(changes, bot.Written{Entry: entry}),
	}
}

// raise tells the officers of an opening that was left as nobody should leave
// it: which crew and when, never where.
func (r *Request) raise(u use) []Post {
	if u.Left != leftUnsecured || u.Practice {
		return nil
	}
	text := fmt.Sprintf("An opening was left not secured: %s, %s. Ask the crew where, and see that it is closed.", r.crewName(u.Unit), r.day(r.Now))
	return []Post{{To: Place{Use: department.OfficersChannel}, Reply: bot.Reply{Text: text}}}
}

func (r *Request) crewName(unit string) string {
	if unit == "" {
		return "a crew without a rig"
	}
	return r.unitName(unit)
}

// useWords repeats what was understood, so that a slip is seen at once.
func (r *Request) useWords(u use) string {
	names := make([]string, 0, len(u.Items))
	for _, item := range u.Items {
		names = append(names, r.itemName(item))
	}
	if len(names) == 0 && u.Technique != "" {
		names = append(names, r.cardTitle(u.Technique))
	}
	words := "Use noted"
	if len(names) > 0 {
		words += ": " + list(names, "and")
	}
	for _, part := range []string{string(u.Outcome), tryWords(u.Tries), markPhrase(u.Mark), callWords(u.Call), leftWords(u.Left), orderedWords(u.Ordered)} {
		if part != "" {
			words += ", " + part
		}
	}
	if u.Incident != "" {
		words += ", incident " + u.Incident
	}
	if u.Practice {
		return words + ". Practice: it changes no numbers."
	}
	return words + ". Counted as a real call."
}

func tryWords(n int) string {
	if n == 0 {
		return ""
	}
	return fmt.Sprintf("try %d", n)
}

func markPhrase(mark string) string {
	if mark == "" {
		return ""
	}
	if mark == "none" {
		return "no mark"
	}
	return "mark: " + mark
}

func callWords(call string) string { return strings.ReplaceAll(call, "-", " ") }

// leftUnsecured is how an opening is left that nobody looks after.
const leftUnsecured = "not-secured"

func leftWords(left string) string {
	switch left {
	case "":
		return ""
	case leftUnsecured:
		return "left not secured: the officers are told"
	case "police":
		return "handed to the police"
	case "keyholder", "owner":
		return "handed to the " + left
	}
	return left
}

func orderedWords(role string) string {
	switch role {
	case "":
		return ""
	case "crew":
		return "the crew's own decision"
	}
	return "ordered by the " + role
}

// What a record of use may say beside what every message is read for.
var (
	unsecured    = regexp.MustCompile(`(?i)\b(?:not secured?|unsecured|could ?n[o']t secure|left open)\b`)
	roleWord     = regexp.MustCompile(`(?i)\b(officer|captain|lieutenant|chief|incident commander|command)\b`)
	incidentWord = regexp.MustCompile(`(?i)\bincident\s+(?:no\.?\s*|number\s*|#\s*)?([a-z]{0,3}-?\d[a-z0-9-]{2,18})\b`)
)

// orderedBy is the role that a message says ordered the entry.
func orderedBy(text string) string {
	if !strings.Contains(strings.ToLower(text), "order") {
		return ""
	}
	switch role := strings.ToLower(roleWord.FindString(text)); role {
	case "captain", "lieutenant":
		return "officer"
	case "command":
		return "incident commander"
	default:
		return role
	}
}

// incidentIn is the incident number that a text names, "" for none and for what
// has the shape of a phone number.
func incidentIn(text string) string {
	m := incidentWord.FindStringSubmatch(text)
	if m == nil || phoneShape.MatchString(m[1]) {
		return ""
	}
	return m[1]
}

var phoneShape = regexp.MustCompile(`^\d{3}-?\d{3}-?\d{4}$`)
