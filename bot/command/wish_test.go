package command_test

import (
	"strings"
	"testing"

	"kitbell/bot"
	"kitbell/bot/budget"
	"kitbell/bot/command"
	"kitbell/bot/department"
	"kitbell/schedule"
)

// wishBench has three crews that ask, and the lead.
func wishBench(t *testing.T) (b *bench, lead, first, second bot.Speaker) {
	t.Helper()
	b = newBench(t, command.WishCommand(), command.UndoCommand(), command.NoneCommand())
	m := b.desk.Department.MembersWith(department.Lead)[0]
	lead = bot.Speaker{ID: m.ID, Member: m.ID, Unit: m.Unit, Platoon: m.Platoon}
	return b, lead, b.speaker("engine-4"), b.speaker("engine-6")
}

// dues are the words of news that a turn lets crews hear.
func dues(s said) []schedule.Due {
	var all []schedule.Due
	for _, c := range s.outcome.Turn.Changes {
		if fell, ok := c.(schedule.Fell); ok {
			all = append(all, fell.Due)
		}
	}
	return all
}

// The same wish joins whatever its words, crews are counted once, and the lead's
// answer goes to each of them.
func TestWishAnswered(t *testing.T) {
	b, lead, first, second := wishBench(t)
	for _, row := range []struct {
		who        bot.Speaker
		said, want string
	}{
		{first, "wish: a magnet for the lid because the card falls out", "Wish 1 noted: a magnet for the lid."},
		{first, "wish: a second air wedge because one leaks", "Wish 2 noted"},
		{first, "wish: another air wedge because one leaks", "It joins wish 2, a second air wedge: 1 crew asked"},
		{second, "we should carry two air wedges because one leaks", "It joins wish 2, a second air wedge: 2 crews asked"},
		{second, "wish: a longer air wedge because the gap is deep", "Wish 3 noted"},
		{first, "wish 2 yes", "lead's word"},
		{lead, "wish 2 no", "say why"},
		{lead, "wish 12 yes", "no such wish"},
		{lead, "wish 2 yes", "in the request, one for every kit. Each of the 2 crews"},
		{lead, "wish 2 yes", "answered already"},
		{lead, "wish 1 yes", "no price yet"},
		{lead, "wish 1: yes, two for E4 at $3.50", "in the request, 2 each for Engine 4"},
		{lead, "wish 3 later, because we wait for the trial", "Wish 3, a longer air wedge: later, we wait for the trial."},
		{first, "wish 1", "Because: the card falls out"},
		{second, "another air wedge please for the kit, wish list", ""},
	} {
		if got := b.say(row.who, row.said).text; !strings.Contains(got, row.want) {
			t.Errorf("%q: %q, want %q", row.said, got, row.want)
		}
	}
	got := b.say(lead, "wish 2 no because they leak")
	news := dues(got)
	if len(news) != 2 || news[0].Kind != schedule.NewsDue || news[0].Topic != "wish:2" || news[0].Unit != "engine-4" || news[0].Platoon != "A" || news[1].Unit != "engine-6" {
		t.Errorf("news %+v", news)
	}
	if seen := b.say(lead, "wish 1").text; !strings.Contains(seen, "Price each: $3.50") {
		t.Errorf("the lead sees %q", seen)
	}
}

// Who asked may say that it is another wish, and nobody else may.
func TestWishApart(t *testing.T) {
	b, _, first, second := wishBench(t)
	b.say(first, "wish: glow tape on the bag because it is dark")
	got := b.say(second, "wish: glow tape for the bag because it is dark")
	apart := got.button(t, "It is another wish")
	if other := b.press(first, apart); len(other.outcome.Turn.Changes) > 0 {
		t.Errorf("another person parts it: %q", other.text)
	}
	if own := b.press(second, apart).text; !strings.Contains(own, "Wish 2 noted") {
		t.Errorf("said %q", own)
	}
	if again := b.press(second, apart); len(again.outcome.Turn.Changes) > 0 {
		t.Errorf("twice: %q", again.text)
	}
	if list := b.say(first, "wishes").text; !strings.Contains(list, "2 wishes") {
		t.Errorf("said %q", list)
	}
}

// After the closing day a wish counts for the next year, and says so.
func TestWishesClose(t *testing.T) {
	b, lead, first, _ := wishBench(t)
	b.say(first, "wish: a magnet because the card falls out")
	closes, _ := budget.WishYear(b.clock.Now().In(b.desk.Department.Zone), budget.YearDay{Month: 3, Day: 15}, budget.YearDay{Month: 7, Day: 1})
	b.clock.Set(closes)
	if got := b.say(first, "wish: a brush because of the sand").text; !strings.Contains(got, "are closed; this one counts for the year that begins 1 Jul") {
		t.Errorf("said %q", got)
	}
	if got := b.say(lead, "when do wishes close").text; !strings.Contains(got, "They close on 15 Mar") || !strings.Contains(got, "magnet") || !strings.Contains(got, "brush") {
		t.Errorf("an unanswered wish is lost: %q", got)
	}
}
