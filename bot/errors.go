package bot

import (
	"errors"
	"fmt"
	"time"
)

var (
	// ErrNotFound means that what was asked for is not there.
	ErrNotFound = errors.New("not found")
	// ErrUnsupported means that a platform cannot do what was asked.
	ErrUnsupported = errors.New("unsupported")
	// ErrBarred means that a platform refuses the bot itself, as with a token
	// that is not valid any more: nothing goes out until a person mends that.
	ErrBarred = errors.New("the platform refuses the bot")
	// ErrConflict means that a row changed between reading and writing: read
	// again and decide again.
	ErrConflict = errors.New("changed meanwhile")
	// ErrNotHeld means that another process has the work, or has had it since:
	// nothing was written. It is theirs to do.
	ErrNotHeld = errors.New("another process has it")
)

// UserError is an error whose Say is a sentence for the person. Err, where set,
// is the cause, for the log. Field, where set, is the input of a form that the
// sentence is about.
type UserError struct {
	Say   string
	Err   error
	Field string
}

// At is the same sentence, said at an input of a form.
func (e *UserError) At(field string) *UserError {
	at := *e
	at.Field = field
	return &at
}

// Error is the sentence, with the cause behind it where there is one.
func (e *UserError) Error() string {
	if e.Err == nil {
		return e.Say
	}
	return e.Say + " (" + e.Err.Error() + ")"
}

// Unwrap gives the cause.
func (e *UserError) Unwrap() error { return e.Err }

// RateLimitError asks for a pause before the next try. After zero means that
// the platform did not say how long.
type RateLimitError struct {
	After time.Duration
	Err   error
}

// Error says how long the platform wants to be left alone.
func (e *RateLimitError) Error() string {
	return fmt.Sprintf("rate limited, try again after %s: %v", e.After, e.Err)
}

// Unwrap gives the platform's own error.
func (e *RateLimitError) Unwrap() error { return e.Err }
