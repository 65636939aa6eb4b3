package serve

import (
	"fmt"
	"html"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"tieup/gearsets"
	"tieup/gearsets/roadtest"
	"tieup/kinematics/diagnosis"
	"tieup/plots/page"
)

// What a form sends, word by word, becomes one value for each place.
func TestRoadTestInTheAddress(t *testing.T) {
	s := New(host)
	const start = "/?mode=road-test&train=depot-shuttle-three-speed&range=R"
	for _, tt := range []struct{ form, want string }{
		{"&saw.R=&saw.R=bind", "saw.R=bind"},
		{"&saw.D1=forward&saw.D1=no-engine-braking&saw.D1=", "saw.D1=forward%2C+no-engine-braking"},
		{"&saw.D1=forward&coasts.D1=2.45", "saw.D1=forward%2C+coasts+2.45"},
		{"&saw.D2=1800%2F735&saw.D2=as+D1", "saw.D2=1800%2F735%2C+as+D1"},
		{"&saw.D1-D2=flare", "saw.D1-D2=flare"},
		{"&saw.R=not+tested", ""},
		{"&saw.R=bind&saw.R=not-tested&saw.R=rolls&ratio.R=2.2&saw.N=none", "saw.N=none"},
		{"&saw.R=&saw.R=rolls", "saw.R=rolls"},
		{"&saw.D1=forward&ratio.D1=2,45&coasts.D1=+2,45+", "saw.D1=forward%2C+2.45%2C+coasts+2.45"},
		{"&saw.D1=forward,2,45", "saw.D1=forward%2C+2.45"},
		{"&ratio.D1=1800,5/735,25", "saw.D1=1800.5%2F735.25"},
		{"&saw.bench:direct=held-locks&turns.bench:direct=-0,41%2B", "saw.bench:direct=held-locks%2C+turns+-0.41%2B"},
		{"&saw.N=none&note=saw.R%3Dbind", "saw.N=none&saw.R=bind"},
		{"&saw.R=bind&note=saw.R%3Dbind%252C%2Brolls%26mode%3Dlook", "saw.R=bind%2C+rolls"},
		{"&saw.R=bind&suspects=all", "saw.R=bind&all=1"},
		{"&saw.R=bind&all=1&suspects=likeliest", "saw.R=bind"},
		{"&test=air:direct", "test=air:direct"},
		{"&test=air:direct&saw.air:direct=good", "saw.air:direct=good"},
		{"&saw.bench:direct%2Bforward=held-locks&turns.bench:direct%2Bforward=-0.41", "saw.bench:forward%2Bdirect=held-locks%2C+turns+-0.41"},
		{"&saw.element:direct=bad&saw.pressure:direct@R=fed&saw.R=bind", "saw.R=bind&saw.pressure:direct@R=fed&saw.element:direct=bad"},
		{"&when=hot&when=&when=sudden", "when=sudden&when=hot"},
		{"&complaint=it+%22bucks%22&vehicle=bus+14", "complaint=it+%22bucks%22&vehicle=bus+14"},
	} {
		w := get(t, s, start+tt.form)
		to := w.Header().Get("Location")
		got, _ := url.ParseQuery(strings.TrimPrefix(to, "/?"))
		want, _ := url.ParseQuery(strings.TrimPrefix(start, "/?") + "&" + tt.want)
		if got.Encode() != want.Encode() {
			t.Errorf("%s leads to %s, want %s", tt.form, got.Encode(), want.Encode())
		}
		if w := get(t, s, to); w.Code != http.StatusOK {
			t.Errorf("%s: status %d", to, w.Code)
		}
	}
	for _, tt := range []struct{ form, want string }{
		{"&saw.R=bound", `R: no such observation "bound"`},
		{"&saw.D9=bind", `has no range "D9"`},
		{"&saw.R=bind&saw.R=none", "R: bind and none cannot both be seen in one range"},
		{"&saw.D1-D2=none", "no such observation"},
		{"&test=R", `"R" is no test in the workshop`},
		{"&test=air:dirct", "did you mean direct?"},
		{"&saw.bench:direct=locks&turns.bench:direct=1", "locks and turns 1 cannot both be"},
		{"&ratio.D1=2,4,5", `D1: "2,4,5" has a comma that can be read in two ways`},
		{"&saw.D1=1,800/735", `D1: "1,800/735" has a comma that can be read in two ways`},
		{"&ratio.D1=two", `D1: "two" is no ratio`},
		{"&ratio.D1=1800/0", "D1: 1800/0: the output stands"},
		{"&when=damp", `no such circumstance "damp"`},
		{"&when=cold&when=hot", "cold"},
		{"&assume=AAAA", "damaged"},
		{"&complaint=" + strings.Repeat("x", 2000), "longer than 1000 letters"},
	} {
		w := get(t, s, start+tt.form)
		if body := html.UnescapeString(w.Body.String()); w.Code != http.StatusBadRequest || !strings.Contains(body, tt.want) {
			t.Errorf("%s: status %d, and no %q", tt.form, w.Code, tt.want)
		}
	}
	// What is refused stays in its field, whole, and none of it counts.
	for form, want := range map[string]string{
		"&ratio.D1=1,800/735":                            `name="ratio.D1" value="1,800/735" aria-invalid="true"`,
		"&saw.D1=forward&coasts.D1=2.4.5":                `name="coasts.D1" value="2.4.5" aria-invalid="true"`,
		"&test=bench:direct&turns.bench:direct=1,234":    `name="turns.bench:direct" value="1,234" aria-invalid="true"`,
		"&saw.D1=2.45&ratio.D1=quick&saw.D1=not-planned": `name="ratio.D1" value="quick" aria-invalid="true"`,
	} {
		w := get(t, s, start+form)
		if body := html.UnescapeString(w.Body.String()); w.Code != http.StatusBadRequest || !strings.Contains(body, want) || strings.Contains(body, "seen: D1: 1") {
			t.Errorf("%s: status %d, and no %s", form, w.Code, want)
		}
	}
	// What can be seen beside each other stays when something else cannot.
	body := get(t, s, start+"&saw.R=bind&saw.R=none&saw.N=forward").Body.String()
	for _, want := range []string{`id="saw-R-bind" value="bind" checked`, `id="saw-N-forward" value="forward" checked`} {
		if !strings.Contains(body, want) {
			t.Errorf("the page lacks %s", want)
		}
	}
}

// What has no tick of its own can be typed: conditions, notes, how far it slips.
func TestWordsCanBeTyped(t *testing.T) {
	s := New(host)
	start := "/?train=depot-shuttle-three-speed&mode=road-test"
	typed := get(t, s, start+"&saw.D2=&saw.D2=slips+2.0+hot,+note+whines+3+of+10&saw.D1-D2=late+cold")
	body := html.UnescapeString(get(t, s, typed.Header().Get("Location")).Body.String())
	for _, want := range []string{`name="saw.D2" value="slips 2.0 hot, note whines 3 of 10"`, `name="saw.D1-D2" value="late cold"`,
		"seen: D2: slips 2.0 hot, note whines 3 of 10; D1-D2: late cold"} {
		if !strings.Contains(body, want) {
			t.Errorf("the page lacks %s", want)
		}
	}
	w := get(t, s, start+"&saw.D2=slips+hott")
	if body := html.UnescapeString(w.Body.String()); !strings.Contains(body, `name="saw.D2" value="slips hott" aria-invalid="true"`) {
		t.Errorf("status %d, and what was refused is not in its field", w.Code)
	}
}

// Every word can be ticked, and what no field shows stays in the form.
func TestEveryWordHasAField(t *testing.T) {
	for _, w := range append(diagnosis.Words(false), "as D1", "2.45", "1800/735", "coasts 2.45") {
		p := page.NewSheetPlace("D2", "forward", []string{w}, []string{"D1", "D3"})
		if len(p.Rest) > 0 {
			t.Errorf("no field shows %q", w)
		}
	}
	p := page.NewSheetPlace("D2", "forward", []string{"forward", "ok", "2.45", "1.45", "as R"}, []string{"D1"})
	if got := strings.Join(p.Rest, ", "); got != "forward, 1.45, as R" && got != "ok, 1.45, as R" {
		t.Errorf("what no field shows is %q", got)
	}
	for _, w := range diagnosis.Words(true) {
		p := page.NewSheetShift("D1-D2", []string{w})
		chosen := 0
		for _, o := range p.First {
			if o.Chosen && o.Value == w {
				chosen++
			}
		}
		if chosen != 1 {
			t.Errorf("no field shows %q of a shift", w)
		}
	}
}

// Every result of every test in the workshop can be chosen in the form.
func TestEveryShopWordHasAField(t *testing.T) {
	train, err := gearsets.Library("simpson-transaxle-three-speed")
	if err != nil {
		t.Fatal(err)
	}
	for _, place := range diagnosis.ShopPlaces(train) {
		for _, w := range diagnosis.ShopWords(train, place.Shop) {
			if w == diagnosis.Turns {
				if p := page.NewShopPlace(train, place, []string{"turns -0.41+"}); p.Turns.Value != "-0.41+" {
					t.Errorf("%s: turns is shown as %q", place.Place(train), p.Turns.Value)
				}
				continue
			}
			chosen := 0
			for _, c := range page.NewShopPlace(train, place, []string{string(w)}).Choices {
				for _, o := range c.Options {
					if o.Chosen && o.Value == string(w) {
						chosen++
					}
				}
			}
			if chosen != 1 {
				t.Errorf("%s: no field shows %q", place.Place(train), w)
			}
		}
	}
}

// A sheet that is saved and loaded gives the state back, with what it assumes.
func TestSheetRoundTrip(t *testing.T) {
	s := New(host)
	const query = "complaint=creeps&mode=road-test&range=D1&saw.D1=forward%2C+no-engine-braking&saw.D1-D2=bind&saw.R=bind&saw.air%3Adirect=good&saw.bench%3A-=turns+free%2C+back-turns&train=depot-shuttle-three-speed&vehicle=bus+14&when=sudden&when=clean"
	w := get(t, s, "/sheet.yaml?"+query)
	if d := w.Header().Get("Content-Disposition"); d != `attachment; filename="depot-shuttle-three-speed-road-test.yaml"` {
		t.Errorf("the sheet is sent as %s", d)
	}
	sheet := w.Body.String()
	w = sendFile(t, s, "/file?train=simpson-three-speed&shade=dark", "sheet.yaml", []byte(sheet))
	if got, want := w.Header().Get("Location"), "/?"+strings.Replace(query, "&train", "&shade=dark&train", 1); got != want {
		t.Errorf("the saved sheet leads to\n%s\nwant\n%s", got, want)
	}

	changed := strings.NewReplacer("tolerance: 2%", "tolerance: 5%", "stall: ", "stall: 9").Replace(sheet)
	w = sendFile(t, s, "/file", "sheet.yaml", []byte(changed))
	to := w.Header().Get("Location")
	if !strings.Contains(to, "assume=") {
		t.Fatalf("what the sheet assumes is lost: %d %s", w.Code, to)
	}
	if body := get(t, s, to).Body.String(); !strings.Contains(body, "measured ratios are off by at most 5 %") {
		t.Error("the page does not say what the sheet assumes")
	}
	again := get(t, s, "/sheet.yaml"+strings.TrimPrefix(to, "/")).Body.String()
	if again != changed && !strings.Contains(again, "tolerance: 5%") {
		t.Errorf("saved again the sheet is\n%s", again)
	}
}

// What was found on opening, replaced and proved is kept by the page, which has no fields
// for it, and counts in what it says.
func TestCaseRoundTrip(t *testing.T) {
	s := New(host)
	const opened = "found: {direct: burnt, forward: welded}\nreplaced: [seal kit]\nproved: {forward held counterclockwise: turns}\n"
	w := sendFile(t, s, "/file", "case.yaml", []byte("sheet: 1\ntrain: depot-shuttle-three-speed\nseen: {R: bind, N: forward}\n"+opened))
	to := w.Header().Get("Location")
	again := get(t, s, "/sheet.yaml"+strings.TrimPrefix(to, "/")).Body.String()
	for _, want := range []string{"  direct: burnt\n", "  forward: welded\n", "  - seal kit\n", `"forward held counterclockwise": turns`} {
		if !strings.Contains(again, want) {
			t.Errorf("saved again the case lacks %q:\n%s", want, again)
		}
	}
	if body := get(t, s, to).Body.String(); !strings.Contains(body, "forward welded: the fault itself") {
		t.Error("the page does not say what was found")
	}
}

// A sheet finds its train in the library or on the page. Whatever it names, no
// file is opened.
func TestSheetOpensNoFile(t *testing.T) {
	s := New(host)
	sheet := func(train string) []byte { return []byte("sheet: 1\ntrain: " + train + "\nseen: {L: none}\n") }
	for _, path := range []string{"/etc/passwd", "../../../gearsets/library/simpson-three-speed.yaml", "server.go", "mine.yaml", `C:\mine.yaml`} {
		w := sendFile(t, s, "/file?train=simpson-three-speed", "sheet.yaml", sheet(path))
		if body := html.UnescapeString(w.Body.String()); w.Code != http.StatusUnprocessableEntity || !strings.Contains(body, "put that file on the page first") || !strings.Contains(body, "sheet.yaml:2:8") {
			t.Errorf("%s: status %d", path, w.Code)
		}
	}
	w := sendFile(t, s, "/file", "mine.yaml", []byte(smallTrain))
	_, state, _ := strings.Cut(w.Header().Get("Location"), "?")
	for _, path := range []string{"mine.yaml", "trains/mine.yaml"} {
		w = sendFile(t, s, "/file?"+state, "sheet.yaml", sheet(path))
		if to := w.Header().Get("Location"); w.Code != http.StatusSeeOther || !strings.Contains(to, "saw.L=none") || !strings.Contains(to, "name=mine.yaml") {
			t.Errorf("a sheet about %s: status %d, leads to %s", path, w.Code, to)
		}
	}
	saved := get(t, s, "/sheet.yaml?"+state).Body.String()
	if !strings.Contains(saved, "\ntrain: mine.yaml\n") {
		t.Errorf("the saved sheet names its train so:\n%s", saved[:300])
	}
}

// Every train of the library has a bench, and what it proposes can be shown.
func TestEveryBench(t *testing.T) {
	s := New(host)
	for _, name := range gearsets.Names() {
		train, err := gearsets.Library(name)
		if err != nil {
			t.Fatal(err)
		}
		st := page.State{Train: name, Range: train.Ranges[0].Name, Mode: page.Test, Pace: page.UsualPace}
		st.Saw = []page.Observed{{Place: train.Ranges[len(train.Ranges)-1].Name, Seen: "none"}}
		w := get(t, s, st.Link())
		if w.Code != http.StatusOK || !strings.Contains(w.Body.String(), "Each suspect against what was seen") {
			t.Errorf("%s: status %d", st.Link(), w.Code)
		}
	}
}

// A sheet that diagnose reads is read by the page, too: lines and tabs in its
// texts become spaces, and what is too long is cut and says so.
func TestEverySheetLoads(t *testing.T) {
	s := New(host)
	for _, tt := range []struct{ key, text, want string }{
		{"complaint", "|\n  bumps into second\n  when hot", "bumps into second when hot"},
		{"complaint", `"bumps\tinto second"`, "bumps into second"},
		{"vehicle", `"bus\n14"`, "bus 14"},
		{"complaint", strings.Repeat("ä", 1000), strings.Repeat("ä", 1000)},
		{"complaint", strings.Repeat("ä", 1001), strings.Repeat("ä", 1000-len(" ... (shortened)")) + " ... (shortened)"},
	} {
		sheet := "sheet: 1\ntrain: simpson-three-speed\n" + tt.key + ": " + tt.text + "\nseen: {R: bind}\n"
		if _, _, problems := roadtest.Parse("sheet.yaml", []byte(sheet)); problems != nil {
			t.Fatalf("diagnose does not read\n%s\n%v", sheet, problems)
		}
		w := sendFile(t, s, "/file?range=R&train=depot-shuttle-three-speed", "sheet.yaml", []byte(sheet))
		to, err := url.Parse(w.Header().Get("Location"))
		if err != nil || w.Code != http.StatusSeeOther {
			t.Errorf("%.40q: status %d", tt.text, w.Code)
			continue
		}
		if got := to.Query().Get(tt.key); got != tt.want {
			t.Errorf("%.40q is taken as %.60q, want %.60q", tt.text, got, tt.want)
		}
		if w := get(t, s, to.String()); w.Code != http.StatusOK {
			t.Errorf("%.40q leads to an address with status %d", tt.text, w.Code)
		}
	}
}

// What is wrong with a part of an address takes only that part away.
func TestPartOfAnAddressIsWrong(t *testing.T) {
	s := New(host)
	const state = "/?mode=road-test&range=R&saw.R=bind&train=ravigneaux-four-speed"
	for _, more := range []string{"&range=%00", "&saw.N=%ff", "&name=%01", "&complaint=" + strings.Repeat("x", 1001)} {
		w := get(t, s, state+more)
		if body := w.Body.String(); w.Code != http.StatusBadRequest || !strings.Contains(body, "seen: R: bind") || !strings.Contains(body, `value="ravigneaux-four-speed" selected`) {
			t.Errorf("%.30s: status %d, and the state is gone", more, w.Code)
		}
	}
	if body := get(t, s, state+"&complaint="+strings.Repeat("x", 1001)).Body.String(); !strings.Contains(body, strings.Repeat("x", 1000)) {
		t.Error("a complaint that is too long is gone")
	}
}

// An address that says more than anybody can have seen is refused at once, and in
// few words.
func TestFloodOfWords(t *testing.T) {
	s := New(host)
	var words, places strings.Builder
	for i := range 12000 {
		fmt.Fprintf(&words, "x%d,", i)
	}
	for i := range 6000 {
		fmt.Fprintf(&places, "&saw.x%d=a", i)
	}
	for name, q := range map[string]string{
		"words": "&saw.R=" + words.String(), "places": places.String(), "circumstances": strings.Repeat("&when=x", 9000),
		"answers": strings.ReplaceAll(places.String(), "saw.", "say."), "numbers": "&ratio.R=" + strings.Repeat("1,", 40000),
	} {
		w := get(t, s, "/?mode=road-test&range=R&train=simpson-three-speed"+q)
		if w.Code != http.StatusBadRequest || w.Body.Len() > 200<<10 {
			t.Errorf("%s: status %d and %d bytes", name, w.Code, w.Body.Len())
		}
		_, problem, _ := strings.Cut(w.Body.String(), `id="problem-head"`)
		problem, _, _ = strings.Cut(problem, "</h1>")
		if n := strings.Count(problem, "\n"); n > 9 || problem == "" {
			t.Errorf("%s: %d problems are listed", name, n+1)
		}
	}
	// All that can be seen of a range, and all places of a train, are not too much.
	train, err := gearsets.Library("four-carrier-eight-speed")
	if err != nil {
		t.Fatal(err)
	}
	if n := len(diagnosis.Words(false)); n+10 > page.MostWords {
		t.Errorf("%d words of a range, and %d are taken", n, page.MostWords)
	}
	if n := len(diagnosis.ShopPlaces(train)) + 10*len(train.Ranges); n > page.MostPlaces {
		t.Errorf("%d places of a train, and %d are taken", n, page.MostPlaces)
	}
}
