package store

import (
	"context"
	"strings"
)

// session is the writer's connection inside a transaction. It takes no contexts:
// a statement of a shared transaction is never cut short by one caller.
type session struct {
	dialect dialect
	connect func(context.Context) (link, error)
	link    link                 // nil after it broke
	heads   map[string]auditHead // by department, as this transaction has left them
}

// dialect is the little in which the databases differ inside a transaction that
// writes.
type dialect struct {
	begin string
	take  string // takes a department until the transaction ends; empty where begin has taken all
	now   string // the database's clock, as a moment is kept
}

// at puts the database's clock into a statement.
func (d dialect) at(statement string) string { return strings.ReplaceAll(statement, "{now}", d.now) }

// link is a connection that statements run on.
type link interface {
	// exec runs a statement and says how many rows it touched.
	exec(query string, args []any) (int64, error)
	// row reads one row into dest; ok is false when there is none.
	row(query string, args, dest []any) (ok bool, err error)
	// send runs a statement, now or together with the next one, and lets check,
	// where there is one, look at how many rows it touched. The error of either
	// may come with the next statement.
	send(query string, args []any, check func(touched int64) error) error
	// flush runs what was sent and has not run yet.
	flush() error
	close() error
}

// newSession opens a session's first connection.
func newSession(ctx context.Context, d dialect, connect func(context.Context) (link, error)) (*session, error) {
	s := &session{dialect: d, connect: connect}
	return s, s.open(ctx)
}

func (s *session) open(ctx context.Context) (err error) {
	s.link, err = s.connect(ctx)
	return err
}

func (s *session) exec(query string, args ...any) (int64, error) { return s.link.exec(query, args) }

// send runs a statement of which nobody needs to know how many rows it touched.
func (s *session) send(query string, args ...any) error { return s.link.send(query, args, nil) }

// touch sends a statement that has to touch a row: err is what it means when it
// does not.
func (s *session) touch(err error, query string, args ...any) error {
	return s.link.send(query, args, func(touched int64) error {
		if touched == 0 {
			return err
		}
		return nil
	})
}

func (s *session) row(query string, args []any, dest ...any) (ok bool, err error) {
	return s.link.row(query, args, dest)
}

// drop lets go of a connection that cannot be trusted any more.
func (s *session) drop() {
	_ = s.close() // it is broken: what closing it says is no news
	s.link = nil
}

func (s *session) close() error {
	if s.link == nil {
		return nil
	}
	return s.link.close()
}

// begin starts a transaction. When that fails nothing was done yet, so a
// connection that broke since the last one is replaced without anybody hearing
// of it.
func (s *session) begin() error {
	s.heads = make(map[string]auditHead)
	if s.link != nil {
		if _, err := s.exec(s.dialect.begin); err == nil {
			return nil
		}
		s.drop()
	}
	if err := s.open(context.Background()); err != nil {
		return err
	}
	_, err := s.exec(s.dialect.begin)
	return err
}

// take keeps other processes from writing for a department until the
// transaction ends.
func (s *session) take(department string) error {
	if department == noDepartment || s.dialect.take == "" {
		return nil
	}
	_, err := s.exec(s.dialect.take, department)
	return err
}

// undo takes the transaction back to where a statement says. What was sent runs
// before it, in vain, so that the place to go back to is there.
func (s *session) undo(statement string) error {
	clear(s.heads)
	_ = s.link.flush() // its error is why things are undone, or of no account
	_, err := s.exec(statement)
	return err
}

// rollBack undoes the transaction. The database may have done so by itself (a
// full disk does that) or be gone: where it fails, the connection goes with it.
func (s *session) rollBack() {
	if err := s.undo("ROLLBACK"); err != nil {
		s.drop()
	}
}
