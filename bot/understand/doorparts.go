package understand

import (
	"slices"

	"kitbell/bot/door"
)

// A part of the door is often described in looser order than a phrase can list:
// "the little pin is riding there all pushed in", "gap in the middle like half
// an inch". Where the phrases found nothing, the words around a part's name tell.

// partBefore and partBehind are how many marks around a part's name describe it.
const (
	partBefore = 3
	partBehind = 8
)

// looseParts reads what is said around the names of the pin and the gap.
func (d *doorReader) looseParts() {
	for i, m := range d.marks {
		sense := m.sense(factSense)
		switch {
		case sense == nil:
		case sense.hasClue("pin") && len(d.said[door.FactPlunger]) == 0:
			d.loosePin(i)
		case sense.hasClue("gap") && len(d.said[door.FactGap]) == 0:
			d.looseGap(i)
		}
	}
}

func (s *sense) hasClue(name string) bool {
	return slices.ContainsFunc(s.facts, func(f fact) bool { return f.name == clueFact && f.value == name })
}

// loosePin takes the last state said behind the pin, or else before it.
func (d *doorReader) loosePin(i int) {
	value := d.pinState(i+1, min(len(d.marks), i+1+partBehind), d.marks[i].clause)
	if value == "" {
		value = d.pinState(max(0, i-partBefore), i, d.marks[i].clause)
	}
	if value != "" {
		d.set(fact{door.FactPlunger, value})
	}
}

func (d *doorReader) pinState(from, to, clause int) string {
	value, turned := "", false
	for k := from; k < to && d.marks[k].clause == clause && !d.settlesAnother(k); k++ {
		switch {
		case d.marks[k].kind == negationMark:
			turned = true
		case d.inClass(k, "halfway"):
			return string(door.PlungerPartly)
		case d.inClass(k, "pocket") && !turned, d.inClass(k, "freed") && !turned, d.inClass(k, "pressed") && turned:
			value = string(door.PlungerOut)
		case d.inClass(k, "freed") && turned, d.inClass(k, "pressed"):
			value = string(door.PlungerIn)
		}
	}
	return value
}

// looseGap takes the size said in the clause around the gap.
func (d *doorReader) looseGap(i int) {
	clause := d.marks[i].clause
	size := ""
	for k := max(0, i-partBefore); k < min(len(d.marks), i+partBehind); k++ {
		if d.marks[k].clause != clause || k > i && d.settlesAnother(k) {
			continue
		}
		if d.marks[k].kind == negationMark || d.inClass(k, "below") {
			return // no size is safe to take, or it is the gap under the door
		}
		for _, name := range []string{"tight", "normal", "loose"} {
			if size == "" && d.inClass(k, name+"-gap") {
				size = name
			}
		}
	}
	if size != "" {
		d.set(fact{door.FactGap, size})
	}
}

// settlesAnother says whether mark k states something else of the door, so that
// a description ends before it.
func (d *doorReader) settlesAnother(k int) bool {
	sense := d.marks[k].sense(factSense)
	return sense != nil && slices.ContainsFunc(sense.facts, func(f fact) bool { return f.name != clueFact && f.name != door.FactUrgency })
}

// inClass says whether mark k begins with a word of a class of the vocabulary.
func (d *doorReader) inClass(k int, class string) bool {
	m := d.marks[k]
	return m.kind != borderMark && slices.Contains(d.words.classes[class], d.tokens[m.at].word)
}

// ofAnother says whether mark i tells how a door beside this one moves: "man
// door next to a roll up".
func (d *doorReader) ofAnother(i int, sense *sense) bool {
	if !sense.says(door.FactSwing, string(door.SwingOverhead)) && !sense.says(door.FactSwing, string(door.SwingSliding)) {
		return false
	}
	for k := i - 1; k >= max(0, i-3) && d.marks[k].clause == d.marks[i].clause; k-- {
		if d.inClass(k, "beside") {
			return true
		}
	}
	return false
}

// ofPin says whether what sounds like somebody's plight is said of the pin: "pin
// is trapped".
func (d *doorReader) ofPin(i int, sense *sense) bool {
	if !aboutUrgency(sense) {
		return false
	}
	for k := i - 1; k >= max(0, i-partBefore); k-- {
		if before := d.marks[k].sense(factSense); before != nil && before.hasClue("pin") {
			return true
		}
	}
	return false
}

func (s *sense) says(name door.Fact, value string) bool {
	return slices.Contains(s.facts, fact{name, value})
}
