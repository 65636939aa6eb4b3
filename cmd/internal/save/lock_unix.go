//go:build unix

package save

import (
	"errors"
	"os"
	"syscall"
)

// lock keeps other runs of this program from replacing a file until it is unlocked, or
// the program ends, however it does; nothing is left beside the file. The error is
// [ErrBusy] while another one has it. A file system without locks is written to without.
func lock(name string) (unlock func(), err error) {
	f, err := os.Open(name)
	if err != nil {
		return nil, err
	}
	err = syscall.Flock(int(f.Fd()), syscall.LOCK_EX|syscall.LOCK_NB)
	if errors.Is(err, syscall.EWOULDBLOCK) {
		f.Close()
		return nil, ErrBusy
	}
	// Another run may have put a new file in its place between the two.
	opened, _ := f.Stat()
	if now, err := os.Stat(name); err != nil || !os.SameFile(opened, now) {
		f.Close()
		return nil, ErrChanged
	}
	return func() { f.Close() }, nil
}
