package knowledge_test

import (
	"strings"
	"testing"
	"time"

	"kitbell/knowledge"
)

// A draft is a card in form, is refused as long as something is to be written,
// and passes once everything is.
func TestDraft(t *testing.T) {
	day := time.Date(2026, 11, 27, 0, 0, 0, 0, time.UTC)
	for _, kind := range []knowledge.Kind{knowledge.Tool, knowledge.Hardware, knowledge.Technique, knowledge.Decision, knowledge.Hazard, knowledge.Care, knowledge.Drill} {
		text := knowledge.Draft(kind, `A "vault": door`, `how do we open a "vault"?`, day)
		if _, problems := knowledge.ParseCard("vault-door.md", []byte(text)); len(problems) == 0 || !strings.Contains(problems[0].Say, "still to be written") {
			t.Errorf("%s: a draft is taken: %v", kind, problems)
		}
		card, problems := knowledge.ParseCard("vault-door.md", []byte(strings.ReplaceAll(text, knowledge.ToBeWritten, "Call the bank.")))
		if len(problems) > 0 {
			t.Fatalf("%s: %v\n%s", kind, problems, text)
		}
		for _, title := range knowledge.RequiredSections(kind) {
			if len(card.Section(title).Items) == 0 {
				t.Errorf("%s: %q is empty", kind, title)
			}
		}
		if card.Title != `A "vault": door` || card.Asks[0] != `how do we open a "vault"?` {
			t.Errorf("%s: title %q, asks %q", kind, card.Title, card.Asks)
		}
	}
}

func TestDraftID(t *testing.T) {
	for title, want := range map[string]string{
		"how do we open a bank vault": "open-bank-vault", "What?": "new-card", "The Fire-Door's closer, and more of it": "fire-door-closer-more", "": "new-card",
	} {
		if got := knowledge.DraftID(title); got != want {
			t.Errorf("%q: %s, want %s", title, got, want)
		}
	}
}
