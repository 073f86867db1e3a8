package store

import (
	"context"
	"database/sql"
	"maps"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/jackc/pgx/v5/pgconn"
)

// Statements gives the text of every statement that a closed store has run.
func (db *DB) Statements() []string {
	texts := slices.Collect(maps.Keys(db.reads.stmts))
	if db.writes != nil {
		<-db.writes.ended
		switch l := db.writes.session.link.(type) {
		case *prepared:
			texts = append(texts, slices.Collect(maps.Keys(l.stmts))...)
		case *pipe:
			texts = append(texts, slices.Collect(maps.Keys(l.known))...)
		}
	}
	return texts
}

// Write runs a function of the test's own in the writer.
func (db *DB) Write(ctx context.Context, fn func(exec func(query string, args ...any) error) error) error {
	return db.write(ctx, noDepartment, func(s *session) error {
		return fn(func(query string, args ...any) error {
			_, err := s.exec(query, args...)
			return err
		})
	})
}

// Pragma reads a pragma from one pooled connection that reads, and from the one
// that writes.
func (db *DB) Pragma(ctx context.Context, name string) (reads, writes string, err error) {
	if err := db.reads.db.QueryRowContext(ctx, "PRAGMA "+name).Scan(&reads); err != nil {
		return "", "", err
	}
	err = db.writes.do(ctx, noDepartment, func(s *session) error {
		_, err := s.row("PRAGMA "+name, nil, &writes)
		return err
	})
	return reads, writes, err
}

// Explain gives SQLite's plan of a statement, a line a step.
func (db *DB) Explain(ctx context.Context, statement string) ([]string, error) {
	var args []any // their values do not matter to the plan
	for n := 1; strings.Contains(statement, "$"+strconv.Itoa(n)); n++ {
		args = append(args, 0)
	}
	rows, err := db.reads.db.QueryContext(ctx, "EXPLAIN QUERY PLAN "+statement, args...)
	return collect(rows, err, func(row rowScanner) (step string, err error) {
		var id, parent, unused int
		err = row.Scan(&id, &parent, &unused, &step)
		return step, err
	})
}

// Recent says whether a version of SQLite is recent enough.
func Recent(version string) bool { return recent(version) }

// NewestMigration gives the version that this program's tables have.
func NewestMigration() int64 { return newestMigration() }

// TranslateOpen is what a person hears when opening fails with err.
func TranslateOpen(err error, path string) error { return translateOpen(err, path) }

// ApplicationID marks a file as the program's own.
const ApplicationID = applicationID

// ServerSettings reads a PostgreSQL setting from several connections that read,
// open at the same time, each with a blank behind it, and from the one that
// writes.
func (db *DB) ServerSettings(ctx context.Context, name string, n int) (reads, writes string, err error) {
	for range n {
		conn, err := db.reads.db.Conn(ctx)
		if err != nil {
			return "", "", err
		}
		defer conn.Close()
		var value string
		if err := conn.QueryRowContext(ctx, "SHOW "+name).Scan(&value); err != nil {
			return "", "", err
		}
		reads += value + " "
	}
	err = db.writes.do(ctx, noDepartment, func(s *session) error {
		_, err := s.row("SHOW "+name, nil, &writes)
		return err
	})
	return reads, writes, err
}

// TranslateState is what the program makes of a SQLSTATE.
func TranslateState(code string) error { return translate(&pgconn.PgError{Code: code}) }

// Reads gives the connections that read.
func (db *DB) Reads() *sql.DB { return db.reads.db }

// LosePatienceAfter makes the writer's connection to a PostgreSQL server give up
// earlier.
func (db *DB) LosePatienceAfter(ctx context.Context, d time.Duration) error {
	return db.writes.do(ctx, noDepartment, func(s *session) error {
		s.link.(*pipe).patience = d
		return nil
	})
}

// HeldTables are the tables in which a person's rows are looked for.
func HeldTables() (names []string) {
	for _, t := range (Person{}).held() {
		names = append(names, t.table)
	}
	return names
}
