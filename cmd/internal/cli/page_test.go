package cli

import (
	"bufio"
	"bytes"
	"html"
	"io"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"os/signal"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"tieup/cmd/internal/serve"
	"tieup/gearsets"
)

// The page and the commands tell the same: this test asks both about the same
// states, and compares word by word.

// A pageState is a state in the words of both.
type pageState struct {
	train, rng string
	faults     []string
}

func (s pageState) args(command string, more ...string) []string {
	args := append([]string{command, s.train}, more...)
	for _, f := range s.faults {
		args = append(args, "--fault", f)
	}
	return args
}

func (s pageState) query() string {
	q := url.Values{"train": {s.train}, "range": {s.rng}}
	if len(s.faults) > 0 {
		q["fault"] = s.faults
	}
	return q.Encode()
}

var pageStates = []pageState{
	{"simpson-three-speed", "D2", nil},
	{"simpson-three-speed", "R", []string{"forward=stuck"}},
	{"simpson-three-speed", "P", []string{"forward=stuck"}},
	{"depot-shuttle-three-speed", "N", []string{"forward=stuck", "roller=reversed"}},
	{"depot-shuttle-three-speed", "R", []string{"shell:front.sun=sheared"}},
	{"depot-shuttle-three-speed", "D1", []string{"forward=weak 0.5"}},
	{"depot-shuttle-three-speed", "D2", []string{"direct=stuck@D2"}},
	{"four-carrier-eight-speed", "D5", nil},
	{"simpson-transaxle-three-speed", "D1", []string{"pawl=missing"}},
	{"power-split-hybrid", "", nil},
}

const pageHost = "127.0.0.1:8000"

// ask asks the server of the page, and follows where it leads.
func ask(t *testing.T, s http.Handler, address string) string {
	t.Helper()
	for range 3 {
		r := httptest.NewRequest(http.MethodGet, address, nil)
		r.Host = pageHost
		w := httptest.NewRecorder()
		s.ServeHTTP(w, r)
		if w.Code == http.StatusOK {
			return w.Body.String()
		}
		if address = w.Header().Get("Location"); address == "" {
			t.Fatalf("status %d: %s", w.Code, w.Body)
		}
	}
	t.Fatal("the page leads round in circles")
	return ""
}

// tieup runs a command and returns what it prints.
func tieup(t *testing.T, args ...string) string {
	t.Helper()
	t.Setenv("COLUMNS", "")
	var out, errs bytes.Buffer
	root := Command()
	root.SetOut(&out)
	root.SetErr(&errs)
	if code := run(root, args, &errs); code != exitAnswered {
		t.Fatalf("tieup %s: exit %d: %s", strings.Join(args, " "), code, &errs)
	}
	return out.String()
}

var (
	tag     = regexp.MustCompile(`<[^>]*>`)
	unseen  = regexp.MustCompile(`<span class="unseen">[^<]*</span>`)
	noWords = regexp.MustCompile(`^[-─]+$`)
)

// plain has the minus of a terminal, where the page has that of print.
func plain(text string) string { return strings.ReplaceAll(text, "−", "-") }

// words returns the words of a text without its lines and dashes.
func words(text string) []string {
	return slices.DeleteFunc(strings.Fields(plain(text)), noWords.MatchString)
}

// wordsOf returns the words of a part of the page: what stands between a text
// and the next occurrence of another.
func wordsOf(t *testing.T, page, from, to string) []string {
	t.Helper()
	_, rest, ok := strings.Cut(page, from)
	part, _, closed := strings.Cut(rest, to)
	if !ok || !closed {
		t.Fatalf("the page has nothing between %q and %q", from, to)
	}
	part = strings.ReplaceAll(part, `<span class="on-screen">`, "") // within a sentence
	return words(html.UnescapeString(tag.ReplaceAllString(unseen.ReplaceAllString(part, " "), " ")))
}

// within says whether all words stand together in a text.
func within(list, text []string) bool {
	for i := range len(text) - len(list) + 1 {
		if slices.Equal(list, text[i:i+len(list)]) {
			return true
		}
	}
	return false
}

func TestPageTellsWhatTheCommandsTell(t *testing.T) {
	s := serve.New(pageHost)
	for _, st := range pageStates {
		if st.rng == "" {
			train, err := gearsets.Library(st.train)
			if err != nil {
				t.Fatal(err)
			}
			st.rng = train.Ranges[0].Name
		}
		page := plain(ask(t, s, "/?mode=work&"+st.query()))
		name := strings.Join(st.args("page", st.rng), " ")

		// The reasons: all of them, and nothing else.
		why := tieup(t, append(st.args("why", st.rng), "--all")...)
		_, reasons, _ := strings.Cut(why, "\n\n")
		reasons, cautions, _ := strings.Cut(reasons, "\nCaution:")
		reasons, _, _ = strings.Cut(reasons, "\ntieup reasons about")
		if got, want := wordsOf(t, page, `<h2 id="why">Why</h2>`, "</section>"), words(reasons); !slices.Equal(got, want) {
			t.Errorf("%s: the page gives the reasons\n%q\nand the command\n%q", name, got, want)
		}
		for _, caution := range strings.Split(strings.TrimSpace("Caution:"+cautions), "\n") {
			if caution != "Caution:" && !strings.Contains(html.UnescapeString(page), caution) {
				t.Errorf("%s: the page does not say: %s", name, caution)
			}
		}

		// The verdict, members and elements.
		solved := tieup(t, st.args("solve", st.rng)...)
		verdict := wordsOf(t, page, `<h1 id="verdict" tabindex="-1" data-tell>`, "</h1>")
		if !within(append([]string{"reads"}, verdict...), words(solved)) || !strings.Contains(page, ">"+st.rng+"</p>") {
			t.Errorf("%s: the page says %q and the command\n%s", name, verdict, solved)
		}
		for _, label := range []string{"Speeds of the members", "Elements"} {
			if got := wordsOf(t, page, `aria-label="`+label+`">`, "</table>"); !within(got, words(solved)) {
				t.Errorf("%s: the page lists %q\nand the command prints\n%s", name, got, solved)
			}
		}

		// The chart and the shifts.
		chart := tieup(t, st.args("chart")...)
		if got := wordsOf(t, page, `data-here="`+st.rng+`">`, "</section>"); !within(got, words(chart)) {
			t.Errorf("%s: the page charts %q\nand the command\n%s", name, got, chart)
		}
		if !strings.Contains(strings.Join(st.faults, ""), "weak") {
			shifts := tieup(t, st.args("shifts")...)
			got := wordsOf(t, page, `<h2 id="shifts">What the shifts risk</h2>`, `<p class="help">`)
			if !within(got, words(shifts)) {
				t.Errorf("%s: the page says of the shifts %q\nand the command\n%s", name, got, shifts)
			}
			chart += shifts
		}

		// What the columns mean.
		if strings.Contains(strings.Join(verdict, " "), "drives") {
			chart += solved
		}
		for _, line := range strings.Split(chart, "\n") {
			for _, note := range []string{"ratio = ", "on = applied", "output torque: ", "early: "} {
				told, _, _ := strings.Cut(line, ". Every state")
				if strings.HasPrefix(line, note) && !strings.Contains(html.UnescapeString(page), told) {
					t.Errorf("%s: the page does not say: %s", name, told)
				}
			}
		}

		// The commands that the page names give the same.
		for _, line := range strings.Split(html.UnescapeString(tag.ReplaceAllString(between(page, "The same on the command line:", "</pre>"), "")), "\n") {
			line = strings.TrimSpace(line)
			if line == "" || strings.Contains(line, "'") || strings.Contains(line, " -o ") {
				continue
			}
			args := strings.Fields(line)[1:]
			if got, want := tieup(t, args...), tieup(t, st.args(args[0], rangeOf(args)...)...); got != want {
				t.Errorf("%s: %s prints something else", name, line)
			}
		}
	}
}

// rangeOf is the range among arguments that the page names.
func rangeOf(args []string) []string {
	if len(args) > 2 && !strings.HasPrefix(args[2], "--") {
		return args[2:3]
	}
	return nil
}

func between(text, from, to string) string {
	_, rest, _ := strings.Cut(text, from)
	part, _, _ := strings.Cut(rest, to)
	return part
}

// The bench tells what diagnose tells, of what was seen and of the sheet that it
// saves.
func TestBenchTellsWhatDiagnoseTells(t *testing.T) {
	s := serve.New(pageHost)
	for _, saw := range [][]string{
		{"R=bind", "N=forward"},
		{"D1=none", "M1=ok", "R=ok"},
		{"D1=forward, no-engine-braking", "D2=1.48", "D1-D2=flare"},
		{"R=bind", "pressure:forward@R=none", "air:forward=good", "bench:-=turns 0.40+, held-locks", "element:direct=good"},
	} {
		q := url.Values{"train": {"simpson-three-speed"}, "mode": {"road-test"}, "when": {"sudden"}, "complaint": {"does not do: \"it\""}}
		args := []string{"diagnose", "simpson-three-speed", "--when", "sudden"}
		for _, x := range saw {
			place, seen, _ := strings.Cut(x, "=")
			q.Set("saw."+place, seen)
			args = append(args, "--saw", x)
		}
		page := ask(t, s, "/?"+q.Encode())
		text := words(strings.ReplaceAll(tieup(t, args...), "--all", "the button below"))
		for heading, end := range map[string]string{
			`<p class="headline" data-tell>`: `<p class="actions">`, `<h2 id="matrix">`: "</section>", `<h2 id="next">`: "</section>",
		} {
			if got := wordsOf(t, page, heading, end); len(got) < 8 || !within(got, text) {
				t.Errorf("%q: the page says\n%q\nand the command\n%q", saw, got, text)
			}
		}

		// What the page saves, diagnose reads.
		file := filepath.Join(t.TempDir(), "sheet.yaml")
		if err := os.WriteFile(file, []byte(ask(t, s, "/sheet.yaml?"+q.Encode())), 0o666); err != nil {
			t.Fatal(err)
		}
		saved := words(strings.ReplaceAll(tieup(t, "diagnose", file), "--all", "the button below"))
		if !within(text[slices.Index(text, "Suspects"):], saved) {
			t.Errorf("%q: of the saved sheet diagnose says\n%q", saw, saved)
		}
	}
}

// Every drawing of the page is, byte for byte, that of plot.
func TestPageDrawsWhatPlotDraws(t *testing.T) {
	s := serve.New(pageHost)
	for i, st := range pageStates {
		if st.rng == "" || strings.Contains(strings.Join(st.faults, ""), "weak") || i%3 > 0 && !thorough() {
			continue
		}
		for _, kind := range []string{"speeds", "path", "lever", "chart", "faults"} {
			for _, shade := range []string{"light", "dark"} {
				file := filepath.Join(t.TempDir(), kind+".svg")
				args := append([]string{"plot", kind}, st.args("", st.rng)[1:]...)
				if kind == "chart" || kind == "faults" {
					args = append([]string{"plot", kind}, st.args("")[1:]...)
				}
				args = append(args, "-o", file)
				if shade == "dark" {
					args = append(args, "--dark")
				}
				tieup(t, args...)
				want, err := os.ReadFile(file)
				if err != nil {
					t.Fatal(err)
				}
				got := ask(t, s, "/drawing/"+kind+".svg?"+st.query()+"&shade="+shade)
				if got != string(want) {
					t.Errorf("the page draws something else than tieup %s", strings.Join(args, " "))
				}
			}
		}
	}
}

// tieup page serves what its arguments say, says where, and ends with Ctrl-C.
func TestPageEndsWithInterrupt(t *testing.T) {
	file := filepath.Join(t.TempDir(), "mine.yaml")
	if err := os.WriteFile(file, gearsets.Source("simpson-three-speed"), 0o666); err != nil {
		t.Fatal(err)
	}
	out, in := io.Pipe()
	ctx, stop := signal.NotifyContext(t.Context(), os.Interrupt)
	defer stop()
	root := Command()
	root.SetContext(ctx)
	root.SetOut(in)
	ended := make(chan int, 1)
	go func() {
		ended <- run(root, []string{"page", file, "R", "--stuck", "forward", "--no-open"}, io.Discard)
		in.Close()
	}()
	lines := bufio.NewScanner(out)
	lines.Scan()
	address, ok := strings.CutPrefix(lines.Text(), "The page is at ")
	if !ok {
		t.Fatalf("it says %q", lines.Text())
	}
	resp, err := http.Get(address)
	if err != nil {
		t.Fatal(err)
	}
	page, err := io.ReadAll(resp.Body)
	resp.Body.Close()
	if err != nil || resp.StatusCode != http.StatusOK || !strings.Contains(string(page), "mine.yaml (your file)") || !strings.Contains(string(page), "ties up") {
		t.Errorf("status %d (%v):\n%.600s", resp.StatusCode, err, page)
	}
	self, err := os.FindProcess(os.Getpid())
	if err != nil {
		t.Fatal(err)
	}
	go io.Copy(io.Discard, out)
	if err := self.Signal(os.Interrupt); err != nil {
		t.Skipf("no interrupt can be sent here: %v", err)
	}
	if code := <-ended; code != exitAnswered {
		t.Errorf("it ends with %d", code)
	}
}
