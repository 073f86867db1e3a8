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
		{"lockbox", "the lockbox is 5521", bot.SayCode},
		{"pin", "pin 9921", bot.SayCode},
		{"gate with a colon", "gate: 1945", bot.SayCode},
		{"hash that opens", "#4471 opens it", bot.SayCode},
		{"stars and hashes", "*4471# for the door", bot.SayCode},
		{"access", "access 4471*", bot.SayCode},
		{"entered", "enter #4521 at the panel", bot.SayCode},
		{"punched in", "punch in 2580 then star", bot.SayCode},
		{"letters and digits", "door code is A12B", bot.SayCode},
		{"one digit at a time", "code is 4 4 7 1", bot.SayCode},
		{"wide digits", "code is ４４７１", bot.SayCode},
		{"spoken", "code four four seven one", bot.SayCode},
		{"a dial", "combination 5 left 12 right 33", bot.SayCode},
		{"a box with a number", "the key is in box 1122", bot.SayCode},
		{"a code for a place", "the code for the gate is 4471", bot.SayCode},
		{"a code to a place", "the code to the front door is 4471", bot.SayCode},
		{"a code said aloud", "the code for the keybox is pound 2 2 9 1", bot.SayCode},
		{"a key box in one word", "keybox 2291", bot.SayCode},
		{"what opens a key box", "keybox opens with 2291", bot.SayCode},
		{"what opens a door", "the front door opens with 4471", bot.SayCode},
		{"what stops an alarm", "the alarm panel: disarm with 9034", bot.SayCode},
		{"the number first", "4471 is the gate code", bot.SayCode},
		{"a password", "wifi password hunter2", bot.SayCode},
		{"phone a digit at a time", "cell 5 5 5 1 2 3 4 5 6 7", bot.SayPhone},
		{"a phone after call", "E1 air wedge missing. call 555-123-4567", bot.SayPhone},
		{"a phone after number", "his number is 555 123 4567", bot.SayPhone},
		{"a short phone after call", "call 123-4567", bot.SayPhone},
		{"social security", "hers is 123-45-6789", bot.SayPersonal},
		{"e-mail", "write to someone@example.org", bot.SayPersonal},
		{"a place on the map", "at 40.71280, -74.00600", bot.SayPersonal},
		{"spoken address", "we are at one twenty Main Street", bot.SayStreet},
		{"a block", "1200 block of Pine", bot.SayStreet},
		{"a highway", "4410 Hwy 9, back door", bot.SayStreet},
		{"a terrace", "88 millpond ter", bot.SayStreet},
		{"an apartment", "Apt 12, Sunset Towers", bot.SayStreet},
		{"a street without its word", "used the shim at 14 Elm", bot.SayStreet},
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
		"invoice 118-2291 for the films", "line #41 is back", "#41 is back in the kit", "one two three wedges, where is the fourth",
		"the box of 4 wedges", "two three or four tries", "press the pin in 2 mm", "at 10 Engine 4 checked", "from 2 Film only 1 left",
		"Engine 11 door kit", "twenty Wood wedges", "E4 box is dirty", "code says 15 lbf", "open 4 of them", "key 3 is bent", "type 2 shim",
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
