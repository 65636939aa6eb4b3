package serve

import (
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// Whatever an address says, the answer is a page, a way to the one address of
// its state, or a refusal; and that one address is its own.
func FuzzAddress(f *testing.F) {
	for _, q := range []string{
		"", "range=R&train=simpson-three-speed&fault=forward%3Dstuck", "train=depot-shuttle-three-speed&at=D.D2&add=roller%3Dreversed&only=D1",
		"mode=lesson&say.R=tie-up&reveal=1", "mode=road-test&saw.R=bind&saw.D1=2.45%2C+as+D2&saw.D1-D2=flare&when=hot", "file=AAAA&name=x", "drop=0&fault=a%3Db", "pace=3&shade=dark&position=2",
		"mode=road-test&ratio.D1=2,45&coasts.D1=1,800&saw.R=bind&saw.R=not-tested&note=saw.N%3Dnone&suspects=all", "mode=lesson&reveal=1&say.R=reverse&hide=1",
		"complaint=a%0Ab%09c&vehicle=%20x%20&mode=road-test&turns.bench:-=-0,41&saw.bench:-=held-locks",
		"fault=forward%3Dweak+0.5%40R", "%zz", "train=a&train=b", "fault=shell:front.sun%3Dsheared",
	} {
		f.Add(q)
	}
	s := New(host)
	f.Fuzz(func(t *testing.T, query string) {
		w := fuzzGet(s, "/", query)
		switch w.Code {
		case http.StatusOK, http.StatusBadRequest, http.StatusRequestURITooLong:
		case http.StatusSeeOther:
			to := w.Header().Get("Location")
			_, q, _ := strings.Cut(to, "?")
			if again := fuzzGet(s, "/", q); again.Code != http.StatusOK {
				t.Errorf("%q leads to %q, which gives status %d and leads to %q", query, to, again.Code, again.Header().Get("Location"))
			}
		default:
			t.Errorf("%q: status %d", query, w.Code)
		}
		if w := fuzzGet(s, "/drawing/lever.svg", query); w.Code != http.StatusOK && w.Code != http.StatusBadRequest && w.Code != http.StatusRequestURITooLong {
			t.Errorf("drawing of %q: status %d", query, w.Code)
		}
	})
}

func fuzzGet(s *Server, path, query string) *httptest.ResponseRecorder {
	r := httptest.NewRequest(http.MethodGet, path, nil)
	r.Host, r.URL.RawQuery = host, query
	w := httptest.NewRecorder()
	s.ServeHTTP(w, r)
	return w
}

// Whatever a file holds, it is shown or refused.
func FuzzUpload(f *testing.F) {
	f.Add("mine.yaml", []byte(smallTrain))
	f.Add("", []byte("tieup: 1\nname: x\n"))
	f.Add("mine.ya\xda\xda", []byte(smallTrain))
	f.Add("sheet.yaml", []byte("sheet: 1\ntrain: simpson-three-speed\nseen: {R: bind, D1: [forward, as D2]}\nshifts: {D1-D2: flare}\nassume: {tolerance: 5%}\n"))
	if files, err := filepath.Glob("../../../testdata/broken/*/*.yaml"); err == nil {
		for _, file := range files {
			if src, err := os.ReadFile(file); err == nil {
				f.Add(filepath.Base(file), src)
			}
		}
	}
	s := New(host)
	f.Fuzz(func(t *testing.T, name string, src []byte) {
		w := sendFile(t, s, "/file", name, src)
		switch w.Code {
		case http.StatusUnprocessableEntity:
		case http.StatusSeeOther:
			to := w.Header().Get("Location")
			_, q, _ := strings.Cut(to, "?")
			w := fuzzGet(s, "/", q)
			if w.Code == http.StatusSeeOther { // to the first range
				_, q, _ = strings.Cut(w.Header().Get("Location"), "?")
				w = fuzzGet(s, "/", q)
			}
			if w.Code != http.StatusOK {
				t.Errorf("a file that was taken gives status %d", w.Code)
			}
		default:
			t.Errorf("status %d", w.Code)
		}
	})
}
