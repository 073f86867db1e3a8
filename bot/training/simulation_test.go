package training_test

import (
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"

	"kitbell/bot/training"
	"kitbell/schedule"
)

// The simulation asks whether choosing is worth the trouble: at equal prompts, is
// more left after half a year than with a fixed rotation or with random choice?
// The departments forget by rules that the chooser is not given. Every figure in
// this file is an assumption.
var departments = flag.Int("departments", 40, "simulated departments; DEVELOPERS.md has the table of 400")

const (
	simCrews   = 3   // of each department
	simDays    = 180 // one drill every sixth day, as a platoon on 48/96 has its tours
	simEvery   = 6
	simMust    = 5 // every fifth topic is must-know
	simQuizzes = 3 // every third topic has a quiz only
)

// forgetting is how one crew really forgets one topic. Days count from the class
// in which everything was taught once.
type forgetting interface {
	recall(day float64) float64
	drilled(day float64, recalled, hands bool)
}

// newForgetting gives a department's crews their memories: called once a
// department, then once for each topic of each crew.
type newForgetting func(rng *rand.Rand) func(rng *rand.Rand) forgetting

// spread is a factor around 1, half of them between 1/e^(0.67 sigma) and its
// inverse.
func spread(rng *rand.Rand, sigma float64) float64 { return math.Exp(sigma * rng.NormFloat64()) }

// perturbed forgets as the model does, with weights of its own, and each topic of
// each crew at its own pace.
type perturbed struct {
	model  schedule.MemoryModel
	memory schedule.Memory
	pace   float64
}

func newPerturbed(rng *rand.Rand) func(*rand.Rand) forgetting {
	model, err := schedule.NewMemoryModel(perturbedWeights(rng))
	for err != nil { // outside of the bounds: draw again
		model, err = schedule.NewMemoryModel(perturbedWeights(rng))
	}
	return func(rng *rand.Rand) forgetting {
		p := &perturbed{model: model, pace: spread(rng, 0.6)}
		p.answer(0, schedule.Good)
		return p
	}
}

// perturbedWeights draws each weight around the published one.
func perturbedWeights(rng *rand.Rand) schedule.Weights {
	w := schedule.DefaultWeights()
	for i := range w {
		w[i] *= spread(rng, 0.25)
	}
	return w
}

func (p *perturbed) at(day float64) time.Time {
	return now.Add(time.Duration(day * p.pace * 24 * float64(time.Hour)))
}

func (p *perturbed) recall(day float64) float64 { return p.model.Recall(p.memory, p.at(day)) }

func (p *perturbed) answer(day float64, grade schedule.Grade) {
	memory, err := p.model.Answer(p.memory, grade, p.at(day))
	if err != nil {
		panic(err)
	}
	p.memory = memory
}

func (p *perturbed) drilled(day float64, recalled, hands bool) {
	switch {
	case !recalled:
		p.answer(day, schedule.Again)
	case hands:
		p.answer(day, schedule.Easy)
	default:
		p.answer(day, schedule.Good)
	}
}

// halving forgets by an exponential curve: half is gone after each half-life, which
// grows with every drill that found it there and shrinks with one that did not. It
// is no case of the model, whose curve is a power of time. Its start is shorter
// than what is published for accuracy (FACTS E28, about 6.5 months), so that
// there is something to lose in half a year.
type halving struct {
	halfLife, last, grow, shrink float64
}

func newHalving(rng *rand.Rand) func(*rand.Rand) forgetting {
	start, grow, shrink := 90*spread(rng, 0.4), 1.6+0.8*rng.Float64(), 0.6+0.3*rng.Float64()
	return func(rng *rand.Rand) forgetting {
		return &halving{halfLife: start * spread(rng, 0.6), grow: grow, shrink: shrink}
	}
}

func (h *halving) recall(day float64) float64 { return math.Exp2(-(day - h.last) / h.halfLife) }

func (h *halving) drilled(day float64, recalled, hands bool) {
	factor := h.shrink
	if recalled {
		factor = h.grow
	}
	if hands {
		factor *= 1.25
	}
	h.halfLife, h.last = max(2, h.halfLife*factor), day
}

// simCrew is one crew on its way through the half-year, with what the chooser may
// know of it.
type simCrew struct {
	ask     training.Ask
	truth   map[string]forgetting
	drilled map[string][]float64 // days
	tour    int
}

// picker says which topic comes next.
type picker struct {
	name string
	pick func(c *simCrew, rng *rand.Rand) training.Drill
}

func pickers() []picker {
	only := func(t training.Topic) training.Drill {
		for _, kind := range training.DrillKinds() {
			if drill, ok := t.Drill(kind); ok {
				return drill
			}
		}
		panic("a topic without a drill")
	}
	next := func(ask training.Ask) training.Drill {
		choice, ok := chooser.Next(ask)
		if !ok {
			panic("nothing chosen")
		}
		return choice.Drill
	}
	return []picker{
		{"chosen", func(c *simCrew, _ *rand.Rand) training.Drill { return next(c.ask) }},
		{"chosen by memory alone", func(c *simCrew, _ *rand.Rand) training.Drill {
			ask := c.ask
			ask.Worth, ask.Topics = nil, slices.Clone(ask.Topics)
			for i := range ask.Topics {
				ask.Topics[i].Must = false
			}
			return next(ask)
		}},
		{"fixed rotation", func(c *simCrew, _ *rand.Rand) training.Drill { return only(c.ask.Topics[c.tour%len(c.ask.Topics)]) }},
		{"random", func(c *simCrew, rng *rand.Rand) training.Drill {
			return only(c.ask.Topics[rng.IntN(len(c.ask.Topics))])
		}},
	}
}

// simTopics are a department's topics with their worths, whose mean is about 1.
func simTopics(rng *rand.Rand, n int) ([]training.Topic, map[string]float64) {
	worths := map[string]float64{}
	var topics []training.Topic
	for i := range n {
		t := topic(fmt.Sprintf("t%02d", i), hands)
		if i%simQuizzes == 2 {
			t = topic(t.ID, recall)
		}
		t.Must = i%simMust == 0
		topics = append(topics, t)
		worths[t.ID] = spread(rng, 0.8) / math.Exp(0.32)
	}
	return topics, worths
}

func newSimCrew(rng *rand.Rand, topics []training.Topic, worths map[string]float64, memory func(*rand.Rand) forgetting) *simCrew {
	c := &simCrew{truth: map[string]forgetting{}, drilled: map[string][]float64{}}
	c.ask = training.Ask{Topics: topics, From: now, Past: map[string]training.History{}, Worth: func(id string) float64 { return worths[id] }}
	for _, t := range topics {
		c.truth[t.ID] = memory(rng)
		c.learn(t.ID, schedule.Good, now)
	}
	return c
}

func (c *simCrew) learn(id string, grade schedule.Grade, at time.Time) {
	memory, err := chooser.Model.Answer(c.ask.Past[id].Memory, grade, at)
	if err != nil {
		panic(err)
	}
	c.ask.Past[id] = training.History{Memory: memory, Drills: c.ask.Past[id].Drills + 1}
}

// run gives the crew its drills. What is tapped is not always so: some who did not
// know say that they struggled, and some who knew as well.
func (c *simCrew) run(p picker, rng *rand.Rand) {
	for d := simEvery / 2; d < simDays; d += simEvery {
		c.ask.Now = now.Add(time.Duration(d) * day)
		drill := p.pick(c, rng)
		recalled, flattered := rng.Float64() < c.truth[drill.Topic].recall(float64(d)), rng.Float64() < 0.2
		result := training.DidNotKnow
		switch {
		case recalled && drill.Kind == hands:
			result = training.DoneHandsOn
		case recalled && !flattered:
			result = training.GotIt
		case recalled || flattered:
			result = training.Struggled
		}
		c.truth[drill.Topic].drilled(float64(d), recalled, drill.Kind == hands)
		c.learn(drill.Topic, training.Answer{Result: result}.Grade(), c.ask.Now)
		c.drilled[drill.Topic] = append(c.drilled[drill.Topic], float64(d))
		c.tour++
	}
}

// figures are what is left of one department on the last day.
type figures [5]float64

// Two of them are tested.
const byWorth, mustKnows = 1, 4

var figureNames = [5]string{"mean recall", "by worth", "worst topic", "covered", "must-knows"}

func (c *simCrew) figures() figures {
	f := figures{2: 1}
	worths, musts := 0.0, 0.0
	for _, t := range c.ask.Topics {
		left, worth := c.truth[t.ID].recall(simDays), c.ask.Worth(t.ID)
		f[0] += left / float64(len(c.ask.Topics))
		f[byWorth] += left * worth
		worths += worth
		f[2] = min(f[2], left)
		if len(c.drilled[t.ID]) > 0 {
			f[3] += 1 / float64(len(c.ask.Topics))
		}
		if t.Must {
			musts++
			f[mustKnows] += bothQuarters(c.drilled[t.ID])
		}
	}
	f[byWorth] /= worths
	f[mustKnows] /= musts
	return f
}

func bothQuarters(days []float64) float64 {
	var had [2]bool
	for _, d := range days {
		had[int(d)/(simDays/2)] = true
	}
	if had[0] && had[1] {
		return 1
	}
	return 0
}

// simulate gives the figures of each department under one way to pick.
func simulate(p picker, truth newForgetting, topics, departments int) []figures {
	all := make([]figures, departments)
	for d := range all {
		rng := rand.New(rand.NewPCG(uint64(d), uint64(topics))) // the same departments for every way to pick
		list, worths := simTopics(rng, topics)
		memory := truth(rng)
		for k := range simCrews {
			crew := newSimCrew(rng, list, worths, memory)
			crew.run(p, rand.New(rand.NewPCG(uint64(d), uint64(k))))
			for i, value := range crew.figures() {
				all[d][i] += value / simCrews
			}
		}
	}
	return all
}

// interval is the mean of one figure with half the width of its 95 % interval over
// departments.
func interval(values []float64) (mean, half float64) {
	for _, v := range values {
		mean += v / float64(len(values))
	}
	squares := 0.0
	for _, v := range values {
		squares += (v - mean) * (v - mean)
	}
	n := float64(len(values))
	return mean, 1.96 * math.Sqrt(squares/(n-1)/n)
}

func column(all []figures, figure int) []float64 {
	values := make([]float64, len(all))
	for d, f := range all {
		values[d] = f[figure]
	}
	return values
}

// differences are those of one figure, department by department.
func differences(a, b []figures, figure int) []float64 {
	values := column(a, figure)
	for d := range values {
		values[d] -= b[d][figure]
	}
	return values
}

func tableRow(cells ...string) string { return "| " + strings.Join(cells, " | ") + " |\n" }

func percents(values []float64) string {
	mean, half := interval(values)
	return fmt.Sprintf("%.1f ± %.1f", 100*mean, 100*half)
}

// TestSimulation prints the table with -v. At any size it holds the chooser to
// what it is for: more recall, weighed by what it is worth, than either of the
// other ways (of many departments beyond chance, compared one by one), and every
// must-know in both quarters.
func TestSimulation(t *testing.T) {
	table := tableRow(append([]string{"memories", "topics", "drill"}, figureNames[:]...)...) + tableRow(slices.Repeat([]string{"---"}, 3+len(figureNames))...)
	for _, truth := range []struct {
		name string
		make newForgetting
	}{{"other weights", newPerturbed}, {"another curve", newHalving}} {
		for _, topics := range []int{10, 20, 60} {
			all := map[string][]figures{}
			for _, p := range pickers() {
				all[p.name] = simulate(p, truth.make, topics, *departments)
				cells := []string{truth.name, fmt.Sprint(topics), p.name}
				for i := range figureNames {
					cells = append(cells, percents(column(all[p.name], i)))
				}
				table += tableRow(cells...)
			}
			for _, other := range []string{"fixed rotation", "random"} {
				if mean, half := interval(differences(all["chosen"], all[other], byWorth)); mean <= 0 || *departments >= 200 && mean <= half {
					t.Errorf("%s, %d topics: chosen is %.4f ± %.4f ahead of %s", truth.name, topics, mean, half, other)
				}
			}
			if kept, _ := interval(column(all["chosen"], mustKnows)); kept < 1-1e-9 {
				t.Errorf("%s, %d topics: %.3f of the must-knows were drilled in both quarters", truth.name, topics, kept)
			}
		}
	}
	t.Logf("%d departments of %d crews, %d days, a drill every %d; per cent, with 95 %% intervals:\n%s", *departments, simCrews, simDays, simEvery, table)
}
