package schedule

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"
)

// Plan describes a rotation as the department file gives it; NewRotation checks
// it.
//
// Pattern is a name (Named lists them) or one symbol for each slot, X on duty
// and O off, as the first platoon sees it from Start. A day has as many slots
// as Changes: one for 24 h tours, two for days and nights. The k-th platoon
// lives the same pattern Offsets[k] days later; without Offsets a name brings
// its own, and symbols are spread evenly.
type Plan struct {
	Names   []string        // platoons, in the department's order
	Pattern string          // 48/96, or XXOOOO
	Offsets []int           // days, one for each platoon; nil for the usual ones
	Changes []time.Duration // local times of the change of tour after midnight, rising
	Start   time.Time       // the local day on which the first platoon's pattern begins; only its date counts
	Zone    *time.Location
}

type namedPattern struct {
	name    string
	symbols string
	offsets []int
	changes int
}

// namedPatterns are the usual rotations. 24/48, 48/96 and the nine days as in
// FACTS C17; 24/72 and the eight days as in C19; their offsets as in C20. The
// two days, two nights and four off are C19's 10/14.
func namedPatterns() []namedPattern {
	return []namedPattern{
		{"24/48", "XOO", []int{0, 1, 2}, 1},
		{"48/96", "XXOOOO", []int{0, 2, 4}, 1},
		{"24/72", "XOOO", []int{0, 1, 2, 3}, 1},
		{"nine-day", "XOXOXOOOO", []int{0, 3, 6}, 1},
		{"eight-day", "XOXOOOOO", []int{0, 1, 4, 5}, 1},
		{"10/14", "XOXOOXOXOOOOOOOO", []int{0, 2, 4, 6}, 2},
	}
}

// Named lists the patterns that a plan can name.
func Named() []string {
	var names []string
	for _, p := range namedPatterns() {
		names = append(names, p.name)
	}
	return names
}

// spell replaces a named pattern by its symbols and fills in the offsets.
func (p Plan) spell() (Plan, error) {
	for _, named := range namedPatterns() {
		if strings.EqualFold(p.Pattern, named.name) {
			return p.spellNamed(named)
		}
	}
	p.Pattern = strings.ToUpper(strings.Join(strings.Fields(p.Pattern), ""))
	if strings.Trim(p.Pattern, "XO") != "" || p.Pattern == "" {
		return p, fmt.Errorf("pattern %q: write one X (on duty) or O (off) for each day, or one of %s",
			p.Pattern, strings.Join(Named(), ", "))
	}
	if len(p.Changes) == 0 {
		return p, errors.New("change: the local time at which the tours change is missing")
	}
	if p.Offsets == nil && len(p.Names) > 0 {
		for k := range p.Names {
			p.Offsets = append(p.Offsets, k*len(p.Pattern)/len(p.Changes)/len(p.Names))
		}
	}
	return p, nil
}

func (p Plan) spellNamed(named namedPattern) (Plan, error) {
	if len(p.Names) != len(named.offsets) {
		return p, fmt.Errorf("pattern %s is for %d platoons, and there are %d", named.name, len(named.offsets), len(p.Names))
	}
	if len(p.Changes) != named.changes {
		return p, fmt.Errorf("pattern %s has %s a day, and %d are given", named.name, count(named.changes, "change"), len(p.Changes))
	}
	p.Pattern = named.symbols
	if p.Offsets == nil {
		p.Offsets = named.offsets
	}
	return p, nil
}

// check finds what would make the arithmetic wrong, before coverage is looked at.
func (p Plan) check() error {
	switch {
	case len(p.Names) == 0:
		return errors.New("platoons: name at least one")
	case len(p.Offsets) != len(p.Names):
		return fmt.Errorf("offsets: give one for each platoon, %d in all", len(p.Names))
	case len(p.Pattern)%len(p.Changes) != 0:
		return fmt.Errorf("pattern %s: %d symbols do not make whole days of %d slots", p.Pattern, len(p.Pattern), len(p.Changes))
	case len(p.Pattern) > maxSlots:
		return fmt.Errorf("pattern: %d symbols are more than the %d that are read", len(p.Pattern), maxSlots)
	case p.Zone == nil:
		return errors.New("zone: the time zone is missing")
	case p.Start.IsZero():
		return errors.New("start: the day on which the pattern begins is missing")
	}
	for i, name := range p.Names {
		if name == "" || slices.Contains(p.Names[:i], name) {
			return fmt.Errorf("platoon %q: each needs a name of its own", name)
		}
	}
	for i, c := range p.Changes {
		if c < 0 || c >= 24*time.Hour || i > 0 && c <= p.Changes[i-1] {
			return errors.New("change: times of a day, the earlier one first")
		}
	}
	return nil
}

// cover works out who has each slot of the cycle. Every slot must have exactly
// one platoon.
func (p Plan) cover() ([]int, error) {
	slots := len(p.Pattern)
	owners := make([]int, slots)
	for slot := range owners {
		var on []string
		for k, off := range p.Offsets {
			if p.Pattern[mod(slot-off*len(p.Changes), slots)] == 'X' {
				on, owners[slot] = append(on, p.Names[k]), k
			}
		}
		if len(on) != 1 {
			return nil, &CoverError{Plan: p, Slot: slot, On: on}
		}
	}
	return owners, nil
}

// maxSlots bounds the pattern: two years of days are more than any union
// contract repeats after.
const maxSlots = 732

// CoverError says that a rotation leaves a time without a platoon, or gives it
// to several.
type CoverError struct {
	Plan Plan
	Slot int      // of the cycle, from Start
	On   []string // platoons on duty then
}

// Error says which day it is and who is on duty.
func (e *CoverError) Error() string {
	date := day(e.Plan.Start).AddDate(0, 0, e.Slot/len(e.Plan.Changes))
	from := clock(e.Plan.Changes[e.Slot%len(e.Plan.Changes)])
	who := "nobody is"
	if len(e.On) > 0 {
		who = strings.Join(e.On, " and ") + " are"
	}
	return fmt.Sprintf("pattern %s with offsets %s: %s on duty from %s at %s (day %d of %d)", e.Plan.Pattern,
		strings.Trim(strings.Join(strings.Fields(fmt.Sprint(e.Plan.Offsets)), ", "), "[]"), who,
		date.Format("2006-01-02"), from, e.Slot/len(e.Plan.Changes)+1, len(e.Plan.Pattern)/len(e.Plan.Changes))
}

// clock writes a time after midnight as 07:30.
func clock(d time.Duration) string {
	return fmt.Sprintf("%02d:%02d", int(d.Hours()), int(d.Minutes())%60)
}

func count(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}

func mod(a, n int) int { return ((a % n) + n) % n }
