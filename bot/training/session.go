package training

import (
	"errors"
	"fmt"
	"math"
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
	What    SessionWhat    `json:"what"`
	Details Details        `json:"details,omitzero"`   // held, corrected: all of them
	Member  string         `json:"member,omitempty"`   // attended, struck
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
	SessionConfirmed SessionWhat = "confirmed" // an officer vouches for all that was entered until now
)

// Session is a session with everything that was ever entered about it.
type Session struct {
	Key        string
	First      SessionStep   // as it was entered first
	Later      []SessionStep // what was entered since, oldest first
	Vouched    *SessionStep  // the last confirmation; nil: none, and it counts for nothing
	vouchedFor int           // how many of Later it covers
}

// longestSession is an assumption: whatever is longer was mistyped.
const longestSession = 24 * time.Hour

// What keeps an entry about a session from being made.
var (
	ErrNoSession   = errors.New("there is no such session")
	ErrNoTimes     = errors.New("a session has a start and an end")
	ErrEndsFirst   = errors.New("a session ends after it starts")
	ErrTooLong     = errors.New("a session of more than 24 hours is several")
	ErrMissing     = errors.New("a training record needs")
	ErrMethod      = errors.New("a session is a lecture, a demonstration, hands-on or an evaluation")
	ErrOutcome     = errors.New("the result is passed, needs more, or left out")
	ErrOwnResult   = errors.New("nobody gives a result to themselves: who taught or evaluated does")
	ErrNotBegun    = errors.New("nobody has taken part before it starts")
	ErrNotOver     = errors.New("a session is confirmed when it is over")
	ErrNobody      = errors.New("nobody is down as having taken part")
	ErrNotThere    = errors.New("that member is not down as having taken part")
	ErrSame        = errors.New("that is how it stands already")
	ErrNothingUsed = errors.New("what was used up is one piece or more")
)

// check refuses details that leave a field of a record empty or cannot be so.
func (d Details) check() error {
	for _, field := range []struct{ name, value string }{
		{"a place", d.Place}, {"a subject", d.Subject}, {"a standard for its subject", d.Standard}, {"an instructor", d.Instructor},
	} {
		if field.value == "" {
			return fmt.Errorf("%w %s", ErrMissing, field.name)
		}
	}
	switch {
	case d.Start.IsZero() || d.End.IsZero():
		return ErrNoTimes
	case !d.End.After(d.Start):
		return ErrEndsFirst
	case d.Length() > longestSession:
		return ErrTooLong
	case !slices.Contains(Methods(), d.Method):
		return ErrMethod
	}
	return nil
}

// CheckSession says whether an entry may be made beside those that there are. Who
// is an officer is for the caller to know.
func CheckSession(sessions []Session, s SessionStep) error {
	at := slices.IndexFunc(sessions, func(o Session) bool { return o.Key == s.Key })
	if s.What == SessionHeld {
		if s.Key == "" || at >= 0 {
			return ErrKey
		}
		return s.Details.check()
	}
	if at < 0 {
		return ErrNoSession
	}
	return sessions[at].check(s)
}

func (s Session) check(step SessionStep) error {
	switch step.What {
	case SessionAttended:
		return s.checkAttended(step)
	case SessionStruck:
		if _, there := s.attendance(len(s.Later))[step.Member]; !there {
			return ErrNotThere
		}
		return needReason(step)
	case SessionUsed:
		return checkUsed(step.Used)
	case SessionCorrected:
		if step.Details.same(s.Details()) {
			return ErrSame
		}
		if err := needReason(step); err != nil {
			return err
		}
		return step.Details.check()
	case SessionConfirmed:
		return s.checkConfirmed(step)
	}
	return ErrNoStep
}

func needReason(step SessionStep) error {
	if step.Reason == "" {
		return ErrNoReason
	}
	return nil
}

func (d Details) same(other Details) bool {
	if !d.Start.Equal(other.Start) || !d.End.Equal(other.End) {
		return false
	}
	d.Start, d.End = other.Start, other.End
	return d == other
}

func (s Session) checkAttended(step SessionStep) error {
	was, there := s.attendance(len(s.Later))[step.Member]
	switch {
	case step.Member == "" || step.Crew.Unit == "" || step.Crew.Platoon == "":
		return ErrNoCrew
	case step.Outcome != "" && step.Outcome != Passed && step.Outcome != NeedsMore:
		return ErrOutcome
	case step.own() && step.Outcome != "":
		return ErrOwnResult
	case step.At.Before(s.Details().Start):
		return ErrNotBegun
	case there && (step.own() && !was.own() || was.Outcome == step.Outcome && was.counts() == step.counts()):
		return ErrSame
	}
	return nil
}

func checkUsed(used map[string]int) error {
	if len(used) == 0 {
		return ErrNothingUsed
	}
	for _, count := range used {
		if count < 1 {
			return ErrNothingUsed
		}
	}
	return nil
}

func (s Session) checkConfirmed(step SessionStep) error {
	switch {
	case step.By == "":
		return ErrNoOfficer
	case step.At.Before(s.Details().End):
		return ErrNotOver
	case len(counting(s.attendance(len(s.Later)))) == 0:
		return ErrNobody
	case s.Vouched != nil && !s.Waits():
		return ErrSame
	}
	return nil
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
			sessions = append(sessions, Session{Key: step.Key, First: step})
		case step.What == SessionHeld || at < 0:
		case step.What == SessionConfirmed:
			s := &sessions[at]
			s.Vouched, s.vouchedFor = &step, len(s.Later)
		default:
			sessions[at].Later = append(sessions[at].Later, step)
		}
	}
	return sessions
}

// Waits says whether something was entered that no officer has confirmed. Until
// then it counts as it was confirmed before.
func (s Session) Waits() bool { return s.Vouched == nil || s.vouchedFor < len(s.Later) }

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
		switch step.What {
		case SessionAttended:
			there[step.Member] = step
		case SessionStruck:
			delete(there, step.Member)
		}
	}
	return there
}

// Record is what a session counts for: as an officer confirmed it.
type Record struct {
	Details
	Key       string
	Attended  []SessionStep // who took part, with their crews and outcomes, by member
	Confirmed SessionStep
}

// Record is the session's record; false while no officer has confirmed it.
func (s Session) Record() (Record, bool) {
	if s.Vouched == nil {
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

// MakeUp is how far a course has come over all platoons: done is who is on a
// confirmed record of it and does not need more, to go is the make-up list.
func MakeUp(sessions []Session, course string, roster []Person) Coverage {
	done, said := map[string]bool{}, map[string]bool{}
	for _, s := range sessions {
		record, _ := s.Record()
		vouched := map[string]bool{}
		for _, a := range record.Attended {
			vouched[a.Member] = true
			done[a.Member] = done[a.Member] || record.Course == course && a.Outcome != NeedsMore
		}
		for _, a := range counting(s.attendance(len(s.Later))) {
			said[a.Member] = said[a.Member] || s.Details().Course == course && !vouched[a.Member]
		}
	}
	return cover(roster, func(m string) bool { return done[m] }, func(m string) bool { return said[m] })
}

// UsedUp adds up what sessions used of each item from one instant up to another:
// losses of practice, which say nothing about calls.
func UsedUp(sessions []Session, from, to time.Time) map[string]int {
	used := map[string]int{}
	for _, s := range sessions {
		if start := s.Details().Start; start.Before(from) || !start.Before(to) {
			continue
		}
		for _, step := range s.Later {
			for item, count := range step.Used {
				used[item] += count
			}
		}
	}
	return used
}

// hours rounds to hundredths, for people to read.
func hours(d time.Duration) float64 { return math.Round(d.Hours()*100) / 100 }
