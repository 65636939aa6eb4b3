package serve

import (
	"context"
	"net/http"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"tieup/gearsets"
	"tieup/kinematics/analysis"
)

// A technician: choose a train, shift, stick the forward clutch, read the
// verdicts, take the fault away, and find all of it again by its address.
func TestBrowserForwardStuck(t *testing.T) {
	b := openTab(t, "/")
	b.says("D1 drives forward at 2.45")
	b.choose("#train", "simpson-three-speed")
	b.says("D1 drives forward at 2.48")
	b.click("#at-1-R")
	b.says("R drives backward at 2.09")
	b.stick("forward=stuck")
	b.says("R ties up")
	b.shows(".chips", "forward is stuck on")
	b.shows("#band .why", "forward (stuck on), direct and low-reverse cannot all hold: they ask the output for three different speeds.")
	b.shows("#band .caution", "The wheels can lock without warning")
	b.shows("#ways", "backward 2.09 without forward")
	b.click("#at-2-N")
	b.says("N drives forward at 2.48, as D1")
	b.shows("#ways", "brought by forward, stuck on")
	b.click("#at-0-P")
	b.says("P lurches forward against the pawl")

	address := js[string](b, "location.href")
	b.do(chromedp.Reload())
	b.says("P lurches forward against the pawl")
	if now := js[string](b, "location.href"); now != address {
		t.Errorf("reloaded at %s, not %s", now, address)
	}
	b.do(chromedp.NavigateBack())
	b.says("N drives forward at 2.48, as D1")
	b.do(chromedp.NavigateBack())
	b.says("R ties up")
	b.click("#drop-0")
	b.says("R drives backward at 2.09")
	if n := js[int](b, `document.querySelectorAll(".chip").length`); n != 0 {
		t.Errorf("%d faults are left", n)
	}

	// The same address in a browser that was never here.
	other := openTab(t, strings.TrimPrefix(address, b.base))
	other.says("P lurches forward against the pawl")
}

// A solenoid and a valve are switched on the page: every range then does what the
// commands say of the same fault, what is not shown is named, and a second press takes
// the fault away.
func TestBrowserControlSwitches(t *testing.T) {
	b := openTab(t, "/?range=D1&train=overdrive-simpson-four-speed")
	train := gearsets.MustLibrary("overdrive-simpson-four-speed")
	press := func(id string, inForce ...string) {
		b.Helper()
		b.click("#add-open")
		b.click("#" + id)
		b.wait(`document.querySelector("#` + id + `").getAttribute("aria-pressed") === "true"`)
		var given analysis.WrittenFaults
		for _, text := range inForce {
			if err := given.Add(train, text); err != nil {
				t.Fatal(err)
			}
		}
		faults := analysis.InForce(train, &given).Faults
		for i, r := range train.Ranges[3:7] { // D1 to D4
			b.click("#at-3-" + r.Name)
			a, err := analysis.Open(train).Stage(t.Context(), 3+i, analysis.Under(faults...))
			if err != nil {
				t.Fatal(err)
			}
			b.says(r.Name + " " + a.Headline)
		}
	}
	press("switch-S2-stuck-on", "S2=stuck-on")
	b.shows(".chips", "S2 is stuck on")
	press("switch-S2-stuck-off", "S2=stuck-off") // in place of the other
	press("switch-valve-23-stuck-up", "S2=stuck-off", "valve-23=stuck-up")
	if n := js[int](b, `document.querySelectorAll(".chip").length`); n != 2 {
		t.Errorf("%d faults are in force, want those of the solenoid and of the valve", n)
	}
	b.click("#add-open")
	b.click("#switch-S2-stuck-off")
	b.wait(`document.querySelectorAll(".chip").length === 1`)
	b.click("#add-open")
	b.click("#switch-valve-23-stuck-up")
	b.wait(`document.querySelectorAll(".chip").length === 0`)
	b.click("#add-open")
	b.click("#switch-valve-12-spring-broken")
	b.click("#at-5-M1")
	b.says("M1 ties up")
	b.shows("#band .caution", "It can also come to: drives forward at 2.80, engine braking (depends on what was driven before).")
}

// A fault with a share, in one range only.
func TestBrowserFaultInOneRange(t *testing.T) {
	b := openTab(t, "/?range=D2&train=simpson-three-speed")
	b.click("#add-open")
	b.choose("#add", "forward=open")
	b.click("#only-D3")
	b.click("#add-fault")
	b.shows(".chips", "forward never holds in D3")
	b.says("D2 drives forward at 1.48")
	b.click("#at-3-D3")
	b.says("D3 no drive")
	b.shows("#band .why", "Nothing passes the drive from input-shaft to front.ring: while the vehicle stands")

	// A weak clutch without saying how weak is asked about; the state stays.
	before := js[string](b, "location.href")
	b.refused++
	b.stick("direct=weak")
	b.shows(".problem", "weak with what share of its rating?")
	if now := js[string](b, "location.href"); now != before {
		t.Errorf("a mistake changed the address to %s", now)
	}
	if got := js[string](b, `document.querySelector("#add").value`); got != "direct=weak" {
		t.Errorf("of what was chosen %q is left", got)
	}
	// The return key adds a fault, and removes none.
	b.do(chromedp.Reload())
	b.click("#add-open")
	b.choose("#add", "direct=weak")
	b.do(chromedp.SendKeys(chromedp.CSS("#share"), "0.5"+kb.Enter))
	b.wait(`document.querySelectorAll(".chip").length === 2`)
	if got := js[string](b, "decodeURIComponent(location.search)"); !strings.Contains(got, "fault=direct=weak+0.5&") || !strings.Contains(got, "fault=forward=open@D3&") {
		t.Errorf("the return key leads to %s", got)
	}
}

// drop drops a file on the page, as from a file manager.
func (b *tab) drop(file string) {
	b.Helper()
	b.do(chromedp.Func(func(ctx context.Context, _ *chromedp.Target) error {
		data := &input.DragData{Items: []*input.DragDataItem{}, Files: []string{file}, DragOperationsMask: 1}
		for _, kind := range []input.DispatchDragEventType{
			input.DispatchDragEventTypeDragEnter, input.DispatchDragEventTypeDragOver, input.DispatchDragEventTypeDrop,
		} {
			if _, err := chromedp.Call(ctx, input.DispatchDragEvent, input.DispatchDragEventParams{Type: kind, X: 640, Y: 400, Data: data}); err != nil {
				return err
			}
		}
		return nil
	}))
}

// Files: a broken one is refused with line and column and changes nothing; a
// mended one is taken; the file dialog does the same.
func TestBrowserDropFile(t *testing.T) {
	dir := t.TempDir()
	write := func(name, text string) string {
		file := filepath.Join(dir, name)
		if err := os.WriteFile(file, []byte(text), 0o666); err != nil {
			t.Fatal(err)
		}
		return file
	}
	broken := write("workshop.yaml", strings.Replace(smallTrain, "ring: 66", "ring: sixty", 1))
	mended := write("mended.yaml", smallTrain)

	b := openTab(t, "/?range=R&train=simpson-three-speed")
	before := js[string](b, "location.href")
	b.refused++
	b.drop(broken)
	b.shows(".problem", "workshop.yaml is refused for this error")
	_, problems := gearsets.Parse("workshop.yaml", []byte(strings.Replace(smallTrain, "ring: 66", "ring: sixty", 1)))
	if got := js[string](b, `document.querySelector(".problem pre").textContent`); strings.TrimSpace(got) != strings.TrimSpace(problems.Excerpts()) || !strings.Contains(got, "workshop.yaml:5:") {
		t.Errorf("the page says\n%s\nthe command line\n%s", got, problems.Excerpts())
	}
	if now := js[string](b, "location.href"); now != before {
		t.Errorf("a refused file changed the address to %s", now)
	}
	b.wait(`document.querySelector("#console [type=radio]:checked").id === "at-1-R"`)
	b.drop(mended)
	b.says("L drives forward at 3.20")
	b.do(chromedp.Reload())
	b.says("L drives forward at 3.20")

	b.visit("/?range=R&train=simpson-three-speed")
	b.do(chromedp.SetUploadFiles(chromedp.CSS("#file"), []string{mended}))
	b.says("L drives forward at 3.20")
}

// A learner: say what each range does, on the stage, then see.
func TestBrowserLesson(t *testing.T) {
	b := openTab(t, "/?fault=forward%3Dstuck&range=R&train=depot-shuttle-three-speed")
	b.says("R ties up")
	b.click("#tab-lesson")
	b.says("R What does R do?")
	for _, telling := range []string{"ties up.", "2.45", "cannot all hold", "lurches forward", "contradict"} {
		if js[bool](b, "document.documentElement.outerHTML.includes("+quoted(telling)+")") {
			t.Errorf("the page tells %q before it is asked", telling)
		}
	}
	b.shows("#band .why", "direct joins turbine and sun-shell; low-reverse holds rear.carrier; forward (stuck) joins turbine and front.ring.")
	if n := js[int](b, `document.querySelectorAll("#gears .body").length`); n < 10 {
		t.Errorf("only %d parts of the train are shown", n)
	}
	b.click("#say-tie-up")
	b.shows(".lesson", "1 of 7 answered")
	b.click("#at-2-N")
	b.says("N What does N do?")
	b.click("#say-neutral")
	b.shows(".lesson", "2 of 7 answered")
	b.click("#reveal")
	b.says("N drives forward at 2.45, as D1")
	b.shows(".lesson", "You said: no drive. 1 of 7 right.")
	b.click("#at-1-R")
	b.says("R ties up")
	b.shows(".lesson", "Right. 1 of 7 right.")
	b.do(chromedp.Reload())
	b.shows(".lesson", "Right. 1 of 7 right.")
	// A change of mind is judged at once; hidden, the answers are only counted.
	b.click("#at-2-N")
	b.says("N drives forward at 2.45, as D1")
	b.click("#say-forward")
	b.shows(".lesson", "Right. 2 of 7 right.")
	b.click("#hide")
	b.shows(".lesson", "2 of 7 answered")
	b.click("#next-round")
	b.shows(".lesson", "0 of 7 answered")
	if js[bool](b, `document.querySelector(".chip").textContent.includes("forward is stuck")`) {
		t.Error("the next round has the same fault")
	}
}

// A mechanic: tick what was seen, read the suspects and the next test, save the
// sheet, and load it again.
func TestBrowserRoadTest(t *testing.T) {
	b := openTab(t, "/?range=R&train=depot-shuttle-three-speed")
	b.click("#tab-road-test")
	b.says("Road test")
	b.shows(".suspects", "seen: nothing yet")
	b.click("#saw-R-bind")
	b.shows(".suspects", "seen: R: bind")
	b.click("#saw-N-forward")
	b.shows(".suspects", "1. forward 2 suspects: agrees with both observations")
	b.shows(".suspects", "forward: always fed; stuck on")
	b.shows("#told", "1. forward")
	b.shows("#console", "Suspects 1. forward")
	b.shows("#console", "Next test 1. ")
	b.shows(".next", "1. ")
	if js[int](b, `document.querySelectorAll(".next li").length`) < 2 {
		t.Error("the next tests do not say what each suspect would show")
	}
	b.click("#more-D1 summary")
	b.click("#saw-D1-no-engine-braking")
	b.shows(".suspects", "D1: no-engine-braking")
	if !js[bool](b, `document.querySelector("#more-D1").open`) {
		t.Error("what was opened is closed again")
	}
	b.do(chromedp.SendKeys(chromedp.CSS("#ratio-D1"), "2.45"+kb.Enter))
	b.shows(".suspects", "D1: no-engine-braking, 2.45")
	b.click("#sheet-known summary")
	b.choose("#when-0", "sudden")
	b.shows(".suspects", "circumstances: it came suddenly")
	b.do(chromedp.SendKeys(chromedp.CSS("#complaint"), "drives in neutral"+kb.Tab))
	b.shows(".suspects", "complaint: drives in neutral")

	// Two things that cannot both be: the second is refused, the first stays.
	b.click("#saw-R-not")
	b.shows(".suspects", "seen: N: forward; D1: no-engine-braking, 2.45")
	b.click("#saw-R-bind")
	b.shows(".suspects", "R: bind")
	b.do(chromedp.Reload())
	b.shows(".suspects", "forward: always fed; stuck on")

	sheet := js[string](b, `(() => { const r = new XMLHttpRequest(); r.open("GET", "/sheet.yaml" + location.search, false); r.send(); return r.responseText; })()`)
	file := filepath.Join(t.TempDir(), "bus-14.yaml")
	if err := os.WriteFile(file, []byte(sheet), 0o666); err != nil {
		t.Fatal(err)
	}
	address := js[string](b, "location.href")
	b.visit("/?range=R&train=simpson-three-speed")
	b.drop(file)
	b.shows(".suspects", "forward: always fed; stuck on")
	if now := js[string](b, "location.search"); !strings.HasSuffix(strings.Replace(address, "range=R", "range=D1", 1), now) {
		t.Errorf("the sheet leads to %s, and was saved from %s", now, address)
	}
	// A broken sheet is refused at its line.
	if err := os.WriteFile(file, []byte(strings.Replace(sheet, "R:  bind", "R:  bound", 1)), 0o666); err != nil {
		t.Fatal(err)
	}
	b.refused++
	b.do(chromedp.SetUploadFiles(chromedp.CSS("#sheet-file"), []string{file}))
	b.shows(".problem", `no such observation "bound"`)
}

// A mechanic in the workshop: choose a test, say what it showed, and note what a
// proposed test showed by choosing it.
func TestBrowserWorkshop(t *testing.T) {
	b := openTab(t, "/?mode=road-test&range=R&saw.D1=forward%2C+engine-braking&saw.D2=bind&saw.D3=bind&saw.R=ok&train=depot-shuttle-three-speed")
	b.shows(".suspects", "1. low-reverse or roller")
	b.shows(".suspects", "no test on the road can tell them apart")
	b.click("#sheet-shop summary")
	b.choose("#test", "air:low-reverse")
	b.shows("#sheet-shop", "Air to low-reverse, valve body off: does it apply and let go?")
	b.choose(`[id="shop-0-air:low-reverse"]`, "bad")
	b.shows(".suspects", "air:low-reverse: bad")
	b.shows(".suspects", "1. low-reverse is stuck on")
	b.choose(`[id="shop-0-air:low-reverse"]`, "good")
	b.shows(".suspects", "air:low-reverse: good")
	b.shows(".suspects", "2 suspects")
	b.click(`.next li button[value="saw.pressure%3Alow-reverse%40P=none"]`)
	b.shows(".suspects", "1. roller or low-reverse")
	b.shows("#sheet-shop", "Pressure at the tap of low-reverse in P: is it fed? none")
	b.choose("#test", "bench:forward")
	b.do(chromedp.SendKeys(chromedp.CSS(`[id="turns-bench:forward"]`), "0.41+"+kb.Enter))
	b.shows(".suspects", "bench:forward: turns 0.41+")
	b.do(chromedp.Reload())
	b.shows(".suspects", "bench:forward: turns 0.41+")
	b.choose(`[id="shop-0-air:low-reverse"]`, "")
	b.shows(".suspects", "pressure:low-reverse@P: none; bench:forward")
}

// Everything by keyboard: skip to the answer, move the selector, add a fault,
// take it away, and keep the focus where it was.
func TestBrowserKeyboard(t *testing.T) {
	b := openTab(t, "/?range=P&train=simpson-three-speed")
	focus := func() string {
		return js[string](b, "document.activeElement.id || document.activeElement.className || document.activeElement.tagName")
	}
	to := func(id string) {
		t.Helper()
		for range 60 {
			if focus() == id {
				return
			}
			b.press(kb.Tab)
		}
		t.Fatalf("the tab key does not lead to %s", id)
	}
	b.press(kb.Tab)
	if got := focus(); got != "skip" {
		t.Errorf("the first tab leads to %s", got)
	}
	b.press(kb.Enter)
	if got := focus(); got != "verdict" {
		t.Errorf("the skip link leads to %s", got)
	}
	b.visit("/?range=P&train=simpson-three-speed")
	to("at-0-P")
	b.press(kb.ArrowDown)
	b.says("R drives backward at 2.09")
	if got := focus(); got != "at-1-R" {
		t.Errorf("after moving the selector the focus is on %s", got)
	}
	b.press(kb.ArrowDown)
	b.says("N no drive")
	b.press(kb.ArrowUp)
	b.says("R drives backward at 2.09")
	to("add-open")
	b.press(kb.Enter)
	to("add")
	b.press("f", "o", "r", "w", "a", "r", "d", " ", "i") // forward is stuck on
	b.wait(`document.querySelector("#add").value === "forward=stuck"`)
	to("add-fault")
	b.press(kb.Enter)
	b.says("R ties up")
	to("drop-0")
	b.press(kb.Enter)
	b.says("R drives backward at 2.09")
	if got := focus(); got != "add-open" {
		t.Errorf("after removing the fault the focus is on %s", got)
	}
	// Arrows move the selector where nothing has the focus, before a class, too.
	b.visit("/?present=1&range=P&train=simpson-three-speed")
	b.press(kb.ArrowRight)
	b.says("R drives backward at 2.09")
	if got := focus(); got != "at-1-R" {
		t.Errorf("an arrow leads to %s", got)
	}
	b.visit("/?range=R&train=simpson-three-speed")
	// Each control shows that it has the focus.
	for range 30 {
		b.press(kb.Tab)
		if !js[bool](b, `(() => {
			const e = document.activeElement;
			const shown = (x) => x && getComputedStyle(x).outlineStyle !== "none" && parseFloat(getComputedStyle(x).outlineWidth) >= 2;
			return e === document.body || shown(e) || shown(e.nextElementSibling);
		})()`) {
			t.Errorf("no outline around %s", focus())
		}
	}
}

// Without its script the page is forms and links, and answers all the same.
func TestBrowserWithoutScript(t *testing.T) {
	b := openTab(t, "/?range=R&train=simpson-three-speed")
	b.do(chromedp.Func(func(ctx context.Context, _ *chromedp.Target) error {
		_, err := chromedp.Call(ctx, emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{Value: true})
		return err
	}))
	b.visit("/?range=R&train=simpson-three-speed")
	b.click("#add-open")
	b.do(chromedp.SendKeys(chromedp.CSS("#add"), "forward is"))
	b.click("#add-fault")
	b.do(chromedp.WaitVisible(chromedp.CSS(".danger")))
	b.says("R ties up")
	b.click("#at-2-N")
	b.click(".sel noscript button")
	b.wait(`location.search.includes("range=N")`)
	b.says("N drives forward at 2.48, as D1")

	// The bench, too: what is typed goes with the result that is pressed.
	b.visit("/?mode=road-test&range=R&saw.D1=forward%2C+rolls&saw.R=bind&train=depot-shuttle-three-speed")
	b.wait(`document.readyState === "complete"`)
	b.do(chromedp.SendKeys(chromedp.CSS("#complaint"), "creeps"))
	b.click(".next li button")
	b.wait(`location.search.includes("complaint=creeps") && location.search.split("saw.").length === 4 && document.readyState === "complete"`)
	b.click("#saw-D1-not")
	b.click("#diagnose")
	b.wait(`location.search.includes("complaint=creeps") && !location.search.includes("saw.D1")`)
}

// axe is the script of axe-core, which looks for barriers in a page.
func axe(t *testing.T) string {
	t.Helper()
	const file = "testdata/axe/node_modules/axe-core/axe.min.js"
	script, err := os.ReadFile(file)
	if err == nil {
		return string(script)
	}
	missing := "the accessibility test needs axe-core: npm ci --prefix cmd/internal/serve/testdata/axe"
	if os.Getenv("CI") == "true" {
		t.Fatal(missing)
	}
	t.Skip(missing)
	return ""
}

// axe-core finds no barrier of WCAG 2.2 A or AA, nor any breach of good
// practice, in any mode, light or dark, wide or narrow.
func TestBrowserAccessibility(t *testing.T) {
	script := axe(t)
	b := openTab(t, "")
	const lesson = "/?fault=direct%3Dstuck&mode=lesson&range=R&say.N=neutral&say.R=tie-up&train=simpson-three-speed"
	for _, state := range []struct {
		address, shade string
		width          int64
	}{
		{"/?range=D1&train=simpson-three-speed", "light", 1440},
		{"/?fault=forward%3Dstuck&range=R&train=simpson-three-speed", "dark", 1440},
		{"/?fault=forward%3Dstuck&range=R&train=simpson-three-speed", "light", 390},
		{"/?fault=forward%3Dstuck&present=1&range=R&step=2&train=simpson-three-speed", "light", 1440},
		{"/?fault=forward%3Dstuck&present=1&range=R&train=simpson-three-speed", "dark", 1440},
		{"/?range=9&train=hub-fourteen-speed", "dark", 1024},
		{"/?range=D5&train=four-carrier-eight-speed", "light", 390},
		{"/?mode=time&range=D2&to=D3&train=depot-shuttle-three-speed", "dark", 390},
		{"/?mode=time&range=D2&to=D3&train=depot-shuttle-three-speed", "light", 1440},
		{"/?mode=time&present=1&range=D2&to=D3&train=depot-shuttle-three-speed", "dark", 1440},
		{"/?fault=forward%3Dweak+0.5&mode=work&range=N&train=depot-shuttle-three-speed", "light", 390},
		{"/?fault=forward%3Dstuck&mode=work&range=R&train=simpson-three-speed", "dark", 1440},
		{lesson, "light", 390},
		{lesson + "&reveal=1", "dark", 1440},
		{lesson + "&present=1", "dark", 1440},
		{"/?fault=low-roller%3Dslips&range=D1&step=2&train=simpson-three-speed", "dark", 390},
		{"/?mode=road-test&range=R&saw.D1=none%2C+rolls&saw.N=forward&saw.R=bind&train=simpson-three-speed", "light", 1440},
		{"/?mode=road-test&range=R&train=simpson-three-speed", "dark", 390},
		{"/?mode=road-test&range=R&saw.R=bind&saw.air%3Adirect=good&saw.bench%3A-=back-turns&train=depot-shuttle-three-speed", "dark", 1280},
		{"/?range=high&train=no-such-train", "light", 1280},
	} {
		b.do(chromedp.EmulateViewport(state.width, 900))
		if strings.Contains(state.address, "no-such") {
			b.refused++
		}
		b.visit(state.address + "&shade=" + state.shade)
		js[bool](b, script+"; true")
		for _, f := range b.barriers() {
			t.Errorf("%s, %s, %d wide: %s", state.address, state.shade, state.width, f)
		}
	}
}

// barriers runs axe-core on the page.
func (b *tab) barriers() []string {
	b.Helper()
	found, err := chromedp.Run(b.ctx, chromedp.Evaluate[[]string](`axe.run(document, {
		runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"],
		resultTypes: ["violations"], // of what is right no list is made
	}).then((r) => r.violations.map((v) => v.impact + " " + v.id + ": " + v.help + ": " + v.nodes.slice(0, 4).map((n) => n.target + " (" + n.failureSummary.replace(/\s+/g, " ") + ")").join("; ")))`, chromedp.EvalAwaitPromise))
	if err != nil {
		b.Fatal(err)
	}
	return found
}

// hold presses the pointer on what a selector finds, and lets it go after a while.
func (b *tab) hold(selector string, while time.Duration) {
	b.Helper()
	b.do(chromedp.ScrollIntoView(chromedp.CSS(selector)))
	at := js[[]float64](b, `(() => { const r = document.querySelector(`+quoted(selector)+`).getBoundingClientRect(); return [r.x + r.width / 2, r.y + r.height / 2]; })()`)
	event := func(kind input.DispatchMouseEventType) {
		p := input.DispatchMouseEventParams{Type: kind, X: at[0], Y: at[1], Button: input.MouseButtonLeft, ClickCount: 1}
		b.atOnce(chromedp.Func(func(ctx context.Context, _ *chromedp.Target) error {
			_, err := chromedp.Call(ctx, input.DispatchMouseEvent, p)
			return err
		}))
	}
	event(input.DispatchMouseEventTypeMousePressed)
	time.Sleep(while) // as a hand does
	event(input.DispatchMouseEventTypeMouseReleased)
}

// What is typed and then pressed, ticked or left by a link all counts, however
// long the press: the answer to what was typed takes neither away.
func TestBrowserBenchLosesNothing(t *testing.T) {
	const start = "/?mode=road-test&range=R&saw.D1=forward&train=overdrive-simpson-four-speed"
	b := openTab(t, start)
	typed := func(selector, text string) {
		b.visit(start)
		b.click("#more-D2 summary")
		b.do(chromedp.SendKeys(chromedp.CSS(selector), text))
	}
	address := func() string { return js[string](b, `decodeURIComponent(location.search).replaceAll("+", " ")`) }
	holds := []time.Duration{30 * time.Millisecond}
	if os.Getenv("TIEUP_EXHAUSTIVE") != "" {
		holds = []time.Duration{0, 30 * time.Millisecond, 600 * time.Millisecond}
	}
	for _, while := range holds {
		typed("#ratio-D2", "1.55")
		b.hold(".next li button", while)
		b.wait(`document.activeElement.id === "next"`)
		if got := address(); !strings.Contains(got, "saw.D2=1.55") || strings.Count(got, "saw.") != 3 && !strings.Contains(got, "saw.D1=forward,") {
			t.Errorf("a ratio typed and a result pressed for %v lead to %s", while, got)
		}

		typed("#ratio-D2", "1.55")
		b.hold("#saw-R-ok", while)
		b.shows(".suspects", "R: ok")
		if got := address(); !strings.Contains(got, "saw.D2=1.55") || !strings.Contains(got, "saw.R=ok") {
			t.Errorf("a ratio typed and a word ticked for %v lead to %s", while, got)
		}

		typed("#ratio-D2", "1.55")
		b.hold("#tab-look", while)
		b.wait(`document.querySelector("#verdict")`)
		if got := address(); !strings.Contains(got, "saw.D2=1.55") {
			t.Errorf("a ratio typed and the page left after %v lead to %s", while, got)
		}

		typed("#complaint", "bumps into second")
		b.asked()
		b.hold("#save-sheet", while)
		b.wait(`decodeURIComponent(location.search).includes("bumps")`)
		b.until(func() bool {
			return slices.ContainsFunc(b.asked(), func(u string) bool { return strings.Contains(u, "/sheet.yaml?complaint=bumps+into+second") })
		})
	}

	// What is typed while an answer is under way stays, and is sent when it is left.
	b.visit(start)
	b.click("#more-D2 summary")
	js[bool](b, `(() => {
		document.querySelector("#saw-R-ok").click();
		const field = document.querySelector("#ratio-D2");
		field.focus();
		document.execCommand("insertText", false, "1.55");
		return true;
	})()`)
	b.shows(".suspects", "R: ok")
	if got := js[string](b, `document.activeElement.id + " " + document.activeElement.value`); got != "ratio-D2 1.55" {
		t.Errorf("the field under way is %s", got)
	}
	b.press(kb.Tab)
	b.shows(".suspects", "D2: 1.55")
}

// A decimal comma is a point, and what may be read in two ways is refused whole,
// in sight, with the text still there.
func TestBrowserNumbers(t *testing.T) {
	const start = "/?mode=road-test&range=R&saw.L1=forward&train=depot-shuttle-three-speed"
	b := openTab(t, start)
	b.do(chromedp.EmulateViewport(390, 740))
	b.visit(start)
	b.click("#more-L1 summary")
	b.do(chromedp.SendKeys(chromedp.CSS("#ratio-L1"), "2,45"+kb.Enter))
	b.shows(".suspects", "L1: forward, 2.45")
	before := js[string](b, "location.href")
	for _, wrong := range []string{"1800/0", "1,800/735"} {
		b.do(chromedp.Clear(chromedp.CSS("#ratio-L1")))
		b.refused++
		b.do(chromedp.SendKeys(chromedp.CSS("#ratio-L1"), wrong+kb.Tab))
		b.shows(".problem", "L1: ")
		b.wait(`document.activeElement.id === "problem-head"`)
		if top := js[float64](b, `document.querySelector(".problem").getBoundingClientRect().top`); top < 0 || top > 700 {
			t.Errorf("%s: the problem is at %g of 740", wrong, top)
		}
		if got := js[string](b, `document.querySelector("#ratio-L1").value`); got != wrong {
			t.Errorf("%s: the field now holds %q", wrong, got)
		}
		b.shows(".suspects", "seen: L1: forward not tested")
	}
	if now := js[string](b, "location.href"); now != before {
		t.Errorf("what is refused leads to %s", now)
	}
	b.do(chromedp.Clear(chromedp.CSS("#ratio-L1")))
	b.do(chromedp.SendKeys(chromedp.CSS("#ratio-L1"), "2.45"+kb.Enter))
	b.wait(`!document.querySelector(".problem")`)
	b.shows(".suspects", "L1: forward, 2.45")
	b.click("#saw-L1-not")
	b.shows(".suspects", "seen: nothing yet")
}

// Where no answer comes, everybody sees that, and nothing seems to be chosen that
// is not shown: a folder that is dropped, an answer that is no page, and a server
// that is gone.
func TestBrowserNoAnswer(t *testing.T) {
	b := openTab(t, "/?range=R&train=simpson-three-speed")
	seen := func(want string) {
		t.Helper()
		b.wait(`(() => {
			const t = document.querySelector("#trouble"), r = t.getBoundingClientRect();
			return t.checkVisibility() && r.top >= 0 && r.bottom <= innerHeight && r.width > 200 && t.textContent.includes(` + quoted(want) + `);
		})()`)
	}
	b.drop(t.TempDir())
	seen("cannot be read. Is it a folder? Drop one file.")
	b.click("#at-2-N")
	b.says("N no drive")
	if js[bool](b, `document.querySelector("#trouble").checkVisibility()`) {
		t.Error("the trouble is shown though it is over")
	}
	js[bool](b, `(() => { document.querySelector("#share").value = "9".repeat(100000); return true; })()`)
	b.refused++
	b.stick("forward=weak")
	seen("the address is longer than any state of the page")
	js[bool](b, `(() => { document.querySelector("#share").value = ""; return true; })()`)
	b.choose("#add", "")

	b.stop()
	b.until(func() bool {
		r, err := http.Get(b.base + "/assets/mark.svg")
		if err == nil {
			r.Body.Close()
		}
		return err != nil
	})
	b.click("#at-1-R")
	seen("tieup does not answer: is it still running?")
	if !js[bool](b, `document.querySelector("#at-2-N").checked`) {
		t.Error("the selector shows a range of which nothing is shown")
	}
	b.says("N no drive")
	b.choose("#train", "hub-three-speed")
	b.wait(`document.querySelector("#train").value === "simpson-three-speed"`)
	if script := axe(t); script != "" {
		js[bool](b, script+"; true")
		for _, f := range b.barriers() {
			t.Error(f)
		}
	}
}

// The focus stays where it was, or goes to the heading of what follows from what
// was pressed: never to nothing.
func TestBrowserFocusStays(t *testing.T) {
	b := openTab(t, "/?range=D2&train=depot-shuttle-three-speed")
	press := func(selector, came, want string) {
		t.Helper()
		js[bool](b, `(() => { document.querySelector(`+quoted(selector)+`).focus(); return true; })()`)
		b.press(kb.Enter)
		b.wait(came)
		if got := js[string](b, "document.activeElement.id || document.activeElement.tagName"); got != want {
			t.Errorf("after %s the focus is on %s, want %s", selector, got, want)
		}
	}
	press("#tab-lesson", `document.querySelector(".lesson")`, "tab-lesson")
	press("#next-round", `location.search.includes("fault=")`, "next-round")
	press("#tab-road-test", `document.querySelector("#sheet")`, "tab-road-test")
	press(".next li button", `location.search.includes("saw.")`, "next")
	press("#all-suspects", `location.search.includes("all=1")`, "all-suspects")
	press("#tab-look", `document.querySelector("#verdict")`, "tab-look")
	press("#work", `document.querySelector(".work")`, "work")
}
