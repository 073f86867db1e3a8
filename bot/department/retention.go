package department

import (
	"time"
)

// Kept is a kind of what is stored that need not stay for ever.
type Kept string

// The kinds that retention may remove. Counts and dates stay with most of them: only
// words and pictures go.
const (
	KeptEvents       Kept = "events"        // that a message came, and the words of one that failed
	KeptPosts        Kept = "posts"         // words of the bot's own messages; that they went out stays
	KeptLineNotes    Kept = "line-notes"    // words beside closed queue lines
	KeptEntryNotes   Kept = "entry-notes"   // words beside records of use, checks and the like
	KeptPhotos       Kept = "photos"        // pictures of closed queue lines
	KeptAuditTexts   Kept = "audit-texts"   // before and after, beside the audit's rows
	KeptQuestions    Kept = "questions"     // that no card answered
	KeptNotes        Kept = "notes"         // passed on to a desk
	KeptDrillAnswers Kept = "drill-answers" // members' own taps under drills
	KeptRiding       Kept = "riding"        // who rode where
	KeptSightings    Kept = "sightings"     // of a post that somebody marked as seen
	KeptWithdrawn    Kept = "withdrawn"     // entries that somebody took back
)

// leastDays is the shortest time for a kind: what the program itself looks back to.
var leastDays = []struct {
	kind Kept
	days int
}{
	{KeptEvents, 7}, {KeptPosts, 7}, {KeptLineNotes, 30}, {KeptEntryNotes, 30}, {KeptPhotos, 30}, {KeptAuditTexts, 90}, {KeptQuestions, 90},
	{KeptNotes, 30}, {KeptDrillAnswers, 730}, {KeptRiding, 7}, {KeptSightings, 30}, {KeptWithdrawn, 30},
}

// KeptKinds lists the kinds that retention may remove.
func KeptKinds() []Kept {
	kinds := make([]Kept, len(leastDays))
	for i, l := range leastDays {
		kinds[i] = l.kind
	}
	return kinds
}

// alwaysKept are things that somebody may want to remove by a setting, with why they
// stay.
var alwaysKept = []struct{ name, why string }{
	{"uses", "they are the evidence of the yearly request"},
	{"checks", "they are the evidence of the yearly request"},
	{"lines", "they are the evidence of the yearly request; line-notes removes their words"},
	{"wishes", "they are the evidence of the yearly request"},
	{"requests", "they were handed in"},
	{"sessions", "confirmed hours are counted from them"},
	{"task-book", "they are signed training records"},
	{"audit", "it is the proof of all the rest; audit-texts removes its words"},
}

// Retention is how long a department keeps what need not stay.
type Retention struct {
	Days map[Kept]int // kinds that are not in it stay
	Hold Hold
}

// Hold is a time in which nothing is removed, as when a court or an auditor asks for
// records. The zero Hold is none.
type Hold struct {
	Until  time.Time // the first moment after it
	Reason string
	By     string // member who set it
}

// Holds says whether the hold lasts at a moment.
func (h Hold) Holds(at time.Time) bool { return at.Before(h.Until) }

// retention reads how long what need not stay is kept.
func (w *walk) retention(o object) {
	v, ok := o.may("retention")
	if !ok {
		return
	}
	known := []string{"hold"}
	for _, l := range leastDays {
		known = append(known, string(l.kind))
	}
	for _, a := range alwaysKept {
		known = append(known, a.name)
	}
	g, ok := v.object(known...)
	if !ok {
		return
	}
	w.dept.Retention.Days = map[Kept]int{}
	for _, l := range leastDays {
		if v, ok := g.may(string(l.kind)); ok {
			if days, ok := v.whole(l.days, 36500); ok {
				w.dept.Retention.Days[l.kind] = days
			}
		}
	}
	for _, a := range alwaysKept {
		if v, ok := g.may(a.name); ok {
			v.bad("%s always stay: %s", a.name, a.why)
		}
	}
	if v, ok := g.may("hold"); ok {
		w.hold(v)
	}
}

// hold reads a time in which nothing is removed. Its last day is the department's.
func (w *walk) hold(v value) {
	g, ok := v.object("until", "reason", "by")
	if !ok {
		return
	}
	h := &w.dept.Retention.Hold
	h.Reason, _, _ = g.needText("reason")
	if by, ok := g.need("by"); ok {
		h.By, _ = w.refer("member", by)
	}
	if until, ok := g.need("until"); ok && w.dept.Zone != nil {
		if day := until.date(); !day.IsZero() {
			h.Until = time.Date(day.Year(), day.Month(), day.Day()+1, 0, 0, 0, 0, w.dept.Zone)
		}
	}
}
