//go:build unix

package store

import (
	"errors"
	"os"
	"syscall"
)

// tryLock takes the file for this process, or says that another has it. The
// system lets go of it when the process ends, however it ends.
func tryLock(f *os.File) (held bool, err error) {
	err = syscall.Flock(int(f.Fd()), syscall.LOCK_EX|syscall.LOCK_NB)
	if errors.Is(err, syscall.EWOULDBLOCK) {
		return false, nil
	}
	return err == nil, err
}
