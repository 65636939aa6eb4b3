package serve

import (
	"bytes"
	"mime/multipart"
	"net/http"
	"net/http/httptest"
	"regexp"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
)

// sendChart sends a chart as the form of the page does.
func sendChart(t *testing.T, s *Server, chart string) *httptest.ResponseRecorder {
	t.Helper()
	var b bytes.Buffer
	form := multipart.NewWriter(&b)
	if err := form.WriteField("chart", chart); err != nil {
		t.Fatal(err)
	}
	form.Close()
	r := httptest.NewRequest(http.MethodPost, "/fit", &b)
	r.Host = host
	r.Header.Set("Content-Type", form.FormDataContentType())
	r.Header.Set("Origin", "http://"+host)
	w := httptest.NewRecorder()
	s.ServeHTTP(w, r)
	return w
}

// A chart that is pasted gives a train and a link to the stage that shows it.
func TestFitForm(t *testing.T) {
	s := New(host)
	if w := get(t, s, "/fit"); w.Code != http.StatusOK || !strings.Contains(w.Body.String(), "range,A,B,C") {
		t.Fatalf("%d: %s", w.Code, w.Body)
	}
	w := sendChart(t, s, "range\tK1\tK2\tB1\tB2\tratio\n1\tx\t\t\tx\t2,48\n"+
		"2\tx\t\tx\t\t1,48\n3\tx\tx\t\t\t1\nR\t\tx\t\tx\t2,09\n")
	if w.Code != http.StatusOK || !strings.Contains(w.Body.String(), "simpson") {
		t.Fatalf("%d: %s", w.Code, w.Body)
	}
	link := regexp.MustCompile(`class="button" href="([^"]*)"`).FindStringSubmatch(w.Body.String())
	if link == nil {
		t.Fatalf("no link to the stage: %s", w.Body)
	}
	if w := get(t, s, strings.ReplaceAll(link[1], "&amp;", "&")); w.Code != http.StatusOK &&
		w.Code != http.StatusSeeOther {
		t.Errorf("the link leads to %d: %s", w.Code, w.Body)
	}
	semicolons := "range;K1;K2;B1;B2;ratio\n1;x;;;x;2.48\n2;x;;x;;1.48\n3;x;x;;;1\nR;;x;;x;2.09\n"
	w = sendChart(t, s, strings.ReplaceAll(semicolons, "\n", "\r\n"))
	if !strings.Contains(w.Body.String(), semicolons) {
		t.Errorf("the chart is not in the form as it was: %s", w.Body)
	}
	if w := sendChart(t, s, "range;A;ratio\n1;perhaps;2.4\n"); w.Code != http.StatusUnprocessableEntity ||
		!strings.Contains(w.Body.String(), "is no mark") || !strings.Contains(w.Body.String(), "hint: write x") {
		t.Errorf("%d: %s", w.Code, w.Body)
	}
}

// A chart that is typed leads to the stage with its train.
func TestBrowserFitForm(t *testing.T) {
	b := openTab(t, "/fit")
	b.do(chromedp.SetValue(chromedp.CSS("#chart"), "range;K1;K2;B1;B2;ratio\n1;x;;;x;2,48\n2;x;;x;;1,48\n3;x;x;;;1\nR;;x;;x;2,09\n"))
	b.do(chromedp.Click(chromedp.CSS("form button")))
	b.shows("main", "The fit as")
	b.do(chromedp.Click(chromedp.CSS("a.button")))
	b.says("1 drives forward at 2.48")
}
