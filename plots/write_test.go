package plots

import (
	"bytes"
	"flag"
	"image/png"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"tieup/kinematics"
)

var update = flag.Bool("update", false, "write the golden drawings of testdata anew")

// written returns a drawing as the bytes of a file.
func written(t *testing.T, format Format, d Drawing, s Style) []byte {
	t.Helper()
	var out bytes.Buffer
	if err := Write(&out, format, d, s); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

// neutral is the speed plan of neutral with the forward clutch stuck.
func neutral(t *testing.T) Drawing {
	sys := library(t, "simpson-three-speed")
	return speedPlan(t, sys, ranges(t, sys.Train, "N"), faults(t, sys.Train, "forward=stuck"), SpeedOptions{})
}

func near(got, want float64) bool { return math.Abs(got-want) <= 1e-9*max(1, math.Abs(want)) }

// The golden drawings are those that the README shows, so that these are never
// stale. Read the new ones before committing them:
//
//	go test ./plots -run Golden -update
func TestGoldenDrawings(t *testing.T) {
	sys := library(t, "simpson-three-speed")
	train := sys.Train
	depot := library(t, "depot-shuttle-three-speed")
	for file, d := range map[string]Drawing{
		"speeds-neutral-forward-stuck.svg": neutral(t),
		"lever-second-direct-stuck.svg":    leverDiagram(t, sys, ranges(t, train, "M2"), faults(t, train, "direct=stuck")),
		"faults-three-speed.svg":           faultChart(t, depot, depot.Train.Ranges, nil),
		"path-first-and-reverse.svg":       halfSection(t, sys, ranges(t, train, "D1", "R"), nil),
	} {
		got := written(t, SVG, d, Style{})
		name := filepath.Join("testdata", file)
		if *update {
			if err := os.WriteFile(name, got, 0o644); err != nil {
				t.Fatal(err)
			}
			continue
		}
		want, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(got, want) {
			t.Errorf("%s has changed; look at the new drawing and run: go test ./plots -run Golden -update\n%s", name, firstDifference(want, got))
		}
	}
}

// firstDifference shows the first line that differs.
func firstDifference(want, got []byte) string {
	w, g := strings.Split(string(want), "\n"), strings.Split(string(got), "\n")
	for i := range min(len(w), len(g)) {
		if w[i] != g[i] {
			return cmp.Diff(w[i], g[i])
		}
	}
	return "one goes on where the other ends"
}

// The same data give the same bytes in every format, dates of PDF included.
func TestWriteIsRepeatable(t *testing.T) {
	for _, format := range Formats {
		first := written(t, format, neutral(t), Style{})
		if !bytes.Equal(first, written(t, format, neutral(t), Style{})) {
			t.Errorf("two drawings as %s differ", format)
		}
		if format == PDF && !bytes.Contains(first, []byte("/CreationDate (D:20000101000000")) {
			t.Error("the PDF does not have the fixed date")
		}
	}
}

// Text in SVG is text, in a family of fonts for readers without Liberation Sans,
// and the title is there for screen readers.
func TestSVG(t *testing.T) {
	svg := string(written(t, SVG, neutral(t), Style{Title: "A & B <1>"}))
	for _, want := range []string{
		"<title>A &amp; B &lt;1&gt;: Speed plan of N; forward is stuck on</title>",
		`font-family="'Liberation Sans',Arial,Helvetica,sans-serif"`,
		">front.carrier, rear.ring</text>",
		">turns per turn of the input</text>",
		"sense in which the input turns",
		"Source of the train: tooth counts and ratios: Wikipedia",
	} {
		if !strings.Contains(svg, want) {
			t.Errorf("no %q in the SVG", want)
		}
	}
	if strings.Contains(svg, "font-family:") {
		t.Error("a text names a family of its own")
	}
}

// PNG and PDF refuse letters that their font does not have.
func TestLetters(t *testing.T) {
	for _, format := range Formats {
		written(t, format, neutral(t), Style{Title: "Getriebe für ½ Übersetzung – η größer als Ω"})
	}
	for _, format := range []Format{PDF, PNG} {
		err := Write(&bytes.Buffer{}, format, neutral(t), Style{Title: "変速機"})
		want := "the title has the letter '変', which a ." + string(format) + " drawing cannot show: write .svg or another --title"
		if err == nil || err.Error() != want {
			t.Errorf("%v, want %s", err, want)
		}
	}
	written(t, SVG, neutral(t), Style{Title: "変速機"})
}

// The notes at the foot come from the train file and are checked as well.
func TestLettersOfSource(t *testing.T) {
	sys := library(t, "simpson-three-speed")
	train := *sys.Train
	train.Sources = []string{"変"}
	plan := speedPlan(t, sys, ranges(t, sys.Train, "N"), nil, SpeedOptions{})
	plan.Chart.Train = &train
	err := Write(&bytes.Buffer{}, PDF, plan, Style{})
	if err == nil || !strings.HasPrefix(err.Error(), "the note at the foot has the letter") {
		t.Errorf("error %v", err)
	}
}

// A size in pixels is kept to the pixel; one in lengths at 192 dots per inch.
func TestPNGSize(t *testing.T) {
	for text, want := range map[string][2]int{"1600x901px": {1600, 901}, "20x10cm": {1512, 756}} {
		size, err := ParseSize(text)
		if err != nil {
			t.Fatal(err)
		}
		config, err := png.DecodeConfig(bytes.NewReader(written(t, PNG, neutral(t), Style{Size: size})))
		if err != nil {
			t.Fatal(err)
		}
		if got := [2]int{config.Width, config.Height}; got != want {
			t.Errorf("%s: %v pixels, want %v", text, got, want)
		}
	}
}

// On dark paper the ink is light.
func TestDark(t *testing.T) {
	svg := string(written(t, SVG, neutral(t), Style{Dark: true}))
	if !strings.Contains(svg, "fill:#14191E") || strings.Contains(svg, "fill:#FFFFFF") {
		t.Error("the dark drawing does not have dark paper, or has white parts")
	}
}

func TestParseSize(t *testing.T) {
	for text, want := range map[string]Size{
		"24x14cm": {Width: 24 * 72 / 2.54, Height: 14 * 72 / 2.54}, "10 x 5in": {Width: 720, Height: 360},
		"96x192px": {Width: 72, Height: 144, pixels: true}, "100.5x200pt": {Width: 100.5, Height: 200},
	} {
		got, err := ParseSize(text)
		if err != nil || !near(got.Width, want.Width) || !near(got.Height, want.Height) || got.pixels != want.pixels {
			t.Errorf("ParseSize(%q) = %v, %v, want %v", text, got, err, want)
		}
	}
	for _, text := range []string{"", "24x14", "24cm", "x14cm", "24xcm", "-3x5cm", "1x1mm", "1e9x1e9cm", "NaNx10cm", "20x10x5cm"} {
		if got, err := ParseSize(text); err == nil {
			t.Errorf("ParseSize(%q) = %v", text, got)
		}
	}
}

func TestFormatOf(t *testing.T) {
	for file, want := range map[string]Format{"a.svg": SVG, "A.PNG": PNG, "x/y.z.pdf": PDF} {
		if got, err := FormatOf(file); got != want || err != nil {
			t.Errorf("FormatOf(%q) = %v, %v", file, got, err)
		}
	}
	for file, want := range map[string]string{
		"a.jpg": "a.jpg: drawings are not written as .jpg: write .svg, .png or .pdf", "plan": "plan has no ending that tells the format: write .svg, .png or .pdf",
	} {
		if _, err := FormatOf(file); err == nil || err.Error() != want {
			t.Errorf("FormatOf(%q): %v, want %s", file, err, want)
		}
	}
}

// A train without a title is named.
func TestTitle(t *testing.T) {
	if got := titleOf(&kinematics.Train{Name: "mine"}); got != "mine" {
		t.Errorf("title %q", got)
	}
}
