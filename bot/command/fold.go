package command

import (
	"context"
	"fmt"
	"sync"
	"time"

	"kitbell/bot"
)

// folds keeps what was folded from journals until they change, so that a
// message does not read years of entries again. The zero value is ready.
type folds struct {
	mu   sync.Mutex
	kept map[string]folded // by department and kind
}

type folded struct {
	desk  *Desk // what it was made for: a reload may bring other cards
	mark  bot.JournalMark
	value any
}

// fold gives what make makes of all entries of a kind, oldest first, or what it
// made of the same entries before. Each kind has one make. The value is shared:
// nobody may change it.
func fold[T any](ctx context.Context, r *Request, kind string, make func([]bot.Entry) (T, error)) (T, error) {
	return foldAs(ctx, r, kind, "", make)
}

// foldAs is fold where a kind is made into several things: as names this one.
func foldAs[T any](ctx context.Context, r *Request, kind, as string, make func([]bot.Entry) (T, error)) (T, error) {
	var none T
	mark, err := r.Books.Mark(ctx, r.Department.Slug, kind)
	if err != nil {
		return none, fmt.Errorf("read mark of %s entries: %w", kind, err)
	}
	key := r.Department.Slug + "/" + kind + "/" + as
	if value, ok := r.folds.find(key, r.Desk, mark); ok {
		return value.(T), nil
	}
	entries, err := r.Books.Entries(ctx, r.Department.Slug, kind, "", time.Time{})
	if err != nil {
		return none, fmt.Errorf("read %s entries: %w", kind, err)
	}
	value, err := make(entries)
	if err != nil {
		return none, err
	}
	r.folds.keep(key, folded{r.Desk, markOf(entries), value})
	return value, nil
}

// markOf is the mark of entries that were read: others may have come since
// their journal was asked for its mark.
func markOf(entries []bot.Entry) bot.JournalMark {
	mark := bot.JournalMark{Entries: len(entries)}
	for _, e := range entries {
		mark.Last = max(mark.Last, e.ID)
	}
	return mark
}

// find may be called on nil, which has nothing.
func (f *folds) find(key string, desk *Desk, mark bot.JournalMark) (value any, ok bool) {
	if f == nil {
		return nil, false
	}
	f.mu.Lock()
	defer f.mu.Unlock()
	found, ok := f.kept[key]
	return found.value, ok && found.desk == desk && found.mark == mark
}

func (f *folds) keep(key string, value folded) {
	if f == nil {
		return
	}
	f.mu.Lock()
	defer f.mu.Unlock()
	if f.kept == nil {
		f.kept = make(map[string]folded)
	}
	f.kept[key] = value
}
