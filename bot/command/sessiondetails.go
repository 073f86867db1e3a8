package command

import (
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	"kitbell/bot"
	"kitbell/bot/training"
)

const clockSaid = `(\d{1,2}(?::?\d{2})?) ?([ap]m?)?`

var (
	sessionTimes = regexp.MustCompile(`(?i)(?:\bfrom )?\b` + clockSaid + `\s*(?:-|–|to|until|till)\s*` + clockSaid + `\b`)
	sessionPart  = regexp.MustCompile(`(?i)^(standard|place|at|in|instructor|taught by|by|method|course|subject|about)\b[ :]*(.+)$`)
)

// sessionSays are the details that a line gives, beside those that stand already:
// what it does not name stays as it was.
type sessionSays struct {
	details  training.Details
	day      time.Time // local midnight; zero while no day is known
	from, to time.Duration
	timed    bool
	dated    bool
	subject  bool // it is named
}

// sessionDetails reads the parts of a line about a session, in any order: what no
// other part is, is the subject.
func (r *Request) sessionDetails(said string, base training.Details) (training.Details, error) {
	s := sessionSays{details: base}
	if !base.Start.IsZero() {
		start := base.Start.In(r.Department.Zone)
		s.day = time.Date(start.Year(), start.Month(), start.Day(), 0, 0, 0, 0, start.Location())
	}
	sign := ";"
	if !strings.Contains(said, sign) {
		sign = ","
	}
	for part := range strings.SplitSeq(said, sign) {
		if part = strings.Trim(part, " .\n"); part == "" {
			continue
		}
		if err := r.sessionPart(&s, part); err != nil {
			return base, err
		}
	}
	if s.timed {
		if s.day.IsZero() {
			s.day, _ = dayOf("today", r.Now.In(r.Department.Zone))
		}
		s.details.Start, s.details.End = atClock(s.day, s.from), atClock(s.day, s.to)
		if endsNextDay(s.from, s.to) {
			s.details.End = atClock(s.day.AddDate(0, 0, 1), s.to)
		}
		if skipped := notThatDay(s.details.Start, s.from); skipped || notThatDay(s.details.End, s.to) {
			return base, bot.SayNoSuchTime.With()
		}
	} else if !base.Start.IsZero() && !s.day.IsZero() { // another day, the same times
		start := base.Start.In(r.Department.Zone)
		moved := time.Date(s.day.Year(), s.day.Month(), s.day.Day(), start.Hour(), start.Minute(), 0, 0, start.Location())
		s.details.Start, s.details.End = moved, moved.Add(base.Length())
	}
	if s.details.Course == "" || base.Course == strings.ToLower(base.Subject) {
		s.details.Course = strings.ToLower(s.details.Subject)
	}
	return s.details, nil
}

// atClock is a time of a day, whatever the clocks do in it.
func atClock(day time.Time, clock time.Duration) time.Time {
	return time.Date(day.Year(), day.Month(), day.Day(), int(clock.Hours()), int(clock.Minutes())%60, 0, 0, day.Location())
}

// notThatDay says whether clocks skip a time of a day when they go forward.
func notThatDay(at time.Time, clock time.Duration) bool {
	return at.Hour() != int(clock.Hours())%24 || at.Minute() != int(clock.Minutes())%60
}

// endsNextDay says whether a session begins in the evening and ends in the early
// hours. Any other that ends before it starts is a slip.
func endsNextDay(from, to time.Duration) bool {
	return to <= from && from >= 18*time.Hour && to <= 8*time.Hour
}

func (r *Request) sessionPart(s *sessionSays, part string) error {
	method := training.Method(strings.ReplaceAll(strings.ToLower(part), " ", "-"))
	named := sessionPart.FindStringSubmatch(part)
	switch {
	case slices.Contains(training.Methods(), method):
		s.details.Method = method
		return nil
	case named != nil && !timesOnly(part):
		return r.namedPart(s, strings.ToLower(named[1]), named[2])
	}
	day, rest, hasDay, err := r.pastDay(part)
	if err != nil {
		return err
	}
	times := sessionTimes.FindAllStringSubmatch(rest, -1)
	switch {
	case hasDay || len(times) > 0:
		if strings.Trim(sessionTimes.ReplaceAllString(rest, ""), " ,.") != "" || len(times) > 1 || len(times) == 1 && s.timed {
			return bot.SaySessionPart.With(part)
		}
		return s.takeTimes(day, hasDay, times, part)
	case !s.subject && (s.details.Subject == "" || strings.EqualFold(s.details.Subject, part)): // another subject is named as one
		s.details.Subject, s.subject = part, true
		return nil
	}
	return bot.SaySessionPart.With(part)
}

// timesOnly tells "at 10:00-11:00" from "at Station 4".
func timesOnly(part string) bool {
	return sessionTimes.MatchString(part) && !strings.Contains(strings.ToLower(part), "standard")
}

func (s *sessionSays) takeTimes(day time.Time, hasDay bool, times [][]string, part string) error {
	if hasDay && s.dated && !day.Equal(s.day) {
		return bot.SaySessionPart.With(part)
	}
	if hasDay {
		s.day, s.dated = day, true
	}
	if len(times) == 0 {
		return nil
	}
	t := times[0]
	from, to, ok := clockSpan(t[1], t[2], t[3], t[4])
	if !ok {
		return bot.SaySessionPart.With(part)
	}
	s.from, s.to, s.timed = from, to, true
	return nil
}

// clockSpan reads two times of day: 14:00, 1400, 2pm, and 2-3pm, where one half
// stands for both.
func clockSpan(from, fromHalf, to, toHalf string) (start, end time.Duration, ok bool) {
	if fromHalf == "" && toHalf != "" {
		if start, ok = clockTime(from, toHalf); ok {
			if end, ok = clockTime(to, toHalf); ok && start < end {
				return start, end, true
			}
		}
		if strings.HasPrefix(strings.ToLower(toHalf), "p") { // 11-1pm
			fromHalf = "am"
		}
	}
	start, fromOK := clockTime(from, fromHalf)
	end, toOK := clockTime(to, toHalf)
	return start, end, fromOK && toOK
}

func clockTime(said, half string) (time.Duration, bool) {
	digits := strings.Replace(said, ":", "", 1)
	if len(digits) <= 2 {
		digits += "00"
	}
	n, err := strconv.Atoi(digits)
	hours, minutes := n/100, n%100
	switch {
	case err != nil || minutes > 59 || hours > 24 || hours == 24 && minutes > 0:
		return 0, false
	case half != "" && (hours < 1 || hours > 12):
		return 0, false
	case strings.HasPrefix(strings.ToLower(half), "p") && hours < 12:
		hours += 12
	case strings.HasPrefix(strings.ToLower(half), "a") && hours == 12:
		hours = 0
	}
	return time.Duration(hours)*time.Hour + time.Duration(minutes)*time.Minute, true
}

func (r *Request) namedPart(s *sessionSays, name, value string) error {
	d := &s.details
	switch name {
	case "standard":
		d.Standard = value
	case "place", "at", "in":
		d.Place = value
	case "subject", "about":
		d.Subject, s.subject = value, true
	case "course":
		d.Course = strings.ToLower(value)
	case "method":
		d.Method = training.Method(strings.ReplaceAll(strings.ToLower(value), " ", "-"))
	default:
		d.Instructor = value
		if m, err := r.memberByName(value); err == nil {
			d.Instructor = m.ID
		}
	}
	return nil
}

// timesOf are a session's day and times in words.
func (r *Request) timesOf(d training.Details) string {
	start, end := d.Start.In(r.Department.Zone), d.End.In(r.Department.Zone)
	words := fmt.Sprintf("%s to %s", start.Format("Mon 2 Jan 2006 15:04"), end.Format("15:04"))
	if start.YearDay() != end.YearDay() {
		words += " the day after"
	}
	return words
}
