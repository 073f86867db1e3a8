package discord

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"mime/multipart"
	"net/http"
	"net/textproto"
	"net/url"
	"strconv"
	"sync"
	"time"

	"github.com/bwmarrin/discordgo"

	"kitbell/bot"
)

// request is one call of the REST API.
type request struct {
	method, path string
	body         any
	files        []upload
	// secret says that the path holds a reply token. Such calls share no bucket:
	// each token has its own.
	secret bool
}

// upload is a file that goes with a message.
type upload struct {
	name    string
	content []byte
}

// do makes one call and reads its answer into into, which may be nil. It never
// waits for a bucket: an empty one is a *bot.RateLimitError, and the wait is the
// outbox's.
func (a *Adapter) do(ctx context.Context, c request, into any) error {
	if err := a.hopelessly(); err != nil {
		return err
	}
	ctx, cancel := context.WithTimeout(ctx, callFor)
	defer cancel()
	bucket, err := a.bucket(c)
	if err != nil {
		return err
	}
	contentType, body, err := c.encode()
	if err != nil {
		bucket.Unlock()
		return err
	}
	raw, err := a.rest.RequestWithLockedBucket(c.method, a.options.API+c.path, contentType, body, bucket, 0,
		discordgo.WithContext(ctx), discordgo.WithRetryOnRatelimit(false), discordgo.WithRestRetries(0))
	if err != nil {
		return a.translate(err)
	}
	if into == nil || len(raw) == 0 {
		return nil
	}
	if err := json.Unmarshal(raw, into); err != nil {
		return fmt.Errorf("read answer: %w", err)
	}
	return nil
}

// bucket gives the call's bucket, locked and with room for it.
func (a *Adapter) bucket(c request) (*discordgo.Bucket, error) {
	if c.secret {
		b := &discordgo.Bucket{Key: "token", Remaining: 1}
		b.Lock()
		return b, nil
	}
	route, _, _ := bytes.Cut([]byte(c.path), []byte("?"))
	b := a.rest.Ratelimiter.GetBucket(c.method + " " + string(route))
	b.Lock()
	if wait := a.rest.Ratelimiter.GetWaitTime(b, 1); wait > 0 {
		b.Unlock()
		return nil, &bot.RateLimitError{After: wait, Err: errors.New("bucket is empty")}
	}
	b.Remaining--
	return b, nil
}

// encode makes the body: JSON, or in several parts when files go with it.
func (c request) encode() (contentType string, body []byte, err error) {
	if c.body == nil {
		return "", nil, nil
	}
	raw, err := json.Marshal(c.body)
	if err != nil || len(c.files) == 0 {
		return "application/json", raw, err
	}
	var out bytes.Buffer
	w := multipart.NewWriter(&out)
	if err := addPart(w, `form-data; name="payload_json"`, "application/json", raw); err != nil {
		return "", nil, err
	}
	for i, f := range c.files {
		if err := addPart(w, fmt.Sprintf(`form-data; name="files[%d]"; filename="%s"`, i, f.name), "image/png", f.content); err != nil {
			return "", nil, err
		}
	}
	if err := w.Close(); err != nil {
		return "", nil, err
	}
	return w.FormDataContentType(), out.Bytes(), nil
}

func addPart(w *multipart.Writer, disposition, contentType string, content []byte) error {
	part, err := w.CreatePart(textproto.MIMEHeader{"Content-Disposition": {disposition}, "Content-Type": {contentType}})
	if err == nil {
		_, err = part.Write(content)
	}
	return err
}

// call makes one call with no files.
func (a *Adapter) call(ctx context.Context, method, path string, body, into any) error {
	return a.do(ctx, request{method: method, path: path, body: body}, into)
}

// The platform bans an address after 10,000 refused requests in ten minutes
// (PLATFORMS.md); calls stop well before.
const (
	mostRefused   = 1000
	refusedWithin = 10 * time.Minute
)

// guard is the way out to the platform. It reads how long a pause is asked for,
// in either form and whatever stands in the body, keeps everybody from calling
// during a pause that is for all, and stops calls after too many refusals.
type guard struct {
	next    *http.Transport
	clock   bot.Clock
	log     *slog.Logger
	limited func()

	mu      sync.Mutex
	paused  time.Time // no call before this
	since   time.Time // when the refusals began to be counted
	refused int
}

func newGuard(o Options) *guard {
	return &guard{
		next:  &http.Transport{Proxy: http.ProxyFromEnvironment, MaxIdleConnsPerHost: 16, IdleConnTimeout: time.Minute},
		clock: o.Clock, log: o.Log, limited: func() { o.Count("rate-limit") },
	}
}

// RoundTrip makes one request.
func (g *guard) RoundTrip(r *http.Request) (*http.Response, error) {
	if wait := g.wait(); wait > 0 {
		return nil, &bot.RateLimitError{After: wait, Err: errors.New("calls are paused")}
	}
	response, err := g.next.RoundTrip(r)
	if err != nil {
		return nil, err
	}
	switch response.StatusCode {
	case http.StatusUnauthorized, http.StatusForbidden:
		g.count(false)
	case http.StatusTooManyRequests:
		defer response.Body.Close()
		return nil, g.limit(response)
	}
	response.Header.Del("X-RateLimit-Global") // the library's bucket of a reply token could not bear it
	return response, nil
}

// CloseIdleConnections closes what is kept open for later calls.
func (g *guard) CloseIdleConnections() { g.next.CloseIdleConnections() }

func (g *guard) wait() time.Duration {
	g.mu.Lock()
	defer g.mu.Unlock()
	return g.paused.Sub(g.clock.Now())
}

// count counts a refusal; past the most, calls pause until the ten minutes are
// over.
func (g *guard) count(shared bool) {
	g.mu.Lock()
	defer g.mu.Unlock()
	now := g.clock.Now()
	if now.Sub(g.since) >= refusedWithin {
		g.since, g.refused = now, 0
	}
	if shared {
		return // reference page "Rate Limits": these do not count
	}
	if g.refused++; g.refused >= mostRefused && g.paused.Before(g.since.Add(refusedWithin)) {
		g.paused = g.since.Add(refusedWithin)
		g.log.Error("too many requests were refused: calls stop for a while, so that the address is not banned", "until", g.paused)
	}
}

// limit makes of a 429 an error that says how long to wait: the body's
// retry_after, in seconds with a fraction, or else the header's whole seconds.
func (g *guard) limit(response *http.Response) error {
	g.limited()
	g.count(response.Header.Get("X-RateLimit-Scope") == "shared")
	var body struct {
		After  float64 `json:"retry_after"`
		Global bool    `json:"global"`
	}
	raw, _ := io.ReadAll(io.LimitReader(response.Body, 64<<10)) // what cannot be read says nothing
	if json.Unmarshal(raw, &body) != nil || body.After <= 0 {
		body.After, _ = strconv.ParseFloat(response.Header.Get("Retry-After"), 64)
	}
	after := time.Duration(min(max(body.After, 0), 24*60*60) * float64(time.Second))
	if body.Global || response.Header.Get("X-RateLimit-Global") == "true" {
		g.mu.Lock()
		g.paused = g.clock.Now().Add(after)
		g.mu.Unlock()
	}
	return &bot.RateLimitError{After: after, Err: errors.New("the platform asks for a pause")}
}

// Codes of the platform's errors (reference page "JSON Error Codes").
const (
	codeUnknownChannel = 10003
	codeUnknownMessage = 10008
	codeMissingAccess  = 50001
	codeNoDirect       = 50007
	codeMissingRight   = 50013
	codeArchived       = 50083
	codeAcknowledged   = 40060
	codeHasThread      = 160004
	codeBadReplyToken  = 50027
)

// refusal is an answer of the platform's that is none of the other errors. It
// holds no address and no body: both may hold secrets.
type refusal struct {
	status, code int
	why          string
	as           error // which of our errors it is, nil for one that may pass
}

// Error says why, with status and code.
func (r *refusal) Error() string {
	return fmt.Sprintf("%s (status %d, code %d)", r.why, r.status, r.code)
}

// Unwrap gives which of our errors it is.
func (r *refusal) Unwrap() error { return r.as }

// hasCode says whether err is a refusal with one of the codes.
func hasCode(err error, codes ...int) bool {
	var r *refusal
	if !errors.As(err, &r) {
		return false
	}
	for _, c := range codes {
		if r.code == c {
			return true
		}
	}
	return false
}

// fix says what a person does about a code; empty where there is nothing known.
func fix(code int) string {
	switch code {
	case codeUnknownChannel:
		return "there is no such channel: check its id in the file"
	case codeUnknownMessage:
		return "the message was deleted"
	case codeMissingAccess:
		return "the bot may not see the channel: invite it again, or give its role View Channel there"
	case codeNoDirect:
		return "the person takes no direct messages from this server"
	case codeMissingRight:
		return "the bot lacks a permission in the channel: give its role Send Messages, Send Messages in Threads, Create Public Threads and Attach Files there"
	case codeArchived:
		return "the thread is archived"
	}
	return ""
}

// translate makes the library's error one of ours, and leaves out the address,
// which may hold a reply token, and the request, which holds the bot's.
func (a *Adapter) translate(err error) error {
	var limited *bot.RateLimitError
	var answered *discordgo.RESTError
	var onTheWay *url.Error
	switch {
	case errors.As(err, &limited):
		return limited
	case errors.As(err, &answered):
		return a.refused(answered)
	case errors.As(err, &onTheWay):
		return fmt.Errorf("call the platform: %w", onTheWay.Err)
	}
	return errors.New("the platform's answer cannot be used: server trouble") // a 502, by the library's words
}

func (a *Adapter) refused(answered *discordgo.RESTError) error {
	r := &refusal{status: answered.Response.StatusCode}
	if answered.Message != nil {
		r.code = answered.Message.Code
	}
	r.why = fix(r.code)
	switch {
	case r.status == http.StatusUnauthorized && r.code != codeBadReplyToken:
		r.why, r.as = "the token is not valid: take a new one from the application's page, under Bot", bot.ErrBarred
		a.giveUp(r)
	case r.status == http.StatusForbidden || r.status == http.StatusNotFound || r.why != "":
		r.as = bot.ErrNotFound
	case r.status < http.StatusInternalServerError:
		r.as = bot.ErrUnsupported // another try changes nothing
	}
	if r.why == "" {
		r.why = "the platform refuses it"
	}
	return r
}
