package command

import (
	"context"
	"fmt"
	"hash/fnv"
	"maps"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	"kitbell/bot"
	"kitbell/bot/department"
	"kitbell/bot/door"
	"kitbell/bot/understand"
	"kitbell/knowledge"
)

// adoptVerb is the word, and the verb of the buttons, for what the chief of
// training says of cards.
const adoptVerb = "adopt"

// AdoptCommand lets the chief of training adopt cards for the department, each
// in the version it has that day, and set them aside again. Until then a card
// says that it is not adopted here, and no plan uses its technique.
func AdoptCommand() Command {
	return Command{
		Name:    adoptVerb,
		Usage:   "adopt all cards, or: adopt card swing-bar-release",
		For:     department.Training,
		Summary: "For the chief of training: say which cards this department goes by.",
		Run:     adopt,
	}
}

// adoptedKind is the journal's word for cards that were adopted or set aside.
const adoptedKind = "adopted"

// adoption is the body of such an entry: versions by card id, "" for a card
// that was set aside.
type adoption map[string]string

// adopted gives the version of each card that the department goes by.
func (r *Request) adopted(ctx context.Context) (adoption, error) {
	return fold(ctx, r, adoptedKind, func(entries []bot.Entry) (adoption, error) {
		all := adoption{}
		for _, e := range entries {
			one, err := decode[adoption](e)
			if err != nil {
				return nil, err
			}
			maps.Copy(all, one)
		}
		return all, nil
	})
}

// What stands above a card, or in a plan, that the department does not go by.
const (
	notAdopted     = "Not adopted here: the chief of training has not approved it."
	changedSince   = "Changed since it was adopted here: the chief of training has not approved it as it is now."
	forbiddenWords = "Not used here: the department forbids it."
)

// against says what stands against going by a card here: a sentence, or "".
func (r *Request) against(all adoption, c *knowledge.Card) string {
	switch version := all[c.ID]; {
	case slices.Contains(r.Department.Forbids, c.ID):
		return forbiddenWords
	case r.AdoptsAll || version == c.Version:
		return ""
	case version == "":
		return notAdopted
	}
	return changedSince
}

// barred are the techniques that no plan here may use, with the reason.
// Forcing is never among them: what an officer may order in need does not wait
// for a card.
func (r *Request) barred(ctx context.Context) (map[string]string, error) {
	all, err := r.adopted(ctx)
	if err != nil {
		return nil, err
	}
	barred := make(map[string]string)
	for _, id := range r.Cards.IDs(knowledge.Technique) {
		c, ok := r.Cards.Card(id)
		if !ok || c.ID == LastResort && !slices.Contains(r.Department.Forbids, id) {
			continue
		}
		if why := r.against(all, c); why != "" {
			barred[id] = why
		}
	}
	return barred, nil
}

// unadoptedIn is how many techniques a plan lacks only because nobody adopted
// them.
func unadoptedIn(plan door.Plan) int {
	n := 0
	for _, out := range plan.RuledOut {
		if out.Why == notAdopted || out.Why == changedSince {
			n++
		}
	}
	return n
}

// LastResort is the technique that every plan ends with.
const LastResort = "force-it"

// asAdopted puts above what a reply shows of cards what stands against going by
// them here. Of a forbidden one only the cautions and sources stay.
func (r *Request) asAdopted(ctx context.Context, reply bot.Reply, ids ...string) (bot.Reply, error) {
	all, err := r.adopted(ctx)
	if err != nil {
		return reply, err
	}
	var lines []string
	for _, id := range ids {
		c, ok := r.Cards.Card(id)
		if !ok {
			continue
		}
		why := r.against(all, c)
		if why == forbiddenWords {
			why += r.insteadOf(ctx, c)
			reply.Text, reply.Steps, reply.Pictures = "", nil, nil
			reply.Fields = slices.DeleteFunc(reply.Fields, func(f bot.Field) bool { return f.Name != knowledge.Cautions && f.Name != sourceField })
		}
		if why != "" && len(ids) > 1 {
			why = c.Title + ": " + lowerFirst(why)
		}
		if why != "" {
			lines = append(lines, why)
		}
	}
	reply.Text = strings.TrimSpace(strings.Join(append(lines, reply.Text), "\n"))
	return reply, nil
}

// insteadOf names what the planner begins with on the door that a forbidden
// technique's title tells of, "" when only the irons are left.
func (r *Request) insteadOf(ctx context.Context, c *knowledge.Card) string {
	barred, err := r.barred(ctx)
	if err != nil {
		return "" // the rest of the answer stands without it
	}
	facts := r.Reader.Read(c.Title, understand.Context{}).Door
	plan, err := r.Doors.Plan(door.Request{Facts: facts, Tools: r.CompleteKit(r.Department.InForce), Barred: barred})
	if err != nil {
		return ""
	}
	first, ok := firstAttempt(plan.Steps)
	if !ok || first.Technique == LastResort {
		return ""
	}
	return " Here it is " + lowerFirst(first.Title) + " first."
}

func adopt(ctx context.Context, r *Request) (Result, error) {
	all, err := r.adopted(ctx)
	if err != nil {
		return Result{}, err
	}
	what, id := press(r.Ref)
	if what == "list" {
		return Answer(r.adoptionReply(all)), nil
	}
	if !r.Who.May(department.Training) {
		return Result{}, bot.SayAdoptWhose.With()
	}
	open := r.unadopted(all)
	switch what {
	case "all":
		return r.adoptAll(open, id)
	case "card", "aside":
		c, ok := r.Cards.Card(id)
		if !ok {
			return Result{}, bot.SayNoCard.With(id)
		}
		return r.adoptOne(all, c, what == "aside")
	}
	return Result{}, bot.SayOldButton.With()
}

// unadopted are the cards that the department does not go by as they are now,
// by id. What it forbids needs no word.
func (r *Request) unadopted(all adoption) []*knowledge.Card {
	var open []*knowledge.Card
	for _, id := range r.Cards.IDs() {
		c, ok := r.Cards.Card(id)
		if why := r.against(all, c); ok && (why == notAdopted || why == changedSince) {
			open = append(open, c)
		}
	}
	return open
}

// Unadopted are the cards that a department does not go by as they are now, for
// those who look at it from outside a conversation.
func Unadopted(ctx context.Context, desk *Desk, books Books) ([]*knowledge.Card, error) {
	r := &Request{Desk: desk, Books: books}
	all, err := r.adopted(ctx)
	if err != nil {
		return nil, err
	}
	return r.unadopted(all), nil
}

// mostNamed is how many cards a list names.
const mostNamed = 10

// adoptionReply lists what is not adopted.
func (r *Request) adoptionReply(all adoption) bot.Reply {
	open := r.unadopted(all)
	if len(open) == 0 {
		return bot.Reply{Text: fmt.Sprintf("All %d cards are adopted here.", len(r.Cards.IDs()))}
	}
	var lines []string
	for i, c := range open {
		if i == mostNamed {
			lines = append(lines, fmt.Sprintf("and %d more", len(open)-i))
			break
		}
		line := fmt.Sprintf("%s (%s)", c.Title, c.ID)
		if all[c.ID] != "" {
			line += ", changed since"
		}
		lines = append(lines, line)
	}
	reply := bot.Reply{
		Text:   fmt.Sprintf("%d of %d cards are not adopted here. No plan uses their techniques.", len(open), len(r.Cards.IDs())),
		Fields: []bot.Field{{Name: "Not adopted", Value: bullets(lines)}},
	}
	if r.Who.May(department.Training) {
		reply.Buttons = []bot.Button{{Label: fmt.Sprintf("Adopt %d", len(open)), Value: adoptVerb + ":all"}}
	}
	return reply
}

// adoptAll asks once, since it is a word for everything. The button names the
// state of the cards, so that one of last month adopts nothing new.
func (r *Request) adoptAll(open []*knowledge.Card, state string) (Result, error) {
	if len(open) == 0 {
		return Answer(bot.Reply{Text: "Every card is adopted already."}), nil
	}
	now := stateOf(open)
	if state == "" {
		text := fmt.Sprintf("Adopt %s in today's text? From then on crews get that as this department's way, and plans use its techniques. Adopt what you have read: more than the steps, the cautions.", plural(len(open), "card"))
		return Answer(bot.Reply{Text: text, Buttons: []bot.Button{
			{Label: fmt.Sprintf("Adopt %d", len(open)), Value: adoptVerb + ":all:" + now},
			{Label: "Which ones?", Value: adoptVerb + ":list"},
		}}), nil
	}
	if state != now {
		return Result{}, bot.SayOldAdoption.With(plural(len(open), "card"))
	}
	body := adoption{}
	for _, c := range open {
		body[c.ID] = c.Version
	}
	return r.noteAdoption("all", body, fmt.Sprintf("Adopted: %s, in today's text. A card that changes needs your word again.", plural(len(open), "card"))), nil
}

// stateOf is a short name of cards in their versions.
func stateOf(cards []*knowledge.Card) string {
	h := fnv.New32a()
	for _, c := range cards {
		fmt.Fprintln(h, c.ID, c.Version)
	}
	return strconv.FormatUint(uint64(h.Sum32()), 36)
}

// Adoption is the change by which a person adopts all cards as they are.
func Adoption(cards Cards, person string, at time.Time) bot.Change {
	body := adoption{}
	for _, id := range cards.IDs() {
		if c, ok := cards.Card(id); ok {
			body[id] = c.Version
		}
	}
	return bot.Written{Entry: bot.NewEntry(adoptedKind, "all", person, at, body)}
}

func (r *Request) adoptOne(all adoption, c *knowledge.Card, aside bool) (Result, error) {
	switch {
	case slices.Contains(r.Department.Forbids, c.ID):
		return Result{}, bot.SayForbidden.With(c.Title)
	case aside && all[c.ID] == "":
		return Answer(bot.Reply{Text: c.Title + " is not adopted here."}), nil
	case aside:
		return r.noteAdoption(c.ID, adoption{c.ID: ""}, "Set aside: "+c.Title+". Plans leave it out from now on."), nil
	case all[c.ID] == c.Version:
		return Answer(bot.Reply{Text: c.Title + " is adopted already, as it is now."}), nil
	}
	return r.noteAdoption(c.ID, adoption{c.ID: c.Version}, "Adopted: "+c.Title+", in today's text."), nil
}

func (r *Request) noteAdoption(subject string, body adoption, text string) Result {
	return Result{
		Posts:   []Post{{Reply: bot.Reply{Text: text, Buttons: []bot.Button{r.undoButton()}}}},
		Changes: []bot.Change{bot.Written{Entry: bot.NewEntry(adoptedKind, subject, r.Who.Person, r.Now, body)}},
	}
}

var (
	adoptAllWords  = regexp.MustCompile(`^(?:adopt|approve) (?:all|every|everything|all (?:of )?the cards?)(?: (?:the )?cards?)?$`)
	adoptListWords = regexp.MustCompile(`^(?:(?:what|which)(?: cards?)?(?: is| are)? not (?:yet )?adopted(?: yet)?|not adopted|which cards are adopted|adopted cards|adoption)$`)
	adoptCardWords = regexp.MustCompile(`^(adopt|approve|set aside) (?:the )?(card )?(.+?)( card)?$`)
)

// adoptionWords gives the button that a few words about cards stand for. A
// card is named by its id or its title. "Adopt the air wedge" without the word
// card is about the tool: a roll-out.
func adoptionWords(words string, cards Cards) (press string, ok bool) {
	switch {
	case adoptAllWords.MatchString(words):
		return adoptVerb + ":all", true
	case adoptListWords.MatchString(words):
		return adoptVerb + ":list", true
	}
	m := adoptCardWords.FindStringSubmatch(words)
	if m == nil {
		return "", false
	}
	id, found := cardNamed(cards, m[3])
	named := m[2] != "" || m[4] != ""
	if !found && !named {
		return "", false
	}
	if c, ok := cards.Card(id); ok && c.Kind == knowledge.Tool && !named && id != m[3] {
		return "", false
	}
	what := "card"
	if m[1] == "set aside" {
		what = "aside"
	}
	return adoptVerb + ":" + what + ":" + id, true
}

// cardNamed finds a card by its id or title; otherwise it gives the words as an
// id that is none.
func cardNamed(cards Cards, words string) (id string, ok bool) {
	if _, ok := cards.Card(words); ok {
		return words, true
	}
	for _, id := range cards.IDs() {
		if c, ok := cards.Card(id); ok && strings.EqualFold(c.Title, words) {
			return id, true
		}
	}
	return words, false
}
