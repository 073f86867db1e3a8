package measure

import (
	"fmt"
	"io"
	"slices"
	"strings"

	"kitbell/bot/door"
	"kitbell/bot/understand"
)

// DoorPlanner plans a door of a doors file with a complete kit.
type DoorPlanner func(facts door.Facts) (door.Plan, error)

// PlanScore is what plans made of a doors file.
type PlanScore struct {
	Cases      int
	FirstRight int // one of the first two steps is right
	Broken     int // rules broken, over all cases; must be 0
}

// firstSteps is how many steps count as a first choice: a preparation and its
// attempt, or two attempts.
const firstSteps = 2

// Plans plans each case from its text, as a crew's words would be, and prints
// each wrong first choice and each broken rule to misses, which may be
// io.Discard.
func Plans(reader MessageReader, plan DoorPlanner, cases []DoorCase, misses io.Writer) (PlanScore, error) {
	var score PlanScore
	for _, c := range cases {
		read := reader.Read(c.Text, understand.Context{})
		facts := read.Door
		if read.Down {
			facts.Urgency = door.UrgencyLife
		}
		p, err := plan(facts)
		if err != nil {
			return score, fmt.Errorf("plan %s: %w", c.ID, err)
		}
		wrong := score.add(c, p.Steps)
		if len(wrong) == 0 {
			continue
		}
		if _, err := fmt.Fprintf(misses, "%s %q\n    %s\n", c.ID, c.Text, strings.Join(wrong, "; ")); err != nil {
			return score, fmt.Errorf("print a miss: %w", err)
		}
	}
	return score, nil
}

func (s *PlanScore) add(c DoorCase, steps []door.Step) (wrong []string) {
	s.Cases++
	if c.rightStart(steps) {
		s.FirstRight++
	} else {
		wrong = append(wrong, fmt.Sprintf("begins %v, want one of %v", techniques(steps), c.FirstOK))
	}
	broken := c.broken(steps)
	s.Broken += len(broken)
	return append(wrong, broken...)
}

// rightStart says whether one of the first two steps is a right one. Steps that
// stand before or after every plan count wherever they are.
func (c DoorCase) rightStart(steps []door.Step) bool {
	if len(c.FirstOK) == 0 {
		return true
	}
	counted := 0
	for _, step := range steps {
		fixed := step.Kind == door.Before || step.Kind == door.After
		if !fixed {
			counted++
		}
		if (fixed || counted <= firstSteps) && slices.Contains(c.FirstOK, step.Technique) {
			return true
		}
	}
	return false
}

// broken lists the rules that a plan breaks. At life, what comes behind forcing
// breaks none.
func (c DoorCase) broken(steps []door.Step) []string {
	life := factText(c.Facts[string(door.FactUrgency)]) == string(door.UrgencyLife)
	var broken, seen []string
	for _, step := range steps {
		if life && step.Technique == forceIt {
			break
		}
		if slices.Contains(c.Never, step.Technique) {
			broken = append(broken, "must not have "+step.Technique)
		}
		if first, ok := c.NotBefore[step.Technique]; ok && !slices.Contains(seen, step.Technique) && !anyOf(first, seen) {
			broken = append(broken, fmt.Sprintf("%s before any of %v", step.Technique, first))
		}
		seen = append(seen, step.Technique)
	}
	return broken
}

// forceIt is the technique that ends every plan.
const forceIt = "force-it"

func anyOf(wanted, have []string) bool {
	return slices.ContainsFunc(wanted, func(w string) bool { return slices.Contains(have, w) })
}

func techniques(steps []door.Step) []string {
	var ids []string
	for _, step := range steps {
		if step.Kind != door.Before {
			ids = append(ids, step.Technique)
		}
	}
	return ids[:min(len(ids), 4)]
}

// Print writes the score as a small table.
func (s PlanScore) Print(w io.Writer) error {
	return printed(fmt.Fprintf(w, "first two steps    %s\nrules broken       %d\n", share(s.FirstRight, s.Cases), s.Broken))
}
