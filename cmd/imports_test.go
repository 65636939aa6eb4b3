// Package cmd_test holds the shape of the repository: who may import whom, and
// what stands at its top.
package cmd_test

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"os/exec"
	"path"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// module is the path of this module, root its folder seen from here.
const (
	module = "tieup"
	root   = ".."
)

// policy is the architecture: for each package of the module, what it may
// import beyond the standard library. A trailing "/..." stands for the path
// before it and everything below.
//
// Imports go one way, down this list from the train file to the model and from
// the writers to what they write. This is policy: where a build needs an import
// that is not here, move the code, not the line. A new package gets its line
// when its place in the flow has been thought through.
var policy = map[string][]string{
	// The model and its words depend on nothing.
	"tieup/kinematics": {},

	// Exact numbers, their forms in JSON, and cones and programs over integers.
	"tieup/kinematics/internal/integer":   {},
	"tieup/kinematics/exact":              {"tieup/kinematics/internal/integer"},
	"tieup/kinematics/document":           {"tieup/kinematics/exact"},
	"tieup/kinematics/internal/polyhedra": {"tieup/kinematics/exact", "tieup/kinematics/internal/integer"},

	// The checker of certificates, which trusts nothing that computes.
	"tieup/kinematics/certify":        {},
	"tieup/kinematics/certify/verify": {"tieup/kinematics", "tieup/kinematics/certify"},

	// What is computed on the model.
	"tieup/kinematics/solve":     {"tieup/kinematics", "tieup/kinematics/certify", "tieup/kinematics/exact", "tieup/kinematics/internal/polyhedra", "gonum.org/v1/gonum/..."},
	"tieup/kinematics/bench":     {"tieup/kinematics", "tieup/kinematics/exact", "tieup/kinematics/solve"},
	"tieup/kinematics/wear":      {"tieup/kinematics", "tieup/kinematics/exact", "tieup/kinematics/solve"},
	"tieup/kinematics/reading":   {"tieup/kinematics", "tieup/kinematics/document", "tieup/kinematics/bench", "tieup/kinematics/wear", "tieup/kinematics/controls", "tieup/kinematics/exact", "tieup/kinematics/fit", "tieup/kinematics/solve"},
	"tieup/kinematics/diagnosis": {"tieup/kinematics", "tieup/kinematics/bench", "tieup/kinematics/controls", "tieup/kinematics/exact", "tieup/kinematics/solve", "tieup/kinematics/reading", "tieup/kinematics/shift"},
	"tieup/kinematics/shift":     {"tieup/kinematics", "tieup/kinematics/exact", "tieup/kinematics/solve", "tieup/kinematics/reading"},
	"tieup/kinematics/lesson": {"tieup/kinematics", "tieup/kinematics/exact", "tieup/kinematics/solve", "tieup/kinematics/controls",
		"tieup/kinematics/reading"},
	"tieup/kinematics/controls": {"tieup/kinematics"},
	"tieup/kinematics/fit":      {"tieup/kinematics", "tieup/kinematics/exact", "tieup/kinematics/solve", "gonum.org/v1/gonum/..."},
	"tieup/kinematics/transient": {"tieup/kinematics", "tieup/kinematics/exact", "tieup/kinematics/solve", "tieup/kinematics/reading",
		"gonum.org/v1/gonum/..."},

	// The one place that answers.
	"tieup/kinematics/analysis": {"tieup/kinematics", "tieup/kinematics/..."},

	// The train file and the road-test sheet.
	"tieup/gearsets/problem":           {},
	"tieup/gearsets/internal/yamlfile": {"tieup/gearsets/problem", "tieup/kinematics", "go.yaml.in/yaml/v4"},
	"tieup/gearsets": {"tieup/gearsets/problem", "tieup/gearsets/internal/yamlfile", "tieup/kinematics", "tieup/kinematics/exact", "tieup/kinematics/controls",
		"tieup/kinematics/solve", "go.yaml.in/yaml/v4"},
	"tieup/gearsets/appchart": {"tieup/gearsets/problem", "tieup/kinematics", "tieup/kinematics/exact", "tieup/kinematics/fit",
		"golang.org/x/text/encoding/charmap"},
	"tieup/gearsets/roadtest": {"tieup/gearsets", "tieup/gearsets/problem", "tieup/gearsets/internal/yamlfile", "tieup/kinematics",
		"tieup/kinematics/exact", "tieup/kinematics/diagnosis", "go.yaml.in/yaml/v4"},

	// The writers: they take answers, and call no engine.
	"tieup/plots": writer("gonum.org/v1/plot/...", "golang.org/x/image/font/...", "codeberg.org/go-fonts/liberation/...",
		"codeberg.org/go-pdf/fpdf"),
	"tieup/plots/table": writer("tieup/kinematics/controls",
		"github.com/mattn/go-runewidth", "golang.org/x/term", "golang.org/x/sys/windows"),
	"tieup/plots/stage": writer("tieup/plots"),
	"tieup/plots/page":  writer("tieup/plots", "tieup/plots/stage", "tieup/plots/table"),

	// The program: it opens trains, asks, and hands answers to writers.
	// Only the checker of certificates is asked past the one place: it trusts nothing there.
	"tieup/cmd/internal/serve": writer("tieup/gearsets/...", "tieup/kinematics/controls", "tieup/plots/..."),
	"tieup/cmd/internal/cli": writer("tieup/gearsets/...", "tieup/kinematics/certify/verify", "tieup/kinematics/controls",
		"tieup/plots/...", "tieup/cmd/internal/serve", "tieup/cmd/internal/save", "tieup/cmd/internal/notices",
		"github.com/spf13/cobra/...", "github.com/vbauerster/mpb/v8/...", "golang.org/x/term"),
	"tieup/cmd/tieup": {"tieup/cmd/internal/cli"},

	// What a release is made with, and the licences in it.
	"tieup/cmd/internal/save":            {},
	"tieup/cmd/internal/notices":         {},
	"tieup/cmd/internal/notices/collect": {},
	"tieup/cmd/internal/manual":          {"tieup/cmd/internal/cli", "github.com/spf13/cobra/doc"},

	// Only this test.
	"tieup/cmd": {},
}

// writer is what a package may import that shows answers: the model, its numbers and
// its words, the one place that answers, and some more. The controls of a train are a
// part of its model.
func writer(more ...string) []string {
	return append([]string{"tieup/kinematics", "tieup/kinematics/exact", "tieup/kinematics/reading", "tieup/kinematics/analysis"},
		more...)
}

// asking lists what no package below a folder may call, by package and name or by the
// name of a method alone: a writer is handed answers and asks for none, and whoever asks
// does so of the one place that answers.
var asking = map[string][]string{
	"plots/": {"analysis.Analysis", "analysis.Check", "analysis.Fit", "analysis.Harm", "analysis.Open", "analysis.Summarize",
		"analysis.Wanted", ".Bring", "reading.Cautions", "reading.Explain", "reading.Hazards", "reading.NewReader"},
	"cmd/": {".Bring", "reading.Cautions", "reading.Explain", "reading.Hazards", "reading.NewReader"},
}

// testPolicy is what the tests of any package may import besides. A test may
// look further up the flow than its package (the engine is tested on the
// embedded trains), though never at the program.
var testPolicy = []string{
	"tieup/kinematics/...",
	"tieup/gearsets/...",
	"tieup/plots/...",
	"github.com/chromedp/...",
	"github.com/google/go-cmp/...",
	"github.com/rogpeppe/go-internal/...",
	"github.com/santhosh-tekuri/jsonschema/v6",
	"go.yaml.in/yaml/v4",
	"gonum.org/v1/gonum/...",
	"pgregory.net/rapid",
}

// outside lists standard packages that reach outside the process. The model
// and what is computed on it take and return values: files, flags and sockets
// belong to gearsets and cmd.
var outside = []string{"os/...", "net/...", "flag", "embed", "log/...", "syscall", "io/ioutil"}

// top is what stands at the top of the repository, dot files apart.
var top = []string{"DEVELOPERS.md", "README.md", "cmd", "gearsets", "go.mod", "go.sum", "kinematics", "plots", "testdata"}

// The files are read in this process, so that go test knows which ones they
// are and never serves a pass from before a change.
func TestImportDirections(t *testing.T) {
	packages := map[string]bool{}
	for _, file := range goFiles(t) {
		from := path.Join(module, filepath.ToSlash(filepath.Dir(file)))
		allowed, known := policy[from]
		if !known && !packages[from] {
			t.Errorf("%s: package %s has no line in the policy of cmd/imports_test.go", file, from)
		}
		packages[from] = true

		test := strings.HasSuffix(file, "_test.go")
		for _, imported := range imports(t, file) {
			switch {
			case !known:
			case standard(imported):
				if !test && match("tieup/kinematics/...", from) && matchAny(outside, imported) {
					t.Errorf("%s: %s may not import %s: the model takes and returns values, files belong to gearsets and cmd",
						file, from, imported)
				}
			case matchAny(allowed, imported), test && imported == from, test && matchAny(testPolicy, imported):
			default:
				t.Errorf("%s: %s may not import %s; it may import %s", file, from, imported, orNothing(allowed))
			}
		}
	}
	if !packages[module+"/kinematics"] {
		t.Errorf("the model was not found: are the folders seen from %s still those of the module?", root)
	}
}

// An import says nothing of what is called.
func TestWhoAsks(t *testing.T) {
	for _, file := range goFiles(t) {
		folder, _, _ := strings.Cut(filepath.ToSlash(file), "/")
		forbidden := asking[folder+"/"]
		if forbidden == nil || strings.HasSuffix(file, "_test.go") {
			continue
		}
		for _, name := range asks(parse(t, file, parser.SkipObjectResolution), forbidden) {
			t.Errorf("%s asks for %s: an answer of kinematics/analysis should hold what it gives", file, name)
		}
	}
}

// asks lists what a file names of what is forbidden, by whatever name it imports a package
// of this module. One that is imported as if it were the file's own is listed, too.
func asks(file *ast.File, forbidden []string) []string {
	var names []string
	packages := map[string]string{} // by the name that the file gives them
	for _, spec := range file.Imports {
		imported, err := strconv.Unquote(spec.Path.Value)
		if err != nil || !match(module+"/...", imported) {
			continue
		}
		name := path.Base(imported)
		packages[name] = name
		if spec.Name != nil {
			packages[spec.Name.Name] = name
		}
		if spec.Name != nil && spec.Name.Name == "." {
			names = append(names, "all of "+imported)
		}
	}
	ast.Inspect(file, func(n ast.Node) bool {
		s, ok := n.(*ast.SelectorExpr)
		if !ok {
			return true
		}
		name := s.Sel.Name
		if slices.Contains(forbidden, "."+name) {
			names = append(names, name)
		}
		if of, ok := s.X.(*ast.Ident); ok && packages[of.Name] != "" && slices.Contains(forbidden, packages[of.Name]+"."+name) {
			names = append(names, packages[of.Name]+"."+name)
		}
		return true
	})
	return names
}

func TestAsks(t *testing.T) {
	forbidden := []string{"analysis.Open", "analysis.Analysis", ".Bring"}
	for _, c := range []struct {
		source string
		want   []string
	}{
		{`import "tieup/kinematics/analysis"; var a = analysis.Open(nil)`, []string{"analysis.Open"}},
		{`import an "tieup/kinematics/analysis"; var a = an.Open(nil)`, []string{"analysis.Open"}},
		{`import an "tieup/kinematics/analysis"; func f(a *an.Analysis) {}`, []string{"analysis.Analysis"}},
		{`import . "tieup/kinematics/analysis"; var a = Open(nil)`, []string{"all of tieup/kinematics/analysis"}},
		{`var a = x.Bring()`, []string{"Bring"}},
		{`import "tieup/kinematics/analysis"; var a analysis.Solved`, nil},
		{`import analysis "os"; var a, _ = analysis.Open("")`, nil},
	} {
		file, err := parser.ParseFile(token.NewFileSet(), "", "package p; "+c.source, parser.SkipObjectResolution)
		if err != nil {
			t.Fatal(err)
		}
		if got := asks(file, forbidden); !slices.Equal(got, c.want) {
			t.Errorf("%s asks for %q, want %q", c.source, got, c.want)
		}
	}
}

// Who uses a package as a library looks at its example first.
func TestEveryPublicPackageHasAnExample(t *testing.T) {
	shown := map[string]bool{}
	for _, file := range goFiles(t) {
		folder := filepath.ToSlash(filepath.Dir(file))
		if strings.HasPrefix(folder, "cmd") || strings.Contains(folder, "internal") {
			continue
		}
		text, err := os.ReadFile(filepath.Join(root, file))
		if err != nil {
			t.Fatal(err)
		}
		shown[folder] = shown[folder] || strings.Contains(string(text), "\nfunc Example")
	}
	for folder, example := range shown {
		if !example {
			t.Errorf("%s has no Example", folder)
		}
	}
}

func TestTopOfRepository(t *testing.T) {
	// git reads the index in a process of its own, of which go test does not
	// know. Read here too, it ends a cached pass with the next git add.
	_, _ = os.ReadFile(filepath.Join(root, ".git", "index"))

	git := exec.Command("git", "ls-files", "-z")
	git.Dir = root
	out, err := git.Output()
	if err != nil {
		t.Skipf("not in a clone, or no git here: %v", err)
	}
	tracked := strings.Split(strings.TrimSuffix(string(out), "\x00"), "\x00")

	var bad []string
	for _, file := range tracked {
		entry, _, _ := strings.Cut(file, "/")
		if strings.HasPrefix(entry, ".") || slices.Contains(top, entry) || slices.Contains(bad, entry) {
			continue
		}
		bad = append(bad, entry)
		t.Errorf("%s: only %s and dot files stand at the top of the repository", entry, strings.Join(top, ", "))
	}
}

// The patterns decide everything above, so they have a table of their own.
func TestMatch(t *testing.T) {
	for _, c := range []struct {
		pattern, path string
		want          bool
	}{
		{"tieup/kinematics", "tieup/kinematics", true},
		{"tieup/kinematics", "tieup/kinematics/solve", false},
		{"tieup/kinematics/...", "tieup/kinematics", true},
		{"tieup/kinematics/...", "tieup/kinematics/internal/polyhedra", true},
		{"tieup/kinematics/...", "tieup/kinematicsfoo", false},
		{"gonum.org/v1/gonum/...", "gonum.org/v1/plot", false},
	} {
		if got := match(c.pattern, c.path); got != c.want {
			t.Errorf("match(%q, %q) = %v", c.pattern, c.path, got)
		}
	}
}

// goFiles lists the Go files of the module relative to root, leaving out the
// folders that the go command leaves out.
func goFiles(t *testing.T) []string {
	t.Helper()
	var files []string
	err := filepath.WalkDir(root, func(file string, entry fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		name := entry.Name()
		if entry.IsDir() {
			if file != root && (name == "testdata" || strings.HasPrefix(name, ".") || strings.HasPrefix(name, "_")) {
				return fs.SkipDir
			}
			return nil
		}
		if filepath.Ext(name) == ".go" {
			relative, err := filepath.Rel(root, file)
			files = append(files, relative)
			return err
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return files
}

// imports lists the import paths of one file.
func imports(t *testing.T, file string) []string {
	t.Helper()
	var paths []string
	for _, spec := range parse(t, file, parser.ImportsOnly).Imports {
		imported, err := strconv.Unquote(spec.Path.Value)
		if err != nil {
			t.Fatalf("%s: %v", file, err)
		}
		paths = append(paths, imported)
	}
	return paths
}

func parse(t *testing.T, file string, mode parser.Mode) *ast.File {
	t.Helper()
	parsed, err := parser.ParseFile(token.NewFileSet(), filepath.Join(root, file), nil, mode)
	if err != nil {
		t.Fatal(err)
	}
	return parsed
}

// standard tells the standard library by its first element, which is no host.
func standard(imported string) bool {
	first, _, _ := strings.Cut(imported, "/")
	return first != module && !strings.Contains(first, ".")
}

// match tells whether a pattern of the policy covers an import path.
func match(pattern, imported string) bool {
	if stem, below := strings.CutSuffix(pattern, "/..."); below {
		return imported == stem || strings.HasPrefix(imported, stem+"/")
	}
	return imported == pattern
}

func matchAny(patterns []string, imported string) bool {
	return slices.ContainsFunc(patterns, func(pattern string) bool { return match(pattern, imported) })
}

func orNothing(allowed []string) string {
	if len(allowed) == 0 {
		return "the standard library alone"
	}
	return "the standard library, " + strings.Join(allowed, ", ")
}
