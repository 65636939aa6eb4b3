package plots

import (
	"fmt"
	"strconv"
	"strings"
)

// A Size is the size of a drawing, in points of 1/72 inch; the zero Size is the
// natural one.
type Size struct {
	Width, Height float64
	pixels        bool // given in pixels: a PNG has just as many
}

// pixelsPerInch is the pixel of style sheets.
const pixelsPerInch = 96

// The units of sizes, in points, and the bounds of a side in points.
var units = []struct {
	name   string
	points float64
}{{"mm", 72 / 25.4}, {"cm", 72 / 2.54}, {"in", 72}, {"pt", 1}, {"px", 72.0 / pixelsPerInch}}

const leastSide, mostSide = 72, 7200

// ParseSize reads a size such as "24x14cm", "297x210mm" or "1600x900px".
func ParseSize(text string) (Size, error) {
	wrong := fmt.Errorf("%q is no size: write width x height and a unit (mm, cm, in, pt or px), such as 24x14cm, "+
		"or 297x210mm for A4; a PDF is A4 without a size", text)
	for _, u := range units {
		numbers, found := strings.CutSuffix(strings.TrimSpace(text), u.name)
		if !found {
			continue
		}
		first, second, found := strings.Cut(numbers, "x")
		if !found {
			return Size{}, wrong
		}
		w, errW := strconv.ParseFloat(strings.TrimSpace(first), 64)
		h, errH := strconv.ParseFloat(strings.TrimSpace(second), 64)
		if errW != nil || errH != nil {
			return Size{}, wrong
		}
		s := Size{w * u.points, h * u.points, u.name == "px"}
		if !(min(s.Width, s.Height) >= leastSide && max(s.Width, s.Height) <= mostSide) {
			return Size{}, fmt.Errorf("%s is out of bounds: each side can be from 1 to 100 inches (25.4 to 2540 mm, "+
				"96 to 9600 px)", text)
		}
		return s, nil
	}
	return Size{}, wrong
}
