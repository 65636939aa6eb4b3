package serve

import (
	"testing"

	"github.com/chromedp/chromedp/kb"
)

// A shift is chosen and scrubbed by its cursor: curves, gears and lever show the same
// moment. Played, it goes on and can be stopped; moving the selector puts it away.
func TestBrowserShiftInTime(t *testing.T) {
	b := openTab(t, "/?fault=intermediate%3Dstuck&range=D2&train=depot-shuttle-three-speed")
	b.media("", "prefers-reduced-motion", "reduce")
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
	b.click("#play")
	b.wait(`document.querySelector("#play .word").textContent === "Pause"`)
	b.wait(`document.querySelector("#moment-now").textContent !== ` + quoted(moment))
	b.click("#play")
	b.wait(`document.querySelector("#play .word").textContent === "Play"`)
	b.click("#at-4-L1")
	b.wait(`document.querySelector("#band .range").textContent === "L1" && !location.search.includes("to=D3")`)
}
