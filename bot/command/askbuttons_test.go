package command_test

import "testing"

// A card that came close and is related too has one button, not two.
func TestAnswerButtonsAreNotRepeated(t *testing.T) {
	b := newBench(t, queueCommands()...)
	for _, question := range []string{
		"how do I get a pair of doors open with a hook",
		"hook for a wide gap",
		"which wedge",
		"which shim do I take",
		"hook for the bar",
	} {
		t.Run(question, func(t *testing.T) {
			e := b.event(b.speaker("engine-4"), question)
			e.Where.Channel = question
			seen := map[string]string{}
			for _, button := range b.handle(e).buttons {
				if earlier, ok := seen[button.Value]; ok {
					t.Errorf("%q does what %q does", button.Label, earlier)
				}
				seen[button.Value] = button.Label
			}
			if len(seen) == 0 {
				t.Error("was not answered with buttons")
			}
		})
	}
}
