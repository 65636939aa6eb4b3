package save

import (
	"bytes"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"testing"
)

var (
	before = []byte("what was there\n")
	after  = bytes.Repeat([]byte("what is new\n"), 10_000)
)

var errInjected = errors.New("made to fail")

// A faultyFile fails at one of the things asked of it.
type faultyFile struct {
	file
	at string
}

func (f faultyFile) Write(p []byte) (int, error) {
	if f.at == "write" {
		n, _ := f.file.Write(p[:len(p)/2])
		return n, errInjected
	}
	return f.file.Write(p)
}

func (f faultyFile) Sync() error {
	if f.at == "sync" {
		return errInjected
	}
	return f.file.Sync()
}

func (f faultyFile) Close() error {
	err := f.file.Close()
	if f.at == "close" {
		return errInjected
	}
	return err
}

// faulty is the file system, but that one operation fails.
func faulty(at string) *disk {
	d := system
	d.create = func(name string, mode fs.FileMode) (file, error) {
		if at == "create" {
			return nil, errInjected
		}
		f, err := system.create(name, mode)
		return faultyFile{f, at}, err
	}
	fail := func(op string, f func(a, b string) error) func(a, b string) error {
		return func(a, b string) error {
			if at == op {
				return errInjected
			}
			return f(a, b)
		}
	}
	d.link, d.rename = fail("link", system.link), fail("rename", system.rename)
	if at == "link and rename" {
		d.link, d.rename = fail(at, system.link), fail(at, system.rename)
	}
	d.chmod = func(name string, mode fs.FileMode) error {
		if at == "chmod" {
			return errInjected
		}
		return system.chmod(name, mode)
	}
	d.syncDir = func(name string) error {
		if at == "sync of the folder" {
			return errInjected
		}
		return system.syncDir(name)
	}
	return &d
}

// Whatever fails, there is the old file or the new one, whole, nothing else lies
// about, and the error says which.
func TestFailures(t *testing.T) {
	always := []string{"create", "write", "sync", "close", "link and rename", "sync of the folder"} // in every save
	for _, at := range []string{"create", "write", "sync", "close", "chmod", "link", "rename", "link and rename", "sync of the folder", ""} {
		for _, there := range []bool{false, true} {
			for _, replace := range []bool{false, true} {
				dir := t.TempDir()
				name := filepath.Join(dir, "sheet.yaml")
				if there {
					if err := os.WriteFile(name, before, 0o640); err != nil {
						t.Fatal(err)
					}
				}
				err := faulty(at).write(name, after, replace)
				got, readErr := os.ReadFile(name)
				entries, _ := os.ReadDir(dir)
				state := map[bool]string{true: "there", false: "not there"}[there]
				left := ""
				var e *Error
				if errors.As(err, &e) {
					left = e.Left
				}
				switch {
				case err == nil && !bytes.Equal(got, after):
					t.Errorf("%s fails, file %s: no error, and %d bytes", at, state, len(got))
				case err == nil && there && !replace:
					t.Errorf("%s fails: the file that was there is replaced", at)
				case err == nil && slices.Contains(always, at):
					t.Errorf("%s fails, file %s, replace %t: nothing is said of it", at, state, replace)
				case err == nil:
				case left == done && !bytes.Equal(got, after),
					left == old && !bytes.Equal(got, before),
					left == nothing && !errors.Is(readErr, fs.ErrNotExist),
					left == partly || left == "":
					t.Errorf("%s fails, file %s, replace %t: %v, but there are %d bytes", at, state, replace, err, len(got))
				}
				want := 0
				if readErr == nil {
					want = 1
				}
				if len(entries) != want {
					t.Errorf("%s fails, file %s: %d files are left: %v", at, state, len(entries), entries)
				}
				if at == "" && (err != nil) != (there && !replace) {
					t.Errorf("file %s, replace %t: %v", state, replace, err)
				}
			}
		}
	}
}

// A file that came while the new one was being written stays, also where the file system
// has no links, and the error says so.
func TestCameMeanwhile(t *testing.T) {
	for _, fails := range []string{"", "link"} {
		name := filepath.Join(t.TempDir(), "sheet.yaml")
		d := faulty(fails)
		create := d.create
		d.create = func(temporary string, mode fs.FileMode) (file, error) {
			if err := os.WriteFile(name, before, 0o600); err != nil {
				return nil, err
			}
			return create(temporary, mode)
		}
		err := d.write(name, after, false)
		got, _ := os.ReadFile(name)
		var e *Error
		if !errors.As(err, &e) || !errors.Is(err, fs.ErrExist) || e.Left != old || !bytes.Equal(got, before) {
			t.Errorf("%q fails: %v, and the file holds %q", fails, err, got)
		}
	}
}

func TestKeepsModeAndFollowsLinks(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Skip("links need a right that few have")
	}
	dir := t.TempDir()
	name, link := filepath.Join(dir, "sheet.yaml"), filepath.Join(dir, "link.yaml")
	if err := os.WriteFile(name, before, 0o640); err != nil {
		t.Fatal(err)
	}
	if err := os.Symlink("sheet.yaml", link); err != nil {
		t.Fatal(err)
	}
	if err := Write(link, after, true); err != nil {
		t.Fatal(err)
	}
	info, err := os.Lstat(link)
	if err != nil || info.Mode()&fs.ModeSymlink == 0 {
		t.Errorf("the link is no link any more: %v, %v", info.Mode(), err)
	}
	if got, _ := os.ReadFile(name); !bytes.Equal(got, after) {
		t.Error("the file behind the link is not the new one")
	}
	if info, _ := os.Stat(name); info.Mode().Perm() != 0o640 {
		t.Errorf("mode %v, want that of before", info.Mode().Perm())
	}
	dangling := filepath.Join(dir, "dangling.yaml")
	if err := os.Symlink("new.yaml", dangling); err != nil {
		t.Fatal(err)
	}
	if err := Write(dangling, after, false); err != nil {
		t.Fatal(err)
	}
	if got, _ := os.ReadFile(filepath.Join(dir, "new.yaml")); !bytes.Equal(got, after) {
		t.Error("what the link points to is not written")
	}
}

func TestRefusals(t *testing.T) {
	dir := t.TempDir()
	for name, want := range map[string]string{
		dir:                              "it is a directory; nothing was written",
		filepath.Join(dir, "no", "such"): "no such file or directory; nothing was written",
	} {
		if err := Write(name, after, true); err == nil || (runtime.GOOS != "windows" && !strings.HasSuffix(err.Error(), want)) {
			t.Errorf("%v, want %s", err, want)
		}
	}
	if runtime.GOOS == "linux" {
		if err := Write("/dev/full", after, false); err == nil || !strings.Contains(err.Error(), "no space left on device") {
			t.Errorf("/dev/full: %v", err)
		}
	}
}

// A file that may not be written to is left alone, though its folder would take a new one;
// a name may be as long as the system takes it.
func TestReadOnlyAndLong(t *testing.T) {
	dir := t.TempDir()
	name := filepath.Join(dir, "archived.yaml")
	if err := os.WriteFile(name, before, 0o400); err != nil {
		t.Fatal(err)
	}
	d := *faulty("")
	d.open = func(string) (file, error) { return nil, fs.ErrPermission } // whoever runs the test
	var e *Error
	if err := d.write(name, after, true); !errors.As(err, &e) || !errors.Is(err, fs.ErrPermission) || e.Left != old {
		t.Errorf("error %v", err)
	}
	if got, err := os.ReadFile(name); err != nil || !bytes.Equal(got, before) {
		t.Errorf("the file has %d bytes: %v", len(got), err)
	}
	long := filepath.Join(dir, strings.Repeat("é", 125)+".yaml")
	if err := Write(long, after, false); err != nil {
		t.Error(err)
	}
}

// A file that somebody else wrote to meanwhile is left alone, and nothing is left beside
// it; one that is as it was is replaced, through a symbolic link, too.
func TestReplace(t *testing.T) {
	dir := t.TempDir()
	name, link := filepath.Join(dir, "case.yaml"), filepath.Join(dir, "link.yaml")
	if err := os.Symlink("case.yaml", link); err != nil {
		t.Fatal(err)
	}
	put := func(text string) {
		if err := os.WriteFile(name, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	holds := func(want string) {
		t.Helper()
		got, err := os.ReadFile(name)
		list, _ := os.ReadDir(dir)
		if err != nil || string(got) != want || len(list) != 2 {
			t.Errorf("the file holds %q, want %q; %d files: %v", got, want, len(list), err)
		}
	}
	put("old")
	if err := Replace(link, []byte("old"), []byte("new")); err != nil {
		t.Error(err)
	}
	holds("new")
	put("theirs")
	if err := Replace(link, []byte("new"), []byte("ours")); !errors.Is(err, ErrChanged) {
		t.Errorf("error %v", err)
	}
	holds("theirs")
}

// Of two runs that replace a file at the same moment one does, and the other is told; the
// second one comes here when the first has looked and not yet written.
func TestReplaceAtOnce(t *testing.T) {
	name := filepath.Join(t.TempDir(), "case.yaml")
	if err := os.WriteFile(name, []byte("old"), 0o600); err != nil {
		t.Fatal(err)
	}
	d := system
	var second error
	d.rename = func(from, to string) error {
		second = Replace(name, []byte("old"), []byte("second"))
		return os.Rename(from, to)
	}
	if err := d.replace(name, []byte("old"), []byte("first")); err != nil {
		t.Error(err)
	}
	if !errors.Is(second, ErrBusy) {
		t.Errorf("the second run: %v", second)
	}
	if got, _ := os.ReadFile(name); string(got) != "first" {
		t.Errorf("the file holds %q", got)
	}
	if err := Replace(name, []byte("first"), []byte("third")); err != nil {
		t.Errorf("the lock is left: %v", err)
	}
}

// However many runs replace the same text at once, one of them does.
func TestReplaceByMany(t *testing.T) {
	name := filepath.Join(t.TempDir(), "case.yaml")
	for range 20 {
		if err := os.WriteFile(name, []byte("old"), 0o600); err != nil {
			t.Fatal(err)
		}
		const many = 8
		done := make(chan error)
		for i := range many {
			go func() { done <- Replace(name, []byte("old"), []byte{byte('a' + i)}) }()
		}
		replaced := 0
		for range many {
			switch err := <-done; {
			case err == nil:
				replaced++
			case !errors.Is(err, ErrBusy) && !errors.Is(err, ErrChanged):
				t.Error(err)
			}
		}
		if replaced != 1 {
			t.Fatalf("%d of %d runs replaced the file", replaced, many)
		}
	}
}
