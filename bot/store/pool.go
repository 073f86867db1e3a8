package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"sync"
)

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
