package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"sync"
)

// session is the writer's connection inside a transaction. Statements are
// prepared once; their texts are constants, so there are few.
type session struct {
	dialect dialect
	connect func(context.Context) (*sql.Conn, error)
	conn    *sql.Conn // nil after it broke
	stmts   map[string]*sql.Stmt
}

// dialect is the little in which the databases differ inside a transaction that
// writes.
type dialect struct {
	begin string
	take  string // takes a department until the transaction ends; empty where begin has taken all
}

// newSession opens a session's first connection.
func newSession(ctx context.Context, d dialect, connect func(context.Context) (*sql.Conn, error)) (*session, error) {
	s := &session{dialect: d, connect: connect, stmts: make(map[string]*sql.Stmt)}
	return s, s.open(ctx)
}

func (s *session) open(ctx context.Context) (err error) {
	s.conn, err = s.connect(ctx)
	return err
}

// drop lets go of a connection that cannot be trusted any more.
func (s *session) drop() {
	_ = s.close() // it is broken: what closing it says is no news
	s.conn, s.stmts = nil, make(map[string]*sql.Stmt)
}

// begin starts a transaction. When that fails nothing was done yet, so a
// connection that broke since the last one is replaced without anybody hearing
// of it.
func (s *session) begin() error {
	if s.conn != nil {
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

// rollBack undoes the transaction. The database may have done so by itself (a
// full disk does that) or be gone: where it fails, the connection goes with it.
func (s *session) rollBack() {
	if _, err := s.exec("ROLLBACK"); err != nil {
		s.drop()
	}
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

func (s *session) prepare(query string) (*sql.Stmt, error) {
	if stmt, ok := s.stmts[query]; ok {
		return stmt, nil
	}
	stmt, err := s.conn.PrepareContext(context.Background(), query)
	if err != nil {
		return nil, fmt.Errorf("prepare statement: %w", err)
	}
	s.stmts[query] = stmt
	return stmt, nil
}

// exec runs a statement and says how many rows it touched. It takes no context:
// a statement of a shared transaction is never cut short by one caller.
func (s *session) exec(query string, args ...any) (int64, error) {
	stmt, err := s.prepare(query)
	if err != nil {
		return 0, err
	}
	result, err := stmt.Exec(args...)
	if err != nil {
		return 0, err
	}
	return result.RowsAffected()
}

// row reads one row into dest; ok is false when there is none.
func (s *session) row(query string, args []any, dest ...any) (ok bool, err error) {
	stmt, err := s.prepare(query)
	if err != nil {
		return false, err
	}
	return found(stmt.QueryRow(args...).Scan(dest...))
}

func (s *session) close() error {
	var errs []error
	for _, stmt := range s.stmts {
		errs = append(errs, stmt.Close())
	}
	if s.conn != nil {
		errs = append(errs, s.conn.Close())
	}
	return errors.Join(errs...)
}

// pool is the connections that read. Statements are prepared once here too.
type pool struct {
	db    *sql.DB
	mu    sync.Mutex
	stmts map[string]*sql.Stmt
}

func newPool(db *sql.DB) *pool { return &pool{db: db, stmts: make(map[string]*sql.Stmt)} }

func (p *pool) prepare(ctx context.Context, query string) (*sql.Stmt, error) {
	p.mu.Lock()
	defer p.mu.Unlock()
	if stmt, ok := p.stmts[query]; ok {
		return stmt, nil
	}
	stmt, err := p.db.PrepareContext(ctx, query)
	if err != nil {
		return nil, fmt.Errorf("prepare statement: %w", err)
	}
	p.stmts[query] = stmt
	return stmt, nil
}

func (p *pool) query(ctx context.Context, query string, args ...any) (*sql.Rows, error) {
	stmt, err := p.prepare(ctx, query)
	if err != nil {
		return nil, err
	}
	return stmt.QueryContext(ctx, args...)
}

// row reads one row into dest; ok is false when there is none.
func (p *pool) row(ctx context.Context, query string, args []any, dest ...any) (ok bool, err error) {
	stmt, err := p.prepare(ctx, query)
	if err != nil {
		return false, translate(err)
	}
	return found(stmt.QueryRowContext(ctx, args...).Scan(dest...))
}

// Close closes the statements and the connections.
func (p *pool) Close() error {
	p.mu.Lock()
	defer p.mu.Unlock()
	var errs []error
	for _, stmt := range p.stmts {
		errs = append(errs, stmt.Close())
	}
	return errors.Join(append(errs, p.db.Close())...)
}

func found(err error) (bool, error) {
	if errors.Is(err, sql.ErrNoRows) {
		return false, nil
	}
	return err == nil, translate(err)
}
