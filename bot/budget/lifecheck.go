package budget

import (
	"slices"

	"kitbell/bot"
)

// CheckStep says whether a step may be taken after those that all are folded from.
// What speaks against it is a *bot.UserError. Who may take it is for the caller to
// know.
func CheckStep(all []Submitted, s Step) error {
	if !slices.Contains(StepWhats(), s.What) {
		return bot.SayBudgetNoStep.With(s.What)
	}
	if s.What == HandedIn {
		return checkHandedIn(all, s)
	}
	of, ok := Find(all, s.Number)
	switch {
	case !ok:
		return bot.SayBudgetNoRequest.With(s.Number)
	case s.At.Before(of.At):
		return bot.SayBudgetEarlier.With(s.Number)
	case s.Cents < 0 || s.Cents > mostPaid || s.Pieces < 0:
		return bot.SayBudgetAmount.With()
	case (s.What == Cut || s.What == Corrected) && s.Reason == "":
		return bot.SayBudgetWhy.With()
	case s.Line == "":
		return of.checkWhole(s)
	}
	l, ok := of.Line(s.Line)
	if !ok {
		return bot.SayBudgetNoLine.With(s.Number, s.Line)
	}
	return l.check(s, of.Request.Terms.Currency)
}

func checkHandedIn(all []Submitted, s Step) error {
	if s.Frozen == nil || s.Frozen.Signer == "" {
		return bot.SayBudgetNoSigner.With()
	}
	if next := nextNumber(all, s.Frozen.Request.Year); s.Number != next || s.Frozen.Number != next {
		return bot.SayBudgetNumber.With(next)
	}
	if !s.Frozen.Intact() {
		return bot.SayBudgetChanged.With(s.Number)
	}
	return nil
}

// checkWhole is about a step that names no line.
func (s Submitted) checkWhole(step Step) error {
	switch step.What {
	case Corrected:
		return nil
	case Approved, Cut:
		if !slices.ContainsFunc(s.Lines, s.open) {
			return bot.SayBudgetAllDecided.With(s.Number)
		}
		return nil
	}
	return bot.SayBudgetWhichLine.With(s.Number)
}

func (l LineLife) check(s Step, currency string) error {
	title := l.Line.Title
	switch s.What {
	case Approved, PartlyFunded, Cut:
		return l.checkDecision(s, currency)
	case Bought, InTheKits:
		switch l.Decided {
		case "":
			return bot.SayBudgetUndecided.With(title)
		case Cut:
			return bot.SayBudgetNotGranted.With(title)
		}
	}
	if left := l.GrantedPieces - l.Bought; s.What == Bought && (s.Pieces < 1 || s.Pieces > left) {
		return bot.SayBudgetBought.With(title, left)
	}
	if left := l.Bought - l.InKits; s.What == InTheKits && (s.Pieces < 1 || s.Pieces > left) {
		return bot.SayBudgetInKits.With(title, left)
	}
	return nil
}

func (l LineLife) checkDecision(s Step, currency string) error {
	switch {
	case l.Line.Excluded != "":
		return bot.SayBudgetLineOut.With(l.Line.Title)
	case l.Decided != "":
		return bot.SayBudgetDecided.With(l.Line.Title, l.Decided)
	case s.What != PartlyFunded:
		return nil
	case s.Cents == 0 || s.Cents >= l.Line.Sums.Total:
		return bot.SayBudgetPart.With(Money(l.Line.Sums.Total, currency))
	case s.Pieces > l.Line.Quantity:
		return bot.SayBudgetBought.With(l.Line.Title, l.Line.Quantity)
	}
	return nil
}
