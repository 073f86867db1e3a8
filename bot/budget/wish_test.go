package budget_test

import (
	"errors"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"kitbell/bot/budget"
)

// What is asked for again, in other words, is the same wish; what says something
// else of the tool is another.
func TestSameWish(t *testing.T) {
	film := func(words string) budget.Asking {
		return budget.Asking{Item: "latch-film", Gist: budget.Gist(words, "latch film", "film", "plastic")}
	}
	free := func(words string) budget.Asking { return budget.Asking{Gist: budget.Gist(words)} }
	for _, row := range []struct {
		name string
		a, b budget.Asking
		want bool
	}{
		{"how many", film("a second film"), film("two more latch films for every kit"), true},
		{"another kind", film("a second film"), film("a longer film"), false},
		{"the same kind", film("longer films"), film("a longer latch film"), true},
		{"another tool", film("a second film"), budget.Asking{Item: "air-wedge"}, false},
		{"new, other order", free("glow tape on the hooks"), free("tape that glows, on hooks"), true},
		{"new, more words", free("glow tape on the hooks"), free("glow tape on the hooks and the bars"), true},
		{"new, one word shared", free("glow tape"), free("duct tape"), false},
		{"new, one word alone", free("a magnet"), free("a magnet for the lid"), false},
		{"nothing said", free("one more"), free("another"), true},
	} {
		if got := row.a.Same(row.b); got != row.want || row.b.Same(row.a) != got {
			t.Errorf("%s: %v and %v: %v", row.name, row.a.Gist, row.b.Gist, got)
		}
	}
}

func day(text string) time.Time {
	at, err := time.Parse(time.DateOnly, text)
	if err != nil {
		panic(err)
	}
	return at
}

// A wish is counted by crews, keeps its number, and has the last answer.
func TestWishes(t *testing.T) {
	ask := func(words, unit, platoon, reason string, at string, cents int64) budget.Asking {
		return budget.Asking{For: words, Gist: budget.Gist(words), Unit: unit, Platoon: platoon, Reason: reason, At: day(at), Cents: cents}
	}
	first, joined := budget.Join(nil, ask("glow tape on hooks", "engine-4", "A", "dark", "2026-11-01", 0), "k1", day("2026-01-01"))
	if joined != nil || first.Number != 1 || first.Key != "k1" {
		t.Fatalf("first %+v joined %v", first, joined)
	}
	wishes := budget.Wishes([]budget.Asking{first}, nil)
	second, joined := budget.Join(wishes, ask("hooks with glow tape", "engine-4", "A", "dark", "2026-11-02", 700), "k2", day("2026-01-01"))
	if joined == nil || second.Key != "k1" || second.Number != 0 {
		t.Fatalf("second %+v", second)
	}
	other, joined := budget.Join(wishes, ask("a magnet", "engine-6", "B", "", "2026-11-03", 0), "k3", day("2026-01-01"))
	if joined != nil || other.Number != 2 {
		t.Fatalf("other %+v", other)
	}
	late, joined := budget.Join(wishes, ask("glow tape on hooks", "engine-1", "C", "", "2027-11-03", 0), "k4", day("2027-03-16"))
	if joined != nil || late.Key != "k4" {
		t.Errorf("a wish of the year before took in %+v", late)
	}
	no := budget.Answer{Key: "k1", Verdict: budget.Declined, Reason: "it peels"}
	yes := budget.Answer{Key: "k1", Verdict: budget.Granted, Each: 1, Cents: 650}
	wishes = budget.Wishes([]budget.Asking{first, second, other}, []budget.Answer{no, yes, {Key: "gone", Verdict: budget.Later}})
	w := wishes[0]
	if len(wishes) != 2 || len(w.Askings) != 2 || w.Answer.Verdict != budget.Granted || w.Cents() != 650 || wishes[1].Answer != nil {
		t.Errorf("wishes %+v", wishes)
	}
	if diff := cmp.Diff([]budget.Crew{{Unit: "engine-4", Platoon: "A"}}, w.Crews()); diff != "" || len(w.Reasons()) != 1 {
		t.Errorf("crews %s, reasons %v", diff, w.Reasons())
	}
	if again := budget.Wishes([]budget.Asking{other}, nil); again[0].Number != 2 {
		t.Errorf("the first was taken back, and the second is number %d", again[0].Number)
	}
}

// What cannot be an answer is refused with the reason.
func TestCheckAnswer(t *testing.T) {
	given := budget.Answer{Verdict: budget.Granted, Each: 1}
	for _, row := range []struct {
		name   string
		answer budget.Answer
		want   error
	}{
		{"one for every kit", budget.Answer{Verdict: budget.Granted, Each: 2}, nil},
		{"no word", budget.Answer{}, budget.ErrVerdict},
		{"another word", budget.Answer{Verdict: "maybe"}, budget.ErrVerdict},
		{"no, and no reason", budget.Answer{Verdict: budget.Declined}, budget.ErrWhy},
		{"later, and no reason", budget.Answer{Verdict: budget.Later}, budget.ErrWhy},
		{"none each", budget.Answer{Verdict: budget.Granted}, budget.ErrEach},
		{"fewer than none", budget.Answer{Verdict: budget.Granted, Each: -2}, budget.ErrEach},
		{"a price below zero", budget.Answer{Verdict: budget.Granted, Each: 1, Cents: -1}, budget.ErrWishPrice},
		{"the same again", given, budget.ErrSameWord},
	} {
		if err := budget.CheckAnswer(budget.Wish{Answer: &given}, row.answer); !errors.Is(err, row.want) {
			t.Errorf("%s: %v", row.name, err)
		}
	}
	name := func(unit string) string { return strings.ToUpper(unit) }
	if got := (budget.Answer{Each: 2, Units: []string{"engine-4"}}).ForWords(name); got != "2 each for ENGINE-4" {
		t.Errorf("said %q", got)
	}
}

// Wishes for a year close on their day, that day included; the next one counts for
// the year after. The days are those of the demo department (SCENARIO).
func TestWishYear(t *testing.T) {
	closesOn, startsOn := budget.YearDay{Month: time.March, Day: 15}, budget.YearDay{Month: time.July, Day: 1}
	for _, row := range []struct{ name, at, closes, starts string }{
		{"autumn", "2026-11-28", "2027-03-16", "2027-07-01"},
		{"the last day", "2027-03-15", "2027-03-16", "2027-07-01"},
		{"the day after", "2027-03-16", "2028-03-16", "2028-07-01"},
		{"after the year began", "2027-07-02", "2028-03-16", "2028-07-01"},
	} {
		closes, starts := budget.WishYear(day(row.at), closesOn, startsOn)
		if closes.Format(time.DateOnly) != row.closes || starts.Format(time.DateOnly) != row.starts {
			t.Errorf("%s: closes %s, starts %s", row.name, closes, starts)
		}
	}
	// A department whose year begins before its wishes close asks for the year after.
	if _, starts := budget.WishYear(day("2027-02-01"), closesOn, budget.YearDay{Month: time.January, Day: 1}); starts.Format(time.DateOnly) != "2028-01-01" {
		t.Errorf("starts %s", starts)
	}
}
