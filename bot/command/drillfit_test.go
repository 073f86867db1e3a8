package command_test

import (
	"strings"
	"testing"

	"kitbell/bot/command"
	"kitbell/bot/department"
)

// What is under stop-use is drilled by nobody, what is missing in a kit not by its
// crew. Asked for by name, the reason is said.
func TestNoDrillWithAToolThatIsOut(t *testing.T) {
	b := newBench(t, command.DrillCommand(), command.StopUseCommand(), command.ReportCommand(), command.NoneCommand())
	lead, four, three := b.holder(department.Lead), b.speaker("engine-4"), b.speaker("engine-3")
	if got := b.say(three, "give us a drill on the film").text; !strings.HasPrefix(got, "Drill: film") {
		t.Errorf("by name: %q", got)
	}
	b.say(three, "E3 is missing the small hook")
	b.say(three, "give us a drill on the latch board").has(t, "Not this drill now", "small")
	b.say(lead, "stop using the latch films")
	for range 8 {
		if got := b.say(four, "give us a drill").text; strings.HasPrefix(got, "Drill: film") {
			t.Fatalf("the film's drill under stop-use: %q", got)
		}
	}
	b.say(four, "give us a drill on slip an inward door").has(t, "Not this drill now", "stop-use")
}
