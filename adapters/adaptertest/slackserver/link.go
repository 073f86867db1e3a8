package slackserver

import (
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"slices"
	"sync"
	"time"

	"github.com/gorilla/websocket"
)

// link is one Socket Mode connection.
type link struct {
	conn *websocket.Conn
	mu   sync.Mutex // of writing
}

func (l *link) write(v any) error {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.conn.WriteJSON(v)
}

type sentEnvelope struct {
	id   string
	body reply
	over *link
}

// ticket opens the way to a link.
func (s *Server) ticket(token string) reply {
	if token != AppToken {
		return refused("invalid_auth")
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	s.opened++
	return reply{"ok": true, "url": "ws" + s.http.URL[len("http"):] + "/link"}
}

// accept holds a link until its far end goes.
func (s *Server) accept(w http.ResponseWriter, r *http.Request) {
	conn, err := (&websocket.Upgrader{CheckOrigin: func(*http.Request) bool { return true }}).Upgrade(w, r, nil)
	if err != nil {
		return
	}
	l := &link{conn: conn}
	defer conn.Close()
	s.mu.Lock()
	silent := s.silent
	s.mu.Unlock()
	if !silent {
		hello := reply{
			"type": "hello", "num_connections": 1, "debug_info": reply{"host": "loopback", "approximate_connection_time": 18060},
			"connection_info": reply{"app_id": "A1"},
		}
		if l.write(hello) != nil {
			return
		}
	}
	s.mu.Lock()
	s.links = append(s.links, l)
	s.Tell()
	s.mu.Unlock()
	s.bringAgain()
	ctx, cancel := context.WithCancel(r.Context())
	var pinging sync.WaitGroup
	defer pinging.Wait()
	defer cancel()
	pinging.Go(func() { s.ping(ctx, l) })
	s.read(l)
	s.forget(l)
	s.bringAgain()
}

func (s *Server) ping(ctx context.Context, l *link) {
	tick := time.NewTicker(pingEvery)
	defer tick.Stop()
	for {
		s.mu.Lock()
		silent := s.silent
		s.mu.Unlock()
		if !silent {
			l.mu.Lock()
			err := l.conn.WriteControl(websocket.PingMessage, []byte("alive"), time.Now().Add(time.Second))
			l.mu.Unlock()
			if err != nil {
				return
			}
		}
		select {
		case <-ctx.Done():
			return
		case <-tick.C:
		}
	}
}

func (s *Server) read(l *link) {
	for {
		var ack struct {
			ID      string          `json:"envelope_id"`
			Payload json.RawMessage `json:"payload"`
		}
		if err := l.conn.ReadJSON(&ack); err != nil {
			return
		}
		s.mu.Lock()
		s.acked[ack.ID] = ack.Payload
		s.Tell()
		s.mu.Unlock()
	}
}

func (s *Server) forget(l *link) {
	s.mu.Lock()
	defer s.mu.Unlock()
	for i, one := range s.links {
		if one == l {
			s.links = append(s.links[:i:i], s.links[i+1:]...)
			break
		}
	}
	s.Tell()
}

// bringAgain sends over a link that is up what was sent over one that went
// before it was acknowledged.
func (s *Server) bringAgain() {
	s.mu.Lock()
	defer s.mu.Unlock()
	if len(s.links) == 0 {
		return
	}
	for i, e := range s.sent {
		if _, acked := s.acked[e.id]; !acked && !slices.Contains(s.links, e.over) && s.links[0].write(e.body) == nil {
			s.sent[i].over = s.links[0]
		}
	}
}

// Links is how many links are up.
func (s *Server) Links() int {
	s.mu.Lock()
	defer s.mu.Unlock()
	return len(s.links)
}

// Opened is how often a link was asked for.
func (s *Server) Opened() int {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.opened
}

// AwaitLinks waits until n links are up.
func (s *Server) AwaitLinks(ctx context.Context, n int) error {
	return s.AwaitThat(ctx, func() bool { return s.Links() >= n })
}

// Disconnect tells every link to go, as the platform does before it takes a
// link away: warning, refresh_requested, link_disabled.
func (s *Server) Disconnect(reason string) {
	for _, l := range s.all() {
		_ = l.write(reply{"type": "disconnect", "reason": reason, "debug_info": reply{"host": "loopback"}})
	}
}

// Cut breaks every link with no word.
func (s *Server) Cut() {
	for _, l := range s.all() {
		_ = l.conn.NetConn().Close()
	}
}

// Silence stops hellos and pings on links that are there and on new ones.
func (s *Server) Silence(on bool) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.silent = on
}

func (s *Server) all() []*link {
	s.mu.Lock()
	defer s.mu.Unlock()
	return append([]*link(nil), s.links...)
}

// Send puts an envelope on one of the links, waiting for one to be up, and
// gives its id.
func (s *Server) Send(ctx context.Context, kind string, payload any) (id string, err error) {
	s.mu.Lock()
	id = s.id("e")
	s.mu.Unlock()
	body := reply{"envelope_id": id, "type": kind, "payload": payload, "accepts_response_payload": kind != "events_api"}
	return id, s.resend(ctx, sentEnvelope{id: id, body: body})
}

func (s *Server) resend(ctx context.Context, e sentEnvelope) error {
	for {
		if err := s.AwaitLinks(ctx, 1); err != nil {
			return err
		}
		links := s.all()
		if len(links) == 0 {
			continue
		}
		s.mu.Lock()
		l := links[len(s.sent)%len(links)]
		e.over = l
		s.sent = append(s.sent, e)
		s.mu.Unlock()
		if l.write(e.body) == nil {
			return nil
		}
		s.mu.Lock()
		s.sent = s.sent[:len(s.sent)-1]
		s.mu.Unlock()
		s.forget(l)
	}
}

// SendRaw puts text on a link as it is.
func (s *Server) SendRaw(ctx context.Context, text string) error {
	if err := s.AwaitLinks(ctx, 1); err != nil {
		return err
	}
	l := s.all()[0]
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.conn.WriteMessage(websocket.TextMessage, []byte(text))
}

// Repeat sends the last envelope once more, under the same ids.
func (s *Server) Repeat(ctx context.Context) error {
	s.mu.Lock()
	last := s.sent[len(s.sent)-1]
	s.mu.Unlock()
	return s.resend(ctx, last)
}

// Acked says whether an envelope was acknowledged, and with what payload.
func (s *Server) Acked(id string) (payload json.RawMessage, ok bool) {
	s.mu.Lock()
	defer s.mu.Unlock()
	payload, ok = s.acked[id]
	return payload, ok
}

// AwaitAck waits for an acknowledgement.
func (s *Server) AwaitAck(ctx context.Context, id string) error {
	if err := s.AwaitThat(ctx, func() bool { _, ok := s.Acked(id); return ok }); err != nil {
		return fmt.Errorf("acknowledgement of %s: %w", id, err)
	}
	return nil
}
