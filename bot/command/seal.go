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
	if unit == "" {
		return Answer(r.question(understand.Question{About: understand.AskUnit})), nil
	}
	k, ok := r.Department.KitOf(unit)
	switch {
	case !ok:
		return Result{}, bot.SayNoKit.With(r.unitName(unit))
	case k.Seal == "":
		return Say(fmt.Sprintf("%s's kit carries no seal. Check it line by line, then say: %s checked, all there.", r.unitName(unit), r.unitName(unit))), nil
	case r.Reading.Seal != k.Seal:
		return Say(fmt.Sprintf("The seal on record for %s is %s. Check every line now, and tell the quartermaster the new number.", r.unitName(unit), k.Seal)), nil
	}
	return r.recordCheck(ctx, k, unit, kit.AllThere, "seal "+k.Seal+" intact")
}
