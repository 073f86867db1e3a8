package kit

import (
	"cmp"
	"slices"
	"time"
)

// Check is the answer to a kit check. A check that nobody answered has no row:
// its kit is unknown, never complete.
type Check struct {
	Kit     string
	Unit    string
	Platoon string
	By      string // member id
	At      time.Time
	Result  CheckResult
	Note    string
	Lines   []string `json:",omitempty"` // items that were looked at closely
	Full    bool     `json:",omitempty"` // every line was
	Seal    string   `json:",omitempty"` // the tag that was seen, whatever was found of it
}

// CheckResult is what the crew found.
type CheckResult string

// What a check can find. NotToday ends the matter for the tour without saying
// anything about the kit; SealOpen says that nobody knows what is in it.
const (
	AllThere CheckResult = "all-there"
	ButOpen  CheckResult = "but-open" // all there but for what the queue has
	Off      CheckResult = "something-off"
	NotToday CheckResult = "not-today"
	SealOpen CheckResult = "seal-open"
)

// Answered says whether the check tells something about the kit.
func (c Check) Answered() bool { return c.Result != NotToday }

// Looks says how often lines are looked at. The numbers are the department's;
// DefaultLooks are common practice, no source.
type Looks struct {
	EveryLine int // weekly checks in which every line is looked at closely once
	BreakSeal int // weeks after which a seal is broken for a full check anyway
}

// DefaultLooks go through a kit in a month and break its seal every quarter.
func DefaultLooks() Looks { return Looks{EveryLine: 4, BreakSeal: 13} }

// Closely picks what to look at closely in a kit's next check: what is used up
// in work, what this kit was short of before, and of the rest those that were
// not looked at for longest, so many that all have had their turn after
// EveryLine checks. checks are those of the kit, oldest first; the picks come in
// the list's order.
func (l Looks) Closely(list List, checks []Check, shorted []string) []string {
	always := func(line ListLine) bool { return line.Consumable || slices.Contains(shorted, line.Item) }
	rest := slices.DeleteFunc(slices.Clone(list.Lines), always)
	seen := lastSeen(checks)
	slices.SortStableFunc(rest, func(a, b ListLine) int { return cmp.Compare(seen(a.Item), seen(b.Item)) })
	turn := rest[:min(len(rest), (len(rest)+l.EveryLine-1)/max(l.EveryLine, 1))]
	var picked []string
	for _, line := range list.Lines {
		if always(line) || slices.Contains(turn, line) {
			picked = append(picked, line.Item)
		}
	}
	return picked
}

// lastSeen gives the number of the check that looked at an item last; -1 for
// none. Counting checks rather than days keeps two of one day apart.
func lastSeen(checks []Check) func(item string) int {
	return func(item string) int {
		for i := len(checks) - 1; i >= 0; i-- {
			if c := checks[i]; c.Answered() && (c.Full || slices.Contains(c.Lines, item)) {
				return i
			}
		}
		return -1
	}
}

// SealDue says whether a kit's seal is to be broken for a full check at now: its
// last full one, or else its first check, is BreakSeal weeks ago. checks are
// those of the kit, oldest first.
func (l Looks) SealDue(checks []Check, now time.Time) bool {
	var since time.Time
	for _, c := range checks {
		if c.Answered() && (since.IsZero() || c.Full) {
			since = c.At
		}
	}
	return !since.IsZero() && !now.Before(since.AddDate(0, 0, 7*l.BreakSeal))
}

// SealStands says whether the tag on record still vouches for the kit: it does
// not after one was found broken or swapped, or broken for a full check, until a
// full check is noted together with its new tag.
func SealStands(checks []Check) bool {
	for i := len(checks) - 1; i >= 0; i-- {
		switch c := checks[i]; {
		case c.Result == SealOpen:
			return false
		case c.Full:
			return c.Seal != ""
		}
	}
	return true
}
