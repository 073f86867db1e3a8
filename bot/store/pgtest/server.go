package pgtest

import (
	"context"
	"errors"
	"fmt"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"sync"
	"testing"

	"github.com/jackc/pgx/v5"
)

// Must is the variable that makes a missing PostgreSQL a failure instead of a
// skipped test, when it is 1.
const Must = "KITBELL_MUST_POSTGRES"

// Programs is the variable that names the folder of PostgreSQL's programs, where
// they are in no usual place.
const Programs = "KITBELL_POSTGRES_BIN"

// errNotInstalled means that the programs are not on this machine.
var errNotInstalled = errors.New("PostgreSQL is not installed (initdb not found)")

// fast are settings for tests that ask only what the database answers: what it
// confirms would not outlive the machine.
var fast = []string{"-c", "fsync=off", "-c", "full_page_writes=off"}

// Server is the server of a test process. The zero value has not started yet.
// Its methods are safe for several goroutines.
type Server struct {
	// Durable lets it wait for the disk, as a server does by default.
	Durable bool
	// Fill, where set, puts into a database what each has from the start. It is
	// called once: the others are copies.
	Fill func(ctx context.Context, address string) error

	mu      sync.Mutex
	started bool
	err     error // of starting
	dir     string
	process *process
	count   int // of databases
}

// filled is the database that others are copies of.
const filled = "filled"

// Database makes a database that has what Fill put there and gives its address.
// Without PostgreSQL on this machine it skips the test, or fails it where Must
// says so.
func (s *Server) Database(t testing.TB) (address string) {
	t.Helper()
	return s.make(t, filled)
}

// Empty is Database with nothing in it.
func (s *Server) Empty(t testing.TB) (address string) {
	t.Helper()
	return s.make(t, "template1")
}

func (s *Server) make(t testing.TB, from string) (address string) {
	t.Helper()
	s.mu.Lock()
	defer s.mu.Unlock()
	if !s.started {
		s.started = true
		s.err = s.start(t.Context())
	}
	switch {
	case errors.Is(s.err, errNotInstalled) && os.Getenv(Must) != "1":
		t.Skipf("skipped: %v", s.err)
	case s.err != nil:
		t.Fatalf("start PostgreSQL: %v", s.err)
	}
	s.count++
	name := fmt.Sprint("test_", s.count)
	if err := s.copy(t.Context(), name, from); err != nil {
		t.Fatalf("make database: %v", err)
	}
	return s.Address(name)
}

// copy makes a database from another. To copy its files is quicker than to write
// them into the log first.
func (s *Server) copy(ctx context.Context, name, from string) error {
	return s.execute(ctx, "CREATE DATABASE "+name+" TEMPLATE "+from+" STRATEGY file_copy")
}

// Address is that of a database by its name, made or not.
func (s *Server) Address(name string) string {
	return "postgres:///" + name + "?" + url.Values{"host": {s.dir}, "user": {"kitbell"}}.Encode()
}

// Stop ends the server, if it was started, and removes all it had.
func (s *Server) Stop() {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.process != nil {
		s.process.kill()
		s.process = nil
	}
	if s.dir != "" {
		os.RemoveAll(s.dir)
	}
}

func (s *Server) execute(ctx context.Context, statement string) error {
	conn, err := pgx.Connect(ctx, s.Address("postgres"))
	if err != nil {
		return err
	}
	defer conn.Close(ctx)
	_, err = conn.Exec(ctx, statement)
	return err
}

// start serves a new cluster and fills the database that others are copies of.
func (s *Server) start(ctx context.Context) error {
	if err := s.serve(); err != nil {
		return err
	}
	if err := s.copy(ctx, filled, "template1"); err != nil || s.Fill == nil {
		return err
	}
	return s.Fill(ctx, s.Address(filled))
}

// serve makes a cluster in a folder of its own and serves it. The folder's name
// is short, because a socket's path may have no more than about 100 letters.
func (s *Server) serve() (err error) {
	programs, err := find()
	if err != nil {
		return err
	}
	if s.dir, err = os.MkdirTemp("/tmp", "kb"); err != nil {
		return err
	}
	if err := handOver(s.dir); err != nil {
		return err
	}
	data := filepath.Join(s.dir, "data")
	initdb := exec.Command(filepath.Join(programs, "initdb"), "-D", data, "-U", "kitbell", "--auth=trust", "--no-sync",
		"--encoding=UTF8", "--locale=C", "--locale-provider=icu", "--icu-locale=en-US")
	humble(initdb)
	initdb.Dir = s.dir
	if out, err := initdb.CombinedOutput(); err != nil {
		return fmt.Errorf("initdb: %w\n%s", err, out)
	}
	args := []string{"-D", data, "-k", s.dir, "-c", "listen_addresses=", "-c", "lc_messages=C"}
	if !s.Durable {
		args = append(args, fast...)
	}
	server := exec.Command(filepath.Join(programs, "postgres"), args...)
	humble(server)
	server.Dir = s.dir
	s.process, err = launch(server)
	return err
}

// find gives the folder of PostgreSQL's programs: the one named, or where the shell
// finds them, or where Debian puts them, the newest first.
func find() (folder string, err error) {
	if folder = os.Getenv(Programs); folder != "" {
		if _, err := os.Stat(filepath.Join(folder, "initdb")); err != nil {
			return "", errNotInstalled
		}
		return folder, nil
	}
	if program, err := exec.LookPath("initdb"); err == nil {
		if program, err = filepath.EvalSymlinks(program); err == nil {
			return filepath.Dir(program), nil
		}
	}
	found, err := filepath.Glob("/usr/lib/postgresql/*/bin/initdb")
	if err != nil || len(found) == 0 {
		return "", errNotInstalled
	}
	return filepath.Dir(slices.Max(found)), nil
}
