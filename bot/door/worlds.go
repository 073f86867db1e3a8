package door

import (
	"encoding/binary"
	"math"
	"slices"
)

// A world is one hidden state of the door: its hold, and whatever unknown facts
// more than one way depends on. Worlds in which every way has the same chance
// are one.
type world struct {
	hold   Hold
	weight float64
	permit []float64 // by way: the chance that the door lets it be tried at all
}

// chance is how likely a way opens the door in this world.
func (w *world) chance(i int, ways []*way) float64 {
	return w.permit[i] * ways[i].chances[w.hold].Mean()
}

// worlds spreads the belief about the door over its hidden states. Weights are
// not normalised: their sum is the likelihood of what was stated.
//
// Facts that one way alone depends on are averaged within the world, which is
// exact because a way is tried at most once. Facts that several ways share are
// spread over worlds of their own, so that one way's failure counts against the
// others for the right reason.
func (p *Planner) worlds(s scene, ways []*way) []world {
	found := p.spread(s.stated, s.facts, ways)
	if len(found) == 0 { // what was stated contradicts the tables: go by the kind of door alone
		found = p.spread(Facts{}, s.facts, ways)
	}
	return found
}

func (p *Planner) spread(stated, rules Facts, ways []*way) []world {
	shared, private := sharedFacts(ways)
	merge := merger{index: map[string]int{}}
	for _, kind := range p.kinds(rules) {
		facts := rules
		facts.Swing, facts.Lock = kind.swing, kind.lock
		for _, hold := range AllHolds() {
			weight := kind.share * kind.holds[hold] * p.likelihood(stated, facts, hold)
			if weight == 0 {
				continue
			}
			p.assign(facts, hold, shared, weight, func(f Facts, weight float64) {
				merge.add(hold, weight, p.permits(f, hold, ways, private))
			})
		}
	}
	return merge.worlds
}

// kindShare is a kind of door that fits the stated facts.
type kindShare struct {
	swing Swing
	lock  Lock
	share float64
	holds map[Hold]float64
}

// kinds lists the kinds of door that fit the swing and lock, as far as known. A kind that
// is not in the mix counts only when nothing in the mix fits.
func (p *Planner) kinds(f Facts) []kindShare {
	swing, lock := f.Value(FactSwing), f.Value(FactLock)
	var found []kindShare
	for _, door := range p.assumptions.Doors {
		if swing != "" && swing != string(door.Facts.Swing) || lock != "" && lock != string(door.Facts.Lock) {
			continue
		}
		same := func(k kindShare) bool { return k.swing == door.Facts.Swing && k.lock == door.Facts.Lock }
		if i := slices.IndexFunc(found, same); i >= 0 {
			found[i].share += door.Share
			continue
		}
		found = append(found, kindShare{door.Facts.Swing, door.Facts.Lock, door.Share, p.holds(door.Facts.Swing, door.Facts.Lock)})
	}
	if len(found) == 0 {
		found = []kindShare{{Swing(swing), Lock(lock), 1, p.holds(Swing(swing), Lock(lock))}}
	}
	return found
}

// holds is the prior of a kind of door: its own row, or its lock's.
func (p *Planner) holds(swing Swing, lock Lock) map[Hold]float64 {
	holds := map[Hold]float64{HoldOther: 1}
	for _, kind := range p.assumptions.Kinds {
		if kind.Lock != lock {
			continue
		}
		if kind.Swing == swing {
			return kind.Holds
		}
		if kind.Swing == "" {
			holds = kind.Holds
		}
	}
	return holds
}

// likelihood of the stated facts, swing and lock aside, given the kind and hold.
func (p *Planner) likelihood(stated, kind Facts, hold Hold) float64 {
	likelihood := 1.0
	for _, fact := range AllFacts() {
		if fact == FactSwing || fact == FactLock {
			continue
		}
		value := stated.Value(fact)
		if value == "" {
			continue
		}
		if values := p.factValues(fact, kind, hold); values != nil {
			likelihood *= values[value]
		}
	}
	return likelihood
}

// factValues is the chance of each value of a fact, nil when there is no table.
func (p *Planner) factValues(fact Fact, kind Facts, hold Hold) map[string]float64 {
	for _, row := range p.assumptions.Facts[fact] {
		if len(row.Holds) > 0 && !slices.Contains(row.Holds, string(hold)) {
			continue
		}
		if row.Given.Fits(kind) == Yes {
			return row.Values
		}
	}
	return nil
}

// sharedFacts tells the facts that several ways look at from those of one way.
func sharedFacts(ways []*way) (shared []Fact, private [][]Fact) {
	users := map[Fact]int{}
	for _, w := range ways {
		for _, fact := range w.facts() {
			users[fact]++
		}
	}
	private = make([][]Fact, len(ways))
	for i, w := range ways {
		for _, fact := range w.facts() {
			if users[fact] == 1 {
				private[i] = append(private[i], fact)
			}
		}
	}
	for _, fact := range AllFacts() {
		if users[fact] > 1 {
			shared = append(shared, fact)
		}
	}
	return shared, private
}

// assign runs through the values of the facts that are unknown, with their
// weight. A fact without a table stays unknown.
func (p *Planner) assign(f Facts, hold Hold, facts []Fact, weight float64, yield func(Facts, float64)) {
	if len(facts) == 0 {
		yield(f, weight)
		return
	}
	fact, rest := facts[0], facts[1:]
	values := p.factValues(fact, f, hold)
	if f.Value(fact) != "" || values == nil {
		p.assign(f, hold, rest, weight, yield)
		return
	}
	for _, value := range Values(fact) {
		if chance := values[value]; chance > 0 {
			f.assign(fact, value)
			p.assign(f, hold, rest, weight*chance, yield)
		}
	}
}

// permits is, for each way, the chance that the door lets it be tried.
func (p *Planner) permits(f Facts, hold Hold, ways []*way, private [][]Fact) []float64 {
	permits := make([]float64, len(ways))
	for i, w := range ways {
		if w.chances[hold].Opened == 0 {
			continue
		}
		switch w.permitted(f) {
		case No:
			continue
		case Yes:
			permits[i] = 1
			continue
		}
		p.assign(f, hold, private[i], 1, func(f Facts, chance float64) {
			if w.permitted(f) != No {
				permits[i] += chance
			}
		})
	}
	return permits
}

// merger adds up worlds that cannot be told apart by any way.
type merger struct {
	worlds []world
	index  map[string]int
}

func (m *merger) add(hold Hold, weight float64, permit []float64) {
	key := []byte(hold)
	for _, chance := range permit {
		key = binary.LittleEndian.AppendUint64(key, math.Float64bits(chance))
	}
	if i, ok := m.index[string(key)]; ok {
		m.worlds[i].weight += weight
		return
	}
	m.index[string(key)] = len(m.worlds)
	m.worlds = append(m.worlds, world{hold, weight, permit})
}
