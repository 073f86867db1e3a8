package main

import (
	"strings"
	"testing"
	"time"

	"kitbell/bot"
)

// Every station's channel has the DOOR button once, however often the bot
// starts, and three taps lead from it to the first thing to try.
func TestStandingButton(t *testing.T) {
	w := newWatched(t)
	for range 3 {
		if waiting, err := w.office.postStanding(t.Context()); err != nil || waiting {
			t.Fatal(waiting, err)
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

// In quiet hours nothing is posted; the button comes after them.
func TestStandingButtonWaitsForTheMorning(t *testing.T) {
	w := newWatched(t)
	clock := w.office.clock.(*bot.ManualClock)
	zone := w.office.desks.all()[0].Department.Zone
	clock.Set(time.Date(2026, 11, 24, 3, 0, 0, 0, zone))
	if waiting, err := w.office.postStanding(t.Context()); err != nil || !waiting {
		t.Fatal(waiting, err)
	}
	if sent := w.send(); len(sent) > 0 {
		t.Errorf("posted %d things at three in the morning", len(sent))
	}
	clock.Set(time.Date(2026, 11, 24, 9, 0, 0, 0, zone))
	if waiting, err := w.office.postStanding(t.Context()); err != nil || waiting || len(w.send()) == 0 {
		t.Errorf("at nine: waiting %v, %v", waiting, err)
	}
}
