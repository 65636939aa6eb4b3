package kinematics

import (
	"math/big"
	"testing"
)

func TestPublishedAgainst(t *testing.T) {
	tests := []struct {
		text             string
		outIn, truncated bool
		ratio            *big.Rat
		want             bool
	}{
		// 181/73 = 2.47945...: the first ratio of two sets with 35 and 73 teeth.
		{text: "2.4795", ratio: big.NewRat(181, 73), want: true},
		{text: "2.48", ratio: big.NewRat(181, 73), want: true},
		{text: "2.47", ratio: big.NewRat(181, 73)},
		{text: "2.47", truncated: true, ratio: big.NewRat(181, 73), want: true},
		{text: "2.479", truncated: true, ratio: big.NewRat(181, 73), want: true},
		{text: "2.48", truncated: true, ratio: big.NewRat(181, 73)},  // cutting off makes nothing larger
		{text: "2.46", truncated: true, ratio: big.NewRat(247, 100)}, // 2.47 has nothing to cut off
		{text: "-2.08", truncated: true, ratio: big.NewRat(-73, 35), want: true},
		{text: "-2.09", truncated: true, ratio: big.NewRat(-73, 35)},
		{text: "2.4794", ratio: big.NewRat(181, 73)},
		{text: "-2.48", ratio: big.NewRat(181, 73)},
		{text: "-2.0857", ratio: big.NewRat(-73, 35), want: true},
		{text: "0.4033", outIn: true, ratio: big.NewRat(181, 73), want: true},
		{text: "0.4033", ratio: big.NewRat(181, 73)},
		{text: "181/73", ratio: big.NewRat(181, 73), want: true},
		{text: "180/73", ratio: big.NewRat(181, 73)},
		// Exactly half a unit off still rounds to what is printed.
		{text: "2.5", ratio: big.NewRat(245, 100), want: true},
		{text: "2.5", ratio: big.NewRat(2449, 1000)},
		{text: "3", ratio: big.NewRat(7, 2), want: true},
		{text: "3", ratio: big.NewRat(18, 5)},
		{text: "0", outIn: true, want: true}, // the output stands still
		{text: "0.1", outIn: true},
	}
	for _, tt := range tests {
		p := Published{Text: tt.text, OutIn: tt.outIn, Truncated: tt.truncated}
		c, ok := p.Against(tt.ratio)
		if !ok || c.Agrees != tt.want {
			t.Errorf("%+v against %s: agrees %v (%v), want %v", p, tt.ratio, c.Agrees, ok, tt.want)
		}
	}
	if _, ok := (&Published{Text: "0"}).Against(nil); ok {
		t.Error("input turns per turn of an output that stands still were compared")
	}
	if _, ok := (&Published{Text: "about 3"}).Against(big.NewRat(3, 1)); ok {
		t.Error("a text that is no number was compared")
	}
}
