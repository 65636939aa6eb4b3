package serve

import (
	"bytes"
	"compress/flate"
	"context"
	"encoding/base64"
	"errors"
	"fmt"
	"html"
	"io"
	"mime/multipart"
	"net"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"tieup/gearsets"
	"tieup/plots/page"
	"tieup/plots/stage"
)

const host = "127.0.0.1:8000"

// get asks a server for an address on itself.
func get(t testing.TB, s *Server, address string) *httptest.ResponseRecorder {
	t.Helper()
	r := httptest.NewRequest(http.MethodGet, address, nil)
	r.Host = host
	w := httptest.NewRecorder()
	s.ServeHTTP(w, r)
	return w
}

// upload sends a train file as the form of the page does.
func sendFile(t testing.TB, s *Server, address, name string, src []byte) *httptest.ResponseRecorder {
	t.Helper()
	var b bytes.Buffer
	form := multipart.NewWriter(&b)
	part, err := form.CreateFormFile("file", name)
	if err != nil {
		t.Fatal(err)
	}
	part.Write(src)
	form.Close()
	r := httptest.NewRequest(http.MethodPost, address, &b)
	r.Host = host
	r.Header.Set("Content-Type", form.FormDataContentType())
	r.Header.Set("Origin", "http://"+host)
	w := httptest.NewRecorder()
	s.ServeHTTP(w, r)
	return w
}

func TestStrangersAreRefused(t *testing.T) {
	s := New(host, "localhost:8000")
	for _, tt := range []struct {
		name   string
		change func(*http.Request)
		want   int
	}{
		{"own address", func(*http.Request) {}, http.StatusOK},
		{"its other name", func(r *http.Request) { r.Host = "localhost:8000" }, http.StatusOK},
		{"own origin", func(r *http.Request) { r.Header.Set("Origin", "http://"+host) }, http.StatusOK},
		{"a drawing taken in by another page", func(r *http.Request) {
			r.Header.Set("Sec-Fetch-Site", "cross-site")
			r.Header.Set("Sec-Fetch-Mode", "no-cors")
			r.Header.Set("Sec-Fetch-Dest", "image")
		}, http.StatusForbidden},
		{"the page in a frame of another", func(r *http.Request) {
			r.Header.Set("Sec-Fetch-Site", "same-site")
			r.Header.Set("Sec-Fetch-Mode", "navigate")
			r.Header.Set("Sec-Fetch-Dest", "iframe")
		}, http.StatusForbidden},
		{"a link that is followed", func(r *http.Request) {
			r.Header.Set("Sec-Fetch-Site", "cross-site")
			r.Header.Set("Sec-Fetch-Mode", "navigate")
			r.Header.Set("Sec-Fetch-Dest", "document")
		}, http.StatusOK},
		{"a link on another page", func(r *http.Request) { r.Header.Set("Sec-Fetch-Site", "cross-site") }, http.StatusOK},
		{"a foreign name that leads here", func(r *http.Request) { r.Host = "rebind.example" }, http.StatusMisdirectedRequest},
		{"a foreign name with our port", func(r *http.Request) { r.Host = "rebind.example:8000" }, http.StatusMisdirectedRequest},
		{"our name with another port", func(r *http.Request) { r.Host = "127.0.0.1:8001" }, http.StatusMisdirectedRequest},
		{"no name", func(r *http.Request) { r.Host = "" }, http.StatusMisdirectedRequest},
		{"a script of another page", func(r *http.Request) { r.Header.Set("Origin", "https://elsewhere.example") }, http.StatusForbidden},
		{"an origin without a name", func(r *http.Request) { r.Header.Set("Origin", "null") }, http.StatusForbidden},
		{"our name under https", func(r *http.Request) { r.Header.Set("Origin", "https://"+host) }, http.StatusForbidden},
		{"a form of another page", func(r *http.Request) {
			r.Method = http.MethodPost
			r.Header.Set("Sec-Fetch-Site", "same-site")
		}, http.StatusForbidden},
		{"deleting", func(r *http.Request) { r.Method = http.MethodDelete }, http.StatusMethodNotAllowed},
		{"an endless address", func(r *http.Request) { r.URL.RawQuery = "x=" + strings.Repeat("y", mostQuery) }, http.StatusRequestURITooLong},
	} {
		r := httptest.NewRequest(http.MethodGet, "/", nil)
		r.Host = host
		r.URL.RawQuery = startQuery(t, s)
		tt.change(r)
		w := httptest.NewRecorder()
		s.ServeHTTP(w, r)
		if w.Code != tt.want {
			t.Errorf("%s: status %d, want %d: %s", tt.name, w.Code, tt.want, w.Body)
		}
	}
}

// startQuery is the query of the state that is shown first.
func startQuery(t testing.TB, s *Server) string {
	t.Helper()
	to := get(t, s, "/").Header().Get("Location")
	_, q, ok := strings.Cut(to, "?")
	if !ok {
		t.Fatalf("/ leads to %q", to)
	}
	return q
}

func TestHeaders(t *testing.T) {
	s := New(host)
	for _, address := range []string{"/?" + startQuery(t, s), "/nothing", "/assets/page.js", "/file"} {
		h := get(t, s, address).Header()
		csp := h.Get("Content-Security-Policy")
		for _, want := range []string{"default-src 'none'", "script-src 'self'", "frame-ancestors 'none'", "base-uri 'none'"} {
			if !strings.Contains(csp, want) {
				t.Errorf("%s: the policy %q lacks %s", address, csp, want)
			}
		}
		if strings.Contains(csp, "unsafe") {
			t.Errorf("%s: the policy allows what is unsafe: %q", address, csp)
		}
		if h.Get("X-Content-Type-Options") != "nosniff" {
			t.Errorf("%s: no nosniff", address)
		}
	}
	// A drawing by itself may style itself, and run nothing.
	csp := get(t, s, "/drawing/speeds.svg?"+startQuery(t, s)).Header().Get("Content-Security-Policy")
	if !strings.Contains(csp, "default-src 'none'") || strings.Contains(csp, "script-src") || !strings.Contains(csp, "sandbox") {
		t.Errorf("a drawing has the policy %q", csp)
	}
}

// No HTML of the page has a script or style of its own, or loads anything from
// elsewhere.
func TestNothingInline(t *testing.T) {
	s := New(host)
	for _, address := range []string{
		"/?" + startQuery(t, s), "/?train=simpson-three-speed&range=R&fault=forward%3Dstuck",
		"/?mode=lesson&range=D1&train=simpson-three-speed&reveal=1", "/?mode=road-test&range=D1&train=simpson-three-speed",
	} {
		w := get(t, s, address)
		if w.Code != http.StatusOK {
			w = get(t, s, w.Header().Get("Location"))
		}
		body := w.Body.String()
		for _, bad := range []string{"<style", " style=", "javascript:", "onclick", "onload", "http://", "https://"} {
			if i := strings.Index(body, bad); i >= 0 && !strings.Contains(body[max(0, i-400):i], "class=\"source\"") {
				t.Errorf("%s: has %q: ...%s", address, bad, body[max(0, i-60):min(len(body), i+60)])
			}
		}
		// One script by its address, and data, which is no script.
		data := strings.Count(body, `<script type="application/json"`)
		if n := strings.Count(body, "<script"); n != 2 || data != 1 {
			t.Errorf("%s: %d scripts, %d of them data", address, n, data)
		}
	}
}

// A state has one address: any other way to write it leads there in one step.
func TestOneAddressForAState(t *testing.T) {
	s := New(host)
	for _, tt := range []struct{ address, want string }{
		{"/", "/?range=D1&train=depot-shuttle-three-speed"},
		{"/?range=R&train=simpson-three-speed", ""},
		{"/?train=simpson-three-speed&range=R", "/?range=R&train=simpson-three-speed"},
		{"/?train=simpson-three-speed&at=2.D1", "/?position=2&range=D1&train=simpson-three-speed"},
		{"/?train=simpson-three-speed&at=D.D1", "/?range=D1&train=simpson-three-speed"},
		{"/?range=R&train=simpson-three-speed&add=forward%3Dstuck", "/?fault=forward%3Dstuck&range=R&train=simpson-three-speed"},
		{"/?range=R&train=simpson-three-speed&add=forward%3Dweak&share=0.6&only=D1&only=D2",
			"/?fault=forward%3Dweak+0.6%40D1%2CD2&range=R&train=simpson-three-speed"},
		{"/?fault=forward%3Dstuck&fault=low-roller%3Dreversed&range=R&train=simpson-three-speed&drop=0",
			"/?fault=low-roller%3Dreversed&range=R&train=simpson-three-speed"},
		{"/?mode=lesson&range=R&say.N=neutral&say.R=reverse&train=simpson-three-speed", ""},
		// Another fault is another question.
		{"/?mode=lesson&range=R&reveal=1&say.N=neutral&train=simpson-three-speed&add=forward%3Dstuck",
			"/?fault=forward%3Dstuck&mode=lesson&range=R&train=simpson-three-speed"},
		{"/?fault=forward%3Dstuck&mode=lesson&range=R&reveal=1&say.N=neutral&train=simpson-three-speed&drop=0", "/?mode=lesson&range=R&train=simpson-three-speed"},
		{"/?mode=lesson&range=R&reveal=1&say.N=neutral&train=simpson-three-speed&hide=1", "/?mode=lesson&range=R&say.N=neutral&train=simpson-three-speed"},
		{"/?pace=20&range=R&shade=dark&train=simpson-three-speed", ""},
		{"/?fault=forward%3Dstuck&present=1&range=R&step=2&train=simpson-three-speed&view=lever", ""},
		{"/?fault=forward%3Dstuck&range=R&step=2&train=simpson-three-speed&at=N.N", "/?fault=forward%3Dstuck&range=N&train=simpson-three-speed"},
		{"/?mode=time&moment=0,5004&range=D1&to=D2&train=simpson-three-speed", "/?mode=time&moment=0.5&range=D1&to=D2&train=simpson-three-speed"},
		{"/?fault=forward%3Dstuck&mode=time&moment=0.5&range=N&to=R&train=simpson-three-speed&at=N.N", "/?fault=forward%3Dstuck&mode=time&moment=0.5&range=N&to=R&train=simpson-three-speed"},
		{"/?pace=4&range=R&train=simpson-three-speed", "/?range=R&train=simpson-three-speed"},
	} {
		w := get(t, s, tt.address)
		got := w.Header().Get("Location")
		if got != tt.want {
			t.Errorf("%s leads to %q, want %q", tt.address, got, tt.want)
		}
		if got != "" {
			w = get(t, s, got)
		}
		if w.Code != http.StatusOK {
			t.Errorf("%s: status %d", tt.address, w.Code)
		}
	}
}

func TestWrongAddresses(t *testing.T) {
	s := New(host)
	for _, tt := range []struct{ query, want string }{
		{"train=simpson-three-sped", `there is no train "simpson-three-sped": did you mean simpson-three-speed?`},
		{"train=/etc/passwd", `there is no train "/etc/passwd"`},
		{"train=../gearsets/library/simpson-three-speed", "there is no train"},
		{"train=simpson-three-speed&range=D9", `simpson-three-speed has no range "D9"`},
		{"train=simpson-three-speed&range=R&position=D", `simpson-three-speed has no position "D" that offers R`},
		{"train=simpson-three-speed&fault=forwrd%3Dstuck", "did you mean forward?"},
		{"train=simpson-three-speed&fault=forward%3Dstuck&fault=forward%3Dopen", "forward cannot be both stuck and open"},
		{"train=simpson-three-speed&add=forward%3Dweak", "weak with what share of its rating?"},
		{"train=simpson-three-speed&share=0.5", "what is wrong? Choose a fault"},
		{"train=simpson-three-speed&drop=3", "there is no fault number"},
		{"train=simpson-three-speed&drop=-1", "there is no fault number"},
		{"train=simpson-three-speed&at=D1", "there is no place"},
		{"mode=race", `there is no mode "race"`},
		{"shade=pink", `there is no shade "pink"`},
		{"pace=1000", "the pace is 1 to 20 turns"},
		{"view=inside", `there is no view "inside": write section, gears or lever`},
		{"step=0", "a step of the story is a number from 1"},
		{"fault=forward%3Dstuck&range=R&step=40&train=simpson-three-speed", "a step of the story of R is a number from 1 to 5, not 40"},
		{"moment=soon", `a moment of a shift is a time in seconds from 0, not "soon"`},
		{"moment=-1", "a moment of a shift is a time in seconds from 0"},
		{"mode=time&moment=90&range=D1&to=D2&train=simpson-three-speed", "a moment of D1 to D2 is from 0 to"},
		{"train=eight-speed", `there is no train "eight-speed": did you mean four-carrier-eight-speed or lepelletier-eight-speed?`},
		{"train=hub", `there is no train "hub": did you mean hub-five-speed?`},
		{"train=simpson-three-speed&stuck=forward", `there is no key "stuck" in an address: write fault=ELEMENT=stuck`},
		{"train=simpson-three-speed&saw=bind", `there is no key "saw" in an address: write saw.RANGE=...`},
		{"trian=simpson-three-speed", `there is no key "trian" in an address: did you mean train?`},
		{"train=simpson-three-speed&say.R=sideways", `there is no answer "sideways" for range R`},
		{"train=simpson-three-speed&say.R=lurch", `there is no answer "lurch" for range R`},
		{"train=simpson-three-speed&say.X=forward", `has no range "X"`},
		{"file=!!!", "the packed file in this address is damaged"},
		{"file=AAAA", "the packed file in this address is damaged"},
		{"range=%zz", "the address is damaged"},
		{"range=%00", "bytes that are not text"},
		{strings.Repeat("fault=forward%3Dstuck&", 40), "40 faults at once are too many"},
	} {
		w := get(t, s, "/?"+tt.query)
		if w.Code != http.StatusBadRequest {
			t.Errorf("%s: status %d", tt.query, w.Code)
		}
		if body := html.UnescapeString(w.Body.String()); !strings.Contains(body, tt.want) {
			t.Errorf("%s: no %q on the page", tt.query, tt.want)
		}
	}
	for address, want := range map[string]int{
		"/drawing/speeds.bmp": 404, "/drawing/speeds": 404, "/drawing/secret.svg": 404, "/drawing/..%2fgo.svg": 404, "/assets/../server.go": 307,
		"/assets/none.css": 404, "/file": 404, "/other": 404, "/drawing/speeds.svg?train=x": 400,
	} {
		if w := get(t, s, address); w.Code != want {
			t.Errorf("%s: status %d, want %d", address, w.Code, want)
		}
	}
}

const smallTrain = `tieup: 1
name: one-set
source: invented for demonstration
gearsets:
  main: {kind: simple, sun: 30, ring: 66, pinions: 4}
input: main.sun
output: main.carrier
elements:
  low: {brake: main.ring}
  direct: {clutch: [main.sun, main.carrier]}
ranges:
  N: {}
  L: {apply: [low]}
  H: {apply: [direct]}
`

// A dropped file travels in the address, so that the link alone gives it back.
func TestUpload(t *testing.T) {
	w := sendFile(t, New(host), "/file?mode=lesson&shade=dark", `C:\trains\mine.yaml`, []byte(smallTrain))
	to := w.Header().Get("Location")
	if w.Code != http.StatusSeeOther || !strings.Contains(to, "name=mine.yaml") || !strings.Contains(to, "mode=lesson") || !strings.Contains(to, "shade=dark") {
		t.Fatalf("status %d, leads to %s", w.Code, to)
	}
	other := New(host) // one that has never seen the file
	w = get(t, other, strings.Replace(to, "mode=lesson", "", 1))
	w = get(t, other, w.Header().Get("Location"))
	if w.Code != http.StatusOK || !strings.Contains(w.Body.String(), "drives forward at 3.20") {
		t.Errorf("the link gives status %d:\n%s", w.Code, w.Body)
	}
}

// A refused file shows what the command line shows, above the train as it was, of which nothing is said.
func TestRefusedUpload(t *testing.T) {
	broken := strings.Replace(smallTrain, "sun: 30", "sunn: 30", 1)
	w := sendFile(t, New(host), "/file?range=R&train=simpson-three-speed", "broken.yaml", []byte(broken))
	_, problems := gearsets.Parse("broken.yaml", []byte(broken))
	if len(problems) == 0 {
		t.Fatal("the file is not broken")
	}
	body := html.UnescapeString(w.Body.String())
	if w.Code != http.StatusUnprocessableEntity || !strings.Contains(body, problems.Excerpts()) || !strings.Contains(body, "broken.yaml:5:24") {
		t.Errorf("status %d, and the page lacks\n%s", w.Code, problems.Excerpts())
	}
	if !strings.Contains(body, `value="R.R" checked`) {
		t.Error("the selector is not as it was")
	}
	if strings.Contains(body, "drives backward") {
		t.Error("an answer stands below the refusal")
	}
	files, err := filepath.Glob("../../../testdata/broken/*/*.yaml")
	if err != nil || len(files) == 0 {
		t.Fatalf("no broken files to try (%v)", err)
	}
	s := New(host)
	for _, file := range files {
		src, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		w := sendFile(t, s, "/file", filepath.Base(file), src)
		_, problems := gearsets.Parse(filepath.Base(file), src)
		if !problems.Refuse() {
			continue
		}
		if body := html.UnescapeString(w.Body.String()); w.Code != http.StatusUnprocessableEntity || !strings.Contains(body, problems.Excerpts()) {
			t.Errorf("%s: status %d, and the page lacks\n%s", file, w.Code, problems.Excerpts())
		}
	}
}

func TestUploadLimits(t *testing.T) {
	s := New(host)
	large := append([]byte(smallTrain), bytes.Repeat([]byte("#"), gearsets.MaxSize)...)
	if w := sendFile(t, s, "/file", "large.yaml", large); w.Code != http.StatusUnprocessableEntity || !strings.Contains(w.Body.String(), "larger than 1 MiB") {
		t.Errorf("a large file: status %d", w.Code)
	}
	huge := bytes.Repeat([]byte("#"), 4<<20)
	if w := sendFile(t, s, "/file", "huge.yaml", huge); w.Code != http.StatusUnprocessableEntity {
		t.Errorf("a huge file: status %d", w.Code)
	}
	var noise strings.Builder // that does not pack
	for i := range 40000 {
		fmt.Fprintf(&noise, "# %x\n", uint64(i+1)*0x9e3779b97f4a7c15)
	}
	if w := sendFile(t, s, "/file", "notes.yaml", []byte(smallTrain+noise.String())); w.Code != http.StatusUnprocessableEntity || !strings.Contains(w.Body.String(), "even when packed") {
		t.Errorf("a file that does not pack: status %d", w.Code)
	}
	if w := sendFile(t, s, "/file", "../../../etc/passwd", []byte(smallTrain)); !strings.Contains(w.Header().Get("Location"), "name=passwd") {
		t.Errorf("a path in the name leads to %s", w.Header().Get("Location"))
	}
	r := httptest.NewRequest(http.MethodPost, "/file", strings.NewReader("file=x"))
	r.Host = host
	w := httptest.NewRecorder()
	s.ServeHTTP(w, r)
	if w.Code != http.StatusUnprocessableEntity {
		t.Errorf("a form without a file: status %d", w.Code)
	}
}

// A few bytes that unpack to a gigabyte are not unpacked whole.
func TestUnpackBomb(t *testing.T) {
	var b bytes.Buffer
	w, _ := flate.NewWriter(&b, flate.BestCompression)
	io.Copy(w, io.LimitReader(zeros{}, 32<<20))
	w.Close()
	packed := base64.RawURLEncoding.EncodeToString(b.Bytes())
	if len(packed) > mostPacked {
		t.Fatalf("the bomb has %d bytes", len(packed))
	}
	src, err := unpack(packed, 1000)
	if err != nil || len(src) != 1001 {
		t.Errorf("%d bytes, %v", len(src), err)
	}
	if w := get(t, New(host), "/?file="+packed); w.Code != http.StatusBadRequest || !strings.Contains(w.Body.String(), "larger than 1 MiB") {
		t.Errorf("status %d", w.Code)
	}
}

type zeros struct{}

func (zeros) Read(b []byte) (int, error) { clear(b); return len(b), nil }

func TestPackRoundTrip(t *testing.T) {
	for _, name := range gearsets.Names() {
		src := gearsets.Source(name)
		packed, err := pack(src)
		if err != nil {
			t.Fatal(err)
		}
		back, err := unpack(packed, gearsets.MaxSize)
		if err != nil || !bytes.Equal(src, back) {
			t.Errorf("%s: comes back changed (%v)", name, err)
		}
		if len(packed) > 4000 {
			t.Errorf("%s: takes %d letters of an address", name, len(packed))
		}
	}
}

// Every train of the library, every range, healthy and with one fault, has a page and
// drawings: every fourth train in its first range, one in eight in all, unless TIEUP_EXHAUSTIVE is set.
func TestEveryTrain(t *testing.T) {
	s := New(host)
	for k, name := range gearsets.Names() {
		train, err := gearsets.Library(name)
		if err != nil {
			t.Fatal(err)
		}
		fault := train.FaultText(train.SingleFaults()[0])
		for i, r := range train.Ranges {
			if (i > 0 || k%4 != 0) && k%8 != 0 && os.Getenv("TIEUP_EXHAUSTIVE") == "" {
				continue
			}
			for _, faults := range [][]string{nil, {fault}} {
				st := page.State{Train: name, Range: r.Name, Faults: faults, Pace: page.UsualPace}
				w := get(t, s, st.Link())
				if w.Code != http.StatusOK {
					t.Errorf("%s: status %d, to %s", st.Link(), w.Code, w.Header().Get("Location"))
				}
				if strings.Contains(w.Body.String(), "NaN") || strings.Contains(w.Body.String(), "Inf") {
					t.Errorf("%s: has a number that is none", st.Link())
				}
				if i > 0 || k%8 != 0 && os.Getenv("TIEUP_EXHAUSTIVE") == "" {
					continue
				}
				for _, p := range pictures {
					q := st.Values()
					q.Set("shade", "dark")
					if w := get(t, s, "/drawing/"+p.name+".svg?"+q.Encode()); w.Code != http.StatusOK {
						t.Errorf("%s of %s: status %d %s", p.name, st.Link(), w.Code, w.Body)
					}
				}
			}
		}
	}
}

// A client that does not finish its request loses the connection.
func TestSlowClient(t *testing.T) {
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	server := httpServer(New(listener.Addr().String()), patience{header: 50 * time.Millisecond, request: 50 * time.Millisecond})
	go server.Serve(listener)
	defer server.Close()
	for _, start := range []string{
		"GET / HTTP/1.1\r\nHost: " + listener.Addr().String() + "\r\nX-Slow: ",
		"POST /file HTTP/1.1\r\nHost: " + listener.Addr().String() + "\r\nContent-Type: multipart/form-data; boundary=x\r\nContent-Length: 5000\r\n\r\n--x\r\n",
	} {
		c, err := net.Dial("tcp", listener.Addr().String())
		if err != nil {
			t.Fatal(err)
		}
		defer c.Close()
		io.WriteString(c, start)
		c.SetReadDeadline(time.Now().Add(20 * time.Second)) // only if it hangs
		if _, err := io.ReadAll(c); err != nil {
			t.Errorf("after %q: %v", start[:12], err)
		}
	}
	if p := usualPatience; p.header <= 0 || p.request <= 0 || p.answer <= 0 || p.idle <= 0 {
		t.Error("a client may be slow without end")
	}
}

func TestRun(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	ready := make(chan string, 1)
	ended := make(chan error, 1)
	go func() {
		ended <- Run(ctx, Options{Start: page.State{Train: "simpson-three-speed", Pace: page.UsualPace}, Ready: func(a string) { ready <- a }})
	}()
	address := <-ready
	u, err := url.Parse(address)
	if err != nil || u.Hostname() != "127.0.0.1" {
		t.Fatalf("serves %s (%v)", address, err)
	}
	resp, err := http.Get(address)
	if err != nil {
		t.Fatal(err)
	}
	resp.Body.Close()
	if resp.StatusCode != http.StatusOK {
		t.Errorf("status %d", resp.StatusCode)
	}
	port, _ := net.LookupPort("tcp", u.Port())
	if err := Run(t.Context(), Options{Port: port}); err == nil {
		t.Error("two servers on one port")
	}
	cancel()
	if err := <-ended; err != nil {
		t.Errorf("ended with %v", err)
	}
}

// Requests at one time get what they get one after the other.
func TestRequestsAtOnce(t *testing.T) {
	s := New(host)
	var addresses, want []string
	for _, name := range []string{"simpson-three-speed", "depot-shuttle-three-speed"} {
		for _, r := range []string{"P", "R", "N", "D1", "D2", "D3"} {
			for _, f := range [][]string{nil, {"forward=stuck"}, {"direct=open"}} {
				st := page.State{Train: name, Range: r, Faults: f, Pace: page.UsualPace}
				addresses = append(addresses, st.Link())
				want = append(want, get(t, s, st.Link()).Body.String())
			}
		}
	}
	s = New(host)
	done := make(chan error, len(addresses))
	for i := range addresses {
		go func() {
			if got := get(t, s, addresses[i]).Body.String(); got != want[i] {
				done <- fmt.Errorf("%s differs", addresses[i])
				return
			}
			done <- nil
		}()
	}
	for range addresses {
		if err := <-done; err != nil {
			t.Error(err)
		}
	}
}

// TestShiftInTime plays a shift on the page: the words and the course of the
// command transient, and its drawing.
func TestShiftInTime(t *testing.T) {
	s := New(host)
	q := "fault=intermediate%3Dstuck&mode=time&range=D2&to=D3&train=depot-shuttle-three-speed"
	w := get(t, s, "/?"+q)
	if w.Code != http.StatusOK {
		t.Fatalf("%d: %s", w.Code, w.Body)
	}
	body := html.UnescapeString(w.Body.String())
	sub, err := s.look(t.Context(), page.State{Train: "depot-shuttle-three-speed", Range: "D2", To: "D3", Faults: []string{"intermediate=stuck"}})
	if err != nil {
		t.Fatal(err)
	}
	answer, err := sub.play(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	for _, line := range append(answer.Words, "D2 to D1") {
		if line[:1] > "Z" { // a sentence begins with a capital letter, and ends
			line = strings.ToUpper(line[:1]) + line[1:] + "."
			if names := []string{"Intermediate", "Direct", "Forward"}; slices.Contains(names, strings.Fields(line)[0]) {
				line = strings.ToLower(line[:1]) + line[1:]
			}
		}
		if !strings.Contains(body, stage.TrueMinus(line)) {
			t.Errorf("the page does not say %q", line)
		}
	}
	if w := get(t, s, "/drawing/shift.svg?"+q); w.Code != http.StatusOK || !strings.Contains(w.Body.String(), "<svg") {
		t.Errorf("drawing: %d: %.200s", w.Code, w.Body)
	}
	if w := get(t, s, "/?range=D2&train=depot-shuttle-three-speed"); strings.Contains(w.Body.String(), `id="moment"`) {
		t.Error("a shift is played though none is asked for")
	}
	if w := get(t, s, "/?range=D2&to=D9&train=depot-shuttle-three-speed"); !strings.Contains(html.UnescapeString(w.Body.String()), `no range "D9"`) {
		t.Errorf("a range that is not there: %d", w.Code)
	}
}

// What a range can come to besides is told beside its shift; in a lesson each is right, and none
// is shown, in words or drawings, before the answers are.
func TestRangesThatCanComeToMore(t *testing.T) {
	s := New(host)
	ask := func(query string) string {
		t.Helper()
		w := get(t, s, "/?fault=S2%3Dstuck-on&range=M1&train=ravigneaux-four-speed&"+query)
		if w.Code != http.StatusOK {
			w = get(t, s, w.Header().Get("Location"))
		}
		// The words on the selector cannot be seen.
		return regexp.MustCompile(`<span class="unseen">[^<]*</span>`).ReplaceAllString(html.UnescapeString(w.Body.String()), "")
	}
	check := func(query string, wants, not []string) {
		t.Helper()
		body := ask(query)
		for _, want := range wants {
			if !strings.Contains(body, want) {
				t.Errorf("%s: does not say %q", query, want)
			}
		}
		for _, bad := range not {
			if strings.Contains(body, bad) {
				t.Errorf("%s: says %q", query, bad)
			}
		}
	}
	check("mode=time&to=M2", []string{"<b>M1</b> It can also come to: drives forward at 2.40",
		"<b>M2</b> It can also come to: drives forward at 1.47"}, nil)
	const tick = `<b><span class="tick" aria-hidden="true">✓</span> `
	for _, said := range []string{"reverse", "forward", "tie-up", "input-held", "neutral"} {
		check("mode=lesson&reveal=1&say.M1="+said, []string{"Right. 1 of 9 right.", "or drives backward at 2.00", "/drawing/path.svg",
			tick + "drives forward</b>", tick + "drives backward</b>", tick + "no drive</b>", "<b>no drive, output held</b>"},
			[]string{"You said"})
	}
	check("mode=lesson&reveal=1&say.M1=output-held", []string{"You said: no drive, output held"}, nil)
	check("mode=lesson&say.M1=reverse",
		[]string{`data-own="What does M1 do?"`, "S2 is stuck on: M1 and M2 can come to more than one thing", "direct is fed in D2: S2=stuck-on"},
		[]string{"/drawing/", "forward is not fed in M1", "does not hold", "drives backward at"})
	if w := get(t, s, "/?range=D9&train=ravigneaux-four-speed"); strings.Contains(w.Body.String(), "/drawing/") {
		t.Error("a refusal has drawings")
	}
}

// formFields are the fields that a form of the page sends as it stands, by the
// identifier of the form.
func formFields(t *testing.T, body, id string) url.Values {
	t.Helper()
	_, form, ok := strings.Cut(body, `id="`+id+`"`)
	form, _, closed := strings.Cut(form, "</form>")
	if !ok || !closed {
		t.Fatalf("the page has no form %s", id)
	}
	q := url.Values{}
	for _, m := range hiddenField.FindAllStringSubmatch(form, -1) {
		q.Add(html.UnescapeString(m[1]), html.UnescapeString(m[2]))
	}
	return q
}

var hiddenField = regexp.MustCompile(`<input type="hidden" name="([^"]*)" value="([^"]*)">`)

// Another train begins afresh: nothing that is about the one before goes with it.
func TestAnotherTrain(t *testing.T) {
	s := New(host)
	for _, from := range []string{
		"all=1&complaint=shudders&fault=forward%3Dstuck&mode=road-test&pace=12&range=D1&saw.D1=none&saw.air%3Aforward=good&shade=dark&train=simpson-three-speed&vehicle=bus&when=hot",
		"mode=road-test&pace=12&range=D1&shade=dark&test=air%3Aforward&train=simpson-three-speed",
		"pace=12&position=D&range=D1&shade=dark&to=D2&train=simpson-three-speed",
		"mode=lesson&pace=12&range=D1&reveal=1&say.R=reverse&shade=dark&train=simpson-three-speed",
	} {
		w := get(t, s, "/?"+from)
		if w.Code == http.StatusSeeOther {
			w = get(t, s, w.Header().Get("Location"))
		}
		q := formFields(t, w.Body.String(), "train-form")
		q.Set("train", "hub-three-speed")
		w = get(t, s, "/?"+q.Encode())
		to, err := url.Parse(w.Header().Get("Location"))
		if err != nil || w.Code != http.StatusSeeOther {
			t.Errorf("%s: status %d", from, w.Code)
			continue
		}
		for key := range to.Query() {
			if !slices.Contains([]string{"train", "range", "mode", "shade", "pace", "present"}, key) {
				t.Errorf("%s: %s goes to the other train, %s", from, key, to)
			}
		}
		if now := to.Query(); now.Get("shade") != "dark" || now.Get("pace") != "12" || !strings.Contains(from, "mode="+now.Get("mode")) && now.Has("mode") {
			t.Errorf("%s: what is not about the train is lost: %s", from, to)
		}
	}
}

// For a client that has gone nothing is worked out, not even once its turn comes.
func TestClientThatHasGone(t *testing.T) {
	s := New(host)
	const look, bench = "/?range=R&train=simpson-three-speed", "/?mode=road-test&range=R&train=simpson-three-speed"
	ask := func(ctx context.Context, address string) *httptest.ResponseRecorder {
		r := httptest.NewRequestWithContext(ctx, http.MethodGet, address, nil)
		r.Host = host
		w := httptest.NewRecorder()
		s.ServeHTTP(w, r)
		return w
	}
	gone, leave := context.WithCancel(t.Context())
	leave()
	for _, address := range []string{look, bench, "/drawing/faults.svg" + look[1:]} {
		if w := ask(gone, address); w.Body.Len() > 0 {
			t.Errorf("%s is answered with %d bytes", address, w.Body.Len())
		}
	}
	// While all places are taken a request waits, and leaves with its client.
	for range cap(s.busy) {
		s.busy <- struct{}{}
	}
	waiting, leave := context.WithTimeout(t.Context(), 20*time.Millisecond)
	defer leave()
	if w := ask(waiting, look); w.Body.Len() > 0 {
		t.Errorf("%d bytes came out of turn", w.Body.Len())
	}
	for range cap(s.busy) {
		<-s.busy
	}
	if w := ask(t.Context(), look); w.Code != http.StatusOK || w.Body.Len() == 0 {
		t.Errorf("afterwards: status %d", w.Code)
	}
	if len(s.busy) > 0 {
		t.Errorf("%d answers never end", len(s.busy))
	}
	// Each part of an answer looks whether it is still asked for.
	sub, err := s.look(t.Context(), page.State{Train: "simpson-three-speed", Range: "R"})
	if err != nil {
		t.Fatal(err)
	}
	if sub.answer(gone) != nil || sub.roadTest(gone) != nil {
		t.Error("an answer is worked out for a client that has gone")
	}
}

// Files of others wait for each other; a train of the library never waits for them.
func TestFilesOfOthersLeaveRoom(t *testing.T) {
	s := New(host)
	st := page.State{Pace: page.UsualPace}
	if err := Put(&st, "mine.yaml", []byte(smallTrain)); err != nil {
		t.Fatal(err)
	}
	for range cap(s.foreign) {
		s.foreign <- struct{}{}
	}
	done := make(chan int, 1)
	go func() {
		r := httptest.NewRequestWithContext(t.Context(), http.MethodGet, st.Link(), nil)
		r.Host = host
		w := httptest.NewRecorder()
		s.ServeHTTP(w, r)
		done <- w.Code
	}()
	if w := get(t, s, "/?range=R&train=simpson-three-speed"); w.Code != http.StatusOK {
		t.Errorf("a train of the library: status %d", w.Code)
	}
	select {
	case code := <-done:
		t.Errorf("a file of others is answered out of turn, status %d", code)
	case <-time.After(20 * time.Millisecond):
	}
	for range cap(s.foreign) {
		<-s.foreign
	}
	if code := <-done; code != http.StatusOK && code != http.StatusSeeOther {
		t.Errorf("afterwards: status %d", code)
	}
	if len(s.busy)+len(s.foreign) > 0 {
		t.Errorf("%d answers never end", len(s.busy)+len(s.foreign))
	}
}

// Whoever asks for a file that another client asked for, and left, gets it.
func TestFileOfAClientThatLeft(t *testing.T) {
	s := New(host)
	st := page.State{Pace: page.UsualPace}
	if err := Put(&st, "mine.yaml", []byte(smallTrain)); err != nil {
		t.Fatal(err)
	}
	for range cap(s.foreign) {
		s.foreign <- struct{}{}
	}
	gone, leave := context.WithCancel(t.Context())
	first := make(chan error, 1)
	go func() { _, err := s.trains.get(gone, st); first <- err }()
	for len(s.trains.keys()) == 0 {
		time.Sleep(time.Millisecond)
	}
	second := make(chan error, 1)
	go func() { _, err := s.trains.get(t.Context(), st); second <- err }()
	leave()
	if err := <-first; !errors.Is(err, context.Canceled) {
		t.Errorf("the first: %v", err)
	}
	for range cap(s.foreign) {
		<-s.foreign
	}
	if err := <-second; err != nil {
		t.Errorf("the second: %v", err)
	}
}

func (s *shelf) keys() (keys []string) {
	s.mu.Lock()
	defer s.mu.Unlock()
	for _, t := range s.trains {
		keys = append(keys, t.key)
	}
	return keys
}
