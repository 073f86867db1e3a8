package command

import (
	"encoding/json"
	"slices"

	"kitbell/bot"
	"kitbell/bot/budget"
	"kitbell/bot/training"
)

// kindWords is what people call an entry of the journal, by its kind. The
// schedule's own kinds stand there too: whoever reads the journal meets them.
var kindWords = map[string]string{
	accessKind:      "the change of a person's access",
	accountKind:     "the word on an account",
	actingKind:      "the acting role",
	adoptedKind:     "the adoption of a card",
	auditKind:       "the spot audit",
	bookKind:        "the sign-off",
	budgetAskKind:   "the line of the request",
	bundleKind:      "the tour's post",
	checkKind:       "the kit check",
	drillGivenKind:  "the drill",
	drillKind:       "your answer to the drill",
	entryCallsKind:  "the month's count of calls",
	kitMovedKind:    "the move of the kit",
	kitPackedKind:   "the packing by the new list",
	kitSealedKind:   "the seal",
	listKind:        "the news of the kit list",
	loanKind:        "the loan",
	noteKind:        "your note",
	photoKind:       "the photo",
	pieceKind:       "the note on one tool",
	raisedKind:      "the reminder",
	ridingKind:      "the rig you ride",
	rollOutKind:     "your word on the roll-out",
	seenKind:        "your mark",
	sessionKind:     "your entry in the session",
	settledKind:     "the answer to the open question",
	sharedDoorKind:  "the shared door",
	shelfKind:       "the entry on the shelf",
	stopUseKind:     "the stop-use",
	transferKind:    "the transfer",
	unansweredKind:  "the open question",
	useKind:         "the record of use",
	budget.StepKind: "your word on the request",
	wishAnswerKind:  "the answer to the wish",
	wishKind:        "the wish",
}

// KindWords is what people call an entry of the journal, by its kind, to stand
// behind "Undone:"; false for a kind that there is not.
func KindWords(kind string) (words string, ok bool) {
	words, ok = kindWords[kind]
	return words, ok
}

// undoneEntry is what a person calls an entry: by its kind, and where one kind has
// several steps, by the step.
func (r *Request) undoneEntry(e bot.Entry) string {
	var step struct {
		What string `json:"what"`
	}
	_ = json.Unmarshal(e.Body, &step) // one that has no steps has its kind
	switch what := step.What; {
	case e.Kind == rollOutKind && what == string(training.Started):
		return "the roll-out of the " + r.itemName(e.Subject)
	case e.Kind == rollOutKind && what == string(training.HandsOn):
		return "hands on the " + r.itemName(e.Subject)
	case e.Kind == rollOutKind && what == string(training.Confirmed):
		return "what you confirmed, hands on the " + r.itemName(e.Subject)
	case e.Kind == rollOutKind && what == string(training.Finished):
		return "the end of the roll-out of the " + r.itemName(e.Subject)
	case e.Kind == sessionKind && what == string(training.SessionHeld):
		return "the session"
	case e.Kind == sessionKind && what == string(training.SessionConfirmed):
		return "your word on the session"
	}
	if words, known := KindWords(e.Kind); known {
		return words
	}
	return "your entry"
}

// addWords adds words that are not there yet: one tap may have written several
// entries of one thing.
func addWords(said []string, words string) []string {
	if slices.Contains(said, words) {
		return said
	}
	return append(said, words)
}
