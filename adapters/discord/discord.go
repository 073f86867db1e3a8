package discord

import (
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
	pace         = 500 * time.Millisecond // reference page "Rate limits": five in five seconds a channel is usual
)

// Adapter is one bot on Discord, in any number of guilds. It implements
// bot.Adapter and bot.Fetcher, and a message tried again is not shown again.
type Adapter struct {
	options Options
	key     ed25519.PublicKey
	rest    *discordgo.Session // never opened
	client  *http.Client
	tokens  *tokens

	mu      sync.Mutex
	self    string            // the bot's own user id, once known
	app     string            // the application's id
	up      bool              // the gateway is open
	seen    map[string]string // last message id by channel
	authors map[string]string // who wrote a message that was heard, for when it is deleted
	order   []string          // of authors, oldest first
	parents map[string]string // channel of a thread
	refused map[string]bool   // people elsewhere who have been told
	logins  []time.Time       // of the last day
}

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
		return nil, errors.New("the public key is not 64 hexadecimal digits")
	}
	a := &Adapter{
		options: o, key: key, tokens: newTokens(o.Clock), seen: make(map[string]string), authors: make(map[string]string),
		parents: make(map[string]string), refused: make(map[string]bool),
	}
	a.client = &http.Client{Timeout: time.Minute, Transport: &elsewhere{api: o.API, next: &http.Transport{Proxy: http.ProxyFromEnvironment}}}
	if a.rest, err = a.newSession(); err != nil {
		return nil, err
	}
	return a, nil
}

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

// newSession makes a session of the library's with everything switched off that
// it does by itself and does badly (PLATFORMS.md).
func (a *Adapter) newSession() (*discordgo.Session, error) {
	s, err := discordgo.New("Bot " + a.options.Token)
	if err != nil {
		return nil, fmt.Errorf("make session: %w", err)
	}
	s.ShouldReconnectOnError, s.ShouldRetryOnRateLimit, s.ShouldReconnectVoiceOnSessionError = false, false, false
	s.StateEnabled, s.SyncEvents, s.MaxRestRetries = false, true, 0
	s.LogLevel = -1 // it writes to the standard log, payloads too
	s.Client = a.client
	s.Identify.Intents = a.intents()
	return s, nil
}

// intents are what the gateway brings. Message content is privileged and asked
// for only when a channel is opened to listening; mentions and direct messages
// have their content without it.
func (a *Adapter) intents() discordgo.Intent {
	intents := discordgo.IntentGuilds | discordgo.IntentGuildMessages | discordgo.IntentDirectMessages
	if a.options.Listening {
		intents |= discordgo.IntentMessageContent | discordgo.IntentGuildMessageReactions
	}
	return intents
}

// elsewhere sends the library's calls to the API that the options name.
type elsewhere struct {
	api  string
	next http.RoundTripper
}

// CloseIdleConnections ends what is kept open between calls.
func (e *elsewhere) CloseIdleConnections() {
	if c, ok := e.next.(interface{ CloseIdleConnections() }); ok {
		c.CloseIdleConnections()
	}
}

// RoundTrip rewrites the address of a call.
func (e *elsewhere) RoundTrip(r *http.Request) (*http.Response, error) {
	if e.api != DefaultAPI {
		to, err := r.URL.Parse(e.api + trimBase(r.URL.String()))
		if err != nil {
			return nil, fmt.Errorf("address call: %w", err)
		}
		r = r.Clone(r.Context())
		r.URL, r.Host = to, to.Host
	}
	return e.next.RoundTrip(r)
}

func trimBase(address string) string {
	if len(address) > len(discordgo.EndpointAPI) && address[:len(discordgo.EndpointAPI)] == discordgo.EndpointAPI {
		return address[len(discordgo.EndpointAPI):]
	}
	return ""
}
