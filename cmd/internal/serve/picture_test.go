package serve

import (
	"bytes"
	"flag"
	"fmt"
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

// lookAt takes pictures for people to look at.
func lookAt(t *testing.T) {
	b := openTab(t, "")
	const forward = "fault=forward%3Dstuck&train=simpson-three-speed"
	for name, query := range map[string]string{
		"R": "range=R&" + forward, "N": "range=N&" + forward, "D1": "range=D1&" + forward,
		"no-drive":    "fault=low-roller%3Dslips&range=D1&train=simpson-three-speed",
		"eight-speed": "fault=lock-clutch%3Dstuck&range=D5&train=four-carrier-eight-speed",
		"hub":         "range=9&train=hub-fourteen-speed",
		"ravigneaux":  "fault=low-reverse%3Dstuck&range=D3&train=ravigneaux-four-speed",
		"lesson":      "mode=lesson&range=R&say.R=tie-up&" + forward,
		"time":        "mode=time&range=D2&to=D3&train=depot-shuttle-three-speed",
		"work":        "mode=work&range=R&" + forward,
		"road-test":   "complaint=drives+in+neutral&mode=road-test&range=R&saw.D1=forward&saw.N=forward&saw.R=bind&train=depot-shuttle-three-speed&when=sudden",
		"wrong":       "range=R&train=no-such-train",
	} {
		if *only != "" && !strings.Contains(name, *only) {
			continue
		}
		for _, shade := range []string{"light", "dark"} {
			for _, size := range [][2]int64{{1440, 900}, {1024, 768}, {390, 844}, {1920, 1080}} {
				b.refused++
				b.picture("/?"+query+"&shade="+shade, size[0], size[1], filepath.Join(*look, fmt.Sprintf("%s-%d-%s.png", name, size[0], shade)))
			}
			b.picture("/?present=1&"+query+"&shade="+shade, 1440, 900, filepath.Join(*look, fmt.Sprintf("%s-present-%s.png", name, shade)))
		}
	}
}
