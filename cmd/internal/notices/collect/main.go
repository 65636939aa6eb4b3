// Command collect writes the licence texts of everything that is linked into tieup,
// on any system that it is released for, to a file:
//
//	go run ./collect FILE
//
// A module whose licence has not been looked at is an error: read its texts, and
// add a line to the table.
package main

import (
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
)

// licences are the modules that may be linked in, with the licence as SPDX names it.
// Where a module offers a choice, the one that was taken stands here.
var licences = map[string]string{
	"codeberg.org/go-fonts/liberation":     "BSD-3-Clause; the fonts: OFL-1.1",
	"codeberg.org/go-latex/latex":          "BSD-3-Clause",
	"codeberg.org/go-pdf/fpdf":             "MIT",
	"git.sr.ht/~sbinet/gg":                 "MIT",
	"github.com/VividCortex/ewma":          "MIT",
	"github.com/acarl005/stripansi":        "MIT",
	"github.com/ajstarks/svgo":             "CC-BY-4.0",
	"github.com/clipperhouse/uax29/v2":     "MIT",
	"github.com/golang/freetype":           "FTL, chosen over GPL-2.0-or-later",
	"github.com/inconshreveable/mousetrap": "Apache-2.0",
	"github.com/mattn/go-runewidth":        "MIT",
	"github.com/spf13/cobra":               "Apache-2.0",
	"github.com/spf13/pflag":               "BSD-3-Clause",
	"github.com/vbauerster/cupwriter":      "Unlicense",
	"github.com/vbauerster/mpb/v8":         "Unlicense",
	"go.yaml.in/yaml/v4":                   "Apache-2.0, with a notice; parts MIT",
	"golang.org/x/image":                   "BSD-3-Clause",
	"golang.org/x/sys":                     "BSD-3-Clause",
	"golang.org/x/term":                    "BSD-3-Clause",
	"golang.org/x/text":                    "BSD-3-Clause",
	"gonum.org/v1/gonum":                   "BSD-3-Clause, and those of others for parts",
	"gonum.org/v1/plot":                    "BSD-3-Clause",
}

// credits are what a licence asks to be said besides its text.
var credits = map[string]string{
	"github.com/ajstarks/svgo": "svgo, by Anthony Starks, writes the SVG drawings; it is used unchanged, " +
		"under https://creativecommons.org/licenses/by/4.0/",
	"github.com/golang/freetype": "Portions of this software are copyright of The FreeType Project (www.freetype.org). " +
		"All rights reserved.",
}

// systems are those that tieup is released for.
var systems = []string{"linux", "darwin", "windows"}

// A module is one that is linked in.
type module struct{ path, version, dir string }

func main() {
	if len(os.Args) != 2 {
		fmt.Fprintln(os.Stderr, "collect: write: go run ./collect FILE")
		os.Exit(2)
	}
	text, err := collect()
	if err == nil {
		err = os.WriteFile(os.Args[1], text, 0o644)
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, "collect:", err)
		os.Exit(1)
	}
}

func collect() ([]byte, error) {
	modules, err := linked()
	if err != nil {
		return nil, err
	}
	var b bytes.Buffer
	b.WriteString("What is linked into tieup, and the licences of it\n\n")
	fmt.Fprintf(&b, "  %-38s %-12s %s\n", "the Go library", "", "BSD-3-Clause")
	for _, m := range modules {
		licence, known := licences[m.path]
		if !known {
			return nil, fmt.Errorf("%s is linked in: read its licence and add it to the table of collect", m.path)
		}
		fmt.Fprintf(&b, "  %-38s %-12s %s\n", m.path, shortVersion(m.version), licence)
	}
	root, err := exec.Command("go", "env", "GOROOT").Output()
	if err != nil {
		return nil, fmt.Errorf("go env GOROOT: %w", err)
	}
	goRoot := strings.TrimSpace(string(root))
	if err := texts(&b, "the Go library", goRoot, "", []string{"LICENSE", "PATENTS"}); err != nil {
		return nil, err
	}
	for _, m := range modules {
		files, err := licenceFiles(m)
		if err != nil {
			return nil, err
		}
		if err := texts(&b, m.path, m.dir, credits[m.path], files); err != nil {
			return nil, err
		}
	}
	return b.Bytes(), nil
}

// shortVersion leaves out the day and commit of a version without a number.
func shortVersion(v string) string {
	if before, _, pseudo := strings.Cut(v, "-0.2"); pseudo {
		return before
	}
	before, _, _ := strings.Cut(v, "-20")
	return before
}

// linked lists the modules of the packages of the program, sorted.
func linked() ([]module, error) {
	found := map[string]module{}
	for _, system := range systems {
		cmd := exec.Command("go", "list", "-deps", "-f", "{{with .Module}}{{.Path}}\t{{.Version}}\t{{.Dir}}{{end}}",
			"tieup/cmd/tieup")
		cmd.Env = append(os.Environ(), "GOOS="+system, "GOARCH=amd64", "CGO_ENABLED=0")
		out, err := cmd.Output()
		if err != nil {
			return nil, fmt.Errorf("go list for %s: %w", system, err)
		}
		for line := range strings.Lines(string(out)) {
			if f := strings.Split(strings.TrimSpace(line), "\t"); len(f) == 3 && f[1] != "" {
				found[f[0]] = module{f[0], f[1], f[2]}
			}
		}
	}
	var list []module
	for _, m := range found {
		list = append(list, m)
	}
	slices.SortFunc(list, func(a, b module) int { return strings.Compare(a.path, b.path) })
	return list, nil
}

// titles are how the names of files begin that must go with a module.
var titles = []string{"LICENSE", "LICENCE", "NOTICE", "UNLICENSE", "COPYING", "PATENTS"}

// licenceFiles names the files of a module that must go with it.
func licenceFiles(m module) ([]string, error) {
	if m.path == "github.com/golang/freetype" {
		return []string{"AUTHORS", "LICENSE", "licenses/ftl.txt"}, nil
	}
	entries, err := os.ReadDir(m.dir)
	if err != nil {
		return nil, err
	}
	var files []string
	for _, e := range entries {
		name := strings.ToUpper(e.Name())
		switch {
		case e.IsDir() && name == "THIRD_PARTY_LICENSES":
			more, err := os.ReadDir(filepath.Join(m.dir, e.Name()))
			if err != nil {
				return nil, err
			}
			for _, f := range more {
				files = append(files, e.Name()+"/"+f.Name())
			}
		case e.IsDir():
		case slices.ContainsFunc(titles, func(w string) bool { return strings.HasPrefix(name, w) }):
			files = append(files, e.Name())
		}
	}
	if len(files) == 0 {
		return nil, fmt.Errorf("%s has no licence file", m.path)
	}
	return files, nil
}

// texts writes files below headings.
func texts(b *bytes.Buffer, name, dir, credit string, files []string) error {
	fmt.Fprintf(b, "\n%s\n%s\n", strings.Repeat("=", 78), name)
	if credit != "" {
		fmt.Fprintf(b, "\n%s\n", credit)
	}
	for _, file := range files {
		text, err := os.ReadFile(filepath.Join(dir, file))
		if err != nil {
			return err
		}
		clean := strings.ReplaceAll(strings.ToValidUTF8(string(text), "?"), "\r", "")
		fmt.Fprintf(b, "\n--- %s\n\n%s\n", file, strings.TrimSpace(strings.ReplaceAll(clean, "\f", "")))
	}
	return nil
}
