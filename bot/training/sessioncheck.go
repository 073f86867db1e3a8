package training

import (
	"errors"
	"fmt"
	"slices"
	"time"
)

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
	ErrBooked      = errors.New("a session just like it is booked already")
	ErrCancelled   = errors.New("that session was cancelled")
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
		if slices.ContainsFunc(sessions, func(o Session) bool { return o.Cancelled == nil && o.Details().same(s.Details) }) {
			return ErrBooked
		}
		return s.Details.check()
	}
	if at < 0 {
		return ErrNoSession
	}
	return sessions[at].check(s)
}

func (s Session) check(step SessionStep) error {
	if s.Cancelled != nil {
		return ErrCancelled
	}
	switch step.What {
	case SessionCancelled:
		return needReason(step)
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
	case step.Member == "":
		return ErrNoMember
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
	case s.Vouched == nil && len(s.There()) == 0: // later, that nobody was there may be what is confirmed
		return ErrNobody
	case s.Vouched != nil && !s.Waits():
		return ErrSame
	}
	return nil
}
