package discord

import (
	"context"
	"encoding/json"
	"sync"
)

// mostWaiting is how many deliveries may wait for the disk.
const mostWaiting = 2000

// delivery is one event of the gateway, as it came.
type delivery struct {
	kind string
	raw  json.RawMessage
}

// queue holds deliveries between the gateway and the disk, so that the library
// is never kept waiting: while it waits it answers no heartbeat.
type queue struct {
	mu    sync.Mutex
	list  []delivery
	added chan struct{}
}

func newQueue() *queue { return &queue{added: make(chan struct{}, 1)} }

func (q *queue) add(d delivery) bool {
	q.mu.Lock()
	defer q.mu.Unlock()
	if len(q.list) >= mostWaiting {
		return false
	}
	q.list = append(q.list, d)
	select {
	case q.added <- struct{}{}:
	default:
	}
	return true
}

// next waits for a delivery; false when ctx ended first.
func (q *queue) next(ctx context.Context) (delivery, bool) {
	for {
		q.mu.Lock()
		if len(q.list) > 0 {
			d := q.list[0]
			q.list = q.list[1:]
			q.mu.Unlock()
			return d, true
		}
		q.mu.Unlock()
		select {
		case <-ctx.Done():
			return delivery{}, false
		case <-q.added:
		}
	}
}
