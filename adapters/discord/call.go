package discord

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"strings"
	"time"

	"github.com/bwmarrin/discordgo"

	"kitbell/bot"
)

// call makes one call of the API, once. into, where not nil, takes the answer.
func (a *Adapter) call(ctx context.Context, method, path string, body, into any) error {
	encoded, err := encode(body)
	if err != nil {
		return err
	}
	return a.callRaw(ctx, method, path, "application/json", encoded, into)
}

func encode(body any) ([]byte, error) {
	if body == nil {
		return nil, nil
	}
	encoded, err := json.Marshal(body)
	if err != nil {
		return nil, fmt.Errorf("encode call: %w", err)
	}
	return encoded, nil
}

// callRaw asks the library's limiter first: it would sleep without looking at
// ctx, so a wait is given back to the caller instead.
func (a *Adapter) callRaw(ctx context.Context, method, path, kind string, body []byte, into any) error {
	bucket := a.rest.Ratelimiter.GetBucket(bucketOf(method, path))
	if wait := a.rest.Ratelimiter.GetWaitTime(bucket, 1); wait > 0 {
		return &bot.RateLimitError{After: wait, Err: errors.New("the platform's limit for this channel")}
	}
	answer, err := a.rest.RequestWithLockedBucket(method, discordgo.EndpointAPI+path, kind, body, a.rest.Ratelimiter.LockBucketObject(bucket), 0,
		discordgo.WithContext(ctx), discordgo.WithRestRetries(0), discordgo.WithRetryOnRatelimit(false))
	if err != nil {
		return a.translate(ctx, err)
	}
	if into == nil || len(answer) == 0 {
		return nil
	}
	if err := json.Unmarshal(answer, into); err != nil {
		return fmt.Errorf("read answer: %w", err)
	}
	return nil
}

// bucketOf names the limit that a call counts against: its channel, or its
// webhook, whose secret stays out of it.
func bucketOf(method, path string) string {
	parts := strings.SplitN(path, "/", 4)
	if len(parts) > 1 && parts[0] == "channels" {
		return method + " channels/" + parts[1]
	}
	return method + " " + parts[0]
}

// translate makes the library's error one of ours, by its code. Addresses of
// calls hold secrets, so nothing of them is kept.
func (a *Adapter) translate(ctx context.Context, err error) error {
	var limited *discordgo.RateLimitError
	var refused *discordgo.RESTError
	switch {
	case ctx.Err() != nil:
		return fmt.Errorf("call platform: %w", ctx.Err())
	case errors.As(err, &limited):
		a.options.Count("rate-limit")
		after := time.Duration(0)
		if limited.RateLimit != nil && limited.TooManyRequests != nil {
			after = limited.RetryAfter
		}
		return &bot.RateLimitError{After: after, Err: errors.New("the platform asks for a pause")}
	case errors.As(err, &refused):
		return refusal(refused)
	}
	return errors.New("platform not reached, or its answer was cut off")
}

// refusal says what an answer that is no success means (reference page "JSON
// error codes").
func refusal(e *discordgo.RESTError) error {
	code, words := 0, ""
	if e.Message != nil {
		code, words = e.Message.Code, e.Message.Message
	}
	status := e.Response.StatusCode
	switch {
	case status == http.StatusTooManyRequests:
		return &bot.RateLimitError{Err: errors.New("the platform asks for a pause")}
	case status == http.StatusUnauthorized:
		return &lasting{fmt.Errorf("the bot token is not valid: take a new one from the application's page (%d)", status)}
	case status == http.StatusForbidden:
		return fmt.Errorf("the bot may not do that here: give it View Channel, Send Messages, Send Messages in Threads, Create Public Threads and Attach Files (%d %s): %w", code, words, bot.ErrNotFound)
	case status == http.StatusNotFound:
		return fmt.Errorf("the channel or message is gone (%d %s): %w", code, words, bot.ErrNotFound)
	case status >= http.StatusInternalServerError:
		return fmt.Errorf("the platform is in trouble (%d)", status)
	}
	return &lasting{fmt.Errorf("the platform refused it (%d, code %d %s): %w", status, code, words, bot.ErrUnsupported)}
}

// lasting is a refusal that another try does not change.
type lasting struct{ error }

// Unwrap gives the cause.
func (l *lasting) Unwrap() error { return l.error }
