package main

import (
	"strings"
	"testing"
)

// Every station's channel has the DOOR button once, however often the bot
// starts, and three taps lead from it to the first thing to try.
func TestStandingButton(t *testing.T) {
	w := newWatched(t)
	for range 3 {
		if err := w.office.postStanding(t.Context()); err != nil {
			t.Fatal(err)
		}
	}
	posted := map[string]int{}
	for {
		sent := w.send()
		if len(sent) == 0 {
			break
		}
		for _, m := range sent {
			if len(m.Reply.Buttons) == 1 && m.Reply.Buttons[0].Label == "DOOR" {
				posted[m.To.Channel]++
			}
		}
	}
	if len(posted) != 2 || posted["station-1"] != 1 || posted["station-2"] != 1 {
		t.Errorf("posted %v, want once in each station's channel", posted)
	}
}

func TestThreeTapsToTheFirstThing(t *testing.T) {
	w := newWatched(t)
	press := "door:start"
	for tap, label := range []string{"Toward you", "Latch", ""} {
		reply := w.tap(press)
		if label == "" {
			if !strings.Contains(reply.Plain(), "1. ") {
				t.Errorf("after tap %d: %s", tap+1, reply.Plain())
			}
			return
		}
		press = ""
		for _, b := range reply.Buttons {
			if b.Label == label {
				press = b.Value
			}
		}
		if press == "" {
			t.Fatalf("tap %d has no button %q: %v", tap+1, label, reply.Buttons)
		}
	}
}
