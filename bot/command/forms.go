package command

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"kitbell/bot"
	"kitbell/bot/department"
)

// formVerb begins the value of a button that opens a form, and names the
// command that says what to type where there are no forms.
const formVerb = "form"

// The forms, by the word behind formVerb.
const (
	reportForm   = "report"
	checkForm    = "check"
	afterUseForm = "after-use"
	wishForm     = "wish"
	cardForm     = "card"
)

// Prompts answers what a platform must have at once: forms, and the choices that
// fit what is typed. It implements bot.Prompter.
type Prompts struct {
	// Place finds the department for a place and a person; in memory.
	Place bot.Directory
	Desks func(department string) (*Desk, bool)
}

// Form gives the form that a press asks for.
func (p Prompts) Form(_ context.Context, press bot.Press) (bot.Form, bool) {
	name, ok := strings.CutPrefix(press.Value, formVerb+":")
	desk, known := p.desk(press.Where, press.From)
	if !ok || !known {
		return bot.Form{}, false
	}
	name, unit, _ := strings.Cut(name, ":")
	if unit == "" {
		unit = usualRig(desk.Department, press.Where.Platform, press.From)
	}
	switch name {
	case reportForm:
		return desk.reportForm(unit), true
	case checkForm:
		return desk.checkForm(unit), true
	case afterUseForm:
		return desk.afterUseForm(), true
	case wishForm:
		return bot.Form{ID: wishForm, Title: "Wish", Inputs: []bot.FormInput{
			{Name: "what", Label: "What would help, and how many"}, {Name: "why", Label: "Why: a door, a call, a drill", Long: true},
			{Name: "price", Label: "Price each, if you know it"},
		}}, true
	case cardForm:
		return bot.Form{ID: cardForm, Title: "New card", Inputs: []bot.FormInput{
			{Name: "what", Label: "Tool or technique"}, {Name: "text", Label: "What a crew should know", Long: true},
		}}, true
	}
	return bot.Form{}, false
}

// Suggest gives the rigs or items that fit what is typed, those that begin with
// it first, at most 25.
func (p Prompts) Suggest(_ context.Context, partial bot.Partial) []bot.Choice {
	desk, ok := p.desk(partial.Where, partial.From)
	if !ok {
		return nil
	}
	var all []bot.Choice
	switch partial.Field {
	case "unit":
		all = desk.unitChoices()
	case "item":
		all = desk.itemChoices()
	}
	return fitting(all, partial.Text)
}

func (p Prompts) desk(where bot.Address, from bot.Speaker) (*Desk, bool) {
	place, ok := p.Place(where, from.ID)
	if !ok {
		return nil, false
	}
	return p.Desks(place.Department)
}

// mostSuggested is the most choices that a platform shows while typing.
const mostSuggested = 25

func fitting(all []bot.Choice, typed string) []bot.Choice {
	typed = strings.ToLower(strings.TrimSpace(typed))
	var begin, hold []bot.Choice
	for _, c := range all {
		label := strings.ToLower(c.Label)
		switch {
		case strings.HasPrefix(label, typed) || strings.HasPrefix(c.Value, typed):
			begin = append(begin, c)
		case strings.Contains(label, typed):
			hold = append(hold, c)
		}
	}
	all = append(begin, hold...)
	return all[:min(len(all), mostSuggested)]
}

// usualRig is the rig that the file gives a person.
func usualRig(d *department.Department, platform string, from bot.Speaker) string {
	m, ok := d.Member(from.Member)
	if !ok {
		m, _ = d.MemberByAccount(platform, from.ID)
	}
	return m.Unit
}

func (d *Desk) unitChoices() []bot.Choice {
	var all []bot.Choice
	for _, u := range d.Department.KitUnits() {
		all = append(all, bot.Choice{Label: u.Name, Value: u.ID})
	}
	return all
}

// itemChoices are the items of the list in force, by name.
func (d *Desk) itemChoices() []bot.Choice {
	list, _ := d.Department.List(d.Department.InForce)
	var all []bot.Choice
	for _, line := range list.Lines {
		all = append(all, bot.Choice{Label: upperFirst(d.itemName(line.Item)), Value: line.Item})
	}
	slices.SortFunc(all, func(a, b bot.Choice) int { return strings.Compare(a.Label, b.Label) })
	return all
}

func (d *Desk) reportForm(unit string) bot.Form {
	return bot.Form{ID: reportForm, Title: "Report", Inputs: []bot.FormInput{
		{Name: "unit", Label: "Whose kit", Value: unit, Choices: d.unitChoices()},
		{Name: "item", Label: "Which tool", Choices: d.itemChoices()},
		{Name: "count", Label: "How many", Value: "1"},
		{Name: "state", Label: "What is the matter", Value: "missing", Choices: choices("missing", "broken", "worn", "dirty")},
		{Name: "more", Label: "More, if it matters. No addresses, no codes, no names", Long: true},
	}}
}

func (d *Desk) checkForm(unit string) bot.Form {
	return bot.Form{ID: checkForm, Title: "Kit check", Inputs: []bot.FormInput{
		{Name: "unit", Label: "Whose kit", Value: unit, Choices: d.unitChoices()},
		{Name: "all", Label: "Is it all there", Choices: []bot.Choice{{Label: "All there, looked at every line", Value: "yes"}, {Label: "Not all", Value: "no"}}},
		{Name: "short", Label: "If not: what is missing or broken", Long: true},
	}}
}

func (d *Desk) afterUseForm() bot.Form {
	return bot.Form{ID: afterUseForm, Title: "After use", Inputs: []bot.FormInput{
		{Name: "item", Label: "Which tool", Choices: d.itemChoices()},
		{Name: "outcome", Label: "Did it open the door", Choices: []bot.Choice{{Label: "It opened", Value: "it opened"}, {Label: "It did not", Value: "did not work"}}},
		{Name: "tries", Label: "On which try", Choices: []bot.Choice{{Label: "First", Value: "first try"}, {Label: "Second", Value: "second try"}, {Label: "Third or later", Value: "third try"}}},
		{Name: "mark", Label: "What mark did it leave", Choices: []bot.Choice{{Label: "None", Value: "no mark"}, {Label: "A scuff", Value: "a scuff"}, {Label: "A scar", Value: "a scar"}}},
		{Name: "left", Label: "How the door was left", Choices: []bot.Choice{{Label: "Secure", Value: "left secure"}, {Label: "Not secure", Value: "left unsecured"}}},
	}}
}

func choices(values ...string) []bot.Choice {
	all := make([]bot.Choice, len(values))
	for i, v := range values {
		all[i] = bot.Choice{Label: upperFirst(v), Value: v}
	}
	return all
}

// sentenceOf is what a person would have typed for a form that was sent. Every
// form stands for one sentence, so that one reader reads both. ok is false for a
// form that there is not.
func (d *Desk) sentenceOf(form string, values map[string]string) (text string, ok bool) {
	v := make(map[string]string, len(values))
	for name, value := range values {
		v[name] = strings.TrimSpace(value)
	}
	unit := ""
	if u, ok := d.Department.Unit(v["unit"]); ok {
		unit = u.Name
	}
	item := d.itemName(v["item"])
	switch form {
	case reportForm:
		text = fmt.Sprintf("%s %s %s %s", unit, v["count"], item, v["state"])
		if v["more"] != "" {
			text += ". " + v["more"]
		}
	case checkForm:
		text = unit + " all there"
		if v["all"] == "no" || v["all"] == "" {
			text = unit + " " + v["short"]
		}
	case afterUseForm:
		text = strings.Join(filled("used the "+item, v["outcome"], v["tries"], v["mark"], v["left"]), ", ")
	case wishForm:
		text = "wish: " + v["what"]
		if v["why"] != "" {
			text += " because " + v["why"]
		}
		if v["price"] != "" {
			text += ", $" + strings.TrimPrefix(v["price"], "$")
		}
	case cardForm:
		text = strings.Join(filled(v["what"], v["text"]), ": ")
	default:
		return "", false
	}
	return strings.TrimSpace(text), true
}

func filled(parts ...string) []string {
	return slices.DeleteFunc(parts, func(s string) bool { return strings.TrimSpace(s) == "" })
}

// FormCommand says what to type where a platform shows no forms.
func FormCommand() Command {
	return Command{Name: formVerb, Private: true, Run: func(_ context.Context, r *Request) (Result, error) {
		name, _, _ := strings.Cut(r.Ref, ":")
		switch name {
		case reportForm:
			return Say("Type it in one line: E4 2 wood wedges missing."), nil
		case checkForm:
			return Say("Type it in one line: E4 all there. Or what is not: E4 strap worn."), nil
		case afterUseForm:
			return Say("Type it in one line: used the film, second try, no mark, left secure."), nil
		case wishForm:
			return Say("Type it in one line: wish: 2 air wedges because the old ones leak, $40."), nil
		}
		return Result{}, bot.SayOldButton.With()
	}}
}

// proposeCard keeps a proposed card for the chief of training.
func (r *Request) proposeCard() Result {
	if !r.Who.member() {
		return Answer(bot.Reply{Text: bot.SayMembersOnly.With().Say, Private: true})
	}
	entry := bot.NewEntry(noteKind, cardForm, r.Who.Person, r.Now, note{Desk: "the chief of training", Text: r.Event.Text, Unit: r.Who.Unit})
	return Result{
		Posts:   []Post{{Reply: bot.Reply{Text: "Noted for the chief of training, who writes and adopts cards.", Private: true, Buttons: []bot.Button{r.undoButton()}}}},
		Changes: []bot.Change{bot.Written{Entry: entry}},
	}
}

// asSaid makes of a form that was sent the sentence that it stands for. What
// form it was stays in the event.
func (d *Desk) asSaid(e bot.Event) (bot.Event, error) {
	if e.Kind != bot.Submitted {
		return e, nil
	}
	text, ok := d.sentenceOf(e.Form, e.Values)
	if !ok {
		return e, bot.SayOldButton.With()
	}
	e.Kind, e.Text, e.Direct = bot.Said, text, true
	return e, nil
}
