package training

import "time"

// MakeUp is how far a course has come over all platoons: done is who is on a
// confirmed record of it and does not need more, to go is the make-up list.
func MakeUp(sessions []Session, course string, roster []Person) Coverage {
	done, said := map[string]bool{}, map[string]bool{}
	for _, s := range sessions {
		if s.Cancelled != nil {
			continue
		}
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
		if start := s.Details().Start; start.Before(from) || !start.Before(to) || s.Cancelled != nil {
			continue
		}
		for item, count := range s.Used() {
			used[item] += count
		}
	}
	return used
}
