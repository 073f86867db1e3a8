package discord

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"io"
	"net/http"
	"strconv"
	"time"

	"github.com/bwmarrin/discordgo"

	"kitbell/bot"
)

const (
	mostBody  = 1 << 20
	freshness = 5 * time.Minute
)

// Interactions is the address that the platform calls in HTTP mode. A request is
// answered once what it says is stored. It is refused with 401 when its
// signature or its age (five minutes either way) is wrong, with 413 when it is
// too large.
func (a *Adapter) Interactions(h bot.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		body, err := io.ReadAll(http.MaxBytesReader(w, r.Body, mostBody))
		if tooLarge := (*http.MaxBytesError)(nil); errors.As(err, &tooLarge) {
			http.Error(w, "too large", http.StatusRequestEntityTooLarge)
			return
		}
		r.Body = io.NopCloser(bytes.NewReader(body))
		if err != nil || len(a.key) == 0 || !a.fresh(r.Header) || !discordgo.VerifyInteraction(r, a.key) {
			a.options.Count("refused")
			http.Error(w, "not signed by the platform", http.StatusUnauthorized)
			return
		}
		a.answerHTTP(w, r, h, body)
	})
}

func (a *Adapter) fresh(header http.Header) bool {
	seconds, err := strconv.ParseInt(header.Get("X-Signature-Timestamp"), 10, 64)
	if err != nil {
		return false
	}
	age := a.options.Clock.Now().Sub(time.Unix(seconds, 0))
	return age < freshness && age > -freshness
}

func (a *Adapter) answerHTTP(w http.ResponseWriter, r *http.Request, h bot.Handler, body []byte) {
	var head struct {
		Type int `json:"type"`
	}
	if json.Unmarshal(body, &head) == nil && head.Type == pingInteraction {
		_ = reply(w, answer{Type: pongAnswer}) // a far end that has gone hears nothing anyway
		return
	}
	i, ok := a.readInteraction(r.Context(), body)
	if !ok {
		http.Error(w, "not an interaction", http.StatusBadRequest)
		return
	}
	res := a.respond(r.Context(), h, i)
	res.given(reply(w, res.answer))
	if res.after != nil {
		res.after(context.WithoutCancel(r.Context())) // the answer is out; the caller may go
	}
}

// reply writes an answer whole, so that it arrives before the handler returns.
func reply(w http.ResponseWriter, a answer) error {
	raw, err := json.Marshal(a)
	if err != nil {
		http.Error(w, "no answer", http.StatusInternalServerError)
		return err
	}
	w.Header().Set("Content-Type", "application/json")
	w.Header().Set("Content-Length", strconv.Itoa(len(raw)))
	if _, err := w.Write(raw); err != nil {
		return err
	}
	if err := http.NewResponseController(w).Flush(); err != nil && !errors.Is(err, http.ErrNotSupported) {
		return err
	}
	return nil
}
