package console

import (
	"context"
	"io"
	"log/slog"
	"os"
	"time"

	"kitbell/bot"
)

// Person is somebody who can be spoken as.
type Person struct {
	Speaker bot.Speaker
	Channel string // where they type unless :in says otherwise: their station's
}

// Options say what the terminal is and what stands behind it. In, Out,
// Department and First are needed; the rest may stay zero.
type Options struct {
	// In is what people type. When the run's ctx ends while a read blocks, the
	// read is called off by its deadline, or else by closing In. An *os.File
	// that has no deadlines, as the standard input, can only be left behind:
	// its read ends with the program.
	In io.Reader
	// Out is what they see.
	Out io.Writer
	// Raw says that In and Out are a terminal in raw mode although they are no
	// files, as behind a remote shell. A terminal that is a file is recognised
	// and put into raw mode for as long as Run lasts.
	Raw bool
	// Size gives the terminal's columns and rows. Nil asks the file behind
	// Out; without one, or with zero columns, text is not wrapped.
	Size func() (columns, rows int)
	// Plain is for screen readers: no colour, no symbols, one button a line.
	Plain bool
	// Getenv reads the environment: NO_COLOR and TERM. Nil is os.Getenv.
	Getenv func(name string) string

	Department string   // slug, on every event
	First      Person   // who speaks until :as says otherwise
	Banner     []string // the lines it opens with
	Channels   []string // what :in takes; empty takes any name

	// Who finds a person for :as, and the name behind an id. A *bot.UserError
	// is a sentence with near names. It is called from Run's and Send's
	// goroutines and must not block. Nil means that nobody else can be.
	Who func(name string) (Person, error)
	// MoveClock moves the clock for :clock and says in a sentence what it shows
	// then; arg is what was typed behind it, "+2d" or "2026-11-30 09:00", or
	// empty to ask for the time. It is called from Run's goroutine and may
	// block. A *bot.UserError is a sentence. Nil means that the clock cannot be
	// moved.
	MoveClock func(ctx context.Context, arg string) (string, error)
	// Settle waits until everything said has been answered. It is called from
	// Run's goroutine: after each line on a pipe, at the end on a terminal. An
	// error ends the run. Nil waits for nothing.
	Settle func(ctx context.Context) error
	// Draw makes a picture of a scene as PNG. It is called from Send's
	// goroutine. Nil shows a picture's words alone.
	Draw func(scene string) (png []byte, err error)
	// PictureDir is the folder for pictures, made when the first one is saved.
	// Empty is a new one among the system's temporary folders, which stays.
	PictureDir string

	Clock bot.Clock      // when events happen; nil is the machine's clock
	Zone  *time.Location // to say in when a post came; nil says nothing
	Log   *slog.Logger   // causes that the person is not shown; nil drops them
}

func (o Options) withDefaults() Options {
	if o.Getenv == nil {
		o.Getenv = os.Getenv
	}
	if o.Clock == nil {
		o.Clock = bot.SystemClock{}
	}
	if o.Log == nil {
		o.Log = slog.New(slog.DiscardHandler)
	}
	if o.Settle == nil {
		o.Settle = func(context.Context) error { return nil }
	}
	return o
}
