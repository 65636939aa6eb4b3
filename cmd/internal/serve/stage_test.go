package serve

import (
	"context"
	"fmt"
	"math"
	"net/url"
	"os"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"tieup/gearsets"
	"tieup/kinematics/solve"
)

// ready waits until the stage of an address is drawn.
func (b *tab) ready(address string) {
	b.Helper()
	b.visit(address)
	b.wait(`document.documentElement.dataset.ready && (!document.querySelector("#gears") || document.querySelector("svg.p"))`)
}

// spills lists what does not lie within its place: boxes of the grid beyond the window,
// words of a picture beyond its place, words of band, notes and console that are cut,
// and labels of a picture that overlap.
const spills = `(() => {
	const bad = [], box = (e) => e.getBoundingClientRect();
	const shown = (e) => e.checkVisibility() && box(e).width > 0;
	if (document.scrollingElement.scrollHeight > innerHeight + 1 || document.scrollingElement.scrollWidth > innerWidth + 1) bad.push("the page scrolls");
	for (const id of ["top", "band", "stage", "console"]) {
		const e = document.getElementById(id), r = box(e);
		if (shown(e) && (r.top < -1 || r.bottom > innerHeight + 1 || r.right > innerWidth + 1)) bad.push(id + " ends at " + r.right + ", " + r.bottom);
	}
	for (const e of document.querySelectorAll("#band .range, #band h1, #band .why, #band .caution, #ways li, #ways .choice label")) {
		if (!shown(e)) continue;
		const place = box(e.closest("#band, #ways")), r = box(e);
		if (r.top < place.top - 2 || r.bottom > place.bottom + 2 || r.right > place.right + 2 || e.scrollHeight > e.clientHeight + 4 && e.clientHeight)
			if (!e.closest("#reason")) bad.push("cut: " + e.textContent.trim().slice(0, 60) + " (" + Math.round(r.bottom - place.bottom) + ", " + (e.scrollHeight - e.clientHeight) + ")");
	}
	const why = document.querySelector("#reason:not([open]) summary"), room = why && box(why);
	if (room && !why.classList.contains("words") && why.scrollHeight > why.clientHeight + 1) bad.push("cut: " + why.textContent);
	if (room && (room.bottom > box(document.getElementById("band")).bottom || room.top < box(document.getElementById("band")).top)) bad.push("the reason lies beyond its band");
	const lines = [...(why?.querySelectorAll(".lines > span") || [])];
	for (const [k, r] of lines.map(box).entries()) { // shown whole, or not at all
		if (r.left < room.right - 1 ? r.bottom > room.bottom + 1 : !k) bad.push("cut: " + lines[k].textContent);
	}
	for (const e of document.querySelectorAll("#ways li .m")) if (shown(e) && (box(e).height < 8 || box(e).bottom > box(e.closest("li")).bottom + 1)) bad.push("cut: " + e.textContent);
	for (const e of document.querySelectorAll("#ways .named > span")) if (shown(e) && box(e).left < box(e.closest(".named")).right - 1 && box(e).bottom > box(e.closest("li")).bottom + 1) bad.push("cut: " + e.textContent);
	for (const e of document.querySelectorAll("#ways li b")) if (shown(e) && e.scrollWidth > e.clientWidth + 1) bad.push("cut: " + e.textContent);
	const order = [...document.querySelectorAll("#ways li")].filter(shown).map(box);
	if (order.some((r, i) => i && (r.top < order[i - 1].top - 2 || r.top < order[i - 1].bottom - 2 && r.left < order[i - 1].left))) bad.push("the notes stand in another order");
	for (const svg of document.querySelectorAll("svg.p")) {
		if (!shown(svg)) continue;
		const place = box(svg), words = [...svg.querySelectorAll("text")].filter((t) => t.textContent.trim()).map((t) => [t.textContent, box(t)]);
		words.forEach(([text, r], i) => {
			if (r.left < place.left - 1 || r.right > place.right + 1 || r.top < place.top - 3 || r.bottom > place.bottom + 3) bad.push(svg.parentElement.id + ": beyond: " + text);
			for (const [other, q] of words.slice(i + 1)) {
				const x = Math.min(r.right, q.right) - Math.max(r.left, q.left), y = Math.min(r.bottom, q.bottom) - Math.max(r.top, q.top);
				if (x > 2 && y > 4) bad.push(svg.parentElement.id + ": " + text + " over " + other);
			}
		});
	}
	return bad;
})()`

// covers lists the words of the half-section that lie over the line of another body, and of
// the lever those that lie over a marker.
const covers = `(() => {
	const bad = [];
	const box = (t) => { const r = t.getBBox(), f = Number(t.getAttribute("font-size")); return { x: r.x + 1, y: Number(t.getAttribute("y")) - f * 0.7, w: r.width - 2, h: f * 0.68 }; };
	const over = (a, b) => Math.min(a.x + a.w, b.x + b.w) - Math.max(a.x, b.x) > 1.5 && Math.min(a.y + a.h, b.y + b.h) - Math.max(a.y, b.y) > 1.5;
	const words = (svg) => [...(svg?.querySelectorAll("text[paint-order]:not(.key)") || [])].filter((t) => t.textContent.trim()); // others stand in their boxes
	const section = document.querySelector("#section svg.p");
	const lines = [];
	for (const g of section?.querySelectorAll(":scope > g.body") || []) {
		const wire = g.querySelectorAll("path")[1];
		let last = null;
		for (const [, how, x, y] of (wire?.getAttribute("d") || "").matchAll(/([ML])([-\d.]+) ([-\d.]+)/g)) {
			if (how === "L") lines.push({ body: g.dataset.body, x: Math.min(x, last[0]) - 2, y: Math.min(y, last[1]) - 2, w: Math.abs(x - last[0]) + 4, h: Math.abs(y - last[1]) + 4 });
			last = [x, y];
		}
	}
	for (const t of words(section)) {
		const body = t.closest("[data-body]")?.dataset.body, element = t.closest("[data-element]")?.dataset.bodies?.split(" ") || [];
		if (lines.some((l) => l.body !== body && !element.includes(l.body) && over(box(t), l))) bad.push("section: " + t.textContent + " on the line of another body");
	}
	const lever = document.querySelector("#lever svg.p");
	const markers = [...(lever?.querySelectorAll("circle.body, path.body, g.body circle") || [])].map((m) => m.getBBox()).map((r) => ({ x: r.x, y: r.y, w: r.width, h: r.height }));
	for (const t of words(lever)) if (markers.some((m) => over(box(t), m))) bad.push("lever: " + t.textContent + " on a marker");
	return bad;
})()`

// Nothing of stage, verdict and console lies below the fold, no word is cut, and no two
// labels lie over each other: on every train of the library, healthy and with a fault
// that ties up or drives where it must not, at the three sizes of the design; on the largest
// none lies over the line of another body or over a marker. The boxes
// of the grid are the same for every state.
func TestBrowserNothingBelowTheFold(t *testing.T) {
	boxes := map[[2]int64]string{}
	for _, name := range sampled() {
		t.Run(name, func(t *testing.T) {
			b := openTab(t, "")
			for _, size := range [][2]int64{{1440, 900}, {1024, 768}, {390, 844}} {
				b.do(chromedp.EmulateViewport(size[0], size[1]))
				for _, query := range someStates(t, name) {
					b.ready("/?" + query)
					bad := js[[]string](b, spills)
					if size[0] == 1440 { // on less there is not always room
						bad = append(bad, js[[]string](b, covers)...)
					}
					if len(bad) > 0 {
						t.Errorf("%d x %d, %s: %s", size[0], size[1], query, strings.Join(bad, "; "))
					}
					now := js[string](b, `["band", "stage", "console", "gears", "lever"].map((id) => { const r = document.getElementById(id).getBoundingClientRect(); return [r.x, r.y, r.width, r.height].map(Math.round).join(); }).join(" ")`)
					if boxes[size] == "" {
						boxes[size] = now
					}
					if now != boxes[size] {
						t.Errorf("%d x %d, %s: the boxes are %s, elsewhere %s", size[0], size[1], query, now, boxes[size])
					}
				}
			}
		})
	}
}

// A reason is whole, at any size, and of the words of a shift what is shown ends with a sentence:
// long ones, frames of a story and shifts with long names among them.
func TestBrowserWholeSentences(t *testing.T) {
	b := openTab(t, "")
	for _, size := range [][2]int64{{1440, 900}, {1024, 768}, {390, 844}} {
		b.do(chromedp.EmulateViewport(size[0], size[1]))
		for _, query := range []string{
			"mode=time&train=simpson-three-speed&range=N&to=R&fault=forward%3Dstuck",
			"mode=time&train=lepelletier-eight-speed&range=D2&to=D3",
			"mode=time&train=overdrive-simpson-four-speed&range=D2&to=D3",
			"mode=time&train=depot-shuttle-three-speed&range=D2&to=D3&fault=intermediate%3Dstuck",
			"mode=time&train=ravigneaux-four-speed&range=M1&to=M2&fault=S2%3Dstuck-on",
			"mode=lesson&train=ravigneaux-four-speed&range=M1&fault=S2%3Dstuck-on",
			"mode=lesson&train=ravigneaux-four-speed&range=M1&fault=S2%3Dstuck-on&reveal=1",
			"train=interlinked-four-speed&range=D3&fault=overdrive%3Dopen&step=1",
			"train=four-carrier-eight-speed&range=D4&fault=input-clutch%3Dstuck",
			"train=ravigneaux-four-speed&range=D2&fault=low-reverse%3Dstuck",
		} {
			for _, as := range []string{"", "&present=1"} {
				if as != "" && size[0] != 1440 {
					continue
				}
				b.ready("/?" + query + as)
				if bad := js[[]string](b, spills); len(bad) > 0 {
					t.Errorf("%d x %d, %s: %s", size[0], size[1], query+as, strings.Join(bad, "; "))
				}
				if js[bool](b, `[...document.querySelectorAll(".in-time, .brief")].some((e) => e.scrollHeight > e.clientHeight)`) {
					t.Errorf("%d x %d, %s: what stands beside the shift, or the warning below a slide, has no room", size[0], size[1], query+as)
				}
				if said := js[string](b, `document.querySelector("#reason .lines span")?.textContent || "N."`); !strings.HasSuffix(said, ".") {
					t.Errorf("%s: %s", query, said)
				}
			}
		}
	}
}

// What is refused stands in a few lines above the train, of which nothing is said: it does not
// move, and no speed, no mark and no note stands there.
func TestBrowserRefusedFault(t *testing.T) {
	b := openTab(t, "")
	b.refused = 4
	for _, size := range [][2]int64{{1440, 900}, {1024, 768}, {390, 844}} {
		b.do(chromedp.EmulateViewport(size[0], size[1]))
		b.ready("/?train=simpson-three-speed&range=D2&fault=nonsense+stuck")
		if got := js[string](b, `getComputedStyle(document.querySelector("#problem-head")).fontSize`); got != "22px" {
			t.Errorf("%d x %d: letters of %s", size[0], size[1], got)
		}
		said := js[[]string](b, `[...document.querySelectorAll("#lever polyline, #gears .arrows *, .cell .mark, #ways li, #band #verdict")].map((e) => e.outerHTML)`)
		if len(said) > 0 || js[bool](b, `/[+−]\d\.\d{3}/.test(document.querySelector("#stage").textContent)`) {
			t.Errorf("%d x %d: below the refusal stand %d signs", size[0], size[1], len(said))
		}
	}
	b.do(chromedp.EmulateViewport(1440, 900))
	b.ready("/?train=simpson-three-speed&range=D2&fault=nonsense+stuck&present=1")
	if got := js[float64](b, `parseFloat(getComputedStyle(document.querySelector("#problem-head")).fontSize)`); got < 22.5 || got > 36 {
		t.Errorf("presented: letters of %g px", got)
	}
}

// sampled are the trains that a long test in the browser goes through: of few and of
// many sets, and one without a shift; with TIEUP_EXHAUSTIVE=1 all, which takes five minutes.
func sampled() []string {
	if os.Getenv("TIEUP_EXHAUSTIVE") == "1" {
		return gearsets.Names()
	}
	return []string{"depot-shuttle-three-speed", "wind-turbine-gearbox", "four-carrier-ten-speed"}
}

// someStates are a few states of a train, as queries: a healthy range, and of the
// single faults one with each of the verdicts that can do harm.
func someStates(t *testing.T, name string) []string {
	t.Helper()
	train, err := gearsets.Library(name)
	if err != nil {
		t.Fatal(err)
	}
	kernel := solve.Compile(train).Kernel()
	query := func(rng string, f string) string {
		q := url.Values{"train": {name}, "range": {rng}}
		if f != "" {
			q.Set("fault", f)
		}
		return q.Encode()
	}
	list := []string{query(train.Ranges[len(train.Ranges)-1].Name, "")}
	seen := map[solve.Verdict]bool{}
	for i := range train.Ranges {
		r := &train.Ranges[i]
		healthy := kernel.Outcome(train.In(r)).Verdict
		for _, f := range train.SingleFaults() {
			if v := kernel.Outcome(train.In(r, f)).Verdict; v != healthy && !seen[v] {
				seen[v] = true
				list = append(list, query(r.Name, train.FaultText(f)))
			}
		}
	}
	return list
}

// In Present the computed size of every text that is shown is at least 2.5 % of the
// height, and nothing lies beyond the screen.
func TestBrowserPresentType(t *testing.T) {
	for _, name := range sampled() {
		t.Run(name, func(t *testing.T) {
			b := openTab(t, "")
			states := someStates(t, name)
			for _, size := range [][2]int64{{1440, 900}, {1920, 1080}} {
				b.do(chromedp.EmulateViewport(size[0], size[1]))
				for _, query := range append(states, "mode=lesson&"+states[0], "mode=time&"+states[0]) {
					b.ready("/?present=1&" + query)
					if small := js[[]string](b, `[...document.querySelectorAll("#page *")].filter((e) => e.checkVisibility() && !e.closest(".unseen") && e.getBoundingClientRect().width > 1 &&
						[...e.childNodes].some((n) => n.nodeType === 3 && n.textContent.trim()) && parseFloat(getComputedStyle(e).fontSize) < innerHeight * 0.025 - 0.01)
						.map((e) => e.textContent.trim().slice(0, 30) + " " + getComputedStyle(e).fontSize)`); len(small) > 0 {
						t.Errorf("%s: of %d high: %s", query, size[1], strings.Join(small, "; "))
					}
					bad := js[[]string](b, spills)
					if size[0] == 1440 { // on less there is not always room
						bad = append(bad, js[[]string](b, covers)...)
					}
					if len(bad) > 0 {
						t.Errorf("present, %d x %d, %s: %s", size[0], size[1], query, strings.Join(bad, "; "))
					}
				}
			}
		})
	}
}

// Over a second every part of the gears turns by its speed times the clock, whatever
// frames were drawn: the angles that stand in the document have the proportions of the
// engine's speeds.
func TestBrowserAngles(t *testing.T) {
	for _, name := range []string{"simpson-three-speed", "four-carrier-eight-speed", "ravigneaux-three-speed"} {
		train, err := gearsets.Library(name)
		if err != nil {
			t.Fatal(err)
		}
		system := solve.Compile(train)
		b := openTab(t, "")
		b.media("", moving...)
		n, _ := train.Range("D2")
		motion := system.Motion(train.In(&train.Ranges[n]))
		b.ready("/?range=D2&train=" + name)
		// The angle of a wheel about the middle is that of its own group; of a pinion it is
		// that of its carrier and its own.
		const angles = `(() => {
			const angle = (e) => Number(/rotate\(([^)]*)\)$/.exec(e.getAttribute("transform"))[1]);
			const wheels = {};
			for (const g of document.querySelectorAll("#gears .body")) {
				const turning = g.firstElementChild;
				if (turning.tagName === "g" && turning.hasAttribute("transform")) (wheels[g.dataset.body] ||= []).push(angle(turning));
			}
			return Object.fromEntries(Object.entries(wheels).map(([k, v]) => [k, v[0]]));
		})()`
		names := js[[]string](b, `[...document.querySelectorAll("#bodies button")].map((e) => e.textContent.replace(/^[^·]*: /, "").split(/[ ,]/)[0])`)
		// Two moments a second or more apart, with the turns between them summed from small
		// steps, since angles come round. A busy machine draws few frames, and each goes a
		// quarter pitch at most: there it takes longer until something has turned by 20 degrees.
		turned := awaited[map[string]float64](b, `new Promise((done) => {
			const sum = {}, begin = performance.now();
			let last = `+angles+`;
			const step = () => {
				const now = `+angles+`;
				for (const k in now) sum[k] = (sum[k] || 0) + ((now[k] - last[k] + 540) % 360) - 180;
				last = now;
				const far = Object.values(sum).some((a) => Math.abs(a) > 20);
				if (performance.now() - begin < 1000 || !far) requestAnimationFrame(step);
				else done(sum);
			};
			requestAnimationFrame(step);
		})`)
		// The body that turns most is the measure; the input itself may be no wheel.
		scale, most := 0.0, 0.0
		for k, a := range turned {
			var i int
			fmt.Sscan(k, &i)
			if i < 0 {
				continue
			}
			id, _ := train.Member(names[i])
			f, one := motion.Members[id].Point()
			if w := f.Float(); one && math.Abs(w) > most {
				scale, most = a/w, math.Abs(w)
			}
		}
		if scale < 1 {
			t.Fatalf("%s: the input has turned by %g degrees", name, scale)
		}
		compared := 0
		for k, a := range turned {
			var i int
			fmt.Sscan(k, &i)
			if i < 0 {
				continue
			}
			id, _ := train.Member(names[i])
			if f, one := motion.Members[id].Point(); one {
				compared++
				if want := f.Float() * scale; math.Abs(a-want) > 0.05+0.002*math.Abs(want) {
					t.Errorf("%s: %s turned by %.3f degrees, want %.3f", name, names[i], a, want)
				}
			}
		}
		if compared < 4 {
			t.Errorf("%s: only %d bodies were compared", name, compared)
		}
	}
}

// A tie-up is played by keys: each frame has its address and the words of its frame,
// and an address leads to its frame.
func TestBrowserStory(t *testing.T) {
	b := openTab(t, "")
	b.ready("/?fault=forward%3Dstuck&range=R&train=simpson-three-speed")
	b.says("R ties up")
	for k, want := range []string{
		"A, without forward: direct and low-reverse drive it backward at 2.09.",
		"B, without direct: forward and low-reverse drive it forward at 2.48.",
		"C, without low-reverse: forward and direct drive it forward at 1.00.",
		"forward (stuck on), direct and low-reverse cannot all hold: they ask the output for three different speeds.",
		"As when healthy. Releasing direct would give forward at 2.48, releasing low-reverse would give forward at 1.00.",
	} {
		b.press(".")
		b.wait(fmt.Sprintf(`location.search.includes("step=%d")`, k+1))
		b.shows("#band .why", want)
		shown := js[int](b, `[...document.querySelectorAll("#lever g[opacity]")].filter((g) => g.getAttribute("opacity") === "1").length`)
		if wanted := map[bool]int{true: 3, false: 1}[k == 3]; shown != wanted {
			t.Errorf("frame %d shows %d lines, want %d", k+1, shown, wanted)
		}
		if ringed := js[bool](b, `!!document.querySelector("#lever .ringed")`); ringed != (k == 3) {
			t.Errorf("frame %d rings a body: %v", k+1, ringed)
		}
	}
	b.says("R without forward: backward at 2.09")
	if js[bool](b, `getComputedStyle(document.querySelector("#band h1")).color === getComputedStyle(document.querySelector("#console .bad")).color`) {
		t.Error("what lets go is shown as a danger")
	}
	b.do(chromedp.Reload())
	b.says("R without forward: backward at 2.09")
	b.press(",")
	b.says("R ties up")
	b.press(" ") // without motion a press is a step
	b.says("R without forward: backward at 2.09")

	// Single letters can be switched off; V and the others then do nothing.
	b.press("v")
	b.wait(`document.querySelector("#page").dataset.view === "section"`)
	b.press("?")
	b.wait(`document.querySelector("#help").open`)
	b.click("#letters")
	b.click("#help-close")
	b.press("v")
	if got := js[string](b, `document.querySelector("#page").dataset.view`); got != "section" {
		t.Errorf("the key V leads to %s though it is switched off", got)
	}
	b.press("?")
	if js[bool](b, `document.querySelector("#help").open`) {
		t.Error("the key ? works though it is switched off")
	}
	js[bool](b, `localStorage.clear() === undefined`)

	// What is missing, with its assumption; H shows the healthy train while it is held.
	b.ready("/?fault=low-roller%3Dslips&range=D1&train=simpson-three-speed")
	b.shows("#band .why", "Nothing takes the reaction at rear.carrier: while the vehicle stands, it would run backward at −0.676 (−73/108) of the input speed.")
	b.press(".")
	b.press(".")
	b.shows("#band .why", "Assumed: the vehicle stands. rear.carrier then runs backward at −0.676 (−73/108)")
	b.shows("#lever", "−0.676")
	js[bool](b, `document.body.dispatchEvent(new KeyboardEvent("keydown", { key: "h", bubbles: true }))`)
	b.says("D1 healthy: drives forward at 2.48")
	js[bool](b, `document.body.dispatchEvent(new KeyboardEvent("keyup", { key: "h", bubbles: true }))`)
	b.says("D1 no drive")
}

// Every body is told in every picture: reached by keys it lights and says its name,
// teeth, speed and torque.
func TestBrowserBodies(t *testing.T) {
	b := openTab(t, "")
	b.ready("/?range=D1&train=simpson-three-speed")
	js[bool](b, `document.querySelector("#bodies button").focus() === undefined`)
	b.shows("#info", "turbine: input-shaft · ")
	for range 6 { // to a body that is a gear
		b.press(kb.ArrowRight)
		if js[bool](b, `document.querySelector("#info").textContent.startsWith("front.ring 73 teeth · +1.000 turns")`) {
			break
		}
	}
	b.shows("#info", "torque per unit of input torque: +1.000")
	b.wait(`document.querySelector("#page").classList.contains("lighting") && !document.querySelector("#info").hidden`)
	lit := js[[]string](b, `[...new Set([...document.querySelectorAll(".body.lit")].map((e) => e.closest(".pic").id))]`)
	if len(lit) != 3 {
		t.Errorf("the body lights in %v", lit)
	}
	b.wait(`document.querySelectorAll("#bodies [tabindex='0']").length === 1`)
}

// With a finger alone, on a phone: the selector moves, a fault goes, a body that is
// tapped lights and says its name, a swipe over the pictures changes the view; stories,
// lessons and road tests go on.
func TestBrowserTouch(t *testing.T) {
	b := openTab(t, "")
	b.do(chromedp.EmulateViewport(390, 844, chromedp.EmulateMobile, chromedp.EmulateTouch))
	b.ready("/?fault=forward%3Dstuck&range=N&train=simpson-three-speed")
	touch := func(kind input.DispatchTouchEventType, points ...*input.TouchPoint) {
		p := input.DispatchTouchEventParams{Type: kind, TouchPoints: append([]*input.TouchPoint{}, points...)}
		b.atOnce(chromedp.Func(func(ctx context.Context, _ *chromedp.Target) error {
			_, err := chromedp.Call(ctx, input.DispatchTouchEvent, p)
			return err
		}))
	}
	middle := func(selector string) (x, y float64) {
		b.rests()
		at := js[[]float64](b, `(() => { const r = document.querySelector(`+quoted(selector)+`).getBoundingClientRect();
			return [r.x + r.width / 2, r.y + r.height / 2]; })()`)
		return at[0], at[1]
	}
	tap := func(selector string) {
		x, y := middle(selector)
		touch(input.DispatchTouchEventTypeTouchStart, &input.TouchPoint{X: x, Y: y})
		touch(input.DispatchTouchEventTypeTouchEnd)
	}
	tap(`label[for="at-1-R"]`)
	b.says("R ties up")
	tap("#drop-0")
	b.says("R drives backward at 2.09")
	tap("#gears .body")
	b.wait(`document.querySelector("#page").classList.contains("lighting") && document.querySelector("#info").textContent.length > 3`)
	x, y := middle("#gears")
	touch(input.DispatchTouchEventTypeTouchStart, &input.TouchPoint{X: x + 100, Y: y})
	for k := range 4 {
		touch(input.DispatchTouchEventTypeTouchMove, &input.TouchPoint{X: x + 100 - 50*float64(k), Y: y})
	}
	touch(input.DispatchTouchEventTypeTouchEnd)
	b.wait(`document.querySelector("#page").dataset.view === "section"`)

	// A story frame by frame, an answer of a lesson, and a word of a road test.
	b.ready("/?fault=forward%3Dstuck&range=R&train=simpson-three-speed")
	tap("#play")
	b.shows("#band .why", "A, without forward: direct and low-reverse drive it backward at 2.09.")
	b.ready("/?fault=forward%3Dstuck&mode=lesson&range=R&train=simpson-three-speed")
	tap(`label[for="say-tie-up"]`)
	b.shows(".lesson", "1 of 8 answered")
	b.ready("/?mode=road-test&range=R&train=simpson-three-speed")
	b.do(chromedp.ScrollIntoView(chromedp.CSS("#saw-R-bind")))
	tap("#saw-R-bind")
	b.shows(".suspects", "seen: R: bind")
}

// The page says that it is busy from a press until what follows is shown, so that nobody,
// and no test, aims at what is about to move.
func TestBrowserBusy(t *testing.T) {
	b := openTab(t, "/?range=R&train=simpson-three-speed")
	said := awaited[[]string](b, `new Promise((done) => {
		const page = document.querySelector("#page"), said = [];
		new MutationObserver(() => {
			said.push(String(page.ariaBusy), document.querySelector("#band .range").textContent);
			if (!page.ariaBusy) done(said);
		}).observe(page, { attributeFilter: ["aria-busy"] });
		document.querySelector("#at-2-N").click();
	})`)
	if got := strings.Join(said, " "); got != "true R null N" {
		t.Errorf("busy, with the range that is shown: %s", got)
	}
}

// A change of state is shown within 50 ms, by the page's own marks: the middle of many,
// since the machine of a test may be busy.
func TestBrowserChangeOfState(t *testing.T) {
	b := openTab(t, "")
	b.media("", moving...)
	b.ready("/?fault=forward%3Dstuck&range=R&train=simpson-three-speed")
	for range 6 {
		for _, id := range []string{"at-2-N", "at-3-D1", "at-1-R"} {
			b.click("#" + id)
		}
	}
	b.rests()
	times := js[[]float64](b, `performance.getEntriesByName("change of state").map((m) => m.duration).sort((a, b) => a - b)`)
	if len(times) < 18 {
		t.Fatalf("only %d changes were measured", len(times))
	}
	t.Logf("a change of state takes %.1f ms, between %.1f and %.1f", times[len(times)/2], times[0], times[len(times)-1])
	if n := js[int](b, `performance.getEntriesByType("resource").filter((r) => r.name.includes("/drawing/")).length`); n > 0 {
		t.Errorf("%d drawings were asked for", n)
	}
}

// Light and dark, as the system or as the page is set.
func TestBrowserShades(t *testing.T) {
	b := openTab(t, "/?range=R&train=simpson-three-speed")
	paper := func() string { return js[string](b, "getComputedStyle(document.body).backgroundColor") }
	const light, dark = "rgb(251, 250, 247)", "rgb(21, 24, 27)"
	check := func(when, want string) {
		t.Helper()
		if got := paper(); got != want {
			t.Errorf("%s: the paper is %s", when, got)
		}
	}
	b.media("", "prefers-color-scheme", "light")
	check("a light system", light)
	b.media("", "prefers-color-scheme", "dark")
	check("a dark system", dark)
	b.click("#at-3-D1")
	b.says("D1 drives forward at 2.48")
	b.click("#help-open")
	b.choose("#shade", "light")
	b.wait(`location.search.includes("shade=light")`)
	b.says("D1 drives forward at 2.48") // of the state that is shown, not of the one that was loaded
	check("light on a dark system", light)
	b.choose("#shade", "dark")
	b.wait(`location.search.includes("shade=dark")`)
	b.media("", "prefers-color-scheme", "light")
	check("dark on a light system", dark)
	b.media("print")
	check("dark on paper", light)
}

// Where the row of the selector has no room an arrow says so, at the edge beyond which it
// goes on; in a lesson on a phone the fault can be read.
func TestBrowserRowGoesOn(t *testing.T) {
	b := openTab(t, "")
	const arrows = `["::before", "::after"].map((e) => getComputedStyle(document.querySelector(".sel"), e).visibility).join()`
	for _, c := range []struct {
		address    string
		width      int64
		start, end string
	}{
		{"/?range=P&train=four-carrier-ten-speed", 1440, "hidden,hidden", "hidden,hidden"},
		{"/?fault=link-clutch%3Dstuck&range=P&train=four-carrier-ten-speed", 1024, "hidden,visible", "visible,hidden"},
		{"/?range=P&train=four-carrier-ten-speed", 390, "hidden,visible", "visible,hidden"},
	} {
		b.do(chromedp.EmulateViewport(c.width, 800))
		b.ready(c.address)
		if got := js[string](b, arrows); got != c.start {
			t.Errorf("%s, %d wide: arrows %s, want %s", c.address, c.width, got, c.start)
		}
		js[bool](b, `(document.querySelector(".sel").scrollLeft = 9999) > 0`)
		b.wait(arrows + ` === ` + quoted(c.end))
	}
	b.do(chromedp.EmulateViewport(390, 844))
	b.ready("/?fault=forward%3Dstuck&mode=lesson&range=R&train=simpson-three-speed")
	if cut := js[bool](b, `(() => { const c = document.querySelector(".chip > span"); return c.scrollWidth > c.clientWidth; })()`); cut {
		t.Error("the fault is cut")
	}
}

// On a phone a reason ends with a sentence, and all of it is told when it is pressed; a note has the order A,
// B, both; a lever that has no room is a press away, in a lesson, too; a road test begins with the
// complaint and what was seen.
func TestBrowserPhone(t *testing.T) {
	b := openTab(t, "")
	b.do(chromedp.EmulateViewport(390, 844))
	b.ready("/?fault=intermediate%3Dstuck&mode=time&range=D2&to=D3&train=depot-shuttle-three-speed")
	const lines = `(() => { const e = document.querySelector("#reason summary"); return Math.round(e.clientHeight / parseFloat(getComputedStyle(e).lineHeight)); })()`
	if n := js[int](b, lines); n != 4 {
		t.Errorf("the reason has %d lines", n)
	}
	b.click("#reason summary")
	b.wait(lines + ` > 4`)
	b.click("#reason summary")
	b.wait(lines + ` === 4`)

	b.ready("/?fault=right-brake%3Dstuck&range=locked&train=bevel-differential")
	if got := js[string](b, `[...document.querySelectorAll("#ways li")].sort((a, b) => a.getBoundingClientRect().x - b.getBoundingClientRect().x).map((e) => e.querySelector("b").textContent.trim()[0]).join("")`); got != "ABb" {
		t.Errorf("the notes stand in the order %s", got)
	}

	b.ready("/?mode=lesson&range=R&train=lepelletier-eight-speed")
	const levers = `[...document.querySelectorAll("#lever text.k")].map((e) => e.textContent).join()`
	first := js[string](b, levers)
	b.click("#other-lever")
	b.wait(levers + ` !== ` + quoted(first))
	b.shows("#other-lever", "lever 2 of 2")

	b.ready("/?mode=road-test&train=simpson-three-speed")
	if got := js[string](b, `[...document.querySelectorAll("#sheet :is(input, select):not([type=hidden])")].filter((e) => e.checkVisibility()).slice(0, 2).map((e) => e.id).join()`); got != "complaint,saw-P-not" {
		t.Errorf("a road test begins with %s", got)
	}

	b.click("#help-open")
	if apart := js[[]float64](b, `["shade", "pace", "seed"].map((id) => [document.getElementById(id), document.querySelector("label[for=" + id + "]")].map((e) => e.getBoundingClientRect()).map((r) => r.y + r.height / 2)).map(([a, b]) => Math.abs(a - b))`); max(apart[0], apart[1], apart[2]) > 3 {
		t.Errorf("a label of the settings stands off its field by %v", apart)
	}
}

// The work and back brings the step of a story back, by the key and by the history of the
// browser; so does the view that was chosen.
func TestBrowserStepComesBack(t *testing.T) {
	b := openTab(t, "")
	b.do(chromedp.EmulateViewport(1440, 900))
	b.ready("/?fault=forward%3Dstuck&range=R&train=simpson-three-speed")
	for range 3 {
		b.press(".")
	}
	b.press("v")
	b.wait(`location.search.includes("step=3") && location.search.includes("view=section") && !location.search.includes("work")`)
	for _, back := range []func(){func() { b.press("w") }, func() { js[bool](b, `history.back() === undefined`) }} {
		b.press("w")
		b.wait(`location.search.includes("mode=work") && !!document.querySelector(".work")`)
		back()
		b.wait(`location.search.includes("step=3") && location.search.includes("view=section") && !location.search.includes("work") && !!document.querySelector("#section svg")`)
		b.shows("#band .why", "C, without low-reverse: forward and direct drive it forward at 1.00.")
		if view := js[string](b, `document.querySelector("#page").dataset.view`); view != "section" {
			t.Errorf("the view is %q", view)
		}
	}

	// When presenting, a lesson says what its answers mean, and the answers can be shown.
	b.ready("/?fault=forward%3Dstuck&mode=lesson&present=1&range=R&train=simpson-three-speed")
	b.shows(".lesson", "neither input nor output can turn")
	if !js[bool](b, `[...document.querySelectorAll(".choice label span")].every((e) => e.checkVisibility())`) {
		t.Error("what the answers mean is not shown")
	}
	b.click("#reveal")
	b.says("R ties up")
	b.wait(`!!document.querySelector("#page.present") && location.search.includes("present=1")`)
}
