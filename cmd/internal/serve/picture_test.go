package serve

import (
	"bytes"
	"flag"
	"fmt"
	"image/png"
	"os"
	"path/filepath"
	"regexp"
	"testing"

	"github.com/chromedp/chromedp"
)

var (
	update = flag.Bool("update", false, "take the picture of the page for the README again")
	look   = flag.String("look", "", "take pictures of the page in many states into this `folder`, to be looked at")
	only   = flag.String("only", "", "of those, the ones whose name matches this `expression`")
)

// readmePictures are the pictures of the page that the README shows.
var readmePictures = []struct {
	file, address string
	width, height int64
}{
	{"../../../plots/page/testdata/page.png", "/?fault=forward%3Dstuck&range=R&shade=light&train=simpson-three-speed", 1280, 800},
	{"../../../plots/page/testdata/present.png", "/?fault=forward%3Dstuck&present=1&range=N&shade=dark&train=simpson-three-speed", 1280, 800},
}

// The pictures of the README are there and have their size. Their pixels depend on the
// browser and its fonts, so they are not compared: -update takes them again.
func TestBrowserPicture(t *testing.T) {
	if *look != "" {
		lookAt(t)
	}
	for _, p := range readmePictures {
		if *update {
			b := openTab(t, "")
			b.picture(p.address, p.width, p.height, p.file)
		}
		file, err := os.ReadFile(p.file)
		if err != nil {
			t.Fatal(err)
		}
		c, err := png.DecodeConfig(bytes.NewReader(file))
		if err != nil || c.Width != int(p.width) || c.Height != int(p.height) {
			t.Errorf("the picture is %d x %d (%v), not %d x %d: take it again with -update", c.Width, c.Height, err, p.width, p.height)
		}
	}
}

// picture takes a picture of an address.
func (b *tab) picture(address string, width, height int64, file string) {
	b.Helper()
	b.do(chromedp.EmulateViewport(width, height))
	b.ready(address)
	shot, err := chromedp.Run(b.ctx, chromedp.CaptureScreenshot())
	if err == nil {
		err = os.MkdirAll(filepath.Dir(file), 0o777)
	}
	if err == nil {
		err = os.WriteFile(file, shot, 0o666)
	}
	if err != nil {
		b.Fatal(err)
	}
}

// lookAt takes pictures for people to look at: the ranges of the headline case healthy and
// with its fault, each story frame by frame, trains of every make, and every mode.
func lookAt(t *testing.T) {
	wanted := regexp.MustCompile(*only)
	const simpson = "train=simpson-three-speed"
	const forward = "fault=forward%3Dstuck&" + simpson
	states := map[string]string{
		"R": "range=R&" + forward, "N": "range=N&" + forward, "D1": "range=D1&" + forward,
		"R-healthy": "range=R&" + simpson, "N-healthy": "range=N&" + simpson, "D1-healthy": "range=D1&" + simpson,
		"eight-speed":   "fault=lock-clutch%3Dstuck&range=D5&train=four-carrier-eight-speed",
		"ten-speed":     "range=D6&train=four-carrier-ten-speed",
		"ten-speed-bad": "fault=link-clutch%3Dstuck&range=D9&train=four-carrier-ten-speed",
		"hub":           "range=9&train=hub-fourteen-speed",
		"ravigneaux":    "fault=low-reverse%3Dstuck&range=D3&train=ravigneaux-four-speed",
		"power-split":   "range=ring-to-axle&train=power-split-hybrid",
		"wind":          "range=parked&train=wind-turbine-gearbox",
		"transfer":      "range=4L&train=transfer-case-two-speed",
		"rotor":         "range=run&train=rotor-final-drive",
		"lesson":        "mode=lesson&range=R&say.R=tie-up&" + forward,
		"lesson-told":   "mode=lesson&range=R&reveal=1&say.R=tie-up&" + forward,
		"time":          "mode=time&range=D2&to=D3&train=depot-shuttle-three-speed",
		"work":          "mode=work&range=R&" + forward,
		"road-test":     "complaint=drives+in+neutral&mode=road-test&range=R&saw.D1=forward&saw.N=forward&saw.R=bind&train=depot-shuttle-three-speed&when=sudden",
		"wrong":         "range=R&train=no-such-train",
	}
	for name, story := range map[string]string{
		"tie-up": "range=R&" + forward, "neutral": "range=N&" + forward,
		"missing": "fault=low-roller%3Dslips&range=D1&" + simpson, "lost": "fault=intermediate%3Dopen&range=D2&" + simpson,
	} {
		for step := 1; step <= 5; step++ {
			states[fmt.Sprintf("story-%s-%d", name, step)] = fmt.Sprintf("%s&step=%d", story, step)
		}
	}
	b := openTab(t, "")
	for name, query := range states {
		for _, shade := range []string{"light", "dark"} {
			take := func(size string, width, height int64, more string) {
				if file := fmt.Sprintf("%s-%s-%s.png", name, size, shade); wanted.MatchString(file) {
					b.refused++
					b.picture("/?"+more+query+"&shade="+shade, width, height, filepath.Join(*look, file))
				}
			}
			for _, size := range [][2]int64{{1440, 900}, {1024, 768}, {390, 844}, {1920, 1080}} {
				take(fmt.Sprint(size[0]), size[0], size[1], "")
			}
			take("present", 1440, 900, "present=1&")
		}
	}
}
