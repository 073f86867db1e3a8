package discord

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"math/rand/v2"
	"net"
	"net/http"
	"sync"
	"sync/atomic"
	"time"

	"github.com/bwmarrin/discordgo"
	"github.com/gorilla/websocket"
	"golang.org/x/time/rate"

	"kitbell/bot"
)

// How long the parts of a link may take. They are about the connection, so they
// run on real time, not on the Clock.
const (
	writeFor  = 5 * time.Second
	keepAlive = 10 * time.Second
	// mostWaiting is how many payloads may wait for the disk. More hold the
	// reading up; what the server then gives up on, a RESUME brings again.
	mostWaiting = 1000
	mostBytes   = 32 << 20 // the largest payload that is read
	longest     = 64       // pauses, between two tries
)

// Opcodes of the gateway (reference page "Gateway Opcodes").
const (
	opDispatch  = 0
	opHeartbeat = 1
	opIdentify  = 2
	opResume    = 6
	opReconnect = 7
	opInvalid   = 9
	opHello     = 10
	opAck       = 11
)

// closeToResume is a close code that keeps the session; 1000 throws it away.
const closeToResume = 4000

var (
	errReconnect = errors.New("the server asks to reconnect")
	errInvalid   = errors.New("the session is not valid any more")
	errSilent    = errors.New("the server answers no heartbeats")
)

// payload is what the gateway brings, raw.
type payload struct {
	Op      int             `json:"op"`
	Data    json.RawMessage `json:"d"`
	Seq     int64           `json:"s"`
	Type    string          `json:"t"`
	fetched bool            // over REST, after a gap: it may have been handed on before
}

// gateway holds the link. Its fields are its Run's goroutine's own, but where
// said.
type gateway struct {
	*Adapter
	handler bot.Handler
	queue   chan payload
	behind  sync.WaitGroup // what the worker and the link leave to others
	opens   *rate.Limiter
	budget  *budget

	session string // empty: identify anew
	resume  string // where to resume it
	seq     atomic.Int64
	last    atomic.Uint64 // id of the latest thing heard of; any goroutine
	tries   int           // since a link was up
}

func newGateway(a *Adapter, h bot.Handler) *gateway {
	g := &gateway{
		Adapter: a, handler: h, queue: make(chan payload, mostWaiting), budget: newBudget(a.options.Clock),
		opens: rate.NewLimiter(rate.Every(5*a.options.FirstPause), 5),
	}
	g.last.Store(idAt(a.missedSince()))
	return g
}

// keep opens one link after the other until ctx ends.
func (g *gateway) keep(ctx context.Context) {
	for ctx.Err() == nil {
		err := g.hold(ctx)
		g.setUp(false)
		if ctx.Err() != nil {
			return
		}
		if hopeless := hopelessClose(err); hopeless != nil {
			g.giveUp(hopeless)
			return
		}
		if websocket.IsCloseError(err, 4003, 4007, 4009) { // reference page "Gateway Close Event Codes": begin anew
			g.forget()
		}
		g.options.Count("reconnect")
		g.options.Log.WarnContext(ctx, "link ended, opening another", "error", err)
		g.pause(ctx, err)
	}
}

// pause waits before the next try: not at all when the server asked for it, a
// little after an invalid session, ever longer after failures. All of it is
// jittered, so that many bots do not come back at once.
func (g *gateway) pause(ctx context.Context, err error) {
	g.tries++
	times := min(1<<min(g.tries, 10), longest)
	switch {
	case errors.Is(err, errReconnect) && g.tries == 1:
		times = 0
	case errors.Is(err, errInvalid):
		times = 5 // reference page "Gateway": between one and five seconds
	}
	wait := time.Duration(float64(times) * (0.2 + 0.8*rand.Float64()) * float64(g.options.FirstPause))
	timer := time.NewTimer(wait)
	defer timer.Stop()
	select {
	case <-ctx.Done():
	case <-timer.C:
	}
	_ = g.opens.Wait(ctx) // an error only says that ctx ended
}

// hold opens one link and reads it until it ends. The error says why it ended.
func (g *gateway) hold(ctx context.Context) error {
	conn, err := g.dial(ctx)
	if err != nil {
		return err
	}
	inner, end := context.WithCancelCause(ctx)
	l := &link{conn: conn, end: end}
	var beside sync.WaitGroup
	defer beside.Wait()
	defer end(nil)
	beside.Go(func() {
		<-inner.Done() // ends the reading, whatever it waits for
		l.hangUp(ctx.Err() != nil)
	})
	interval, err := l.hello(g.options.OpenWithin)
	if err != nil {
		return l.why(inner, err)
	}
	l.acked.Store(time.Now().UnixNano())
	beside.Go(func() { g.beat(inner, l, interval) })
	if err := g.greet(l); err != nil {
		return l.why(inner, err)
	}
	for {
		p, err := l.read(2 * interval)
		if err == nil {
			err = g.receive(inner, l, p)
		}
		if err != nil {
			return l.why(inner, err)
		}
	}
}

// dial connects to where the session can be resumed, or else to where the API
// says the gateway is.
func (g *gateway) dial(ctx context.Context) (*websocket.Conn, error) {
	address := g.resume
	if g.session == "" || address == "" {
		var err error
		if address, err = g.address(ctx); err != nil {
			return nil, fmt.Errorf("ask for the gateway: %w", err)
		}
	}
	if err := g.afford(ctx); err != nil {
		return nil, err
	}
	if err := bot.CheckServer(address, "wss", "ws"); err != nil {
		return nil, err
	}
	ctx, cancel := context.WithTimeout(ctx, g.options.OpenWithin)
	defer cancel()
	d := &net.Dialer{KeepAlive: keepAlive}
	dialer := websocket.Dialer{NetDialContext: d.DialContext, Proxy: http.ProxyFromEnvironment, HandshakeTimeout: g.options.OpenWithin}
	conn, response, err := dialer.DialContext(ctx, address+"/?v="+discordgo.APIVersion+"&encoding=json", nil)
	if response != nil && response.Body != nil {
		_ = response.Body.Close()
	}
	if err != nil {
		g.resume = "" // the next try asks anew
		return nil, fmt.Errorf("connect to the gateway: %w", err)
	}
	conn.SetReadLimit(mostBytes)
	return conn, nil
}

// address asks the API for the gateway, and how many sessions may still be
// begun today.
func (g *gateway) address(ctx context.Context) (string, error) {
	var answer struct {
		URL   string `json:"url"`
		Limit *struct {
			Remaining  int   `json:"remaining"`
			ResetAfter int64 `json:"reset_after"` // milliseconds
		} `json:"session_start_limit"`
	}
	err := g.do(ctx, request{method: http.MethodGet, path: "gateway/bot"}, &answer)
	if errors.Is(err, bot.ErrNotFound) { // a compatible server may have the open one only
		err = g.do(ctx, request{method: http.MethodGet, path: "gateway"}, &answer)
	}
	if err != nil {
		return "", err
	}
	if answer.Limit != nil {
		g.budget.told(answer.Limit.Remaining, time.Duration(answer.Limit.ResetAfter)*time.Millisecond)
	}
	for len(answer.URL) > 0 && answer.URL[len(answer.URL)-1] == '/' {
		answer.URL = answer.URL[:len(answer.URL)-1]
	}
	return answer.URL, nil
}

// afford waits until the day's budget allows to begin a session; one that is
// resumed costs nothing.
func (g *gateway) afford(ctx context.Context) error {
	if g.session != "" {
		return nil
	}
	until, ok := g.budget.take()
	if ok {
		return nil
	}
	g.options.Log.ErrorContext(ctx, "too many sessions were begun today: waiting, so that the token is not reset", "until", until)
	if err := g.options.Clock.Wait(ctx, until); err != nil {
		return err
	}
	return errReconnect
}

// greet resumes the session, or begins one.
func (g *gateway) greet(l *link) error {
	if g.session != "" {
		return l.send(opResume, map[string]any{"token": g.options.Token, "session_id": g.session, "seq": g.seq.Load()})
	}
	identify := discordgo.Identify{Token: g.options.Token, LargeThreshold: 50, Intents: intents(g.options.Listening)}
	identify.Properties.OS, identify.Properties.Browser, identify.Properties.Device = "linux", "kitbell", "kitbell"
	return l.send(opIdentify, identify)
}

// intents are what the link asks to hear. Only listening needs a privileged one:
// mentions and direct messages bring their words without it.
func intents(listening bool) discordgo.Intent {
	all := discordgo.IntentsGuilds | discordgo.IntentsGuildMessages | discordgo.IntentsDirectMessages
	if listening {
		all |= discordgo.IntentMessageContent | discordgo.IntentsGuildMessageReactions
	}
	return all
}

// receive acts on one payload. An error ends the link.
func (g *gateway) receive(ctx context.Context, l *link, p payload) error {
	switch p.Op {
	case opHeartbeat:
		return l.send(opHeartbeat, g.seq.Load())
	case opAck:
		l.acked.Store(time.Now().UnixNano())
	case opReconnect:
		return errReconnect
	case opInvalid:
		if string(p.Data) != "true" {
			g.forget()
		}
		return errInvalid
	case opDispatch:
		return g.dispatch(ctx, p)
	}
	return nil
}

// forget throws the session away: the next link begins a new one.
func (g *gateway) forget() {
	g.session, g.resume = "", ""
	g.seq.Store(0)
}

// dispatch queues what happened. Nothing is called from here: a call that waits
// would hold the heartbeats' answers up.
func (g *gateway) dispatch(ctx context.Context, p payload) error {
	switch p.Type {
	case "READY":
		g.begun(ctx, p.Data)
	case "RESUMED":
		g.isUp(ctx)
	case "MESSAGE_CREATE", "MESSAGE_UPDATE", "MESSAGE_DELETE", "MESSAGE_REACTION_ADD", "INTERACTION_CREATE",
		"GUILD_CREATE", "CHANNEL_CREATE", "CHANNEL_UPDATE", "CHANNEL_DELETE", "GUILD_DELETE", "THREAD_CREATE", "THREAD_UPDATE", "THREAD_LIST_SYNC":
		select {
		case g.queue <- p:
		case <-ctx.Done():
			return ctx.Err()
		}
	}
	g.seq.Store(p.Seq)
	return nil
}

// begun takes a new session up. There may be a gap before it.
func (g *gateway) begun(ctx context.Context, raw json.RawMessage) {
	var ready struct {
		Session     string `json:"session_id"`
		Resume      string `json:"resume_gateway_url"`
		User        user   `json:"user"`
		Application idOnly `json:"application"`
	}
	if err := json.Unmarshal(raw, &ready); err != nil {
		g.options.Log.WarnContext(ctx, "the session's beginning is not all readable", "error", err)
	}
	g.session, g.resume = ready.Session, ready.Resume
	g.know(ready.Application.ID, ready.User.ID)
	g.isUp(ctx)
	after := g.last.Load()
	g.options.Count("identify")
	g.behind.Go(func() { g.offer(ctx) })
	if after != 0 {
		g.behind.Go(func() { g.missed(ctx, after) })
	}
}

func (g *gateway) isUp(ctx context.Context) {
	g.tries = 0
	g.setUp(true)
	g.options.Log.InfoContext(ctx, "link is up")
}

// beat sends heartbeats, the first after a part of the interval, and ends the
// link when the last answer is older than one and a half of it.
func (g *gateway) beat(ctx context.Context, l *link, interval time.Duration) {
	wait := time.Duration(rand.Float64() * float64(interval) / 2)
	for beat := true; ; beat = !beat {
		timer := time.NewTimer(wait)
		select {
		case <-ctx.Done():
			timer.Stop()
			return
		case <-timer.C:
		}
		wait = interval / 2
		if time.Since(time.Unix(0, l.acked.Load())) > interval*3/2 {
			l.end(errSilent)
			return
		}
		if !beat {
			continue
		}
		if err := l.send(opHeartbeat, g.seq.Load()); err != nil {
			l.end(fmt.Errorf("send heartbeat: %w", err))
			return
		}
	}
}

// hopelessClose gives the error of a close that no reconnecting mends, with what
// to do about it; nil for any other (reference page "Gateway Close Event Codes").
func hopelessClose(err error) error {
	var closed *websocket.CloseError
	if !errors.As(err, &closed) {
		return nil
	}
	fix := ""
	switch closed.Code {
	case 4004:
		fix = "the token is not valid: take a new one from the application's page, under Bot"
	case 4010, 4011:
		fix = "the bot is in too many guilds for one link"
	case 4012:
		fix = "the platform does not speak this version of the gateway any more"
	case 4013:
		fix = "the platform does not know the intents that are asked for"
	case 4014:
		fix = "the message content intent is off: turn it on under Bot, Privileged Gateway Intents, or take listen out of the file"
	default:
		return nil
	}
	return fmt.Errorf("%s (close code %d)", fix, closed.Code)
}
