package deliver

import (
	"context"
	"time"

	"kitbell/bot"
)

// LongestPause is the most that the loop waits between two tries of a message,
// whatever the platform asks for.
const LongestPause = time.Hour

// Item is one row of the outbox: one platform message.
type Item struct {
	ID         int64
	Department string
	Message    bot.Outgoing
	Tries      int       // failed tries so far
	NotBefore  time.Time // zero for a message that may go at once
}

// State says where a message stands. Waiting and Sending hold the lane's later
// messages back; the others are final.
type State string

// The states of a message.
const (
	Waiting      State = "waiting"
	Sending      State = "sending"
	Sent         State = "sent"
	PossiblySent State = "possibly-sent" // nobody knows; it is not repeated
	Failed       State = "failed"
)

// Outcome is how a try ended.
type Outcome struct {
	State     State          // Waiting for another try, Sent, PossiblySent or Failed
	Ref       bot.MessageRef // Sent: what the platform calls the message
	Tries     int            // failed tries, this one included
	NotBefore time.Time      // Waiting: when to try again
	Reason    string         // why it did not arrive, for the log; never the message's text
}

// Store is what the loop needs of the outbox. Every method may block for the
// disk; all but Ready and Interrupted are called from several goroutines.
type Store interface {
	// Ready gives at most n messages that may be sent at now, one a lane, and
	// the moment when one more becomes ready (zero: no such moment). Called by
	// the loop whenever something has changed.
	Ready(ctx context.Context, now time.Time, n int) ([]Item, time.Time, error)
	// Interrupted gives the messages in state Sending that nobody is sending any
	// more. Called once, at start, before anything is sent; in a shared outbox
	// before every look.
	Interrupted(ctx context.Context) ([]Item, error)
	// MarkSending makes a Waiting message Sending, durably; called before each
	// try. An error means that the try must not be made.
	MarkSending(ctx context.Context, id int64) error
	// Settle stores the outcome of a Sending message, durably; called after
	// each try, with a context that outlives the loop's.
	Settle(ctx context.Context, id int64, o Outcome) error
	// Posted gets a value when messages were added. Constant; the loop is its
	// only listener.
	Posted() <-chan struct{}
}
