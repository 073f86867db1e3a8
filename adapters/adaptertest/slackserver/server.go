package slackserver

import (
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"net/http/httptest"
	"strings"
	"sync"
	"time"

	"kitbell/adapters/adaptertest"
)

// What there is on the server from the start.
const (
	AppToken = "xapp-1-test"
	BotToken = "xoxb-test"
	Team     = "T1"
	Channel  = "C1"
	Other    = "C2"
	Direct   = "D1"
	User     = "U1"
	Bot      = "UBOT"
	Scopes   = "app_mentions:read,channels:read,chat:write,commands,files:write,groups:read,im:history"
)

// Failure is what a call is answered with in place of its work.
type Failure struct {
	Status int    // of HTTP; 0 for 200
	Error  string // in the body, with ok false
	After  string // Retry-After
	Cut    bool   // the connection breaks after the work was done
	Hang   bool   // no answer, until the caller goes
}

// Message is one message or page that was shown.
type Message struct {
	Channel, TS, Thread string
	Only                string // the one person who sees it
	Text                string // top-level: what a screen reader reads
	Blocks              json.RawMessage
	Edited              bool
}

// Server is a running server. All methods are safe for several goroutines.
type Server struct {
	http   *httptest.Server
	screen *adaptertest.Screen
	*adaptertest.Changes
	// Now, where set before anything is sent, is the time of what people do.
	Now func() time.Time

	mu       sync.Mutex
	now      int64 // of timestamps; each is later than the last
	ids      int
	messages []Message
	views    []json.RawMessage // opened modals
	homes    map[string]json.RawMessage
	files    map[string]*upload
	fails    map[string][]Failure
	calls    map[string]int
	links    []*link
	acked    map[string]json.RawMessage
	sent     []sentEnvelope
	silent   bool
	scopes   string
	outside  map[string]bool // channels that other organisations share
	opened   int
}

// Start begins serving on a port of loopback's own choice.
func Start() *Server {
	s := &Server{
		screen: adaptertest.NewScreen(), Changes: adaptertest.NewChanges(), now: 1_790_000_000, homes: make(map[string]json.RawMessage), files: make(map[string]*upload),
		fails: make(map[string][]Failure), calls: make(map[string]int), acked: make(map[string]json.RawMessage), outside: make(map[string]bool),
		scopes: Scopes,
	}
	s.http = httptest.NewServer(http.HandlerFunc(s.serve))
	return s
}

// Close ends the server and cuts its links.
func (s *Server) Close() {
	s.Cut()
	s.http.CloseClientConnections()
	s.http.Close()
}

// URL is the base of the Web API.
func (s *Server) URL() string { return s.http.URL + "/api/" }

// Fail answers the next calls of a method with failures, one each.
func (s *Server) Fail(method string, failures ...Failure) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.fails[method] = append(s.fails[method], failures...)
}

// Grant sets the scopes that the bot's token has.
func (s *Server) Grant(scopes string) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.scopes = scopes
}

// ShareOutside shares a channel with another organisation, or ends that.
func (s *Server) ShareOutside(channel string, shared bool) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.outside[channel] = shared
}

// Calls is how often a method was called.
func (s *Server) Calls(method string) int {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.calls[method]
}

// Messages are all messages shown so far, in their latest form.
func (s *Server) Messages() []Message {
	s.mu.Lock()
	defer s.mu.Unlock()
	return append([]Message(nil), s.messages...)
}

// Shown is everything that was shown, oldest first, as people read it.
func (s *Server) Shown() string { return s.screen.String() }

// Await waits until text has been shown.
func (s *Server) Await(ctx context.Context, text string) error { return s.screen.Await(ctx, text) }

// timestamp is the next message's; mu is held.
func (s *Server) timestamp() string {
	s.now++
	seconds := s.now
	if s.Now != nil {
		seconds = s.Now().Unix()
	}
	return fmt.Sprintf("%d.%06d", seconds, s.now%1_000_000)
}

// id is the next id with a prefix; mu is held.
func (s *Server) id(prefix string) string {
	s.ids++
	return fmt.Sprintf("%s%d", prefix, s.ids)
}

func (s *Server) serve(w http.ResponseWriter, r *http.Request) {
	switch {
	case strings.HasPrefix(r.URL.Path, "/api/"):
		s.call(w, r, strings.TrimPrefix(r.URL.Path, "/api/"))
	case r.URL.Path == "/link":
		s.accept(w, r)
	case strings.HasPrefix(r.URL.Path, "/upload/"):
		s.receive(w, r, strings.TrimPrefix(r.URL.Path, "/upload/"))
	case strings.HasPrefix(r.URL.Path, "/file/"):
		s.hand(w, strings.TrimPrefix(r.URL.Path, "/file/"))
	case strings.HasPrefix(r.URL.Path, "/reply/"):
		s.replied(w, r)
	default:
		http.NotFound(w, r)
	}
}

// failing takes the next failure of a method.
func (s *Server) failing(method string) (f Failure, ok bool) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.calls[method]++
	s.Tell()
	if all := s.fails[method]; len(all) > 0 {
		s.fails[method] = all[1:]
		return all[0], true
	}
	return Failure{}, false
}

const pingEvery = 5 * time.Second
