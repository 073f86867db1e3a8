package command_test

import (
	"slices"
	"strings"
	"testing"
	"time"

	"kitbell/bot"
	"kitbell/bot/command"
	"kitbell/bot/department"
)

// budgetBench is a bench with the demo's past, and its lead.
func budgetBench(t *testing.T) (b *bench, lead bot.Speaker) {
	t.Helper()
	b = newBench(t, command.BudgetCommand(), command.WishCommand(), command.FiguresCommand(), command.SessionCommand(), command.ReportCommand(), command.QueueCommand(), command.UndoCommand(), command.NoneCommand())
	m := b.desk.Department.MembersWith(department.Lead)[0]
	return b, bot.Speaker{ID: m.ID, Member: m.ID, Unit: m.Unit, Platoon: m.Platoon}
}

// rows says one thing after the other and looks for what each answer has to hold.
func (b *bench) rows(who bot.Speaker, rows [][2]string) {
	b.t.Helper()
	for _, row := range rows {
		if got := b.say(who, row[0]).text; !strings.Contains(got, row[1]) {
			b.t.Errorf("%q: %q, want %q", row[0], got, row[1])
		}
	}
}

// The request is the lead's, the chief's and the quartermaster's; a crew hears whose.
func TestBudgetWhose(t *testing.T) {
	b, lead := budgetBench(t)
	crew := b.crewOf("engine-4", "B")
	for _, said := range []string{"budget", "hand in the request", "request 2028-1 approved", "budget add 2 locks at 5", "entry calls october 5"} {
		if got := b.say(crew, said); len(got.outcome.Turn.Changes) > 0 || !strings.Contains(got.text, "The request is worked on by") {
			t.Errorf("%q: %q", said, got.text)
		}
	}
	quartermaster := b.desk.Department.MembersWith(department.Quartermaster)[0]
	b.rows(bot.Speaker{ID: quartermaster.ID, Member: quartermaster.ID}, [][2]string{{"budget", "a draft"}, {"hand in the request", "lead's word"}})
	d := *b.desk.Department
	d.Budget = department.Budget{}
	b.desk.Department = &d
	b.rows(lead, [][2]string{{"budget", "no budget section"}, {"wishes", "Wishes for the year from 1 Jan 2027"}})
}

// A department without any record asks for nothing, and says so; its own lines and
// wishes are what there is.
func TestBudgetFromNothing(t *testing.T) {
	b, lead := budgetBench(t)
	d := *b.desk.Department
	d.Kits = slices.Clone(d.Kits)
	for i := range d.Kits { // nothing to convert
		d.Kits[i].List = d.InForce
	}
	b.desk.Department = &d
	b.rows(lead, [][2]string{
		{"budget lines", "Nothing is asked for yet"},
		{"why the shove knife", "No line asks for the shove knife"},
		{"why 7 at $99", "Which line do you mean"},
		{"what did we lose last year", "There are no records of that year"},
		{"hand in the request", "$0.00 in all"},
		{"last year's request", "No request was handed in yet"},
		{"request 2028-1 approved", "There is no request 2028-1"},
		{"best set under $100", "No line that the model gives a worth costs so little"},
		{"budget add 2 practice locks at 85.00 because the old ones are worn", "2 × practice locks at $85.00"},
		{"budget add -2 locks at 85.00", "more than zero"},
		{"budget add 2 locks at -85.00", "more than zero"},
		{"budget add 3 training boards", "no price, so it is in no total"},
		{"budget add 2 under-door levers", "at its price on the list"},
		{"budget lines", "2 × $85.00 = $170.00, in all $180.20"},
		{"budget lines", "Training boards (own line): 3. In no total: Nobody has a price"},
		{"budget lines", "2 × $118.00 = $236.00"},
		{"what is wrong with the request", "Nobody has a price for the training boards"},
		{"why 2 at $118", "Line 3: under-door lever tool"},
		{"budget drop training boards", "Out of the request: training boards"},
		{"budget drop training boards", "no such line of your own"},
		{"what is wrong with the request", "Nothing: every line has a price"},
	})
}

// A wish that was granted is a line, for every kit or for some; leaving rigs out
// works the sums out again.
func TestBudgetWishesAndWithout(t *testing.T) {
	b, lead := budgetBench(t)
	crew := b.crewOf("engine-4", "B")
	b.say(crew, "wish: a second air wedge because one leaks")
	b.say(crew, "wish: a magnet for the lid because it falls open")
	b.rows(lead, [][2]string{
		{"wish 1 yes", "one for every kit"},
		{"wish 2 yes, 2 for E7 and E6 at $3.50", "2 each for Engine 7, Engine 6"},
		{"budget lines wishes", "Second air wedge (wish): 11 × $44.00 = $484.00"},
		{"budget lines wishes", "Magnet for the lid (wish): 4 × $3.50 = $14.00, in all $14.84"},
		{"what if we leave station 7 out", "Second air wedge (wish): 11 becomes 10, $513.04 becomes $466.40"},
		{"what if we leave out E6 and E7", "Magnet for the lid (wish): 4 becomes 0"},
		{"what if we leave the boat out", "Boat 5 carries no kit in this request"},
		{"what if we leave it out", "Which rigs or which station"},
		{"why the air wedge", "One leaks."},
	})
}

// Between the closing of the wishes and the new fiscal year the request is still that
// year's, with the wishes that were made in time.
func TestBudgetAfterTheClosing(t *testing.T) {
	b, lead := budgetBench(t)
	crew := b.crewOf("engine-4", "B")
	b.say(crew, "wish: a magnet because the card falls out")
	b.say(lead, "wish 1 yes at 3.50")
	b.clock.Set(time.Date(2027, time.April, 20, 9, 0, 0, 0, b.desk.Department.Zone))
	b.say(crew, "wish: a brush because of the sand")
	b.rows(lead, [][2]string{
		{"wish 2 yes at 2.00", "in the request"},
		{"budget", "Request for fiscal year 2028, from 1 Jul 2027"},
		{"budget lines wishes", "Magnet (wish): 11 × $3.50"},
	})
	if got := b.say(lead, "budget lines wishes").text; strings.Contains(got, "brush") {
		t.Errorf("a wish of the year after is in it: %q", got)
	}
	b.clock.Set(time.Date(2027, time.July, 2, 9, 0, 0, 0, b.desk.Department.Zone))
	b.rows(lead, [][2]string{{"budget", "Request for fiscal year 2029"}, {"budget lines wishes", "Brush (wish)"}})
}

// A request is frozen under its number, is followed line by line, and what happens
// later stands beside it.
func TestBudgetLife(t *testing.T) {
	b, lead := budgetBench(t)
	b.say(lead, "budget add 11 practice locks at 100.00 because the old ones are worn")
	b.say(lead, "budget add 2 boards at 10.00")
	b.say(lead, "budget add 1 book at 30.00")
	shown := b.say(lead, "hand in the request")
	if !strings.Contains(shown.text, "signed by Ines Okafor") {
		t.Fatalf("shown %q", shown.text)
	}
	b.say(lead, "budget add 1 more book at 30.00")
	if again := b.press(lead, shown.button(t, "Sign and hand in")); len(again.outcome.Turn.Changes) > 0 {
		t.Fatalf("something came in between, and it was signed: %q", again.text)
	}
	signed := b.press(lead, b.say(lead, "hand in the request").button(t, "Sign and hand in"))
	if !strings.HasPrefix(signed.text, "Request 2028-1 is handed in:") {
		t.Fatalf("signed %q", signed.text)
	}
	line := func(title string) string { return "line " + b.lineNumber(lead, title) }
	locks, boards, book := line("Practice locks"), line("Boards"), line("Book")
	b.rows(lead, [][2]string{
		{"request 2028-1 whatever", "What became of it?"},
		{"request 2028-1 line 99 cut because of the reserve", "Which line of request 2028-1"},
		{"request 2028-1 " + book + " cut", "needs a reason"},
		{"request 2028-1 " + book + " cut because there is one", "Request 2028-1, Book: cut, there is one."},
		{"request 2028-1 " + locks + " granted $600", "Request 2028-1, Practice locks: partly funded, $600.00."},
		{"request 2028-1 bought 3 of " + boards, "Nobody has decided"},
		{"request 2028-1 approved", "the whole request: approved"},
		{"request 2028-1 approved", "decided already"},
		{"request 2028-1 bought 5 of " + locks + " for $520, PO 1234", "bought, 5 pieces, $520.00"},
		{"request 2028-1 4 of " + locks + " in the kits", "in the kits, 4 pieces"},
		{"request 2028-1 9 of " + locks + " in the kits", "1 are bought and not yet in a kit"},
		{"request 2028-1 bought 1 of " + book + " for $30", "was cut"},
		{"request 2028-1 corrected because the old ones were six", "the whole request: corrected"},
		{"last year's request", "partly funded"},
		{"last year's request", "the old ones were six"},
		{"request 2028-2", "There is no request 2028-2"},
		{"spend picture", "FY 2028: asked"},
	})
	b.clock.Set(b.clock.Now().AddDate(1, 0, 0))
	b.rows(lead, [][2]string{{"budget", "fiscal year 2029"}, {"budget", "Before: Request 2028-1: asked"}, {"last year's request", "Request 2028-1"}})
}

// Once a request is with the committee, questions are about it and say so; a draft is
// asked for by name. What is no amount is refused.
func TestBudgetHeardAsHandedIn(t *testing.T) {
	b, lead := budgetBench(t)
	b.say(lead, "budget add 2 practice locks at 85.00 because the old ones are worn")
	b.press(lead, b.say(lead, "hand in the request").button(t, "Sign and hand in"))
	b.say(lead, "budget add 4 boards at 10.00")
	n := b.lineNumber(lead, "Practice locks")
	b.rows(lead, [][2]string{
		{"budget", "Request 2028-1 for fiscal year 2028, handed in on"},
		{"budget", "$42.40 more. It changes nothing in what was handed in."},
		{"budget draft", "a draft"},
		{"why 2 at $85", "Of: request 2028-1, as it was handed in."},
		{"why 2 at $85 in request 2028-1", "Practice locks"},
		{"why 4 at $10", "Which line do you mean"},
		{"why 4 at $10 in the draft", "Boards"},
		{"request 2028-1 line " + n, "What became of it: Asked: 2 for $180.20, not decided."},
		{"request 2028-1 line 99", "Which line of request 2028-1"},
		{"request 2028-1 approved", "approved"},
		{"budget", "granted and not bought yet"},
		{"request 2028-1 bought -1 of line " + n + " for $38", "more than zero"},
		{"request 2028-1 bought 1 of line " + n + " for $0", "more than zero"},
		{"request 2028-1 bought 2 of line " + n + " for $200", "That is $19.80 more than was granted"},
	})
}

// What is granted after a request was handed in is asked for in the next one, and what
// was in one is not asked for again.
func TestBudgetAsksOnce(t *testing.T) {
	b, lead := budgetBench(t)
	crew := b.crewOf("engine-4", "B")
	b.say(crew, "wish: a magnet because the card falls out")
	b.say(crew, "wish: a brush because of the sand")
	b.say(lead, "wish 1 yes at 3.50")
	b.say(lead, "budget add 3 boards at 12.00")
	b.press(lead, b.say(lead, "hand in the request").button(t, "Sign and hand in"))
	b.say(lead, "wish 2 yes at 2.00")
	b.clock.Set(b.clock.Now().AddDate(1, 0, 0))
	got := b.say(lead, "budget lines").text
	if strings.Contains(got, "Magnet") || strings.Contains(got, "Boards") || !strings.Contains(got, "Brush (wish): 11 × $2.00") {
		t.Errorf("the year after: %q", got)
	}
	b.say(crew, "wish: a second air wedge because one leaks")
	b.rows(lead, [][2]string{{"wish 3 yes, 2 for E6 at 19.00", "$19.00 each."}, {"budget lines wishes", "Second air wedge (wish): 2 × $19.00"}})
	if got := b.say(crew, "why the film"); strings.Contains(got.text, "line") {
		t.Errorf("a crew's why: %q", got.text)
	}
}

// lineNumber is the number of a line of the request that the lead sees.
func (b *bench) lineNumber(lead bot.Speaker, title string) string {
	b.t.Helper()
	for line := range strings.SplitSeq(b.say(lead, "budget lines own lines").text, "\n") {
		_, line, _ = strings.Cut(line, "Line ")
		if number, rest, ok := strings.Cut(line, ". "); ok && strings.HasPrefix(rest, title) {
			return number
		}
	}
	b.t.Fatalf("no line %s", title)
	return ""
}

// Monthly counts are the denominator of what was recorded; training's use is a line
// apart.
func TestBudgetSampleAndTraining(t *testing.T) {
	b, lead := budgetBench(t)
	now := b.clock.Now().In(b.desk.Department.Zone)
	b.clock.Set(time.Date(now.Year(), now.Month(), now.Day(), 16, 0, 0, 0, now.Location()))
	b.rows(lead, [][2]string{
		{"entry calls october 52", "October 2026 52."},
		{"entry calls dec 2027 5", "Say a month that is over"},
		{"entry calls december 6", "December 2025 6."},
		{"entry calls: jan 2026 10, feb: 12\n2026-03 11", "January 2026 10, February 2026 12, March 2026 11."},
		{"entry calls december 7", "December 2025 7."},
		{"entry calls december about 7", "Say a month that is over"},
		{"entry calls october -5", "Say a month that is over"},
		{"session: hooks; standard 5.3.4; today 10:00-11:00; at Station 6", "Session 1"},
		{"session 1 used 3 latch films", "counts as training's use in the yearly request"},
		{"budget lines own lines", "Latch film, for training (own line): 3 × $19.00"},
		{"budget line 1", "0 of 92 entry calls recorded"},
	})
}

// What is wrong in the file or the records is said in the request, and hides in no
// total.
func TestBudgetSaysWhatIsWrong(t *testing.T) {
	b, lead := budgetBench(t)
	d := *b.desk.Department
	d.Items = slices.Clone(d.Items)
	d.Units = slices.Clone(d.Units)
	for i := range d.Items {
		switch d.Items[i].ID {
		case "door-strap":
			d.Items[i].Cents, d.Items[i].Priced = 0, true
		case "air-wedge":
			d.Items[i].Cents, d.Items[i].Priced = 0, false
		case "irons", "shove-knife":
			d.Items[i].Life = 8
		}
	}
	for i := range d.Units {
		d.Units[i].Sold = d.Units[i].ID == "engine-7"
	}
	b.desk.Department = &d
	b.rows(lead, [][2]string{
		{"budget add 2 door straps", "at its price on the list"},
		{"budget add 2 air wedges", "at its price on the list"},
		{"what is wrong with the request", "The price of the door strap is down as zero"},
		{"what is wrong with the request", "Nobody has a price for the air wedge"},
		{"what is wrong with the request", "Kit k11 is still down as riding Engine 7, which was sold"},
		{"what is wrong with the request", "Nobody noted since when the shove knife serves"},
		{"budget lines own lines", "door strap (own line): 2. In no total"},
		{"budget", "2 more lines in no total"},
		{"export the records", "kitbell export"},
	})
}

// What a committee asks is answered, or it hears what can be: never a card, never the
// whole request in the place of an answer.
func TestBudgetInTheHearing(t *testing.T) {
	b, lead := budgetBench(t)
	crew := b.crewOf("engine-4", "B")
	b.say(crew, "wish: a second air wedge because one leaks")
	b.rows(lead, [][2]string{
		{"wish 1 yes, -3 for E6 at 19", "more than zero"},
		{"wish 1 yes, 1 for E6 and E99 at 16", "no rig by that name"},
		{"wish 1 yes at $0", "more than zero"},
		{"wish 1 yes", "one for every kit"},
		{"budget add 2 practice locks at 85.00", "2 × practice locks"},
		{"budget add 2 practice locks at 85.00", "a line called practice locks already"},
		{"budget add 0 locks at 5", "more than zero"},
		{"budget add printing", "Say it like this"},
		{"why eleven at $44?", "Second air wedge"},
		{"why eleven at $85", "No line is just that."},
		{"what if we leave Station 7 out?", "Fiscal year 2028: $758.96 becomes $712.32, $46.64 less."},
		{"what if we cut the wishes", "$758.96 becomes $245.92"},
		{"what if we drop the air wedge", "$758.96 becomes $245.92"},
		{"what if prices rise 5%", "$758.96 becomes $796.90"},
		{"what if we only fund half", "I cannot answer that from the request"},
		{"how much for the air wedge", "$513.04 in all"},
		// 24 + 31 + 36 + 68 + 79 + 22 + 26 + 38 + 2×19 + 14 + 92 + 97 + 118 + 44 + 4×2.50 + 2×17 + 21 + 9 + 2×4 + 28 + 8.50 + 33 + 3×1.20 + 12 + 16 (SCENARIO)
		{"what does one kit cost", "costs $910.10 at list prices"},
		{"which is the most expensive line", "Second air wedge (wish): 11 × $44.00"},
		{"use and loss E99", "no rig by that name"},
		{"use and loss station 4", "by kit, 4 Orchard Hill"},
		{"budget line 1", "Line 1: "},
		{"line 3", "Line 3: "},
		{"queue", "Nothing open"},
	})
	if got := b.say(crew, "help wish"); len(got.outcome.Turn.Changes) > 0 {
		t.Errorf("help was noted: %q", got.text)
	}
	got := b.say(crew, "we need another latch film")
	if !strings.Contains(got.text, "Wish 2 noted: another latch film.") || !strings.Contains(got.text, "The list has 2 in each kit now.") {
		t.Errorf("more is wished for: %q", got.text)
	}
	got.button(t, "One is missing")
}
