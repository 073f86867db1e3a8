package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"maps"
	"net"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/stdlib"
)

// The locks on a whole database, by PostgreSQL's advisory locks, whose numbers
// are the program's to choose: these begin with kitbell's mark. The first is held
// by whoever writes, the second while tables are made.
const (
	lockWriting  = applicationID<<32 | 1
	lockChanging = applicationID<<32 | 2
)

const (
	holdAlone    = `SELECT pg_advisory_lock($1)`
	holdTogether = `SELECT pg_advisory_lock_shared($1)`
	letGo        = `SELECT pg_advisory_unlock($1)`

	// takeDepartment goes by a hash of the name; two names with one hash would
	// only wait for each other.
	takeDepartment = `SELECT pg_advisory_xact_lock(hashtextextended($1, 0))`
)

// serverSettings hold for every connection that the program opens, since they
// are sent with its first packet; an address may set others. A process that
// stands still in the middle of a transaction loses it before those who wait
// give up, and a dead one is noticed within half a minute.
var serverSettings = map[string]string{
	"application_name":                    "kitbell",
	"TimeZone":                            "UTC",
	"synchronous_commit":                  "on",
	"statement_timeout":                   "30s",
	"lock_timeout":                        "15s",
	"idle_in_transaction_session_timeout": "10s",
	"tcp_keepalives_idle":                 "10",
	"tcp_keepalives_interval":             "5",
	"tcp_keepalives_count":                "3",
}

// server is a PostgreSQL database, known by its address.
type server struct {
	config *pgx.ConnConfig
	name   string // what people and logs see of the address, which may hold a password
}

// IsPostgres says whether a place is the address of a PostgreSQL database; else
// it is a file.
func IsPostgres(place string) bool {
	return strings.HasPrefix(place, "postgres://") || strings.HasPrefix(place, "postgresql://")
}

// PlaceName is what people and logs may see of a place: never the password.
func PlaceName(place string) string {
	if !IsPostgres(place) {
		return place
	}
	s, err := parseServer(place)
	if err != nil {
		return "a PostgreSQL database"
	}
	return s.name
}

// parseServer reads an address. What is wrong with it is not said: it might be
// in the middle of the password.
func parseServer(address string) (server, error) {
	config, err := pgx.ParseConfig(address)
	if err != nil {
		return server{}, say(nil, sayBadAddress)
	}
	for name, value := range serverSettings {
		if _, ok := config.RuntimeParams[name]; !ok {
			config.RuntimeParams[name] = value
		}
	}
	if config.ConnectTimeout == 0 {
		config.ConnectTimeout = 10 * time.Second
	}
	dialer := net.Dialer{KeepAliveConfig: net.KeepAliveConfig{Enable: true, Idle: 10 * time.Second, Interval: 5 * time.Second, Count: 3}}
	config.DialFunc = dialer.DialContext
	return server{config, fmt.Sprintf("the database %s on %s", config.Database, config.Host)}, nil
}

// pool opens connections that have these settings beside those of all.
func (s server) pool(settings map[string]string) *sql.DB {
	config := s.config.Copy()
	maps.Copy(config.RuntimeParams, settings)
	return stdlib.OpenDB(*config)
}

// openServer opens the database at an address for writing.
func (db *DB) openServer(ctx context.Context, address string) error {
	s, err := parseServer(address)
	if err != nil {
		return err
	}
	if err := db.openServerWriter(ctx, s); err != nil {
		return translateServer(err, s.name)
	}
	db.readFrom(s.pool(map[string]string{"default_transaction_read_only": "on"}))
	return nil
}

// openServerReader opens the database at an address for reading.
func (db *DB) openServerReader(ctx context.Context, address string) error {
	s, err := parseServer(address)
	if err != nil {
		return err
	}
	reads := s.pool(map[string]string{"default_transaction_read_only": "on"})
	db.readFrom(reads)
	version, err := s.version(ctx, reads)
	switch {
	case err != nil:
		return translateServer(err, s.name)
	case version == 0:
		return say(nil, sayNoTables, s.name)
	case version < newestMigration():
		return say(nil, sayOlder, s.name)
	}
	return nil
}

// serverHasTables says whether ours are in the database at an address.
func serverHasTables(ctx context.Context, address string) (bool, error) {
	s, err := parseServer(address)
	if err != nil {
		return false, err
	}
	reads := s.pool(map[string]string{"default_transaction_read_only": "on"})
	defer reads.Close()
	version, err := s.version(ctx, reads)
	return version > 0, translateServer(err, s.name)
}

// openServerWriter migrates the tables and starts the writer on a connection of
// its own, which is closed as soon as it is let go of, and its lock with it.
func (db *DB) openServerWriter(ctx context.Context, s server) error {
	writes := s.pool(map[string]string{"default_transaction_read_only": "off"})
	writes.SetMaxIdleConns(-1)
	db.closers = append(db.closers, writes)
	session, err := newSession(ctx, dialect{begin: "BEGIN", take: takeDepartment, now: postgresNow}, func(ctx context.Context) (link, error) {
		conn, err := s.hold(ctx, writes, db.options)
		if err != nil {
			return nil, err
		}
		return newPipe(conn), nil
	})
	if err != nil {
		return err
	}
	db.writeWith(session)
	return nil
}

// hold opens a connection that writes, with the database locked and its tables up
// to date.
func (s server) hold(ctx context.Context, writes *sql.DB, o Options) (*sql.Conn, error) {
	conn, err := s.locked(ctx, writes, o.Shared)
	if err != nil {
		return nil, err
	}
	if err := s.change(ctx, conn, o); err != nil {
		return nil, errors.Join(err, conn.Close())
	}
	return conn, nil
}

// locked opens a connection and locks the database with it: against everybody, or
// only against those who do not share. The lock ends with the connection, so
// whoever writes has it.
func (s server) locked(ctx context.Context, writes *sql.DB, shared bool) (*sql.Conn, error) {
	conn, err := writes.Conn(ctx)
	if err != nil {
		return nil, err
	}
	lock := holdAlone
	if shared {
		lock = holdTogether
	}
	if err := s.lock(ctx, conn, lock); err != nil {
		return nil, errors.Join(err, conn.Close())
	}
	return conn, nil
}

// lock waits a moment for the database: one that was killed may not be gone yet.
func (s server) lock(ctx context.Context, conn *sql.Conn, how string) error {
	tx, err := conn.BeginTx(ctx, nil)
	if err != nil {
		return err
	}
	defer tx.Rollback() // without effect once it is committed
	if _, err := tx.ExecContext(ctx, `SET LOCAL lock_timeout = '2s'`); err != nil {
		return err
	}
	if _, err := tx.ExecContext(ctx, how, int64(lockWriting)); err != nil {
		if lockedOut(err) {
			return say(err, sayServerInUse, s.name)
		}
		return err
	}
	return tx.Commit()
}

// change makes the tables or brings them up to date, one process at a time.
func (s server) change(ctx context.Context, conn *sql.Conn, o Options) (err error) {
	if version, err := s.version(ctx, conn); err == nil && version == newestMigration() {
		return nil
	}
	if _, err := conn.ExecContext(ctx, holdAlone, int64(lockChanging)); err != nil {
		return fmt.Errorf("wait for who changes tables: %w", err)
	}
	defer func() {
		_, failed := conn.ExecContext(ctx, letGo, int64(lockChanging))
		err = errors.Join(err, failed)
	}()
	// What another process was in the middle of making looked like anything.
	if version, err := s.version(ctx, conn); err != nil || version == newestMigration() {
		return err
	}
	patient := s.pool(map[string]string{"statement_timeout": "0", "default_transaction_read_only": "off"})
	defer patient.Close()
	return migrate(ctx, patient, onPostgres, s.name, o.Log)
}
