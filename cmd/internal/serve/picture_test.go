package serve

import (
	"bytes"
	"flag"
	"image/png"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
)

var (
	update = flag.Bool("update", false, "take the picture of the page for the README again")
	look   = flag.String("look", "", "take pictures of the page in many states into this `folder`, to be looked at")
	only   = flag.String("only", "", "of those, the ones with this in their `name`")
)

// readmePicture is the picture of the page that the README shows.
const readmePicture = "../../../plots/page/testdata/page.png"

// The picture of the README is there and has its size. Its pixels depend on the
// browser and its fonts, so they are not compared: -update takes it again.
func TestBrowserPicture(t *testing.T) {
	const width, height = 1280, 860
	if *look != "" {
		lookAt(t)
	}
	if *update {
		b := openTab(t, "/")
		b.media("", "prefers-reduced-motion", "reduce")
		b.picture("/?fault=forward%3Dstuck&range=R&shade=light&train=depot-shuttle-three-speed", width, height, readmePicture)
	}
	file, err := os.ReadFile(readmePicture)
	if err != nil {
		t.Fatal(err)
	}
	c, err := png.DecodeConfig(bytes.NewReader(file))
	if err != nil || c.Width != width || c.Height != height {
		t.Errorf("the picture is %d x %d (%v), not %d x %d: take it again with -update", c.Width, c.Height, err, width, height)
	}
}

// picture takes a picture of an address, the whole page if the height is 0.
func (b *tab) picture(address string, width, height int64, file string) {
	b.Helper()
	b.do(chromedp.EmulateViewport(width, max(height, 800)))
	b.visit(address)
	b.wait(`[...document.querySelectorAll(".drawing img")].every((i) => i.complete)`)
	take := chromedp.CaptureScreenshot()
	if height == 0 {
		take = chromedp.FullScreenshot(100)
	}
	shot, err := chromedp.Run(b.ctx, take)
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

// lookAt takes pictures for people to look at.
func lookAt(t *testing.T) {
	b := openTab(t, "/")
	b.media("", "prefers-reduced-motion", "reduce")
	for name, query := range map[string]string{
		"healthy": "range=D2&train=simpson-three-speed",
		"tie-up":  "fault=forward%3Dstuck&range=R&train=simpson-three-speed",
		"neutral": "fault=forward%3Dstuck&range=N&train=depot-shuttle-three-speed",
		"large":   "fault=input-clutch%3Dopen&range=D5&train=four-carrier-eight-speed",
		"lesson":  "fault=forward%3Dstuck&mode=lesson&range=R&reveal=1&say.D1=forward&say.N=neutral&say.R=tie-up&train=depot-shuttle-three-speed",
		"bench":   "complaint=drives+in+neutral&mode=road-test&range=R&saw.D1=forward%2C+no-engine-braking&saw.N=forward&saw.R=bind&saw.air%3Aforward=good&saw.bench%3Aforward%2Bdirect=held-locks&train=depot-shuttle-three-speed&when=sudden",
		"wrong":   "range=R&train=no-such-train",
	} {
		if *only != "" && !strings.Contains(name, *only) {
			continue
		}
		for _, shade := range []string{"light", "dark"} {
			for kind, width := range map[string]int64{"wide": 1400, "laptop": 1280, "narrow": 390} {
				b.refused++
				b.picture("/?"+query+"&shade="+shade, width, 0, filepath.Join(*look, name+"-"+kind+"-"+shade+".png"))
			}
		}
	}
}
