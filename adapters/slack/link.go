package slack

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net"
	"net/http"
	"slices"
	"strings"
	"sync"
	"time"

	"github.com/gorilla/websocket"
	"github.com/slack-go/slack"
	"github.com/slack-go/slack/socketmode"

	"kitbell/bot"
)

const (
	// pingWithin is how long a link may be silent; the server pings.
	pingWithin = 30 * time.Second
	keepAlive  = 10 * time.Second
	ackWithin  = 2 * time.Second
	// mostWaiting is how many envelopes may wait for the disk. What comes on top
	// is left unacknowledged, so the platform brings it again.
	mostWaiting = 1000
	// mostBytes is the largest envelope that is read.
	mostBytes = 4 << 20
)

// link holds one Socket Mode link until ctx ends. The library reconnects by
// itself; the error is one that reconnecting does not mend.
func (a *Adapter) link(ctx context.Context, h bot.Handler) error {
	ctx, cancel := context.WithCancelCause(ctx)
	defer cancel(nil)
	client := socketmode.New(
		slack.New(a.options.Token, slack.OptionAppLevelToken(a.options.AppToken), slack.OptionAPIURL(a.options.API),
			slack.OptionHTTPClient(&opener{a})),
		socketmode.OptionDialer(dialer()), socketmode.OptionPingInterval(pingWithin), socketmode.OptionReadLimit(mostBytes),
	)
	waiting := make(chan envelope, mostWaiting)
	l := &oneLink{Adapter: a, client: client, giveUp: cancel}
	var behind sync.WaitGroup
	defer behind.Wait()
	defer cancel(nil)
	behind.Go(func() { l.drain(ctx, waiting) })
	behind.Go(func() { l.work(ctx, h, waiting) })
	defer l.down()
	for {
		err := client.RunContext(ctx)
		if ctx.Err() != nil {
			return hopelessly(context.Cause(ctx))
		}
		if hopeless := hopelessly(err); hopeless != nil {
			return hopeless
		}
		a.options.Log.WarnContext(ctx, "link ended, opening another", "error", err)
	}
}

// dialer opens connections that notice a dead far end.
func dialer() *websocket.Dialer {
	d := &net.Dialer{Timeout: callFor, KeepAlive: keepAlive}
	return &websocket.Dialer{
		NetDialContext: d.DialContext, Proxy: http.ProxyFromEnvironment, HandshakeTimeout: callFor,
		// The server does not join the parts of a message, so an answer must fit
		// the buffer whole.
		WriteBufferSize: 32 << 10,
	}
}

// opener slows the opening of links down.
type opener struct{ a *Adapter }

// Do is the library's way to call.
func (o *opener) Do(r *http.Request) (*http.Response, error) {
	if strings.HasSuffix(r.URL.Path, "apps.connections.open") {
		if err := o.a.opens.Wait(r.Context()); err != nil {
			return nil, err
		}
	}
	return o.a.client.Do(r)
}

// oneLink is a link at work.
type oneLink struct {
	*Adapter
	client *socketmode.Client
	giveUp context.CancelCauseFunc

	mu sync.Mutex
	up bool
}

func (l *oneLink) set(up bool) {
	l.mu.Lock()
	changed := l.up != up
	l.up = up
	l.mu.Unlock()
	if !changed {
		return
	}
	l.Adapter.mu.Lock()
	defer l.Adapter.mu.Unlock()
	if up {
		l.links++
	} else {
		l.links--
	}
}

func (l *oneLink) down() { l.set(false) }

// drain takes what the library brings as fast as it comes: once its buffer is
// full it hears nothing more (PLATFORMS.md, measured).
func (l *oneLink) drain(ctx context.Context, waiting chan envelope) {
	for {
		select {
		case <-ctx.Done():
			return
		case event := <-l.client.Events:
			l.note(ctx, event, waiting)
		}
	}
}

func (l *oneLink) note(ctx context.Context, event socketmode.Event, waiting chan envelope) {
	log := l.options.Log
	switch event.Type {
	case socketmode.EventTypeEventsAPI, socketmode.EventTypeInteractive, socketmode.EventTypeSlashCommand:
		if event.Request == nil {
			return
		}
		select {
		case waiting <- envelope{event.Request.EnvelopeID, event.Request.Type, event.Request.Payload}:
		default:
			log.WarnContext(ctx, "too much waits for the disk; left for the platform to bring again")
		}
	case socketmode.EventTypeErrorBadMessage:
		l.ackBroken(ctx, event)
	case socketmode.EventTypeHello:
		l.set(true)
		log.InfoContext(ctx, "link is up")
	case socketmode.EventTypeConnecting:
		l.set(false)
		l.options.Count("reconnect")
	case socketmode.EventTypeConnectionError:
		if failed, ok := event.Data.(*slack.ConnectionErrorEvent); ok {
			log.WarnContext(ctx, "link not opened", "attempt", failed.Attempt, "pause", failed.Backoff, "error", failed.ErrorObj)
			if hopelessly(failed.ErrorObj) != nil {
				l.giveUp(failed.ErrorObj) // the library itself ends on four of them only
			}
		}
	case socketmode.EventTypeErrorWriteFailed:
		l.options.Count("lost-ack") // the platform brings the envelope again
		log.WarnContext(ctx, "acknowledgement lost")
	}
}

// ackBroken acknowledges an envelope that the library could not read. It can
// never be handled, and would come again.
func (l *oneLink) ackBroken(ctx context.Context, event socketmode.Event) {
	bad, ok := event.Data.(*socketmode.ErrorBadMessage)
	if !ok {
		return
	}
	var head struct {
		ID string `json:"envelope_id"`
	}
	if json.Unmarshal(bad.Message, &head) != nil || head.ID == "" {
		return
	}
	l.options.Log.WarnContext(ctx, "envelope that nobody can read set aside", "envelope", head.ID)
	l.ack(ctx, head.ID, nil)
}

// work hands on one envelope after the other and acknowledges what is stored.
func (l *oneLink) work(ctx context.Context, h bot.Handler, waiting chan envelope) {
	for {
		var e envelope
		select {
		case <-ctx.Done():
			return
		case e = <-waiting:
		}
		answer, err := l.take(ctx, h, e.kind, e.payload)
		if err != nil {
			if ctx.Err() == nil {
				l.options.Log.ErrorContext(ctx, "event not taken in; left for the platform to bring again", "error", err)
			}
			continue
		}
		l.ack(ctx, e.id, answer)
	}
}

func (l *oneLink) ack(ctx context.Context, id string, answer any) {
	ctx, cancel := context.WithTimeout(ctx, ackWithin)
	defer cancel()
	if err := l.client.AckCtx(ctx, id, answer); err != nil {
		l.options.Count("lost-ack")
		l.options.Log.WarnContext(ctx, "not acknowledged", "envelope", id, "error", err)
	}
}

// hopelessly gives the error of a link that no reconnecting mends, with what to
// do about it; nil for any other.
func hopelessly(err error) error {
	var refused slack.SlackErrorResponse
	var status slack.StatusCodeError
	switch {
	case err == nil:
		return nil
	case errors.As(err, &refused) && slices.Contains(hopelessWords(), refused.Err):
		return fmt.Errorf("%s: %w", fix(refused), err)
	case errors.As(err, &status) && status.Code == http.StatusNotFound:
		return fmt.Errorf("the address of the API is not one: %w", err)
	case slices.Contains(hopelessWords(), err.Error()):
		return fmt.Errorf("%s: %w", fix(slack.SlackErrorResponse{Err: err.Error()}), err)
	}
	return nil
}

// envelope is one payload of a link.
type envelope struct {
	id, kind string
	payload  json.RawMessage
}
