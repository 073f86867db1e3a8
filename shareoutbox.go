package main

import (
	"context"
	"errors"
	"slices"
	"sync"
	"time"

	"kitbell/bot"
	"kitbell/bot/deliver"
	"kitbell/bot/store"
)

const (
	// outboxEvery is how often a process looks for what others left in the outbox.
	outboxEvery = 500 * time.Millisecond
	// outboxPatience is how long a message is left to the process that wrote it.
	outboxPatience = 2 * time.Second
	// mostHeads is how many lanes more are read than are needed, since some are
	// left to others.
	mostHeads = 1000
)

// sharedOutbox is the outbox as one of several processes sees it: lane by lane,
// each under a lease while a message of it is being sent. It is a deliver.Store.
type sharedOutbox struct {
	*sharing
	desks    *desks
	adapters []bot.Adapter
	tookOver func(what string)

	mu    sync.Mutex
	known map[int64]*outgoing
	seen  map[int64]time.Time // heads of lanes, and since when they are
}

// outgoing is a message that this process may send or has to settle.
type outgoing struct {
	item   deliver.Item
	fence  store.Fence
	trying bool // it is being sent here
}

func newSharedOutbox(s *sharing, desks *desks, adapters []bot.Adapter, tookOver func(what string)) *sharedOutbox {
	return &sharedOutbox{sharing: s, desks: desks, adapters: adapters, tookOver: tookOver, known: make(map[int64]*outgoing), seen: make(map[int64]time.Time)}
}

// Ready gives what this process may send: what it wrote itself at once, what
// others wrote when they leave it.
func (o *sharedOutbox) Ready(ctx context.Context, now time.Time, n int) ([]deliver.Item, time.Time, error) {
	heads, next, err := o.ReadyFor(ctx, o.keeper.Owner(), now, n+mostHeads)
	if err != nil {
		return nil, time.Time{}, err
	}
	if look := now.Add(outboxEvery); next.IsZero() || next.After(look) {
		next = look
	}
	heads = slices.DeleteFunc(heads, func(i deliver.Item) bool { return !o.serves(i) })
	return o.choose(heads, n), next, nil
}

// serves says whether a message is of a department and for a platform that this
// process works for. Others may be another's.
func (o *sharedOutbox) serves(i deliver.Item) bool {
	_, ours := o.desks.desk(i.Department)
	return ours && o.adapter(i) != nil
}

func (o *sharedOutbox) adapter(i deliver.Item) bot.Adapter {
	at := slices.IndexFunc(o.adapters, func(a bot.Adapter) bool { return a.Name() == i.Message.To.Platform })
	if at < 0 {
		return nil
	}
	return o.adapters[at]
}

func (o *sharedOutbox) choose(heads []deliver.Item, n int) (ready []deliver.Item) {
	o.mu.Lock()
	defer o.mu.Unlock()
	now, seen := time.Now(), make(map[int64]time.Time, len(heads))
	for _, i := range heads {
		first, before := o.seen[i.ID]
		if !before {
			first = now
		}
		seen[i.ID] = first
		if len(ready) == n || !o.wrote(i.Department, i.Message.Key) && now.Sub(first) < outboxPatience {
			continue
		}
		if one := o.known[i.ID]; one == nil || !one.trying {
			o.known[i.ID] = &outgoing{item: i}
		}
		ready = append(ready, i)
	}
	o.seen = seen
	for id, one := range o.known {
		if _, head := seen[id]; !head && one.fence.Name == "" {
			delete(o.known, id)
		}
	}
	return ready
}

// MarkSending claims a message's lane and marks it in one transaction.
func (o *sharedOutbox) MarkSending(ctx context.Context, id int64) error {
	item, ok := o.itemOf(id)
	if !ok {
		return bot.ErrConflict
	}
	began := time.Now()
	f, err := o.MarkSendingAs(ctx, item, o.keeper.Owner(), o.keeper.Span())
	if err != nil {
		return err
	}
	o.keeper.Keep(f.Name, f.Term, began)
	o.put(&outgoing{item: item, fence: f, trying: true})
	return nil
}

func (o *sharedOutbox) itemOf(id int64) (deliver.Item, bool) {
	o.mu.Lock()
	defer o.mu.Unlock()
	one, ok := o.known[id]
	if !ok {
		return deliver.Item{}, false
	}
	return one.item, true
}

func (o *sharedOutbox) put(one *outgoing) {
	o.mu.Lock()
	defer o.mu.Unlock()
	o.known[one.item.ID] = one
}

// Settle stores an outcome under the lane's lease and lets others have the lane
// once it has rested.
func (o *sharedOutbox) Settle(ctx context.Context, id int64, outcome deliver.Outcome) error {
	o.mu.Lock()
	one := o.known[id]
	o.mu.Unlock()
	if one == nil {
		return bot.ErrConflict
	}
	var rest time.Duration
	if a := o.adapter(one.item); a != nil {
		rest = a.Capabilities().Pace
	}
	err := o.SettleUnder(ctx, id, outcome, one.fence, rest)
	if err != nil && !errors.Is(err, bot.ErrNotHeld) && !errors.Is(err, bot.ErrConflict) {
		return err // the lane stays ours, and the caller tries again
	}
	o.keeper.Drop(one.fence.Name)
	o.mu.Lock()
	delete(o.known, id)
	o.mu.Unlock()
	if outcome.State != deliver.Waiting {
		o.forgetPost(one.item.Department, one.item.Message.Key)
	}
	return err
}

// Interrupted gives the messages that others were sending when they lost their
// lane, those whose lane this process now has.
func (o *sharedOutbox) Interrupted(ctx context.Context) (items []deliver.Item, err error) {
	abandoned, err := o.Abandoned(ctx)
	if err != nil {
		return nil, err
	}
	items = o.unsettled()
	for _, i := range abandoned {
		if !o.serves(i) || o.tries(i.ID) {
			continue
		}
		h, err := o.keeper.Take(ctx, store.LaneLease(i.Message.To.Lane()))
		if err != nil {
			return nil, err
		}
		if h == nil {
			continue
		}
		o.put(&outgoing{item: i, fence: o.fence(h)})
		o.tookOver("message")
		items = append(items, i)
	}
	return items, nil
}

// unsettled are the messages of others that this process has taken over and could
// not settle yet.
func (o *sharedOutbox) unsettled() (items []deliver.Item) {
	o.mu.Lock()
	defer o.mu.Unlock()
	for _, one := range o.known {
		if one.fence.Name != "" && !one.trying {
			items = append(items, one.item)
		}
	}
	return items
}

// tries says whether this process is sending a message itself.
func (o *sharedOutbox) tries(id int64) bool {
	o.mu.Lock()
	defer o.mu.Unlock()
	one := o.known[id]
	return one != nil && one.trying
}
