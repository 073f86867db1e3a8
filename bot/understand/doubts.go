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
	if d.doubt < 0 || i-d.doubt > doubtReach || d.marks[d.doubt].clause != d.marks[i].clause || aboutUrgency(sense) {
		return false
	}
	for _, f := range sense.facts {
		if f.name != clueFact {
			addOnce(&d.doubted, string(f.name))
		}
	}
	return true
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
	for _, name := range s.doubted {
		out.ask(name, nil)
	}
	if f.Urgency == door.UrgencyLife || f.Ajar == door.Yes || f.Finished == door.Yes {
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
