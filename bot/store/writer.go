package store

import (
	"context"
	"errors"
	"fmt"
	"runtime/debug"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
)

// maxBatch is the most functions that share one commit. It bounds how long the
// first of them waits for the last.
const maxBatch = 256

// errClosed is what a write gets once the store is closing.
var errClosed = errors.New("store is closed")

// writer runs functions one after the other on one connection. Those that wait
// when a commit begins share it: with a synchronous disk the commit is the cost,
// and sharing it is what makes many reports a second possible.
type writer struct {
	session *session
	jobs    chan *job
	ended   chan struct{}

	mu     sync.RWMutex // guards closed, and jobs against a send after its close
	closed bool
}

// job is a function on its way through the writer. Either its caller gives it
// up while it waits, or the writer takes it; never both, so a caller always
// knows whether its function ran.
type job struct {
	department string // that fn writes for; empty for what belongs to no one
	fn         func(*session) error
	decided    atomic.Bool
	done       chan error
}

func startWriter(s *session) *writer {
	w := &writer{session: s, jobs: make(chan *job, maxBatch), ended: make(chan struct{})}
	go w.run()
	return w
}

// do runs fn, which writes for a department, in a savepoint of the next commit and returns once that commit is
// on the disk, or fn's error, which undoes what fn did and nothing else. A ctx
// that ends while fn waits means that fn did not run; once fn has begun, do
// waits for the outcome.
func (w *writer) do(ctx context.Context, department string, fn func(*session) error) error {
	j := &job{department: department, fn: fn, done: make(chan error, 1)}
	if err := w.submit(ctx, j); err != nil {
		return err
	}
	select {
	case err := <-j.done:
		return err
	case <-ctx.Done():
		if j.decided.CompareAndSwap(false, true) {
			return ctx.Err()
		}
		return <-j.done
	}
}

func (w *writer) submit(ctx context.Context, j *job) error {
	w.mu.RLock()
	defer w.mu.RUnlock()
	if w.closed {
		return errClosed
	}
	select {
	case w.jobs <- j:
		return nil
	case <-ctx.Done():
		return ctx.Err()
	}
}

// Close lets what was submitted finish and closes the connection.
func (w *writer) Close() error {
	w.mu.Lock()
	already := w.closed
	w.closed = true
	if !already {
		close(w.jobs)
	}
	w.mu.Unlock()
	<-w.ended
	if already {
		return nil
	}
	return w.session.close()
}

func (w *writer) run() {
	defer close(w.ended)
	for first := range w.jobs {
		w.commit(w.gather(first))
	}
}

// gather takes first and whatever else waits, without waiting for more.
func (w *writer) gather(first *job) []*job {
	batch := make([]*job, 0, maxBatch)
	for j, more := first, true; more; {
		if j.decided.CompareAndSwap(false, true) {
			batch = append(batch, j)
		}
		if len(batch) == maxBatch {
			return batch
		}
		select {
		case j, more = <-w.jobs:
		default:
			more = false
		}
	}
	return batch
}

// commit runs a batch and tells every caller how it went. When the transaction
// itself fails, nothing of the batch is stored and all of them hear it.
func (w *writer) commit(batch []*job) {
	if len(batch) == 0 {
		return
	}
	outcome, err := w.transact(batch)
	for i, j := range batch {
		if err != nil {
			j.done <- err
			continue
		}
		j.done <- outcome[i]
	}
}

// transact goes through the batch department by department, in the order of
// their names: each is taken as its turn comes, and because every process takes
// them in this order, no two of them can wait for each other.
func (w *writer) transact(batch []*job) (outcome []error, err error) {
	slices.SortStableFunc(batch, func(a, b *job) int { return strings.Compare(a.department, b.department) })
	if err := w.session.begin(); err != nil {
		return nil, fmt.Errorf("begin: %w", err)
	}
	defer func() {
		if err != nil {
			w.session.rollBack()
		}
	}()
	taken := noDepartment
	for _, j := range batch {
		if j.department != taken {
			if err := w.session.take(j.department); err != nil {
				return nil, fmt.Errorf("take department: %w", err)
			}
			taken = j.department
		}
		failure, err := w.step(j)
		if err != nil {
			return nil, err
		}
		outcome = append(outcome, failure)
	}
	if _, err := w.session.exec("COMMIT"); err != nil {
		return nil, fmt.Errorf("commit: %w", err)
	}
	return outcome, nil
}

// step runs one function in a savepoint. failure is the function's own; err
// means that the transaction is no longer whole.
func (w *writer) step(j *job) (failure, err error) {
	if err := w.session.send("SAVEPOINT step"); err != nil {
		return nil, fmt.Errorf("savepoint: %w", err)
	}
	failure = guarded(j.fn, w.session)
	if failure == nil {
		failure = w.session.link.flush()
	}
	if failure != nil {
		if err := w.session.undo("ROLLBACK TO step"); err != nil {
			return nil, errors.Join(failure, fmt.Errorf("roll back to savepoint: %w", err))
		}
	}
	if err := w.session.send("RELEASE step"); err != nil {
		return nil, fmt.Errorf("release savepoint: %w", err)
	}
	return failure, nil
}

// guarded makes a panic in fn an error, so that one bad function does not take
// the writer and everybody's writes with it.
func guarded(fn func(*session) error, s *session) (err error) {
	defer func() {
		if p := recover(); p != nil {
			err = fmt.Errorf("write panicked: %v\n%s", p, debug.Stack())
		}
	}()
	return fn(s)
}
