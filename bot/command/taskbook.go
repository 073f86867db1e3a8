package command

import (
	"cmp"
	"context"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	"kitbell/bot"
	"kitbell/bot/department"
	"kitbell/bot/door"
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
		More: []Example{
			{"my task book", "See your own page: what is signed, and what is open."},
			{"task book of {member}", "See a member's page, as an evaluator, the chief of training or the lead."},
			{"withdraw sign-off 3 because it was another door", "Take a sign-off back. It stays on the page and no longer counts."},
			{"who signs the task book", "See who may sign."},
		},
		Run: taskBook,
	}
}

// bookKind is the journal's word for an entry in a task book; its subject is the
// member's.
const bookKind = "task-book"

var (
	signs        = regexp.MustCompile(`(?i)\b(?:sign(?:ed|s|ing)?(?:[- ]?off| (?:him|her|them)(?: off)?)?|passed|completed)\b`)
	signsFirst   = regexp.MustCompile(`(?i)^(?:please )?(?:i )?sign(?:ed|s|ing)?[- ]?off\b`)
	signsAround  = regexp.MustCompile(`(?i)\bsign(?:ed|s|ing)? ?-?(?:off\b|(?:him|her|them|me) off\b)`)
	notSigned    = regexp.MustCompile(`(?i)\b(?:not|never|fail(?:ed|s)?|yet|later|don'?t|didn'?t|isn'?t|hasn'?t|almost|nearly|by mistake|tomorrow)\b|n't\b`)
	signedBy     = regexp.MustCompile(`(?i)\bsigned off by\b`)
	signAsked    = regexp.MustCompile(`(?i)\?\s*$|^\W*(?:did|do|does|can|could|may|should|shall|have|has|had|is|was|am|are|who|what|when|which|how|why)\b`)
	whoSigns     = regexp.MustCompile(`(?i)\bwho\b.*\b(?:sign|evaluat)`)
	bookSaid     = regexp.MustCompile(`(?i)\btask ?-?books?\b|\bmy book\b`)
	bookOf       = regexp.MustCompile(`(?i)\b(?:task ?-?)?book (?:of|for) (.+?)[?.!]*$|^(?:show |see )?(.+?)'s (?:task ?-?)?book\b`)
	bookWithdraw = regexp.MustCompile(`(?i)^(?:withdraw|undo|take back|cancel|strike) (?:the |my )?sign-?off\b(?: ?#?(\d{1,6}))?(?:[ ,:;]+(?:because |since )?(.+?))?\.?$`)
	triesSaid    = regexp.MustCompile(`(?i)\b(\d{1,6}|one|two|three|four|five|six|seven|eight|nine|ten|first|second|third|fourth|fifth)(?:st|nd|rd|th)? (?:try|tries|attempts?)\b`)
)

// signOffWordsOf gives the button that a sentence about the task book stands for. What
// somebody showed at a door reads like a use of the kit, so these words decide.
func (r *Request) signOffWordsOf(words string) (press string, ok bool) {
	value := func(what string) (string, bool) { return string(understand.SignOff) + ":" + what, true }
	switch {
	case bookWithdraw.MatchString(words):
		return value("withdraw")
	case whoSigns.MatchString(words) && (bookSaid.MatchString(words) || strings.Contains(words, "sign")):
		return value("who")
	case bookSaid.MatchString(words), signsFirst.MatchString(words):
		return value("say")
	case signsAround.MatchString(words):
		_, skill := r.skillNamed()
		_, err := r.memberNamed()
		if skill || err == nil {
			return value("say")
		}
	}
	return "", false
}

func taskBook(ctx context.Context, r *Request) (Result, error) {
	if !r.Who.member() {
		return Result{}, bot.SayMembersOnly.With()
	}
	if r.Verb != "" && r.Ref != "withdraw" && r.Ref != "say" && r.Ref != "who" {
		return Result{}, bot.SayOldButton.With()
	}
	signed, err := r.signOffs(ctx)
	switch {
	case err != nil:
		return Result{}, err
	case len(r.Department.TaskBook) == 0 && len(signed) == 0:
		return Say("This department has no task book yet. The lead writes one into the department's file: task-book."), nil
	case r.Ref == "withdraw":
		return r.withdrawSignOff(signed)
	case r.Ref == "who":
		return Answer(r.whoMaySign()), nil
	}
	text := r.Event.Text
	skill, named := r.skillNamed()
	switch {
	case signAsked.MatchString(text), !signs.MatchString(text), bookSaid.MatchString(text) && !signsFirst.MatchString(text):
		return r.bookPage(signed)
	case notSigned.MatchString(text):
		return Result{}, bot.SaySignedNot.With()
	case signedBy.MatchString(text):
		return Result{}, bot.SaySignedBy.With()
	case !named:
		var titles []string
		for _, s := range r.Department.TaskBook {
			titles = append(titles, s.Title)
		}
		return Result{}, bot.SayNoSkill.With(strings.Join(titles, "; "))
	}
	return r.sign(signed, skill)
}

// signOffs is everything that was ever signed.
func (r *Request) signOffs(ctx context.Context) ([]training.SignOff, error) {
	return fold(ctx, r, bookKind, signOffsOf)
}

func signOffsOf(entries []bot.Entry) ([]training.SignOff, error) {
	steps, err := bodies[training.BookStep](entries)
	return training.SignOffs(steps), err
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

// whoMaySign names the evaluators, with the skills that they sign.
func (r *Request) whoMaySign() bot.Reply {
	reply := bot.Reply{Title: "Who signs the task book"}
	titles := map[string]string{}
	for _, s := range r.Department.TaskBook {
		titles[s.ID] = s.Title
	}
	for _, e := range r.Department.Evaluators {
		what := "all skills"
		if len(e.Skills) > 0 {
			var names []string
			for _, id := range e.Skills {
				names = append(names, titles[id])
			}
			what = strings.Join(names, ", ")
		}
		reply.Fields = append(reply.Fields, bot.Field{Name: r.memberName(e.Member), Value: what})
	}
	if len(reply.Fields) == 0 {
		reply.Text = "Nobody yet. The lead names them in the department's file: evaluators."
	}
	return reply
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
	member, err := r.memberSigned()
	if err != nil {
		return Result{}, err
	}
	rest := withoutWords(r.Event.Text, skill.Title, strings.ReplaceAll(skill.ID, "-", " "))
	shown, _, dated, err := r.pastDay(rest)
	if err != nil {
		return Result{}, err
	}
	if !dated {
		shown = r.Now
	}
	for _, other := range book(r.Department).Skills {
		if other.ID != skill.ID && strings.Contains(strings.ToLower(rest), strings.ToLower(other.Title)) {
			return Result{}, bot.SayOneSkill.With(skill.Title, other.Title)
		}
	}
	number := training.NextSignOff(signed)
	step := training.BookStep{
		Key: fmt.Sprintf("%s-%d", strconv.FormatInt(r.Now.Unix(), 36), number), Number: number, What: training.Signed,
		Skill: skill.ID, Title: skill.Title, Member: member.ID, Name: member.Name, Signer: r.Who.Member.Name,
		Shown: shown, Tries: r.triesTaken(), By: r.Who.Person, At: r.Now,
	}
	if !skill.NoDoor {
		if step.Door, err = r.doorShown(skill, rest); err != nil {
			return Result{}, err
		}
	}
	if err := book(r.Department).Check(signed, step); err != nil {
		return Result{}, bot.SayNotTrained.With(err)
	}
	text := fmt.Sprintf("Sign-off %d: %s, %s, shown %s, %s", number, member.Name, skill.Title, r.dayAndYear(shown), triesWords(step.Tries))
	if !skill.NoDoor {
		text += ", " + DoorKindWords(step.Door)
	}
	return Result{
		Posts:   []Post{{Reply: bot.Reply{Text: text + ". Signed by " + r.Who.Member.Name + ".", Private: true, Buttons: []bot.Button{r.undoButton()}}}},
		Changes: []bot.Change{bot.Written{Entry: bot.NewEntry(bookKind, member.ID, r.Who.Person, r.Now, step)}},
	}, nil
}

// signedWho is the name behind "signed off".
var signedWho = regexp.MustCompile(`(?i)\bsign(?:ed|s|ing)?[- ]?off (?:for )?([\pL'’.-]+(?: [\pL'’.-]+){0,3}?) ?(?: on\b|,|:| for\b)`)

// memberSigned is who showed the skill. A sign-off stays with a name for years, so a
// part of a name is enough only where nobody else has it and nothing else is said.
func (r *Request) memberSigned() (department.Member, error) {
	said := strings.ToLower(r.Event.Text)
	for _, m := range r.Department.Members {
		if strings.Contains(said, strings.ToLower(m.Name)) {
			return m, nil
		}
	}
	if who := signedWho.FindStringSubmatch(r.Event.Text); who != nil {
		if strings.EqualFold(who[1], "me") || strings.EqualFold(who[1], "myself") {
			return r.Who.Member, nil
		}
		return r.memberSaid(who[1])
	}
	return department.Member{}, bot.SayActingName.With()
}

// opensSaid is how a door opens, in fewer words than a sentence about a door has.
var opensSaid = regexp.MustCompile(`(?i)\bopens? (?:to the )?(toward|out|away|in)`)

// doorShown is the kind of door that a skill was shown at: what the words say, without
// the skill's own title, which tells of a door too. Both halves are needed, and one
// that the skill is not about is refused.
func (r *Request) doorShown(skill training.Skill, words string) (training.DoorKind, error) {
	said := r.Read(words, understand.Context{}).Door
	if opens := opensSaid.FindStringSubmatch(words); said.Swing == "" && opens != nil {
		said.Swing = door.SwingIn
		if way := strings.ToLower(opens[1]); way == "toward" || way == "out" {
			said.Swing = door.SwingOut
		}
	}
	about := r.Read(skill.Title, understand.Context{}).Door
	switch {
	case said.Swing == "":
		return training.DoorKind{}, bot.SayDoorSwing.With()
	case said.Lock == "":
		return training.DoorKind{}, bot.SayDoorLock.With()
	case about.Swing != "" && about.Swing != said.Swing:
		return training.DoorKind{}, bot.SaySkillDoor.With(skill.Title, factsWords(door.Facts{Swing: said.Swing}))
	}
	return training.DoorKind{Swing: said.Swing, Lock: said.Lock}, nil
}

// withoutWords is a text without some words of it, whatever their case.
func withoutWords(text string, gone ...string) string {
	for _, words := range gone {
		if i := strings.Index(strings.ToLower(text), strings.ToLower(words)); i >= 0 && words != "" && len(strings.ToLower(text)) == len(text) {
			text = text[:i] + " " + text[i+len(words):]
		}
	}
	return text
}

// DoorKindWords is a kind of door as crews say it.
func DoorKindWords(k training.DoorKind) string {
	return factsWords(door.Facts{Swing: k.Swing, Lock: k.Lock})
}

func (r *Request) triesTaken() int {
	said := triesSaid.FindStringSubmatch(r.Event.Text)
	if said == nil {
		return r.Reading.Use.Tries
	}
	for i, word := range []string{"first", "second", "third", "fourth", "fifth"} {
		if strings.EqualFold(said[1], word) {
			return i + 1
		}
	}
	return smallNumber(said[1])
}

// withdrawSignOff takes one back, with the reason. It stays to be seen. Whoever
// signed it may, and the lead.
func (r *Request) withdrawSignOff(signed []training.SignOff) (Result, error) {
	said := bookWithdraw.FindStringSubmatch(strings.TrimSpace(r.Event.Text))
	if said == nil {
		return Result{}, bot.SayOldButton.With()
	}
	if said[1] == "" {
		return Result{}, bot.SayWhichSignOff.With()
	}
	n, _ := strconv.Atoi(said[1]) // digits, by the pattern
	at := slices.IndexFunc(signed, func(o training.SignOff) bool { return o.Number == n })
	if at < 0 {
		return Result{}, bot.SayNotTrained.With(training.ErrNoSignOff)
	}
	was := signed[at]
	if was.By != r.Who.Person && !r.Who.May(department.Lead) {
		return Result{}, bot.SayBookSigner.With()
	}
	step := training.BookStep{Key: was.Key, What: training.SignOffGone, Reason: said[2], By: r.Who.Person, At: r.Now}
	if err := book(r.Department).Check(signed, step); err != nil {
		return Result{}, bot.SayNotTrained.With(err)
	}
	text := fmt.Sprintf("Sign-off %d withdrawn: %s, %s. Reason: %s. It stays on the page, and no longer counts.", n, r.nameThen(was.Member, was.Name), cmp.Or(was.Title, was.Skill), said[2])
	return Result{
		Posts:   []Post{{Reply: bot.Reply{Text: text, Private: true, Buttons: []bot.Button{r.undoButton()}}}},
		Changes: []bot.Change{bot.Written{Entry: bot.NewEntry(bookKind, was.Member, r.Who.Person, r.Now, step)}},
	}, nil
}

// bookPage shows a member their own page; an evaluator, the chief of training or
// the lead anybody's.
func (r *Request) bookPage(signed []training.SignOff) (Result, error) {
	id, name, err := r.bookOwner(signed)
	if err != nil {
		return Result{}, err
	}
	evaluates := slices.ContainsFunc(r.Department.Evaluators, func(e department.Evaluator) bool { return e.Member == r.Who.Person })
	if id != r.Who.Person && !evaluates && !r.Who.May(department.Training) {
		return Result{}, bot.SayBookWhose.With()
	}
	page := book(r.Department).Page(signed, id)
	reply := bot.Reply{Title: "Task book of " + name, Text: fmt.Sprintf("%d of %d skills open.", len(page.Open()), len(r.Department.TaskBook)), Private: true}
	for _, line := range page.Lines {
		value := "open"
		var entries []string
		for _, o := range line.Entries {
			entries = append(entries, r.signOffWords(o))
		}
		if len(entries) > 0 {
			value = strings.Join(entries, "; ")
		}
		if line.Gone {
			value += "; the task book has it no more"
		}
		reply.Fields = append(reply.Fields, bot.Field{Name: line.Skill.Title, Value: value})
	}
	return Answer(reply), nil
}

// bookOwner is whose page is asked for: the one who is named, who may have left
// since, or the speaker where nobody is.
func (r *Request) bookOwner(signed []training.SignOff) (id, name string, err error) {
	if m, err := r.memberNamed(); err == nil {
		return m.ID, m.Name, nil
	}
	said := bookOf.FindStringSubmatch(r.Event.Text)
	if said == nil {
		return r.Who.Person, r.Who.Member.Name, nil
	}
	asked := strings.TrimSpace(said[1] + said[2])
	for _, o := range slices.Backward(signed) {
		if o.Name != "" && strings.EqualFold(o.Name, asked) || strings.EqualFold(o.Member, asked) {
			return o.Member, cmp.Or(o.Name, o.Member), nil
		}
	}
	return "", "", bot.SayActingName.With()
}

func (r *Request) signOffWords(o training.SignOff) string {
	words := fmt.Sprintf("#%d %s by %s, %s", o.Number, r.dayAndYear(o.Shown), r.nameThen(o.By, o.Signer), triesWords(o.Tries))
	if o.Door != (training.DoorKind{}) {
		words += ", " + DoorKindWords(o.Door)
	}
	if o.Withdrawn != nil {
		words += ", withdrawn: " + o.Withdrawn.Reason
	}
	return words
}

// BookPage is one member's page of the task book for printing, with every sign-off
// there ever was, and the member's name. Whoever has left is found by the name or
// id that the sign-offs have. ErrNotFound when there is no such member or nothing
// to print.
func BookPage(ctx context.Context, d *Desk, books Books, member string) (page training.Page, name string, err error) {
	entries, err := books.Entries(ctx, d.Department.Slug, bookKind, "", time.Time{})
	if err != nil {
		return training.Page{}, "", fmt.Errorf("read task book: %w", err)
	}
	signed, err := signOffsOf(entries)
	if err != nil {
		return training.Page{}, "", err
	}
	if m, ok := d.Department.Member(member); ok {
		member, name = m.ID, m.Name
	}
	for _, o := range signed {
		if name == "" && (strings.EqualFold(o.Name, member) || o.Member == member) {
			member, name = o.Member, cmp.Or(o.Name, o.Member)
		}
	}
	page = book(d.Department).Page(signed, member)
	if name == "" || len(page.Lines) == 0 {
		return training.Page{}, "", fmt.Errorf("task book of %s: %w", member, bot.ErrNotFound)
	}
	return page, name, nil
}
