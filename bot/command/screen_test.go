package command_test

import (
	"errors"
	"strings"
	"testing"

	"kitbell/bot"
	"kitbell/bot/command"
)

var stations = []string{"1 Harbor Street", "3 Cooper Lane"}

func TestScreenRefuses(t *testing.T) {
	for _, row := range []struct {
		name, text string
		want       bot.Sentence
	}{
		{"nothing", "", bot.SayEmpty},
		{"blanks and control characters", " \t\x00\u200b\n", bot.SayEmpty},
		{"not text", "film \xff\xfe torn", bot.SayNotText},
		{"gate code", "gate code is 4711#", bot.SayCode},
		{"code before the word", "use 2580 keypad", bot.SayCode},
		{"star code", "punch in code *12*", bot.SayCode},
		{"alarm pin", "alarm pin 9021", bot.SayCode},
		{"box combination", "key box combo 1-2-3-4", bot.SayCode},
		{"phone with dashes", "call me at 555-010-0199", bot.SayPhone},
		{"phone with brackets", "owner (555) 010 0199", bot.SayPhone},
		{"short phone", "keyholder 555-0199", bot.SayPhone},
		{"phone run together", "ring 5550100199", bot.SayPhone},
		{"international phone", "+1 555 010 0199 is the super", bot.SayPhone},
		{"address", "we are at 212 Alder Creek Road", bot.SayStreet},
		{"address in small letters", "left the hook at 1450 quarry avenue", bot.SayStreet},
		{"address with a short word", "212 Alder St, back door", bot.SayStreet},
		{"address with a letter", "door at 14b Mill Lane", bot.SayStreet},
	} {
		t.Run(row.name, func(t *testing.T) {
			err := command.Screen(row.text, stations)
			var refused *bot.UserError
			if !errors.As(err, &refused) {
				t.Fatalf("Screen(%q) = %v, want a refusal", row.text, err)
			}
			if refused.Say != row.want.With().Say {
				t.Errorf("said %q, want %q", refused.Say, row.want)
			}
			for _, word := range strings.Fields(row.text) {
				if strings.ContainsAny(word, "0123456789") && strings.Contains(refused.Say, word) {
					t.Errorf("the refusal repeats %q", word)
				}
			}
		})
	}
}

func TestScreenTakes(t *testing.T) {
	for _, text := range []string{
		"E4 is missing the small hook",
		"tag 004512 intact", "seal 004501 is broken", "incident 2026-004123, used the film",
		"lot 4471 air wedges", "order 555-0199 came in", "line 41 is back",
		"what does the life safety code 101 say about exit doors",
		"IBC section 1010.1.9", "is it code 3 or not", "pin is 2 mm out", "the plunger pin at 1/8",
		"1 hook on the way back", "2 cards in the drive tray", "4 wedges at the place we were",
		"Station 1 Harbor Street has no film", "3 Cooper Lane crew, strap gone",
		"12 lb of push, 34 to 48 in above the floor", "moved 2 wedges from road kit",
		"5 film strips in 2 years", "gap 1-3/4 in door, 2-3/8 backset",
	} {
		if err := command.Screen(text, stations); err != nil {
			t.Errorf("Screen(%q) = %v", text, err)
		}
	}
}

func TestScreenSize(t *testing.T) {
	if err := command.Screen(strings.Repeat("a", command.MaxText), nil); err != nil {
		t.Errorf("the longest text: %v", err)
	}
	if err := command.Screen(strings.Repeat("film ", 20_000), nil); err == nil {
		t.Error("100 kB of text was taken")
	}
}

func FuzzScreen(f *testing.F) {
	f.Add("gate code is 4711#")
	f.Add("call (555) 010 0199 at 212 Alder Creek Road")
	f.Fuzz(func(t *testing.T, text string) {
		var refused *bot.UserError
		if err := command.Screen(text, stations); err != nil && !errors.As(err, &refused) {
			t.Fatalf("no sentence for the person: %v", err)
		}
	})
}
