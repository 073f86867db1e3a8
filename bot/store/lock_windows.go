package store

import (
	"errors"
	"os"

	"golang.org/x/sys/windows"
)

// tryLock takes the file for this process, or says that another has it. The
// system lets go of it when the process ends, however it ends. The locked byte
// lies beyond the text, so that the other process can read who holds it.
func tryLock(f *os.File) (held bool, err error) {
	const flags = windows.LOCKFILE_EXCLUSIVE_LOCK | windows.LOCKFILE_FAIL_IMMEDIATELY
	at := windows.Overlapped{Offset: 1 << 20}
	err = windows.LockFileEx(windows.Handle(f.Fd()), flags, 0, 1, 0, &at)
	if errors.Is(err, windows.ERROR_LOCK_VIOLATION) {
		return false, nil
	}
	return err == nil, err
}
