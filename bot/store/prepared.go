package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
)

// prepared is a link that runs each statement at once, prepared: right for a
// database in the same process. Statements' texts are constants, so there are few.
type prepared struct {
	conn  *sql.Conn
	stmts map[string]*sql.Stmt
}

func newPrepared(conn *sql.Conn) *prepared {
	return &prepared{conn: conn, stmts: make(map[string]*sql.Stmt)}
}

func (p *prepared) prepare(query string) (*sql.Stmt, error) {
	if stmt, ok := p.stmts[query]; ok {
		return stmt, nil
	}
	stmt, err := p.conn.PrepareContext(context.Background(), query)
	if err != nil {
		return nil, fmt.Errorf("prepare statement: %w", err)
	}
	p.stmts[query] = stmt
	return stmt, nil
}

func (p *prepared) exec(query string, args []any) (int64, error) {
	stmt, err := p.prepare(query)
	if err != nil {
		return 0, err
	}
	result, err := stmt.Exec(args...)
	if err != nil {
		return 0, err
	}
	return result.RowsAffected()
}

func (p *prepared) row(query string, args, dest []any) (ok bool, err error) {
	stmt, err := p.prepare(query)
	if err != nil {
		return false, err
	}
	return found(stmt.QueryRow(args...).Scan(dest...))
}

func (p *prepared) send(query string, args []any, check func(touched int64) error) error {
	touched, err := p.exec(query, args)
	if err != nil || check == nil {
		return err
	}
	return check(touched)
}

func (p *prepared) flush() error { return nil }

func (p *prepared) close() error {
	var errs []error
	for _, stmt := range p.stmts {
		errs = append(errs, stmt.Close())
	}
	return errors.Join(append(errs, p.conn.Close())...)
}
