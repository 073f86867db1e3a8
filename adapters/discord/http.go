package discord

import (
	"bytes"
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
	if json.Unmarshal(body, &head) != nil {
		http.Error(w, "not JSON", http.StatusBadRequest)
		return
	}
	reply := &answer{Type: pongAnswer}
	if head.Type != pingInteraction {
		heard, ok, err := a.hear(delivery{"INTERACTION_CREATE", body})
		if err != nil || !ok {
			http.Error(w, "nothing to do", http.StatusBadRequest)
			return
		}
		if reply = a.decide(r.Context(), h, &heard); reply == nil {
			http.Error(w, "not stored", http.StatusInternalServerError)
			return
		}
	}
	w.Header().Set("Content-Type", "application/json")
	_ = json.NewEncoder(w).Encode(reply) // a far end that has gone hears nothing anyway
}
