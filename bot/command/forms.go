package command

import (
	"context"
	"slices"
	"strings"

	"kitbell/bot"
	"kitbell/bot/kit"
	"kitbell/bot/understand"
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
// fit what is typed. It implements bot.Prompter. Who is not let in gets neither:
// what they did is then handed on like any other press, and they hear why.
type Prompts struct {
	// Place finds the department for a place and a person; in memory.
	Place bot.Directory
	Desks func(department string) (*Desk, bool)
	Books Books
	Clock bot.Clock

	folds folds
}

// Form gives the form that a press asks for.
func (p *Prompts) Form(ctx context.Context, press bot.Press) (bot.Form, bool) {
	name, ok := strings.CutPrefix(press.Value, formVerb+":")
	if !ok {
		return bot.Form{}, false
	}
	r, ok := p.letIn(ctx, bot.Event{From: press.From, Where: press.Where, Outside: press.Outside})
	if !ok {
		return bot.Form{}, false
	}
	name, unit, _ := strings.Cut(name, ":")
	if unit == "" {
		unit = r.Who.Unit
	}
	form, ok := r.formCalled(name, unit)
	return form, ok && (r.Who.member() || form.ID == reportForm || form.ID == wishForm)
}

// Suggest gives the rigs or items that fit what is typed, those that begin with
// it first, at most 25.
func (p *Prompts) Suggest(ctx context.Context, partial bot.Partial) []bot.Choice {
	r, ok := p.letIn(ctx, bot.Event{From: partial.From, Where: partial.Where})
	if !ok {
		return nil
	}
	var all []bot.Choice
	switch partial.Field {
	case "unit":
		all = r.unitChoices()
	case "item":
		all = r.itemChoices()
	}
	return fitting(all, partial.Text)
}

// letIn is who asks, if they are let in.
func (p *Prompts) letIn(ctx context.Context, e bot.Event) (*Request, bool) {
	place, ok := p.Place(e.Where, e.From.ID)
	if !ok {
		return nil, false
	}
	desk, ok := p.Desks(place.Department)
	if !ok {
		return nil, false
	}
	e.Department = place.Department
	r := &Request{Desk: desk, Event: e, Now: p.Clock.Now(), Books: p.Books, Memory: &Memory{}, folds: &p.folds}
	var err error
	if r.Who, err = who(ctx, r); err != nil {
		return nil, false
	}
	_, stop, err := r.gate(ctx)
	return r, !stop && err == nil
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

// formCalled is a form by its id or its title, for a rig where it has one.
func (d *Desk) formCalled(name, unit string) (bot.Form, bool) {
	for _, f := range []bot.Form{d.reportForm(unit), d.checkForm(unit), d.afterUseForm(), wishInputs(), cardInputs()} {
		if f.ID == name || strings.EqualFold(f.Title, name) {
			return f, true
		}
	}
	return bot.Form{}, false
}

func (d *Desk) reportForm(unit string) bot.Form {
	return bot.Form{ID: reportForm, Title: "Report", Inputs: []bot.FormInput{
		{Name: "unit", Label: "Whose kit", Value: unit, Choices: d.unitChoices(), Needed: true},
		{Name: "item", Label: "Which tool", Choices: d.itemChoices(), Needed: true},
		{Name: "count", Label: "How many", Value: "1"},
		{Name: "state", Label: "What is the matter", Value: string(kit.Missing), Choices: conditionChoices(), Needed: true},
		{Name: "more", Label: "More. No address, code or name, please", Long: true},
	}}
}

func conditionChoices() []bot.Choice {
	return []bot.Choice{
		{Label: "Missing", Value: string(kit.Missing)}, {Label: "Broken", Value: string(kit.Damaged)}, {Label: "Worn", Value: string(kit.Worn)},
		{Label: "Dirty", Value: string(kit.Dirty)}, {Label: "Running low", Value: string(kit.Low)},
	}
}

func (d *Desk) checkForm(unit string) bot.Form {
	return bot.Form{ID: checkForm, Title: "Kit check", Inputs: []bot.FormInput{
		{Name: "unit", Label: "Whose kit", Value: unit, Choices: d.unitChoices(), Needed: true},
		{Name: "all", Label: "Is it all there", Needed: true, Choices: []bot.Choice{{Label: "All there, looked at every line", Value: "yes"}, {Label: "Not all", Value: "no"}}},
		{Name: "short", Label: "If not: what is missing or broken", Long: true},
	}}
}

// afterUseForm has no more inputs than one screen of a platform takes; back on
// the rig, taps ask for more.
func (d *Desk) afterUseForm() bot.Form {
	return bot.Form{ID: afterUseForm, Title: "After use", Inputs: []bot.FormInput{
		{Name: "item", Label: "Which tool", Choices: d.itemChoices(), Needed: true},
		{Name: "outcome", Label: "Did it open the door", Needed: true, Choices: []bot.Choice{
			{Label: "It opened", Value: string(understand.Opened)}, {Label: "It did not", Value: string(understand.NotYet)}, {Label: "It opened, in practice", Value: openedInPractice},
		}},
		{Name: "tries", Label: "On which try", Choices: asChoices(tryChoices())},
		{Name: "mark", Label: "What mark did it leave", Choices: asChoices(markChoices())},
		{Name: "left", Label: "How the door was left", Choices: asChoices(leftChoices())},
	}}
}

func wishInputs() bot.Form {
	return bot.Form{ID: wishForm, Title: "Wish", Inputs: []bot.FormInput{
		{Name: "what", Label: "What would help, and how many", Needed: true}, {Name: "why", Label: "Why: a door, a call, a drill", Long: true},
		{Name: "price", Label: "Price each, if you know it"},
	}}
}

func cardInputs() bot.Form {
	return bot.Form{ID: cardForm, Title: "New card", Inputs: []bot.FormInput{
		{Name: "what", Label: "Tool or technique", Needed: true}, {Name: "text", Label: "What a crew should know", Long: true, Needed: true},
	}}
}

func asChoices(all []choice) []bot.Choice {
	out := make([]bot.Choice, len(all))
	for i, c := range all {
		out[i] = bot.Choice{Label: c.label, Value: c.value}
	}
	return out
}

// FormCommand says what to type where a platform shows no forms.
func FormCommand() Command {
	return Command{Name: formVerb, Private: true, Run: func(_ context.Context, r *Request) (Result, error) {
		name, _, _ := strings.Cut(r.Ref, ":")
		switch name {
		case reportForm:
			return Say("Type it in one line: {rig} 2 wood wedges missing."), nil
		case checkForm:
			return Say("Type it in one line: {rig} all there. Or what is not: {rig} strap worn."), nil
		case afterUseForm:
			return Say("Type it in one line: used the film, second try, no mark, left secure."), nil
		case wishForm:
			return Say("Type it in one line: wish: 2 air wedges because the old ones leak."), nil
		case cardForm:
			if !r.Who.member() {
				return Result{}, bot.SayMembersOnly.With()
			}
			return Say("Tell the chief of training what the card should say; forms do it where there are some."), nil
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
