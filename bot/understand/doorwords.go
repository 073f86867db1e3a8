package understand

import (
	"slices"

	"kitbell/bot/door"
)

// doorReader gathers what the message says about a door.
type doorReader struct {
	*sheet
	facts   door.Facts
	clues   map[string]bool
	said    map[door.Fact][]string // every value given, in order
	negated int                    // mark of the last negation, -1 for none
	taking  bool                   // a correction was announced
	doubt   int                    // mark of the last doubt, -1 for none
	hunch   int                    // mark of the last "I think", -1 for none
	doubted []string               // facts that are only wondered about
}

// readDoor fills the door facts: what is stated, then what plainly follows.
func (s *sheet) readDoor(out *Reading) {
	d := doorReader{sheet: s, clues: map[string]bool{}, said: map[door.Fact][]string{}, negated: -1, doubt: -1, hunch: -1}
	for i, m := range s.marks {
		switch m.kind {
		case borderMark:
			d.negated = -1
		case negationMark:
			d.negated = i
		case wordMark:
			if s.grammar.correct[s.word(m)] {
				d.taking, d.negated = true, -1 // "no wait it's a push"
			}
		}
		if sense := d.factIn(i, m); sense != nil && !d.doubts(i, sense) {
			d.take(i, sense)
		}
	}
	d.loneWords()
	d.looseParts()
	d.alternatives()
	d.clashes()
	d.forget()
	d.conclude()
	if d.facts.Gas == door.Yes {
		d.set(fact{door.FactUrgency, string(door.UrgencyUrgent)})
	}
	before := len(out.AskBack)
	d.contradictions(out)
	out.Doubted = slices.Clone(d.doubted)
	for _, q := range out.AskBack[before:] {
		addOnce(&out.Doubted, q.About)
	}
	out.Door = d.facts
	out.Fine = d.clues["fine"] && d.facts.Urgency != door.UrgencyLife
	if d.clues["violence"] {
		out.Hazards = append(out.Hazards, Violence)
	}
	if d.clues["wires"] {
		out.Hazards = append(out.Hazards, LiveWires)
	}
	s.personSaid = d.clues["person"] && !d.clues["calm"]
	s.doubted, s.calm, s.latchSaid = d.doubted, d.clues["calm"], d.clues["latch"] || d.clues["exit"] || d.clues["pin"] || d.clues["storefront"]
	out.DoorSaid = len(d.said) > 0 || len(d.doubted) > 0 || d.telling()
	out.Down = d.facts.Urgency == door.UrgencyLife || d.facts.Fire == door.Yes
}

// factIn is what a mark says about a door. An item's name that is also a door
// word ("lever") is the item when something is wrong with it.
func (d *doorReader) factIn(i int, m mark) *sense {
	sense := m.sense(factSense)
	if sense != nil && d.offKitBefore(i) && aboutUrgency(sense) {
		return nil // the radio is dead, nobody else
	}
	if sense != nil && m.kind == conditionMark && aboutUrgency(sense) && d.clauses[m.clause].items {
		return nil // the mirror's light is dead, nobody
	}
	if sense != nil && aboutUrgency(sense) && d.ofATool(i) {
		return nil // the wedge blew apart, nothing else
	}
	if sense != nil && (d.ofAnother(i, sense) || d.ofPin(i, sense)) {
		return nil
	}
	if sense != nil && m.kind == itemMark && d.clauseReports(m.clause) {
		return nil
	}
	return sense
}

// ofATool says whether mark i tells of a tool that burst: it says that something
// blew, of an item before it in the message.
func (d *doorReader) ofATool(i int) bool {
	if !d.grammar.bursts[d.word(d.marks[i])] {
		return false
	}
	return d.hits(StopUse) || d.clauses[d.marks[i].clause].items || d.namesItem() && d.marks[i].kind == conditionMark
}

// offKitBefore says whether mark i is said of other equipment right before it.
func (d *doorReader) offKitBefore(i int) bool {
	for k := i - 1; k >= max(0, i-2); k-- {
		if d.marks[k].kind == offKitMark {
			return true
		}
	}
	return false
}

func aboutUrgency(sense *sense) bool {
	return slices.ContainsFunc(sense.facts, func(f fact) bool { return f.name == door.FactUrgency })
}

func (d *doorReader) clauseReports(n int) bool {
	c := d.clauses[n]
	for _, m := range d.marks[c.from:min(c.to, c.from+30)] {
		if sense := m.sense(conditionSense); sense != nil && sense.status != fine && sense.status != have && sense.status != only {
			return true
		}
	}
	return false
}

// doorReach is how many marks a negation looks ahead among door words.
const doorReach = 2

func (d *doorReader) take(i int, sense *sense) {
	facts := sense.facts
	if d.turned(i) {
		facts = sense.denied
		d.negated = -1
	}
	for _, f := range facts {
		if f.name == clueFact {
			d.clues[f.value] = true
			switch f.value {
			case "doubt":
				d.doubt = i
				d.hedge(i)
			case "hunch":
				d.hunch = i
				d.hedge(i)
			}
			continue
		}
		d.set(f)
	}
}

// turned says whether a negation stands before mark i or right behind it.
func (d *doorReader) turned(i int) bool {
	if d.negated >= 0 && i-d.negated <= doorReach {
		return true
	}
	if i+2 >= len(d.marks) || d.marks[i+1].kind != negationMark {
		return false
	}
	next := d.marks[i+2]
	return next.kind == borderMark || next.kind == wordMark
}

// set takes a value. The graver urgency wins; of anything else the later one
// stands, and both are kept for the contradictions.
func (d *doorReader) set(f fact) {
	if f.name == door.FactUrgency && graver(string(d.facts.Urgency), f.value) {
		return
	}
	if f.name == door.FactLock && !d.moreTelling(f.value) {
		return
	}
	if f.name == door.FactLeaves && d.facts.Leaves == door.LeavesPair && !d.taking {
		return // "one leaf has flush bolts"
	}
	if f.name == door.FactHinges && f.value == string(door.HingesInside) && d.facts.Hinges == door.HingesHidden {
		return
	}
	if d.taking {
		delete(d.said, f.name)
	}
	d.said[f.name] = append(d.said[f.name], f.value)
	_ = d.facts.Set(f.name, f.value) // checked when the vocabulary was loaded
}

// loneWords reads a clause that is only "out" or "in": the swing, when the
// message is about a door at all.
func (d *doorReader) loneWords() {
	if len(d.said) == 0 || len(d.said[door.FactSwing]) > 0 {
		return
	}
	for _, c := range d.clauses {
		m := d.marks[c.from]
		if m.kind != wordMark || c.to-c.from > 1 && d.marks[c.from+1].kind != borderMark {
			continue
		}
		switch d.word(m) {
		case d.grammar.out:
			d.set(fact{door.FactSwing, string(door.SwingOut)})
		case d.grammar.in, d.grammar.away:
			d.set(fact{door.FactSwing, string(door.SwingIn)})
		}
	}
}

func graver(have, than string) bool {
	order := []string{"", "routine", "urgent", "life"}
	return slices.Index(order, have) > slices.Index(order, than)
}

// lockOrder ranks what two lock words in one message settle on: a second lock
// on the inside decides what to do first, and a plain latch says least. A chain
// with a padlock on it is no door chain.
var lockOrder = []door.Lock{
	"", door.LockSpringLatch, door.LockDeadlatch, door.LockExitRim, door.LockElectricStrike, door.LockDeadbolt,
	door.LockMortise, door.LockNarrowStile, door.LockExitVerticalRod, door.LockMagnetic, door.LockChain,
	door.LockPadlock, door.LockRoomLatch, door.LockSwingBar,
}

func (d *doorReader) moreTelling(value string) bool {
	return d.taking || slices.Index(lockOrder, door.Lock(value)) >= slices.Index(lockOrder, d.facts.Lock)
}

// conclude adds what plainly follows from what was said.
func (d *doorReader) conclude() {
	d.concludeSwing()
	d.concludeLatch()
	d.concludeLock()
	if d.clues["pin"] && d.clues["half"] && d.facts.Plunger == "" {
		d.facts.Plunger, d.facts.Lock = door.PlungerPartly, door.LockDeadlatch
	}
	if d.clues["doubt"] && len(d.doubted) == 0 && d.facts.Lock == door.LockMagnetic && d.facts.Sensor == door.Unknown {
		addOnce(&d.doubted, string(door.FactSensor)) // "no idea what is inside"
		d.sheet.doubted = d.doubted
	}
	if d.clues["pin"] && d.facts.Plunger == "" && d.facts.Lock == door.LockSpringLatch {
		d.facts.Lock = door.LockDeadlatch
	}
}

// concludeSwing: hinges on this side mean that the door comes this way. A door
// on a chain or a room guard stands open inward.
func (d *doorReader) concludeSwing() {
	if d.facts.Swing != "" || len(d.said[door.FactSwing]) > 0 || d.clues["swing-unclear"] {
		return
	}
	switch d.facts.Hinges {
	case door.HingesOutside, door.HingesFixed:
		d.facts.Swing = door.SwingOut
	case door.HingesInside:
		d.facts.Swing = door.SwingIn
	}
	switch d.facts.Lock {
	case door.LockChain, door.LockRoomLatch, door.LockSwingBar:
		d.facts.Swing = door.SwingIn
	}
}

// concludeLatch: a latch with a pin beside it is a deadlatch, one without is a
// plain latch.
func (d *doorReader) concludeLatch() {
	latch := d.facts.Lock == "" || d.facts.Lock == door.LockSpringLatch
	switch d.facts.Plunger {
	case door.PlungerOut, door.PlungerIn, door.PlungerPartly:
		if latch {
			d.facts.Lock = door.LockDeadlatch
		}
	case door.PlungerNone:
		if latch || d.facts.Lock == door.LockDeadlatch {
			d.facts.Lock = door.LockSpringLatch
		}
	}
}

// concludeLock names the lock from clues: what an aluminum and glass front
// carries, what a bar inside a single door is, and a knob or a bare latch with
// no bolt.
func (d *doorReader) concludeLock() {
	f := &d.facts
	if f.Lock == door.LockDeadbolt && f.Bolt == door.No {
		f.Lock = ""
		d.clues["latch"] = d.clues["latch"] || f.Lever == door.No
	}
	weak := f.Lock == "" || f.Lock == door.LockSpringLatch || f.Lock == door.LockDeadbolt
	switch {
	case d.clues["storefront"] && weak && (d.clues["latch"] || d.clues["paddle"] || f.Bolt == door.Yes || f.Thumbturn != door.Unknown || f.Lock != ""):
		f.Lock = door.LockNarrowStile
	case f.Lock != "":
	case d.clues["paddle"]:
		f.Lock = door.LockNarrowStile
	case d.clues["exit"] && f.Leaves != door.LeavesPair:
		f.Lock = door.LockExitRim
	case d.clues["latch"] && !d.clues["pin"] && f.Guard != door.Yes && f.Plunger == "",
		f.Lever == door.No && f.Bolt == door.No:
		f.Lock = door.LockSpringLatch
	}
}

// contradictions asks about a swing that the hinges, or another word, deny.
func (d *doorReader) contradictions(out *Reading) {
	swings := slices.Clone(d.said[door.FactSwing])
	slices.Sort(swings)
	clash := len(slices.Compact(swings)) > 1 && !slices.Contains(swings, "overhead") && !slices.Contains(swings, "sliding")
	switch d.facts.Hinges {
	case door.HingesInside:
		clash = clash || d.facts.Swing == door.SwingOut
	case door.HingesOutside, door.HingesFixed:
		clash = clash || d.facts.Swing == door.SwingIn
	}
	if clash {
		d.facts.Swing = ""
		out.ask(string(door.FactSwing), []string{"out", "in"})
	}
}

// telling says whether clues alone describe a door.
func (d *doorReader) telling() bool {
	return d.clues["storefront"] || d.clues["exit"] || d.clues["latch"] || d.clues["pin"]
}
