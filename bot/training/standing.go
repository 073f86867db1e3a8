package training

import (
	"cmp"
	"slices"
	"time"

	"kitbell/schedule"
)

// Standing is how well a crew still has a topic, in a word.
type Standing string

// The standings, the weakest first.
const (
	NotDrilled Standing = "not drilled yet"
	Weak       Standing = "weak"
	Fading     Standing = "fading"
	Strong     Standing = "strong"
)

// Standings lists them, the weakest first.
func Standings() []Standing { return []Standing{NotDrilled, Weak, Fading, Strong} }

// From which chance a topic is strong, and fading. The first is that by which the
// memory model measures stability (FACTS E22); the second is an assumption.
const (
	StrongFrom = 0.9
	FadingFrom = 0.7
)

// TopicStanding is how a crew stands with a topic at an instant. Recall comes from
// the memory model: whoever shows it says that it is an estimate.
type TopicStanding struct {
	Topic    string
	Standing Standing
	Recall   float64 // chance that the crew still has it by its next drill
	History  History
}

// StandingOf says how a topic stands at an instant, by the default memory model and
// policy: the chance is that of the crew's next drill, as right after an answer the
// model has it at 1, whatever the answer was. It is made of a crew's history alone,
// which holds no member and no answer.
func StandingOf(topic string, past History, now time.Time) TopicStanding {
	next := now.Add(DefaultPolicy().Every)
	s := TopicStanding{Topic: topic, Recall: schedule.DefaultMemoryModel().Recall(past.Memory, next), History: past}
	switch {
	case !past.Memory.Learnt():
		s.Standing = NotDrilled
	case s.Recall >= StrongFrom:
		s.Standing = Strong
	case s.Recall >= FadingFrom:
		s.Standing = Fading
	default:
		s.Standing = Weak
	}
	return s
}

// Stand says how a crew stands with each topic, the weakest first.
func Stand(topics []Topic, past map[string]History, now time.Time) []TopicStanding {
	all := make([]TopicStanding, len(topics))
	for i, t := range topics {
		all[i] = StandingOf(t.ID, past[t.ID], now)
	}
	slices.SortStableFunc(all, func(a, b TopicStanding) int {
		return cmp.Or(cmp.Compare(slices.Index(Standings(), a.Standing), slices.Index(Standings(), b.Standing)), cmp.Compare(a.Recall, b.Recall))
	})
	return all
}
