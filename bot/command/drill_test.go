package command_test

import (
	"strings"
	"testing"
	"time"

	"kitbell/bot"
	"kitbell/bot/command"
	"kitbell/bot/department"
)

// given is the key of the drill that a reply shows, out of its buttons.
func (s said) given(t *testing.T) string {
	t.Helper()
	for _, b := range s.buttons {
		if parts := strings.Split(b.Value, ":"); parts[0] == "drill" && len(parts) > 2 {
			return parts[2]
		}
	}
	t.Fatalf("no drill in %q", s.text)
	return ""
}

// A crew is not given one topic twice in a tour, nor a second quiz; the next tour
// has another.
func TestDrillsOfATour(t *testing.T) {
	b := newBench(t, command.DrillCommand())
	me := b.speaker("engine-4")
	seen := make(map[string]bool)
	for range 3 {
		title := strings.SplitN(b.say(me, "give us a drill").text, "\n", 2)[0]
		if seen[title] || !strings.HasPrefix(title, "Drill: ") {
			t.Errorf("%q again, or no hands-on drill", title)
		}
		seen[title] = true
	}
	if first := b.say(me, "quiz us").text; !strings.HasPrefix(first, "Decide") && !strings.HasPrefix(first, "Recall") {
		t.Errorf("a quiz: %q", first)
	}
	if second := b.say(me, "quiz us").text; !strings.Contains(second, "has had its quiz for this tour") {
		t.Errorf("a second quiz: %q", second)
	}
	b.clock.Set(b.clock.Now().AddDate(0, 0, 3))
	if next := b.say(me, "quiz us").text; strings.Contains(next, "its quiz") {
		t.Errorf("next tour: %q", next)
	}
}

// The word alone is enough, and who gets none hears which of the reasons it is.
func TestQuiz(t *testing.T) {
	b := newBench(t, command.DrillCommand(), command.NoneCommand())
	me := b.speaker("engine-4")
	if got := b.say(me, "quiz").text; !strings.HasPrefix(got, "Decide") && !strings.HasPrefix(got, "Recall") {
		t.Errorf("said %q", got)
	}
	b.say(me, "Quiz!").has(t, "has had its quiz for this tour")
	b.desk.AdoptsAll = false
	b.clock.Set(b.clock.Now().AddDate(0, 0, 3))
	b.say(me, "quiz").has(t, "No card on a technique is adopted yet")
}

// What a member taps is theirs: the answer is for them alone, counts for their
// crew, and a drill that was done well rests.
func TestDrillAnswered(t *testing.T) {
	b := newBench(t, command.DrillCommand(), command.UndoCommand())
	me := b.speaker("engine-4")
	first := b.say(me, "give us a drill")
	title := strings.SplitN(first.text, "\n", 2)[0]
	done := b.press(me, first.button(t, "Done hands-on"))
	if len(done.posts) != 1 || !done.posts[0].Reply.Private || !strings.Contains(done.text, "seen by you alone") {
		t.Fatalf("said %q", done.text)
	}
	tries := b.press(me, done.button(t, "5 min"))
	b.desk.Department.Targets = []department.DrillTarget{{Drill: "drill-inward-film", Minutes: 4, Tries: 2}}
	if got := b.press(me, tries.button(t, "1 try")).text; !strings.Contains(got, "It took 5 minutes, 1 try; the target is 4 minutes, 2 tries.") {
		t.Errorf("over the department's target: %q", got)
	}
	entries, err := b.db.Entries(t.Context(), b.desk.Department.Slug, "drill", "", time.Time{})
	if err != nil || len(entries) != 2 || !strings.Contains(string(entries[1].Body), `"minutes":5`) || entries[1].Person != me.ID {
		t.Fatalf("%d entries %s, %v", len(entries), entries[len(entries)-1].Body, err)
	}
	b.clock.Set(b.clock.Now().AddDate(0, 0, 3))
	if again := b.say(me, "give us a drill").text; strings.HasPrefix(again, title) {
		t.Errorf("the same again after three days: %q", title)
	}
}

// A decide drill gives nothing away before the tap, and says after it what the
// plan does, on which footing, and how the way did here.
func TestDecideDrill(t *testing.T) {
	b := newBench(t, command.DrillCommand())
	me := b.speaker("engine-4")
	var quiz said
	for i := 0; !strings.HasPrefix(quiz.text, "Decide"); i++ {
		if i > 20 {
			t.Fatal("no decide drill in 20 tours")
		}
		quiz = b.say(me, "quiz us")
		if strings.HasPrefix(quiz.text, "Recall") {
			b.press(me, quiz.button(t, "Got it"))
		}
		b.clock.Set(b.clock.Now().AddDate(0, 0, 3))
	}
	if strings.Contains(quiz.text, "Why this one") || len(quiz.buttons) < 2 {
		t.Errorf("asked %q", quiz.text)
	}
	labels := make(map[string]bool)
	right := 0
	for _, o := range quiz.buttons {
		if labels[o.Label] {
			t.Errorf("%q stands twice", o.Label)
		}
		labels[o.Label] = true
		got := b.press(me, o.Value).text
		if strings.HasPrefix(got, "Yes") {
			right++
		}
		if !strings.Contains(got, "Cautions:") || !strings.Contains(got, "Source:") {
			t.Errorf("%s has no caution or no source: %q", o.Label, got)
		}
		if !strings.Contains(got, "Here: ") || !strings.Contains(got, "Why this one: ") || !strings.Contains(got, "assum") && !strings.HasPrefix(got, "Not at this door") {
			t.Errorf("%s: %q", o.Label, got)
		}
	}
	if right != 1 {
		t.Errorf("%d right answers", right)
	}
}

// After a wrong choice the reveal says what is right there and what worked here,
// and a second tap is shown but not counted.
func TestDecideReveal(t *testing.T) {
	b := newBench(t, command.DrillCommand(), command.UsedCommand(), command.NoneCommand())
	me := b.speaker("engine-4")
	b.say(b.crewOf("engine-4", "B"), "used the latch film on a door, opens away, spring latch, opened, second try, no mark")
	quiz := said{}
	for i := 0; !strings.Contains(quiz.text, "opens away, spring latch. Agree"); i++ {
		if i > 60 {
			t.Fatal("no such door in 60 tours")
		}
		b.clock.Set(b.clock.Now().Add(3*24*time.Hour + time.Minute))
		if quiz = b.say(me, "quiz us"); strings.HasPrefix(quiz.text, "Recall") {
			b.press(me, quiz.button(t, "Got it"))
		}
	}
	b.say(b.crewOf("engine-4", "B"), "used the latch film on a door, opens away, spring latch, opened, second try, no mark")
	wrong := b.press(me, quiz.button(t, "Slip an outward door"))
	for _, want := range []string{"Not at this door", "The plan tries first: Slip an inward door", "Here: on real calls at such doors, slip an inward door opened", "slip an inward door, to be drilled again"} {
		if !strings.Contains(wrong.text, want) {
			t.Errorf("no %q in %q", want, wrong.text)
		}
	}
	again := b.press(me, quiz.button(t, "Slip an inward door"))
	if !strings.Contains(again.text, "Your first choice stands") || len(again.outcome.Turn.Changes) > 0 || !again.posts[0].Reply.Private {
		t.Errorf("a second tap: %q, %d changes", again.text, len(again.outcome.Turn.Changes))
	}
}

// Presses that name no drill, no option or no measure do nothing; guests get none.
func TestDrillPresses(t *testing.T) {
	b := newBench(t, command.DrillCommand())
	me := b.speaker("engine-4")
	key := b.say(me, "give us a drill").given(t)
	for _, value := range []string{"drill:got", "drill:got:nothing", "drill:dance:" + key, "drill:pick:" + key + ":0", "drill:took:" + key + ":0", "drill:took:" + key + ":5:1:1", "drill:took:" + key + ":x"} {
		if got := b.press(me, value); !strings.Contains(got.text, "had its day") || len(got.outcome.Turn.Changes) > 0 {
			t.Errorf("%s: %q", value, got.text)
		}
	}
	d := *b.desk.Department
	d.Members = append(append([]department.Member(nil), d.Members...), department.Member{ID: "guest", Name: "A Guest", Roles: []department.Role{department.Guest}})
	b.desk.Department = &d
	if got := b.say(bot.Speaker{ID: "guest", Member: "guest"}, "give us a drill"); !strings.Contains(got.text, "this department's crews") {
		t.Errorf("a guest: %q", got.text)
	}
	b.clock.Set(b.clock.Now().AddDate(0, 0, 31))
	if got := b.press(me, "drill:done:"+key).text; !strings.Contains(got, "had its day") {
		t.Errorf("a month later: %q", got)
	}
}

// What the file names as must-know comes first; nothing else has to.
func TestMustKnow(t *testing.T) {
	b := newBench(t, command.DrillCommand())
	d := *b.desk.Department
	d.MustKnow = []string{"swing-bar-release"}
	b.desk.Department = &d
	got := b.say(b.speaker("engine-4"), "give us a drill").text
	if !strings.Contains(got, "at least once a quarter") || !strings.Contains(got, "guest room") {
		t.Errorf("said %q", got)
	}
}

// What the department does not go by is no answer of a drill's, neither first nor
// later.
func TestDecideDrillGoesByTheDepartment(t *testing.T) {
	b := newBench(t, command.DrillCommand())
	d := *b.desk.Department
	d.Forbids = []string{"slip-inward", "slip-outward"}
	b.desk.Department = &d
	me := b.speaker("engine-4")
	decided := 0
	for range 40 {
		quiz := b.say(me, "quiz us")
		for _, o := range quiz.buttons {
			got := b.press(me, o.Value).text
			if first, _, _ := strings.Cut(got, "\n"); strings.HasPrefix(quiz.text, "Decide") && strings.HasPrefix(o.Label, "Slip an") && !strings.HasPrefix(first, "Not at this door") {
				t.Errorf("forbidden, and %q: %s in %q", first, o.Label, quiz.text)
			}
		}
		if strings.HasPrefix(quiz.text, "Decide") {
			decided++
		}
		b.clock.Set(b.clock.Now().AddDate(0, 0, 3))
	}
	if decided == 0 {
		t.Error("no decide drill to look at")
	}
}

// A typed word that the drill is done, or has to wait, hands out no other one.
func TestDrillTold(t *testing.T) {
	b := newBench(t, command.DrillCommand())
	me := b.speaker("engine-4")
	if got := b.say(me, "drill done"); !strings.Contains(got.text, "was given no drill this tour") || len(got.outcome.Turn.Changes) > 0 {
		t.Errorf("before any: %q", got.text)
	}
	b.say(me, "give us a drill")
	for _, said := range []string{"drill done", "we did the drill, 3 tries 8 min", "done with the drill", "done hands-on"} {
		got := b.say(me, said)
		if len(got.outcome.Turn.Changes) > 0 || !strings.Contains(got.text, "tap what came of it") {
			t.Errorf("%q: %q", said, got.text)
		}
		got.button(t, "Done hands-on")
	}
	for _, said := range []string{"skip the drill", "no time for a drill"} {
		if got := b.say(me, said); len(got.outcome.Turn.Changes) > 0 || !strings.Contains(got.text, "comes again") {
			t.Errorf("%q: %q", said, got.text)
		}
	}
}
