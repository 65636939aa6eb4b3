package serve

import (
	"math"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

// A shift is chosen and scrubbed by its cursor: curves, gears and lever show the same
// moment. Played, it goes on and can be stopped; moving the selector puts it away.
func TestBrowserShiftInTime(t *testing.T) {
	b := openTab(t, "/?fault=intermediate%3Dstuck&range=D2&train=depot-shuttle-three-speed")
	b.click("#tab-time")
	b.wait(`document.querySelector("#course svg")`)
	b.click("#play-D2-D3")
	b.shows("#band .why", "intermediate fights the drive")
	b.shows("#moment-now", "0.00 s: input 1310")
	// The lever shows the speeds of the course at the moment of the cursor.
	at := func() []float64 {
		return js[[]float64](b, `[...document.querySelectorAll("#lever .body")].filter((e) => e.tagName !== "g").map((e) => e.getBoundingClientRect().x)`)
	}
	first := at()
	js[bool](b, `document.querySelector("#moment").focus() === undefined`)
	for range 30 {
		b.press(kb.ArrowRight)
	}
	if next := at(); len(first) < 4 || len(next) != len(first) || next[0] == first[0] && next[1] == first[1] && next[2] == first[2] {
		t.Errorf("the lever stays at %v while the cursor moves: %v", first, next)
	}
	moment := js[string](b, `document.querySelector("#moment-now").textContent`)
	if word := js[string](b, `document.querySelector("#play .word").textContent`); word != "Step" {
		t.Errorf("without motion the button says %q", word)
	}
	b.media("", moving...)
	b.click("#play")
	b.wait(`document.querySelector("#play .word").textContent === "Pause"`)
	b.wait(`document.querySelector("#moment-now").textContent !== ` + quoted(moment))
	b.click("#play")
	b.wait(`document.querySelector("#play .word").textContent === "Play"`)
	b.click("#at-4-L1")
	b.wait(`document.querySelector("#band .range").textContent === "L1" && !location.search.includes("to=D3")`)
}

// The large type says what the train does at the moment of the cursor, with its tone; the address
// keeps the moment, on a phone, where gears turn below the curve, and when presenting, where the
// shift can be played, too.
func TestBrowserMoment(t *testing.T) {
	b := openTab(t, "")
	b.do(chromedp.EmulateViewport(390, 844))
	b.ready("/?fault=forward%3Dstuck&mode=time&range=N&to=R&train=simpson-three-speed")
	const says = `[document.querySelector("#band .range"), document.querySelector("#band .head")].map((e) => e.textContent).join(": ") +
		(document.querySelector("#page.danger") ? " !" : "") + " " + document.querySelector("#band .sign").innerHTML.includes("M23 5v36")`
	check := func(when, want string) {
		t.Helper()
		if got := js[string](b, says); got != want {
			t.Errorf("%s: %s, want %s", when, got, want)
		}
	}
	check("first", "N to R: drives forward at 2.48, as D1 ! false")
	if gears := js[float64](b, `document.querySelector("#gears svg").getBoundingClientRect().height`); gears < 150 {
		t.Errorf("on a phone the gears are %g high", gears)
	}
	// front.ring turns with the turbine, and does not hide it.
	if dashed := js[bool](b, `[...document.querySelectorAll("#course .body")].some((g) => g.textContent === "front.ring" && g.querySelector("path").getAttribute("stroke-dasharray") === "12 12")`); !dashed {
		t.Error("the curve of front.ring hides that of the turbine")
	}
	js[bool](b, `document.querySelector("#moment").focus() === undefined`)
	b.press(kb.End)
	check("at the end", "N to R: ties up ! true")
	b.wait(`/moment=0\.\d/.test(location.search)`)
	b.do(chromedp.Reload())
	b.wait(`document.documentElement.dataset.ready && document.querySelector("#moment").value === document.querySelector("#moment").max`)
	check("again", "N to R: ties up ! true")
	b.press(",")
	b.press(",")
	b.wait(`Number(document.querySelector("#moment").max) - Number(document.querySelector("#moment").value) === 2`)

	b.do(chromedp.EmulateViewport(1440, 900))
	b.ready("/?mode=time&moment=0.5&present=1&range=D1&to=D2&train=simpson-three-speed")
	check("between", "D1 to D2: intermediate slips false")
	b.click("#play")
	b.wait(`!location.search.includes("moment=0.5&")`)
	for range 10 {
		b.click("#play")
	}
	check("after", "D1 to D2: drives forward at 1.48, as D2 false")
	b.wait(`!!document.querySelector("#page.present")`)

	// Above the curves stands what the train does.
	b.ready("/?mode=time&range=D2&to=D3&train=simpson-three-speed")
	for _, words := range []string{"drives forward at 1.48, as D2", "direct slips", "drives forward at 1.00, as D3"} {
		if !js[bool](b, `[...document.querySelectorAll("#course text")].some((e) => e.textContent === `+quoted(words)+`)`) {
			t.Errorf("nothing above the curves says %q", words)
		}
	}
}

// Played, a shift takes ten times as long as it takes, and all of it goes on together:
// the cursor, the lever, and the gears, each by the mean of its speed between two
// moments.
func TestBrowserShiftPlayed(t *testing.T) {
	b := openTab(t, "")
	b.media("", moving...)
	const sample = `(() => {
		const angles = {};
		for (const g of document.querySelectorAll("#gears .body")) {
			const turning = g.firstElementChild;
			if (turning.tagName === "g") angles[g.dataset.body] ??= Number(/rotate\(([^)]*)\)$/.exec(turning.getAttribute("transform"))[1]);
		}
		return { angles, cursor: Number(document.querySelector("#moment").value), lever: document.querySelector("#lever polyline").getAttribute("points") };
	})()`
	type course struct {
		Gap, Seconds, Cursor, Levers float64 // Gap is the longest time between two frames, in seconds
		Turned                       map[string]float64
	}
	play := func() course {
		b.ready("/?mode=time&pace=20&range=D2&to=D3&train=depot-shuttle-three-speed")
		b.wait(`document.querySelector("#course svg")`)
		return awaited[course](b, `new Promise((done) => {
			const sum = {}, levers = new Set();
			let last = `+sample+`, gap = 0, before = 0;
			const first = last.cursor;
			document.querySelector("#play").click();
			const begin = performance.now();
			const step = (frame) => {
				const now = `+sample+`;
				if (before) gap = Math.max(gap, frame - before);
				before = frame;
				for (const k in now.angles) {
					const by = ((now.angles[k] - last.angles[k] + 540) % 360) - 180;
					sum[k] = (sum[k] || 0) + by;
				}
				levers.add(now.lever);
				last = now;
				if (performance.now() - begin < 3000) requestAnimationFrame(step);
				else done({ Gap: gap / 1000, Seconds: (performance.now() - begin) / 1000, Cursor: now.cursor - first, Levers: levers.size, Turned: sum });
			};
			requestAnimationFrame(step);
		})`)
	}
	// Between two frames no gear may turn by half a turn, or nobody sees which way: where
	// the machine is too busy for that, the shift is played again.
	got := play()
	for range 20 {
		if got.Gap < 0.5 {
			break
		}
		got = play()
	}
	if got.Cursor < 10 || got.Levers < 3 {
		t.Errorf("in %.1f s the cursor goes on by %g moments, the lever has %g places", got.Seconds, got.Cursor, got.Levers)
	}
	// At 20 turns per minute the input turns by 120 degrees in a second, less where it is
	// slower than at its greatest.
	greatest := 0.0
	for _, a := range got.Turned {
		greatest = max(greatest, math.Abs(a))
	}
	if perSecond := greatest / got.Seconds; perSecond < 60 || perSecond > 133 {
		t.Errorf("the gears turn by %v degrees in %.1f s", got.Turned, got.Seconds)
	}
}
