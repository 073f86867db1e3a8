package knowledge

import (
	"fmt"
	"strings"
	"time"
)

// ToBeWritten stands in a draft where somebody who knows has to write. A card
// that still has it is refused.
const ToBeWritten = "To be written."

// Draft is the text of a new card of a kind that shall answer a question, with
// every section that the kind needs, to be filled in. The file is named after
// the title, as [DraftID] says.
func Draft(kind Kind, title, question string, day time.Time) string {
	var b strings.Builder
	fmt.Fprintf(&b, "---\ntitle: %s\nkind: %s\naliases: []\nasks:\n  - %s\nnot_about: []\ntools: []\nhazards: []\nrelated: []\nsources:\n  - \"common practice\"\nreviewed: %s\n---\n\n%s\n",
		quoted(title), kind, quoted(question), day.Format(time.DateOnly), ToBeWritten)
	for _, section := range RequiredSections(kind) {
		fmt.Fprintf(&b, "\n## %s\n\n", section)
		switch section {
		case Steps:
			fmt.Fprintf(&b, "1. %s\n", ToBeWritten)
		case Cautions:
			fmt.Fprintf(&b, "- Lawful authority, the officer in charge and local policy decide.\n- %s\n", ToBeWritten)
		default:
			fmt.Fprintf(&b, "- %s\n", ToBeWritten)
		}
	}
	return b.String()
}

func quoted(text string) string { return fmt.Sprintf("%q", text) }

// DraftID makes a card's id of its title: the first words that say something,
// joined by hyphens.
func DraftID(title string) string {
	const mostWords = 4
	var kept []string
	for _, word := range rawWords(title) {
		if word = strings.Map(idRune, word); len(word) >= minPart && !askingWords[word] && len(kept) < mostWords {
			kept = append(kept, word)
		}
	}
	if len(kept) == 0 {
		return "new-card"
	}
	return strings.Join(kept, "-")
}

// askingWords say that something is asked, not what.
var askingWords = map[string]bool{
	"how": true, "what": true, "when": true, "where": true, "which": true, "who": true, "why": true, "the": true, "and": true, "for": true, "can": true,
	"does": true, "did": true, "should": true, "with": true, "you": true, "our": true, "are": true, "there": true, "this": true, "that": true,
}

func idRune(r rune) rune {
	if r >= 'a' && r <= 'z' || r >= '0' && r <= '9' {
		return r
	}
	return -1
}
