package command_test

import (
	"testing"
	"time"

	"kitbell/bot"
	"kitbell/bot/command"
)

func TestSecondMemberJoinsTheRunningPlan(t *testing.T) {
	b := newDoorBench(t)
	one, two := b.member("engine-4", 0), b.member("engine-4", 1)
	first := b.say(one, "pull door, latch in plain sight, no plate, lift assist")

	joined := b.press(two, command.StandingButton().Value)
	joined.has(t, "Your crew is at this door since 08:30", first.step(t))
	after := b.press(two, joined.button(t, "Not yet"))

	// The first member's old button counts no second failure, and shows where
	// the crew is.
	seen := b.press(one, first.button(t, "Not yet"))
	if seen.step(t) != after.step(t) {
		t.Errorf("two plans for one door:\n%s\n%s", seen.step(t), after.step(t))
	}
	b.press(one, seen.button(t, "Opened")).has(t, "Open.")
	b.press(two, after.button(t, "Opened")).has(t, bot.SayDoorOver.With().Say)
	if n := len(b.uses()); n != 1 {
		t.Errorf("%d records of one door", n)
	}
}

func TestSecondMemberTypesNotYet(t *testing.T) {
	b := newDoorBench(t)
	one, two := b.member("engine-4", 0), b.member("engine-4", 1)
	first := b.say(one, "pull door, latch in plain sight, no plate, lift assist")
	joined := b.say(two, "not yet")
	joined.has(t, "Your crew is at this door")
	if joined.step(t) == first.step(t) {
		t.Errorf("the same step again: %s", joined.step(t))
	}
}

func TestWhoDoesNotJoin(t *testing.T) {
	for _, row := range []struct {
		name string
		who  func(b *bench) bot.Speaker
		says string
		wait time.Duration
	}{
		{"another rig's crew", func(b *bench) bot.Speaker { return b.member("engine-7", 0) }, "plate over the latch", 0},
		{"somebody at another door", func(b *bench) bot.Speaker { return b.member("engine-4", 1) }, "push door, plate", 0},
		{"somebody an hour later", func(b *bench) bot.Speaker { return b.member("engine-4", 1) }, "plate over the latch", time.Hour},
	} {
		t.Run(row.name, func(t *testing.T) {
			b := newDoorBench(t)
			b.say(b.member("engine-4", 0), "pull door, latch in plain sight, no plate, lift assist")
			b.clock.Set(b.clock.Now().Add(row.wait))
			b.say(row.who(b), row.says).hasNot(t, "Your crew is at this door")
		})
	}
}

// Nothing about a call in progress goes to a channel.
func TestDoorStaysPrivate(t *testing.T) {
	b := newDoorBench(t)
	me := b.speaker("engine-4")
	plan := b.say(me, "pull door, latch in plain sight, no plate, lift assist")
	all := []said{plan, b.press(me, plan.button(t, "Why")), b.press(me, plan.button(t, "Draw it")), b.say(me, "not yet"), b.say(me, "we're in")}
	for _, s := range all {
		for _, p := range s.posts {
			if p.To != (command.Place{}) || !p.Reply.Private {
				t.Errorf("seen by others: %+v", p)
			}
		}
	}
}
