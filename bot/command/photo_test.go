package command_test

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"testing"
	"time"

	"kitbell/bot"
	"kitbell/bot/command"
	"kitbell/bot/department"
	"kitbell/bot/kit"
)

// album is the platform's files: each is its own id as bytes.
type album struct {
	err     error
	fetched []string
}

// Keep gives a file.
func (a *album) Keep(_ context.Context, platform string, f bot.File) ([]byte, error) {
	if a.err != nil {
		return nil, a.err
	}
	a.fetched = append(a.fetched, platform+"/"+f.ID)
	return []byte(f.ID), nil
}

// photoBench is a bench whose platform has files.
func photoBench(t *testing.T) (*bench, *album, bot.Speaker) {
	t.Helper()
	b, files := newBench(t, chatCommands()...), &album{}
	b.router.Photos = files
	return b, files, b.speaker("engine-4")
}

func (b *bench) share(from bot.Speaker, files ...string) said {
	b.t.Helper()
	e := b.event(from, "")
	e.Kind = bot.Shared
	for _, id := range files {
		e.Files = append(e.Files, bot.File{ID: id, Kind: bot.PictureFile})
	}
	return b.handle(e)
}

func (b *bench) photos(line int) []kit.Photo {
	b.t.Helper()
	all, err := b.db.Photos(b.t.Context(), b.desk.Department.Slug, line)
	if err != nil {
		b.t.Fatal(err)
	}
	return all
}

const keepLabel = "Keep: tool only, no person, mail or house number"

// A picture is fetched and kept only after the promise, whichever way leads
// there, and goes with the line it is about.
func TestKeepPhoto(t *testing.T) {
	for _, row := range []struct {
		name string
		lead func(b *bench, me bot.Speaker) said // ends with the promise's button
	}{
		{"it goes with my last report", func(b *bench, me bot.Speaker) said {
			b.say(me, "E4 strap missing")
			b.clock.Set(b.clock.Now().Add(time.Minute))
			b.say(me, "E4 wood wedge missing")
			return b.press(me, b.share(me, "F1").button(b.t, "It goes with my last report"))
		}},
		{"something is missing, then the line", func(b *bench, me bot.Speaker) said {
			b.say(me, "E4 strap missing")
			b.press(me, b.share(me, "F1").button(b.t, "Something is missing"))
			return b.say(me, "E4 wood wedge missing")
		}},
		{"something is broken, then the line", func(b *bench, me bot.Speaker) said {
			b.say(me, "E4 strap missing")
			b.press(me, b.share(me, "F1").button(b.t, "Something is broken"))
			return b.say(me, "E4 wood wedge broken")
		}},
		{"the line came with it", func(b *bench, me bot.Speaker) said {
			b.say(me, "E4 strap missing")
			e := b.event(me, "E4 wood wedge missing")
			e.Files = []bot.File{{ID: "F1", Kind: bot.PictureFile}}
			return b.handle(e)
		}},
	} {
		t.Run(row.name, func(t *testing.T) {
			b, files, me := photoBench(t)
			keep := row.lead(b, me).button(t, keepLabel)
			if len(files.fetched) != 0 || len(b.photos(2)) != 0 {
				t.Errorf("before the promise: fetched %v, kept %v", files.fetched, b.photos(2))
			}
			if len(keep) > bot.MaxButtonValue {
				t.Errorf("button value %q", keep)
			}
			got := b.press(me, keep)
			if !strings.Contains(got.text, "Kept with #2: 1 picture") || len(b.photos(2)) != 1 || fmt.Sprint(files.fetched) != "[console/F1]" {
				t.Errorf("said %q, kept %v, fetched %v", got.text, b.photos(2), files.fetched)
			}
			if again := b.press(me, keep).text; !strings.Contains(again, "not have that picture") || len(b.photos(2)) != 1 {
				t.Errorf("pressed twice: %q", again)
			}
		})
	}
}

// What was kept by mistake goes: by undo at once, and by the person or an
// officer at any time. It is off the disk then.
func TestUnkeepPhoto(t *testing.T) {
	kept := func(t *testing.T) (*bench, bot.Speaker, said) {
		b, _, me := photoBench(t)
		b.say(me, "E4 wood wedge missing")
		last := b.press(me, b.share(me, "F1", "F2").button(t, "It goes with my last report"))
		got := b.press(me, last.button(t, keepLabel))
		if len(b.photos(1)) != 2 {
			t.Fatalf("kept %v: %q", b.photos(1), got.text)
		}
		return b, me, got
	}
	t.Run("undo", func(t *testing.T) {
		b, me, got := kept(t)
		if after := b.press(me, got.button(t, "Undo")).text; !strings.Contains(after, "Undone") || len(b.photos(1)) != 0 {
			t.Errorf("said %q, kept %v", after, b.photos(1))
		}
	})
	t.Run("a month later", func(t *testing.T) {
		b, me, got := kept(t)
		b.clock.Set(b.clock.Now().AddDate(0, 1, 0))
		remove := got.button(t, "Remove picture")
		if other := b.press(bot.Speaker{ID: "a"}, remove).text; !strings.Contains(other, "They or an officer") || len(b.photos(1)) != 2 {
			t.Errorf("somebody else: %q", other)
		}
		if after := b.press(me, remove).text; !strings.Contains(after, "Removed from #1: 2 pictures") || len(b.photos(1)) != 0 {
			t.Errorf("said %q, kept %v", after, b.photos(1))
		}
		if again := b.press(me, remove).text; !strings.Contains(again, "No picture is kept with line 1") {
			t.Errorf("pressed twice: %q", again)
		}
	})
}

// No picture is kept while a door is being worked on, on a closed line, on
// somebody else's press, after "nothing", or when the message was taken away.
func TestPhotoNotKept(t *testing.T) {
	for _, row := range []struct {
		name string
		then func(b *bench, me bot.Speaker, keep string, shared string) said
		want string
	}{
		{"a door is worked on", func(b *bench, me bot.Speaker, keep, _ string) said {
			b.say(me, "door swings in, tight gap, guard plate")
			return b.press(me, keep)
		}, "A door is being worked on"},
		{"the line is closed", func(b *bench, me bot.Speaker, keep, _ string) said {
			b.say(me, "found the wood wedge")
			return b.press(me, keep)
		}, "Line 1 is closed"},
		{"somebody else presses", func(b *bench, _ bot.Speaker, keep, _ string) said {
			return b.press(bot.Speaker{ID: "a"}, keep)
		}, "not have that picture"},
		{"after nothing", func(b *bench, me bot.Speaker, keep, _ string) said {
			b.press(me, strings.Replace(keep[:strings.LastIndex(keep, ":")], "keep", "nothing", 1))
			return b.press(me, keep)
		}, "not have that picture"},
		{"after half an hour", func(b *bench, me bot.Speaker, keep, _ string) said {
			b.clock.Set(b.clock.Now().Add(command.TalkLasts + time.Minute))
			return b.press(me, keep)
		}, "not have that picture"},
		{"another picture came since", func(b *bench, me bot.Speaker, keep, _ string) said {
			b.share(me, "F2")
			return b.press(me, keep)
		}, "not have that picture"},
		{"the message was taken away", func(b *bench, me bot.Speaker, keep, shared string) said {
			b.did(b.event(me, ""), bot.Deleted, shared)
			return b.press(me, keep)
		}, "not have that picture"},
	} {
		t.Run(row.name, func(t *testing.T) {
			b, files, me := photoBench(t)
			b.say(me, "E4 wood wedge missing")
			question := b.share(me, "F1")
			shared := question.outcome.Request.Event.ID
			keep := b.press(me, question.button(t, "It goes with my last report")).button(t, keepLabel)
			got := row.then(b, me, keep, shared)
			if !strings.Contains(got.text, row.want) || len(files.fetched) != 0 || len(b.photos(1)) != 0 {
				t.Errorf("said %q, fetched %v, kept %v", got.text, files.fetched, b.photos(1))
			}
		})
	}
}

// A picture of a door that is being worked on is never offered for keeping, nor
// any where the program cannot fetch it.
func TestPhotoNotOffered(t *testing.T) {
	for _, row := range []struct {
		name   string
		before func(b *bench, me bot.Speaker)
		want   string
	}{
		{"a door is worked on", func(b *bench, me bot.Speaker) { b.say(me, "door swings in, tight gap, guard plate") }, "no pictures until it is over"},
		{"nothing fetches", func(b *bench, _ bot.Speaker) { b.router.Photos = nil }, "one line"},
	} {
		t.Run(row.name, func(t *testing.T) {
			b, _, me := photoBench(t)
			b.say(me, "E4 wood wedge missing")
			row.before(b, me)
			got := b.press(me, b.share(me, "F1").button(t, "It goes with my last report"))
			if len(got.buttons) != 0 || !strings.Contains(got.text, row.want) {
				t.Errorf("said %q, buttons %v", got.text, got.buttons)
			}
		})
	}
}

// In a thread, which is one conversation for everybody, a picture is still its
// sender's to keep: others are not asked, and their press does nothing.
func TestPhotoInAThread(t *testing.T) {
	b, files, me := photoBench(t)
	other := b.speaker("ladder-1")
	inThread := func(from bot.Speaker, change func(*bot.Event)) said {
		e := b.event(from, "")
		e.Where.Thread = "t1"
		change(&e)
		return b.handle(e)
	}
	press := func(value string) func(*bot.Event) {
		return func(e *bot.Event) { e.Kind, e.Press = bot.Pressed, value }
	}
	question := inThread(me, func(e *bot.Event) {
		e.Kind, e.Files = bot.Shared, []bot.File{{ID: "F1", Kind: bot.PictureFile}}
	})
	inThread(me, press(question.button(t, "Something is missing")))
	if got := inThread(other, func(e *bot.Event) { e.Text = "L1 strap missing" }); strings.Contains(got.text, "Keep the picture") {
		t.Errorf("another's report was asked: %q", got.text)
	}
	keep := inThread(me, func(e *bot.Event) { e.Text = "E4 wood wedge missing" }).button(t, keepLabel)
	if got := inThread(other, press(keep)); !strings.Contains(got.text, "not have that picture") || len(files.fetched) > 0 {
		t.Errorf("another's press: %q, fetched %v", got.text, files.fetched)
	}
	if got := inThread(me, press(keep)); !strings.Contains(got.text, "Kept with #2") {
		t.Errorf("the sender's press: %q", got.text)
	}
}

// Trouble on the way keeps nothing, says so, and the press can be tried again.
func TestPhotoTrouble(t *testing.T) {
	b, files, me := photoBench(t)
	b.say(me, "E4 wood wedge missing")
	keep := b.press(me, b.share(me, "F1").button(t, "It goes with my last report")).button(t, keepLabel)
	for _, row := range []struct {
		err  error
		want string
	}{{bot.SayPhotoBig.With(), "too big"}, {errors.New("cut off"), "Something went wrong"}} {
		files.err = row.err
		if got := b.press(me, keep); !strings.Contains(got.text, row.want) || len(got.outcome.Turn.Changes) != 0 {
			t.Errorf("%v: %q", row.err, got.text)
		}
	}
	files.err = nil
	if got := b.press(me, keep).text; !strings.Contains(got, "Kept with #1") {
		t.Errorf("the next try: %q", got)
	}
}

// A line's history shows its pictures to members, with words for those who do
// not see them; a guest sees none.
func TestPhotoShown(t *testing.T) {
	b, _, me := photoBench(t)
	b.say(me, "E4 wood wedge missing")
	b.press(me, b.press(me, b.share(me, "F1").button(t, "It goes with my last report")).button(t, keepLabel))
	shown := b.press(me, "queue:see:1")
	pictures := shown.posts[0].Reply.Pictures
	if len(pictures) != 1 || pictures[0].Scene != command.PhotoScene+b.photos(1)[0].Name || !strings.Contains(pictures[0].Alt, "kept by") {
		t.Errorf("shown %+v", pictures)
	}
	d := *b.desk.Department
	d.Members = append(append([]department.Member(nil), d.Members...), department.Member{ID: "guest", Name: "A Guest", Roles: []department.Role{department.Guest}})
	b.desk.Department = &d
	for _, p := range b.press(bot.Speaker{ID: "guest", Member: "guest"}, "queue:see:1").posts {
		if len(p.Reply.Pictures) > 0 {
			t.Errorf("a guest saw %+v", p.Reply.Pictures)
		}
	}
}
