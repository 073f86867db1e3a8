package command

import (
	"context"
	"time"

	"kitbell/bot"
	"kitbell/bot/kit"
	"kitbell/schedule"
)

// Queue reads the queue. All methods are safe from any goroutine, may block on
// the store, and return bot.ErrNotFound for what is not there.
type Queue interface {
	// OpenLines gives the department's open lines, lowest number first.
	OpenLines(ctx context.Context, department string) ([]kit.Line, error)
	// ClosedLines gives those that were closed since an instant, likewise.
	ClosedLines(ctx context.Context, department string, since time.Time) ([]kit.Line, error)
	// Line gives one line as it is now.
	Line(ctx context.Context, department string, number int) (kit.Line, error)
	// History gives one line's steps, oldest first.
	History(ctx context.Context, department string, number int) ([]kit.Change, error)
	// NextNumber gives a number for a new line. It is never given again; one
	// that is not used leaves a gap.
	NextNumber(ctx context.Context, department string) (int, error)
}

// Journal reads the journal, likewise.
type Journal interface {
	// Entries gives the entries of a kind since an instant, oldest first,
	// without the withdrawn ones. An empty subject means every subject.
	Entries(ctx context.Context, department, kind, subject string, since time.Time) ([]bot.Entry, error)
	// Mark names the state of a department's entries of a kind, without reading
	// them.
	Mark(ctx context.Context, department, kind string) (bot.JournalMark, error)
	// Done gives what one event and the later wordings of its message wrote:
	// the steps of queue lines and the journal's entries.
	Done(ctx context.Context, department, event string) ([]kit.Change, []bot.Entry, error)
	// LastEventBy gives the event of the person's last write since an instant,
	// but for entries of the kind left out; ok is false when there is none.
	LastEventBy(ctx context.Context, department, person, leftOut string, since time.Time) (event string, ok bool, err error)
}

// DueWork reads what the schedule's entries made due, likewise.
type DueWork interface {
	// WaitingDue gives what no bundle has carried yet, oldest first.
	WaitingDue(ctx context.Context, department string) ([]schedule.Due, error)
	// Cursors gives how far each schedule entry has come.
	Cursors(ctx context.Context, department string) ([]schedule.Cursor, error)
}

// Steps reads what became of all lines, likewise.
type Steps interface {
	// LineSteps gives every step of every line of a department, a line's in their
	// order.
	LineSteps(ctx context.Context, department string) ([]kit.Change, error)
}

// Books is everything that commands read.
type Books interface {
	Queue
	Steps
	Journal
	DueWork
}

// Ledger is where the router writes.
type Ledger interface {
	// Talk gives what a conversation remembers; ok is false when it has
	// nothing or has expired at now.
	Talk(ctx context.Context, department, key string, now time.Time) (talk bot.Talk, ok bool, err error)
	// LastTalk gives what the latest conversation of a speaker on a platform
	// remembers, wherever it was held, threads left out.
	LastTalk(ctx context.Context, department, platform, speaker string, now time.Time) (talk bot.Talk, ok bool, err error)
	// Apply writes a turn in one transaction. bot.ErrConflict means that a row
	// changed since it was read and that nothing was written.
	Apply(ctx context.Context, t bot.Turn) error
}

// Inbox keeps events until they are handled.
type Inbox interface {
	// Receive stores e durably; fresh is false when it is there already.
	Receive(ctx context.Context, e bot.Event) (fresh bool, err error)
	// Unhandled gives the events that were received and not handled, in the
	// order they came in.
	Unhandled(ctx context.Context) ([]bot.Event, error)
	// Fail sets an event aside that cannot be handled, under a reference that
	// the log has too.
	Fail(ctx context.Context, e bot.Event, reference string) error
}
