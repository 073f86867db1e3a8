package door

import (
	"cmp"
	"encoding/json"
	"fmt"
	"slices"
)

// A Record is one attempt at a door, as it was told after the call.
type Record struct {
	ID        int64
	Way       string // [Step].Way of the attempt
	Facts     Facts  // the door as it was known then, with what had failed before
	Opened    bool
	Practice  bool // drills never move a chance
	Withdrawn bool
}

// Learn is the planner with the counts of these records added to the assumed
// ones. It starts from the assumptions, never from what was learned before: give
// it all records, and a withdrawn one is as if it had never been.
//
// Which hold a record speaks about is hidden, so it adds its one count to each
// hold by P(hold | facts, outcome). That chance is taken from the assumed counts,
// not from the records before it, so that the order of records does not matter;
// they are added up sorted, so that not even rounding depends on it. The error
// names a record whose way or facts do not exist.
func (p *Planner) Learn(records []Record) (*Planner, error) {
	assumed := *p
	assumed.learned, assumed.records = nil, nil
	learned := assumed
	learned.learned, learned.records = map[string]Chances{}, map[string]int{}
	counted := slices.DeleteFunc(slices.Clone(records), func(r Record) bool { return r.Practice || r.Withdrawn })
	slices.SortFunc(counted, compareRecords)
	for _, record := range counted {
		if err := assumed.learn(record, &learned); err != nil {
			return nil, fmt.Errorf("learn from record %d: %w", record.ID, err)
		}
	}
	return &learned, nil
}

func compareRecords(a, b Record) int {
	return cmp.Or(cmp.Compare(a.ID, b.ID), cmp.Compare(recordText(a), recordText(b)))
}

// recordText tells records apart that share a number.
func recordText(r Record) string {
	facts, _ := json.Marshal(r.Facts) // facts always marshal; at worst two records look alike
	return fmt.Sprintf("%s %t %s", r.Way, r.Opened, facts)
}

// learn adds one record to what was learned so far.
func (p *Planner) learn(record Record, into *Planner) error {
	if err := record.Facts.Validate(); err != nil {
		return err
	}
	id, preparation := splitWay(record.Way)
	t := p.technique(id)
	if t == nil {
		return fmt.Errorf("no technique %q", id)
	}
	into.records[id]++
	base := t.Chance
	if preparation != "" {
		base = t.With[preparation]
	}
	if into.learned[record.Way] == nil {
		into.learned[record.Way] = Chances{}
	}
	for hold, share := range p.blame(record, base) {
		counts := into.learned[record.Way][hold]
		if record.Opened {
			counts.Opened += share
		} else {
			counts.Not += share
		}
		into.learned[record.Way][hold] = counts
	}
	return nil
}

// blame is P(hold | facts, outcome) of a record.
func (p *Planner) blame(record Record, base Chances) map[Hold]float64 {
	s := p.scene(Request{Facts: record.Facts})
	failed := p.failedWays(s)
	shares := map[Hold]float64{}
	total := 0.0
	for _, w := range p.worlds(s, failed) {
		weight := w.weight
		for i := range failed {
			weight *= 1 - w.chance(i, failed)
		}
		chance := base[w.hold].Mean()
		if !record.Opened {
			chance = 1 - chance
		}
		shares[w.hold] += weight * chance
		total += weight * chance
	}
	if total == 0 { // it opened where the tables say it never does: nothing to learn from them
		return nil
	}
	for hold := range shares {
		shares[hold] /= total
	}
	return shares
}

// chances is the assumed counts of a way with what records add to them. A hold
// that is not assumed to open by it stays out.
func (p *Planner) chances(key string, base Chances) Chances {
	extra := p.learned[key]
	if extra == nil {
		return base
	}
	chances := Chances{}
	for hold, counts := range base {
		chances[hold] = Counts{counts.Opened + extra[hold].Opened, counts.Not + extra[hold].Not}
	}
	return chances
}
