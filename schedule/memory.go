package schedule

import (
	"errors"
	"fmt"
	"math"
	"time"
)

// Grade is how well something was remembered when it was asked for.
type Grade int

// The four grades.
const (
	Again Grade = 1 + iota // not remembered
	Hard                   // remembered with trouble
	Good                   // remembered
	Easy                   // remembered at once
)

// Memory is what is known of one memory: a crew's of a topic, say. The zero
// Memory was never learnt.
type Memory struct {
	Stability  float64   `json:"stability"`  // days until the chance to remember has fallen to 90 %
	Difficulty float64   `json:"difficulty"` // 1 easy to 10 hard
	Last       time.Time `json:"last"`       // when it was last asked for
}

// Learnt is false for the zero Memory.
func (m Memory) Learnt() bool { return m.Stability > 0 }

// Weights are the 21 numbers of the model, w0 to w20 of FSRS-6.
type Weights [21]float64

// DefaultWeights are the published ones (FACTS E21): fitted to many people who
// learnt facts from cards, so for a crew and its tools they are an assumption.
func DefaultWeights() Weights {
	return Weights{
		0.212, 1.2931, 2.3065, 8.2956, 6.4133, 0.8334, 3.0194, 0.001, 1.8722, 0.1666, 0.796,
		1.4835, 0.0614, 0.2629, 1.6483, 0.6014, 1.8729, 0.5425, 0.0912, 0.0658, 0.1542,
	}
}

// MemoryModel says how a memory fades and what an answer does to it, by FSRS-6
// (FACTS E22–E24). Make one with NewMemoryModel; it is never changed and may be
// used from many goroutines.
type MemoryModel struct {
	w      Weights
	factor float64 // of the forgetting curve: after Stability days, 90 % are left
}

// What keeps an answer from being counted.
var (
	ErrGrade     = errors.New("a grade is 1 to 4")
	ErrBefore    = errors.New("the answer is older than the one before it")
	ErrNoMemory  = errors.New("the memory is none that the model can have made")
	ErrRetention = errors.New("the chance to aim at lies between 0 and 1, both left out")
)

// Bounds of a memory, as in the reference code.
const (
	leastStability, mostStability   = 0.001, 36500 // days
	leastDifficulty, mostDifficulty = 1, 10
)

// weightBounds is the range of each weight outside of which the model is none:
// a memory would grow by being forgotten, or the curve would not fall. They are
// those of the reference code.
var weightBounds = [21][2]float64{
	{0.001, 100}, {0.001, 100}, {0.001, 100}, {0.001, 100}, {1, 10}, {0.001, 4}, {0.001, 4}, {0.001, 0.75}, {0, 4.5}, {0, 0.8}, {0.001, 3.5},
	{0.001, 5}, {0.001, 0.25}, {0.001, 0.9}, {0, 4}, {0, 1}, {1, 6}, {0, 2}, {0, 2}, {0.01, 0.8}, {0.1, 0.8},
}

// NewMemoryModel checks the weights. The error names the first one that is out
// of its range, with the range.
func NewMemoryModel(w Weights) (MemoryModel, error) {
	for i, bounds := range weightBounds {
		if !(w[i] >= bounds[0] && w[i] <= bounds[1]) { // a NaN is not inside either
			return MemoryModel{}, fmt.Errorf("make memory model: w%d is %g, and has to lie between %g and %g", i, w[i], bounds[0], bounds[1])
		}
	}
	return MemoryModel{w: w, factor: math.Pow(0.9, -1/w[20]) - 1}, nil
}

// DefaultMemoryModel is the model with the published weights.
func DefaultMemoryModel() MemoryModel {
	model, err := NewMemoryModel(DefaultWeights())
	if err != nil {
		panic(err) // a mistake in this file
	}
	return model
}

// Recall is the chance that a memory is there at an instant: 0 for one that was
// never learnt, 1 at the last answer and before it.
func (m MemoryModel) Recall(memory Memory, at time.Time) float64 {
	if !memory.Learnt() {
		return 0
	}
	return m.recall(max(0, at.Sub(memory.Last).Hours()/24), memory.Stability)
}

func (m MemoryModel) recall(days, stability float64) float64 {
	return math.Pow(1+m.factor*days/stability, -m.w[20])
}

// Days is after how many whole days the chance to remember has fallen to
// retention, at least 1 and at most 36500. ErrRetention when retention is not
// between 0 and 1, ErrNoMemory when it was never learnt.
func (m MemoryModel) Days(memory Memory, retention float64) (int, error) {
	if !(retention > 0 && retention < 1) {
		return 0, ErrRetention
	}
	if !sound(memory) {
		return 0, ErrNoMemory
	}
	days := memory.Stability / m.factor * (math.Pow(retention, -1/m.w[20]) - 1)
	return int(clamp(math.Round(days), 1, mostStability)), nil
}

// Answer is the memory after it was asked for and graded. Days count whole, as
// in the reference code: an answer within 24 hours of the one before is of the
// same day. ErrGrade, ErrBefore and ErrNoMemory refuse it.
func (m MemoryModel) Answer(memory Memory, grade Grade, at time.Time) (Memory, error) {
	if grade < Again || grade > Easy {
		return Memory{}, fmt.Errorf("%w, not %d", ErrGrade, grade)
	}
	if memory == (Memory{}) {
		return Memory{Stability: m.w[grade-1], Difficulty: bound(m.firstDifficulty(grade)), Last: at}, nil
	}
	if !sound(memory) {
		return Memory{}, ErrNoMemory
	}
	if at.Before(memory.Last) {
		return Memory{}, ErrBefore
	}
	days := math.Floor(at.Sub(memory.Last).Hours() / 24)
	return Memory{
		Stability:  clamp(m.stability(memory, grade, days), leastStability, mostStability),
		Difficulty: m.difficulty(memory.Difficulty, grade),
		Last:       at,
	}, nil
}

// sound says whether a memory from outside lies within the model's bounds.
func sound(m Memory) bool {
	return m.Stability >= leastStability && m.Stability <= mostStability && m.Difficulty >= leastDifficulty && m.Difficulty <= mostDifficulty
}

// stability is the new one, in days (FACTS E24).
func (m MemoryModel) stability(was Memory, grade Grade, days float64) float64 {
	recall := m.recall(days, was.Stability)
	switch {
	case days == 0:
		return was.Stability * m.sameDay(was.Stability, grade)
	case grade == Again:
		return m.lapse(was, recall)
	}
	return was.Stability * (1 + m.growth(was, grade, recall))
}

// sameDay is the factor of an answer on the day of the one before it. Only
// forgetting makes a memory weaker: the reference code holds it at 1 or more
// from Hard on, where E24 says so for Good and Easy.
func (m MemoryModel) sameDay(stability float64, grade Grade) float64 {
	factor := math.Exp(m.w[17]*(float64(grade)-3+m.w[18])) * math.Pow(stability, -m.w[19])
	if grade >= Hard {
		return max(1, factor)
	}
	return factor
}

// lapse is the stability that is left when it was forgotten: never more than it
// was.
func (m MemoryModel) lapse(was Memory, recall float64) float64 {
	left := m.w[11] * math.Pow(was.Difficulty, -m.w[12]) * (math.Pow(was.Stability+1, m.w[13]) - 1) * math.Exp((1-recall)*m.w[14])
	return min(left, was.Stability/math.Exp(m.w[17]*m.w[18]))
}

// growth is by what share a memory becomes more stable when it was there: more
// when it was nearly gone, less when it is hard or stable already.
func (m MemoryModel) growth(was Memory, grade Grade, recall float64) float64 {
	growth := math.Exp(m.w[8]) * (11 - was.Difficulty) * math.Pow(was.Stability, -m.w[9]) * math.Expm1((1-recall)*m.w[10])
	switch grade {
	case Hard:
		growth *= m.w[15]
	case Easy:
		growth *= m.w[16]
	}
	return growth
}

// firstDifficulty is that of the first answer, not yet held within its bounds
// (FACTS E23).
func (m MemoryModel) firstDifficulty(grade Grade) float64 {
	return m.w[4] - math.Exp(m.w[5]*float64(grade-1)) + 1
}

// difficulty moves with the grade, less so near its end, and is drawn a little
// toward that of an easy start.
func (m MemoryModel) difficulty(was float64, grade Grade) float64 {
	next := was - m.w[6]*float64(grade-3)*(10-was)/9
	return bound(m.w[7]*m.firstDifficulty(Easy) + (1-m.w[7])*next)
}

func bound(difficulty float64) float64 { return clamp(difficulty, leastDifficulty, mostDifficulty) }

func clamp(value, low, high float64) float64 { return min(max(value, low), high) }
