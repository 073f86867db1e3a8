package command_test

import (
	"strings"
	"testing"

	"kitbell/bot/command"
)

// A newcomer on duty gets the introduction, for them alone, with words that fit
// their own rig; off duty it waits.
func TestIntroduction(t *testing.T) {
	b := newBench(t, command.IntroductionCommand(), command.KitCommand(), command.NoneCommand())
	on, off := b.ofPlatoon(true), b.ofPlatoon(false)
	got := b.say(on, "introduction")
	if !got.posts[0].Reply.Private || !strings.Contains(got.text, "Three minutes") || strings.Contains(got.text, "{") {
		t.Errorf("said %q", got.text)
	}
	for _, button := range got.buttons {
		if strings.Contains(button.Value, "{") {
			t.Errorf("button %+v", button)
		}
	}
	waits := b.say(off, "I'm new here")
	if !strings.Contains(waits.text, "off duty") {
		t.Fatalf("said %q", waits.text)
	}
	if now := b.press(off, waits.button(t, "Now, all the same")).text; !strings.Contains(now, "Three minutes") {
		t.Errorf("said %q", now)
	}
}
