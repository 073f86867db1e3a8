package command_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"kitbell/bot"
	"kitbell/bot/command"
	"kitbell/bot/department"
)

// chatCommands are those that the tests of a chat platform use.
func chatCommands() []command.Command {
	return append(queueCommands(), command.AccessCommand(), command.PhotoCommand(), command.FormCommand(), command.DoorCommand(),
		command.UsedCommand(), command.WishCommand(), command.RidingCommand())
}

// onChat is an event by an account of a chat platform.
func (b *bench) onChat(account, text string) bot.Event {
	e := b.event(bot.Speaker{ID: account}, text)
	e.Where = bot.Address{Platform: "slack", Workspace: "T1", Channel: "C1"}
	return e
}

// chatBench is a department with two people's accounts in its file: an officer
// of Engine 4, and the lead.
func chatBench(t *testing.T) *bench {
	t.Helper()
	b := newBench(t, chatCommands()...)
	d := *b.desk.Department
	d.Members = append([]department.Member(nil), d.Members...)
	for i, m := range d.Members {
		switch {
		case m.ID == b.speaker("engine-4").ID:
			d.Members[i].Accounts = map[string]string{"slack": "UOFFICER"}
		case m.Has(department.Lead):
			d.Members[i].Accounts = map[string]string{"slack": "ULEAD"}
		}
	}
	d.Channels = append(d.Channels, department.Channel{Platform: "slack", Workspace: "T1", ID: "C1", Use: department.StationChannel, Station: "station-4"})
	b.desk.Department = &d
	return b
}

// somebody is a member without an account who is not an officer.
func (b *bench) somebody() department.Member {
	for _, m := range b.desk.Department.Members {
		if m.Has(department.Crew) && m.Accounts == nil && m.Unit != "" {
			return m
		}
	}
	b.t.Fatal("nobody is a plain member")
	return department.Member{}
}

// buttonOf finds a button on any post of what came, wherever it went.
func (s said) buttonOf(t *testing.T, label string) string {
	t.Helper()
	for _, p := range s.posts {
		for _, button := range p.Reply.Buttons {
			if button.Label == label {
				return button.Value
			}
		}
	}
	t.Fatalf("no button %q among %+v", label, s.posts)
	return ""
}

// A stranger hears how to be let in and nothing else, and books nothing.
func TestStranger(t *testing.T) {
	b := chatBench(t)
	for _, text := range []string{"how do I slip a tight gap", "E4 is missing a wood wedge", "queue", "door swings in, tight gap"} {
		got := b.handle(b.onChat("USTRANGER", text))
		if !strings.Contains(got.text, "I do not know this account") || len(got.outcome.Turn.Changes) > 0 || !got.posts[0].Reply.Private {
			t.Errorf("%q: %q, %d changes", text, got.text, len(got.outcome.Turn.Changes))
		}
	}
	e := b.onChat("USTRANGER", "E4 is missing a wood wedge")
	if e.Direct = false; b.handle(e).text != "" {
		t.Error("a plain sentence of a stranger was answered")
	}
}

// A first-time choice counts once an officer confirms it.
func TestClaim(t *testing.T) {
	b := chatBench(t)
	who := b.somebody()
	claim := b.handle(b.onChat("UNEW", "I am "+who.Name))
	if !strings.Contains(claim.text, "An officer confirms it") {
		t.Fatalf("said %q", claim.text)
	}
	yes := claim.buttonOf(t, "Confirm")
	if got := b.handle(b.onChat("UNEW", "how do I slip a tight gap")).text; !strings.Contains(got, "I do not know this account") {
		t.Errorf("before it was confirmed: %q", got)
	}
	pressed := func(account, value string) said {
		e := b.onChat(account, "")
		e.Kind, e.Press = bot.Pressed, value
		return b.handle(e)
	}
	if got := pressed("UNEW", yes).text; !strings.Contains(got, "I do not know this account") {
		t.Errorf("confirmed by oneself: %q", got)
	}
	b.clock.Set(b.clock.Now().Add(time.Minute))
	if got := pressed("UOFFICER", yes); !strings.Contains(got.text, "Let in: "+who.Name) || got.outcome.Turn.Posts[1].To.Person != "UNEW" {
		t.Errorf("confirmed: %q, %+v", got.text, got.outcome.Turn.Posts)
	}
	if got := b.handle(b.onChat("UNEW", "how do I slip a tight gap")); got.outcome.Request.Who.Member.ID != who.ID || strings.Contains(got.text, "do not know") {
		t.Errorf("after it: %q as %q", got.text, got.outcome.Request.Who.Person)
	}
	if got := pressed("ULEAD", yes).text; !strings.Contains(got, "settled already: confirmed") {
		t.Errorf("an old press: %q", got)
	}
	if got := b.handle(b.onChat("UOTHER", "I am "+who.Name)).text; !strings.Contains(got, "another account already") {
		t.Errorf("somebody else as the same: %q", got)
	}
	if got := b.handle(b.onChat("UOTHER", "I'm Nobody Whatever")).text; !strings.Contains(got, "whole name") {
		t.Errorf("no such member: %q", got)
	}
}

// What an officer was asked about one member never lets the account in as
// another, and two accounts never become one member.
func TestClaimChanged(t *testing.T) {
	b := chatBench(t)
	pressed := func(account, value string) said {
		e := b.onChat(account, "")
		e.Kind, e.Press = bot.Pressed, value
		return b.handle(e)
	}
	who, other := b.somebody(), b.desk.Department.Members[0]
	for _, m := range b.desk.Department.Members {
		if m.ID != who.ID && m.Accounts == nil {
			other = m
		}
	}
	first := b.handle(b.onChat("UNEW", "I am "+who.Name)).buttonOf(t, "Confirm")
	if again := b.handle(b.onChat("UNEW", "I am "+who.Name)); len(again.posts) != 1 || len(again.outcome.Turn.Changes) > 0 {
		t.Errorf("the same again asked the officers again: %+v", again.posts)
	}
	second := b.handle(b.onChat("UNEW", "I am "+other.Name)).buttonOf(t, "Confirm")
	if got := pressed("UOFFICER", first); !strings.Contains(got.text, "Decide on the later message") || len(got.outcome.Turn.Changes) > 0 {
		t.Errorf("the first question's button: %q", got.text)
	}
	rival := b.handle(b.onChat("UOTHER", "I am "+other.Name)).buttonOf(t, "Confirm")
	b.clock.Set(b.clock.Now().Add(time.Minute))
	if got := pressed("UOFFICER", second).text; !strings.Contains(got, "Let in: "+other.Name) {
		t.Errorf("the second question's button: %q", got)
	}
	if got := pressed("UOFFICER", rival); !strings.Contains(got.text, "another account already") || len(got.outcome.Turn.Changes) > 0 {
		t.Errorf("a second account as the same: %q", got.text)
	}
}

// A refused claim changes nothing, and can be made again.
func TestClaimRefused(t *testing.T) {
	b := chatBench(t)
	who := b.somebody()
	no := b.handle(b.onChat("UNEW", "I am "+who.Name)).buttonOf(t, "Refuse")
	e := b.onChat("UOFFICER", "")
	e.Kind, e.Press = bot.Pressed, no
	if got := b.handle(e).text; !strings.Contains(got, "Refused") {
		t.Errorf("said %q", got)
	}
	if got := b.handle(b.onChat("UNEW", "queue")).text; !strings.Contains(got, "I do not know this account") {
		t.Errorf("said %q", got)
	}
}

// One word of an officer cuts a person off: messages, forms, and buttons on old
// messages. The lead gives it back, and a claim is then confirmed anew.
func TestCutAccess(t *testing.T) {
	b := chatBench(t)
	who := b.somebody()
	yes := b.handle(b.onChat("UNEW", "I am "+who.Name)).buttonOf(t, "Confirm")
	press := func(account, value string) said {
		e := b.onChat(account, "")
		e.Kind, e.Press = bot.Pressed, value
		return b.handle(e)
	}
	b.clock.Set(b.clock.Now().Add(time.Minute))
	press("UOFFICER", yes)
	undo := b.handle(b.onChat("UNEW", "E4 is missing a wood wedge")).button(t, "Undo")
	if got := b.handle(b.onChat("UNEW", "cut access "+who.Name)); !strings.Contains(got.text, "officers are asked") || len(got.outcome.Turn.Changes) > 0 {
		t.Errorf("a member cut: %q", got.text)
	}
	b.clock.Set(b.clock.Now().Add(time.Minute))
	if got := b.handle(b.onChat("UOFFICER", "cut access of "+who.Name)).text; !strings.Contains(got, "cut off from now on") {
		t.Fatalf("an officer cut: %q", got)
	}
	form := b.onChat("UNEW", "")
	form.Kind, form.Form, form.Values = bot.Submitted, "report", map[string]string{"unit": "engine-4", "item": "wood-wedge", "count": "1", "state": "missing"}
	for name, got := range map[string]said{
		"a message": b.handle(b.onChat("UNEW", "queue")), "an old button": press("UNEW", undo), "a form": b.handle(form),
	} {
		if !strings.Contains(got.text, "Your access is cut") || len(got.outcome.Turn.Changes) > 0 {
			t.Errorf("%s: %q", name, got.text)
		}
	}
	if got := b.handle(b.onChat("UOFFICER", "give access back to "+who.Name)).text; !strings.Contains(got, "lead's word") {
		t.Errorf("an officer gave it back: %q", got)
	}
	b.clock.Set(b.clock.Now().Add(time.Minute))
	if got := b.handle(b.onChat("ULEAD", "give access back to "+who.Name)).text; !strings.Contains(got, "let in again") {
		t.Errorf("the lead gave it back: %q", got)
	}
	if got := b.handle(b.onChat("UNEW", "queue")).text; !strings.Contains(got, "I do not know this account") {
		t.Errorf("the old phone after it: %q", got)
	}
}

// A newcomer's own way to say the name is a claim; a name that nobody has is asked
// again.
func TestClaimWords(t *testing.T) {
	name := chatBench(t).desk.Department.Members[5].Name
	for _, text := range []string{
		"I am " + name, "I am, " + name, "i am, and " + name, "It's " + name, name, "I am  " + strings.Replace(name, " ", "  ", 1) + ".", "I am " + name + " from Ladder 1",
		"this is " + strings.ToLower(name),
	} {
		b := chatBench(t)
		if got := b.handle(b.onChat("UNEW", text)).text; !strings.Contains(got, "An officer") || strings.Contains(got, "I do not know") {
			t.Errorf("%q: %q", text, got)
		}
	}
	b := chatBench(t)
	if got := b.handle(b.onChat("UNEW", "the strap is gone")).text; !strings.Contains(got, "I am First Last") {
		t.Errorf("a stranger: %q", got)
	}
}

// Whoever's phone is lost is cut off by any officer at once, the lead too, and
// oneself; the way back is another's to open. A crew's own words for it do.
func TestCutAccessOfWhom(t *testing.T) {
	b := chatBench(t)
	var lead department.Member
	for _, m := range b.desk.Department.Members {
		if m.Has(department.Lead) {
			lead = m
		}
	}
	if got := b.handle(b.onChat("UOFFICER", "cut access "+lead.Name)).text; !strings.Contains(got, "cut off from now on") || !strings.Contains(got, "Another officer") {
		t.Errorf("the lead: %q", got)
	}
	if got := b.handle(b.onChat("ULEAD", "queue")).text; !strings.Contains(got, "access is cut") {
		t.Errorf("the lead, cut off: %q", got)
	}
	b.clock.Set(b.clock.Now().Add(time.Minute))
	if got := b.handle(b.onChat("UOFFICER", "give access back to "+lead.Name)).text; !strings.Contains(got, "let in again") {
		t.Errorf("the lead, let in again: %q", got)
	}
	b.clock.Set(b.clock.Now().Add(time.Minute))
	mine := b.handle(b.onChat("ULEAD", "I lost my phone"))
	if !strings.Contains(mine.text, "Shall I cut the access of "+lead.Name) || !mine.posts[0].Reply.Private {
		t.Errorf("oneself: %q", mine.text)
	}
	cut := b.onChat("ULEAD", "")
	cut.Kind, cut.Press = bot.Pressed, mine.button(t, "Cut access")
	if got := b.handle(cut).text; !strings.Contains(got, lead.Name+" is cut off") {
		t.Errorf("oneself, pressed: %q", got)
	}
	b.clock.Set(b.clock.Now().Add(time.Minute))
	b.handle(b.onChat("UOFFICER", "give access back to "+lead.Name))
	for text, want := range map[string]string{
		"cut off " + lead.Name: "cut off from now on", lead.Name + " lost her phone": "Shall I cut", "somebody stole " + lead.Name + "'s phone": "Shall I cut",
		"cut off the shackle": "", "left my phone in the truck": "", "dropped my phone, it is fine": "",
	} {
		b.clock.Set(b.clock.Now().Add(time.Minute))
		got := b.handle(b.onChat("UOFFICER", text)).text
		if !strings.Contains(got, want) || want == "" && (strings.Contains(got, "cut off from") || strings.Contains(got, "Shall I")) {
			t.Errorf("%q: %q", text, got)
		}
	}
	crew := b.crewOf("engine-4", "B")
	asked := b.press(crew, b.say(crew, "I lost my phone").button(t, "Cut access"))
	if !strings.Contains(asked.text, "officers are asked") || len(asked.outcome.Turn.Changes) > 0 {
		t.Fatalf("a member's own: %q", asked.text)
	}
	e := b.onChat("UOFFICER", "")
	e.Kind, e.Press = bot.Pressed, asked.buttonOf(t, "Cut access")
	if got := b.handle(e).text; !strings.Contains(got, "cut off from now on") {
		t.Errorf("the officer's press: %q", got)
	}
	for _, text := range []string{"how do we get access to a roof", "no access to the back door", "the crew lost access to the shaft"} {
		if got := b.handle(b.onChat("UOFFICER", text)).text; strings.Contains(got, "cut off") || strings.Contains(got, "let in again") {
			t.Errorf("%q: %q", text, got)
		}
	}
}

// Where other organisations read along nobody gets technique, members neither.
func TestOutside(t *testing.T) {
	b := chatBench(t)
	e := b.onChat("UOFFICER", "how do I slip a tight gap")
	e.Outside = true
	if got := b.handle(e); !strings.Contains(got.text, "only inside the department") || len(got.outcome.Turn.Changes) > 0 {
		t.Errorf("said %q", got.text)
	}
}

// Who may is asked at every press: a button that somebody else was shown, or that
// one was shown oneself while one still held the role, does nothing.
func TestPressNeedsTheRole(t *testing.T) {
	b := newBench(t, append(chatCommands(), command.AdoptCommand(), command.RollOutCommand())...)
	b.desk.AdoptsAll = false
	officer, lead := b.speaker("engine-4"), b.holder(department.Lead)
	crew := b.crewOf("engine-4", "B")
	b.say(officer, "E4 is missing the fork")
	undo := "undo:" + fmt.Sprintf("e%d", b.events)
	b.say(lead, "roll out the latch film")
	claim := b.onChat("UNEW", "I am "+b.desk.Department.Members[0].Name)
	yes := b.handle(claim).buttonOf(t, "Confirm")
	d := *b.desk.Department
	d.Members = append([]department.Member(nil), d.Members...)
	for i, m := range d.Members {
		if m.ID == officer.ID {
			d.Members[i].Roles = []department.Role{department.Crew}
		}
	}
	b.desk.Department = &d
	for _, row := range []struct {
		name, press, want string
		who               bot.Speaker
	}{
		{"take a line", "queue:take:1:1", "quartermaster's step", crew},
		{"take a line on its message", "queue:own-take:1:1", "quartermaster's step", crew},
		{"not a fault", "queue:no-fault:1:1", "officer's word", crew},
		{"not a fault, by one who was an officer", "queue:no-fault:1:1", "officer's word", officer},
		{"write off", "queue:where:1:1:off", "officer's word", crew},
		{"let somebody in", yes, "officer's word", crew},
		{"let somebody in, by one who was an officer", yes, "officer's word", officer},
		{"adopt all", "adopt:all", "chief of training", crew},
		{"adopt one", "adopt:card:slip-inward", "chief of training", crew},
		{"finish a roll-out", "roll-out:finish:latch-film", "lead's word", crew},
		{"take back another's report", undo, "Only the person who wrote it", crew},
	} {
		t.Run(row.name, func(t *testing.T) {
			got := b.press(row.who, row.press)
			if !strings.Contains(got.text, row.want) || len(got.outcome.Turn.Changes) > 0 {
				t.Errorf("said %q, want %q; %d changes", got.text, row.want, len(got.outcome.Turn.Changes))
			}
		})
	}
}
