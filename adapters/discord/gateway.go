package discord

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"net"
	"net/http"
	"sync"
	"time"

	"github.com/bwmarrin/discordgo"
	"github.com/gorilla/websocket"

	"kitbell/bot"
)

const (
	// mostLogins is how many IDENTIFYs a day the bot makes. 1,000 would make the
	// platform take the token away.
	mostLogins   = 800
	loginsWithin = 24 * time.Hour
	mostPause    = time.Minute
	closeWithin  = 3 * time.Second
	// resumable is a close code that keeps the session; 1000 throws it away.
	resumable = 4000
)

// Run holds the gateway until ctx ends. Without a gateway, when HTTP brings the
// interactions, messages would be missed, so it is always held. An error is one
// that no reconnecting mends: a token or an intent that is refused.
func (a *Adapter) Run(ctx context.Context, h bot.Handler) error {
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	incoming := newQueue()
	var working sync.WaitGroup
	defer a.client.CloseIdleConnections()
	defer working.Wait()
	defer cancel()
	working.Go(func() { a.work(ctx, h, incoming) })
	return a.hold(ctx, incoming)
}

// hold opens the gateway again and again.
func (a *Adapter) hold(ctx context.Context, incoming *queue) error {
	var l *link
	for tries := 0; ctx.Err() == nil; {
		if err := a.awaitLogin(ctx); err != nil {
			return nil
		}
		if l == nil {
			var err error
			if l, err = a.newLink(incoming); err != nil {
				return err
			}
		}
		err := l.open(ctx, a.options.OpenWithin)
		if hopeless := hopelessly(err); hopeless != nil {
			l.close(websocket.CloseNormalClosure)
			return hopeless
		}
		if err != nil {
			if l.stuck {
				l = nil // the library will never return: leave it behind
			}
			tries++
			a.options.Log.WarnContext(ctx, "gateway not opened", "tries", tries, "error", err)
			if a.pauseBefore(ctx, tries) != nil {
				break
			}
			continue
		}
		tries = 0
		l.watch(ctx, a.options.Silence)
		a.setUp(false)
		if ctx.Err() == nil {
			a.options.Count("reconnect")
			if a.pauseBefore(ctx, 1) != nil {
				break
			}
		}
	}
	if l != nil {
		l.close(websocket.CloseNormalClosure)
	}
	return nil
}

// pauseBefore waits before the next try, longer each time, with a part left to chance.
func (a *Adapter) pauseBefore(ctx context.Context, tries int) error {
	pause := min(a.options.FirstPause<<min(tries-1, 8), mostPause)
	pause = pause/2 + rand.N(pause/2+1)
	return a.options.Clock.Wait(ctx, a.options.Clock.Now().Add(pause))
}

// awaitLogin waits while the day's logins are used up.
func (a *Adapter) awaitLogin(ctx context.Context) error {
	for {
		now := a.options.Clock.Now()
		a.mu.Lock()
		for len(a.logins) > 0 && now.Sub(a.logins[0]) >= loginsWithin {
			a.logins = a.logins[1:]
		}
		full := len(a.logins) >= mostLogins
		until := now
		if full {
			until = a.logins[0].Add(loginsWithin)
		}
		a.mu.Unlock()
		if !full {
			return ctx.Err()
		}
		a.options.Log.ErrorContext(ctx, "too many logins today; waiting", "until", until)
		if err := a.options.Clock.Wait(ctx, until); err != nil {
			return err
		}
	}
}

// loggedIn counts a login; the gateway has answered one.
func (a *Adapter) loggedIn() {
	a.options.Count("identify")
	a.mu.Lock()
	defer a.mu.Unlock()
	a.logins = append(a.logins, a.options.Clock.Now())
}

func (a *Adapter) setUp(up bool) {
	a.mu.Lock()
	defer a.mu.Unlock()
	a.up = up
}

// link is one session of the library's, with its connection in hand.
type link struct {
	*Adapter
	session *discordgo.Session
	ended   chan struct{} // gets a value when the gateway is gone
	stuck   bool

	connMu sync.Mutex
	conn   net.Conn
}

func (a *Adapter) newLink(incoming *queue) (*link, error) {
	s, err := a.newSession()
	if err != nil {
		return nil, err
	}
	l := &link{Adapter: a, session: s, ended: make(chan struct{}, 1)}
	s.Dialer = &websocket.Dialer{NetDialContext: l.dial, Proxy: http.ProxyFromEnvironment, HandshakeTimeout: a.options.OpenWithin}
	s.AddHandler(func(_ *discordgo.Session, e *discordgo.Event) {
		if !incoming.add(delivery{e.Type, e.RawData}) {
			a.options.Log.Warn("too much waits for the disk; left behind", "type", e.Type)
		}
	})
	s.AddHandler(func(*discordgo.Session, *discordgo.Disconnect) { l.end() })
	return l, nil
}

func (l *link) end() {
	select {
	case l.ended <- struct{}{}:
	default:
	}
}

// dial keeps the connection, so that a read that waits for ever can be ended,
// and lets no read wait longer than silence may last.
func (l *link) dial(ctx context.Context, network, address string) (net.Conn, error) {
	conn, err := (&net.Dialer{KeepAlive: 10 * time.Second}).DialContext(ctx, network, address)
	if err != nil {
		return nil, err
	}
	l.connMu.Lock()
	defer l.connMu.Unlock()
	l.conn = &impatient{conn, l.options.Silence + l.options.OpenWithin}
	return l.conn, nil
}

// impatient is a connection whose reads end after a while.
type impatient struct {
	net.Conn
	patience time.Duration
}

// Read sets its deadline anew each time.
func (c *impatient) Read(p []byte) (int, error) {
	if err := c.SetReadDeadline(time.Now().Add(c.patience)); err != nil {
		return 0, err
	}
	return c.Conn.Read(p)
}

func (l *link) hangUp() {
	l.connMu.Lock()
	defer l.connMu.Unlock()
	if l.conn != nil {
		_ = l.conn.Close() // it may be closed already
	}
}

// open opens the gateway, or gives up after within: then the connection is cut,
// and when not even that makes the library return, it is stuck for good.
func (l *link) open(ctx context.Context, within time.Duration) error {
	select {
	case <-l.ended: // of an earlier connection
	default:
	}
	opened := make(chan error, 1)
	go func() { opened <- l.session.Open() }()
	err, ok := l.outcome(ctx, opened, within)
	if ok {
		return err
	}
	l.hangUp()
	if err, ok = l.outcome(context.WithoutCancel(ctx), opened, closeWithin); ok {
		return errors.Join(errors.New("gateway was silent"), err)
	}
	l.stuck = true
	return errors.New("gateway library is stuck; a new session takes its place")
}

func (l *link) outcome(ctx context.Context, from <-chan error, within time.Duration) (err error, ok bool) {
	late := time.NewTimer(within)
	defer late.Stop()
	select {
	case err := <-from:
		return err, true
	case <-late.C:
	case <-ctx.Done():
	}
	return nil, false
}

// watch returns when the gateway is gone, when it does not answer heartbeats any
// more (the library would notice after five), or when ctx ends.
func (l *link) watch(ctx context.Context, silence time.Duration) {
	tick := time.NewTicker(max(silence/8, time.Millisecond))
	defer tick.Stop()
	for {
		select {
		case <-ctx.Done():
			return
		case <-l.ended:
			return
		case <-tick.C:
		}
		if !l.session.TryRLock() {
			continue
		}
		last := l.session.LastHeartbeatAck
		l.session.RUnlock()
		if time.Since(last) > silence {
			l.options.Log.WarnContext(ctx, "gateway does not answer; opening it again")
			l.close(resumable)
			return
		}
	}
}

// close closes the gateway with a code, within a while.
func (l *link) close(code int) {
	done := make(chan error, 1)
	go func() { done <- l.session.CloseWithCode(code) }()
	if _, ok := l.outcome(context.Background(), done, closeWithin); !ok {
		l.stuck = true
	}
	l.hangUp()
}

// hopelessly gives the error of a gateway that no reconnecting mends, with what
// to do about it (reference page "Gateway close event codes"); nil for others.
func hopelessly(err error) error {
	var closed *websocket.CloseError
	var refused *discordgo.RESTError
	switch {
	case errors.As(err, &closed) && closed.Code == 4004, errors.As(err, &refused) && refused.Response.StatusCode == http.StatusUnauthorized:
		return fmt.Errorf("the bot token is not valid: take a new one from the application's page: %w", err)
	case errors.As(err, &closed) && closed.Code == 4014:
		return fmt.Errorf("the message content intent is not switched on: switch it on under Bot, or take listen out of the file: %w", err)
	case errors.As(err, &closed) && (closed.Code == 4010 || closed.Code == 4011 || closed.Code == 4012 || closed.Code == 4013):
		return fmt.Errorf("the gateway refuses this program: %w", err)
	}
	return nil
}
