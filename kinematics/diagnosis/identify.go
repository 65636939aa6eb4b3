package diagnosis

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strconv"

	"tieup/kinematics"
	"tieup/kinematics/exact"
	"tieup/kinematics/reading"
	"tieup/kinematics/solve"
)

// Measured is a speed that was measured: with a sign if its sense is known.
type Measured struct {
	Member kinematics.MemberID
	Speed  exact.Frac
}

// Readings are the speeds that were measured at one moment, with the engine pulling.
type Readings struct {
	Speeds    []Measured
	Tolerance exact.Frac // how far speeds may be off, as a part of them
	// Signed says that speeds show which way members turn; else they are sizes.
	Signed bool
	// Engine says that the speed of the input is that of the engine before a
	// converter that slips: the input turns at most so fast.
	Engine bool
}

// A Match is a ratio that the train can give, beside what was measured.
type Match struct {
	Ratio exact.Frac
	// Off is how far the measured ratio is from it, as a part of it: above 0 if
	// the input turns too fast for it.
	Off float64
	// Fits says that all measured speeds are within the tolerance.
	Fits bool
	// Sets are the combinations of elements that give it and whose other members
	// turn as measured, the smallest first; Ranges those that are a range.
	Sets   [][]int
	Ranges []int
}

// An Identity is what measured speeds say of the elements that hold.
type Identity struct {
	*Readings
	Train   *kinematics.Train
	Ratio   exact.Frac // measured; with Engine, the most that it can be
	Matches []Match    // the nearest first; with Engine those that are possible, the highest first
}

// Best is the nearest match if it fits, else nil.
func (x *Identity) Best() *Match {
	if len(x.Matches) == 0 || !x.Matches[0].Fits || x.Engine {
		return nil
	}
	return &x.Matches[0]
}

// Fitting are the matches within the tolerance, the nearest first; none with
// Engine, which gives only a bound.
func (x *Identity) Fitting() []Match {
	n := 0
	for n < len(x.Matches) && x.Matches[n].Fits && !x.Engine {
		n++
	}
	return x.Matches[:n]
}

// Identify finds the combinations of elements that give measured speeds. states
// are all combinations of the healthy train. It fails if input or output are not
// among the speeds, or stand.
func Identify(sys *solve.System, states *reading.States, m Readings) (*Identity, error) {
	t := sys.Train
	in, err := speedOf(t, m.Speeds, t.Input, "input")
	if err != nil {
		return nil, err
	}
	out, err := speedOf(t, m.Speeds, t.Output, "output")
	if err != nil {
		return nil, err
	}
	x := &Identity{Readings: &m, Train: t, Ratio: in.Mul(out.Inv())}
	if !m.Signed {
		x.Ratio = x.Ratio.Abs()
	}
	for i := range states.Groups {
		g := &states.Groups[i]
		if !g.Drives() {
			continue
		}
		match := Match{Ratio: g.Ratio}
		want := g.Ratio
		if !m.Signed {
			want = want.Abs()
		}
		if want.Sign() != x.Ratio.Sign() {
			continue
		}
		match.Off = x.Ratio.Float()/want.Float() - 1
		if m.Engine {
			match.Fits = size(x.Ratio)*(1+m.Tolerance.Float()) >= size(want)
		} else {
			match.Fits = math.Abs(match.Off) <= m.Tolerance.Float()*(1+same)
		}
		x.fill(sys, states, g, &match, in)
		if len(match.Sets) > 0 && (match.Fits || !m.Engine) {
			x.Matches = append(x.Matches, match)
		}
	}
	kinematics.Sort(x.Matches, func(a, b Match) int {
		if m.Engine {
			return cmp.Compare(size(b.Ratio), size(a.Ratio))
		}
		if a.Fits != b.Fits {
			return map[bool]int{true: -1, false: 1}[a.Fits]
		}
		return cmp.Compare(math.Abs(a.Off), math.Abs(b.Off))
	})
	return x, nil
}

// speedOf returns the measured speed of the input or output.
func speedOf(t *kinematics.Train, speeds []Measured, id kinematics.MemberID, what string) (exact.Frac, error) {
	for _, s := range speeds {
		if s.Member != id {
			continue
		}
		if s.Speed.Sign() == 0 {
			return exact.Frac{}, fmt.Errorf("%s stands, so there is no ratio to name a gear by: "+
				"measure while the vehicle drives", t.Members[id].Name)
		}
		return s.Speed, nil
	}
	return exact.Frac{}, fmt.Errorf("the speed of the %s is missing: write %s=SPEED", what, t.Members[id].Name)
}

// fill adds the combinations of a group whose other members turn as measured.
func (x *Identity) fill(sys *solve.System, states *reading.States, g *reading.Group, m *Match, in exact.Frac) {
	var list []reading.Combination
	for _, w := range g.Ways {
		list = append(list, w.Combinations...)
	}
	kinematics.Sort(list, func(a, b reading.Combination) int {
		return cmp.Or(cmp.Compare(a.Size(), b.Size()), cmp.Compare(a, b))
	})
	for _, c := range list {
		apply := states.Apply(c)
		if !x.agrees(sys, apply, in) {
			continue
		}
		m.Sets = append(m.Sets, apply)
		for r := range x.Train.Ranges {
			if slices.Equal(x.Train.Ranges[r].Set(), apply) && x.Train.Ranges[r].Input == x.Train.Input &&
				x.Train.Ranges[r].Output == x.Train.Output {
				m.Ranges = append(m.Ranges, r)
			}
		}
	}
	slices.Sort(m.Ranges)
}

// agrees says whether the members other than input and output turn as measured
// when a combination drives. A member that the combination leaves free agrees
// with any speed within its bounds.
func (x *Identity) agrees(sys *solve.System, apply []int, in exact.Frac) bool {
	if len(x.Speeds) < 3 || x.Engine {
		return true
	}
	motion := sys.Motion(x.Train.Applying(apply...))
	tolerance := x.Tolerance.Float()
	for _, s := range x.Speeds {
		if s.Member == x.Train.Input || s.Member == x.Train.Output {
			continue
		}
		w := motion.Members[s.Member]
		if w.Empty {
			continue
		}
		speed, scale := s.Speed.Float()/in.Float(), 1.0
		lo, hi := math.Inf(-1), math.Inf(1)
		if w.Min.Inf == 0 {
			lo = w.Min.Frac.Float()
		}
		if w.Max.Inf == 0 {
			hi = w.Max.Frac.Float()
		}
		inside := func(v float64) bool {
			slack := tolerance * max(scale, math.Abs(v))
			return v >= lo-slack && v <= hi+slack
		}
		if !inside(speed) && (x.Signed || !inside(-speed)) {
			return false
		}
	}
	return true
}

// A Difference is what holds other than a commanded range asks.
type Difference struct {
	Set []int // of those of the match, the one with the fewest differences
	// Holds are elements that hold though the range does not apply them, Missing
	// those that it applies and that do not.
	Holds, Missing []int
	// Ties counts the other sets of the match that differ as little.
	Ties int
}

// Against compares the best match with a commanded range: of the combinations
// that fit, the one that differs least. It returns nil if nothing fits.
func (x *Identity) Against(commanded int) *Difference {
	m := x.Best()
	if m == nil {
		return nil
	}
	want := x.Train.Ranges[commanded].Apply
	var best *Difference
	for _, set := range m.Sets {
		d := &Difference{Set: set, Holds: kinematics.Without(set, want), Missing: kinematics.Without(want, set)}
		switch {
		case best == nil || len(d.Holds)+len(d.Missing) < len(best.Holds)+len(best.Missing):
			best = d
		case len(d.Holds)+len(d.Missing) == len(best.Holds)+len(best.Missing):
			best.Ties++
		}
	}
	return best
}

// A Code is a trouble code of the family for incorrect ratios.
type Code struct{ Code, Text string }

// CodeSource says where the codes come from.
const CodeSource = "SAE J2012 / ISO 15031-6, from its summaries; gears 6 and 7 from public lists " +
	"of the codes, 8, 9 and 10 from memory. When a control sets it is its maker's choice: " +
	"one sets P0730 at more than 10 % off for more than 5 s (Saab 9-3 2002 service text)."

// gearCodes are the codes of a ratio that does not fit, of reverse and of gears 1 to 10: see [CodeSource].
var gearCodes = [...]string{"P0736", "P0731", "P0732", "P0733", "P0734", "P0735", "P0729", "P076F", "P07D9", "P07F6",
	"P07F7"}

// CodeOf returns the code under which a wrong ratio in a commanded range is
// filed; none where the train is no automatic transmission: it has no converter. Gears
// are numbered by the healthy ratios of the ranges that drive forward, the highest
// being gear 1, where the file does not say.
func CodeOf(sys *solve.System, commanded int) Code {
	t := sys.Train
	if t.Drive != kinematics.Converter {
		return Code{}
	}
	if gear := t.Ranges[commanded].Gear; gear != "" {
		return codeOfGear(gear)
	}
	k := sys.Kernel()
	own := k.Outcome(t.In(&t.Ranges[commanded]))
	var ratios []exact.Frac
	for r := range t.Ranges {
		o := k.Outcome(t.In(&t.Ranges[r]))
		ratio, drives := o.Ratio()
		if !drives || o.Verdict != solve.Forward || !sameEnds(t, r, commanded) {
			continue
		}
		if !slices.ContainsFunc(ratios, func(f exact.Frac) bool { return f.Cmp(ratio) == 0 }) {
			ratios = append(ratios, ratio)
		}
	}
	kinematics.Sort(ratios, func(a, b exact.Frac) int { return cmp.Compare(size(b), size(a)) })
	ratio, drives := own.Ratio()
	gear := 1 + slices.IndexFunc(ratios, func(f exact.Frac) bool { return drives && f.Cmp(ratio) == 0 })
	switch {
	case own.Verdict == solve.Reverse:
		return codeOfGear("R")
	case own.Verdict == solve.Forward:
		return codeOfGear(strconv.Itoa(gear))
	}
	return codeOfGear("")
}

// codeOfGear is the code of a gear: "1", "R".
func codeOfGear(gear string) Code {
	switch n, _ := strconv.Atoi(gear); {
	case gear == "R":
		return Code{gearCodes[0], "reverse incorrect ratio"}
	case n > 0 && n < len(gearCodes):
		return Code{gearCodes[n], fmt.Sprintf("gear %d incorrect ratio", n)}
	}
	return Code{"P0730", "incorrect gear ratio"}
}
