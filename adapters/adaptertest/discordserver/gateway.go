package discordserver

import (
	"context"
	"encoding/json"
	"errors"
	"net/http"
	"sync"
	"time"

	"github.com/gorilla/websocket"
)

// Manner is how the gateway treats those who come to it.
type Manner string

// The manners. The zero value is the usual one.
const (
	Usual    Manner = ""
	Silent   Manner = "silent"    // no hello
	Zombie   Manner = "zombie"    // no answer to heartbeats
	Invalid  Manner = "invalid"   // a session cannot be taken up: op 9
	AskAgain Manner = "ask-again" // op 7 right after a session was taken up, once
	BadToken Manner = "bad-token" // close 4004
	NoIntent Manner = "no-intent" // close 4014
	Full     Manner = "full"      // no session is begun: op 9
	TooLate  Manner = "too-late"  // a session cannot be taken up: close 4009
)

// link is one gateway connection.
type link struct {
	conn *websocket.Conn
	mu   sync.Mutex
	in   bool // identified or resumed
}

func (l *link) write(v any) error {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.conn.WriteJSON(v)
}

// Treat sets how those who come from now on are treated, and how often a
// heartbeat is asked for; 0 leaves that.
func (s *Server) Treat(m Manner, beat time.Duration) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.manner = m
	if beat > 0 {
		s.beat = beat
	}
}

func (s *Server) accept(w http.ResponseWriter, r *http.Request) {
	conn, err := (&websocket.Upgrader{CheckOrigin: func(*http.Request) bool { return true }}).Upgrade(w, r, nil)
	if err != nil {
		return
	}
	defer conn.Close()
	l := &link{conn: conn}
	s.mu.Lock()
	s.links = append(s.links, l)
	s.calls["link"]++
	manner, beat := s.manner, s.beat
	s.Tell()
	s.mu.Unlock()
	defer s.forget(l)
	if manner != Silent && l.write(reply{"op": 10, "d": reply{"heartbeat_interval": beat.Milliseconds()}}) != nil {
		return
	}
	for {
		var p struct {
			Op   int             `json:"op"`
			Data json.RawMessage `json:"d"`
		}
		if err := conn.ReadJSON(&p); err != nil {
			s.noteClose(err)
			return
		}
		if !s.take(l, p.Op, p.Data) {
			return
		}
	}
}

// take answers one packet; false ends the link.
func (s *Server) take(l *link, op int, data json.RawMessage) bool {
	s.mu.Lock()
	manner := s.manner
	s.mu.Unlock()
	switch op {
	case 1:
		return manner == Zombie || l.write(reply{"op": 11}) == nil
	case 2:
		if code := closing(manner); code != 0 {
			l.mu.Lock()
			defer l.mu.Unlock()
			_ = l.conn.WriteControl(websocket.CloseMessage, websocket.FormatCloseMessage(code, "refused"), time.Now().Add(time.Second))
			return false
		}
		return s.identified(l, manner, data)
	case 6:
		return s.resumed(l, manner, data)
	}
	return true
}

func closing(m Manner) int {
	return map[Manner]int{BadToken: 4004, NoIntent: 4014}[m]
}

func (s *Server) identified(l *link, manner Manner, data json.RawMessage) bool {
	var asks struct {
		Intents int `json:"intents"`
	}
	_ = json.Unmarshal(data, &asks) // none is asked for then
	s.mu.Lock()
	s.intents = asks.Intents
	s.logins++
	s.Tell()
	if manner == Full {
		s.mu.Unlock()
		return l.write(reply{"op": 9, "d": false}) == nil
	}
	s.session++
	s.seq, s.events = 1, nil
	s.mu.Unlock()
	ready := reply{"op": 0, "s": 1, "t": "READY", "d": reply{
		"v": 9, "user": reply{"id": Bot, "bot": true, "username": "kit"}, "application": reply{"id": App}, "session_id": "s1", "guilds": []reply{{"id": Guild}},
	}}
	if l.write(ready) != nil {
		return false
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	s.seq++
	there := reply{"op": 0, "s": s.seq, "t": "GUILD_CREATE", "d": reply{
		"id": Guild, "channels": []reply{{"id": Channel, "type": 0}, {"id": Other, "type": 0}}, "threads": []reply{{"id": Thread, "type": 11, "parent_id": Other}},
	}}
	s.events = append(s.events, there)
	s.join(l)
	return l.write(there) == nil
}

func (s *Server) noteClose(err error) {
	var closed *websocket.CloseError
	s.mu.Lock()
	defer s.mu.Unlock()
	if errors.As(err, &closed) {
		s.closed = closed.Code
		s.Tell()
	}
}

// resumed takes a session up again and brings what its last link did not.
func (s *Server) resumed(l *link, manner Manner, data json.RawMessage) bool {
	switch manner {
	case Invalid:
		return l.write(reply{"op": 9, "d": false}) == nil
	case TooLate:
		l.mu.Lock()
		defer l.mu.Unlock()
		_ = l.conn.WriteControl(websocket.CloseMessage, websocket.FormatCloseMessage(4009, "session timed out"), time.Now().Add(time.Second))
		return false
	case AskAgain:
		s.Treat(Usual, 0)
		return l.write(reply{"op": 7}) == nil
	}
	var from struct {
		Seq int `json:"seq"`
	}
	_ = json.Unmarshal(data, &from) // nothing said brings everything
	s.mu.Lock()
	defer s.mu.Unlock()
	s.resumes++
	for _, e := range s.events {
		if e["s"].(int) > from.Seq && l.write(e) != nil {
			return false
		}
	}
	s.seq++
	if l.write(reply{"op": 0, "s": s.seq, "t": "RESUMED", "d": reply{}}) != nil {
		return false
	}
	s.join(l)
	return true
}

// join makes the link the one that events go over; mu is held. An earlier one
// may be dead without the server's knowing yet.
func (s *Server) join(l *link) {
	for _, other := range s.links {
		other.in = false
	}
	l.in = true
	s.Tell()
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

// Links is how many links have logged in.
func (s *Server) Links() int {
	s.mu.Lock()
	defer s.mu.Unlock()
	n := 0
	for _, l := range s.links {
		if l.in {
			n++
		}
	}
	return n
}

// AwaitLink waits until a link has logged in.
func (s *Server) AwaitLink(ctx context.Context) error {
	return s.AwaitThat(ctx, func() bool { return s.Links() > 0 })
}

func (s *Server) all() []*link {
	s.mu.Lock()
	defer s.mu.Unlock()
	return append([]*link(nil), s.links...)
}

// Cut breaks every link with no word.
func (s *Server) Cut() {
	for _, l := range s.all() {
		_ = l.conn.NetConn().Close()
	}
}

// SendOp sends an operation with no data to every link: 7 asks to reconnect, 9
// says that the session is invalid.
func (s *Server) SendOp(op int) {
	for _, l := range s.all() {
		_ = l.write(reply{"op": op, "d": false})
	}
}

// Send puts an event on a link that has logged in, waiting for one.
func (s *Server) Send(ctx context.Context, kind string, data any) error {
	for {
		if err := s.AwaitLink(ctx); err != nil {
			return err
		}
		if s.send(kind, data) {
			return nil
		}
	}
}

// send puts an event on a link, if one has logged in.
func (s *Server) send(kind string, data any) bool {
	s.mu.Lock()
	defer s.mu.Unlock()
	event := reply{"op": 0, "s": s.seq + 1, "t": kind, "d": data}
	for _, l := range s.links {
		if l.in && l.write(event) == nil {
			s.seq++
			s.events = append(s.events, event)
			return true
		}
	}
	return false
}
