package training

import (
	"cmp"
	"errors"
	"maps"
	"slices"
	"time"
)

// CompanyTarget is the most that a rating of fire departments credits for training
// in companies, a year and member: 16 hours a month (FACTS C10, schedule of 2012).
// A department chooses its own.
const CompanyTarget = 192 * time.Hour

// ErrTarget refuses a yearly target that no year can have.
var ErrTarget = errors.New("a yearly target is 0 hours or more, and no more than a year has")

// CheckTarget refuses a target of hours a year below zero or longer than a year.
// Zero is none.
func CheckTarget(target time.Duration) error {
	if target < 0 || target > 366*24*time.Hour {
		return ErrTarget
	}
	return nil
}

// Tally is the hours of one year, in hours of members: ten members for one hour
// are ten.
type Tally struct {
	Year   int
	Target time.Duration // a year and member; 0 for none
	Months [12]time.Duration
	People []PersonHours // by member
	Units  []UnitHours   // by unit
}

// PersonHours is what one member has.
type PersonHours struct {
	Member  string
	Hours   time.Duration
	Months  [12]time.Duration
	Missing time.Duration // to the target; never below zero
}

// UnitHours is what the members of one unit have, each hour under the unit that
// the member belonged to then.
type UnitHours struct {
	Unit   string
	Hours  time.Duration
	Months [12]time.Duration
}

// TallyHours adds up the records of a year, each in the month in which it starts in
// the department's zone. Hours come from confirmed records only, so neither a
// quiz nor an off-duty tap has any; where two records of a member overlap, the time
// counts once, for the one that starts first (FACTS C3: no duplication). Members
// of the roster without hours are listed too. ErrTarget refuses the target.
func TallyHours(records []Record, roster []Person, year int, zone *time.Location, target time.Duration) (Tally, error) {
	if err := CheckTarget(target); err != nil {
		return Tally{}, err
	}
	t := Tally{Year: year, Target: target}
	people, units := map[string]*PersonHours{}, map[string]*UnitHours{}
	for _, p := range roster {
		people[p.ID] = &PersonHours{Member: p.ID}
	}
	for _, c := range credits(records) {
		start := c.start.In(zone)
		if start.Year() != year {
			continue
		}
		month := start.Month() - 1
		person, unit := need(people, c.member), need(units, c.unit)
		person.Member, unit.Unit = c.member, c.unit
		for _, sum := range []*time.Duration{&t.Months[month], &person.Hours, &person.Months[month], &unit.Hours, &unit.Months[month]} {
			*sum += c.length
		}
	}
	for _, id := range sortedKeys(people) {
		people[id].Missing = max(0, target-people[id].Hours)
		t.People = append(t.People, *people[id])
	}
	for _, id := range sortedKeys(units) {
		t.Units = append(t.Units, *units[id])
	}
	return t, nil
}

// Total is the sum of the year.
func (t Tally) Total() time.Duration {
	var total time.Duration
	for _, month := range t.Months {
		total += month
	}
	return total
}

// credit is the time that one record earns one member.
type credit struct {
	key, member, unit string
	start             time.Time
	length            time.Duration
}

// credits gives each member's time once: what an earlier record covers is left out
// of a later one.
func credits(records []Record) []credit {
	byStart := slices.Clone(records)
	slices.SortStableFunc(byStart, func(a, b Record) int { return cmp.Or(a.Start.Compare(b.Start), cmp.Compare(a.Key, b.Key)) })
	until := map[string]time.Time{}
	var all []credit
	for _, r := range byStart {
		for _, a := range r.Attended {
			from := r.Start
			if until[a.Member].After(from) {
				from = until[a.Member]
			}
			length := max(0, r.End.Sub(from))
			all = append(all, credit{key: r.Key, member: a.Member, unit: a.Crew.Unit, start: r.Start, length: length})
			if r.End.After(until[a.Member]) {
				until[a.Member] = r.End
			}
		}
	}
	return all
}

func need[T any](m map[string]*T, key string) *T {
	if m[key] == nil {
		m[key] = new(T)
	}
	return m[key]
}

func sortedKeys[V any](m map[string]V) []string { return slices.Sorted(maps.Keys(m)) }
