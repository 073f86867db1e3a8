package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"os"
)

// Moved is what Move brought over.
type Moved struct {
	Tables []Copied
	Audits []Audit // by department
}

// Move copies everything of the SQLite database at path into the PostgreSQL
// database at address, in one transaction: all departments, or nothing. It then
// reads every table back and compares counts and checksums, and verifies every
// department's audit, before it commits. The source stays as it is. Refused are a
// source or a target that a program works on, one with older or newer tables, and
// a target that has rows.
func Move(ctx context.Context, path, address string, o Options) (_ Moved, err error) {
	source, closeSource, err := openSource(ctx, path)
	if err != nil {
		return Moved{}, err
	}
	defer func() { err = errors.Join(err, closeSource()) }()
	s, err := parseServer(address)
	if err != nil {
		return Moved{}, err
	}
	moved, err := s.receive(ctx, source, o.filled())
	if err != nil {
		return Moved{}, fmt.Errorf("move %s into %s: %w", path, s.name, translateServer(err, s.name))
	}
	return moved, nil
}

// openSource opens a file that nobody writes to, and keeps it so.
func openSource(ctx context.Context, path string) (_ *sql.DB, closeAll func() error, err error) {
	if err := lookAt(path); err != nil {
		return nil, nil, err
	}
	if _, err := os.Stat(path); errors.Is(err, fs.ErrNotExist) {
		return nil, nil, say(err, sayNoDatabase, path)
	}
	held, err := lock(path)
	if err != nil {
		return nil, nil, err
	}
	db, err := openPool(path, "rw") // a file with a write-ahead log cannot always be opened for reading only
	if err != nil {
		return nil, nil, errors.Join(translateOpen(err, path), held.Close())
	}
	closeAll = func() error { return errors.Join(db.Close(), held.Close()) }
	if err := checkReadable(ctx, db, path); err != nil {
		return nil, nil, errors.Join(err, closeAll())
	}
	return db, closeAll, nil
}

// receive fills the database from a source. It takes its time: a large table may
// need longer than any statement of a turn.
func (s server) receive(ctx context.Context, source queryer, o Options) (_ Moved, err error) {
	patient := s.pool(map[string]string{"statement_timeout": "0", "idle_in_transaction_session_timeout": "0", "default_transaction_read_only": "off"})
	patient.SetMaxIdleConns(-1)
	defer func() { err = errors.Join(err, patient.Close()) }()
	conn, err := s.locked(ctx, patient, false)
	if err != nil {
		return Moved{}, err
	}
	defer func() { err = errors.Join(err, conn.Close()) }()
	version, err := s.version(ctx, conn)
	if err != nil {
		return Moved{}, err
	}
	if version != 0 && version < newestMigration() {
		return Moved{}, say(nil, sayOlder, s.name)
	}
	if err := s.change(ctx, conn, o); err != nil {
		return Moved{}, err
	}
	tx, err := conn.BeginTx(ctx, nil)
	if err != nil {
		return Moved{}, err
	}
	defer tx.Rollback() // without effect once it is committed
	moved, err := s.fill(ctx, source, tx)
	if err != nil {
		return Moved{}, err
	}
	return moved, tx.Commit()
}

// fill copies every table into a transaction and checks what arrived.
func (s server) fill(ctx context.Context, source queryer, tx *sql.Tx) (Moved, error) {
	var moved Moved
	run := func(query string, args ...any) error {
		_, err := tx.ExecContext(ctx, query, args...)
		return err
	}
	for _, t := range allTables() {
		if err := s.checkEmpty(ctx, tx, t); err != nil {
			return Moved{}, err
		}
		copied, err := copyTable(ctx, t, source, run)
		if err != nil {
			return Moved{}, err
		}
		if err := checkArrived(ctx, t, copied, tx); err != nil {
			return Moved{}, err
		}
		if err := continueNumbers(ctx, t, tx); err != nil {
			return Moved{}, err
		}
		moved.Tables = append(moved.Tables, copied)
	}
	audits, err := soundAudits(ctx, tx)
	moved.Audits = audits
	return moved, err
}

func (s server) checkEmpty(ctx context.Context, tx *sql.Tx, t table) error {
	var full bool
	if err := tx.QueryRowContext(ctx, "SELECT EXISTS (SELECT 1 FROM "+t.name+")").Scan(&full); err != nil {
		return fmt.Errorf("look into %s: %w", t.name, err)
	}
	if full {
		return say(nil, sayNotEmpty, s.name)
	}
	return nil
}

// checkArrived reads a table back and compares it with what was sent.
func checkArrived(ctx context.Context, t table, sent Copied, to queryer) error {
	got, err := eachRow(ctx, t, to, func([]string, []any) error { return nil })
	if err != nil {
		return fmt.Errorf("read %s back: %w", t.name, err)
	}
	if got != sent {
		return fmt.Errorf("%s arrived otherwise: %d rows with checksum %x, not %d with %x", t.name, got.Rows, got.Sum, sent.Rows, sent.Sum)
	}
	return nil
}

// continueNumbers lets the rows that the database numbers by itself go on after
// those that came with a number.
func continueNumbers(ctx context.Context, t table, tx *sql.Tx) error {
	if !t.id {
		return nil
	}
	var next int64
	if err := tx.QueryRowContext(ctx, "SELECT coalesce(max(id), 0) + 1 FROM "+t.name).Scan(&next); err != nil {
		return fmt.Errorf("read last number of %s: %w", t.name, err)
	}
	if _, err := tx.ExecContext(ctx, fmt.Sprintf("ALTER TABLE %s ALTER COLUMN id RESTART WITH %d", t.name, next)); err != nil {
		return fmt.Errorf("go on numbering %s: %w", t.name, err)
	}
	return nil
}

// copyServer fills the new file at path with everything of the database at
// address, as it stands at one moment.
func copyServer(ctx context.Context, address, path string, o Options) (err error) {
	source, err := OpenReader(ctx, address, o)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, source.Close()) }()
	snapshot, err := source.reads.db.BeginTx(ctx, &sql.TxOptions{Isolation: sql.LevelRepeatableRead, ReadOnly: true})
	if err != nil {
		return fmt.Errorf("read %s: %w", PlaceName(address), translate(err))
	}
	defer snapshot.Rollback()                                                               // nothing was changed
	if _, err := snapshot.ExecContext(ctx, "SET LOCAL statement_timeout = 0"); err != nil { // a large table takes its time
		return fmt.Errorf("be patient with %s: %w", PlaceName(address), translate(err))
	}
	made, err := open(ctx, path, o, throwAway)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, made.Close()) }()
	return made.write(ctx, noDepartment, func(s *session) error {
		for _, t := range allTables() {
			if _, err := copyTable(ctx, t, snapshot, s.send); err != nil {
				return err
			}
		}
		return nil
	})
}
