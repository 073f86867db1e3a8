package command

import (
	"context"
	"strings"

	"kitbell/bot"
	"kitbell/bot/department"
)

// Command is one thing that a crew can ask of the bot. Name is the intent that
// it answers and the verb of its buttons.
type Command struct {
	Name    string
	Usage   string          // what to type, in a few words
	Summary string          // one line for help
	Private bool            // only the person who asked sees the reply
	For     department.Role // whose work it is, for help; empty for every crew's
	More    []Example       // what else can be typed to it, for help on its subject
	Thread  bool            // the reply to a message in a channel hangs below that message

	// Run reads and computes; it never sends and never writes. It is called
	// from the conversation's goroutine and may block on the store. It may be
	// called twice for one event, when rows changed between reading and
	// writing. A *bot.UserError is said to the person; any other error is
	// logged and said as trouble with a reference.
	Run func(ctx context.Context, r *Request) (Result, error)
}

// Example is something to type, and what comes of it.
type Example struct{ Usage, Summary string }

// Result is what a command wants: posts to be sent and changes to be written.
type Result struct {
	Posts   []Post
	Changes []bot.Change
}

// Post is one reply and where it goes. The zero Place is the person or thread
// that asked.
type Post struct {
	To    Place
	Edit  string // outbox key of an earlier post of this conversation that this one takes the place of, where the platform can
	Reply bot.Reply

	// OnPressed has the post take the place of the message that was pressed,
	// where the platform can: it was about the same thing alone, and shows how
	// that stands now. Elsewhere it is a new one.
	OnPressed bool

	at     *bot.Address // in place of To: one conversation
	thread bool         // it hangs below the message that it answers
	public bool         // it tells of something booked: a channel that the file lists hears it
}

// Place names a channel by what it is for, whatever the platforms are.
type Place struct {
	Use     department.ChannelUse
	Station string // for a station's channel
}

// Say is a result of one short text to whoever asked.
func Say(text string, buttons ...bot.Button) Result {
	return Answer(bot.Reply{Text: text, Buttons: buttons})
}

// Answer is a result of one reply to whoever asked.
func Answer(reply bot.Reply) Result {
	return Result{Posts: []Post{{Reply: reply}}}
}

// press splits a button's value, verb:ref. ref may hold further colons.
func press(value string) (verb, ref string) {
	verb, ref, _ = strings.Cut(value, ":")
	return verb, ref
}

// sayVerb is the verb of a button that stands for typing its ref.
const sayVerb = "say"

// typed makes a button that does what typing text would do.
func typed(label, text string) bot.Button {
	return bot.Button{Label: label, Value: sayVerb + ":" + text}
}
