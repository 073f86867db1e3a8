package training_test

import (
	"errors"
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"kitbell/bot/training"
)

// evening is a two-hour session that ended an hour before now.
func evening() training.Details {
	return training.Details{
		Start: now.Add(-3 * time.Hour), End: now.Add(-time.Hour), Place: "Station 4 bay", Subject: "Inward latches",
		Standard: "NFPA 1010, 2024", Method: training.HandsOnMethod, Instructor: "ines-okafor", Course: "film-2026",
	}
}

func held(key string, d training.Details) training.SessionStep {
	return training.SessionStep{Key: key, What: training.SessionHeld, Details: d, By: "ines-okafor", At: now}
}

// attended is a member's own tap; members m1.. are of engine 4, platoon B.
func attended(key, member string) training.SessionStep {
	return training.SessionStep{Key: key, What: training.SessionAttended, Member: member, Crew: b4, By: member, At: now}
}

func confirmed(key string) training.SessionStep {
	return training.SessionStep{Key: key, What: training.SessionConfirmed, By: "rowan-teague", At: now.Add(time.Minute)}
}

func corrected(key string, change func(d *training.Details)) training.SessionStep {
	d := evening()
	change(&d)
	return training.SessionStep{Key: key, What: training.SessionCorrected, Details: d, Reason: "the clock was wrong", By: "ines-okafor", At: now.Add(time.Hour)}
}

func struck(key, member string) training.SessionStep {
	return training.SessionStep{Key: key, What: training.SessionStruck, Member: member, Reason: "was on a call", By: "ines-okafor", At: now.Add(time.Hour)}
}

func longer(d *training.Details) { d.End = d.End.Add(30 * time.Minute) }

func TestCheckSession(t *testing.T) {
	there := training.Sessions([]training.SessionStep{
		held("a", evening()), attended("a", "m1"), confirmed("a"),
		held("b", evening()), held("c", evening()), attended("c", "m1"),
		held("d", evening()), byOfficer(attended("d", "m1")), held("e", evening()), offDuty(attended("e", "m1")),
	})
	with := func(change func(d *training.Details)) training.SessionStep {
		d := evening()
		change(&d)
		return held("n", d)
	}
	off := func(s training.SessionStep, change func(s *training.SessionStep)) training.SessionStep {
		change(&s)
		return s
	}
	for _, row := range []struct {
		name string
		step training.SessionStep
		want error
	}{
		{"as it should be", with(func(d *training.Details) { d.Subject = "Outward latches" }), nil},
		{"booked already", held("n", evening()), training.ErrBooked},
		{"ends before it starts", with(func(d *training.Details) { d.End = d.Start.Add(-time.Minute) }), training.ErrEndsFirst},
		{"ends as it starts", with(func(d *training.Details) { d.End = d.Start }), training.ErrEndsFirst},
		{"longer than a day", with(func(d *training.Details) { d.End = d.Start.Add(25 * time.Hour) }), training.ErrTooLong},
		{"without an end", with(func(d *training.Details) { d.End = time.Time{} }), training.ErrNoTimes},
		{"without a place", with(func(d *training.Details) { d.Place = "" }), training.ErrMissing},
		{"without a subject", with(func(d *training.Details) { d.Subject = "" }), training.ErrMissing},
		{"without a standard", with(func(d *training.Details) { d.Standard = "" }), training.ErrMissing},
		{"without an instructor", with(func(d *training.Details) { d.Instructor = "" }), training.ErrMissing},
		{"a method that is none", with(func(d *training.Details) { d.Method = "osmosis" }), training.ErrMethod},
		{"a key that is taken", held("a", evening()), training.ErrKey},
		{"no key", held("", evening()), training.ErrKey},
		{"about no session", attended("x", "m1"), training.ErrNoSession},
		{"attended", attended("a", "m2"), nil},
		{"attended twice", attended("a", "m1"), training.ErrSame},
		{"attended without a member", off(attended("a", ""), func(s *training.SessionStep) {}), training.ErrNoMember},
		{"attended by day staff", off(attended("a", "m2"), func(s *training.SessionStep) { s.Crew = training.Crew{} }), nil},
		{"a result that is none", off(attended("a", "m2"), func(s *training.SessionStep) { s.Outcome = "so-so" }), training.ErrOutcome},
		{"a result after the tap", off(byOfficer(attended("a", "m1")), func(s *training.SessionStep) { s.Outcome = training.Passed }), nil},
		{"a result for oneself", off(attended("a", "m2"), func(s *training.SessionStep) { s.Outcome = training.Passed }), training.ErrOwnResult},
		{"a tap over an officer's entry", attended("d", "m1"), training.ErrSame},
		{"attended before it starts", off(attended("a", "m2"), func(s *training.SessionStep) { s.At = evening().Start.Add(-time.Minute) }), training.ErrNotBegun},
		{"confirmed", confirmed("c"), nil},
		{"confirmed twice", confirmed("a"), training.ErrSame},
		{"confirmed by nobody", off(confirmed("c"), func(s *training.SessionStep) { s.By = "" }), training.ErrNoOfficer},
		{"confirmed before it ended", off(confirmed("c"), func(s *training.SessionStep) { s.At = evening().End.Add(-time.Second) }), training.ErrNotOver},
		{"confirmed without anybody", confirmed("b"), training.ErrNobody},
		{"confirmed with an off-duty tap only", confirmed("e"), training.ErrNobody},
		{"corrected", corrected("a", longer), nil},
		{"corrected to what it is", corrected("a", func(*training.Details) {}), training.ErrSame},
		{"corrected without a reason", off(corrected("a", longer), func(s *training.SessionStep) { s.Reason = "" }), training.ErrNoReason},
		{"corrected to end first", corrected("a", func(d *training.Details) { d.End = d.Start }), training.ErrEndsFirst},
		{"struck", struck("a", "m1"), nil},
		{"struck who was not there", struck("a", "m9"), training.ErrNotThere},
		{"struck without a reason", off(struck("a", "m1"), func(s *training.SessionStep) { s.Reason = "" }), training.ErrNoReason},
		{"used up", training.SessionStep{Key: "a", What: training.SessionUsed, Used: map[string]int{"latch-film": 1}}, nil},
		{"nothing used up", training.SessionStep{Key: "a", What: training.SessionUsed}, training.ErrNothingUsed},
		{"less than none used up", training.SessionStep{Key: "a", What: training.SessionUsed, Used: map[string]int{"latch-film": -1}}, training.ErrNothingUsed},
		{"no step", training.SessionStep{Key: "a", What: "enjoyed"}, training.ErrNoStep},
	} {
		if err := training.CheckSession(there, row.step); !errors.Is(err, row.want) {
			t.Errorf("%s: %v, want %v", row.name, err, row.want)
		}
	}
}

// offDuty is a member's own tap while off duty.
func offDuty(s training.SessionStep) training.SessionStep { s.OffDuty = true; return s }

func byOfficer(s training.SessionStep) training.SessionStep { s.By = "ines-okafor"; return s }

// What counts is what an officer has vouched for, until one vouches again.
func TestRecord(t *testing.T) {
	for _, row := range []struct {
		name    string
		steps   []training.SessionStep
		members []string // nil: no record
		length  time.Duration
		waits   bool
	}{
		{"not confirmed", []training.SessionStep{attended("a", "m1")}, nil, 0, true},
		{"confirmed", []training.SessionStep{attended("a", "m2"), attended("a", "m1"), confirmed("a")}, []string{"m1", "m2"}, 2 * time.Hour, false},
		{"a tap after that waits", []training.SessionStep{attended("a", "m1"), confirmed("a"), attended("a", "m2")}, []string{"m1"}, 2 * time.Hour, true},
		{"a correction waits", []training.SessionStep{attended("a", "m1"), confirmed("a"), corrected("a", longer)}, []string{"m1"}, 2 * time.Hour, true},
		{"and then counts", []training.SessionStep{attended("a", "m1"), confirmed("a"), corrected("a", longer), confirmed("a")}, []string{"m1"}, 150 * time.Minute, false},
		{"struck", []training.SessionStep{attended("a", "m1"), attended("a", "m2"), struck("a", "m1"), confirmed("a")}, []string{"m2"}, 2 * time.Hour, false},
		{"struck and back", []training.SessionStep{attended("a", "m1"), struck("a", "m1"), attended("a", "m1"), confirmed("a")}, []string{"m1"}, 2 * time.Hour, false},
		{"a tap off duty", []training.SessionStep{attended("a", "m1"), offDuty(attended("a", "m2")), confirmed("a")}, []string{"m1"}, 2 * time.Hour, false},
		{"which an officer enters", []training.SessionStep{offDuty(attended("a", "m2")), byOfficer(offDuty(attended("a", "m2"))), confirmed("a")}, []string{"m2"}, 2 * time.Hour, false},
	} {
		s := training.Sessions(append([]training.SessionStep{held("a", evening())}, row.steps...))[0]
		record, ok := s.Record()
		var members []string
		for _, a := range record.Attended {
			members = append(members, a.Member)
		}
		if diff := cmp.Diff(row.members, members); diff != "" || ok != (row.members != nil) || ok && record.Length() != row.length || s.Waits() != row.waits {
			t.Errorf("%s: %v, %v, waits %v\n%s", row.name, ok, record.Length(), s.Waits(), diff)
		}
	}
}

// The first entry stays as it was entered, with each correction beside it.
func TestCorrectionStandsBeside(t *testing.T) {
	s := training.Sessions([]training.SessionStep{held("a", evening()), held("a", training.Details{}), corrected("a", longer), attended("x", "m1")})
	if len(s) != 1 || s[0].First.Details != evening() || len(s[0].Later) != 1 || s[0].Later[0].Reason != "the clock was wrong" || !s[0].Details().End.Equal(evening().End.Add(30*time.Minute)) {
		t.Errorf("%+v", s)
	}
}

func roster() []training.Person {
	c := training.Crew{Unit: "engine-4", Platoon: "C"}
	return []training.Person{
		{ID: "m1", Crew: b4}, {ID: "m2", Crew: b4, Away: training.OnLeave}, {ID: "m3", Crew: c}, {ID: "m4", Crew: c, Away: training.LightDuty},
	}
}

func names(list []training.ToGo) []string {
	var all []string
	for _, p := range list {
		all = append(all, fmt.Sprintf("%s %s %v", p.ID, p.Away, p.Said))
	}
	return all
}

func TestMakeUp(t *testing.T) {
	needsMore := byOfficer(attended("c", "m3"))
	needsMore.Outcome = training.NeedsMore
	other := evening()
	other.Course = "bars-2026"
	got := training.MakeUp(training.Sessions([]training.SessionStep{
		held("a", evening()), attended("a", "m1"), attended("a", "left-the-force"), confirmed("a"),
		held("b", evening()), attended("b", "m4"),
		held("c", evening()), needsMore, confirmed("c"),
		held("d", other), attended("d", "m2"), confirmed("d"),
	}), "film-2026", roster())
	want := []string{"m2 leave false", "m3  false", "m4 light-duty true"}
	if diff := cmp.Diff(want, names(got.ToGo)); diff != "" {
		t.Error(diff)
	}
	if diff := cmp.Diff([]training.PlatoonCount{{Platoon: "B", Done: 1, Of: 2}, {Platoon: "C", Done: 0, Of: 2}}, got.Platoons); diff != "" || got.Done != 1 || got.Of != 4 || got.Said != 1 {
		t.Errorf("%+v %s", got, diff)
	}
}

func TestUsedUp(t *testing.T) {
	used := func(key, item string, n int) training.SessionStep {
		return training.SessionStep{Key: key, What: training.SessionUsed, Used: map[string]int{item: n}}
	}
	old := evening()
	old.Start, old.End = old.Start.AddDate(-1, 0, 0), old.End.AddDate(-1, 0, 0)
	sessions := training.Sessions([]training.SessionStep{
		held("a", evening()), used("a", "latch-film", 2), used("a", "wood-wedge", 1), held("b", evening()), used("b", "latch-film", 1),
		held("c", old), used("c", "latch-film", 9),
	})
	if diff := cmp.Diff(map[string]int{"latch-film": 3, "wood-wedge": 1}, training.UsedUp(sessions, now.AddDate(0, -1, 0), now)); diff != "" {
		t.Error(diff)
	}
}

// drawSessions are entries as CheckSession lets them through.
func drawSessions(t *rapid.T) []training.Session {
	rng := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 0))
	var steps []training.SessionStep
	for range rapid.IntRange(1, 60).Draw(t, "entries") {
		key := string(rune('a' + rng.IntN(5)))
		d := evening()
		d.Start = now.Add(-time.Duration(rng.IntN(48*60)+61) * time.Minute)
		d.End = d.Start.Add(time.Duration(rng.IntN(60)+1) * time.Minute)
		step := []training.SessionStep{
			held(key, d), attended(key, fmt.Sprintf("m%d", rng.IntN(4))), offDuty(attended(key, "m9")), confirmed(key),
			corrected(key, func(c *training.Details) { *c = d }), struck(key, fmt.Sprintf("m%d", rng.IntN(4))),
		}[rng.IntN(6)]
		if training.CheckSession(training.Sessions(steps), step) == nil {
			steps = append(steps, step)
		}
	}
	return training.Sessions(steps)
}

// A member's hours are the time that confirmed sessions cover, each sum
// is the sum of its parts, and nobody has hours without an officer.
func TestHoursAddUp(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		sessions := drawSessions(t)
		records := training.Records(sessions)
		tally, err := training.TallyHours(records, roster(), 2026, time.UTC, 192*time.Hour)
		if err != nil {
			t.Fatal(err)
		}
		var people, units time.Duration
		for _, p := range tally.People {
			people += p.Hours
			if p.Member == "m9" || p.Hours != covered(records, p.Member) {
				t.Errorf("%s has %v", p.Member, p.Hours)
			}
			if p.Missing != max(0, 192*time.Hour-p.Hours) {
				t.Errorf("%v missing with %v", p.Missing, p.Hours)
			}
		}
		for _, u := range tally.Units {
			units += u.Hours
		}
		if people != tally.Total() || units != tally.Total() {
			t.Errorf("people %v, units %v, months %v", people, units, tally.Total())
		}
	})
}

// covered counts, minute by minute, the time in which a member was in some record.
func covered(records []training.Record, member string) time.Duration {
	minutes := map[int64]bool{}
	for _, r := range records {
		if !slices.ContainsFunc(r.Attended, func(a training.SessionStep) bool { return a.Member == member }) {
			continue
		}
		for at := r.Start; at.Before(r.End); at = at.Add(time.Minute) {
			minutes[at.Unix()/60] = true
		}
	}
	return time.Duration(len(minutes)) * time.Minute
}
