package webspace

import (
	"errors"
	"os"
	"syscall"
)

// sharingViolation is what Windows answers while another process has the file.
const sharingViolation = syscall.Errno(32)

// lock holds a file until it is closed, or the process ends however it does: it is
// opened so that nobody else can open it.
func lock(path string) (*os.File, error) {
	name, err := syscall.UTF16PtrFromString(path)
	if err != nil {
		return nil, err
	}
	h, err := syscall.CreateFile(name, syscall.GENERIC_READ|syscall.GENERIC_WRITE, 0, nil, syscall.OPEN_ALWAYS, syscall.FILE_ATTRIBUTE_NORMAL, 0)
	if errors.Is(err, sharingViolation) {
		err = ErrBusy
	}
	if err != nil {
		return nil, err
	}
	return os.NewFile(uintptr(h), path), nil
}
