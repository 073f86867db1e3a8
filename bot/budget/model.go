package budget

import (
	"fmt"
	"math"
	"slices"

	"kitbell/bot/door"
)

// Worth is what the door model says of a line's item: what a crew that has it
// saves on an average entry call against one that has not. It is always shown as
// the model's.
type Worth struct {
	Minutes Range `json:"minutes"`
	Marks   Range `json:"marks"` // left on doors, on the model's scale
}

// Range is a figure with the interval that it may lie in. Without draws Low and
// High are the figure itself and Bounded is false.
type Range struct {
	Mean    float64 `json:"mean"`
	Low     float64 `json:"low"`
	High    float64 `json:"high"`
	Bounded bool    `json:"bounded,omitempty"`
}

// WorthOf gives what having an item saves on an average entry call: minutes, and
// marks on doors.
type WorthOf func(item string) (minutes, marks float64)

// Model is the door model as a request asks it. Draws are the same model with
// other assumptions that are as likely; a range is the middle 95 % of what they
// say. Each function is called once for each item.
type Model struct {
	Worth WorthOf
	Draws []WorthOf
}

// Sample is how many of a department's entry calls were recorded, where somebody
// counted them all.
type Sample struct {
	Recorded int `json:"recorded"`
	Entries  int `json:"entries,omitempty"` // counted by month or year; 0: nobody counted
}

// MonthlyEntries is the count of one month's entry calls, from another system.
type MonthlyEntries struct {
	Month   string `json:"month"` // as 2027-03
	Entries int    `json:"entries"`
}

// NewSample puts recorded calls beside the months' counts.
func NewSample(recorded int, months []MonthlyEntries) Sample {
	s := Sample{Recorded: recorded}
	for _, m := range months {
		s.Entries += max(0, m.Entries)
	}
	return s
}

// Share is the recorded part of all entry calls with its 95 % interval (Jeffreys);
// ok is false when nobody counted them, or fewer were counted than recorded.
func (s Sample) Share() (share, low, high float64, ok bool) {
	if s.Entries <= 0 || s.Recorded < 0 || s.Recorded > s.Entries {
		return 0, 0, 1, false
	}
	low, high = door.Jeffreys(s.Recorded, s.Entries)
	return float64(s.Recorded) / float64(s.Entries), low, high, true
}

// Words say what the sample is and which way it leans.
func (s Sample) Words() string {
	const lean = "Recorded calls are a sample that nobody drew: crews write down what they remember, so the rest may differ."
	if _, _, _, ok := s.Share(); ok {
		return fmt.Sprintf("%d of %d entry calls recorded. %s", s.Recorded, s.Entries, lean)
	}
	return fmt.Sprintf("%d entry calls recorded; how many there were is not known. %s", max(0, s.Recorded), lean)
}

// Floor is a figure if the item had saved nothing on any call that nobody
// recorded: the least that the sample allows. ok as for Share.
func (s Sample) Floor(figure float64) (floor float64, ok bool) {
	share, _, _, ok := s.Share()
	return figure * share, ok
}

// WithModel is the request with the model's column filled in, for the lines that
// are about an item.
func (r Request) WithModel(m Model, s Sample) Request {
	known := map[string]*Worth{}
	r.Lines = slices.Clone(r.Lines)
	for i, l := range r.Lines {
		if l.Item == "" || m.Worth == nil {
			continue
		}
		if known[l.Item] == nil {
			known[l.Item] = m.worth(l.Item)
		}
		r.Lines[i].Worth = known[l.Item]
	}
	r.Sample = &s
	return r
}

func (m Model) worth(item string) *Worth {
	minutes, marks := m.Worth(item)
	if !finite(minutes, marks) {
		return nil
	}
	var manyMinutes, manyMarks []float64
	for _, draw := range m.Draws {
		if a, b := draw(item); finite(a, b) {
			manyMinutes, manyMarks = append(manyMinutes, a), append(manyMarks, b)
		}
	}
	return &Worth{Minutes: spread(minutes, manyMinutes), Marks: spread(marks, manyMarks)}
}

func finite(figures ...float64) bool {
	return !slices.ContainsFunc(figures, func(f float64) bool { return math.IsNaN(f) || math.IsInf(f, 0) })
}

// spread is a figure with the middle 95 % of draws around it.
func spread(mean float64, draws []float64) Range {
	if len(draws) < 2 {
		return Range{Mean: mean, Low: mean, High: mean}
	}
	slices.Sort(draws)
	return Range{mean, min(mean, quantile(draws, 0.025)), max(mean, quantile(draws, 0.975)), true}
}

// quantile of sorted values, with straight lines in between.
func quantile(sorted []float64, p float64) float64 {
	at := p * float64(len(sorted)-1)
	i := min(int(at), len(sorted)-2)
	return sorted[i] + (at-float64(i))*(sorted[i+1]-sorted[i])
}
