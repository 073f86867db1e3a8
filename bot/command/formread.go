package command

import (
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"kitbell/bot"
	"kitbell/bot/department"
	"kitbell/bot/kit"
	"kitbell/bot/understand"
)

// openedInPractice is the outcome of a form about a door of the training ground.
const openedInPractice = "practice"

// sentForm is a form that was sent, read. What its choices say is taken as it
// is; only what was typed is read like a message.
type sentForm struct {
	id      string
	text    string              // what was typed, for the record or to be read
	reading *understand.Reading // what the form says; nil where text says it
	note    string              // what was added to a report
	cents   int                 // price each that was given with a wish
}

// freeText are the inputs that people type into.
var freeText = []string{"more", "short", "what", "why", "text", "price"}

// typedInto is what a person typed into a form.
func typedInto(values map[string]string) string {
	var all []string
	for _, name := range freeText {
		if v := strings.TrimSpace(values[name]); v != "" {
			all = append(all, v)
		}
	}
	return strings.Join(all, "\n")
}

// readForm reads a form for somebody who rides unit. A *bot.UserError says, at
// an input, what the form lacks.
func (d *Desk) readForm(e bot.Event, unit string) (sentForm, error) {
	f := formReader{desk: d, values: make(map[string]string, len(e.Values)), unit: unit}
	for name, value := range e.Values {
		f.values[name] = strings.TrimSpace(value)
	}
	read, ok := map[string]func() (sentForm, error){
		reportForm: f.report, checkForm: f.check, afterUseForm: f.afterUse, wishForm: f.wish, cardForm: f.card,
	}[e.Form]
	if !ok {
		return sentForm{}, bot.SayOldButton.With()
	}
	sent, err := read()
	sent.id = e.Form
	return sent, err
}

type formReader struct {
	desk   *Desk
	values map[string]string
	unit   string // that the sender rides
}

func (f formReader) report() (sentForm, error) {
	unit, err := f.rig()
	if err != nil {
		return sentForm{}, err
	}
	item, err := f.item()
	if err != nil {
		return sentForm{}, err
	}
	count := 1
	if v := f.values["count"]; v != "" {
		if count, err = strconv.Atoi(v); err != nil || count < 1 {
			return sentForm{}, bot.SayFormCount.With().At("count")
		}
	}
	condition := kit.Condition(f.values["state"])
	if !slices.ContainsFunc(conditionChoices(), func(c bot.Choice) bool { return c.Value == string(condition) }) {
		return sentForm{}, bot.SayFormChoice.With().At("state")
	}
	return sentForm{note: f.values["more"], reading: &understand.Reading{
		Intent: understand.Report, Unit: unit, UnitNamed: true, Units: []string{unit}, Items: []string{item},
		Lines: []understand.Line{{Unit: unit, Item: item, Condition: condition, Count: count}},
	}}, nil
}

func (f formReader) check() (sentForm, error) {
	unit, err := f.rig()
	if err != nil {
		return sentForm{}, err
	}
	reading := &understand.Reading{Intent: understand.Check, Unit: unit, UnitNamed: true, Units: []string{unit}}
	short := f.values["short"]
	switch f.values["all"] {
	case "yes":
		if short != "" {
			return sentForm{}, bot.SayFormAllThere.With().At("short")
		}
		reading.Check = kit.AllThere
		return sentForm{reading: reading}, nil
	case "no":
	default:
		return sentForm{}, bot.SayFormChoice.With().At("all")
	}
	if short == "" {
		return sentForm{reading: reading}, nil // every line is shown, to tap
	}
	u, _ := f.desk.Department.Unit(unit)
	text := u.Name + ": " + short
	if read := f.desk.Read(text, understand.Context{Unit: unit}); len(read.Lines) == 0 && read.Pending == nil {
		return sentForm{}, bot.SayFormShort.With().At("short")
	}
	return sentForm{text: text}, nil
}

func (f formReader) afterUse() (sentForm, error) {
	item, err := f.item()
	if err != nil {
		return sentForm{}, err
	}
	use := understand.Use{Items: []string{item}}
	switch outcome := f.values["outcome"]; outcome {
	case string(understand.Opened), string(understand.NotYet):
		use.Outcome = understand.Outcome(outcome)
	case openedInPractice:
		use.Outcome, use.Practice = understand.Opened, true
	default:
		return sentForm{}, bot.SayFormChoice.With().At("outcome")
	}
	for _, one := range []struct {
		name    string
		choices []choice
	}{{"tries", tryChoices()}, {"mark", markChoices()}, {"left", leftChoices()}} {
		v := f.values[one.name]
		if v != "" && !slices.ContainsFunc(one.choices, func(c choice) bool { return c.value == v }) {
			return sentForm{}, bot.SayFormChoice.With().At(one.name)
		}
	}
	use.Tries, _ = strconv.Atoi(f.values["tries"])
	use.Mark, use.Left = f.values["mark"], f.values["left"]
	return sentForm{reading: &understand.Reading{Intent: understand.Used, Items: use.Items, Use: use}}, nil
}

func (f formReader) wish() (sentForm, error) {
	what := f.values["what"]
	if what == "" {
		return sentForm{}, bot.SayFormText.With().At("what")
	}
	cents, ok := centsOf(f.values["price"])
	if !ok {
		return sentForm{}, bot.SayFormPrice.With().At("price")
	}
	return sentForm{text: what, cents: cents, reading: &understand.Reading{
		Intent: understand.Wish, WishFor: what, Reason: f.values["why"], Items: f.desk.Read(what, understand.Context{}).Items,
	}}, nil
}

func (f formReader) card() (sentForm, error) {
	for _, name := range []string{"what", "text"} {
		if f.values[name] == "" {
			return sentForm{}, bot.SayFormText.With().At(name)
		}
	}
	return sentForm{text: f.values["what"] + ": " + f.values["text"], reading: &understand.Reading{}}, nil
}

// rig is the rig chosen, or typed, or the sender's own.
func (f formReader) rig() (string, error) {
	v := f.values["unit"]
	if v == "" {
		v = f.unit
	}
	if u, ok := f.desk.Department.Unit(v); ok {
		return u.ID, nil
	}
	if read := f.desk.Read(v+" missing", understand.Context{}); v != "" && len(read.Units) == 1 {
		return read.Units[0], nil
	}
	return "", bot.SayFormRig.With(f.example(f.desk.Department)).At("unit")
}

func (formReader) example(d *department.Department) string {
	for _, u := range d.KitUnits() {
		return u.Name
	}
	return "Engine 1"
}

// item is the item chosen, or typed where a platform's list is too short.
func (f formReader) item() (string, error) {
	v := f.values["item"]
	if slices.ContainsFunc(f.desk.itemChoices(), func(c bot.Choice) bool { return c.Value == v }) {
		return v, nil
	}
	if read := f.desk.Read(v, understand.Context{}); v != "" && len(read.Items) == 1 {
		return read.Items[0], nil
	}
	return "", bot.SayFormItem.With().At("item")
}

var price = regexp.MustCompile(`^\$? ?(\d{1,6})(?:\.(\d{2}))?$`)

// centsOf reads a price; none is 0.
func centsOf(text string) (cents int, ok bool) {
	text = strings.ReplaceAll(text, ",", "")
	if text == "" {
		return 0, true
	}
	m := price.FindStringSubmatch(text)
	if m == nil {
		return 0, false
	}
	dollars, err := strconv.Atoi(m[1])
	if err != nil || dollars > math.MaxInt32 {
		return 0, false
	}
	cents, _ = strconv.Atoi(m[2])
	return dollars*100 + cents, true
}
