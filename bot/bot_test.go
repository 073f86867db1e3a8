package bot_test

import (
	"context"
	"errors"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"kitbell/bot"
)

func TestAddressKeys(t *testing.T) {
	channel := bot.Address{Platform: "console", Channel: "station-4"}
	thread := bot.Address{Platform: "console", Channel: "station-4", Thread: "t1"}
	private := bot.Address{Platform: "console", Channel: "station-4", Person: "ines-okafor"}
	if channel.Key("a") == channel.Key("b") {
		t.Error("two people in a channel share a conversation")
	}
	if thread.Key("a") != thread.Key("b") {
		t.Error("two people in a thread do not share its conversation")
	}
	if channel.Lane() != thread.Lane() {
		t.Error("a thread is not in its channel's lane")
	}
	if channel.Lane() == private.Lane() {
		t.Error("a private line is in the channel's lane")
	}
}

func TestReplyPlainHasEverything(t *testing.T) {
	reply := bot.Reply{
		Title: "the title", Text: "the text", Steps: []string{"step one", "step two"},
		Fields: []bot.Field{{Name: "Caution", Value: "mind the gap"}}, Pictures: []bot.Picture{{Scene: "card:x", Alt: "a latch"}},
	}
	for _, want := range []string{"the title", "the text", "1. step one", "2. step two", "Caution: mind the gap", "a latch"} {
		if !strings.Contains(reply.Plain(), want) {
			t.Errorf("plain text lacks %q:\n%s", want, reply.Plain())
		}
	}
}

func TestUserErrorKeepsItsCause(t *testing.T) {
	cause := errors.New("the cause")
	err := error(&bot.UserError{Say: "the sentence", Err: cause})
	if !errors.Is(err, cause) || !strings.Contains(err.Error(), "the sentence") {
		t.Errorf("%v", err)
	}
	if got := bot.SayNoLine.With(41).Say; !strings.Contains(got, "41") {
		t.Errorf("the pattern is not filled: %s", got)
	}
}

func TestManualClock(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		begin := time.Date(2026, 11, 23, 7, 45, 0, 0, time.UTC)
		clock := bot.NewManualClock(begin)
		if err := clock.Wait(t.Context(), begin); err != nil {
			t.Errorf("a moment that has come: %v", err)
		}
		reached := make(chan error, 1)
		go func() { reached <- clock.Wait(t.Context(), begin.Add(time.Hour)) }()
		clock.Set(begin.Add(59 * time.Minute))
		synctest.Wait()
		select {
		case <-reached:
			t.Fatal("woke a minute early")
		default:
		}
		clock.Set(begin.Add(2 * time.Hour))
		if err := <-reached; err != nil {
			t.Error(err)
		}
		ctx, stop := context.WithCancel(t.Context())
		go func() { reached <- clock.Wait(ctx, begin.AddDate(1, 0, 0)) }()
		stop()
		if err := <-reached; !errors.Is(err, context.Canceled) {
			t.Errorf("got %v, want context.Canceled", err)
		}
	})
}

func TestSystemClock(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		var clock bot.SystemClock
		until := clock.Now().Add(3*time.Hour + time.Second)
		if err := clock.Wait(t.Context(), until); err != nil {
			t.Error(err)
		}
		if now := clock.Now(); now.Before(until) {
			t.Errorf("woke at %s, want %s", now, until)
		}
	})
}

func TestNewEntryRefusesWhatIsNoJSON(t *testing.T) {
	defer func() {
		if recover() == nil {
			t.Error("a body that cannot be encoded was taken")
		}
	}()
	bot.NewEntry("check", "engine-4", "a", time.Time{}, func() {})
}
