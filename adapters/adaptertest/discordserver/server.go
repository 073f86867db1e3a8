package discordserver

import (
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"net/http/httptest"
	"slices"
	"strconv"
	"strings"
	"sync"
	"time"

	"kitbell/adapters/adaptertest"
)

// What there is on the server from the start.
const (
	Token   = "test-token"
	Guild   = "5000000000000000001"
	Channel = "6000000000000000001"
	Other   = "6000000000000000002"
	Thread  = "6000000000000000003" // below Other
	Direct  = "6000000000000000009"
	User    = "7000000000000000001"
	Bot     = "8000000000000000001"
	App     = "9000000000000000001"
)

// epoch is the first moment of ids, in Unix milliseconds (reference page
// "Snowflakes").
const epoch = 1420070400000

// more is what the ids of further channels begin with.
const more = "60000000000000001"

// Further is one of the channels that there are beside Channel and Other, by a
// number from 0 to 99.
func Further(n int) string { return fmt.Sprintf("%s%02d", more, n) }

// Failure is what a call is answered with in place of its work.
type Failure struct {
	Status int
	Code   int     // of the platform's own, in the body
	After  float64 // seconds, for 429: in the body and as a header
	Bare   bool    // no body that can be read
	Header string  // Retry-After, in place of After
	Global bool    // a pause that is for all calls
	Cut    bool    // the connection breaks after the work was done
}

// Message is one message that was shown.
type Message struct {
	ID, Channel string
	Only        string // the one person who sees it
	Text        string // content and embeds as they were sent
	Raw         json.RawMessage
	Files       []string // words of each picture
	Edited      bool
}

// Server is a running server. All methods are safe for several goroutines.
type Server struct {
	http   *httptest.Server
	screen *adaptertest.Screen
	*adaptertest.Changes
	// Check, where set before anything is sent, looks at each body by the name
	// of its schema in the platform's description. An error refuses the call.
	Check func(schema string, body []byte) error
	// Now, where set before anything is sent, is the time of what people do.
	Now func() time.Time

	mu       sync.Mutex
	ids      int64
	messages []Message
	byPeople []reply // what people wrote, for those who ask what they missed
	nonces   map[string]string
	threads  map[string]string // thread → channel
	forms    []json.RawMessage
	answers  map[string]json.RawMessage // by interaction
	asked    map[string]*asked          // by token
	commands map[string]json.RawMessage // by guild
	fails    map[string][]Failure
	calls    map[string]int
	links    []*link
	beat     time.Duration
	session  int
	seq      int
	events   []reply // of the session, for those who take it up again
	intents  int     // that the last login asked for
	closed   int     // code by which a link was last closed
	left     int     // sessions that may still be begun today
	denied   int64   // permissions that Channel denies everybody
	bucket   bucket
	manner   Manner
	logins   int
	resumes  int
}

// Start begins serving on a port of loopback's own choice.
func Start() *Server {
	s := &Server{
		screen: adaptertest.NewScreen(), Changes: adaptertest.NewChanges(), ids: (time.Now().UnixMilli() - epoch) << 22, nonces: make(map[string]string),
		threads: make(map[string]string), answers: make(map[string]json.RawMessage), asked: make(map[string]*asked),
		commands: make(map[string]json.RawMessage), fails: make(map[string][]Failure), calls: make(map[string]int),
		beat: 41250 * time.Millisecond, left: 1000,
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

// URL is the base of the API.
func (s *Server) URL() string { return s.http.URL + "/api/v9/" }

// Fail answers the next calls to a place with failures, one each. A place is a
// method and the first word of the path, such as "POST channels".
func (s *Server) Fail(place string, failures ...Failure) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.fails[place] = append(s.fails[place], failures...)
}

// Calls is how often a place was called, and "link" the gateway.
func (s *Server) Calls(place string) int {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.calls[place]
}

// Messages are all messages shown so far, in their latest form.
func (s *Server) Messages() []Message {
	s.mu.Lock()
	defer s.mu.Unlock()
	return append([]Message(nil), s.messages...)
}

// Forms are the modals opened so far, as JSON.
func (s *Server) Forms() []json.RawMessage {
	s.mu.Lock()
	defer s.mu.Unlock()
	return append([]json.RawMessage(nil), s.forms...)
}

// Logins and Resumes are how often a session was begun and taken up again.
func (s *Server) Logins() int { s.mu.Lock(); defer s.mu.Unlock(); return s.logins }

// Resumes is how often a session was taken up again.
func (s *Server) Resumes() int { s.mu.Lock(); defer s.mu.Unlock(); return s.resumes }

// Shown is everything that was shown, oldest first, as people read it.
func (s *Server) Shown() string { return s.screen.String() }

// Await waits until text has been shown.
func (s *Server) Await(ctx context.Context, text string) error { return s.screen.Await(ctx, text) }

// id is a new id, later than the last; mu is held.
func (s *Server) id() string {
	if s.Now == nil {
		s.ids += 1 << 22
	} else {
		s.ids = max(s.ids+1, (s.Now().UnixMilli()-epoch)<<22)
	}
	return fmt.Sprint(s.ids)
}

// bucket is a limit of new messages in each channel.
type bucket struct {
	most   int
	window time.Duration
	used   map[string][]time.Time
}

// Limit lets so many new messages into a channel within a window.
func (s *Server) Limit(most int, window time.Duration) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.bucket = bucket{most, window, make(map[string][]time.Time)}
}

// take counts a message, writes what the platform says of the bucket, and gives
// how long to wait when it is empty; the server's mu is held.
func (b *bucket) take(channel string, header http.Header) (wait time.Duration) {
	if b.most == 0 {
		return 0
	}
	now := time.Now()
	used := slices.DeleteFunc(b.used[channel], func(t time.Time) bool { return now.Sub(t) >= b.window })
	if len(used) >= b.most {
		wait = b.window - now.Sub(used[0])
	} else {
		used = append(used, now)
	}
	b.used[channel] = used
	header.Set("X-RateLimit-Limit", strconv.Itoa(b.most))
	header.Set("X-RateLimit-Remaining", strconv.Itoa(b.most-len(used)))
	header.Set("X-RateLimit-Reset-After", strconv.FormatFloat((b.window-now.Sub(used[0])).Seconds(), 'f', 3, 64))
	return wait
}

// Sessions sets how many sessions the platform says may still be begun today.
func (s *Server) Sessions(left int) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.left = left
}

// Deny takes permissions in Channel from everybody.
func (s *Server) Deny(bits int64) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.denied = bits
}

// Intents are what the last login asked to hear.
func (s *Server) Intents() int {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.intents
}

// Closed is the code by which a link was last closed from the far end.
func (s *Server) Closed() int {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.closed
}

// asked is an interaction whose token is out.
type asked struct {
	channel, person string
	answered        bool
	promised        bool // its first answer says that a message is on its way
	only            bool // and that only the person will see it
}

// Promised is how many answers are said to be on their way.
func (s *Server) Promised() int {
	s.mu.Lock()
	defer s.mu.Unlock()
	n := 0
	for _, one := range s.asked {
		if one.promised {
			n++
		}
	}
	return n
}

// reply is a JSON object.
type reply map[string]any

func (s *Server) serve(w http.ResponseWriter, r *http.Request) {
	switch path, ok := strings.CutPrefix(r.URL.Path, "/api/v9/"); {
	case strings.Trim(r.URL.Path, "/") == "gateway":
		s.accept(w, r)
	case r.URL.Path == "/file":
		_, _ = w.Write([]byte("picture"))
	case ok:
		s.call(w, r, path)
	default:
		http.NotFound(w, r)
	}
}
