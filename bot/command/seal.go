package command

import (
	"context"
	"fmt"

	"kitbell/bot"
	"kitbell/bot/department"
	"kitbell/bot/kit"
	"kitbell/bot/understand"
)

// SealCommand answers a check of a sealed kit by its tag number.
func SealCommand() Command {
	return Command{
		Name:    string(understand.Seal),
		Usage:   "{rig} tag 004501 intact",
		For:     department.Officer,
		Summary: "Answer a check of a sealed kit by its tag number.",
		Run:     checkSeal,
	}
}

func checkSeal(ctx context.Context, r *Request) (Result, error) {
	if !r.Who.member() {
		return Result{}, bot.SayMembersOnly.With()
	}
	unit, tag := r.Reading.Unit, r.Reading.Seal
	if r.Verb != "" {
		_, ref := press(r.Ref)
		unit, tag = press(ref)
	}
	if unit == "" {
		unit = r.Who.Unit
	}
	k, err := r.kitOn(ctx, unit)
	if err != nil {
		return Result{}, err
	}
	c, err := r.checked(ctx, k, unit)
	if err != nil {
		return Result{}, err
	}
	if r.Verb != "" {
		return c.newTag(ctx, tag)
	}
	return c.tag(tag, r.Reading.SealState)
}

// tag takes what is said of a kit's tag. One that is broken, or that is not the
// one on record, leaves the kit unknown at once: an older "all there" must not
// stand beside it.
func (c checking) tag(number string, state understand.SealState) (Result, error) {
	name := c.unitName(c.unit)
	switch {
	case c.kit.Seal == "" && number != "":
		return Answer(c.askNewTag(number, fmt.Sprintf("%s's kit carries no seal on record.", name))), nil
	case c.kit.Seal == "":
		return Say(fmt.Sprintf("%s's kit carries no seal. Check it line by line: type check %s.", name, name)), nil
	case state == understand.SealBroken:
		return c.unknown(c.kit.Seal, "found broken")
	case number == "":
		return Say(fmt.Sprintf("What number is on the tag? Say it like this: %s tag 123456 intact.", name)), nil
	case number != c.kit.Seal && !c.sealed:
		return Answer(c.askNewTag(number, fmt.Sprintf("%s was opened.", name))), nil
	case number != c.kit.Seal:
		return c.unknown(number, "tag "+number+", not "+c.kit.Seal)
	case !c.sealed:
		return Result{}, bot.SayFullFirst.With(name, name)
	case state != understand.SealIntact:
		return Answer(c.askTag(number)), nil
	}
	return c.record(kit.AllThere, kit.Check{Seal: number})
}

// unknown writes that nobody knows what is in the kit, and asks for every line.
func (c checking) unknown(number, note string) (Result, error) {
	out, err := c.record(kit.SealOpen, kit.Check{Seal: number, Note: note})
	if err != nil || len(out.Changes) == 0 {
		return out, err
	}
	every := c.everyLine()
	said := out.Posts[0].Reply
	every.Text = said.Text + " " + every.Text
	if number != c.kit.Seal {
		every.Buttons = append(every.Buttons, bot.Button{Label: "It is our new tag, every line was checked", Value: newTagValue(c.unit, number)})
	}
	every.Buttons = append(every.Buttons, said.Buttons...)
	out.Posts[0].Reply = every
	return out, nil
}

// askNewTag asks whether a tag was put on after a full check.
func (c checking) askNewTag(number, why string) bot.Reply {
	return bot.Reply{
		Text:    fmt.Sprintf("%s Was every line checked before tag %s went on?", why, number),
		Buttons: []bot.Button{{Label: "Yes, every line", Value: newTagValue(c.unit, number)}, typed("No", "check "+c.unitName(c.unit))},
	}
}

func newTagValue(unit, number string) string {
	return string(understand.Seal) + ":new:" + unit + ":" + number
}

// newTag notes a new tag and the full check that it stands for.
func (c checking) newTag(ctx context.Context, number string) (Result, error) {
	fleet, err := c.fleet(ctx)
	if err != nil {
		return Result{}, err
	}
	for _, other := range fleet.All() {
		if other.Seal == number && other.ID != c.kit.ID {
			return Result{}, bot.SayTagTaken.With(number, other.ID)
		}
	}
	if number == "" || number == c.kit.Seal && c.sealed {
		return Result{}, bot.SayOldButton.With()
	}
	c.kit.Seal = "" // the new number is known: do not ask for it
	out, err := c.record(kit.AllThere, kit.Check{Full: true, Seal: number})
	if err != nil {
		return Result{}, err
	}
	entry := bot.NewEntry(kitSealedKind, c.kit.ID, c.Who.Person, c.Now, kit.Sealing{Kit: c.kit.ID, Tag: number})
	out.Changes = append(out.Changes, bot.Written{Entry: entry})
	if len(out.Posts) > 0 {
		out.Posts[0].Reply.Text += fmt.Sprintf(" Tag %s is on record now.", number)
	}
	return out, nil
}

// askTag asks whether a tag is whole: a number alone does not say so.
func (c checking) askTag(number string) bot.Reply {
	said := c.unitName(c.unit) + " tag " + number
	return bot.Reply{
		Text:    fmt.Sprintf("Is tag %s whole?", number),
		Buttons: []bot.Button{typed("Whole", said+" intact"), typed("Broken", said+" broken"), {Label: "New tag, every line checked", Value: newTagValue(c.unit, number)}},
	}
}
