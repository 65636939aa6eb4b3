package plots

import (
	"fmt"
	"image/color"
	"os"
	"strings"
	"testing"

	"tieup/kinematics"
)

// A body, and what a fault changes, has the colour that it has on the page, light and dark.
func TestBodiesHaveTheColoursOfThePage(t *testing.T) {
	css, err := os.ReadFile("page/assets/page.css")
	if err != nil {
		t.Fatal(err)
	}
	hex := func(c color.Color) string {
		r, g, b, _ := c.RGBA()
		return fmt.Sprintf("#%02x%02x%02x", r>>8, g>>8, b>>8)
	}
	same := func(name string, light, dark color.Color) {
		if want := fmt.Sprintf("--%s: light-dark(%s, %s);", name, hex(light), hex(dark)); !strings.Contains(string(css), want) {
			t.Errorf("the page has no %q", want)
		}
	}
	for i := range light.bodies {
		same(fmt.Sprintf("b%d", i+1), light.bodies[i], dark.bodies[i])
	}
	same("danger", light.alarm, dark.alarm)
	same("danger-wash", light.alarmWash, dark.alarmWash)
}

// What is joined for good has one colour, others have others, and the input has the first;
// what a fault shears off gets one of its own.
func TestHues(t *testing.T) {
	train := library(t, "simpson-three-speed").Train
	of := func(faults []kinematics.Fault, name string) int {
		b := train.Bodies(faults)
		m, ok := train.Member(name)
		if !ok {
			t.Fatalf("no member %s", name)
		}
		return hues(b, train.Input, train.Output)[b.Of[m]]
	}
	if in, out := of(nil, "turbine"), of(nil, "output-shaft"); in != 0 || out != 1 {
		t.Errorf("input and output have the colours %d and %d", in, out)
	}
	if a, b := of(nil, "front.carrier"), of(nil, "rear.ring"); a != 1 || b != 1 {
		t.Errorf("the output's members have the colours %d and %d", a, b)
	}
	if a, b := of(nil, "front.sun"), of(nil, "rear.sun"); a != b {
		t.Errorf("suns on one shell have the colours %d and %d", a, b)
	}
	off := faults(t, train, "shell:front.sun=sheared")
	if a, b := of(off, "front.sun"), of(off, "rear.sun"); a == b {
		t.Errorf("a sheared sun has the colour %d of the other", a)
	}
}
