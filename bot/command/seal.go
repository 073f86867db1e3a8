package command

import (
	"context"
	"fmt"

	"kitbell/bot"
	"kitbell/bot/kit"
	"kitbell/bot/understand"
)

// SealCommand answers a check of a sealed kit by its tag number.
func SealCommand() Command {
	return Command{
		Name:    string(understand.Seal),
		Usage:   "E1 tag 004501 intact",
		Summary: "Answer a check of a sealed kit by its tag number.",
		Run:     checkSeal,
	}
}

func checkSeal(ctx context.Context, r *Request) (Result, error) {
	unit := r.Reading.Unit
	if unit == "" {
		unit = r.Who.Unit
	}
	k, err := r.kitOn(ctx, unit)
	if err != nil {
		return Result{}, err
	}
	switch {
	case k.Seal == "":
		return Say(fmt.Sprintf("%s's kit carries no seal. Check it line by line, then say: %s checked, all there.", r.unitName(unit), r.unitName(unit))), nil
	case r.Reading.SealState == understand.SealBroken, r.Reading.Seal != "" && r.Reading.Seal != k.Seal:
		return Say(fmt.Sprintf("The tag on record for %s is %s. Break it open and check every line now, then tell the quartermaster the new number.", r.unitName(unit), k.Seal)), nil
	case r.Reading.Seal == "":
		return Say(fmt.Sprintf("What number is on the tag? Say it like this: %s tag 123456 intact.", r.unitName(unit))), nil
	}
	if r.Reading.SealState != understand.SealIntact {
		return Answer(r.askTag(unit, k.Seal)), nil
	}
	return r.recordCheck(ctx, k, unit, kit.AllThere, "seal "+k.Seal+" intact")
}

// askTag asks whether a tag is whole: a number alone does not say so.
func (r *Request) askTag(unit, number string) bot.Reply {
	said := r.unitName(unit) + " tag " + number
	return bot.Reply{
		Text:    fmt.Sprintf("Is tag %s whole?", number),
		Buttons: []bot.Button{typed("Whole", said+" intact"), typed("Broken", said+" broken")},
	}
}
