package training

import (
	"cmp"
	"math"
	"slices"
	"time"

	"kitbell/schedule"
)

// Policy is how a department wants its drills chosen.
type Policy struct {
	Quarter   time.Duration // a must-know topic is drilled at least once in it
	New       time.Duration // how long a tool counts as newly carried
	Every     time.Duration // usual time between two drills of a crew
	QuizShare float64       // what a quiz is taken to win back of what hands-on does
}

// DefaultPolicy are assumptions but for the quarter, whose shortest has 90 days:
// one drill a tour of 48/96 is one in six days.
func DefaultPolicy() Policy {
	const day = 24 * time.Hour
	return Policy{Quarter: 90 * day, New: 60 * day, Every: 6 * day, QuizShare: 0.5}
}

// Chooser finds a crew's next drill. It is never changed and may be used from many
// goroutines.
type Chooser struct {
	Model  schedule.MemoryModel
	Policy Policy
}

// Ask is a crew that is to get a drill now.
type Ask struct {
	Now     time.Time
	Topics  []Topic                    // for this crew: adopted, and carried; they passed CheckTopics
	Past    map[string]History         // by topic, of Histories
	Had     []Drill                    // what the crew was given in this tour
	Silence map[string]int             // by topic: drills given since the last answer, which nobody answered
	NoHands bool                       // nothing can be done by hand now
	Since   map[string]time.Time       // by tool: when the crew began to carry it, or had it in a roll-out
	From    time.Time                  // when the crew's quarters began to count; zero: what was never drilled is due now
	Worth   func(topic string) float64 // what forgetting it would cost, in minutes an average entry; nil: all alike
}

// Choice is a crew's next drill, and why it is.
type Choice struct {
	Drill  Drill
	Reason Reason
}

// Next is the drill with the most expected benefit: what forgetting would cost ×
// the chance that it is forgotten, and of a quiz only the policy's share. Two
// things come before it: topics of a newly carried tool that the crew has not
// drilled since, and must-know topics as soon as their quarters leave no room for
// anything else. A topic comes once a tour, a task by hand once a tour whatever
// topic it is for, a quiz once a tour, and hands-on is
// taken wherever a topic has it. A drill that nobody answered counts half the next
// time, so that a silent crew is not given the same one for ever. False when
// nothing is left to give.
func (c Chooser) Next(ask Ask) (Choice, bool) {
	must, pressing := c.pressing(ask)
	var best candidate
	found := false
	for _, t := range ask.Topics {
		drill, ok := ask.drill(t)
		if !ok {
			continue
		}
		cand := c.weigh(ask, t, drill)
		if cand.Reason.Why != NewTool && pressing && t.Must {
			cand.Reason.Why, cand.Reason.By = MustKnow, must[t.ID]
		}
		if !found || compareCandidates(cand, best) < 0 {
			best, found = cand, true
		}
	}
	return best.Choice, found
}

// drill is what the crew may do about a topic now, hands-on before a quiz; false
// for nothing.
func (a Ask) drill(t Topic) (Drill, bool) {
	quizzed := false
	for _, had := range a.Had {
		if had.Topic == t.ID {
			return Drill{}, false
		}
		quizzed = quizzed || had.Kind.Quiz()
	}
	done := func(card string) bool {
		return slices.ContainsFunc(a.Had, func(had Drill) bool { return had.Kind == HandsOnDrill && had.Card == card })
	}
	for _, kind := range DrillKinds() {
		drill, has := t.Drill(kind)
		if has && !(kind == HandsOnDrill && (a.NoHands || done(drill.Card))) && !(kind.Quiz() && quizzed) {
			return drill, true
		}
	}
	return Drill{}, false
}

// candidate is a drill that may be chosen, with what it is weighed by.
type candidate struct {
	Choice
	must    bool
	silence int     // drills of it that nobody answered
	benefit float64 // minutes
}

func (c Chooser) weigh(ask Ask, t Topic, drill Drill) candidate {
	past := ask.Past[t.ID]
	worth, said := ask.worth(t.ID)
	r := Reason{Why: Forgotten, Recall: c.Model.Recall(past.Memory, ask.Now), Drills: past.Drills, Hands: drill.Kind == HandsOnDrill}
	if said {
		r.Worth = worth
	}
	if past.Memory.Learnt() {
		r.Ago = int(ask.Now.Sub(past.Memory.Last).Hours() / 24)
	}
	if tool, since := c.newTool(ask, t, past); tool != "" {
		r.Why, r.Tool, r.Since = NewTool, tool, since
	}
	benefit := worth * (1 - r.Recall)
	if drill.Kind.Quiz() {
		benefit *= c.Policy.QuizShare
	}
	silence := max(0, ask.Silence[t.ID])
	benefit = math.Ldexp(benefit, -silence)
	return candidate{Choice: Choice{Drill: drill, Reason: r}, must: t.Must, silence: silence, benefit: benefit}
}

// worth is never negative and always a number: a topic that costs nothing to
// forget comes last, not never.
func (a Ask) worth(topic string) (worth float64, said bool) {
	if a.Worth == nil {
		return 1, false
	}
	worth = a.Worth(topic)
	if !(worth > 0) || math.IsInf(worth, 1) {
		return 0, true
	}
	return worth, true
}

// newTool is the newest tool of a topic, where it is newly carried and the topic
// was not drilled since.
func (c Chooser) newTool(ask Ask, t Topic, past History) (tool string, since time.Time) {
	for _, id := range t.Tools {
		at, known := ask.Since[id]
		if known && at.After(since) && !at.After(ask.Now) && ask.Now.Sub(at) <= c.Policy.New && past.Memory.Last.Before(at) {
			tool, since = id, at
		}
	}
	return tool, since
}

// pressing gives the instant by which each must-know topic has to be drilled, and
// whether one of them would come too late if this drill went to something else:
// served in the order of their instants, one each time the crew has a drill.
func (c Chooser) pressing(ask Ask) (by map[string]time.Time, pressing bool) {
	by = map[string]time.Time{}
	var instants []time.Time
	for _, t := range ask.Topics {
		if !t.Must {
			continue
		}
		last := ask.From
		if memory := ask.Past[t.ID].Memory; memory.Learnt() {
			last = memory.Last
		}
		by[t.ID] = last.Add(c.Policy.Quarter)
		instants = append(instants, by[t.ID])
	}
	slices.SortFunc(instants, time.Time.Compare)
	for i, instant := range instants {
		if instant.Before(ask.Now.Add(time.Duration(i+1) * c.Policy.Every)) {
			return by, true
		}
	}
	return by, false
}

// Overdue lists the must-know topics whose quarter is over, the longest first: what
// a crew with too few drills for its must-knows has to be told.
func (c Chooser) Overdue(ask Ask) []string {
	by, _ := c.pressing(ask)
	var late []string
	for _, t := range ask.Topics {
		if t.Must && by[t.ID].Before(ask.Now) {
			late = append(late, t.ID)
		}
	}
	slices.SortStableFunc(late, func(a, b string) int { return by[a].Compare(by[b]) })
	return late
}

// compareCandidates puts the better one first.
func compareCandidates(a, b candidate) int {
	rank := func(c candidate) int { return slices.Index(whys(), c.Reason.Why) }
	order := cmp.Compare(rank(a), rank(b))
	if order == 0 && a.Reason.Why != Forgotten {
		order = cmp.Compare(a.silence, b.silence)
	}
	if order == 0 && a.Reason.Why == MustKnow {
		order = a.Reason.By.Compare(b.Reason.By)
	}
	if order == 0 && a.Reason.Why == NewTool && a.must != b.must {
		order = 1
		if a.must {
			order = -1
		}
	}
	return cmp.Or(order, cmp.Compare(b.benefit, a.benefit), cmp.Compare(a.Reason.Recall, b.Reason.Recall), cmp.Compare(a.Drill.Topic, b.Drill.Topic))
}
