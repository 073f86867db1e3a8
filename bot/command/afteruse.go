package command

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"kitbell/bot"
	"kitbell/bot/department"
	"kitbell/bot/understand"
)

// A use that was told at the door has a time and an attempt, no more. Back on
// the rig the rest is asked once, a tap a question. The answers so far ride in
// the buttons, a letter each, so that the questions can be taken up hours later
// and nothing is written before the last one: used:tell:EVENT:aba names the
// event that opened the door and the first three answers.

// skipped is the letter of a question that was passed over, or not asked because
// the answer was known.
const skipped = '-'

// tellFor is how long after the door the rest can still be told.
const tellFor = 14 * 24 * time.Hour

// choice is an answer to a question after use, as it is shown and as it is kept.
type choice struct{ label, value string }

// asked is one question after use. Known says whether the record has the answer
// already.
type asked struct {
	text    string
	choices func(r *Request, u use) []choice
	known   func(u use) bool
	set     func(u *use, value string)
}

func fixed(choices ...choice) func(*Request, use) []choice {
	return func(*Request, use) []choice { return choices }
}

func never(use) bool { return false }

func tryChoices() []choice {
	return []choice{{"1st", "1"}, {"2nd", "2"}, {"3rd", "3"}, {"Later", "4"}}
}

func markChoices() []choice {
	return []choice{{"None", "none"}, {"Scuff", "scuff"}, {"Scar", "scar"}, {"Hardware lost", "hardware"}, {"Door or frame lost", "door"}}
}

func leftChoices() []choice {
	return []choice{
		{"Relatched", "relatched"}, {"Boarded", "boarded"}, {"Guarded", "guarded"}, {"Police", "police"}, {"Keyholder", "keyholder"}, {"Owner", "owner"},
		{"Not secured", leftUnsecured},
	}
}

// questionsAfterUse are asked in this order.
func questionsAfterUse() []asked {
	return []asked{
		{"What opened it?", waysOf, never, setWay},
		{"On which try?", fixed(tryChoices()...),
			func(u use) bool { return u.Tries > 0 }, func(u *use, v string) { u.Tries = int(v[0] - '0') }},
		{"What mark did it leave?", fixed(markChoices()...),
			func(u use) bool { return u.Mark != "" }, func(u *use, v string) { u.Mark = v }},
		{"What kind of call?", fixed(choice{"Lift assist", "lift-assist"}, choice{"Welfare check", "welfare-check"}, choice{"Alarm", "alarm-sounding"}, choice{"Water leak", "water-leak"},
			choice{"Locked out", "locked-out"}, choice{"Guest room", "guest-room"}, choice{"Fire", "fire"}), func(u use) bool { return u.Call != "" }, func(u *use, v string) { u.Call = v }},
		{"How did you leave it?", fixed(leftChoices()...), func(u use) bool { return u.Left != "" }, func(u *use, v string) { u.Left = v }},
		{"Who ordered the entry?", fixed(choice{"Company officer", "officer"}, choice{"Incident commander", "incident commander"}, choice{"Chief", "chief"}, choice{"Our own decision", "crew"}),
			func(u use) bool { return u.Ordered != "" }, func(u *use, v string) { u.Ordered = v }},
		{"Real call or practice?", fixed(choice{"Real call", "real"}, choice{"Practice", "practice"}), never, func(u *use, v string) { u.Practice = v == "practice" }},
	}
}

// waysOf offers the attempt that was running, those that had failed before, and
// what else opens doors.
func waysOf(r *Request, u use) []choice {
	var ways []choice
	add := func(way string) {
		technique, _, _ := strings.Cut(way, "/")
		label := upperFirst(r.cardTitle(technique))
		if way != "" && !slices.ContainsFunc(ways, func(c choice) bool { return c.label == label }) {
			ways = append(ways, choice{label, way})
		}
	}
	add(u.way())
	for _, way := range u.Facts.Failed {
		add(way)
	}
	add("force-it")
	return append(ways, choice{"Handle or key", "try-first"})
}

// setWay takes the attempt that is said to have opened the door. It did not fail
// after all.
func setWay(u *use, way string) {
	if u.Way != way {
		u.Tools = nil // another way takes others
	}
	u.Way = way
	u.Technique, _, _ = strings.Cut(way, "/")
	u.Facts.Failed = slices.DeleteFunc(slices.Clone(u.Facts.Failed), func(w string) bool { return w == way })
}

// tellValue is the button that goes on telling of the door that an event opened.
// Platforms whose event ids are long get one that finds the crew's last door.
func tellValue(event, answers string) string {
	value := fmt.Sprintf("%s:tell:%s:%s", understand.Used, event, answers)
	if len(value) > bot.MaxButtonValue {
		return fmt.Sprintf("%s:tell::%s", understand.Used, answers)
	}
	return value
}

// pressUse carries out a press about records of use.
func (r *Request) pressUse(ctx context.Context) (Result, error) {
	verb, ref := press(r.Ref)
	switch verb {
	case "tell":
		at := strings.LastIndexByte(ref, ':')
		if at < 0 {
			return r.tell(ctx, "", "")
		}
		return r.tell(ctx, ref[:at], ref[at+1:])
	case "list":
		return r.listUses(ctx)
	case "withdraw":
		return r.withdrawUse(ctx, ref)
	case "incident":
		return r.addIncident(ctx, ref)
	case "practice":
		return r.wasPractice(ctx)
	}
	return Result{}, bot.SayOldButton.With()
}

// tell asks the next question about a door, or writes the record when there is
// none left.
func (r *Request) tell(ctx context.Context, event, answers string) (Result, error) {
	entry, u, err := r.untold(ctx, event)
	if err != nil {
		return Result{}, err
	}
	questions := questionsAfterUse()
	if len(answers) > len(questions) {
		return Result{}, bot.SayOldButton.With()
	}
	for i, q := range questions {
		if i < len(answers) {
			if err := r.take(q, &u, answers[i]); err != nil {
				return Result{}, err
			}
			continue
		}
		if !q.known(u) {
			return Answer(r.askAfterUse(q, u, entry, answers)), nil
		}
		answers += string(skipped)
	}
	u.OnScene = false
	result := r.writeUse(u, []bot.Change{bot.Withdrawn{Entry: entry, At: r.Now}})
	if !u.Practice {
		result.Posts[0].Reply.Text += " To add the incident number, type: incident 26-1234."
	}
	result.Posts = append(result.Posts, r.raise(u)...)
	return r.afterUse(ctx, result, u)
}

// take puts one answer into the record.
func (r *Request) take(q asked, u *use, letter byte) error {
	if letter == skipped {
		return nil
	}
	choices := q.choices(r, *u)
	i := int(letter) - 'a'
	if i < 0 || i >= len(choices) {
		return bot.SayOldButton.With()
	}
	q.set(u, choices[i].value)
	return nil
}

func (r *Request) askAfterUse(q asked, u use, entry bot.Entry, answers string) bot.Reply {
	reply := bot.Reply{Text: q.text}
	if answers == "" {
		reply.Text = fmt.Sprintf("The door of %s. %s", r.day(entry.At), q.text)
	}
	for i, c := range q.choices(r, u) {
		reply.Buttons = append(reply.Buttons, bot.Button{Label: c.label, Value: tellValue(entry.Event, answers+string(rune('a'+i)))})
	}
	reply.Buttons = append(reply.Buttons, bot.Button{Label: "Skip", Value: tellValue(entry.Event, answers+string(skipped))})
	return reply
}

// untold finds a use that was told at a door: that of an event, or the crew's
// last one.
func (r *Request) untold(ctx context.Context, event string) (bot.Entry, use, error) {
	entries, err := r.Books.Entries(ctx, r.Department.Slug, useKind, "", r.Now.Add(-tellFor))
	if err != nil {
		return bot.Entry{}, use{}, fmt.Errorf("read uses: %w", err)
	}
	for _, e := range slices.Backward(entries) {
		u, err := decode[use](e)
		if err != nil {
			return bot.Entry{}, use{}, err
		}
		if !u.OnScene || event != "" && e.Event != event || event == "" && !r.ofMyCrew(e, u) {
			continue
		}
		if !r.mayTouch(e, u) {
			return bot.Entry{}, use{}, bot.SayOtherCrew.With()
		}
		return e, u, nil
	}
	return bot.Entry{}, use{}, bot.SayNothingToTell.With()
}

func (r *Request) ofMyCrew(e bot.Entry, u use) bool {
	return e.Person == r.Who.Person || u.Unit != "" && u.Unit == r.Who.Unit
}

// mayTouch says whether the speaker may tell the rest of a use or withdraw it.
func (r *Request) mayTouch(e bot.Entry, u use) bool {
	return r.ofMyCrew(e, u) || r.Who.May(department.Training)
}

// completesFor is how long after a door a line that tells of the same technique
// is taken to be about it.
const completesFor = 12 * time.Hour

// completes takes over what was told at the door when a typed line tells the
// rest of it, and withdraws the first half: one door is one record.
func (r *Request) completes(ctx context.Context, u *use) ([]bot.Change, error) {
	entries, err := r.Books.Entries(ctx, r.Department.Slug, useKind, u.subject(), r.Now.Add(-completesFor))
	if err != nil {
		return nil, fmt.Errorf("read uses: %w", err)
	}
	for _, e := range slices.Backward(entries) {
		told, err := decode[use](e)
		if err != nil {
			return nil, err
		}
		if !told.OnScene || u.Practice || u.Outcome == understand.NotYet || !r.ofMyCrew(e, told) {
			continue
		}
		u.Way, u.Facts, u.Outcome, u.Tools, u.Absent = told.Way, told.Facts, told.Outcome, told.Tools, told.Absent
		if u.Technique == "" && len(u.Items) == 0 {
			u.Technique = told.Technique
		}
		if u.Call == "" {
			u.Call = told.Call
		}
		return []bot.Change{bot.Withdrawn{Entry: e, At: r.Now}}, nil
	}
	return nil, nil
}

// readHowItWasLeft takes "left not secured" for what it is, whatever else the
// words look like: an officer has to hear of an open door.
func (r *Request) readHowItWasLeft() {
	if r.Verb != "" || !unsecured.MatchString(r.Event.Text) || question.MatchString(r.Event.Text) {
		return
	}
	switch r.Reading.Intent {
	case understand.Ask, understand.None, understand.Door:
		r.Reading.Intent = understand.Used
	case understand.Report:
		r.Reading.Also = append(r.Reading.Also, understand.Used)
		r.Reading.Use.Left = leftUnsecured
	}
}

// addIncident puts an incident number to the speaker's last use of the day.
func (r *Request) addIncident(ctx context.Context, number string) (Result, error) {
	if number == "" || incidentIn("incident "+number) != number {
		return Result{}, bot.SayOldButton.With()
	}
	entry, u, err := r.lastUse(ctx, r.Now.Add(-24*time.Hour))
	if err != nil {
		return Result{}, err
	}
	u.Incident = number
	return r.writeUse(u, []bot.Change{bot.Withdrawn{Entry: entry, At: r.Now}}), nil
}

// wasPractice takes the speaker's last use of the day out of the counts: it was no
// call.
func (r *Request) wasPractice(ctx context.Context) (Result, error) {
	entry, u, err := r.lastUse(ctx, r.Now.Add(-24*time.Hour))
	if err != nil {
		return Result{}, err
	}
	u.Practice = true
	return r.writeUse(u, []bot.Change{bot.Withdrawn{Entry: entry, At: r.Now}}), nil
}

// lastUse is the speaker's last record of use since an instant.
func (r *Request) lastUse(ctx context.Context, since time.Time) (bot.Entry, use, error) {
	entries, err := r.Books.Entries(ctx, r.Department.Slug, useKind, "", since)
	if err != nil {
		return bot.Entry{}, use{}, fmt.Errorf("read uses: %w", err)
	}
	for _, e := range slices.Backward(entries) {
		if e.Person == r.Who.Person {
			u, err := decode[use](e)
			return e, u, err
		}
	}
	return bot.Entry{}, use{}, bot.SayNothingToTell.With()
}
