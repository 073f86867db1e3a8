package command_test

import (
	"slices"
	"strings"
	"testing"
	"time"

	"kitbell/bot/command"
	"kitbell/bot/deliver"
	"kitbell/bot/store"
	"kitbell/schedule"
)

// ready gives what waits in the outbox, by key. Nothing is sent.
func ready(t *testing.T, db *store.DB, now time.Time) []deliver.Item {
	t.Helper()
	items, _, err := db.Ready(t.Context(), now, 100)
	if err != nil {
		t.Fatal(err)
	}
	return items
}

// send takes everything out of the outbox, in order.
func send(t *testing.T, db *store.DB, now time.Time) (sent []deliver.Item) {
	t.Helper()
	for {
		items := ready(t, db, now)
		if len(items) == 0 {
			return sent
		}
		for _, item := range items {
			if err := db.MarkSending(t.Context(), item.ID); err != nil {
				t.Fatal(err)
			}
			if err := db.Settle(t.Context(), item.ID, deliver.Outcome{State: deliver.Sent}); err != nil {
				t.Fatal(err)
			}
			sent = append(sent, item)
		}
	}
}

// days steps the bundler through a span at each moment that it asks for, and
// gives what was sent at each.
func (b *bench) days(n int) map[time.Time][]deliver.Item {
	b.t.Helper()
	posts := make(map[time.Time][]deliver.Item)
	until := b.clock.Now().AddDate(0, 0, n)
	for {
		next, err := b.bundler.Step(b.t.Context(), b.clock.Now())
		if err != nil {
			b.t.Fatal(err)
		}
		if sent := send(b.t, b.db, b.clock.Now()); len(sent) > 0 {
			posts[b.clock.Now()] = append(posts[b.clock.Now()], sent...)
		}
		if next.IsZero() || next.After(until) {
			b.clock.Set(until)
			return posts
		}
		if !next.After(b.clock.Now()) {
			b.t.Fatalf("asked to come again at %s, and it is %s", next, b.clock.Now())
		}
		b.clock.Set(next)
	}
}

// Over four weeks: every post in morning hours and outside quiet hours, to the
// station of the rig, naming the platoon on duty, and at most one a crew and tour.
func TestBundlesAreSeldomAndAtTheRightTime(t *testing.T) {
	b := newBench(t)
	d := b.desk.Department
	posts := b.days(28)
	seen := make(map[string]bool)
	units := make(map[string]int)
	for at, items := range posts {
		if !d.Hours.Morning.Holds(at, d.Zone) || d.Hours.Quiet.Holds(at, d.Zone) {
			t.Errorf("posted at %s", at.In(d.Zone))
		}
		for _, item := range items {
			title := item.Message.Reply.Title
			if seen[item.Message.Key] {
				t.Errorf("posted twice: %s", item.Message.Key)
			}
			seen[item.Message.Key] = true
			unit, _, ok := strings.Cut(title, ", ")
			if !ok {
				continue // the digest is for no crew
			}
			units[unit]++
			if want := d.Rotation.PlatoonAt(at) + " platoon"; !strings.Contains(title, want) {
				t.Errorf("%q at %s, and %s is on", title, at.In(d.Zone), want)
			}
			u, ok := d.Unit(strings.ToLower(strings.ReplaceAll(unit, " ", "-")))
			if !ok || item.Message.To.Channel != u.Station {
				t.Errorf("%q went to %s", title, item.Message.To.Channel)
			}
		}
	}
	for _, u := range d.KitUnits() {
		if n := units[u.Name]; n < 4 || n > 14 {
			t.Errorf("%s got %d posts in four weeks; a weekly check is 4, and there are 14 tours", u.Name, n)
		}
	}
}

// What fell due while the program was down is posted once, in the next morning
// hours, and says that it is late.
func TestBundlesAfterDowntime(t *testing.T) {
	b := newBench(t)
	b.days(1)
	down := time.Date(2026, 12, 22, 3, 0, 0, 0, b.desk.Department.Zone) // four weeks later, at night
	b.clock.Set(down)
	next, err := b.bundler.Step(t.Context(), down)
	if err != nil {
		t.Fatal(err)
	}
	if got := ready(t, b.db, down); len(got) > 0 {
		t.Errorf("posted %d things in the night", len(got))
	}
	if local := next.In(b.desk.Department.Zone); local.Hour() != 8 || local.Day() != 22 {
		t.Errorf("comes again at %s, want that morning at 8", local)
	}
	b.clock.Set(next)
	if _, err := b.bundler.Step(t.Context(), next); err != nil {
		t.Fatal(err)
	}
	sent := send(t, b.db, next)
	checks := 0
	for _, item := range sent {
		text := item.Message.Reply.Plain()
		if strings.Contains(text, "Engine 4") {
			checks += strings.Count(text, "Check the kit")
			if !strings.Contains(text, "posted late") {
				t.Errorf("does not say that it is late:\n%s", text)
			}
		}
	}
	if checks != 1 {
		t.Errorf("Engine 4 was asked for %d checks after four missed weeks, want 1", checks)
	}
	if again := b.days(0); len(again) > 0 {
		t.Error("posted again in the same tour")
	}
}

// A step that is made twice, as after a crash, posts nothing twice.
func TestBundleStepIsRepeatable(t *testing.T) {
	b := newBench(t)
	at := b.clock.Now().Add(time.Hour)
	for range 2 {
		if _, err := b.bundler.Step(t.Context(), b.clock.Now()); err != nil {
			t.Fatal(err)
		}
	}
	b.clock.Set(at)
	for range 3 {
		if _, err := b.bundler.Step(t.Context(), at); err != nil {
			t.Fatal(err)
		}
	}
	keys := make(map[string]int)
	for _, item := range send(t, b.db, at) {
		keys[item.Message.Key]++
	}
	if len(keys) == 0 {
		t.Fatal("nothing was posted")
	}
	for key, n := range keys {
		if n > 1 {
			t.Errorf("%s is there %d times", key, n)
		}
	}
}

// A clock that is set back a day posts nothing again.
func TestBundlesWhenTheClockIsSetBack(t *testing.T) {
	b := newBench(t)
	first := b.days(8)
	b.clock.Set(b.clock.Now().AddDate(0, 0, -1))
	for at, items := range b.days(1) {
		for _, item := range items {
			for _, before := range first {
				for _, old := range before {
					if old.Message.Key == item.Message.Key {
						t.Errorf("%s was posted again at %s", item.Message.Key, at)
					}
				}
			}
		}
	}
}

// A door whose rest nobody told is in the rig's next bundle with a button that
// goes on with it, and no longer once it is told.
func TestBundleRemindsOfADoor(t *testing.T) {
	b := newBench(t, command.DoorCommand(), command.UsedCommand(), command.NoneCommand())
	me := b.speaker("engine-4")
	b.press(me, b.say(me, "push door, latch, knob, welfare check").button(t, "Opened"))
	reminded := func() (button string) {
		for _, items := range b.days(14) {
			for _, item := range items {
				for _, one := range item.Message.Reply.Buttons {
					if strings.HasPrefix(one.Label, "Tell of ") && strings.Contains(item.Message.Reply.Title, "Engine 4") {
						button = one.Value
					}
				}
			}
		}
		return button
	}
	button := reminded()
	if button == "" {
		t.Fatal("no bundle reminds of the door")
	}
	b.clock.Set(b.clock.Now().AddDate(0, 0, -13)) // the same day, for the one who tells
	for asked := b.press(me, button); len(asked.buttons) > 1; {
		asked = b.press(me, asked.buttons[0].Value)
	}
	b.clock.Set(b.clock.Now().AddDate(0, 0, 13))
	if button := reminded(); button != "" {
		t.Error("reminds of a door that was told")
	}
}

// FACTS F1: 26 November 2026 is Thanksgiving Day. What falls due on a holiday is
// moved, not lost.
func TestHolidaysMoveThePost(t *testing.T) {
	b := newBench(t)
	b.onlyCheck("engine-4")
	d := *b.desk.Department
	entry := d.Entries[0]
	cron, err := schedule.Parse("0 9 * * THU")
	if err != nil {
		t.Fatal(err)
	}
	entry.Cron = cron
	d.Entries = []schedule.Entry{entry}
	if d.Holidays, err = schedule.NewHolidays(schedule.USFederal, false); err != nil {
		t.Fatal(err)
	}
	b.desk.Department = &d
	var first time.Time
	for at, items := range b.days(6) {
		checks := slices.ContainsFunc(items, func(i deliver.Item) bool { return strings.Contains(i.Message.Reply.Plain(), "Check the kit") })
		if checks && (first.IsZero() || at.Before(first)) {
			first = at
		}
	}
	if got := first.In(d.Zone).Format("Mon 2 Jan 15:04"); got != "Fri 27 Nov 08:00" {
		t.Errorf("posted %s", got)
	}
}
