package deliver

import (
	"errors"
	"math/rand/v2"
	"time"

	"kitbell/bot"
)

const (
	// MostTries is how often a message is tried. With the pauses between them
	// that is a little over two hours: a platform's usual bad evening is
	// shorter, and a chat post that is older helps nobody. Pauses that a
	// platform asks for by length do not count as tries.
	MostTries = 32

	firstPause = time.Second
	mostPause  = 5 * time.Minute
	// jitter is how much of a pause is left to chance, so that lanes which
	// failed together do not come back together.
	jitter = 0.2
)

// failed says what a try that ended with err means for the message. unsure is
// whether it may have arrived all the same.
func failed(item Item, err error, unsure bool, now time.Time) Outcome {
	o := Outcome{State: Failed, Tries: item.Tries + 1, Reason: err.Error()}
	var limited *bot.RateLimitError
	switch {
	case errors.As(err, &limited) && limited.After > 0:
		o.State, o.Tries = Waiting, item.Tries
		o.NotBefore = now.Add(min(limited.After, LongestPause))
	case errors.Is(err, bot.ErrBarred) && o.Tries < MostTries:
		o.State, o.NotBefore = Waiting, now.Add(pause(MostTries)) // a person has to act first
	case errors.Is(err, bot.ErrNotFound), errors.Is(err, bot.ErrUnsupported):
	case unsure:
		o.State = PossiblySent
	case o.Tries < MostTries:
		o.State, o.NotBefore = Waiting, now.Add(pause(o.Tries))
	}
	return o
}

// pause is how long to wait after so many failed tries: twice as long each time,
// up to a limit, give or take the jitter.
func pause(tries int) time.Duration {
	p := mostPause
	if doublings := tries - 1; doublings < 9 { // 2^9 s is over the limit
		p = min(p, firstPause<<doublings)
	}
	return time.Duration(float64(p) * (1 + jitter*(2*rand.Float64()-1)))
}
