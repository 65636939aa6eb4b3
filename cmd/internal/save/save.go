// Package save writes files so that a failure never harms what was there: the new
// text goes into a temporary file beside the target, is flushed to the disk, and
// takes the name of the target only then. Whoever opens the file finds the old one
// or the new one, whole.
//
// Known libraries do part of that: github.com/google/renameio is not made for
// Windows, others replace a symbolic link instead of what it points to, and none
// leaves alone a file that came there in the meantime.
package save

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"math/rand/v2"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"syscall"
)

// An Error says why a file was not written, and what is there now.
type Error struct {
	Name string // of the file, as it was given
	Err  error  // why
	Left string // what is there now, in words
}

// Error returns one sentence.
func (e *Error) Error() string { return fmt.Sprintf("%s: %s; %s", e.Name, e.Err, e.Left) }

// Unwrap returns the reason.
func (e *Error) Unwrap() error { return e.Err }

// What there is after a failure.
const (
	nothing = "nothing was written"
	old     = "the file that was there is as it was"
	done    = "the new file is in place, but the disk has not confirmed it"
	partly  = "part of it may have been written"
)

// Write writes data into a file, whole or not at all. A file that is there is
// replaced only if replace is set, also one that came there in the meantime: the
// error is then [fs.ErrExist]. One that may not be written to is left alone. A symbolic
// link is followed: what it points to is written. What is no regular file, such as a pipe, is written to as it is.
func Write(name string, data []byte, replace bool) error {
	return system.write(name, data, replace)
}

// ErrChanged is the reason why a file was not replaced that somebody else wrote to.
var ErrChanged = errors.New("it was changed meanwhile")

// ErrBusy is the reason why a file was not replaced that another run is replacing.
var ErrBusy = errors.New("another run is writing it")

// Replace writes data over a file that holds old, whole or not at all. Where it holds
// anything else, what somebody else wrote is left alone: the error is then [ErrChanged],
// or [ErrBusy] while another run replaces it. An editor that saves between the last look
// and the new name is not seen: it knows nothing of the lock.
func Replace(name string, old, data []byte) error { return system.replace(name, old, data) }

func (d disk) replace(name string, old, data []byte) error {
	rename := d.rename
	d.rename = func(from, to string) error {
		unlock, err := lock(to)
		if err != nil {
			return err
		}
		defer unlock()
		if now, err := os.ReadFile(to); err != nil || !bytes.Equal(now, old) {
			return ErrChanged
		}
		return rename(from, to)
	}
	return d.write(name, data, true)
}

// A file is what is asked of an open file.
type file interface {
	io.WriteCloser
	Sync() error
}

// A disk is what is asked of the file system; tests make each of it fail.
type disk struct {
	create  func(name string, mode fs.FileMode) (file, error) // anew
	open    func(name string) (file, error)                   // to write to what is there
	link    func(from, to string) error
	rename  func(from, to string) error
	chmod   func(name string, mode fs.FileMode) error
	remove  func(name string) error
	syncDir func(name string) error
}

var system = disk{
	create: func(name string, mode fs.FileMode) (file, error) {
		return os.OpenFile(name, os.O_WRONLY|os.O_CREATE|os.O_EXCL, mode)
	},
	open:    func(name string) (file, error) { return os.OpenFile(name, os.O_WRONLY, 0) },
	link:    os.Link,
	rename:  os.Rename,
	chmod:   os.Chmod,
	remove:  os.Remove,
	syncDir: syncDir,
}

// syncDir flushes the name of a file to the disk, where there is such a thing.
func syncDir(name string) error {
	if runtime.GOOS == "windows" {
		return nil
	}
	d, err := os.Open(name)
	if err != nil {
		return err
	}
	defer d.Close()
	if err := d.Sync(); err != nil && !errors.Is(err, syscall.EINVAL) && !errors.Is(err, syscall.ENOTSUP) {
		return err
	}
	return nil
}

func (d *disk) write(name string, data []byte, replace bool) error {
	failed := func(err error, left string) error { return &Error{Name: name, Err: Reason(err), Left: left} }
	target, err := follow(name)
	if err != nil {
		return failed(err, nothing)
	}
	left, mode := nothing, fs.FileMode(0)
	switch info, err := os.Stat(target); {
	case err == nil && info.IsDir():
		return failed(errors.New("it is a directory"), nothing)
	case err == nil && !info.Mode().IsRegular():
		if err := d.send(target, data); err != nil {
			return failed(err, partly)
		}
		return nil
	case err == nil && !replace:
		return failed(fs.ErrExist, old)
	case err == nil:
		// A new name asks only the folder: what may not be written to is not replaced, either.
		f, err := d.open(target)
		if err != nil {
			return failed(err, old)
		}
		_ = f.Close()
		left, mode = old, info.Mode().Perm()
	case !errors.Is(err, fs.ErrNotExist):
		return failed(err, nothing)
	}
	temporary, err := d.prepare(target, data, mode)
	if err != nil {
		return failed(err, left)
	}
	if err := d.place(temporary, target, replace); err != nil {
		_ = d.remove(temporary)
		if errors.Is(err, fs.ErrExist) {
			left = old // it came in the meantime
		}
		return failed(err, left)
	}
	if err := d.syncDir(filepath.Dir(target)); err != nil {
		return failed(err, done)
	}
	return nil
}

// prepare writes a temporary file beside the target and returns its name. On an
// error there is none.
func (d *disk) prepare(target string, data []byte, mode fs.FileMode) (string, error) {
	dir, base := filepath.Split(target)
	base = strings.ToValidUTF8(base[:min(len(base), 200)], "") // names have up to 255 bytes
	var f file
	var name string
	for try := 0; ; try++ {
		var err error
		name = filepath.Join(dir, fmt.Sprintf(".%s.%08x.tmp", base, rand.Uint32()))
		if f, err = d.create(name, 0o666); err == nil {
			break
		} else if !errors.Is(err, fs.ErrExist) || try == 100 {
			return "", err
		}
	}
	_, err := f.Write(data)
	if err == nil {
		err = f.Sync()
	}
	if closed := f.Close(); err == nil {
		err = closed
	}
	if err == nil && mode != 0 {
		err = d.chmod(name, mode)
	}
	if err != nil {
		_ = d.remove(name)
		return "", err
	}
	return name, nil
}

// place gives the temporary file the name of the target.
func (d *disk) place(temporary, target string, replace bool) error {
	if replace {
		return d.rename(temporary, target)
	}
	// A link, unlike a rename, takes no name that is taken.
	switch err := d.link(temporary, target); {
	case err == nil:
		_ = d.remove(temporary)
		return nil
	case errors.Is(err, fs.ErrExist):
		return err
	}
	// Some file systems have no links.
	if _, err := os.Lstat(target); err == nil {
		return fs.ErrExist
	}
	return d.rename(temporary, target)
}

// send writes to a device or pipe.
func (d *disk) send(name string, data []byte) error {
	f, err := d.open(name)
	if err != nil {
		return err
	}
	_, err = f.Write(data)
	if closed := f.Close(); err == nil {
		err = closed
	}
	return err
}

// follow returns what a name stands for: where the symbolic link of that name points
// to, whether there is something or not.
func follow(name string) (string, error) {
	for range 40 {
		to, err := os.Readlink(name)
		if err != nil {
			return name, nil // no link
		}
		if !filepath.IsAbs(to) {
			to = filepath.Join(filepath.Dir(name), to)
		}
		name = to
	}
	return "", errors.New("too many symbolic links")
}

// Reason is the cause of an error of the file system without operation and name.
func Reason(err error) error {
	var path *fs.PathError
	var link *os.LinkError
	switch {
	case errors.As(err, &path):
		return path.Err
	case errors.As(err, &link):
		return link.Err
	}
	return err
}
