package discord

import (
	"context"
	"crypto/ed25519"
	"encoding/hex"
	"errors"
	"fmt"
	"net/http"
	"sync"
	"time"

	"github.com/bwmarrin/discordgo"

	"kitbell/bot"
)

// Limits of the platform (reference pages "Message resource" and "Message
// components", PLATFORMS.md).
const (
	maxText      = 1500 // of 2,000, so that escapes fit or an embed takes them
	maxContent   = 2000
	maxEmbedText = 4096
	maxButtons   = 25
	pace         = time.Second // five in five seconds a channel: from memory, the platform says the real limit with each answer
)

// Adapter is one bot on Discord, in any number of guilds. It implements
// bot.Adapter and bot.Fetcher, and a message tried again is not shown again.
type Adapter struct {
	options Options
	key     ed25519.PublicKey
	rest    *discordgo.Session // never opened
	handles *handles
	places  *places
	recent  *recent

	mu       sync.Mutex
	self     string            // the bot's own user id, once known
	app      string            // the application's id
	up       bool              // the gateway is open
	lines    map[string]string // a person's own line, by their id
	since    time.Time         // what was said after it is fetched by the next Run
	hopeless error             // what no reconnecting mends
	gaveUp   chan struct{}     // closed with hopeless
}

// ErrPublicKey refuses a public key that cannot be one.
var ErrPublicKey = errors.New("the public key is not 64 hexadecimal digits")

// New makes an adapter; it connects to nothing yet. The error says what is
// missing or unsafe in the options.
func New(o Options) (*Adapter, error) {
	o, err := o.withDefaults()
	if err != nil {
		return nil, err
	}
	switch {
	case o.Token == "":
		return nil, errors.New("no bot token")
	case o.Directory == nil || o.Log == nil:
		return nil, errors.New("options need a Directory and a Log")
	}
	key, err := hex.DecodeString(o.PublicKey)
	if err != nil || o.PublicKey != "" && len(key) != ed25519.PublicKeySize {
		return nil, ErrPublicKey
	}
	rest, err := discordgo.New("Bot " + o.Token)
	if err != nil {
		return nil, fmt.Errorf("make session: %w", err)
	}
	rest.ShouldReconnectOnError, rest.ShouldRetryOnRateLimit, rest.StateEnabled, rest.MaxRestRetries = false, false, false, 0
	rest.LogLevel = -1 // it writes to the standard log, payloads too
	rest.Client = &http.Client{Timeout: time.Minute, Transport: newGuard(o), CheckRedirect: stay}
	return &Adapter{
		options: o, key: key, rest: rest, handles: newHandles(o.Clock), places: newPlaces(), recent: newRecent(),
		lines: make(map[string]string), gaveUp: make(chan struct{}), since: o.Since,
	}, nil
}

// stay follows no redirection: the token goes nowhere else.
func stay(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }

// Name is "discord".
func (*Adapter) Name() string { return Name }

// Capabilities are the platform's limits.
func (*Adapter) Capabilities() bot.Capabilities {
	return bot.Capabilities{
		MaxText: maxText, MaxButtons: maxButtons, Edits: true, Private: true, Pictures: true, Threads: true, Pace: pace,
	}
}

// Idempotent is true: a message carries a nonce made of its key, which the
// platform is told to enforce.
func (*Adapter) Idempotent() bool { return true }

// Ready says whether events can come in now: the gateway is open, or HTTP
// brings interactions.
func (a *Adapter) Ready() bool {
	a.mu.Lock()
	defer a.mu.Unlock()
	return a.up || len(a.key) > 0
}

func (a *Adapter) setUp(up bool) {
	a.mu.Lock()
	defer a.mu.Unlock()
	a.up = up
}

// know keeps who the bot is, as the platform says it.
func (a *Adapter) know(app, self string) {
	a.mu.Lock()
	defer a.mu.Unlock()
	if app != "" {
		a.app = app
	}
	if self != "" {
		a.self = self
	}
}

// whoami gives the application's and the bot's id; empty before they are known.
func (a *Adapter) whoami() (app, self string) {
	a.mu.Lock()
	defer a.mu.Unlock()
	return a.app, a.self
}

// giveUp ends Run with err and keeps further calls from going out: a token that
// is refused stays refused, and too many refusals ban the address.
func (a *Adapter) giveUp(err error) {
	a.mu.Lock()
	defer a.mu.Unlock()
	if a.hopeless == nil {
		a.hopeless = err
		close(a.gaveUp)
	}
}

func (a *Adapter) hopelessly() error {
	a.mu.Lock()
	defer a.mu.Unlock()
	return a.hopeless
}

// Missed sets when the last event was stored, for a Run that takes the gateway
// over from another process: what was said after it is fetched. It must not be
// called while Run runs.
func (a *Adapter) Missed(since time.Time) {
	a.mu.Lock()
	defer a.mu.Unlock()
	a.since = since
}

func (a *Adapter) missedSince() time.Time {
	a.mu.Lock()
	defer a.mu.Unlock()
	return a.since
}

// Run holds the gateway until ctx ends; over HTTP come interactions alone, so it
// is always held. An error is one that no reconnecting mends: a token or an
// intent that is refused.
func (a *Adapter) Run(ctx context.Context, h bot.Handler) error {
	inner, cancel := context.WithCancel(ctx)
	defer cancel()
	g := newGateway(a, h)
	var running sync.WaitGroup
	running.Go(func() { g.work(inner) })
	running.Go(func() {
		select {
		case <-a.gaveUp:
			cancel()
		case <-inner.Done():
		}
	})
	g.keep(inner)
	cancel()
	running.Wait()
	g.behind.Wait()
	a.setUp(false)
	a.rest.Client.CloseIdleConnections()
	if err := a.hopelessly(); err != nil && ctx.Err() == nil {
		return fmt.Errorf("hold gateway: %w", err)
	}
	return nil
}
