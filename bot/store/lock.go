package store

import (
	"fmt"
	"io"
	"os"
	"strconv"
	"strings"
)

// lock keeps a second writer from the database at path: SQLite would let both
// in, and each would believe its memory of the numbers and the queue. The lock
// file stays when the program ends; what counts is the system's lock on it.
func lock(path string) (io.Closer, error) {
	f, err := os.OpenFile(path+".lock", os.O_RDWR|os.O_CREATE, 0o600)
	if err != nil {
		return nil, translateOpen(fmt.Errorf("open lock file: %w", err), path)
	}
	held, err := tryLock(f)
	switch {
	case err != nil:
		f.Close()
		return nil, fmt.Errorf("lock %s: %w", path, err)
	case !held:
		defer f.Close()
		return nil, inUse(f, path)
	}
	if err := sign(f); err != nil {
		f.Close()
		return nil, translateOpen(fmt.Errorf("write lock file: %w", err), path)
	}
	return f, nil
}

// sign writes this process's id into the lock file, for whoever is refused.
func sign(f *os.File) error {
	if err := f.Truncate(0); err != nil {
		return err
	}
	_, err := f.WriteAt([]byte(strconv.Itoa(os.Getpid())+"\n"), 0)
	return err
}

func inUse(f *os.File, path string) error {
	text, _ := io.ReadAll(io.LimitReader(f, 32)) // unreadable is as good as empty
	if pid, err := strconv.Atoi(strings.TrimSpace(string(text))); err == nil {
		return say(nil, sayInUseBy, pid, path)
	}
	return say(nil, sayInUse, path)
}
