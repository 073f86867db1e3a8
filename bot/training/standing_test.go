package training_test

import (
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"kitbell/bot/training"
	"kitbell/schedule"
)

// A topic is strong while its chance six days on is 90 in 100 or more, which by FACTS
// E22 ends as many days after the answer as its stability.
func TestStandingOf(t *testing.T) {
	start := time.Date(2026, 1, 5, 8, 0, 0, 0, time.UTC)
	past := training.History{Memory: schedule.Memory{Stability: 10, Difficulty: 5, Last: start}, Drills: 1, Kind: training.HandsOnDrill}
	for _, row := range []struct {
		name string
		past training.History
		days int
		want training.Standing
	}{
		{"never", training.History{}, 0, training.NotDrilled},
		{"just drilled", past, 0, training.Strong},
		{"the day before its stability, six days on", past, 3, training.Strong},
		{"the day after", past, 5, training.Fading},
		{"not known a minute ago", training.History{Memory: schedule.Memory{Stability: 0.212, Difficulty: 6.4, Last: start}, Drills: 1}, 0, training.Weak},
		{"a year after", past, 365, training.Weak},
	} {
		if got := training.StandingOf("film", row.past, start.AddDate(0, 0, row.days)); got.Standing != row.want {
			t.Errorf("%s: %s at %.3f, want %s", row.name, got.Standing, got.Recall, row.want)
		}
	}
}

// The weakest come first, and a history says how the last drill was done.
func TestStand(t *testing.T) {
	crew, now := training.Crew{Unit: "engine-4", Platoon: "B"}, time.Date(2026, 6, 1, 8, 0, 0, 0, time.UTC)
	answer := func(topic string, kind training.DrillKind, result training.Result, days int) training.Answer {
		return training.Answer{Prompt: topic, Crew: crew, Member: "m1", Result: result, At: now.AddDate(0, 0, -days), Drill: training.Drill{Topic: topic, Kind: kind, Card: topic}}
	}
	past, err := training.Histories(schedule.DefaultMemoryModel(), []training.Answer{
		answer("film", training.HandsOnDrill, training.DoneHandsOn, 2), answer("hook", training.RecallDrill, training.DidNotKnow, 40), answer("bar", training.DecideDrill, training.GotIt, 3),
	})
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for _, s := range training.Stand([]training.Topic{{ID: "film"}, {ID: "hook"}, {ID: "bar"}, {ID: "wedge"}}, past[crew], now) {
		got = append(got, s.Topic+" "+string(s.Standing)+" "+string(s.History.Kind))
	}
	if diff := cmp.Diff([]string{"wedge not drilled yet ", "hook weak recall", "bar fading decide", "film strong hands-on"}, got); diff != "" {
		t.Error(diff)
	}
}
