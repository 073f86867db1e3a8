package training_test

import (
	"errors"
	"math"
	"slices"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"kitbell/bot/training"
	"kitbell/schedule"
)

func tap(member string, result training.Result) training.Answer {
	return training.Answer{
		Prompt: "p1", Crew: b4, Member: member, Result: result, At: now,
		Drill: training.Drill{Topic: "film", Kind: training.HandsOnDrill, Card: "drill-inward-film"},
	}
}

func TestGrade(t *testing.T) {
	target := training.Task{Minutes: 4, Tries: 3}
	for _, row := range []struct {
		name         string
		result       training.Result
		took, target training.Task
		want         schedule.Grade
	}{
		{"did not know", training.DidNotKnow, training.Task{}, training.Task{}, schedule.Again},
		{"struggled", training.Struggled, training.Task{}, training.Task{}, schedule.Hard},
		{"got it", training.GotIt, training.Task{}, training.Task{}, schedule.Good},
		{"done, not measured", training.DoneHandsOn, training.Task{}, target, schedule.Easy},
		{"done in time", training.DoneHandsOn, training.Task{Minutes: 4, Tries: 3}, target, schedule.Easy},
		{"done, too slow", training.DoneHandsOn, training.Task{Minutes: 4.5}, target, schedule.Good},
		{"done, too many tries", training.DoneHandsOn, training.Task{Tries: 4}, target, schedule.Good},
		{"done without a target", training.DoneHandsOn, training.Task{Minutes: 99, Tries: 99}, training.Task{}, schedule.Easy},
	} {
		a := tap("m1", row.result)
		a.Took, a.Target = row.took, row.target
		if got := a.Grade(); got != row.want || a.Check() != nil {
			t.Errorf("%s: grade %d, want %d (%v)", row.name, got, row.want, a.Check())
		}
	}
}

func TestAnswerRefused(t *testing.T) {
	for _, row := range []struct {
		name  string
		spoil func(a *training.Answer)
		want  error
	}{
		{"no post", func(a *training.Answer) { a.Prompt = "" }, training.ErrNoPrompt},
		{"no member", func(a *training.Answer) { a.Member = "" }, training.ErrNoCrew},
		{"no platoon", func(a *training.Answer) { a.Crew.Platoon = "" }, training.ErrNoCrew},
		{"no result", func(a *training.Answer) { a.Result = "fine" }, training.ErrNoResult},
		{"no card", func(a *training.Answer) { a.Drill.Card = "" }, training.ErrNoCard},
		{"no kind", func(a *training.Answer) { a.Drill.Kind = "" }, training.ErrNoKind},
		{"no topic", func(a *training.Answer) { a.Drill.Topic = "" }, training.ErrNoTopic},
		{"minutes below none", func(a *training.Answer) { a.Took.Minutes = -1 }, training.ErrMeasure},
		{"minutes that are no number", func(a *training.Answer) { a.Took.Minutes = math.NaN() }, training.ErrMeasure},
		{"tries below none", func(a *training.Answer) { a.Target.Tries = -1 }, training.ErrMeasure},
	} {
		a := tap("m1", training.GotIt)
		row.spoil(&a)
		if _, err := training.Histories(schedule.DefaultMemoryModel(), []training.Answer{a}); !errors.Is(err, row.want) {
			t.Errorf("%s: %v, want %v", row.name, err, row.want)
		}
	}
}

func TestHistories(t *testing.T) {
	model := schedule.DefaultMemoryModel()
	first := func(grade schedule.Grade) schedule.Memory {
		memory, err := model.Answer(schedule.Memory{}, grade, now)
		if err != nil {
			t.Fatal(err)
		}
		return memory
	}
	later := tap("m1", training.Struggled)
	later.At = now.Add(time.Hour)
	for _, row := range []struct {
		name    string
		answers []training.Answer
		want    schedule.Memory
		hands   bool
	}{
		{"one tap", []training.Answer{tap("m1", training.GotIt)}, first(schedule.Good), false},
		{"of two the lower", []training.Answer{tap("m1", training.GotIt), tap("m2", training.DidNotKnow)}, first(schedule.Again), false},
		{"of three the middle one", []training.Answer{tap("m1", training.DoneHandsOn), tap("m2", training.GotIt), tap("m3", training.DidNotKnow)}, first(schedule.Good), true},
		{"a member's last tap counts", []training.Answer{tap("m1", training.DidNotKnow), later}, first(schedule.Hard), false},
	} {
		all, err := training.Histories(model, row.answers)
		if err != nil {
			t.Fatalf("%s: %v", row.name, err)
		}
		got := all[b4]["film"]
		if got.Memory != row.want || got.Drills != 1 || got.HandsOn.IsZero() == row.hands {
			t.Errorf("%s: %+v, want %+v", row.name, got, row.want)
		}
	}
}

// Crews learn apart from each other, posts one after the other.
func TestHistoriesByCrewAndPost(t *testing.T) {
	second, other := tap("m1", training.GotIt), tap("m9", training.DidNotKnow)
	second.Prompt, second.At = "p2", now.Add(6*day)
	other.Crew = c4
	all, err := training.Histories(schedule.DefaultMemoryModel(), []training.Answer{second, other, tap("m1", training.GotIt)})
	if err != nil {
		t.Fatal(err)
	}
	if b, c := all[b4]["film"], all[c4]["film"]; b.Drills != 2 || c.Drills != 1 || !b.Memory.Last.Equal(second.At) || b.Memory.Stability <= c.Memory.Stability {
		t.Errorf("%+v, %+v", b, c)
	}
}

func TestHistoriesIgnoreOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var answers []training.Answer
		for range rapid.IntRange(0, 30).Draw(t, "answers") {
			a := tap(rapid.SampledFrom([]string{"m1", "m2", "m3"}).Draw(t, "member"), rapid.SampledFrom(training.Results()).Draw(t, "result"))
			a.Prompt = rapid.SampledFrom([]string{"p1", "p2", "p3", "p4"}).Draw(t, "prompt")
			a.Crew = rapid.SampledFrom([]training.Crew{b4, c4}).Draw(t, "crew")
			a.At = now.Add(time.Duration(rapid.IntRange(0, 500).Draw(t, "hour")) * time.Hour)
			answers = append(answers, a)
		}
		shuffled := rapid.Permutation(answers).Draw(t, "shuffled")
		model := schedule.DefaultMemoryModel()
		one, err := training.Histories(model, slices.Clone(answers))
		if err != nil {
			t.Fatal(err)
		}
		other, err := training.Histories(model, shuffled)
		if err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(one, other); diff != "" {
			t.Error(diff)
		}
	})
}

// A drill is one, however many of the crew tapped and however often; what nobody
// knew was not done.
func TestDrillsDone(t *testing.T) {
	tap := func(prompt, member string, result training.Result, days int) training.Answer {
		return training.Answer{Prompt: prompt, Member: member, Result: result, At: now.Add(-time.Duration(days) * day),
			Crew: training.Crew{Unit: "engine-4", Platoon: "A"}, Drill: training.Drill{Topic: "film", Kind: training.HandsOnDrill, Card: "drill-film"}}
	}
	for _, row := range []struct {
		name string
		taps []training.Answer
		want int
	}{
		{"a tap, and its minutes", []training.Answer{tap("1", "a", training.DoneHandsOn, 1), tap("1", "a", training.DoneHandsOn, 1)}, 1},
		{"two of a crew", []training.Answer{tap("1", "a", training.DoneHandsOn, 1), tap("1", "b", training.DidNotKnow, 1)}, 1},
		{"nobody knew", []training.Answer{tap("1", "a", training.DidNotKnow, 1)}, 0},
		{"the last tap counts", []training.Answer{tap("1", "a", training.GotIt, 2), tap("1", "a", training.DidNotKnow, 1)}, 0},
		{"two drills", []training.Answer{tap("1", "a", training.GotIt, 2), tap("2", "a", training.Struggled, 1)}, 2},
		{"an old one", []training.Answer{tap("1", "a", training.GotIt, 400)}, 0},
	} {
		t.Run(row.name, func(t *testing.T) {
			if got := training.DrillsDone(row.taps, now.Add(-365*day)); got != row.want {
				t.Errorf("%d done, want %d", got, row.want)
			}
		})
	}
}
