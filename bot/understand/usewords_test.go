package understand_test

import (
	"testing"

	"kitbell/bot/understand"
)

// What tells of a use, and what only has its words in it.
func TestWordsAroundAUse(t *testing.T) {
	reader := newReader(t)
	for name, row := range map[string]struct {
		text string
		used bool
	}{
		"incident number first":     {"incident 2026-00417 used the film", true},
		"incident number last":      {"used the film, incident 2026-00417", true},
		"incident number, one word": {"incident number F20417 used the film", true},
		"a past use":                {"opened it with the utility key", true},
		"a habit":                   {"keybox opens with the utility key", false},
		"a habit of a door":         {"the sliding door opens with the utility key", false},
		"a habit and a use":         {"the gate opens with the utility key, we used it tonight", true},
	} {
		t.Run(name, func(t *testing.T) {
			got := reader.Read(row.text, engine4)
			if (got.Intent == understand.Used) != row.used {
				t.Errorf("intent %s, lines %v", got.Intent, got.Lines)
			}
			if len(got.Lines) > 0 {
				t.Errorf("lines %v: a use reports nothing", got.Lines)
			}
		})
	}
}
