package command_test

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"kitbell/bot"
	"kitbell/bot/command"
	"kitbell/bot/department"
	"kitbell/bot/kit"
)

func (b *bench) did(e bot.Event, kind bot.EventKind, about string) said {
	e.Kind, e.About = kind, about
	if kind == bot.Edited {
		e.ID = bot.EditID(about, e.ID)
	}
	return b.handle(e)
}

func (b *bench) open() []kit.Line {
	b.t.Helper()
	open, err := b.db.OpenLines(b.t.Context(), b.desk.Department.Slug)
	if err != nil {
		b.t.Fatal(err)
	}
	return open
}

// A changed message amends what it booked, while nobody has worked on that.
func TestEdited(t *testing.T) {
	b := newBench(t, chatCommands()...)
	me := b.speaker("engine-4")
	first := b.event(me, "E4 is missing a wood wedge")
	b.handle(first)
	got := b.did(b.event(me, "E4 is missing the door strap"), bot.Edited, first.ID)
	if open := b.open(); len(open) != 1 || open[0].Item != "door-strap" || !strings.Contains(got.text, "door strap") || !strings.Contains(got.text, "Undone: #1") {
		t.Errorf("said %q, open %+v", got.text, open)
	}
}

// A message that is changed twice and then taken away is one report all the
// while: its last wording is what stands, and what undo takes back.
func TestEditedTwiceThenDeleted(t *testing.T) {
	b := newBench(t, chatCommands()...)
	me := b.speaker("engine-4")
	first := b.event(me, "E4 is missing a wood wedge")
	b.handle(first)
	for _, wording := range []string{"E4 is missing the door strap", "E4 is missing the small hook"} {
		b.did(b.event(me, wording), bot.Edited, first.ID)
	}
	if open := b.open(); len(open) != 1 || open[0].Item != "traveler-hook-small" {
		t.Fatalf("open %+v", open)
	}
	got := b.did(b.event(me, ""), bot.Deleted, first.ID)
	if !strings.Contains(got.text, "small traveler hook") && !strings.Contains(got.text, "Small traveler hook") {
		t.Errorf("said %q", got.text)
	}
	if after := b.press(me, got.button(t, "Undo")).text; !strings.Contains(after, "Undone: #3") || len(b.open()) != 0 {
		t.Errorf("said %q, open %+v", after, b.open())
	}
}

// An edit that names another rig than the first edit did takes back all that the
// message has booked, and says so.
func TestEditedAgain(t *testing.T) {
	b := newBench(t, chatCommands()...)
	me := b.speaker("engine-4")
	first := b.event(me, "L1 strap worn")
	b.handle(first)
	b.did(b.event(me, "L1 strap worn and 2 wood wedges gone"), bot.Edited, first.ID)
	got := b.did(b.event(me, "E4 strap worn and 2 wood wedges gone"), bot.Edited, first.ID)
	if open := b.open(); len(open) != 2 || open[0].Unit != "engine-4" || open[1].Unit != "engine-4" || !strings.Contains(got.text, "Undone") {
		t.Errorf("said %q, open %+v", got.text, open)
	}
}

// Talk closes nothing: a thing that is said to be there is.
func TestNeverMindClosesNothing(t *testing.T) {
	b := newBench(t, chatCommands()...)
	b.say(b.speaker("engine-4"), "E4 air wedge leaks")
	other := b.crewOf("engine-4", "B")
	for _, text := range []string{"haha never mind", "nvm", "never mind"} {
		e := b.event(other, text)
		e.Direct = false
		if got := b.handle(e); len(got.posts) > 0 || len(b.open()) != 1 || !got.outcome.Turn.Forget {
			t.Errorf("%q: said %q, open %+v", text, got.text, b.open())
		}
	}
}

// A mark that says seen is not what undo takes back.
func TestUndoAfterSeen(t *testing.T) {
	b := newBench(t, chatCommands()...)
	me := b.speaker("engine-4")
	b.say(me, "E4 is missing a wood wedge")
	mark := b.event(me, "+1")
	mark.Kind, mark.On = bot.Reacted, "m1"
	b.handle(mark)
	if got := b.say(me, "undo").text; !strings.Contains(got, "Undone: #1") {
		t.Errorf("said %q", got)
	}
}

// A message that says nothing for the bot any more still has what it booked taken
// back, and said.
func TestEditedToBanter(t *testing.T) {
	b := newBench(t, chatCommands()...)
	me := b.speaker("engine-4")
	first := b.event(me, "E4 is missing a wood wedge")
	b.handle(first)
	banter := b.event(me, "thanks, see you at dinner")
	banter.Direct = false
	got := b.did(banter, bot.Edited, first.ID)
	if len(b.open()) != 0 || !strings.Contains(got.text, "Undone: #1") {
		t.Errorf("said %q, open %+v", got.text, b.open())
	}
}

// One that somebody has worked on stands, and the person hears so.
func TestEditedTooLate(t *testing.T) {
	for _, row := range []struct {
		name  string
		after func(b *bench)
		want  string
	}{
		{"six minutes later", func(b *bench) { b.clock.Set(b.clock.Now().Add(6 * time.Minute)) }, "Too late"},
		{"reported by another crew meanwhile", func(b *bench) { b.say(b.speaker("ladder-1"), "E4 wood wedge missing") }, "moved on"},
	} {
		t.Run(row.name, func(t *testing.T) {
			b := newBench(t, chatCommands()...)
			me := b.speaker("engine-4")
			first := b.event(me, "E4 is missing a wood wedge")
			b.handle(first)
			row.after(b)
			got := b.did(b.event(me, "E4 is missing the door strap"), bot.Edited, first.ID)
			if open := b.open(); len(open) != 1 || open[0].Item != "wood-wedge" || !strings.Contains(got.text, row.want) {
				t.Errorf("said %q, open %+v", got.text, open)
			}
		})
	}
}

// A changed question is answered anew.
func TestEditedQuestion(t *testing.T) {
	b := newBench(t, chatCommands()...)
	me := b.speaker("engine-4")
	first := b.event(me, "what is an air wedge")
	b.handle(first)
	if got := b.did(b.event(me, "what is a latch film"), bot.Edited, first.ID).text; !strings.Contains(strings.ToLower(got), "film") {
		t.Errorf("said %q", got)
	}
}

// A deleted message removes nothing and offers undo; one that booked nothing is
// gone in silence.
func TestDeleted(t *testing.T) {
	b := newBench(t, chatCommands()...)
	me := b.speaker("engine-4")
	first := b.event(me, "E4 is missing a wood wedge")
	b.handle(first)
	got := b.did(b.event(me, ""), bot.Deleted, first.ID)
	if !strings.Contains(got.text, "stands") || len(b.open()) != 1 {
		t.Fatalf("said %q", got.text)
	}
	if after := b.press(me, got.button(t, "Undo")).text; !strings.Contains(after, "Undone") || len(b.open()) != 0 {
		t.Errorf("said %q, open %+v", after, b.open())
	}
	question := b.event(me, "what is an air wedge")
	b.handle(question)
	if got := b.did(b.event(me, ""), bot.Deleted, question.ID); len(got.posts) != 0 {
		t.Errorf("a question taken away: %q", got.text)
	}
}

// A thumbs-up is kept as seen and is no check; other marks are nothing.
func TestReacted(t *testing.T) {
	b := newBench(t, chatCommands()...)
	me := b.speaker("engine-4")
	for _, row := range []struct {
		mark string
		kept int
	}{{"+1", 1}, {"eyes", 1}, {"👍", 2}} {
		e := b.event(me, row.mark)
		e.Kind, e.On = bot.Reacted, "m1"
		got := b.handle(e)
		seen, err := b.db.Entries(t.Context(), b.desk.Department.Slug, "seen", "m1", time.Time{})
		if err != nil || len(got.posts) != 0 || len(seen) != row.kept {
			t.Errorf("%s: %d posts, %d entries, %v", row.mark, len(got.posts), len(seen), err)
		}
	}
	if checks, err := b.db.Entries(t.Context(), b.desk.Department.Slug, "check", "", time.Time{}); err != nil || len(checks) != 0 {
		t.Errorf("%d checks, %v", len(checks), err)
	}
}

// A bare picture gets one question with four buttons, a voice note a request for
// a line; nothing of either is kept.
func TestShared(t *testing.T) {
	b := newBench(t, chatCommands()...)
	me := b.speaker("engine-4")
	share := func(kind bot.FileKind) said {
		e := b.event(me, "")
		e.Kind, e.Files = bot.Shared, []bot.File{{ID: "F1", Kind: kind}}
		return b.handle(e)
	}
	got := share(bot.PictureFile)
	if len(got.buttons) != 4 || len(got.outcome.Turn.Changes) != 0 {
		t.Errorf("picture: %+v", got.posts)
	}
	for _, button := range got.buttons {
		if after := b.press(me, button.Value); after.text == "" || strings.Contains(after.text, "had its day") {
			t.Errorf("%s: %q", button.Label, after.text)
		}
	}
	if got := share(bot.VoiceFile).text; !strings.Contains(got, "One line of text, please") {
		t.Errorf("voice: %q", got)
	}
}

// The page shows one's kit, the crew's drill, and one's own reports.
func TestHome(t *testing.T) {
	b := newBench(t, chatCommands()...)
	me := b.speaker("engine-4")
	b.say(me, "E4 is missing a wood wedge")
	e := b.event(me, "")
	e.Kind = bot.Opened
	got := b.handle(e)
	for _, want := range []string{"My kit: Engine 4. Open: #1", "My crew's next drill", "What I reported: #1 Engine 4"} {
		if !strings.Contains(got.text, want) {
			t.Errorf("no %q in:\n%s", want, got.text)
		}
	}
}

func (b *bench) prompts() *command.Prompts {
	return &command.Prompts{Books: b.db, Clock: b.clock,
		Place: func(bot.Address, string) (bot.Place, bool) {
			return bot.Place{Department: b.desk.Department.Slug}, true
		},
		Desks: func(string) (*command.Desk, bool) { return b.desk, true },
	}
}

// Every choice of the report's form books that line, and what was added is kept
// with it.
func TestReportForm(t *testing.T) {
	b := newBench(t, chatCommands()...)
	form, ok := b.prompts().Form(t.Context(), bot.Press{From: b.speaker("engine-4"), Value: "form:report"})
	if !ok || form.Inputs[0].Value != "engine-4" || len(form.Inputs[1].Choices) < 10 {
		t.Fatalf("form %+v, %v", form, ok)
	}
	for _, state := range form.Inputs[3].Choices {
		b := newBench(t, chatCommands()...)
		for _, item := range form.Inputs[1].Choices {
			e := b.event(b.speaker("engine-4"), "")
			e.Kind, e.Form = bot.Submitted, form.ID
			e.Values = map[string]string{"unit": "ladder-1", "item": item.Value, "count": "1", "state": state.Value, "more": "the strap is worn too"}
			b.handle(e)
			booked := slices.ContainsFunc(b.open(), func(l kit.Line) bool {
				return l.Unit == "ladder-1" && l.Item == item.Value && l.Condition == kit.Condition(state.Value) && l.Note == "the strap is worn too"
			})
			if !booked {
				t.Errorf("%s %s was not booked as such", item.Label, state.Value)
			}
		}
		if n := len(b.open()); n != len(form.Inputs[1].Choices) {
			t.Errorf("%s: %d lines for %d reports", state.Value, n, len(form.Inputs[1].Choices))
		}
	}
}

// What the choices of an after-use form say is the record, and nothing else is
// booked; so with a wish, whatever its reason sounds like.
func TestFormsBookOnlyWhatTheySay(t *testing.T) {
	b := newBench(t, chatCommands()...)
	form, ok := b.prompts().Form(t.Context(), bot.Press{From: b.speaker("engine-4"), Value: "form:after use"})
	if !ok {
		t.Fatal("no form by its title")
	}
	for _, in := range form.Inputs {
		for _, c := range in.Choices {
			e := b.event(b.speaker("engine-4"), "")
			e.Kind, e.Form, e.Values = bot.Submitted, form.ID, map[string]string{"item": "air-wedge", "outcome": "opened", in.Name: c.Value}
			if got := b.handle(e); !strings.Contains(got.text, "Use noted") {
				t.Errorf("%s %s: %q", in.Name, c.Label, got.text)
			}
		}
	}
	for _, why := range []string{"tears", "ours leaks on every call", "it is missing from the list", ""} {
		e := b.event(b.speaker("engine-4"), "")
		e.Kind, e.Form, e.Values = bot.Submitted, "wish", map[string]string{"what": "second door strap", "why": why, "price": "$40.50"}
		if got := b.handle(e).text; !strings.Contains(got, "noted: second door strap.") || !strings.Contains(got, "$40.50 each") || len(strings.Split(got, "\n")) > 2 {
			t.Errorf("%q: %q", why, got)
		}
	}
	if open := b.open(); len(open) != 0 {
		t.Errorf("booked %+v", open)
	}
}

// A form that lacks something is refused at the input that lacks it, before
// anything is stored.
func TestFormsLack(t *testing.T) {
	b := newBench(t, chatCommands()...)
	nobody := bot.Speaker{ID: "U99"}
	for _, row := range []struct {
		form   string
		values map[string]string
		field  string
	}{
		{"report", map[string]string{"item": "air-wedge", "state": "missing"}, "unit"},
		{"report", map[string]string{"unit": "the moon", "item": "air-wedge"}, "unit"},
		{"report", map[string]string{"unit": "engine-4", "state": "missing"}, "item"},
		{"report", map[string]string{"unit": "engine-4", "item": "a thing"}, "item"},
		{"report", map[string]string{"unit": "engine-4", "item": "air-wedge", "count": "abc"}, "count"},
		{"report", map[string]string{"unit": "engine-4", "item": "air-wedge", "count": "0"}, "count"},
		{"report", map[string]string{"unit": "engine-4", "item": "air-wedge", "state": "purple"}, "state"},
		{"check", map[string]string{"unit": "engine-4"}, "all"},
		{"check", map[string]string{"unit": "engine-4", "all": "yes", "short": "strap missing"}, "short"},
		{"check", map[string]string{"unit": "engine-4", "all": "no", "short": "see you at dinner"}, "short"},
		{"after-use", map[string]string{"outcome": "opened"}, "item"},
		{"after-use", map[string]string{"item": "air-wedge"}, "outcome"},
		{"after-use", map[string]string{"item": "air-wedge", "outcome": "opened", "left": "ajar"}, "left"},
		{"wish", map[string]string{"why": "because"}, "what"},
		{"wish", map[string]string{"what": "a wedge", "price": "cheap"}, "price"},
		{"card", map[string]string{"what": "Chain lock"}, "text"},
		{"nonsense", nil, ""},
	} {
		e := b.event(nobody, "")
		e.Kind, e.Form, e.Values = bot.Submitted, row.form, row.values
		_, err := b.intake.Now(t.Context(), e)
		var refused *bot.UserError
		if !errors.As(err, &refused) || refused.Field != row.field || refused.Say == "" {
			t.Errorf("%s %v: %v", row.form, row.values, err)
		}
	}
}

// Forms and suggestions are for those who are let in.
func TestFormsOfStrangers(t *testing.T) {
	b := newBench(t, chatCommands()...)
	where := bot.Address{Platform: "chat", Workspace: "T1", Channel: "C1"}
	for _, row := range []struct {
		press bot.Press
		want  bool
	}{
		{bot.Press{From: bot.Speaker{ID: "U99"}, Where: where, Value: "form:report"}, false},
		{bot.Press{From: b.speaker("engine-4"), Where: where, Value: "form:report"}, true},
		{bot.Press{From: b.speaker("engine-4"), Where: where, Value: "form:new card"}, true},
		{bot.Press{From: b.speaker("engine-4"), Where: where, Value: "form:dinner"}, false},
		{bot.Press{From: bot.Speaker{ID: "U99"}, Where: where, Value: "form:report", Outside: true}, false},
	} {
		if _, ok := b.prompts().Form(t.Context(), row.press); ok != row.want {
			t.Errorf("%+v: %v", row.press, ok)
		}
	}
	if got := b.prompts().Suggest(t.Context(), bot.Partial{From: bot.Speaker{ID: "U99"}, Where: where, Field: "item", Text: "w"}); len(got) > 0 {
		t.Errorf("a stranger is told of %v", got)
	}
}

// The other forms book what they say.
func TestForms(t *testing.T) {
	b := newBench(t, chatCommands()...)
	me := b.speaker("engine-4")
	submit := func(form string, values map[string]string) said {
		e := b.event(me, "")
		e.Kind, e.Form, e.Values = bot.Submitted, form, values
		return b.handle(e)
	}
	for _, row := range []struct {
		form   string
		values map[string]string
		want   string
	}{
		{"check", map[string]string{"unit": "engine-4", "all": "yes"}, "all there"},
		{"check", map[string]string{"unit": "engine-4", "all": "no", "short": "strap is worn"}, "strap"},
		{"check", map[string]string{"unit": "engine-4", "all": "no"}, "air wedge"},
		{"report", map[string]string{"item": "the air wedge", "state": "missing"}, "engine 4: air wedge missing"},
		{"after-use", map[string]string{"item": "latch-film", "outcome": "opened", "tries": "2", "mark": "none", "left": "relatched"}, "try 2"},
		{"after-use", map[string]string{"item": "latch-film", "outcome": "practice"}, "practice"},
		{"wish", map[string]string{"what": "2 air wedges", "why": "the old ones leak", "price": "40"}, "air wedge"},
		{"card", map[string]string{"what": "Chain lock", "text": "Ask first."}, "chief of training"},
	} {
		if got := submit(row.form, row.values).text; !strings.Contains(strings.ToLower(got), row.want) {
			t.Errorf("%s %v: %q", row.form, row.values, got)
		}
	}
	e := b.event(me, "")
	e.Kind, e.Form, e.Values = bot.Submitted, "wish", map[string]string{"what": "a wedge", "why": "the gate code is 4471"}
	if _, err := b.intake.Now(t.Context(), e); err == nil {
		t.Error("a code in a form was taken in")
	}
}

// A guest proposes no card, whoever showed them the form.
func TestCardFormOfAGuest(t *testing.T) {
	b := newBench(t, chatCommands()...)
	d := *b.desk.Department
	d.Members = append(append([]department.Member(nil), d.Members...), department.Member{ID: "guest", Name: "A Guest", Roles: []department.Role{department.Guest}})
	b.desk.Department = &d
	e := b.event(bot.Speaker{ID: "guest", Member: "guest"}, "")
	e.Kind, e.Form, e.Values = bot.Submitted, "card", map[string]string{"what": "Chain lock", "text": "Ask first."}
	if got := b.handle(e); !strings.Contains(got.text, "A guest may report") || len(got.outcome.Turn.Changes) > 0 {
		t.Errorf("said %q, %d changes", got.text, len(got.outcome.Turn.Changes))
	}
}

// Suggestions come best first, at most 25.
func TestSuggest(t *testing.T) {
	b := newBench(t)
	for _, row := range []struct{ field, text, first string }{
		{"unit", "eng", "Engine"}, {"unit", "lad", "Ladder"}, {"item", "wood", "Wood"}, {"item", "wedge", ""}, {"other", "x", ""},
	} {
		got := b.prompts().Suggest(t.Context(), bot.Partial{From: b.speaker("engine-4"), Field: row.field, Text: row.text})
		if row.first != "" && (len(got) == 0 || !strings.HasPrefix(got[0].Label, row.first)) || len(got) > 25 {
			t.Errorf("%s %q: %s", row.field, row.text, fmt.Sprint(got))
		}
	}
}
