package training

import (
	"cmp"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"kitbell/schedule"
)

// Result is what a member says came of a drill: the four buttons.
type Result string

// The four results.
const (
	GotIt       Result = "got it"
	Struggled   Result = "struggled"
	DidNotKnow  Result = "did not know"
	DoneHandsOn Result = "done hands-on"
)

// Results lists them in the order of the buttons.
func Results() []Result { return []Result{GotIt, Struggled, DidNotKnow, DoneHandsOn} }

// Task is the measure of a hands-on drill: what was aimed at, or what it took.
// Zero fields were not measured.
type Task struct {
	Minutes float64 `json:"minutes,omitempty"`
	Tries   int     `json:"tries,omitempty"`
}

// within says whether what it took is no more than the target, as far as both
// were measured.
func (t Task) within(target Task) bool {
	return (target.Minutes == 0 || t.Minutes <= target.Minutes) && (target.Tries == 0 || t.Tries <= target.Tries)
}

// Answer is one member's tap under a drill, as the journal keeps it. It belongs to
// that member: officers see what Histories makes of it, by crew.
type Answer struct {
	Prompt string    `json:"prompt"` // key of the post that asked: all taps under it are one drill
	Crew   Crew      `json:"crew"`
	Drill  Drill     `json:"drill"`
	Member string    `json:"member"`
	Result Result    `json:"result"`
	Took   Task      `json:"took,omitzero"`   // done hands-on
	Target Task      `json:"target,omitzero"` // done hands-on
	At     time.Time `json:"at"`
}

// What keeps an answer from being counted.
var (
	ErrNoResult = errors.New("a drill's result is got it, struggled, did not know or done hands-on")
	ErrNoPrompt = errors.New("an answer says which post it belongs to")
	ErrNoCrew   = errors.New("an answer needs a member with a unit and a platoon")
	ErrMeasure  = errors.New("minutes and tries are zero or more")
)

// Check refuses an answer that says nothing, or that belongs to no drill or crew.
func (a Answer) Check() error {
	switch {
	case a.Prompt == "":
		return ErrNoPrompt
	case a.Crew.Unit == "" || a.Crew.Platoon == "" || a.Member == "":
		return ErrNoCrew
	case !slices.Contains(Results(), a.Result):
		return fmt.Errorf("%w, not %q", ErrNoResult, a.Result)
	case !(min(a.Took.Minutes, a.Target.Minutes) >= 0) || min(a.Took.Tries, a.Target.Tries) < 0:
		return ErrMeasure
	}
	return a.Drill.Check()
}

// Grade is what an answer says to the memory model. That self-given taps may stand
// for its grades, and how, is an assumption.
//
//   - did not know is Again: it was not there when it was asked for.
//   - struggled is Hard: it was there, with trouble.
//   - got it is Good and never Easy: a tap on one's own word is cheap.
//   - done hands-on is Easy: the whole skill was called up and carried out, and
//     what was done by hand fades slower than what was said (FACTS E27). Beyond its
//     target in time or tries it is Good, as it was done all the same.
func (a Answer) Grade() schedule.Grade {
	switch a.Result {
	case DidNotKnow:
		return schedule.Again
	case Struggled:
		return schedule.Hard
	case DoneHandsOn:
		if a.InTarget() {
			return schedule.Easy
		}
	}
	return schedule.Good
}

// InTarget says whether the task was done within its target, as far as both were
// measured.
func (a Answer) InTarget() bool { return a.Took.within(a.Target) }

// History is what a crew's answers have left of one topic.
type History struct {
	Memory  schedule.Memory
	Drills  int       // that somebody of the crew answered
	Kind    DrillKind // of the last
	HandsOn time.Time // the last that was done hands-on; zero for never
}

// Histories folds answers into what each crew still has of each topic. All taps
// under one post are one drill, at the instant of the first, and count with the
// middle grade (of two the lower): one newcomer does not undo what a crew knows,
// and one old hand does not carry it. A member who tapped twice counts with the
// last. The order of the answers does not matter. The error names the first answer
// that Check or the model refuses.
func Histories(model schedule.MemoryModel, answers []Answer) (map[Crew]map[string]History, error) {
	drills, err := groupAnswers(answers)
	if err != nil {
		return nil, err
	}
	all := map[Crew]map[string]History{}
	for _, d := range drills {
		first := d[0]
		if all[first.Crew] == nil {
			all[first.Crew] = map[string]History{}
		}
		h := all[first.Crew][first.Drill.Topic]
		if h.Memory, err = model.Answer(h.Memory, middleGrade(d), first.At); err != nil {
			return nil, fmt.Errorf("count the answers of %s %s to %s: %w", first.Crew.Unit, first.Crew.Platoon, first.Prompt, err)
		}
		h.Drills, h.Kind = h.Drills+1, first.Drill.Kind
		if slices.ContainsFunc(d, func(a Answer) bool { return a.Result == DoneHandsOn }) {
			h.HandsOn = first.At
		}
		all[first.Crew][first.Drill.Topic] = h
	}
	return all, nil
}

// DrillsDone is how many drills crews have done since an instant. What a crew had
// under one post is one drill, however many tapped and however often; where nobody
// knew anything, none was done. Answers that Check refuses are none.
func DrillsDone(answers []Answer, since time.Time) int {
	done := map[string]bool{}
	last := map[string]Answer{}
	for _, a := range answers {
		if a.Check() != nil || a.At.Before(since) {
			continue
		}
		key := strings.Join([]string{a.Prompt, a.Drill.Topic, a.Crew.Unit, a.Crew.Platoon, a.Member}, "\n")
		if before, tapped := last[key]; !tapped || compareAnswers(before, a) <= 0 {
			last[key] = a
		}
	}
	for _, a := range last {
		if a.Result != DidNotKnow {
			done[strings.Join([]string{a.Prompt, a.Drill.Topic, a.Crew.Unit, a.Crew.Platoon}, "\n")] = true
		}
	}
	return len(done)
}

// groupAnswers puts the answers of each crew under one post about one topic
// together, each sorted by time, the groups by their first answer.
func groupAnswers(answers []Answer) ([][]Answer, error) {
	type key struct {
		prompt, topic string
		crew          Crew
	}
	groups := map[key][]Answer{}
	for _, a := range answers {
		if err := a.Check(); err != nil {
			return nil, fmt.Errorf("count an answer to %q: %w", a.Prompt, err)
		}
		k := key{a.Prompt, a.Drill.Topic, a.Crew}
		groups[k] = append(groups[k], a)
	}
	var drills [][]Answer
	for _, g := range groups {
		slices.SortFunc(g, compareAnswers)
		drills = append(drills, g)
	}
	slices.SortFunc(drills, func(a, b []Answer) int { return compareAnswers(a[0], b[0]) })
	return drills, nil
}

// compareAnswers orders by time, and answers of one instant always the same way.
func compareAnswers(a, b Answer) int {
	return cmp.Or(a.At.Compare(b.At), cmp.Compare(a.Prompt, b.Prompt), cmp.Compare(a.Member, b.Member), cmp.Compare(a.Grade(), b.Grade()))
}

// middleGrade is the lower middle one of the members' last grades.
func middleGrade(answers []Answer) schedule.Grade {
	last := map[string]schedule.Grade{}
	for _, a := range answers {
		last[a.Member] = a.Grade()
	}
	grades := make([]schedule.Grade, 0, len(last))
	for _, grade := range last {
		grades = append(grades, grade)
	}
	slices.Sort(grades)
	return grades[(len(grades)-1)/2]
}
