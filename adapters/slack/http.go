package slack

import (
	"bytes"
	"encoding/json"
	"errors"
	"io"
	"net/http"
	"net/url"

	"github.com/slack-go/slack"

	"kitbell/bot"
)

// mostBody is the largest request that is read.
const mostBody = 1 << 20

// Endpoints gives the three addresses that the platform calls in HTTP mode:
// events, commands and interactions, each below prefix. A request is answered
// once what it says is stored. It is refused with 401 when its signature or its
// age (five minutes either way) is wrong, with 413 when it is too large.
func (a *Adapter) Endpoints(prefix string, h bot.Handler) http.Handler {
	mux := http.NewServeMux()
	mux.HandleFunc("POST "+prefix+"/events", a.verified(func(w http.ResponseWriter, r *http.Request, body []byte) {
		var c callback
		if json.Unmarshal(body, &c) == nil && c.Type == "url_verification" {
			w.Header().Set("Content-Type", "text/plain; charset=utf-8")
			_, _ = io.WriteString(w, c.Challenge)
			return
		}
		a.serve(w, r, h, kindEvent, body)
	}))
	mux.HandleFunc("POST "+prefix+"/commands", a.verified(func(w http.ResponseWriter, r *http.Request, body []byte) {
		form, err := url.ParseQuery(string(body))
		if err != nil {
			http.Error(w, "not a form", http.StatusBadRequest)
			return
		}
		raw, err := json.Marshal(slash{
			Team: form.Get("team_id"), Channel: form.Get("channel_id"), User: form.Get("user_id"),
			Text: form.Get("text"), Trigger: form.Get("trigger_id"), Reply: form.Get("response_url"),
		})
		if err != nil {
			http.Error(w, "not text", http.StatusBadRequest)
			return
		}
		a.serve(w, r, h, kindSlash, raw)
	}))
	mux.HandleFunc("POST "+prefix+"/interactions", a.verified(func(w http.ResponseWriter, r *http.Request, body []byte) {
		form, err := url.ParseQuery(string(body))
		if err != nil || form.Get("payload") == "" {
			http.Error(w, "no payload", http.StatusBadRequest)
			return
		}
		a.serve(w, r, h, kindInteract, []byte(form.Get("payload")))
	}))
	return mux
}

// verified checks the signature over the raw body before anything reads it.
func (a *Adapter) verified(next func(http.ResponseWriter, *http.Request, []byte)) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		body, err := io.ReadAll(http.MaxBytesReader(w, r.Body, mostBody))
		if tooLarge := (*http.MaxBytesError)(nil); errors.As(err, &tooLarge) {
			http.Error(w, "too large", http.StatusRequestEntityTooLarge)
			return
		}
		if err != nil {
			http.Error(w, "not readable", http.StatusBadRequest)
			return
		}
		if a.options.SigningSecret == "" || !a.signed(r.Header, body) {
			a.options.Count("refused")
			http.Error(w, "not signed by the platform", http.StatusUnauthorized)
			return
		}
		r.Body = io.NopCloser(bytes.NewReader(body))
		next(w, r, body)
	}
}

func (a *Adapter) signed(header http.Header, body []byte) bool {
	v, err := slack.NewSecretsVerifier(header, a.options.SigningSecret) // checks the age too
	if err != nil {
		return false
	}
	if _, err := v.Write(body); err != nil {
		return false
	}
	return v.Ensure() == nil
}

// serve takes a payload in and answers. What could not be stored, and nobody
// was told of, is answered with 500: the platform brings it again.
func (a *Adapter) serve(w http.ResponseWriter, r *http.Request, h bot.Handler, kind string, raw []byte) {
	answer, err := a.take(r.Context(), h, kind, raw)
	switch {
	case err != nil:
		http.Error(w, "not stored", http.StatusInternalServerError)
	case answer != nil:
		w.Header().Set("Content-Type", "application/json")
		_ = json.NewEncoder(w).Encode(answer) // a far end that has gone hears nothing anyway
	default:
		w.WriteHeader(http.StatusOK)
	}
}
