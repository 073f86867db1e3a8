package discord

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"sync"
	"sync/atomic"
	"time"

	"github.com/gorilla/websocket"
)

// link is one connection to the gateway.
type link struct {
	conn  *websocket.Conn
	end   context.CancelCauseFunc
	acked atomic.Int64 // when the last heartbeat was answered, in Unix nanoseconds
	mu    sync.Mutex   // of writing
}

// read takes the next payload. The deadline ends a link that is silent although
// it is alive; heartbeats' answers come well before it.
func (l *link) read(within time.Duration) (payload, error) {
	var p payload
	if err := l.conn.SetReadDeadline(time.Now().Add(within)); err != nil {
		return p, err
	}
	_, raw, err := l.conn.ReadMessage()
	if err != nil {
		return p, err
	}
	if err := json.Unmarshal(raw, &p); err != nil {
		return payload{Op: -1}, nil // one payload that nobody can read ends no link
	}
	return p, nil
}

// hello waits for the server's first word and gives the heartbeats' interval.
func (l *link) hello(within time.Duration) (time.Duration, error) {
	p, err := l.read(within)
	if err != nil {
		return 0, fmt.Errorf("wait for the hello: %w", err)
	}
	var h struct {
		Interval int64 `json:"heartbeat_interval"` // milliseconds
	}
	if p.Op != opHello || json.Unmarshal(p.Data, &h) != nil || h.Interval <= 0 || h.Interval > 10*60*1000 {
		return 0, errors.New("the server does not begin with a hello")
	}
	return time.Duration(h.Interval) * time.Millisecond, nil
}

func (l *link) send(op int, data any) error {
	l.mu.Lock()
	defer l.mu.Unlock()
	if err := l.conn.SetWriteDeadline(time.Now().Add(writeFor)); err != nil {
		return err
	}
	return l.conn.WriteJSON(map[string]any{"op": op, "d": data})
}

// hangUp ends the connection; for good throws the session away with it.
func (l *link) hangUp(forGood bool) {
	code := closeToResume
	if forGood {
		code = websocket.CloseNormalClosure
	}
	_ = l.conn.WriteControl(websocket.CloseMessage, websocket.FormatCloseMessage(code, ""), time.Now().Add(time.Second))
	_ = l.conn.Close() // its reader hears of it
}

// why is what ended the link: what its heartbeat says, or else the reading's
// error.
func (l *link) why(ctx context.Context, err error) error {
	if cause := context.Cause(ctx); cause != nil {
		return cause
	}
	return err
}
