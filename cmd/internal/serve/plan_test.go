package serve

import (
	"net/http"
	"regexp"
	"strings"
	"testing"
)

// The plan stands beside the half-section with one turn chosen; air and what is not
// fitted change both, and what cannot be is said.
func TestPlanOfTurnsByHand(t *testing.T) {
	s := New(host)
	const work = "/?mode=work&range=R&train=depot-shuttle-three-speed"
	w := get(t, s, work)
	if body := w.Body.String(); strings.Contains(body, "plan-form") || !strings.Contains(body, `id="plan-open"`) {
		t.Error("the plan is worked out before it is asked for")
	}
	body := get(t, s, work+"&turn=2").Body.String()
	for _, want := range []string{
		`id="turn-2" aria-current="true">air to forward; hold output-shaft; turn turbine counterclockwise`,
		"turbine turns", "direct is stuck on, intermediate is stuck on, low-reverse is stuck on, roller is seized",
		"the turns are made in this order", "seen from the input end", "fingers away from plates",
	} {
		if !strings.Contains(body, want) {
			t.Errorf("the plan lacks %q", want)
		}
	}
	link := strings.ReplaceAll(regexp.MustCompile(`/drawing/turn\.svg\?[^"]*`).FindString(body), "&amp;", "&")
	if d := get(t, s, link); d.Code != http.StatusOK || !strings.Contains(d.Body.String(), "which turn 2 applies") ||
		!strings.Contains(d.Body.String(), "Framed: forward") {
		t.Errorf("%q: status %d", link, d.Code)
	}
	for query, want := range map[string]string{
		"&air=direct&air=forward&turn=1&without=case": "air to forward and direct",
		"&air=roller&turn=1":                          "air cannot be put to roller: it is not applied by pressure",
		"&air=nosuch&turn=1":                          "air: depot-shuttle-three-speed has no element",
		"&turn=1&without=lid":                         "without &#34;lid&#34;: write case or valve-body",
		"&turn=none":                                  "a turn by hand is a number from 1",
		"&turn=99":                                    "this plan has 4 turns by hand, not 99",
		"&no-hold=1&turn=1":                           "air to forward; pawl in; turn turbine counterclockwise",
	} {
		w := get(t, s, work+query)
		if to := w.Header().Get("Location"); to != "" {
			w = get(t, s, to)
		}
		if body := w.Body.String(); !strings.Contains(body, want) {
			t.Errorf("%s: lacks %q", query, want)
		}
	}
	if d := get(t, s, "/drawing/turn.svg?train=depot-shuttle-three-speed&turn=9"); d.Code != http.StatusBadRequest {
		t.Errorf("turn 9: status %d", d.Code)
	}
}
