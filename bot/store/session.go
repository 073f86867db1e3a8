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
	conn  *sql.Conn
	stmts map[string]*sql.Stmt
}

func newSession(conn *sql.Conn) *session {
	return &session{conn: conn, stmts: make(map[string]*sql.Stmt)}
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
	return errors.Join(append(errs, s.conn.Close())...)
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
