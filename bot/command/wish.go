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
	"kitbell/bot/budget"
	"kitbell/bot/department"
	"kitbell/bot/understand"
)

// The journal's words for what people ask of the programme.
const (
	wishKind       = "wish"
	wishAnswerKind = "wish-answer"
	noteKind       = "note"
	unansweredKind = "unanswered"
)

// WishCommand records what a crew would like the kit to have, and what the lead
// says to it.
func WishCommand() Command {
	return Command{
		Name:    string(understand.Wish),
		Usage:   "we should carry a second film, because one tears",
		Summary: "Wish for something in the kit. The lead answers, and your crew hears it. wishes lists them.",
		More: []Example{
			{"wishes", "See what was wished for, who asked, and when wishes close. wish 3 shows one."},
			{"wish 3 yes, 2 for {rig} at 19.00", "Answer a wish, as the lead: so many for every kit, or for the rigs that you name."},
			{"wish 3 no, because it tears", "Say no, or later, as the lead. Whoever asked hears the reason."},
		},
		Run: wishes,
	}
}

// wishWords gives the button that a sentence about wishes stands for.
func wishWords(words string) (press string, ok bool) {
	switch {
	case needsMore.MatchString(words):
		return string(understand.Wish) + ":more", true
	case wishAnswered.MatchString(words):
		return string(understand.Wish) + ":answer", true
	case wishesAsked.MatchString(words):
		return string(understand.Wish) + ":list", true
	}
	return "", false
}

var (
	wishesAsked  = regexp.MustCompile(`(?i)^(?:(?:list|show|see|our|the|all|open|what|which|are|when|do|until|till) )*wish(?:es|list| list)(?: (?:are|is|so|far|there|open|close|closed|due|end|deadline))*$|^wish #?(\d{1,6})$`)
	wishAnswered = regexp.MustCompile(`(?i)^wish #?(\d{1,6}) ?[:,;-]? ?(yes|ok|granted|in the request|no|declined|later|not this year|next year)\b[ ,:;.-]*(.*)$`)
	wishReason   = regexp.MustCompile(`(?i)^(?:because|since|as|reason)?[ :,]*(.+?)\.?$`)
	wishEach     = regexp.MustCompile(`(?i)\b(one|two|three|four|\d{1,3}) ?(?:x |× |each |per |for |of )`)
	wishPrice    = regexp.MustCompile(`(?i)(?:\bat |\$ ?)\$? ?(\d{1,6}(?:\.\d{2})?)\b`)
	becauseSaid  = regexp.MustCompile(`(?i)[ ,;]+(?:because|cause|cuz|since|so that)\b.*$`)
)

// needsMore wishes for more of something, without a word that any is missing.
var needsMore = regexp.MustCompile(`(?i)^(?:we|i) (?:really )?(?:need|could use|want|would like) ((?:another|a second|an extra|one more|a spare|more) .+?)[.!]?$`)

// inTheKit is what every wish is for.
var inTheKit = regexp.MustCompile(`(?i),? (?:in|on|for|to|into) (?:the|each|every|our|all|all the) (?:kit|rig)s?\b.*$`)

func wishes(ctx context.Context, r *Request) (Result, error) {
	if r.Verb == "" || r.Ref == "more" {
		return r.recordWish(ctx)
	}
	all, err := r.allWishes(ctx)
	if err != nil {
		return Result{}, err
	}
	what, ref := press(r.Ref)
	switch what {
	case "list":
		if said := wishesAsked.FindStringSubmatch(strings.Trim(r.Event.Text, " .!?")); said != nil && said[1] != "" {
			return r.oneWish(all, said[1])
		}
		return Answer(r.wishList(all)), nil
	case "see":
		return r.oneWish(all, ref)
	case "answer":
		return r.answerSaid(all)
	case "yes":
		return r.answerWish(all, ref, budget.Answer{Verdict: budget.Granted, Each: 1})
	case "apart":
		return r.partWish(ctx, all, ref)
	}
	return Result{}, bot.SayOldButton.With()
}

func wishValue(what string, ref any) string {
	return fmt.Sprintf("%s:%s:%v", understand.Wish, what, ref)
}

// allWishes are all wishes that were ever made, with the lead's answers.
func (r *Request) allWishes(ctx context.Context) ([]budget.Wish, error) {
	askings, err := fold(ctx, r, wishKind, r.askings)
	if err != nil {
		return nil, err
	}
	answers, err := fold(ctx, r, wishAnswerKind, func(entries []bot.Entry) ([]budget.Answer, error) {
		all, err := bodies[budget.Answer](entries)
		for i := range all {
			all[i].By, all[i].At = entries[i].Person, entries[i].At
		}
		return all, err
	})
	return budget.Wishes(askings, answers), err
}

func (r *Request) askings(entries []bot.Entry) ([]budget.Asking, error) {
	all, err := bodies[budget.Asking](entries)
	for i, e := range entries {
		a := &all[i]
		a.By, a.At = e.Person, e.At
		if a.Key != "" {
			continue
		}
		a.Key = e.Subject // from before wishes had keys: the subject is what joined them
		if _, is := r.Department.Item(e.Subject); is {
			a.Item = e.Subject
		} else {
			a.Gist = budget.Gist(a.For)
		}
	}
	return all, err
}

func (r *Request) recordWish(ctx context.Context) (Result, error) {
	asking := r.wished()
	if asking.For == "" {
		return Say("What should the kit have, and why? Say it like this: we should carry a second film, because one tears."), nil
	}
	all, err := r.allWishes(ctx)
	if err != nil {
		return Result{}, err
	}
	closes, starts := r.wishYear(r.Now)
	asking, joined := budget.Join(all, asking, r.Event.ID, closes.AddDate(-1, 0, 0))
	text := r.notedWords(asking, joined)
	if asking.Cents > 0 {
		text += fmt.Sprintf(" %s each, as you know it.", r.money(asking.Cents))
	}
	if asking.Reason == "" {
		text += " Why? A reason helps the lead."
	}
	if r.Now.AddDate(1, 0, 0).Before(starts) {
		text += fmt.Sprintf(" Wishes for this year's request are closed; this one counts for the year that begins %s.", r.dayAndYear(starts))
	}
	if on := r.inEachKit(asking.Item); on > 0 {
		text += fmt.Sprintf(" The list has %d in each kit now.", on)
	}
	reply := bot.Reply{Text: text, Buttons: []bot.Button{r.undoButton()}}
	if r.Ref == "more" && asking.Item != "" {
		reply.Buttons = append(reply.Buttons, typed("One is missing", r.itemName(asking.Item)+" missing"))
	}
	if joined != nil {
		if value := wishValue("apart", r.Event.ID); len(value) <= bot.MaxButtonValue {
			reply.Buttons = append(reply.Buttons, bot.Button{Label: "It is another wish", Value: value})
		}
	}
	return Result{Posts: []Post{{Reply: reply}}, Changes: []bot.Change{r.writtenWish(asking)}}, nil
}

// inEachKit is how many of an item the list in force has; 0 for none.
func (r *Request) inEachKit(item string) int {
	list, _ := r.Department.List(r.Department.InForce)
	on, _ := list.Line(item)
	return on.Qty
}

func (r *Request) writtenWish(a budget.Asking) bot.Change {
	return bot.Written{Entry: bot.NewEntry(wishKind, a.Key, r.Who.Person, r.Now, a)}
}

// notedWords says what was understood, and which wish it joined.
func (r *Request) notedWords(a budget.Asking, joined *budget.Wish) string {
	if joined == nil {
		return fmt.Sprintf("Wish %d noted: %s.", a.Number, strings.TrimSuffix(a.For, "."))
	}
	words := fmt.Sprintf("Wish noted: %s. It joins wish %d, %s", strings.TrimSuffix(a.For, "."), joined.Number, r.wishName(*joined))
	crews := joined.Crews()
	if mine := (budget.Crew{Unit: a.Unit, Platoon: a.Platoon}); a.Unit != "" && !slices.Contains(crews, mine) {
		crews = append(crews, mine)
	}
	words += fmt.Sprintf(": %s asked for it.", plural(len(crews), "crew"))
	if joined.Answer != nil {
		words += " " + upperFirst(r.verdictWords(*joined)) + "."
	}
	return words
}

// wished is what the message wishes for, in the speaker's words without the reason.
func (r *Request) wished() budget.Asking {
	said := r.Reading.WishFor
	if more := needsMore.FindStringSubmatch(r.Event.Text); more != nil {
		said = more[1]
	}
	words := strings.TrimSpace(becauseSaid.ReplaceAllString(said, ""))
	words = inTheKit.ReplaceAllString(words, "")
	a := budget.Asking{For: words, Reason: r.Reading.Reason, Unit: r.Who.Unit, Platoon: r.Who.Platoon, Cents: int64(r.form.cents)}
	items := r.Read(words, understand.Context{}).Items // what the reason names is not wished for
	if len(items) == 0 {
		a.Gist = budget.Gist(words)
		return a
	}
	a.Item = items[0]
	a.Gist = budget.Gist(words, r.namesOf(a.Item)...)
	return a
}

// namesOf are the names that an item goes by: its id, its card's, the department's.
func (r *Request) namesOf(item string) []string {
	names := []string{strings.ReplaceAll(item, "-", " "), r.itemName(item)}
	if c, ok := r.Cards.Card(item); ok {
		names = append(append(names, c.Title), c.Aliases...)
	}
	if it, ok := r.Department.Item(item); ok {
		names = append(names, it.Aliases...)
	}
	return names
}

// partWish makes what was joined a wish of its own: whoever asked knows best.
func (r *Request) partWish(ctx context.Context, all []budget.Wish, event string) (Result, error) {
	_, entries, err := r.Books.Done(ctx, r.Department.Slug, event)
	if err != nil {
		return Result{}, fmt.Errorf("read wish: %w", err)
	}
	at := slices.IndexFunc(entries, func(e bot.Entry) bool { return e.Kind == wishKind })
	if at < 0 || entries[at].Subject == event {
		return Result{}, bot.SayOldButton.With()
	}
	if entries[at].Person != r.Who.Person {
		return Result{}, bot.SayNotYours.With()
	}
	a, err := decode[budget.Asking](entries[at])
	if err != nil {
		return Result{}, err
	}
	a.Key, a.Number = event, budget.NextWish(all)
	text := fmt.Sprintf("Wish %d noted: %s. It stands by itself.", a.Number, a.For)
	return Result{
		Posts:   []Post{{Reply: bot.Reply{Text: text, Buttons: []bot.Button{r.undoButton()}}}},
		Changes: []bot.Change{bot.Withdrawn{Entry: entries[at], At: r.Now}, r.writtenWish(a)},
	}, nil
}

// wishYear is when wishes made at an instant close, and when the year begins that
// they count for.
func (r *Request) wishYear(at time.Time) (closes, starts time.Time) {
	c := r.calendar()
	day := r.Department.Budget.WishesClose
	if day.Month == 0 { // the file has no budget: wishes close as the calendar year does
		day = department.Day{Month: time.December, Day: 31}
	}
	return budget.WishYear(at.In(r.Department.Zone), budget.YearDay{Month: day.Month, Day: day.Day}, budget.YearDay{Month: c.Month, Day: c.Day})
}

// ofYear are the wishes that count for the fiscal year of a closing: asked for in
// it, put off to it, or never answered.
func ofYear(all []budget.Wish, closes time.Time) []budget.Wish {
	opened := closes.AddDate(-1, 0, 0)
	return slices.DeleteFunc(slices.Clone(all), func(w budget.Wish) bool {
		settled := w.Answer != nil && w.Answer.Verdict != budget.Later && w.Answer.At.Before(opened)
		return !w.Askings[0].At.Before(closes) || settled
	})
}

func wishCount(n int) string {
	if n == 1 {
		return "1 wish"
	}
	return fmt.Sprintf("%d wishes", n)
}

// mostWishes is how many wishes a list shows.
const mostWishes = 12

// wishList shows the wishes of the year that is open, those without an answer first.
func (r *Request) wishList(all []budget.Wish) bot.Reply {
	closes, starts := r.wishYear(r.Now)
	open := ofYear(all, closes)
	slices.SortStableFunc(open, func(a, b budget.Wish) int {
		switch {
		case a.Answer == nil && b.Answer != nil:
			return -1
		case a.Answer != nil && b.Answer == nil:
			return 1
		}
		return len(b.Crews()) - len(a.Crews())
	})
	reply := bot.Reply{
		Title: "Wishes for the year from " + r.dayAndYear(starts),
		Text:  fmt.Sprintf("%s. They close on %s; a later one counts for the year after.", wishCount(len(open)), r.dayAndYear(closes.AddDate(0, 0, -1))),
	}
	for i, w := range open {
		if i == mostWishes {
			reply.Fields = append(reply.Fields, bot.Field{Name: "And", Value: wishCount(len(open)-i) + " more"})
			break
		}
		reply.Fields = append(reply.Fields, bot.Field{Name: fmt.Sprintf("Wish %d", w.Number), Value: r.wishLine(w)})
		if w.Answer == nil && r.Who.May(department.Lead) && len(reply.Buttons) < mostSessions {
			reply.Buttons = append(reply.Buttons, bot.Button{Label: fmt.Sprintf("Answer wish %d", w.Number), Value: wishValue("see", w.Number)})
		}
	}
	return reply
}

// wishesInShort are the wishes that wait for an answer, for a page of many things.
func (r *Request) wishesInShort(all []budget.Wish) string {
	closes, _ := r.wishYear(r.Now)
	var lines []string
	for _, w := range ofYear(all, closes) {
		if w.Answer == nil && len(lines) < mostNotes {
			lines = append(lines, fmt.Sprintf("%d: %s", w.Number, strings.TrimSuffix(r.wishLine(w), ": "+r.verdictWords(w))))
		}
	}
	if len(lines) == 0 {
		return "none waits for an answer"
	}
	return strings.Join(lines, "; ")
}

// wishName is what a wish is called: the words of whoever asked first, or the item's
// name where they are its id.
func (r *Request) wishName(w budget.Wish) string {
	if w.For() == w.Item {
		return r.itemName(w.Item)
	}
	return w.For()
}

// wishLine is a wish in a line: what, how many crews, the first reason, the answer.
func (r *Request) wishLine(w budget.Wish) string {
	words := r.wishName(w)
	if crews := w.Crews(); len(crews) > 0 {
		words += ", " + plural(len(crews), "crew")
	}
	if reasons := w.Reasons(); len(reasons) > 0 {
		words += ", because " + reasons[0]
		if more := len(reasons) - 1; more > 0 {
			words += fmt.Sprintf(" (and %s)", plural(more, "other reason"))
		}
	}
	return words + ": " + r.verdictWords(w)
}

// verdictWords is what the lead said to a wish.
func (r *Request) verdictWords(w budget.Wish) string {
	if w.Answer == nil {
		return "not answered yet"
	}
	words := string(w.Answer.Verdict)
	if w.Answer.Verdict == budget.Granted {
		words += ", " + w.Answer.ForWords(r.unitName)
	}
	if w.Answer.Reason != "" {
		words += ", " + w.Answer.Reason
	}
	return words
}

func wishNumbered(all []budget.Wish, number string) (budget.Wish, error) {
	n, _ := strconv.Atoi(number) // digits, by the pattern; what is no number is nobody's
	if i := slices.IndexFunc(all, func(w budget.Wish) bool { return w.Number == n }); i >= 0 {
		return all[i], nil
	}
	return budget.Wish{}, bot.SayNotTrained.With(budget.ErrNoWish)
}

// oneWish shows a wish with all its reasons; to the lead, with what to answer.
func (r *Request) oneWish(all []budget.Wish, number string) (Result, error) {
	w, err := wishNumbered(all, number)
	if err != nil {
		return Result{}, err
	}
	reply := bot.Reply{Title: fmt.Sprintf("Wish %d: %s", w.Number, r.wishName(w)), Text: upperFirst(r.verdictWords(w)) + "."}
	var crews []string
	for _, c := range w.Crews() {
		crews = append(crews, strings.TrimSpace(r.unitName(c.Unit)+" "+c.Platoon))
	}
	if len(crews) > 0 {
		reply.Fields = append(reply.Fields, bot.Field{Name: "Asked by", Value: strings.Join(crews, ", ")})
	}
	if reasons := w.Reasons(); len(reasons) > 0 {
		reply.Fields = append(reply.Fields, bot.Field{Name: "Because", Value: strings.Join(reasons, "; ")})
	}
	if cents := w.Cents(); cents > 0 {
		reply.Fields = append(reply.Fields, bot.Field{Name: "Price each", Value: r.money(cents) + ", as said with the wish"})
	} else if item, ok := r.Department.Item(w.Item); ok && item.Cents > 0 {
		reply.Fields = append(reply.Fields, bot.Field{Name: "Price each", Value: r.money(item.Cents) + ", list price"})
	}
	if r.Who.May(department.Lead) {
		reply.Buttons = append(reply.Buttons, bot.Button{Label: "Yes, one for every kit", Value: wishValue("yes", w.Number)})
		reply.Fields = append(reply.Fields, bot.Field{Name: "To answer otherwise, type", Value: fmt.Sprintf(
			"wish %[1]d yes, 2 for {rig} at 19.00; wish %[1]d later, because we wait for the trial; wish %[1]d no, because it tears", w.Number)})
	}
	return Answer(reply), nil
}

// answerSaid is the lead's answer in words.
func (r *Request) answerSaid(all []budget.Wish) (Result, error) {
	said := wishAnswered.FindStringSubmatch(strings.TrimSpace(r.Event.Text))
	if said == nil {
		return Result{}, bot.SayOldButton.With()
	}
	answer := budget.Answer{Verdict: budget.Declined}
	switch strings.ToLower(said[2]) {
	case "yes", "ok", "granted", "in the request":
		var err error
		if answer, err = r.grantSaid(said[3]); err != nil {
			return Result{}, err
		}
	case "later", "not this year", "next year":
		answer.Verdict = budget.Later
	}
	if reason := wishReason.FindStringSubmatch(said[3]); reason != nil && answer.Verdict != budget.Granted {
		answer.Reason = reason[1]
	}
	return r.answerWish(all, said[1], answer)
}

// grantSaid reads how many, for whom and at what price.
func (r *Request) grantSaid(words string) (budget.Answer, error) {
	answer := budget.Answer{Verdict: budget.Granted, Each: 1}
	if belowZero.MatchString(r.Event.Text) {
		return answer, bot.SayBudgetNegative.With()
	}
	if r.Reading.UnknownUnit != "" {
		return answer, r.noSuchRig()
	}
	price := wishPrice.FindStringSubmatch(words)
	if price != nil {
		cents, _ := centsOf(price[1])
		if cents == 0 {
			return answer, bot.SayBudgetNegative.With()
		}
		answer.Cents = int64(cents)
		words = strings.Replace(words, price[0], " ", 1)
	}
	if each := wishEach.FindStringSubmatch(words + " for "); each != nil {
		answer.Each = numberSaid(each[1])
	}
	answer.Units = r.Reading.Units
	return answer, nil
}

// belowZero is a count or a price that is less than nothing.
var belowZero = regexp.MustCompile(`[\s,$]-\$?\d`)

// noSuchRig says that a rig that was named is not there.
func (r *Request) noSuchRig() error {
	return bot.SayNoRig.With(r.Department.Units[0].Name)
}

// numberSaid is a small number in digits or words.
func numberSaid(word string) int {
	for i, name := range []string{"zero", "one", "two", "three", "four"} {
		if strings.EqualFold(word, name) {
			return i
		}
	}
	n, _ := strconv.Atoi(word) // digits, by the pattern
	return n
}

// wishTopic begins the topic of the word that a wish was answered; its number
// follows.
const wishTopic = "wish"

// answerWish writes the lead's answer. Every crew that asked hears it on its next
// tour.
func (r *Request) answerWish(all []budget.Wish, number string, answer budget.Answer) (Result, error) {
	if !r.Who.May(department.Lead) {
		return Result{}, bot.SayLeadOnly.With()
	}
	w, err := wishNumbered(all, number)
	if err != nil {
		return Result{}, err
	}
	answer.Key = w.Key
	if err := budget.CheckAnswer(w, answer); err != nil {
		return Result{}, bot.SayNotTrained.With(err)
	}
	changes := []bot.Change{bot.Written{Entry: bot.NewEntry(wishAnswerKind, w.Key, r.Who.Person, r.Now, answer)}}
	crews := w.Crews()
	for _, c := range crews {
		changes = append(changes, r.newsForCrew(c, fmt.Sprintf("%s-%d", wishTopic, w.Number), fmt.Sprintf("%s:%d", wishTopic, w.Number)))
	}
	w.Answer = &answer
	text := fmt.Sprintf("Wish %d, %s: %s.", w.Number, r.wishName(w), r.verdictWords(w))
	if answer.Cents > 0 {
		text += fmt.Sprintf(" %s each.", r.money(answer.Cents))
	}
	switch len(crews) {
	case 0:
	case 1:
		text += " The crew that asked hears it on its next tour."
	default:
		text += fmt.Sprintf(" Each of the %d crews that asked hears it on its next tour.", len(crews))
	}
	if w.Answer.Verdict == budget.Granted && r.wishCents(w) == 0 {
		text += fmt.Sprintf(" It has no price yet, so no total has it. Type: wish %d yes at 19.00.", w.Number)
	}
	return Result{Posts: []Post{{Reply: bot.Reply{Text: text, Buttons: []bot.Button{r.undoButton()}}}}, Changes: changes}, nil
}

// wishCents is a wish's price each: as said with it, or the item's in the file.
func (r *Request) wishCents(w budget.Wish) int64 {
	if cents := w.Cents(); cents > 0 {
		return cents
	}
	item, _ := r.Department.Item(w.Item)
	return item.Cents
}
