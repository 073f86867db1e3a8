package slack

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"sync"
	"time"

	"github.com/slack-go/slack"
	"golang.org/x/time/rate"

	"kitbell/bot"
)

// Limits of the platform: reference pages "chat.postMessage" (text), "Block Kit:
// actions block" and PLATFORMS.md.
const (
	maxText    = 3800 // of 4,000 advised, so that escapes fit
	maxButtons = 25
	pace       = time.Second // "rate limits": about one post a second a channel
)

// callFor is how long one call may take when somebody waits for it.
const callFor = 10 * time.Second

// Adapter is one app on Slack, in any number of workspaces. It implements
// bot.Adapter and bot.Fetcher.
type Adapter struct {
	options Options
	client  *http.Client
	handles *handles
	opens   *rate.Limiter  // of apps.connections.open
	asides  sync.WaitGroup // what is said beside the links, for seconds each

	mu      sync.Mutex
	clients map[string]*slack.Client // by token
	refused map[string]bool          // people elsewhere who have been told
	links   int                      // that are up
	shared  map[string]bool          // workspace/channel that other organisations read too
	barred  bool                     // the last answer's token was refused
}

// New makes an adapter; it connects to nothing yet. The error says what is
// missing or unsafe in the options.
func New(o Options) (*Adapter, error) {
	o, err := o.withDefaults()
	if err != nil {
		return nil, err
	}
	switch {
	case o.Token == "" && len(o.Tokens) == 0:
		return nil, errors.New("no bot token")
	case o.Directory == nil || o.Log == nil:
		return nil, errors.New("options need a Directory and a Log")
	}
	return &Adapter{
		options: o, client: &http.Client{Timeout: time.Minute, Transport: &http.Transport{Proxy: http.ProxyFromEnvironment}}, handles: newHandles(o.Clock),
		// A server that hangs up after each hello would be called thousands of
		// times a second (PLATFORMS.md).
		opens:   rate.NewLimiter(rate.Every(3*time.Second), 2*o.Links+2),
		clients: make(map[string]*slack.Client), refused: make(map[string]bool), shared: make(map[string]bool),
	}, nil
}

// Name is "slack".
func (*Adapter) Name() string { return Name }

// Capabilities are the platform's limits.
func (*Adapter) Capabilities() bot.Capabilities {
	return bot.Capabilities{
		MaxText: maxText, MaxButtons: maxButtons, Edits: true, Private: true, Pictures: true, Threads: true, Pace: pace,
	}
}

// Run holds the links of Socket Mode until ctx ends. Without an app token it
// only waits: HTTP brings the events then. An error is one that no reconnecting
// mends: a token that is refused, a scope that is missing.
func (a *Adapter) Run(ctx context.Context, h bot.Handler) error {
	defer a.asides.Wait()
	ctx, cancel := context.WithCancelCause(ctx)
	defer cancel(nil)
	a.asides.Go(func() { a.lookWhoReads(ctx) })
	if a.options.AppToken == "" {
		<-ctx.Done()
		return nil
	}
	var running sync.WaitGroup
	for i := range a.options.Links {
		running.Go(func() {
			if err := a.options.Clock.Wait(ctx, a.options.Clock.Now().Add(time.Duration(i)*a.options.Stagger)); err != nil {
				return
			}
			if err := a.link(ctx, h); err != nil && ctx.Err() == nil {
				cancel(err)
			}
		})
	}
	running.Wait()
	a.client.CloseIdleConnections()
	if err := context.Cause(ctx); err != nil && !errors.Is(err, context.Canceled) && !errors.Is(err, context.DeadlineExceeded) {
		return fmt.Errorf("hold link: %w", err)
	}
	return nil
}

// Ready says whether events can come in now and answers go out: a link is up, or
// HTTP brings them, and the last answer's token was taken.
func (a *Adapter) Ready() bool {
	a.mu.Lock()
	defer a.mu.Unlock()
	return (a.links > 0 || a.options.AppToken == "") && !a.barred
}

func (a *Adapter) tokenOf(workspace string) string {
	if own, ok := a.options.Tokens[workspace]; ok {
		return own
	}
	return a.options.Token
}

// api is the client for a workspace.
func (a *Adapter) api(workspace string) (*slack.Client, error) {
	token := a.tokenOf(workspace)
	if token == "" {
		return nil, fmt.Errorf("no bot token for workspace %s", workspace)
	}
	a.mu.Lock()
	defer a.mu.Unlock()
	if a.clients[token] == nil {
		a.clients[token] = slack.New(token, slack.OptionAPIURL(a.options.API), slack.OptionHTTPClient(a.client))
	}
	return a.clients[token], nil
}
