package save

import (
	"errors"
	"syscall"
)

// lock keeps other runs of this program from replacing a file until it is unlocked, or
// the program ends, however it does: a file beside it is open for one run alone, and goes
// when it is closed. The error is [ErrBusy] while another run has it. Where none can be
// made the file is written to without.
func lock(name string) (unlock func(), err error) {
	const (
		deleteOnClose = 0x04000000
		inUse         = syscall.Errno(32) // ERROR_SHARING_VIOLATION
		alone         = 0                 // shared with nobody
	)
	p, err := syscall.UTF16PtrFromString(name + ".lock")
	if err != nil {
		return nil, err
	}
	h, err := syscall.CreateFile(p, syscall.GENERIC_WRITE, alone, nil, syscall.OPEN_ALWAYS,
		syscall.FILE_ATTRIBUTE_NORMAL|deleteOnClose, 0)
	switch {
	case errors.Is(err, inUse):
		return nil, ErrBusy
	case err != nil:
		return func() {}, nil
	}
	return func() { _ = syscall.CloseHandle(h) }, nil
}
