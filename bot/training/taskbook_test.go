package training_test

import (
	"errors"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"kitbell/bot/door"
	"kitbell/bot/training"
)

var book = training.TaskBook{
	Skills:    []training.Skill{{ID: "slip", Title: "Slip an inward latch"}, {ID: "care", Title: "Care of the kit", NoDoor: true}},
	Qualified: func(member, skill string) bool { return member == "rowan-teague" || member == "m2" && skill == "care" },
	Serves:    func(member string) bool { return member != "nobody" },
}

func signed(key string) training.BookStep {
	return training.BookStep{
		Key: key, What: training.Signed, Skill: "slip", Member: "m1", Shown: now.Add(-time.Hour), Tries: 2,
		Door: training.DoorKind{Swing: door.SwingIn, Lock: door.LockSpringLatch}, By: "rowan-teague", At: now,
	}
}

func withdrawn(key string) training.BookStep {
	return training.BookStep{Key: key, What: training.SignOffGone, Reason: "it was another door", By: "rowan-teague", At: now.Add(day)}
}

func TestTaskBookCheck(t *testing.T) {
	gone := training.SignOffs([]training.BookStep{signed("s1"), signed("s2"), withdrawn("s2")})
	for _, row := range []struct {
		name  string
		step  training.BookStep
		spoil func(s *training.BookStep)
		want  error
	}{
		{"as it should be", signed("s3"), nil, nil},
		{"for himself", signed("s3"), func(s *training.BookStep) { s.Member = "rowan-teague" }, training.ErrOwnSkill},
		{"by one who is not qualified", signed("s3"), func(s *training.BookStep) { s.By = "m3" }, training.ErrNotQualified},
		{"by one who is qualified for another skill", signed("s3"), func(s *training.BookStep) { s.By = "m2" }, training.ErrNotQualified},
		{"by nobody", signed("s3"), func(s *training.BookStep) { s.By = "" }, training.ErrNotQualified},
		{"a skill that is none", signed("s3"), func(s *training.BookStep) { s.Skill = "juggle" }, training.ErrNoSkill},
		{"no such member", signed("s3"), func(s *training.BookStep) { s.Member = "nobody" }, training.ErrNoMember},
		{"without a date", signed("s3"), func(s *training.BookStep) { s.Shown = time.Time{} }, training.ErrNotShown},
		{"before it was shown", signed("s3"), func(s *training.BookStep) { s.Shown = now.Add(time.Minute) }, training.ErrNotShown},
		{"without a door", signed("s3"), func(s *training.BookStep) { s.Door = training.DoorKind{} }, training.ErrDoorKind},
		{"a lock that is none", signed("s3"), func(s *training.BookStep) { s.Door.Lock = "string" }, training.ErrDoorKind},
		{"a skill without a door", signed("s3"), func(s *training.BookStep) { s.Skill, s.Door = "care", training.DoorKind{} }, nil},
		{"without tries", signed("s3"), func(s *training.BookStep) { s.Tries = 0 }, training.ErrTries},
		{"a key that is taken", signed("s1"), nil, training.ErrKey},
		{"no key", signed(""), nil, training.ErrKey},
		{"withdrawn with a reason", withdrawn("s1"), nil, nil},
		{"withdrawn without one", withdrawn("s1"), func(s *training.BookStep) { s.Reason = "" }, training.ErrNoReason},
		{"withdrawn twice", withdrawn("s2"), nil, training.ErrWithdrawn},
		{"withdrawn, and never signed", withdrawn("s9"), nil, training.ErrNoSignOff},
		{"no step", signed("s3"), func(s *training.BookStep) { s.What = "praised" }, training.ErrNoStep},
	} {
		if row.spoil != nil {
			row.spoil(&row.step)
		}
		if err := book.Check(gone, row.step); !errors.Is(err, row.want) {
			t.Errorf("%s: %v, want %v", row.name, err, row.want)
		}
	}
}

// A withdrawal takes nothing away but the worth: entry, reason and name stay.
func TestTaskBookPage(t *testing.T) {
	all := training.SignOffs([]training.BookStep{signed("s1"), withdrawn("s1"), withdrawn("s1")})
	page := book.Page(all, "m1")
	if diff := cmp.Diff(book.Skills, page.Open()); diff != "" {
		t.Errorf("open: %s", diff)
	}
	entries := page.Lines[0].Entries
	if len(entries) != 1 || entries[0].By != "rowan-teague" || entries[0].Withdrawn == nil || entries[0].Withdrawn.Reason != "it was another door" {
		t.Errorf("%+v", entries)
	}
	again := book.Page(append(all, training.SignOffs([]training.BookStep{signed("s2")})...), "m1")
	if diff := cmp.Diff(book.Skills[1:], again.Open()); diff != "" || len(again.Lines[0].Entries) != 2 {
		t.Errorf("signed again: %s %+v", diff, again.Lines[0])
	}
	if other := book.Page(all, "m2"); len(other.Lines[0].Entries) != 0 {
		t.Errorf("another member's entries: %+v", other)
	}
}
