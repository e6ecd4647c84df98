//go:build unix

package webspace

import (
	"errors"
	"os"
	"syscall"
)

// lock holds a file until it is closed, or the process ends however it does.
func lock(path string) (*os.File, error) {
	f, err := os.OpenFile(path, os.O_CREATE|os.O_RDWR, 0o600)
	if err != nil {
		return nil, err
	}
	err = syscall.Flock(int(f.Fd()), syscall.LOCK_EX|syscall.LOCK_NB)
	if errors.Is(err, syscall.EWOULDBLOCK) {
		err = ErrBusy
	}
	if err != nil {
		return nil, errors.Join(err, f.Close())
	}
	return f, nil
}
