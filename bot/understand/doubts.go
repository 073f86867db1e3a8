package understand

import (
	"slices"

	"kitbell/bot/door"
)

// doubtReach is how many marks a doubt looks ahead for what it is about.
const doubtReach = 6

// doubts says whether what mark i says of a door is only wondered about: "not
// sure if there is a plate", "might be bolted".
func (d *doorReader) doubts(i int, sense *sense) bool {
	if d.hunch >= 0 && i-d.hunch <= doubtReach && d.marks[d.hunch].clause == d.marks[i].clause {
		d.wonder(sense)
	}
	if d.doubt < 0 || i-d.doubt > doubtReach || d.marks[d.doubt].clause != d.marks[i].clause || aboutUrgency(sense) {
		return false
	}
	d.wonder(sense)
	return true
}

// wonder notes that what a sense states has to be asked about.
func (d *doorReader) wonder(sense *sense) {
	for _, f := range sense.facts {
		if f.name != clueFact && f.name != door.FactUrgency {
			addOnce(&d.doubted, string(f.name))
		}
	}
}

// hedgeReach is how many marks before a doubt the thing it takes back may stand.
const hedgeReach = 4

// hedge reads a doubt that ends its clause as said of what stands right before
// it: "swings out I think", "lever, cant tell".
func (d *doorReader) hedge(i int) {
	clause := d.marks[i].clause
	for k := i + 1; k < min(len(d.marks), i+doubtReach) && d.marks[k].clause == clause; k++ {
		if d.marks[k].sense(factSense) != nil {
			return
		}
	}
	for k := i - 1; k >= max(0, i-hedgeReach) && d.marks[k].clause == clause; k-- {
		if sense := d.marks[k].sense(factSense); sense != nil {
			d.wonder(sense)
			return
		}
	}
}

// alternatives reads "a lever or a knob": neither is stated.
func (d *doorReader) alternatives() {
	for i, m := range d.marks {
		if m.kind != wordMark || d.word(m) != d.grammar.or || i == 0 || i+1 >= len(d.marks) {
			continue
		}
		before, behind := d.marks[i-1].sense(factSense), d.near(i+1)
		if before != nil && behind != nil {
			d.choose(before, behind)
		}
	}
}

// near is what mark i, or the one behind it, says of a door.
func (d *doorReader) near(i int) *sense {
	if sense := d.marks[i].sense(factSense); sense != nil || i+1 >= len(d.marks) {
		return sense
	}
	return d.marks[i+1].sense(factSense)
}

// choose takes back the facts to which two senses give different values.
func (d *doorReader) choose(one, other *sense) {
	for _, f := range one.facts {
		for _, g := range other.facts {
			if f.name == g.name && f.value != g.value && f.name != clueFact && f.name != door.FactUrgency {
				addOnce(&d.doubted, string(f.name))
				delete(d.said, f.name)
				_ = d.facts.Set(f.name, "") // an empty value always fits
			}
		}
	}
}

// opposed are the facts of which two values in one message cannot both be. Of a
// swing it is told in contradictions; of the others one side may be meant.
var opposed = []door.Fact{door.FactGuard, door.FactUndercut, door.FactLever, door.FactPlunger}

// clashes notes the facts of which the message says two things.
func (d *doorReader) clashes() {
	for _, name := range opposed {
		values := slices.Clone(d.said[name])
		slices.Sort(values)
		if len(slices.Compact(values)) > 1 && !slices.Contains(values, "partly") {
			addOnce(&d.doubted, string(name))
		}
	}
}

// forget takes back what is in doubt.
func (d *doorReader) forget() {
	for _, name := range d.doubted {
		if slices.Contains(opposed, door.Fact(name)) && len(d.said[door.Fact(name)]) > 1 {
			_ = d.facts.Set(door.Fact(name), "") // an empty value always fits
		}
	}
}

// askDoor asks what a described door leaves open: what was doubted, the way it
// swings unless its kind tells, and how it is held when nothing says so.
func (s *sheet) askDoor(out *Reading) {
	if out.Intent != Door && (out.Intent != Ask && out.Intent != None || !s.unseenDoor(out)) || out.Outcome != "" || s.context.Memory.Door != nil {
		return
	}
	f := out.Door
	if f.Urgency == door.UrgencyLife {
		return // no question stands before somebody's life
	}
	for _, name := range s.doubted {
		out.ask(name, nil)
	}
	if f.Ajar == door.Yes || f.Finished == door.Yes {
		return
	}
	if swingMatters(f) {
		out.ask(string(door.FactSwing), []string{"out", "in"})
	}
	if held(f) || s.latchSaid {
		return
	}
	out.ask(string(door.FactLock), nil)
	if f.Swing == "" && f.Urgency == "" && !s.calm && !s.speaksOfPeople() {
		out.ask(string(door.FactUrgency), []string{"routine", "urgent", "life"})
	}
}

// unseenDoor says whether somebody mentions a door, in words that ask nothing
// and say next to nothing about it: "locked door".
func (s *sheet) unseenDoor(out *Reading) bool {
	return s.bareTopic() && !s.namesItem() && out.OffKit == "" &&
		slices.ContainsFunc(s.tokens, func(t token) bool { return s.grammar.doors[t.word] })
}

// swingMatters says whether the way a door swings is open and decides the plan.
func swingMatters(f door.Facts) bool {
	if f.Swing != "" && f.Swing != door.SwingUnknown || f.Leaves == door.LeavesPair {
		return false
	}
	switch f.Lock {
	case "", door.LockUnknown, door.LockSpringLatch, door.LockDeadlatch, door.LockDeadbolt, door.LockMortise, door.LockExitRim:
		return true
	}
	return false
}

// held says whether something tells how the door is kept shut.
func held(f door.Facts) bool {
	return f.Lock != "" && f.Lock != door.LockUnknown || f.Guard != door.Unknown || f.Bolt != door.Unknown ||
		f.Plunger != "" || f.Glass == door.Yes || f.Lever != door.Unknown || f.Thumbturn != door.Unknown || f.Leaves == door.LeavesPair ||
		f.Swing == door.SwingSliding || f.Swing == door.SwingOverhead
}

func (s *sheet) speaksOfPeople() bool {
	return slices.ContainsFunc(s.tokens, func(t token) bool { return s.grammar.people[t.word] && !s.grammar.crew[t.word] })
}
