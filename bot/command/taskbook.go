package command

import (
	"context"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	"kitbell/bot"
	"kitbell/bot/department"
	"kitbell/bot/training"
	"kitbell/bot/understand"
)

// TaskBookCommand keeps the department's task book: what a member has shown, signed
// by a qualified evaluator.
func TaskBookCommand() Command {
	return Command{
		Name:    string(understand.SignOff),
		Usage:   "signed off {member} on slip an inward door, opens away, spring latch, 2 tries",
		For:     department.Officer,
		Summary: "Sign a skill of the task book for somebody else. my task book shows what stands.",
		Run:     taskBook,
	}
}

// bookKind is the journal's word for an entry in a task book; its subject is the
// member's.
const bookKind = "task-book"

var (
	signs        = regexp.MustCompile(`(?i)\b(?:sign(?:ed|s|ing)?(?: (?:off|him|her))?|passed|completed)\b`)
	bookWithdraw = regexp.MustCompile(`(?i)^withdraw (?:the |my )?sign-?off #?(\d+)(?:,? because (.+?))?\.?$`)
	triesSaid    = regexp.MustCompile(`(?i)\b(\d{1,2}|one|two|three|first|second|third)(?:st|nd|rd)? (?:try|tries)\b`)
)

// signOffWordsOf gives the button that a sentence about the task book stands for. What
// somebody showed at a door reads like a use of the kit, so the first word decides.
func signOffWordsOf(words string) (press string, ok bool) {
	switch {
	case bookWithdraw.MatchString(words):
		return string(understand.SignOff) + ":withdraw", true
	case signsFirst.MatchString(words):
		return string(understand.SignOff) + ":say", true
	}
	return "", false
}

var signsFirst = regexp.MustCompile(`(?i)^sign(?:ed|s|ing)? off\b`)

func taskBook(ctx context.Context, r *Request) (Result, error) {
	if !r.Who.member() {
		return Result{}, bot.SayMembersOnly.With()
	}
	if r.Verb != "" && r.Ref != "withdraw" && r.Ref != "say" {
		return Result{}, bot.SayOldButton.With()
	}
	signed, err := r.signOffs(ctx)
	switch {
	case err != nil:
		return Result{}, err
	case len(r.Department.TaskBook) == 0:
		return Say("This department has no task book yet. The lead writes one into the department's file: task-book."), nil
	case r.Ref == "withdraw":
		return r.withdrawSignOff(signed)
	}
	skill, named := r.skillNamed()
	if named && signs.MatchString(r.Event.Text) {
		return r.sign(signed, skill)
	}
	return r.bookPage(signed)
}

// signOffs is everything that was ever signed.
func (r *Request) signOffs(ctx context.Context) ([]training.SignOff, error) {
	return fold(ctx, r, bookKind, signOffsOf)
}

func signOffsOf(entries []bot.Entry) ([]training.SignOff, error) {
	steps := make([]training.BookStep, len(entries))
	for i, e := range entries {
		step, err := decode[training.BookStep](e)
		if err != nil {
			return nil, err
		}
		steps[i] = step
	}
	return training.SignOffs(steps), nil
}

// book is the task book of a department's file.
func book(d *department.Department) training.TaskBook {
	b := training.TaskBook{
		Qualified: func(member, skill string) bool {
			return slices.ContainsFunc(d.Evaluators, func(e department.Evaluator) bool {
				return e.Member == member && (len(e.Skills) == 0 || slices.Contains(e.Skills, skill))
			})
		},
		Serves: func(member string) bool { m, ok := d.Member(member); return ok && !m.Has(department.Guest) },
	}
	for _, s := range d.TaskBook {
		b.Skills = append(b.Skills, training.Skill{ID: s.ID, Title: s.Title, NoDoor: s.NoDoor})
	}
	return b
}

// skillNamed is the skill of the task book that the message names, by title or id:
// the longest, where one stands within another.
func (r *Request) skillNamed() (training.Skill, bool) {
	said := strings.ToLower(r.Event.Text)
	var best training.Skill
	for _, s := range book(r.Department).Skills {
		named := strings.Contains(said, strings.ToLower(s.Title)) || strings.Contains(said, strings.ReplaceAll(s.ID, "-", " "))
		if named && len(s.Title) > len(best.Title) {
			best = s
		}
	}
	return best, best.ID != ""
}

// sign writes a sign-off, or says what it lacks.
func (r *Request) sign(signed []training.SignOff, skill training.Skill) (Result, error) {
	member, err := r.memberNamed()
	if err != nil {
		return Result{}, err
	}
	now, number := r.Now, training.NextSignOff(signed)
	step := training.BookStep{
		Key: fmt.Sprintf("%s-%d", strconv.FormatInt(now.Unix(), 36), number), Number: number, What: training.Signed, Skill: skill.ID, Member: member.ID,
		Shown: r.shownOn(), Tries: r.triesTaken(), By: r.Who.Person, At: now,
	}
	if !skill.NoDoor {
		step.Door = training.DoorKind{Swing: r.Reading.Door.Swing, Lock: r.Reading.Door.Lock}
	}
	if err := book(r.Department).Check(signed, step); err != nil {
		return Result{}, bot.SayNotTrained.With(err)
	}
	text := fmt.Sprintf("Sign-off %d: %s, %s, %s", number, member.Name, skill.Title, triesWords(step.Tries))
	if !skill.NoDoor {
		text += ", " + factsWords(r.Reading.Door)
	}
	return Result{
		Posts:   []Post{{Reply: bot.Reply{Text: text + ". Signed by " + r.Who.Member.Name + ".", Private: true, Buttons: []bot.Button{r.undoButton()}}}},
		Changes: []bot.Change{bot.Written{Entry: bot.NewEntry(bookKind, member.ID, r.Who.Person, now, step)}},
	}, nil
}

// shownOn is the day that the message names, or now.
func (r *Request) shownOn() time.Time {
	if len(r.Reading.Days) > 0 {
		if day, ok := dayOf(r.Reading.Days[0], r.Now.In(r.Department.Zone)); ok {
			return day
		}
	}
	return r.Now
}

func (r *Request) triesTaken() int {
	said := triesSaid.FindStringSubmatch(r.Event.Text)
	if said == nil {
		return r.Reading.Use.Tries
	}
	switch word := strings.ToLower(said[1]); word {
	case "one", "first":
		return 1
	case "two", "second":
		return 2
	case "three", "third":
		return 3
	default:
		n, _ := strconv.Atoi(word) // digits, by the pattern
		return n
	}
}

// withdrawSignOff takes one back, with the reason. It stays to be seen. Whoever
// signed it may, and the lead.
func (r *Request) withdrawSignOff(signed []training.SignOff) (Result, error) {
	said := bookWithdraw.FindStringSubmatch(strings.TrimSpace(r.Event.Text))
	if said == nil {
		return Result{}, bot.SayOldButton.With()
	}
	n, _ := strconv.Atoi(said[1]) // digits, by the pattern; what is too long for a number is nobody's
	at := slices.IndexFunc(signed, func(o training.SignOff) bool { return o.Number == n })
	if at < 0 {
		return Result{}, bot.SayNotTrained.With(training.ErrNoSignOff)
	}
	was := signed[at]
	if was.By != r.Who.Person && !r.Who.May(department.Lead) {
		return Result{}, bot.SayNotYours.With()
	}
	step := training.BookStep{Key: was.Key, What: training.SignOffGone, Reason: said[2], By: r.Who.Person, At: r.Now}
	if err := book(r.Department).Check(signed, step); err != nil {
		return Result{}, bot.SayNotTrained.With(err)
	}
	text := fmt.Sprintf("Sign-off %d withdrawn: %s. It stays on the page, and no longer counts.", n, said[2])
	return Result{
		Posts:   []Post{{Reply: bot.Reply{Text: text, Private: true, Buttons: []bot.Button{r.undoButton()}}}},
		Changes: []bot.Change{bot.Written{Entry: bot.NewEntry(bookKind, was.Member, r.Who.Person, r.Now, step)}},
	}, nil
}

// bookPage shows a member their own page; an evaluator or the lead, anybody's.
func (r *Request) bookPage(signed []training.SignOff) (Result, error) {
	member := r.Who.Member
	if other, err := r.memberNamed(); err == nil && other.ID != member.ID {
		evaluates := slices.ContainsFunc(r.Department.Evaluators, func(e department.Evaluator) bool { return e.Member == r.Who.Person })
		if !evaluates && !r.Who.May(department.Lead) {
			return Result{}, bot.SayNotYours.With()
		}
		member = other
	}
	reply := bot.Reply{Title: "Task book of " + member.Name, Private: true}
	for _, line := range book(r.Department).Page(signed, member.ID).Lines {
		value := "open"
		var entries []string
		for _, o := range line.Entries {
			entries = append(entries, r.signOffWords(o))
		}
		if len(entries) > 0 {
			value = strings.Join(entries, "; ")
		}
		reply.Fields = append(reply.Fields, bot.Field{Name: line.Skill.Title, Value: value})
	}
	return Answer(reply), nil
}

func (r *Request) signOffWords(o training.SignOff) string {
	words := fmt.Sprintf("#%d %s by %s, %s", o.Number, r.dayOnly(o.Shown), r.memberName(o.By), triesWords(o.Tries))
	if o.Withdrawn != nil {
		words += ", withdrawn: " + o.Withdrawn.Reason
	}
	return words
}

// BookPage is one member's page of the task book for printing, with every sign-off
// there ever was. ErrNotFound when there is no such member or no task book.
func BookPage(ctx context.Context, d *Desk, books Books, member string) (training.Page, error) {
	if _, ok := d.Department.Member(member); !ok || len(d.Department.TaskBook) == 0 {
		return training.Page{}, fmt.Errorf("task book of %s: %w", member, bot.ErrNotFound)
	}
	entries, err := books.Entries(ctx, d.Department.Slug, bookKind, "", time.Time{})
	if err != nil {
		return training.Page{}, fmt.Errorf("read task book: %w", err)
	}
	signed, err := signOffsOf(entries)
	if err != nil {
		return training.Page{}, err
	}
	return book(d.Department).Page(signed, member), nil
}
