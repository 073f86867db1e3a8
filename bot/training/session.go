package training

import (
	"cmp"
	"slices"
	"time"
)

// Method is how a session was taught.
type Method string

// The methods.
const (
	Lecture       Method = "lecture"
	Demonstration Method = "demonstration"
	HandsOnMethod Method = "hands-on"
	Evaluation    Method = "evaluation" // hands-on, against the standard
)

// Methods lists them.
func Methods() []Method { return []Method{Lecture, Demonstration, HandsOnMethod, Evaluation} }

// ByHand says whether those who took part did it themselves.
func (m Method) ByHand() bool { return m == HandsOnMethod || m == Evaluation }

// Details are what a training record says of a session (FACTS C3, C4); the hours
// follow from start and end.
type Details struct {
	Start      time.Time `json:"start"`
	End        time.Time `json:"end"`
	Place      string    `json:"place"`
	Subject    string    `json:"subject"`
	Standard   string    `json:"standard"` // that the subject is measured by, with its edition
	Method     Method    `json:"method"`
	Instructor string    `json:"instructor"`       // member, or the name of a guest
	Course     string    `json:"course,omitempty"` // what all platoons are to have; the sessions of one share it
}

// Length is how long it took.
func (d Details) Length() time.Duration { return d.End.Sub(d.Start) }

// Outcome is what came of a session for one who took part. Zero was not evaluated.
type Outcome string

// The outcomes.
const (
	Passed    Outcome = "passed"
	NeedsMore Outcome = "needs more"
)

// SessionStep is one entry about a session, as the journal keeps it. Nothing is
// ever changed in an entry: a correction is one more.
type SessionStep struct {
	Key     string         `json:"key"`
	Number  int            `json:"number,omitempty"` // held: what people call it by
	What    SessionWhat    `json:"what"`
	Details Details        `json:"details,omitzero"`   // held, corrected: all of them
	Member  string         `json:"member,omitempty"`   // attended, struck
	Name    string         `json:"name,omitempty"`     // attended: the member's, which stays when they leave
	Crew    Crew           `json:"crew,omitzero"`      // attended: the member's at that time
	Outcome Outcome        `json:"outcome,omitempty"`  // attended
	OffDuty bool           `json:"off_duty,omitempty"` // attended: tapped by a member who was off duty
	Used    map[string]int `json:"used,omitempty"`     // used up: pieces, by item
	Reason  string         `json:"reason,omitempty"`   // corrected, struck
	By      string         `json:"by"`                 // member who makes the entry
	At      time.Time      `json:"at"`
}

// SessionWhat names an entry.
type SessionWhat string

// The entries about a session.
const (
	SessionHeld      SessionWhat = "held"
	SessionAttended  SessionWhat = "attended"  // a member's own tap, or an officer's entry of who was there
	SessionStruck    SessionWhat = "struck"    // a member was not there after all
	SessionUsed      SessionWhat = "used up"   // consumables, booked apart from those of calls
	SessionCorrected SessionWhat = "corrected" // the details were not so
	SessionCancelled SessionWhat = "cancelled" // it was not held, or booked by mistake
	SessionConfirmed SessionWhat = "confirmed" // an officer vouches for all that was entered until now
)

// Session is a session with everything that was ever entered about it.
type Session struct {
	Key        string
	Number     int           // what people call it by, unlike that of any other
	First      SessionStep   // as it was entered first
	Later      []SessionStep // what was entered since, oldest first
	Cancelled  *SessionStep  // nil for one that stands; a cancelled one stays to be seen and counts for nothing
	Vouched    *SessionStep  // the last confirmation; nil: none, and it counts for nothing
	vouchedFor int           // how many of Later it covers
}

// Sessions folds entries, oldest first, into the sessions that were held, in the
// order in which they were entered. What CheckSession would refuse for its place
// (a second session of one key, an entry about none) is passed over.
func Sessions(steps []SessionStep) []Session {
	var sessions []Session
	for _, step := range steps {
		at := slices.IndexFunc(sessions, func(o Session) bool { return o.Key == step.Key })
		switch {
		case step.What == SessionHeld && at < 0:
			sessions = append(sessions, Session{Key: step.Key, Number: cmp.Or(step.Number, NextSession(sessions)), First: step})
		case step.What == SessionHeld || at < 0:
		case step.What == SessionCancelled:
			sessions[at].Cancelled = &step
		case step.What == SessionConfirmed:
			s := &sessions[at]
			s.Vouched, s.vouchedFor = &step, len(s.Later)
		default:
			sessions[at].Later = append(sessions[at].Later, step)
		}
	}
	return sessions
}

// NextSession is the number of the session that is entered after these.
func NextSession(sessions []Session) int {
	last := 0
	for _, s := range sessions {
		last = max(last, s.Number)
	}
	return last + 1
}

// Waits says whether something that counts was entered and no officer has confirmed
// it: a tap that earns nothing is no such thing. Until then it counts as it was
// confirmed before.
func (s Session) Waits() bool {
	switch {
	case s.Cancelled != nil:
		return false
	case s.Vouched == nil:
		return true
	}
	return !s.details(s.vouchedFor).same(s.Details()) || !slices.EqualFunc(counting(s.attendance(s.vouchedFor)), s.There(), func(a, b SessionStep) bool {
		return a.Member == b.Member && a.Outcome == b.Outcome
	})
}

// Shares says whether one who took part has another record that covers some of the
// same time: the hours of both count once.
func (s Session) Shares(others []Record) bool {
	d := s.Details()
	return slices.ContainsFunc(others, func(r Record) bool {
		return r.Key != s.Key && r.Start.Before(d.End) && d.Start.Before(r.End) && slices.ContainsFunc(r.Attended, func(a SessionStep) bool {
			return slices.ContainsFunc(s.There(), func(b SessionStep) bool { return a.Member == b.Member })
		})
	})
}

// Details are the details with the corrections, confirmed or not.
func (s Session) Details() Details { return s.details(len(s.Later)) }

// details are those after the first entries of Later.
func (s Session) details(entries int) Details {
	d := s.First.Details
	for _, step := range s.Later[:entries] {
		if step.What == SessionCorrected {
			d = step.Details
		}
	}
	return d
}

// own says whether a member made the entry about themselves.
func (s SessionStep) own() bool { return s.By == s.Member }

// counts says whether an attendance can earn anything. A member's own tap while
// off duty earns nothing; an officer's entry does.
func (s SessionStep) counts() bool { return !s.OffDuty || !s.own() }

// counting are the entries of an attendance that count, by member.
func counting(there map[string]SessionStep) []SessionStep {
	var all []SessionStep
	for _, member := range sortedKeys(there) {
		if there[member].counts() {
			all = append(all, there[member])
		}
	}
	return all
}

// attendance is who took part after the first entries of Later, with the last word
// about each.
func (s Session) attendance(entries int) map[string]SessionStep {
	there := map[string]SessionStep{}
	for _, step := range s.Later[:entries] {
		was, known := there[step.Member]
		switch {
		case step.What == SessionAttended && !(known && step.own() && !was.own()): // an officer's entry stands
			there[step.Member] = step
		case step.What == SessionStruck:
			delete(there, step.Member)
		}
	}
	return there
}

// Tapped are the members' own taps while off duty, which earn nothing unless an
// officer enters them.
func (s Session) Tapped() []SessionStep {
	var off []SessionStep
	there := s.attendance(len(s.Later))
	for _, member := range sortedKeys(there) {
		if !there[member].counts() {
			off = append(off, there[member])
		}
	}
	return off
}

// Used is what the session used up, in pieces by item.
func (s Session) Used() map[string]int {
	used := map[string]int{}
	for _, step := range s.Later {
		for item, count := range step.Used {
			used[item] += count
		}
	}
	return used
}

// There is who took part by what was entered so far, confirmed or not, and counts.
func (s Session) There() []SessionStep { return counting(s.attendance(len(s.Later))) }

// Record is what a session counts for: as an officer confirmed it.
type Record struct {
	Details
	Key       string
	Attended  []SessionStep // who took part, with their crews and outcomes, by member
	Confirmed SessionStep
}

// Record is the session's record; false while no officer has confirmed it, or when
// it was cancelled.
func (s Session) Record() (Record, bool) {
	if s.Vouched == nil || s.Cancelled != nil {
		return Record{}, false
	}
	return Record{Details: s.details(s.vouchedFor), Key: s.Key, Attended: counting(s.attendance(s.vouchedFor)), Confirmed: *s.Vouched}, true
}

// Records are those of all sessions that an officer confirmed.
func Records(sessions []Session) []Record {
	var records []Record
	for _, s := range sessions {
		if r, ok := s.Record(); ok {
			records = append(records, r)
		}
	}
	return records
}
