package command

import (
	"context"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"kitbell/bot"
	"kitbell/bot/department"
	"kitbell/knowledge"
)

// questionsVerb is the verb of the buttons about what no card answered.
const questionsVerb = "unanswered"

// OpenQuestionsCommand shows the lead what crews asked and no card answered, or
// an answer did not help with, and starts a card from it.
func OpenQuestionsCommand() Command {
	return Command{
		Name:    questionsVerb,
		Usage:   "unanswered",
		For:     department.Training,
		Summary: "For the lead: what no card could answer, how often, and a start for a card.",
		Private: true,
		Run:     openQuestions,
	}
}

// settledKind is the journal's word for a question that the lead has dealt
// with. Asked again later, it is open again.
const settledKind = "question-settled"

// settled is how: "not for us", or the id of the card that shall answer.
type settled struct {
	How string `json:"how"`
}

// questionDays is how long back open questions are looked for.
const questionDays = 90

// openQuestion is one thing that was asked, in all its wordings.
type openQuestion struct {
	last    bot.Entry
	text    string // as it was asked last
	asked   int
	poor    int // of those: answered, and it did not help
	nearest string
}

func openQuestions(ctx context.Context, r *Request) (Result, error) {
	if !r.Who.May(department.Quartermaster) {
		return Say("That list is for the lead, the chief of training and the quartermaster."), nil
	}
	open, err := r.openQuestions(ctx)
	if err != nil {
		return Result{}, err
	}
	what, rest := press(r.Ref)
	if what == "" || what == "list" {
		return Answer(r.questionsReply(open)), nil
	}
	ref, more := press(rest)
	id, _ := strconv.ParseInt(ref, 10, 64)
	i := slices.IndexFunc(open, func(q openQuestion) bool { return q.last.ID == id })
	if i < 0 {
		return Result{}, bot.SayQuestionGone.With()
	}
	switch q := open[i]; what {
	case "see":
		return Answer(r.questionReply(q)), nil
	case "start":
		return Answer(kindsReply(q)), nil
	case "draft":
		return r.draftReply(q, knowledge.Kind(more))
	case "settle":
		return r.settleQuestion(q, more)
	}
	return Result{}, bot.SayOldButton.With()
}

// openQuestions groups what was asked in the last weeks and not settled since,
// what was asked most first.
func (r *Request) openQuestions(ctx context.Context) ([]openQuestion, error) {
	since := r.Now.AddDate(0, 0, -questionDays)
	asked, err := r.Books.Entries(ctx, r.Department.Slug, unansweredKind, "", since)
	if err != nil {
		return nil, fmt.Errorf("read open questions: %w", err)
	}
	done, err := r.Books.Entries(ctx, r.Department.Slug, settledKind, "", since)
	if err != nil {
		return nil, fmt.Errorf("read settled questions: %w", err)
	}
	asked = slices.DeleteFunc(asked, func(e bot.Entry) bool {
		return slices.ContainsFunc(done, func(d bot.Entry) bool { return !e.At.After(d.At) && sameQuestion(d.Subject, e.Subject) })
	})
	var open []openQuestion
	for _, e := range asked {
		q, err := decode[unanswered](e)
		if err != nil {
			return nil, err
		}
		i := slices.IndexFunc(open, func(o openQuestion) bool { return sameQuestion(o.last.Subject, e.Subject) })
		if i < 0 {
			i = len(open)
			open = append(open, openQuestion{})
		}
		o := &open[i]
		o.last, o.text, o.nearest = e, q.Question, q.Nearest
		o.asked++
		if q.Poor {
			o.poor++
		}
	}
	slices.SortStableFunc(open, func(a, b openQuestion) int { return b.asked - a.asked })
	return open, nil
}

// sameQuestion says whether two keys ask much the same: most of their longer
// words are in both.
func sameQuestion(a, b string) bool {
	const most = 0.7
	ours, theirs := longWords(a), longWords(b)
	both := 0
	for w := range ours {
		if theirs[w] {
			both++
		}
	}
	larger := max(len(ours), len(theirs))
	return a == b || larger > 0 && float64(both) >= most*float64(larger)
}

func longWords(text string) map[string]bool {
	long := make(map[string]bool)
	for w := range strings.FieldsSeq(text) {
		if len(w) > shortWord {
			long[w] = true
		}
	}
	return long
}

// mostQuestions is how many open questions a list shows.
const mostQuestions = 8

// questionsReply lists the questions with their counts, and no names: nobody is
// to be shy of asking.
func (r *Request) questionsReply(open []openQuestion) bot.Reply {
	if len(open) == 0 {
		return bot.Reply{Text: fmt.Sprintf("Every question of the last %d days had a card, or is settled.", questionDays)}
	}
	reply := bot.Reply{Title: "What no card answered", Text: fmt.Sprintf("%s in %d days, the most asked first. No names are kept here.", plural(len(open), "question"), questionDays)}
	for i, q := range open[:min(len(open), mostQuestions)] {
		reply.Steps = append(reply.Steps, r.questionWords(q))
		reply.Buttons = append(reply.Buttons, bot.Button{Label: fmt.Sprintf("Question %d", i+1), Value: q.value("see", "")})
	}
	if more := len(open) - mostQuestions; more > 0 {
		reply.Fields = []bot.Field{{Name: "More", Value: plural(more, "question") + " asked less often"}}
	}
	return reply
}

func (r *Request) questionWords(q openQuestion) string {
	words := q.text
	if q.asked > 1 {
		words += fmt.Sprintf(" (asked %d times)", q.asked)
	}
	switch nearest := r.cardTitle(q.nearest); {
	case q.poor > 0:
		words += ". Answered from " + nearest + ", which did not help."
	case q.nearest != "":
		words += ". Nearest card: " + nearest + "."
	}
	return words
}

func (q openQuestion) value(what, more string) string {
	value := fmt.Sprintf("%s:%s:%d", questionsVerb, what, q.last.ID)
	if more != "" {
		value += ":" + more
	}
	return value
}

func (r *Request) questionReply(q openQuestion) bot.Reply {
	reply := bot.Reply{Text: r.questionWords(q) + "\nLast asked " + r.day(q.last.At) + "."}
	reply.Buttons = []bot.Button{{Label: "Start a card", Value: q.value("start", "")}}
	if c, ok := r.Cards.Card(q.nearest); ok {
		reply.Buttons = append(reply.Buttons,
			bot.Button{Label: "Show " + c.Title, Value: "ask:" + refCard + ":" + c.ID},
			bot.Button{Label: c.Title + " answers it", Value: q.value("settle", c.ID)})
	}
	return withButton(reply, bot.Button{Label: "Not for us", Value: q.value("settle", notForUs)})
}

const notForUs = "not-for-us"

func withButton(reply bot.Reply, b bot.Button) bot.Reply {
	reply.Buttons = append(reply.Buttons, b)
	return reply
}

// kindsReply asks what the new card is about, since that decides its sections.
func kindsReply(q openQuestion) bot.Reply {
	reply := bot.Reply{Text: "What will the card be about?"}
	for _, k := range []struct {
		kind  knowledge.Kind
		label string
	}{
		{knowledge.Tool, "A tool"}, {knowledge.Hardware, "A lock or a door"}, {knowledge.Technique, "A way to open"}, {knowledge.Decision, "A decision"},
		{knowledge.Hazard, "A danger"}, {knowledge.Care, "Care of the kit"}, {knowledge.Drill, "A drill"},
	} {
		reply.Buttons = append(reply.Buttons, bot.Button{Label: k.label, Value: q.value("draft", string(k.kind))})
	}
	return reply
}

// draftReply gives the text of a card to begin with.
func (r *Request) draftReply(q openQuestion, kind knowledge.Kind) (Result, error) {
	if knowledge.RequiredSections(kind) == nil {
		return Result{}, bot.SayOldButton.With()
	}
	id := knowledge.DraftID(q.text)
	text := fmt.Sprintf("Save this as cards/%s.md in the department's folder and write what is missing. It serves once nothing is left to be written and the chief of training has adopted it.\n\n%s",
		id, knowledge.Draft(kind, upperFirst(strings.TrimRight(q.text, "?!. ")), q.text, r.Now.In(r.Department.Zone)))
	return Answer(bot.Reply{Text: text, Buttons: []bot.Button{{Label: "The card is there", Value: q.value("settle", id)}}}), nil
}

// settleQuestion takes a question off the list, in all its wordings, until it
// is asked again.
func (r *Request) settleQuestion(q openQuestion, how string) (Result, error) {
	text := "Settled: not for us. Asked again, it comes back here."
	if how != notForUs {
		c, ok := r.Cards.Card(how)
		if !ok {
			return Result{}, bot.SayNoCard.With(how)
		}
		text = "Settled: " + c.Title + " answers it. Add the wording to the card's asks, and it is found."
	}
	entry := bot.NewEntry(settledKind, q.last.Subject, r.Who.Person, r.Now, settled{How: how})
	return Result{
		Posts:   []Post{{Reply: bot.Reply{Text: text, Buttons: []bot.Button{r.undoButton()}}}},
		Changes: []bot.Change{bot.Written{Entry: entry}},
	}, nil
}
