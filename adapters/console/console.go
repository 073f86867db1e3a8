package console

import (
	"context"
	"errors"

	"kitbell/bot"
)

// Name is the platform's word in addresses and events.
const Name = "console"

// Adapter is a terminal. It implements bot.Adapter.
type Adapter struct {
	options Options
}

// New makes an adapter for one terminal. It does nothing to the terminal yet.
func New(o Options) *Adapter {
	return &Adapter{options: o.withDefaults()}
}

// Name is "console".
func (*Adapter) Name() string { return Name }

// Capabilities says that a message may be of any length, with pictures and
// private ones, and that nothing shown is changed afterwards.
func (*Adapter) Capabilities() bot.Capabilities {
	return bot.Capabilities{Private: true, Pictures: true}
}

// Run reads lines and hands them to h until the input ends, the person leaves
// or ctx ends.
func (a *Adapter) Run(ctx context.Context, h bot.Handler) error {
	return errors.ErrUnsupported
}

// Send shows one message.
func (a *Adapter) Send(ctx context.Context, o bot.Outgoing) (bot.MessageRef, error) {
	return bot.MessageRef{}, errors.ErrUnsupported
}

var _ bot.Adapter = (*Adapter)(nil)
