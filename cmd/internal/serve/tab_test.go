package serve

import (
	"context"
	"encoding/json"
	"fmt"
	"net/url"
	"os"
	"os/exec"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"

	"tieup/plots/page"
)

// The browser tests use the page as people do, in Debian's Chromium. One browser
// serves all of them; each has a tab and a server of its own. They want TIEUP_EXHAUSTIVE:
// a page takes seconds where the rest of the tests takes milliseconds.

// chromium is the browser, started by the first test that needs it.
var chromium struct {
	once   sync.Once
	ctx    context.Context
	cancel context.CancelFunc
	err    error
}

func TestMain(m *testing.M) {
	code := m.Run()
	if chromium.cancel != nil {
		chromium.cancel()
	}
	os.Exit(code)
}

// browser returns the context of the browser. Where there is none the test is
// skipped, but for a continuous integration run, in which it fails.
func browser(t *testing.T) context.Context {
	t.Helper()
	if testing.Short() || os.Getenv("TIEUP_EXHAUSTIVE") == "" {
		t.Skip("the browser takes a while: set TIEUP_EXHAUSTIVE")
	}
	chromium.once.Do(func() {
		program, err := exec.LookPath("chromium")
		if err != nil {
			chromium.err = err
			return
		}
		options := append(chromedp.DefaultExecAllocatorOptions[:],
			chromedp.ExecPath(program), chromedp.NoSandbox, chromedp.DisableGPU, chromedp.NoFirstRun, chromedp.Headless,
			chromedp.Flag("disable-quic", true), chromedp.Flag("disable-background-networking", true),
			chromedp.Flag("disable-component-update", true), chromedp.Flag("disable-sync", true),
			chromedp.Flag("force-color-profile", "srgb"), chromedp.WindowSize(1280, 900),
		)
		allocator, cancelAllocator := chromedp.NewExecAllocator(context.Background(), options...)
		ctx, cancel := chromedp.NewContext(allocator)
		chromium.ctx = ctx
		chromium.cancel = func() { cancel(); cancelAllocator() }
		chromium.err = chromedp.Do(ctx, chromedp.Navigate("about:blank"))
	})
	if chromium.err == nil {
		return chromium.ctx
	}
	missing := fmt.Sprintf("the browser tests need Chromium (Debian: apt-get install chromium): %v", chromium.err)
	if os.Getenv("CI") == "true" {
		t.Fatal(missing)
	}
	t.Skip(missing)
	return nil
}

// A tab is one page in the browser, with what it asked for and complained about.
type tab struct {
	*testing.T
	ctx  context.Context
	base string // "http://127.0.0.1:33333"
	stop func() // ends the server

	mu       sync.Mutex
	strange  []string // requests that left the machine
	problems []string // errors on the console
	requests []string // addresses that were asked for
	refused  int      // answers with an error status, which the console tells too
}

// openTab starts a server and opens an address of it, if any, in a new tab, whose reader
// wants no motion: gears that turn keep a whole processor busy with drawing. At the end it
// fails the test if the page asked another machine for anything, or complained.
func openTab(t *testing.T, address string) *tab {
	t.Helper()
	ctx, cancel := chromedp.NewContext(browser(t))
	ready := make(chan string, 1)
	serving, stop := context.WithCancel(context.Background())
	b := &tab{T: t, ctx: ctx, stop: stop}
	ended := make(chan error, 1)
	go func() {
		ended <- Run(serving, Options{Start: page.State{Pace: page.UsualPace}, Ready: func(a string) { ready <- a }})
	}()
	t.Cleanup(func() {
		cancel()
		stop()
		<-ended
		b.mu.Lock()
		defer b.mu.Unlock()
		for _, s := range b.strange {
			t.Errorf("the page asked for %s", s)
		}
		if len(b.problems) > b.refused {
			t.Errorf("the console says %q", b.problems)
		}
	})
	select {
	case a := <-ready:
		b.base = strings.TrimSuffix(a, "/")
	case err := <-ended:
		t.Fatal(err)
	}
	if err := chromedp.Listen(ctx, b.watch); err != nil {
		t.Fatal(err)
	}
	b.do(chromedp.Func(func(ctx context.Context, target *chromedp.Target) error {
		_, err := chromedp.Call(ctx, network.Enable, network.EnableParams{})
		return err
	}))
	b.media("")
	if address != "" {
		b.visit(address)
	}
	return b
}

// watch notes requests and complaints.
func (b *tab) watch(event any) {
	b.mu.Lock()
	defer b.mu.Unlock()
	switch e := event.(type) {
	case *network.EventRequestWillBeSent:
		b.requests = append(b.requests, e.Request.URL)
		if u, err := url.Parse(e.Request.URL); err != nil || u.Scheme != "data" && u.Scheme != "blob" && u.Scheme+"://"+u.Host != b.base {
			b.strange = append(b.strange, e.Request.URL)
		}
	case *runtime.EventConsoleAPICalled:
		if e.Type == runtime.ConsoleAPICalledTypeError || e.Type == runtime.ConsoleAPICalledTypeWarning {
			b.problems = append(b.problems, string(e.Args[0].Value))
		}
	case *runtime.EventExceptionThrown:
		b.problems = append(b.problems, e.ExceptionDetails.Text)
	}
}

// testPatience is how long a test waits for what takes the page milliseconds: only a page
// that is wrong uses it up, not a machine that is busy.
const testPatience = 3 * time.Minute

// do takes the steps in turn, each once the page is at rest, as people do: what they aim
// at may move until then.
func (b *tab) do(steps ...chromedp.Action[chromedp.Void]) {
	b.Helper()
	for _, step := range steps {
		b.rests()
		b.atOnce(step)
	}
}

// rests waits until the page is loaded and has no answer under way.
func (b *tab) rests() {
	b.Helper()
	b.wait(`document.readyState === "complete" && !document.querySelector("[aria-busy=true]")`)
}

// atOnce takes a step whatever is under way. An element that the page makes anew between
// being found and being used is looked for again: such a step has touched nothing yet.
func (b *tab) atOnce(step chromedp.Action[chromedp.Void]) {
	b.Helper()
	ctx, cancel := context.WithTimeout(b.ctx, testPatience)
	defer cancel()
	err := chromedp.Do(ctx, step)
	for ; err != nil && replaced(err); err = chromedp.Do(ctx, step) {
		time.Sleep(20 * time.Millisecond)
	}
	if err != nil {
		b.Fatalf("%v", err)
	}
}

// replaced tells whether the browser refused a step because the element that was
// found for it is no longer in the page.
func replaced(err error) bool {
	for _, refusal := range []string{"Could not find node with given id", "No node with given id found", "Node is detached from document"} {
		if strings.Contains(err.Error(), refusal) {
			return true
		}
	}
	return false
}

func (b *tab) visit(address string) {
	b.Helper()
	b.do(chromedp.Navigate(b.base + address))
}

// js evaluates an expression in the page.
func js[V any](b *tab, expression string) V {
	b.Helper()
	ctx, cancel := context.WithTimeout(b.ctx, testPatience)
	defer cancel()
	v, err := chromedp.Run(ctx, chromedp.Evaluate[V](expression))
	if err != nil {
		b.Fatalf("%s: %v", expression, err)
	}
	return v
}

// awaited evaluates an expression that is a promise, and waits for it.
func awaited[V any](b *tab, expression string) V {
	b.Helper()
	ctx, cancel := context.WithTimeout(b.ctx, testPatience)
	defer cancel()
	v, err := chromedp.Run(ctx, chromedp.Evaluate[V](expression, chromedp.EvalAwaitPromise))
	if err != nil {
		b.Fatalf("%s: %v", expression, err)
	}
	return v
}

// wait waits until an expression is true. A page that gives way to the next one
// answers nothing: that one is asked.
func (b *tab) wait(expression string) {
	b.Helper()
	ctx, cancel := context.WithTimeout(b.ctx, testPatience)
	defer cancel()
	for ; ; time.Sleep(15 * time.Millisecond) {
		so, err := chromedp.Run(ctx, chromedp.Evaluate[bool]("!!("+expression+")"))
		switch {
		case err == nil && so:
			return
		case err != nil && ctx.Err() == nil && !leaving(err):
			b.Fatalf("%s: %v", expression, err)
		case ctx.Err() != nil:
			b.Fatalf("never came true: %s\nthe page says: %s", expression, b.headline())
		}
	}
}

// leaving tells whether an expression came to nothing because the page was just left
// for another one.
func leaving(err error) bool {
	for _, said := range []string{
		"Execution context was destroyed", "Cannot find context with specified id", "Cannot find default execution context",
		"Inspected target navigated or closed",
	} {
		if strings.Contains(err.Error(), said) {
			return true
		}
	}
	return false
}

// until waits until something is so.
func (b *tab) until(so func() bool) {
	b.Helper()
	for end := time.Now().Add(testPatience); !so(); time.Sleep(15 * time.Millisecond) {
		if time.Now().After(end) {
			b.Fatal("never came true")
		}
	}
}

// asked returns the addresses that were asked for since the last call.
func (b *tab) asked() []string {
	b.mu.Lock()
	defer b.mu.Unlock()
	list := b.requests
	b.requests = nil
	return list
}

// headline is what the page says in large words.
func (b *tab) headline() string {
	b.Helper()
	return js[string](b, saying)
}

// saying is what the band says in large words: the range, and what it does.
const saying = `[...document.querySelectorAll("#band .range, #band h1")].map((e) => e.textContent.replace(/\s+/g, " ").trim()).join(" ")`

// says waits until the page says something in large words.
func (b *tab) says(want string) {
	b.Helper()
	b.wait(saying + " === " + quoted(want))
}

// shows waits until a part of the page contains a text.
func (b *tab) shows(selector, want string) {
	b.Helper()
	b.wait(`document.querySelector(` + quoted(selector) + `)?.textContent.replace(/\s+/g, " ").includes(` + quoted(want) + `)`)
}

func quoted(s string) string {
	q, err := json.Marshal(s)
	if err != nil {
		panic(err)
	}
	return string(q)
}

// stick adds a fault by the console.
func (b *tab) stick(fault string) {
	b.Helper()
	b.click("#add-open")
	b.choose("#add", fault)
	b.click("#add-fault")
}

func (b *tab) click(selector string) {
	b.Helper()
	b.do(chromedp.ScrollIntoView(chromedp.CSS(selector)), chromedp.Click(chromedp.CSS(selector)))
}

// press presses keys; kb has the names of those that are no letters.
func (b *tab) press(keys ...string) {
	b.Helper()
	for _, k := range keys {
		b.do(chromedp.KeyEvent(k))
	}
}

// choose chooses an entry of a list, as its menu does: a menu is a window of the
// system, of which a headless browser has none.
func (b *tab) choose(selector, value string) {
	b.Helper()
	b.rests()
	ok := js[bool](b, fmt.Sprintf(`(() => {
		const list = document.querySelector(%s);
		if (![...list.options].some((o) => o.value === %s)) return false;
		list.focus();
		list.value = %s;
		list.dispatchEvent(new Event("input", { bubbles: true }));
		list.dispatchEvent(new Event("change", { bubbles: true }));
		return true;
	})()`, quoted(selector), quoted(value), quoted(value)))
	if !ok {
		b.Fatalf("%s has no entry %q", selector, value)
	}
}

// moving is a reader who wants motion, for media.
var moving = []string{"prefers-reduced-motion", "no-preference"}

// media sets what the page is told of its reader: "prefers-color-scheme", "dark". One
// of whom nothing is said of motion wants none.
func (b *tab) media(kind string, features ...string) {
	b.Helper()
	p := emulation.SetEmulatedMediaParams{Media: kind}
	if !slices.Contains(features, moving[0]) {
		features = append(features, moving[0], "reduce")
	}
	for i := 0; i < len(features); i += 2 {
		p.Features = append(p.Features, &emulation.MediaFeature{Name: features[i], Value: features[i+1]})
	}
	b.do(chromedp.Func(func(ctx context.Context, _ *chromedp.Target) error {
		_, err := chromedp.Call(ctx, emulation.SetEmulatedMedia, p)
		return err
	}))
}
