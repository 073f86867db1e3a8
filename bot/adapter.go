package bot

import (
	"context"
	"time"
)

// Capabilities says what a platform can show. Zero means "cannot" for flags and
// "no limit" for numbers.
type Capabilities struct {
	MaxText    int           // characters in one message
	MaxButtons int           // buttons in one message
	Edits      bool          // a sent message can be changed
	Private    bool          // a reply can be shown to one person in a channel
	Pictures   bool          // pictures can be sent
	Threads    bool          // replies can be kept in a thread
	Pace       time.Duration // least time between two posts to one lane
}

// Adapter connects one chat platform.
type Adapter interface {
	// Name is the platform's word in addresses: console, slack, discord.
	// Constant, no I/O; any goroutine.
	Name() string
	// Capabilities is constant and does no I/O; any goroutine.
	Capabilities() Capabilities
	// Run listens until ctx ends and gives every event to h. It is called once,
	// blocks, and reconnects by itself. nil means that ctx ended or that the
	// platform has nothing more to say (end of input); an error is hopeless.
	Run(ctx context.Context, h Handler) error
	// Send makes one try to deliver one platform message and may block until
	// ctx ends. It is called from the deliver loop, at most once at a time for
	// a lane. A *RateLimitError asks for a pause; ErrNotFound means that the
	// channel or the message to edit is gone; ErrUnsupported that the platform
	// cannot do it; any other error may be tried again.
	Send(ctx context.Context, o Outgoing) (MessageRef, error)
}

// Directory says which department a person's words or presses belong to. It is
// answered from memory, by any goroutine, and never blocks. where is the place
// as the platform has it; a direct message has a Person and may have no
// workspace. ok is false for a workspace that no department's file lists:
// nothing said there is handed on or stored.
type Directory func(where Address, person string) (p Place, ok bool)

// Place is what a department's file says of a place.
type Place struct {
	Department string // slug
	Listen     bool   // plain sentences are acted on there, not only what is said to the bot
}

// Fetcher is an Adapter that can fetch a file that came with an event.
type Fetcher interface {
	// Fetch gives a file's content through the platform's own API, at most
	// limit bytes of it; more is an error, and so is a place that is not the
	// platform's. It blocks for the network; any goroutine.
	Fetch(ctx context.Context, file File, limit int64) ([]byte, error)
}

// Finding is one thing that was looked at before a platform is worked on: whether
// it is as it must be, and if not, what a person does about it.
type Finding struct {
	What, Fix string
	OK        bool
}

// Handler takes events in.
type Handler interface {
	// Handle stores e durably and returns; the work is done later. It is safe
	// to call from several goroutines and blocks only for the disk. The same
	// event again is no error and does nothing. A *UserError means that the
	// event was refused before it was stored; its sentence is for the person.
	Handle(ctx context.Context, e Event) error
}

// Press is a button press that may need a form as its first answer.
type Press struct {
	From    Speaker
	Where   Address
	Value   string
	Outside bool // as in Event
}

// Partial is what a person has typed so far into a field that offers choices.
type Partial struct {
	From    Speaker
	Where   Address
	Command string
	Field   string
	Text    string
}

// Choice is one suggestion for a field.
type Choice struct{ Label, Value string }

// Form is a set of questions shown at once.
type Form struct {
	ID     string      `json:"id"`
	Title  string      `json:"title"`
	Inputs []FormInput `json:"inputs"`
}

// FormInput is one question of a form. Choices empty means free text.
type FormInput struct {
	Name    string   `json:"name"`
	Label   string   `json:"label"`
	Value   string   `json:"value,omitempty"` // prefilled
	Choices []Choice `json:"choices,omitempty"`
	Long    bool     `json:"long,omitempty"`
	Needed  bool     `json:"needed,omitempty"` // the form cannot be sent without it
}

// Prompter answers what a platform must have at once, in under 100 ms; any
// goroutine. It reads, and never waits for a writer.
type Prompter interface {
	// Form says whether a press is answered by a form, and by which.
	Form(ctx context.Context, p Press) (Form, bool)
	// Suggest gives the choices that fit what is typed so far, best first; nil
	// when there are none.
	Suggest(ctx context.Context, partial Partial) []Choice
}
