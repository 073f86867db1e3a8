package command_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"kitbell/bot"
	"kitbell/bot/command"
	"kitbell/bot/department"
)

const aSession = "session: slip an inward door; standard 5.3.4; today %s; at Station 4; hands-on"

// sessionBench is a bench a while after a session that an officer of Engine 4 has
// booked in one line.
func sessionBench(t *testing.T) (b *bench, officer bot.Speaker, booked said) {
	t.Helper()
	b = newBench(t, command.SessionCommand(), command.UndoCommand(), command.NoneCommand())
	officer = b.speaker("engine-4")
	now := b.clock.Now().In(b.desk.Department.Zone)
	b.clock.Set(time.Date(now.Year(), now.Month(), now.Day(), 16, 0, 0, 0, b.desk.Department.Zone))
	booked = b.say(officer, fmt.Sprintf(aSession, "14:00-15:30"))
	return b, officer, booked
}

// onDutyNow is a member of the platoon that is on duty, or of another one.
func (b *bench) ofPlatoon(onDuty bool) bot.Speaker {
	on := b.desk.Department.Rotation.TourAt(b.clock.Now()).Platoon
	for _, m := range b.desk.Department.Members {
		if m.Unit != "" && m.Platoon != "" && (m.Platoon == on) == onDuty && !m.May(department.Officer) {
			return bot.Speaker{ID: m.ID, Member: m.ID, Unit: m.Unit, Platoon: m.Platoon}
		}
	}
	b.t.Fatal("nobody")
	return bot.Speaker{}
}

// confirm is an officer's two taps: to see for whom, and to vouch for it.
func (b *bench) confirm(officer bot.Speaker, press string) said {
	b.t.Helper()
	shown := b.press(officer, press)
	if len(shown.buttons) == 0 {
		return shown
	}
	if !shown.posts[0].Reply.Private {
		b.t.Errorf("names before others: %q", shown.text)
	}
	return b.press(officer, shown.button(b.t, "Yes, that is right"))
}

// Hours come from a session that an officer has confirmed, for those who tapped on
// duty, and from nothing else.
func TestSessionHours(t *testing.T) {
	b, officer, booked := sessionBench(t)
	if !strings.HasPrefix(booked.text, "Session 1: slip an inward door") || !strings.Contains(booked.text, "14:00 to 15:30, Station 4, hands-on") {
		t.Fatalf("said %q", booked.text)
	}
	if loud := b.say(officer, strings.ToUpper("session: care of the kit; standard 5.3.4; today 14:00-14:30; at Station 4; hands-on")); !strings.HasPrefix(loud.text, "Session 2: CARE OF THE KIT") {
		t.Errorf("in capitals: %q", loud.text)
	}
	b.say(officer, "undo")
	there, confirm := booked.button(t, "I was there"), booked.button(t, "Confirm (officer)")
	on, off := b.ofPlatoon(true), b.ofPlatoon(false)
	if got := b.confirm(officer, confirm).text; !strings.Contains(got, "nobody is down") {
		t.Errorf("confirmed with nobody there: %q", got)
	}
	if got := b.press(on, there).text; !strings.Contains(got, "once an officer has confirmed") {
		t.Errorf("a tap: %q", got)
	}
	if got := b.press(off, there).text; !strings.Contains(got, "earns no hours") {
		t.Errorf("an off-duty tap: %q", got)
	}
	if got := b.say(on, "my hours").text; !strings.Contains(got, "You: 0.00") {
		t.Errorf("before the officer's word: %q", got)
	}
	if got := b.press(on, confirm).text; !strings.Contains(got, "officer's word") {
		t.Errorf("a member confirms: %q", got)
	}
	if got := b.confirm(officer, confirm).text; !strings.Contains(got, "confirmed by") || !strings.Contains(got, "1 member, 1.50 hours each") {
		t.Errorf("confirmed: %q", got)
	}
	for who, want := range map[bot.Speaker]string{on: "You: 1.50", off: "You: 0.00"} {
		got := b.say(who, "my hours")
		if !strings.Contains(got.text, want) || !got.posts[0].Reply.Private || strings.Contains(got.text, "Department") {
			t.Errorf("%s: %q", who.ID, got.text)
		}
	}
	if got := b.say(officer, "training hours").text; !strings.Contains(got, "Department: 1.50 hours") {
		t.Errorf("the officer: %q", got)
	}
	if got := b.say(officer, "make-up list").text; !strings.Contains(got, "1 of 141") || !strings.Contains(got, "Members still to go") {
		t.Errorf("make-up list: %q", got)
	}
	if got := b.say(on, "make-up list").text; !strings.Contains(got, "officer's word") {
		t.Errorf("a member asks for it: %q", got)
	}
	if got := b.say(on, "sessions").text; !strings.Contains(got, "slip an inward door, 1 member, confirmed") {
		t.Errorf("sessions: %q", got)
	}
}

// An officer enters who was there without a tap, and strikes who was not, with why.
func TestSessionEntries(t *testing.T) {
	b, officer, booked := sessionBench(t)
	off, on := b.ofPlatoon(false), b.ofPlatoon(true)
	name := func(s bot.Speaker) string { m, _ := b.desk.Department.Member(s.ID); return m.Name }
	if got := b.say(off, "there: "+name(off)).text; !strings.Contains(got, "officer's word") {
		t.Errorf("a member enters: %q", got)
	}
	got := b.say(officer, "there: "+name(off)+" passed, "+name(on))
	if len(got.outcome.Turn.Changes) != 2 {
		t.Fatalf("said %q", got.text)
	}
	b.confirm(officer, booked.button(t, "Confirm (officer)"))
	if got := b.say(off, "my hours").text; !strings.Contains(got, "You: 1.50") {
		t.Errorf("an off-duty member whom an officer entered: %q", got)
	}
	if got := b.say(officer, "not there: "+name(on)).text; !strings.Contains(got, "needs a reason") {
		t.Errorf("struck without a reason: %q", got)
	}
	b.say(officer, "not there: "+name(on)+" because called away")
	if got := b.say(on, "my hours").text; !strings.Contains(got, "You: 1.50") {
		t.Errorf("struck and not confirmed yet: %q", got)
	}
	b.confirm(officer, booked.button(t, "Confirm (officer)"))
	if got := b.say(on, "my hours").text; !strings.Contains(got, "You: 0.00") {
		t.Errorf("struck: %q", got)
	}
	if got := b.say(officer, "there: Nobody At All"); len(got.outcome.Turn.Changes) > 0 {
		t.Errorf("nobody: %q", got.text)
	}
}

// A correction stands beside the first entry and counts once it is confirmed; what
// was used up is booked with the session.
func TestSessionCorrected(t *testing.T) {
	b, officer, booked := sessionBench(t)
	on := b.ofPlatoon(true)
	b.press(on, booked.button(t, "I was there"))
	b.confirm(officer, booked.button(t, "Confirm (officer)"))
	correct := "correct session: slip an inward door; standard 5.3.4; today 14:00-14:30; at Station 4; hands-on"
	if got := b.say(officer, correct); len(got.outcome.Turn.Changes) > 0 {
		t.Errorf("without a reason: %q", got.text)
	}
	if got := b.say(on, correct+" because it ended early").text; !strings.Contains(got, "officer's word") {
		t.Errorf("a member corrects: %q", got)
	}
	got := b.say(officer, correct+" because it ended early")
	if !strings.HasPrefix(got.text, "Session 1 corrected") {
		t.Fatalf("said %q", got.text)
	}
	if hours := b.say(on, "my hours").text; !strings.Contains(hours, "You: 1.50") {
		t.Errorf("before the officer's word: %q", hours)
	}
	b.confirm(officer, got.button(t, "Confirm (officer)"))
	if hours := b.say(on, "my hours").text; !strings.Contains(hours, "You: 0.50") {
		t.Errorf("corrected: %q", hours)
	}
	if got := b.say(officer, "session used: 2 latch films").text; !strings.Contains(got, "2 × latch film") || !strings.Contains(got, "apart from calls") {
		t.Errorf("used up: %q", got)
	}
	if got := b.say(officer, "session used: nothing"); len(got.outcome.Turn.Changes) > 0 {
		t.Errorf("nothing used: %q", got.text)
	}
}

// A session that is not the last one is named by its number, which stays its own.
func TestSessionNumbers(t *testing.T) {
	b, officer, _ := sessionBench(t)
	on := b.ofPlatoon(true)
	m, _ := b.desk.Department.Member(on.ID)
	b.say(officer, "session: care of the kit; standard 5.3.4; today 10:00-11:00; at Station 4; hands-on")
	b.say(officer, "session: spread; standard 5.3.4; today 11:00-12:00; at Station 4; hands-on")
	b.say(officer, "undo")
	for _, row := range []struct{ said, want string }{
		{"session 1 there: " + m.Name, "Session 1, slip an inward door, there: " + m.Name},
		{"confirm session 1", "You vouch for all of this."},
		{"there: " + m.Name, "Session 2, care of the kit, there"},
		{"session 1 used: 1 latch film", "session 1, slip an inward door: 1 × latch film"},
		{"correct session 1: slip an inward door; standard 5.3.4; today 14:00-14:30; at Station 4; hands-on because it ended early", "Session 1 corrected"},
		{"session 2", "Session 2: care of the kit"},
		{"session 3", "no such session"},
		{"confirm session 99", "no such session"},
		{"session 0 there: " + m.Name, "no such session"},
		{"sessions", "session 1, slip an inward door, 1 member, waits for an officer"},
	} {
		if got := b.say(officer, row.said).text; !strings.Contains(got, row.want) {
			t.Errorf("%q: %q", row.said, got)
		}
	}
	if got := b.say(on, "confirm session 1").text; !strings.Contains(got, "officer's word") {
		t.Errorf("a member confirms: %q", got)
	}
}

// What cannot be a session is refused with the reason.
func TestSessionRefused(t *testing.T) {
	b, officer, booked := sessionBench(t)
	for _, row := range []struct{ said, want string }{
		{fmt.Sprintf(aSession, "15:30-14:00"), "ends after it starts"},
		{"session: slip an inward door; today 14:00-15:30; at Station 4", "a standard"},
		{"session: slip an inward door; standard 5.3.4; today 14:00-15:30", "a place"},
		{"session: slip an inward door; standard 5.3.4; at Station 4", "a start and an end"},
		{"session: slip an inward door; standard 5.3.4; today 25:00-26:00; at Station 4", "I do not understand"},
		{"session: slip an inward door; whatever", "I do not understand"},
	} {
		got := b.say(officer, row.said)
		if !strings.Contains(got.text, row.want) || len(got.outcome.Turn.Changes) > 0 {
			t.Errorf("%q: %q", row.said, got.text)
		}
	}
	crew := b.ofPlatoon(true)
	if got := b.say(crew, fmt.Sprintf(aSession, "14:00-15:30")); !strings.Contains(got.text, "officer's word") || len(got.outcome.Turn.Changes) > 0 {
		t.Errorf("a member books one: %q", got.text)
	}
	there := booked.button(t, "I was there")
	b.press(crew, there)
	if got := b.press(crew, there); len(got.outcome.Turn.Changes) > 0 {
		t.Errorf("twice: %q", got.text)
	}
	if got := b.press(crew, "session:there:nothing").text; !strings.Contains(got, "no such session") {
		t.Errorf("no session: %q", got)
	}
}

// A line about a session is read however it is typed; what cannot be told is asked.
func TestSessionLines(t *testing.T) {
	b, officer, _ := sessionBench(t)
	const rest = "; standard 5.3.4; at Station 4"
	for i, row := range []struct{ said, want string }{ // the bench's day is Monday 23 November 2026, 16:00
		{"session: hooks; yesterday 9am-10am" + rest, "Sun 22 Nov 2026 09:00 to 10:00, Station 4, hands-on"},
		{"session: hooks; 10:00-11:00 today" + rest, "Mon 23 Nov 2026 10:00 to 11:00"},
		{"session: hooks; friday 0900 to 1000" + rest, "Fri 20 Nov 2026 09:00 to 10:00"},
		{"session: hooks; last monday 1000-1100" + rest, "10:00 to 11:00"},
		{"session: hooks; 20 Nov; 9-10am" + rest, "Fri 20 Nov 2026 09:00 to 10:00"},
		{"session: hooks; Nov 20, 11-1pm" + rest, "Fri 20 Nov 2026 11:00 to 13:00"},
		{"session: hooks; 11/20 2-3 pm" + rest, "Fri 20 Nov 2026 14:00 to 15:00"},
		{"session: hooks; on 30 Dec 13:00-14:00" + rest, "Which day"},
		{"session: hooks; on 30 Dec 2025 13:00-14:00" + rest, "Tue 30 Dec 2025"},
		{"session: hooks; 20 Nov 0800 to 0900" + rest, "Fri 20 Nov 2026 08:00 to 09:00"},
		{"session: hooks; 17.11.2026 9-10" + rest, "Tue 17 Nov 2026 09:00"},
		{"session: hooks; tomorrow 9-10" + rest, "Tue 24 Nov 2026 09:00"},
		{"session: hooks; last week 9-10" + rest, "Which day"},
		{"session: hooks; 21 Nov 22:00 to 22 Nov 01:00" + rest, "You named two days"},
		{"session: hooks; two days ago from 13:00 until 14:00" + rest, "Sat 21 Nov 2026 13:00 to 14:00"},
		{"session: hooks; yesterday 22:00-01:00" + rest, "Sun 22 Nov 2026 22:00 to 01:00 the day after"},
		{"session: hooks, yesterday 0900-1000, standard 5.3.4, at Station 4, hands on", "Sun 22 Nov 2026 09:00"},
		{"session: 10:00-11:00; hooks; taught by Perrin Marsh; lecture" + rest, "lecture, taught by Perrin Marsh"},
		{"session: hooks; yesterday 9-10; 11-12" + rest, "I do not understand"},
		{"session: hooks; yesterday; monday 9-10" + rest, "I do not understand"},
		{"session: hooks; yesterday and monday 9-10" + rest, "You named two days"},
		{"session: hooks; 31 Feb 9-10" + rest, "Which day"},
		{"session: hooks; 13am-14am" + rest, "I do not understand"},
		{"session night drill yesterday 10pm to 11pm at Station 1", "Say it like this"},
	} {
		got := b.say(officer, strings.Replace(row.said, "hooks", "hooks "+string(rune('a'+i)), 1)) // no two alike
		if !strings.Contains(got.text, row.want) {
			t.Errorf("%q: %q, want %q", row.said, got.text, row.want)
		}
	}
}

// A correction keeps what it does not name; a session that should not be there is
// cancelled, and one whose last member is struck gives the hours back.
func TestSessionPutRight(t *testing.T) {
	b, officer, booked := sessionBench(t)
	on := b.ofPlatoon(true)
	m, _ := b.desk.Department.Member(on.ID)
	b.say(officer, "there: "+m.Name)
	b.confirm(officer, booked.button(t, "Confirm (officer)"))
	other := b.speaker("ladder-4")
	got := b.say(other, "correct session 1: 13:00-15:30, evaluation because we began early")
	if name, _ := b.desk.Department.Member(officer.ID); !strings.Contains(got.text, "Mon 23 Nov 2026 13:00 to 15:30, Station 4, evaluation, taught by "+name.Name) {
		t.Errorf("corrected: %q", got.text)
	}
	if got := b.say(officer, "correct session 1: next spring because it was then").text; !strings.Contains(got, "I do not understand") {
		t.Errorf("words that are no part: %q", got)
	}
	if got := b.say(officer, "not there, session 1: "+m.Name+" because called away").text; !strings.Contains(got, "Session 1") {
		t.Errorf("struck: %q", got)
	}
	b.confirm(officer, booked.button(t, "Confirm (officer)"))
	if got := b.say(on, "my hours").text; !strings.Contains(got, "You: 0.00") {
		t.Errorf("the last one struck: %q", got)
	}
	for _, row := range []struct {
		who        bot.Speaker
		said, want string
	}{
		{on, "cancel session 1 because it was another day", "officer's word"},
		{officer, "cancel session 1", "needs a reason"},
		{officer, "cancel session 1 because it was another day", "Session 1, slip an inward door, is cancelled: it was another day."},
		{officer, "cancel session 1 because it was another day", "was cancelled"},
		{officer, "there: " + m.Name, "was cancelled"},
		{officer, "sessions", "0 members, cancelled"},
		{officer, "session 1", "Cancelled by"},
		{officer, "make-up list", "No session is booked"},
	} {
		if got := b.say(row.who, row.said).text; !strings.Contains(got, row.want) {
			t.Errorf("%q: %q, want %q", row.said, got, row.want)
		}
	}
}

// Duty goes by the session and not by the tap, an officer's own word is no better
// than a tap, and whoever taps after the officer has looked is looked at again.
func TestSessionDuty(t *testing.T) {
	b, officer, booked := sessionBench(t)
	on, off := b.ofPlatoon(true), b.ofPlatoon(false)
	b.clock.Set(b.clock.Now().AddDate(0, 0, 2)) // the next platoon's tour
	there := booked.button(t, "I was there")
	if got := b.press(on, there).text; strings.Contains(got, "no hours") {
		t.Errorf("on duty then: %q", got)
	}
	if got := b.press(off, there).text; !strings.Contains(got, "not on duty then") {
		t.Errorf("off duty then: %q", got)
	}
	var idle bot.Speaker
	for _, m := range b.desk.Department.Members {
		if m.May(department.Officer) && m.Platoon != "" && m.Platoon != b.desk.Department.Rotation.TourAt(b.clock.Now().AddDate(0, 0, -2)).Platoon {
			idle = bot.Speaker{ID: m.ID, Member: m.ID, Unit: m.Unit, Platoon: m.Platoon}
		}
	}
	m, _ := b.desk.Department.Member(idle.ID)
	if got := b.say(idle, "there: "+m.Name).text; !strings.Contains(got, "another officer can enter you") {
		t.Errorf("an officer about themselves: %q", got)
	}
	shown := b.press(officer, booked.button(t, "Confirm (officer)"))
	if !strings.Contains(shown.text, "Tapped off duty, without hours: ") || !strings.Contains(shown.text, "Names: ") {
		t.Errorf("shown: %q", shown.text)
	}
	b.say(officer, "there: "+m.Name)
	if got := b.press(officer, shown.button(t, "Yes, that is right")).text; !strings.Contains(got, "You vouch") || !strings.Contains(got, m.Name) {
		t.Errorf("vouched for somebody who was not shown: %q", got)
	}
	if got := b.say(on, "session 1").text; strings.Contains(got, "Names") {
		t.Errorf("a member sees names: %q", got)
	}
}

// A tap that earns nothing opens no confirmed session again, a second entry keeps
// the result, and a session is booked once.
func TestSessionStands(t *testing.T) {
	b, officer, booked := sessionBench(t)
	off := b.ofPlatoon(false)
	on, _ := b.desk.Department.Member(b.ofPlatoon(true).ID)
	b.say(officer, "there: "+on.Name+" passed")
	b.confirm(officer, booked.button(t, "Confirm (officer)"))
	b.press(off, booked.button(t, "I was there"))
	b.say(officer, "session used 1 latch film")
	for _, row := range []struct{ said, want string }{
		{"sessions", "1 member, confirmed"},
		{"session 1", "1 member; confirmed"},
		{"there: " + on.Name, "that is how it stands already"},
		{"there: Nobody", "no one person called Nobody"},
		{"session 1", on.Name + " passed"},
		{"my hours 2025", "Training hours 2025"},
		{"how many hours do i have", "Training hours 2026"},
		{fmt.Sprintf(aSession, "14:00-15:30"), "booked already"},
		{"session: clocks; standard 5.3.4; at Station 4; 2026-03-08 2:10-2:50", "Clocks skip that time"},
		{"session: late; standard 5.3.4; place Station 4; yesterday 20:00-24:00", "20:00 to 00:00 the day after"},
	} {
		if got := b.say(officer, row.said).text; !strings.Contains(got, row.want) {
			t.Errorf("%q: %q, want %q", row.said, got, row.want)
		}
	}
	if err := command.Screen("session: c; standard 5.3.4; today 08:00-09:00; place Station 2", nil); err != nil {
		t.Errorf("a time before a place: %v", err)
	}
}

// What training used up is booked whole or not at all.
func TestSessionUsed(t *testing.T) {
	b, officer, _ := sessionBench(t)
	for _, row := range []struct{ said, want string }{
		{"session used: 0 films", "one piece or more"},
		{"session used no films", "one piece or more"},
		{"session used 2 films and a wedge", "I do not understand all of it"},
		{"session used 2 films and 3 wood wedges", "2 × latch film and 3 × wood wedge"},
		{"session 1", "Used up: 2 × latch film, 3 × wood wedge"},
	} {
		if got := b.say(officer, row.said).text; !strings.Contains(got, row.want) {
			t.Errorf("%q: %q, want %q", row.said, got, row.want)
		}
	}
}
