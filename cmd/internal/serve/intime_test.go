package serve

import "testing"

// A shift is chosen, played through its course, and stopped; moving the selector
// puts it away.
func TestBrowserShiftInTime(t *testing.T) {
	b := openTab(t, "/?fault=intermediate%3Dstuck&range=D2&train=depot-shuttle-three-speed")
	b.click(`a[href*="to=D3"]`)
	b.shows(`section[aria-labelledby="in-time"]`, "intermediate fights the drive")
	b.wait(`!document.getElementById("play-shift").hidden`)
	b.click("#play-shift")
	b.wait(`document.getElementById("shift-now").textContent.startsWith("s 0.00, input rpm ")`)
	first := js[string](b, `document.getElementById("shift-now").textContent`)
	b.wait(`document.querySelectorAll("#course tr.here").length === 1 && !document.getElementById("shift-now").textContent.startsWith("s 0.00,")`)
	if next := js[string](b, `document.getElementById("shift-now").textContent`); next == first {
		t.Errorf("the course stays at %q", first)
	}
	b.click("#play-shift")
	b.wait(`document.getElementById("play-shift").textContent.startsWith("Play")`)
	b.click("#at-4-L1")
	b.wait(`document.querySelector("main h1").textContent.includes("L1") && !document.getElementById("play-shift") && !location.search.includes("to=")`)
}
