package reading_test

import (
	"testing"

	"tieup/gearsets"
	"tieup/kinematics"
	"tieup/kinematics/reading"
	"tieup/kinematics/solve"
)

// Readings are alike where the sentences made of them are the same, and only there: what is
// compared are words and printed numbers, never the sentences.
func TestAlikeIsWrittenAlike(t *testing.T) {
	alike, other := 0, 0
	for _, name := range []string{"simpson-three-speed", "depot-shuttle-three-speed", "four-carrier-eight-speed", "power-split-hybrid"} {
		train, err := gearsets.Library(name)
		if err != nil {
			t.Fatal(err)
		}
		faults := train.SingleFaults()
		for i, c := range train.Couplings[:train.ElementCount] {
			if c.Kind.Friction() {
				for _, share := range []kinematics.Share{{Num: 3, Den: 10}, {Num: 1, Den: 20}} {
					for _, kind := range []kinematics.FaultKind{kinematics.Weak, kinematics.Dragging, kinematics.Stuck} {
						faults = append(faults, kinematics.Fault{Coupling: i, Kind: kind, Share: share})
					}
				}
			}
		}
		reader := reading.NewReader(solve.Compile(train))
		var list []reading.RangeReading
		for r := range train.Ranges {
			list = append(list, reader.Healthy(r))
			for _, f := range faults {
				list = append(list, reader.Read(&train.Ranges[r], f))
			}
		}
		for i, a := range list {
			for _, b := range list[i+1:] {
				for _, like := range []struct {
					of         string
					said, same bool
				}{
					{"all", a.ReadsLike(b), a.Text() == b.Text()},
					{"pulling", a.PullsLike(b), a.Pulling() == b.Pulling()},
					{"coasting", a.CoastsLike(b), a.Reading.Coast == b.Reading.Coast},
					{"speeds", a.Reading.PullsLike(b.Reading), a.Reading.Pull == b.Reading.Pull},
				} {
					if like.said != like.same {
						t.Fatalf("%s, %s: alike is %v of %q and %q", name, like.of, like.said, a.Whole(), b.Whole())
					}
					if like.same {
						alike++
					} else {
						other++
					}
				}
			}
		}
	}
	if alike < 1000 || other < 1000 {
		t.Errorf("%d alike, %d not", alike, other)
	}
}
