package schedule_test

import (
	"encoding/json"
	"errors"
	"math"
	"os"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"kitbell/schedule"
)

var monday = time.Date(2026, 11, 23, 9, 0, 0, 0, time.UTC)

func after(days float64) time.Time { return monday.Add(time.Duration(days * 24 * float64(time.Hour))) }

// answer grades a memory; the test fails when the model refuses.
func answer(t rapid.TB, m schedule.MemoryModel, was schedule.Memory, grade schedule.Grade, at time.Time) schedule.Memory {
	t.Helper()
	memory, err := m.Answer(was, grade, at)
	if err != nil {
		t.Fatal(err)
	}
	return memory
}

func near(got, want, tolerance float64) bool { return math.Abs(got-want) <= tolerance }

// FACTS E25, second part: Again, then five times Good after 0, 0, 1, 3, 8 and 21
// days; stability and difficulty of the reference code's own test.
func TestMemoryGoldenState(t *testing.T) {
	m := schedule.DefaultMemoryModel()
	var memory schedule.Memory
	day := 0.0
	for i, wait := range []float64{0, 0, 1, 3, 8, 21} {
		day += wait
		grade := schedule.Good
		if i == 0 {
			grade = schedule.Again
		}
		memory = answer(t, m, memory, grade, after(day))
	}
	if !near(memory.Stability, 53.62691, 1e-4) || !near(memory.Difficulty, 6.3574867, 1e-5) {
		t.Errorf("S %.5f, D %.7f; want 53.62691, 6.3574867", memory.Stability, memory.Difficulty)
	}
}

// FACTS E25, first part: 6 Good, 2 Again, 5 Good, each answered when it is due,
// with steps of 1 and 10 minutes before a memory counts as learnt and one of 10
// minutes after it was forgotten. The steps are the card programs', not ours, so
// they stand in the test.
func TestMemoryGoldenDays(t *testing.T) {
	m := schedule.DefaultMemoryModel()
	want := []int{0, 2, 11, 46, 163, 498, 0, 0, 2, 4, 7, 12, 21}
	var memory schedule.Memory
	now, learnt := monday, false
	for i, days := range want {
		grade := schedule.Good
		if i == 6 || i == 7 {
			grade = schedule.Again
		}
		memory = answer(t, m, memory, grade, now)
		got := 0
		switch {
		case grade == schedule.Again:
			learnt, now = false, now.Add(10*time.Minute)
		case i == 0:
			now = now.Add(10 * time.Minute)
		default:
			learnt = true
			var err error
			if got, err = m.Days(memory, 0.9); err != nil {
				t.Fatal(err)
			}
			now = now.AddDate(0, 0, got)
		}
		if got != days {
			t.Errorf("answer %d (learnt %v): %d days, want %d", i+1, learnt, got, days)
		}
	}
}

// FACTS E22: the factor of the curve with the published weights is 0.980346, and
// after as many days as its stability 90 % are left.
func TestMemoryCurve(t *testing.T) {
	m := schedule.DefaultMemoryModel()
	memory := schedule.Memory{Stability: 8, Difficulty: 5, Last: monday}
	for _, row := range []struct {
		name string
		days float64
		want float64
	}{
		{"at once", 0, 1},
		{"before it was asked", -3, 1},
		{"after its stability", 8, 0.9},
		{"long after", 800, math.Pow(1+0.980346*100, -0.1542)},
	} {
		if got := m.Recall(memory, after(row.days)); !near(got, row.want, 1e-6) {
			t.Errorf("%s: %.7f, want %.7f", row.name, got, row.want)
		}
	}
	if got := m.Recall(schedule.Memory{}, monday); got != 0 {
		t.Errorf("never learnt: %v", got)
	}
}

// memories are what ts-fsrs of the npm registry makes of 240 histories;
// .ci/fsrs/make.js made them and says what stands where.
type memories struct {
	Version string `json:"ts-fsrs"`
	Rows    []struct {
		W         schedule.Weights `json:"w"`
		Answers   [][5]float64     `json:"answers"`
		Intervals [][2]float64     `json:"intervals"`
	} `json:"rows"`
}

// The library rounds every step to eight decimals, so a long history may differ
// from ours by a little more than that.
func TestMemoryAgainstOtherLibrary(t *testing.T) {
	data, err := os.ReadFile(filepath.Join("testdata", "fsrs.json"))
	if err != nil {
		t.Fatal(err)
	}
	var all memories
	if err := json.Unmarshal(data, &all); err != nil {
		t.Fatal(err)
	}
	if first := all.Rows[0].W; first != schedule.DefaultWeights() {
		t.Errorf("the library's own weights are %v", first)
	}
	answers, halves, worst := 0, 0, 0.0
	for i, row := range all.Rows {
		m, err := schedule.NewMemoryModel(row.W)
		if err != nil {
			t.Fatalf("row %d: %v", i, err)
		}
		var memory schedule.Memory
		at := monday
		for j, a := range row.Answers {
			at = at.AddDate(0, 0, int(a[0]))
			recall := m.Recall(memory, at)
			memory = answer(t, m, memory, schedule.Grade(a[1]), at)
			off := max(math.Abs(recall-a[2]), math.Abs(memory.Stability-a[3])/a[3], math.Abs(memory.Difficulty-a[4]))
			if off > 2e-6 {
				t.Errorf("row %d, answer %d: recall %.8f, S %.8f, D %.8f; the library %.8f, %.8f, %.8f", i, j, recall, memory.Stability, memory.Difficulty, a[2], a[3], a[4])
			}
			worst = max(worst, off)
			answers++
		}
		for _, interval := range row.Intervals {
			// A wait that lies on the half day may round to the other side.
			days, err := m.Days(memory, interval[0])
			if off := math.Abs(float64(days) - interval[1]); err != nil || off > 1 {
				t.Errorf("row %d: %d days to %v, the library %v (%v)", i, days, interval[0], interval[1], err)
			} else if off == 1 {
				halves++
			}
		}
	}
	if answers < 1000 || halves > 2 {
		t.Errorf("%d answers, %d waits rounded the other way", answers, halves)
	}
	t.Logf("ts-fsrs %s: %d answers of %d histories, off by %.1g at most", all.Version, answers, len(all.Rows), worst)
}

func TestMemoryRefuses(t *testing.T) {
	m := schedule.DefaultMemoryModel()
	known := schedule.Memory{Stability: 3, Difficulty: 5, Last: monday}
	for _, row := range []struct {
		name  string
		was   schedule.Memory
		grade schedule.Grade
		at    time.Time
		want  error
	}{
		{"no grade", known, 0, monday, schedule.ErrGrade},
		{"a grade too high", known, 5, monday, schedule.ErrGrade},
		{"an older answer", known, schedule.Good, monday.Add(-time.Minute), schedule.ErrBefore},
		{"a stability below none", schedule.Memory{Stability: -1, Difficulty: 5}, schedule.Good, monday, schedule.ErrNoMemory},
		{"a stability that is no number", schedule.Memory{Stability: math.NaN(), Difficulty: 5}, schedule.Good, monday, schedule.ErrNoMemory},
		{"a stability without end", schedule.Memory{Stability: math.Inf(1), Difficulty: 5}, schedule.Good, monday, schedule.ErrNoMemory},
		{"no difficulty", schedule.Memory{Stability: 3}, schedule.Good, monday, schedule.ErrNoMemory},
		{"a difficulty too high", schedule.Memory{Stability: 3, Difficulty: 11}, schedule.Good, monday, schedule.ErrNoMemory},
	} {
		if _, err := m.Answer(row.was, row.grade, row.at); !errors.Is(err, row.want) {
			t.Errorf("%s: %v, want %v", row.name, err, row.want)
		}
	}
	for _, retention := range []float64{0, 1, -0.1, 1.5, math.NaN()} {
		if _, err := m.Days(known, retention); !errors.Is(err, schedule.ErrRetention) {
			t.Errorf("retention %v: %v", retention, err)
		}
	}
	if _, err := m.Days(schedule.Memory{}, 0.9); !errors.Is(err, schedule.ErrNoMemory) {
		t.Errorf("days of a memory never learnt: %v", err)
	}
}

func TestMemoryModelRefusesWeights(t *testing.T) {
	for _, row := range []struct {
		name  string
		at    int
		value float64
	}{
		{"a first stability of nothing", 0, 0},
		{"a curve that does not fall", 20, 0},
		{"a curve turned round", 20, -0.5},
		{"no number", 8, math.NaN()},
		{"without end", 3, math.Inf(1)},
		{"a success that weakens", 16, 0.5},
	} {
		w := schedule.DefaultWeights()
		w[row.at] = row.value
		if _, err := schedule.NewMemoryModel(w); err == nil {
			t.Errorf("%s: w%d = %v is taken", row.name, row.at, row.value)
		}
	}
}

var grades = []schedule.Grade{schedule.Again, schedule.Hard, schedule.Good, schedule.Easy}

// drawMemory makes a memory as a history of answers does.
func drawMemory(t *rapid.T, m schedule.MemoryModel) schedule.Memory {
	var memory schedule.Memory
	at := monday
	for range rapid.IntRange(1, 12).Draw(t, "answers") {
		memory = answer(t, m, memory, rapid.SampledFrom(grades).Draw(t, "grade"), at)
		at = at.Add(time.Duration(rapid.IntRange(0, 400*24).Draw(t, "hours")) * time.Hour)
	}
	return memory
}

// A memory fades and never comes back by itself; it fades slower the more stable
// it is.
func TestMemoryFades(t *testing.T) {
	m := schedule.DefaultMemoryModel()
	rapid.Check(t, func(t *rapid.T) {
		memory := drawMemory(t, m)
		early := rapid.Float64Range(0.01, 1000).Draw(t, "early")
		late := early + rapid.Float64Range(0.5, 1000).Draw(t, "later")
		first, second := m.Recall(memory, memory.Last.Add(after(early).Sub(monday))), m.Recall(memory, memory.Last.Add(after(late).Sub(monday)))
		if !(first > second && second > 0 && first < 1) {
			t.Errorf("%.9f after %.2f days, %.9f after %.2f", first, early, second, late)
		}
		firmer := memory
		firmer.Stability *= 2
		if m.Recall(firmer, after(late)) < m.Recall(memory, after(late)) {
			t.Error("a more stable memory fades faster")
		}
	})
}

// Whatever was answered, a memory stays one; a better grade never leaves it less
// stable or harder; remembering never makes it less stable, forgetting never more.
func TestMemoryGrades(t *testing.T) {
	m := schedule.DefaultMemoryModel()
	rapid.Check(t, func(t *rapid.T) {
		was := drawMemory(t, m)
		at := was.Last.Add(time.Duration(rapid.IntRange(0, 800*24).Draw(t, "wait")) * time.Hour)
		var now []schedule.Memory
		for _, grade := range grades {
			memory := answer(t, m, was, grade, at)
			if !(memory.Stability > 0 && memory.Stability <= 36500 && memory.Difficulty >= 1 && memory.Difficulty <= 10 && memory.Last.Equal(at)) {
				t.Fatalf("grade %d: %+v", grade, memory)
			}
			if grade > schedule.Again && memory.Stability < was.Stability || grade == schedule.Again && memory.Stability > was.Stability {
				t.Errorf("grade %d: stability %v became %v", grade, was.Stability, memory.Stability)
			}
			now = append(now, memory)
		}
		if !slices.IsSortedFunc(now, func(a, b schedule.Memory) int { return compare(a.Stability, b.Stability) }) ||
			!slices.IsSortedFunc(now, func(a, b schedule.Memory) int { return compare(b.Difficulty, a.Difficulty) }) {
			t.Errorf("not in the order of the grades: %+v", now)
		}
	})
}

// compare orders numbers, those alike but for rounding as equal.
func compare(a, b float64) int {
	switch {
	case near(a, b, 1e-9*max(a, b)):
		return 0
	case a < b:
		return -1
	}
	return 1
}

// Days and Recall are two sides of one curve.
func TestMemoryDaysAreWhenItHasFallen(t *testing.T) {
	m := schedule.DefaultMemoryModel()
	rapid.Check(t, func(t *rapid.T) {
		memory := drawMemory(t, m)
		retention := rapid.Float64Range(0.5, 0.99).Draw(t, "retention")
		days, err := m.Days(memory, retention)
		if err != nil {
			t.Fatal(err)
		}
		if days > 1 && days < 36500 {
			on := func(d float64) float64 { return m.Recall(memory, memory.Last.Add(after(d).Sub(monday))) }
			if on(float64(days)-0.51) < retention || on(float64(days)+0.51) > retention {
				t.Errorf("%d days to %.3f, and then %.4f are left", days, retention, on(float64(days)))
			}
		}
	})
}

func BenchmarkMemoryAnswer(b *testing.B) {
	m := schedule.DefaultMemoryModel()
	memory := schedule.Memory{Stability: 8, Difficulty: 5, Last: monday}
	for b.Loop() {
		if _, err := m.Answer(memory, schedule.Good, after(6)); err != nil {
			b.Fatal(err)
		}
	}
}
