package page

import (
	"math"
	"net/url"
	"reflect"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// A state comes back from its address as it was.
func TestStateRoundTrip(t *testing.T) {
	name := rapid.StringMatching(`[A-Za-z0-9][A-Za-z0-9_-]{0,8}`)
	text := rapid.StringMatching(`[a-zäß"'&=%+<> ,.:/#0-9]{0,20}`)
	rapid.Check(t, func(t *rapid.T) {
		s := State{
			Range: name.Draw(t, "range"), Position: name.Draw(t, "position"), Pace: rapid.IntRange(LeastPace, GreatPace).Draw(t, "pace"),
			Seed: rapid.IntRange(0, MostSeed).Draw(t, "seed"),
			Mode: rapid.SampledFrom(Modes).Draw(t, "mode"), Shade: rapid.SampledFrom([]Shade{AsSystem, Light, Dark}).Draw(t, "shade"),
			Vehicle: text.Draw(t, "vehicle"), Complaint: text.Draw(t, "complaint"), Assume: name.Draw(t, "assume"),
			Reveal: rapid.Bool().Draw(t, "reveal"), All: rapid.Bool().Draw(t, "all"),
			Faults: rapid.SliceOfN(rapid.StringMatching(`[a-z]{1,5}=[a-z]{1,5}( 0\.5)?(@R,N)?`), 0, MostFaults).Draw(t, "faults"),
			When:   rapid.SliceOfN(name, 0, 3).Draw(t, "when"),
		}
		if rapid.Bool().Draw(t, "of a file") {
			s.File, s.FileName = name.Draw(t, "file"), name.Draw(t, "file name")
		} else {
			s.Train = name.Draw(t, "train")
		}
		for i, place := range []string{"D1", "N", "R"} { // in the order of their names
			s.Said = append(s.Said, Reply{place, strconv.Itoa(i)})
			s.Saw = append(s.Saw, Observed{place, "forward, as D1"})
		}
		if len(s.Faults) == 0 {
			s.Faults = nil
		}
		if len(s.When) == 0 {
			s.When = nil
		}
		u, err := url.Parse(s.Link())
		if err != nil {
			t.Fatal(err)
		}
		back, err := ParseState(u.Query())
		if err != nil {
			t.Fatal(err)
		}
		if !reflect.DeepEqual(s, back) {
			t.Errorf("%+v\ncomes back as\n%+v", s, back)
		}
		// A form with all its fields leads to the same address.
		q := url.Values{}
		for _, f := range s.Fields() {
			q.Add(f.Name, f.Value)
		}
		if "/?"+q.Encode() != s.Link() {
			t.Errorf("its fields lead to /?%s, not %s", q.Encode(), s.Link())
		}
		for _, f := range s.Fields("fault", "say.") {
			if f.Name == "fault" || strings.HasPrefix(f.Name, "say.") {
				t.Errorf("the field %s is not left out", f.Name)
			}
		}
	})
}

var shadeColour = regexp.MustCompile(`--([a-z0-9-]+): light-dark\(#([0-9a-f]{6}), #([0-9a-f]{6})\)`)

// The contrast of text with its ground is at least 4.5, that of signs and edges
// at least 3, in light and dark [WCAG 2.2, 1.4.3 and 1.4.11; the formula is that
// of its definition of relative luminance].
func TestContrast(t *testing.T) {
	css, err := assets.ReadFile("assets/page.css")
	if err != nil {
		t.Fatal(err)
	}
	colours := map[string][2]string{}
	for _, m := range shadeColour.FindAllStringSubmatch(string(css), -1) {
		if _, first := colours[m[1]]; !first {
			colours[m[1]] = [2]string{m[2], m[3]}
		}
	}
	for _, tt := range []struct {
		front, back string
		least       float64
	}{
		{"ink", "paper", 4.5}, {"ink", "ground", 4.5}, {"ink", "wash", 4.5}, {"ink", "danger-wash", 4.5},
		{"soft", "paper", 4.5}, {"soft", "ground", 4.5}, {"soft", "wash", 4.5},
		{"danger", "paper", 4.5}, {"danger", "danger-wash", 4.5}, {"on-danger", "danger", 4.5},
		{"edge", "paper", 3}, {"edge", "wash", 3},
		{"b1", "paper", 3}, {"b2", "paper", 3}, {"b3", "paper", 3}, {"b4", "paper", 3}, {"b5", "paper", 3},
		{"b6", "paper", 3}, {"b7", "paper", 3}, {"b8", "paper", 3}, {"b9", "paper", 3}, {"b10", "paper", 3},
	} {
		for i, shade := range []string{"light", "dark"} {
			front, back := colours[tt.front][i], colours[tt.back][i]
			if front == "" || back == "" {
				t.Fatalf("there is no colour %s or %s", tt.front, tt.back)
			}
			if c := contrast(t, front, back); c < tt.least {
				t.Errorf("%s: %s on %s has a contrast of %.2f, less than %g", shade, tt.front, tt.back, c, tt.least)
			}
		}
	}
}

func contrast(t *testing.T, a, b string) float64 {
	x, y := luminance(t, a), luminance(t, b)
	return (max(x, y) + 0.05) / (min(x, y) + 0.05)
}

// luminance is the relative luminance of WCAG.
func luminance(t *testing.T, colour string) float64 {
	rgb, err := strconv.ParseUint(colour, 16, 32)
	if err != nil {
		t.Fatal(err)
	}
	sum := 0.0
	for i, weight := range []float64{0.2126, 0.7152, 0.0722} {
		c := float64(rgb>>(16-8*i)&0xff) / 255
		if c <= 0.04045 {
			c /= 12.92
		} else {
			c = math.Pow((c+0.055)/1.055, 2.4)
		}
		sum += weight * c
	}
	return sum
}
