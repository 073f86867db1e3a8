package command_test

import (
	"slices"
	"strings"
	"testing"

	"kitbell/bot"
	"kitbell/bot/command"
	"kitbell/bot/department"
)

func newStopBench(t *testing.T) *bench {
	return newBench(t, command.StopUseCommand(), command.DoorCommand(), command.KitCommand(), command.UndoCommand(), command.NoneCommand())
}

// usesFilm says whether the plan of a push door begins with the film.
func (b *bench) usesFilm(me bot.Speaker) bool {
	b.t.Helper()
	b.say(me, "new door")
	return strings.Contains(b.say(me, "push door, latch, knob, welfare check").text, "1. Film")
}

// A stop-use drops the tool from every plan at once. About a lot, it frees the
// kits that say they have none of it; lifted, it frees all.
func TestStopUseReachesThePlans(t *testing.T) {
	b := newStopBench(t)
	lead, four, three := b.holder(department.Lead), b.speaker("engine-4"), b.speaker("engine-3")
	asked := b.say(four, "stop using the latch films, lot 7, one split")
	if !b.usesFilm(four) {
		t.Error("asking alone took the film out of the plans")
	}
	call := asked.postTo(t, department.OfficersChannel).button(t, "Call it (lead)")
	b.press(four, call).has(t, "the lead's word")
	b.press(lead, call).has(t, "Called")
	if b.usesFilm(four) || b.usesFilm(three) {
		t.Error("the film is still planned with")
	}
	b.say(four, "kit E4").has(t, "latch film")

	at := b.press(lead, call).button(t, "Answer for the reserve")
	key := strings.TrimSuffix(strings.TrimPrefix(at, "stop-use:at:"), ":reserve")
	kit, _ := b.desk.Department.KitOf("engine-4")
	none := b.press(four, "stop-use:at:"+key+":kit/"+kit.ID).button(t, "None here")
	b.press(four, none).has(t, "none here")
	if !b.usesFilm(four) || b.usesFilm(three) {
		t.Error("only the kit that has none of the lot may use its films")
	}
	b.press(lead, "stop-use:see:"+key).has(t, "Answered: 1 of", "Not answered yet")
	b.press(lead, "stop-use:lift:"+key).has(t, "lifted")
	if !b.usesFilm(three) {
		t.Error("lifted, and still not planned with")
	}
	b.press(four, none).has(t, bot.SayStopUseOver.With().Say)
}

// The lead's own word calls at once, the same again joins, and bad buttons get a
// sentence.
func TestStopUseAtTheEdges(t *testing.T) {
	b := newStopBench(t)
	lead := b.holder(department.Lead)
	b.say(lead, "stop-use").has(t, "Nothing is under stop-use")
	called := b.say(lead, "stop using the air wedges")
	called.has(t, "Called. Stop-use: air wedge")
	stations := 0
	for _, p := range called.posts {
		if p.To.Use == department.StationChannel {
			stations++
		}
	}
	if want := len(b.desk.Department.Stations); stations != want {
		t.Errorf("told %d stations, want %d", stations, want)
	}
	again := b.say(lead, "stop using the air wedges")
	again.has(t, "Open already")
	see := again.button(t, "Lift it (lead)")
	key := see[strings.LastIndex(see, ":")+1:]
	for _, bad := range []string{"pulled:" + key + ":kit/k99:1", "pulled:" + key + ":reserve:-3", "pulled:" + key + ":reserve:x", "at:" + key + ":nowhere", "zzz:" + key} {
		b.press(lead, "stop-use:"+bad).has(t, bot.SayOldButton.With().Say)
	}
	b.press(lead, "stop-use:see:zzz").has(t, bot.SayStopUseOver.With().Say)
}

// postTo is the part of what was said that went to a channel.
func (s said) postTo(t *testing.T, use department.ChannelUse) said {
	t.Helper()
	i := slices.IndexFunc(s.posts, func(p command.Post) bool { return p.To.Use == use })
	if i < 0 {
		t.Fatalf("nothing was posted to %s", use)
	}
	return said{text: s.posts[i].Reply.Plain(), buttons: s.posts[i].Reply.Buttons}
}

// Whoever asks how a tool is used hears first that it is not to be used, on its
// own card and on that of a technique that takes it, until the lead lifts it.
func TestStopUseStandsAboveTheCard(t *testing.T) {
	b := newBench(t, command.StopUseCommand(), command.AskCommand(), command.NoneCommand())
	lead, four := b.holder(department.Lead), b.speaker("engine-4")
	ask := func() said { b.t.Helper(); return b.say(four, "how do I use the air wedge") }
	if strings.Contains(ask().text, "Stop-use") {
		t.Error("nothing is under stop-use yet")
	}
	asked := b.say(four, "stop using the air wedges")
	ask().has(t, "Stop-use asked for: air wedge. Leave it")
	call := asked.postTo(t, department.OfficersChannel).button(t, "Call it (lead)")
	b.press(lead, call)
	for name, answer := range map[string]said{
		"the tool":      ask(),
		"its technique": b.press(four, "ask:card:spread-ladder"),
		"all of it":     b.press(four, "ask:more:air-wedge"),
		"the drawing":   b.press(four, "ask:draw:spread-ladder"),
	} {
		if !strings.Contains(answer.text, "air wedge. Do not use it.") {
			t.Errorf("%s: %s", name, answer.text)
		}
	}
	if strings.Contains(b.press(four, "ask:card:shove-knife").text, "Stop-use") {
		t.Error("another tool's card is not concerned")
	}
	b.press(lead, strings.Replace(call, ":call:", ":lift:", 1))
	if strings.Contains(ask().text, "Stop-use") {
		t.Error("lifted, and still said")
	}
}
