package plots

import (
	"image/color"
)

// A theme is the set of colours of a drawing. All are opaque: a PDF blends
// translucent ones otherwise than the other formats do.
type theme struct {
	paper, ink color.Color
	soft       color.Color // less important text and lines
	faint      color.Color // grids
	wash       color.Color // the ground of boxes and heads of tables
	alarm      color.Color // what a fault changes, as on the page
	alarmWash  color.Color
	series     []color.Color
	bodies     []color.Color // as the page has them
}

// The colours of series are those that Okabe and Ito (Color Universal Design,
// 2008, from memory) chose to be told apart with any colour vision, lighter or
// darker to stand out from the paper.
var (
	light = theme{
		paper: rgb(0xffffff), ink: rgb(0x1a1f24), soft: rgb(0x5a646e), faint: rgb(0xd3d9de),
		wash: rgb(0xeff2f4), alarm: rgb(0xb3261e), alarmWash: rgb(0xfbe6e1),
		series: []color.Color{rgb(0x0072b2), rgb(0xb54700), rgb(0x00785a), rgb(0xa5447f), rgb(0x6b5b00), rgb(0x2b2f33)},
		bodies: []color.Color{
			rgb(0x2273d1), rgb(0xa75789), rgb(0x7a9805), rgb(0x045552), rgb(0x4a2e02),
			rgb(0x603392), rgb(0x2993d8), rgb(0x2e3539), rgb(0xd368ad), rgb(0x9f8772),
		},
	}
	dark = theme{
		paper: rgb(0x14191e), ink: rgb(0xe9edf0), soft: rgb(0xa3aeb8), faint: rgb(0x3a444d),
		wash: rgb(0x212930), alarm: rgb(0xff8f7d), alarmWash: rgb(0x3a1d1a),
		series: []color.Color{rgb(0x6bbdf0), rgb(0xff9d5c), rgb(0x3fcfa5), rgb(0xeb9fca), rgb(0xe6d34f), rgb(0xf4f6f8)},
		bodies: []color.Color{
			rgb(0x7197fd), rgb(0xc574a8), rgb(0x8a9534), rgb(0xace5d1), rgb(0xffc65e),
			rgb(0x755dcd), rgb(0x80c8fe), rgb(0xb2b3bd), rgb(0xa54c92), rgb(0x7f6d51),
		},
	}
)

func rgb(c uint32) color.Color {
	return color.NRGBA{R: uint8(c >> 16), G: uint8(c >> 8), B: uint8(c), A: 255}
}

// dashes tell series apart without colour: lengths of strokes and gaps.
var dashes = [][]float64{nil, {6, 3}, {2, 2.5}, {9, 3, 2, 3}, {12, 4}, {5, 2, 1, 2, 1, 2}}
