package command

import (
	"context"
	"crypto/rand"
	"encoding/json"
	"errors"
	"fmt"
	"log/slog"
	"slices"
	"sync"
	"time"

	"kitbell/bot"
	"kitbell/bot/department"
	"kitbell/bot/kit"
	"kitbell/bot/understand"
)

// TalkLasts is how long a conversation remembers what was said in it.
const TalkLasts = 30 * time.Minute

// Router runs the command for an event and writes what it wants as one turn.
type Router struct {
	Desks    func(department string) (*Desk, bool) // the department as last loaded
	Commands []Command
	Books    Books
	Ledger   Ledger
	Clock    bot.Clock
	Log      *slog.Logger

	// Split cuts a message into those that its platform takes. nil leaves every
	// message whole. It must not block.
	Split func(o bot.Outgoing) []bot.Outgoing

	// Sent finds a message of the outbox on its platform, to change it;
	// bot.ErrNotFound when it was not sent, or when the platform cannot change
	// messages: a new one is posted then. nil never changes one.
	Sent func(ctx context.Context, department, platform, key string) (bot.MessageRef, error)

	// Edits says whether a platform can change a message that was pressed; in
	// memory. nil never changes one.
	Edits func(platform string) bool

	// Photos fetches pictures that may be kept. nil keeps none.
	Photos Photos

	folds folds
}

// Outcome is what came of an event, for callers that show more than the reply.
type Outcome struct {
	Request *Request
	Posts   []Post
	Turn    bot.Turn
}

// Handle works through one event that is in the inbox: it understands it, runs
// the commands for it and writes the turn. When rows changed between reading
// and writing it runs the commands once more. An error means that nothing was
// written and that the event is still unhandled.
func (ro *Router) Handle(ctx context.Context, e bot.Event) (Outcome, error) {
	out, err := ro.attempt(ctx, e)
	if errors.Is(err, bot.ErrConflict) {
		out, err = ro.attempt(ctx, e)
	}
	if err != nil {
		return out, fmt.Errorf("handle event %s: %w", e.ID, err)
	}
	return out, nil
}

func (ro *Router) attempt(ctx context.Context, e bot.Event) (Outcome, error) {
	r, err := ro.request(ctx, e)
	if err != nil {
		return Outcome{}, err
	}
	result, done, err := ro.before(ctx, r)
	if err != nil {
		return Outcome{}, err
	}
	if !done {
		if err := r.rememberPicture(true); err != nil { // it came with words
			return Outcome{}, err
		}
		result = ro.run(ctx, r)
		r.offerPhoto(&result)
		r.sayAmended(&result)
	}
	turn, err := ro.turn(ctx, r, result)
	if err != nil {
		return Outcome{}, err
	}
	if err := ro.Ledger.Apply(ctx, turn); err != nil {
		return Outcome{}, err
	}
	if err := ro.shareDoor(ctx, r); err != nil {
		ro.Log.Warn("crew's door not shared", "event", r.Event.ID, "error", err)
	}
	return Outcome{Request: r, Posts: result.Posts, Turn: turn}, nil
}

// before answers what never reaches a command: people who are not let in, and
// what they do beside typing and pressing. A changed message takes back what it
// booked and is then heard like any other.
func (ro *Router) before(ctx context.Context, r *Request) (result Result, done bool, err error) {
	if result, done, err = r.gate(ctx); done || err != nil {
		return result, done, err
	}
	if r.form.id == cardForm {
		return r.proposeCard(), true, nil
	}
	if r.Event.Kind == bot.Edited {
		err := ro.amend(ctx, r)
		if sentence, ok := asUserError(err); ok {
			return Answer(bot.Reply{Text: sentence, Private: true}), true, nil
		}
		return Result{}, false, err
	}
	return r.habit(ctx)
}

// request gathers what the commands need.
func (ro *Router) request(ctx context.Context, e bot.Event) (*Request, error) {
	desk, ok := ro.Desks(e.Department)
	if !ok {
		return nil, fmt.Errorf("department %s: %w", e.Department, bot.ErrNotFound)
	}
	r := &Request{Desk: desk, Event: e, Now: ro.Clock.Now(), Books: ro.Books, Memory: &Memory{}, photos: ro.Photos, folds: &ro.folds}
	if err := ro.recall(ctx, r); err != nil {
		return nil, err
	}
	var err error
	if r.Who, err = who(ctx, r); err != nil {
		return nil, err
	}
	if e.Kind == bot.Submitted {
		if err := r.takeForm(); err != nil { // one of an older program
			r.Event.Kind, r.Verb = bot.Pressed, oldVerb
		}
		e = r.Event
	}
	if e.Kind == bot.Pressed && r.Verb == "" {
		r.Verb, r.Ref = press(e.Press)
		if r.Verb == sayVerb {
			r.Event.Text, r.Verb = r.Ref, ""
		}
	}
	r.crew = sync.OnceValues(func() (*Running, error) { return ro.crewDoor(ctx, r) })
	r.recallDoor()
	if r.form.reading != nil {
		r.Reading = *r.form.reading
		r.prepare(ctx)
		return r, nil
	}
	r.Reading = desk.Read(r.Event.Text, r.context())
	if said(e.Kind) {
		if err := r.readShortly(); err != nil {
			return nil, err
		}
	}
	r.prepare(ctx)
	if said(e.Kind) {
		r.readHowItWasLeft()
		if err := r.readFollowUp(ctx); err != nil {
			return nil, err
		}
	}
	return r, nil
}

// oldVerb is the verb of no command: its press is of an older program.
const oldVerb = "old"

// takeForm makes of a form that was sent what it says.
func (r *Request) takeForm() error {
	sent, err := r.readForm(r.Event, r.Who.Unit)
	if err != nil {
		return err
	}
	r.form = sent
	r.Event.Kind, r.Event.Text, r.Event.Direct = bot.Said, sent.text, true
	return nil
}

// recall takes up what the conversation remembers, and settles under which key
// it goes on.
func (ro *Router) recall(ctx context.Context, r *Request) error {
	e := r.Event
	r.conversation = e.Conversation()
	talk, ok, err := ro.Ledger.Talk(ctx, e.Department, r.conversation, r.Now)
	_, listed := r.Department.ChannelAt(e.Where)
	switch {
	case err != nil:
	case !ok && e.Where.Thread != "": // a thread begins with what was said above it
		above := e
		above.Where.Thread = ""
		talk, ok, err = ro.Ledger.Talk(ctx, e.Department, above.Conversation(), r.Now)
	case e.Where.Thread == "" && !listed && !atThisMachine(e.Where.Platform): // what is private may be told in a person's own line: they go on there
		if talk, ok, err = ro.Ledger.LastTalk(ctx, e.Department, e.Where.Platform, e.From.Key(), r.Now); ok {
			r.conversation = talk.Key
		}
	}
	if err != nil {
		return fmt.Errorf("read conversation: %w", err)
	}
	if !ok {
		return nil
	}
	if err := json.Unmarshal(talk.State, r.Memory); err != nil {
		ro.Log.Warn("conversation state unreadable, starting afresh", "error", err)
		r.Memory = &Memory{}
	}
	return nil
}

// said says whether an event is words to be read.
func said(kind bot.EventKind) bool { return kind == bot.Said || kind == bot.Edited }

// run runs the command for the press or the intent, and then those for what
// else the message holds. What goes wrong becomes a sentence for the person;
// changes of a command that failed are dropped.
func (ro *Router) run(ctx context.Context, r *Request) Result {
	var all Result
	for _, name := range r.names() {
		c, ok := ro.find(name)
		if !ok {
			if r.Verb != "" {
				all.Posts = append(all.Posts, Post{Reply: bot.Reply{Text: bot.SayOldButton.With().Say, Private: true}})
			}
			continue
		}
		result, err := c.Run(ctx, r)
		if err != nil {
			result = Result{Posts: []Post{{Reply: bot.Reply{Text: ro.sentence(r, c, err), Private: c.Private}}}}
		}
		for i := range result.Posts {
			result.Posts[i].Reply.Private = result.Posts[i].Reply.Private || c.Private
			result.Posts[i].thread = c.Thread
			result.Posts[i].public = booksALine(result.Changes)
		}
		all.Posts = append(all.Posts, result.Posts...)
		all.Changes = append(all.Changes, result.Changes...)
	}
	return all
}

// booksALine says whether changes are of the crew's queue, which concerns more
// than the one who spoke.
func booksALine(changes []bot.Change) bool {
	return slices.ContainsFunc(changes, func(c bot.Change) bool { _, line := c.(kit.Change); return line })
}

// sentence is what the person hears of an error; what is not meant for a
// person is logged under a short reference.
func (ro *Router) sentence(r *Request, c Command, err error) string {
	var forPerson *bot.UserError
	if errors.As(err, &forPerson) {
		return forPerson.Say
	}
	reference := newReference()
	ro.Log.Error("command failed", "command", c.Name, "event", r.Event.ID, "reference", reference, "error", err)
	return bot.SayTrouble.With(reference).Say
}

// newReference is a short word that a person can read out and the log has too.
func newReference() string { return rand.Text()[:6] }

func (ro *Router) find(name string) (Command, bool) {
	for _, c := range ro.Commands {
		if c.Name == name {
			return c, true
		}
	}
	return Command{}, false
}

// names lists the commands to run for the request, in order: that of the press
// or the intent, and those that get an answer of their own beside it. A message
// that reports and asks gets both, and one that tells how a use went and what
// broke.
func (r *Request) names() []string {
	if r.Verb != "" {
		return []string{r.Verb}
	}
	names := []string{string(r.Reading.Intent)}
	if r.failedTry() {
		return names
	}
	for _, pair := range [][2]understand.Intent{{understand.Report, understand.Ask}, {understand.Used, understand.Report}, {understand.Report, understand.Used}} {
		if r.Reading.Intent == pair[0] && slices.Contains(r.Reading.Also, pair[1]) && r.stands(pair[1]) {
			names = append(names, string(pair[1]))
		}
	}
	return names
}

// stands says whether what else a message holds is enough to act on by itself.
func (r *Request) stands(also understand.Intent) bool {
	switch also {
	case understand.Used:
		return r.Reading.Use.Outcome != "" || r.Reading.Use.Tries > 0 || r.Reading.Use.Left == leftUnsecured
	case understand.Report:
		return len(r.Reading.Lines) > 0
	}
	return true
}

// turn turns a result into what the store writes.
func (ro *Router) turn(ctx context.Context, r *Request, result Result) (bot.Turn, error) {
	state, err := json.Marshal(r.Memory)
	if err != nil {
		return bot.Turn{}, fmt.Errorf("encode conversation: %w", err)
	}
	t := bot.Turn{
		Department: r.Event.Department, EventID: r.Event.ID, Platform: r.Event.Where.Platform, Actor: r.Who.Person, At: r.Now,
		Changes: result.Changes,
		Talk:    &bot.Talk{Department: r.Event.Department, Key: r.conversation, State: state, Expires: r.Now.Add(TalkLasts)},
	}
	if !r.Event.Direct && r.Event.Kind != bot.Pressed && len(result.Posts)+len(result.Changes) == 0 {
		t.Forget, t.Talk = true, nil // banter in a channel that is listened to
	}
	for i, p := range result.Posts {
		p.Reply = r.exampled(p.Reply)
		result.Posts[i].Reply = p.Reply
		key := r.outboxKey(i)
		if i == 0 && p.Edit == "" && r.Event.Kind == bot.Edited {
			p.Edit = fmt.Sprintf("%s/%s/0", r.Event.Where.Platform, r.Event.About) // the answer to the first wording
		}
		edit := ro.pressed(r, p)
		if edit == nil {
			edit = ro.sent(ctx, r, p.Edit)
		}
		for _, to := range ro.addresses(r, p) {
			t.Posts = append(t.Posts, ro.split(bot.Outgoing{Key: key, To: to, Edit: edit, Reply: p.Reply, Answers: r.Event.ID})...)
			key += "+"
		}
	}
	return t, nil
}

// outboxKey names the turn's post i in the outbox.
func (r *Request) outboxKey(i int) string {
	return fmt.Sprintf("%s/%s/%d", r.Event.Where.Platform, r.Event.ID, i)
}

// pressed is the message that was pressed, when a post takes its place; nil for
// a new one. What one person alone shall see never stands where all saw.
func (ro *Router) pressed(r *Request, p Post) *bot.MessageRef {
	e := r.Event
	if !p.OnPressed || p.Reply.Private || e.Kind != bot.Pressed || e.On == "" || ro.Edits == nil || !ro.Edits(e.Where.Platform) {
		return nil
	}
	return &bot.MessageRef{Address: e.Where, ID: e.On}
}

// sent finds the message that a post changes, nil for a new one.
func (ro *Router) sent(ctx context.Context, r *Request, key string) *bot.MessageRef {
	if key == "" || ro.Sent == nil {
		return nil
	}
	ref, err := ro.Sent(ctx, r.Event.Department, r.Event.Where.Platform, key)
	if err != nil {
		if !notFound(err) {
			ro.Log.Warn("message to change not found, posting anew", "event", r.Event.ID, "error", err)
		}
		return nil
	}
	return &ref
}

func (ro *Router) split(o bot.Outgoing) []bot.Outgoing {
	if ro.Split == nil {
		return []bot.Outgoing{o}
	}
	return ro.Split(o)
}

// addresses finds where a post goes: back to where the event came from, to the
// one person when it is private, or to every channel of that use.
func (ro *Router) addresses(r *Request, p Post) []bot.Address {
	if p.at != nil {
		return []bot.Address{*p.at}
	}
	if p.To == (Place{}) {
		return []bot.Address{r.answerTo(p)}
	}
	return channels(r.Department, p.To)
}

// answerTo is where an answer goes: back to where the event came from, to the
// one person when it is private. What was asked so that nobody else saw it is
// answered so, unless it books what the channel should know.
func (r *Request) answerTo(p Post) bot.Address {
	to := r.Event.Where
	_, listed := r.Department.ChannelAt(to)
	switch {
	case p.Reply.Private:
		to.Person = r.Event.From.ID
	case to.Person != "" && p.public && listed:
		to.Person = ""
	case to.Person == "" && to.Thread == "" && p.thread && r.Event.Kind == bot.Said:
		to.Thread = r.Event.On
	}
	return to
}

// channels gives the addresses of a place on every platform of the department.
func channels(d *department.Department, p Place) []bot.Address {
	var out []bot.Address
	for _, c := range d.Channels {
		if c.Use == p.Use && (p.Station == "" || c.Station == p.Station) {
			out = append(out, c.Address())
		}
	}
	return out
}
