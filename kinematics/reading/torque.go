package reading

import (
	"errors"
	"math"
	"slices"
	"strconv"
	"strings"

	"tieup/kinematics"
	"tieup/kinematics/exact"
	"tieup/kinematics/solve"
)

// Torque says a torque in words: "150 N m", or "0.60 of rated torque" and "2.84
// times rated torque" where torques are multiples.
func Torque(scale solve.Scale, f exact.Frac) string {
	text := TorqueNumber(scale, f)
	switch {
	case scale.NewtonMetres:
		return text + " N m"
	case math.Abs(f.Float()) < 1:
		return text + " of rated torque"
	}
	return text + " times rated torque"
}

// TorqueNumber is the number of a torque for tables: N m with one place below a
// hundred, multiples with two.
func TorqueNumber(scale solve.Scale, f exact.Frac) string {
	x := f.Float()
	switch {
	case x == 0:
		return "0"
	case scale.NewtonMetres && math.Abs(x) >= 100:
		return strconv.FormatFloat(x, 'f', 0, 64)
	case scale.NewtonMetres:
		return strconv.FormatFloat(x, 'f', 1, 64)
	case math.Abs(x) < 0.1:
		return strconv.FormatFloat(x, 'g', 3, 64)
	}
	return strconv.FormatFloat(x, 'f', 2, 64)
}

// TorqueCell is a torque with its unit for the cell of a table: "2.84 x rated".
func TorqueCell(scale solve.Scale, f exact.Frac) string {
	return TorqueNumber(scale, f) + " " + ShortUnit(scale)
}

// ShortUnit is what stands behind the number of a torque in a table.
func ShortUnit(scale solve.Scale) string {
	if scale.NewtonMetres {
		return "N m"
	}
	return "x rated"
}

// TorqueUnit names what torques are counted in.
func TorqueUnit(scale solve.Scale) string {
	if scale.NewtonMetres {
		return "N m"
	}
	return "multiples of the rated input torque"
}

// Words of a range in which torque decides, because an element is weak, drags or
// is stuck with a share of its rating.
const (
	HoldsUpTo      Word = "holds up to"
	HoldsAtLight   Word = "holds at light throttle"
	FlaresAbove    Word = "flares above"
	CreepsForward  Word = "creeps forward"
	CreepsBackward Word = "creeps backward"
	PushesWith     Word = "pushing with up to"
	Drags          Word = "drags"
	HoldsInput     Word = "holds the input" // of a drag: "the drag of forward holds the input up to"
	DrawnTo        Word = "drawn to"
	GivesWay       Word = "gives way"
)

// A Friction is what torque decides in a range: the motion of the speeds alone
// holds only so far.
type Friction struct {
	Scale solve.Scale
	// Missing names elements whose ratings are missing, without which the rest
	// cannot be known.
	Missing []string

	// Limit is the input torque at which a range that drives begins to slip; Limits
	// says that there is one. Flare is then the output speed per input turn at which
	// it is caught, by other elements, and FlareAs the range whose ratio that is: 0
	// and "" if the engine just runs up.
	Limits  bool
	Limit   exact.Frac
	Flare   exact.Frac
	FlareAs string
	// Drag is the input torque that is lost to what drags. It can draw a range that
	// drives over a one-way clutch on, which then overruns: the output runs at speed
	// Drawn while the input torque is less than Below. DrawnAs is the range whose ratio
	// that is, or "". Drawn is 0 where nothing is drawn on.
	Drag    exact.Frac
	Drawn   exact.Frac
	DrawnAs string
	Below   exact.Frac
	// Held says that the rated input torque does not overcome what drags in a range
	// whose speeds let the input turn, so that it is held: nothing turns below HeldTo,
	// with the wheels free. HeldBy names what drags.
	Held   bool
	HeldTo exact.Frac
	HeldBy []string
	// Creeps says that a range pushes the vehicle that does not when healthy, with
	// Pull at the output at most. Way is +1 forward, -1 backward.
	Creeps bool
	Way    int
	Pull   exact.Frac
	// Gives says that a range which cannot turn by its speeds does so from the
	// input torque Give on, and Given is the output speed per input turn then; 0
	// if the output need not turn, or could turn either way.
	Gives bool
	Give  exact.Frac
	Given exact.Frac

	// Proportional says that nothing slips, where the range begins to slip, gives way or
	// overcomes a drag, but elements whose faults act through torque: with any smaller share
	// of their ratings the same happens at the same part of the torque, since whatever else
	// slips costs more by comparison. Of the Limit of a range with a drag it says nothing.
	Proportional bool

	forward int
	weak    bool // something that is applied holds with less than its rating
}

// ActsByTorque says whether a fault acts in a range through torque, so that
// speeds alone do not tell what it does.
func ActsByTorque(r *kinematics.Range, f kinematics.Fault) bool {
	if !f.ActsIn(r.Name) {
		return false
	}
	switch applied := slices.Contains(r.Apply, f.Coupling); f.Kind {
	case kinematics.Weak:
		return applied
	case kinematics.Dragging:
		return !applied
	}
	return f.Share.IsSet()
}

// ByTorque says whether one of the faults acts in a range through torque.
func ByTorque(r *kinematics.Range, faults []kinematics.Fault) bool {
	return slices.ContainsFunc(faults, func(f kinematics.Fault) bool { return ActsByTorque(r, f) })
}

// TorqueRemark says how far speeds tell what a fault does that acts through torque.
const TorqueRemark = "Torque decides here: speeds are those with weak elements holding and dragging ones free; " +
	"see tieup breakaway."

// friction finds out what torque decides in r, nil if no fault acts through it.
func (c *Reader) friction(r *kinematics.Range, faults []kinematics.Fault, o solve.Outcome) *Friction {
	if !ByTorque(r, faults) {
		return nil
	}
	t := c.sys.Train
	if c.ratings == nil {
		c.scale = solve.ScaleOf(t)
		c.ratings = solve.Certain(c.sys.Ratings(c.scale, solve.DefaultReserve(), nil))
	}
	zero := exact.NewFrac(0, 1)
	fr := &Friction{Scale: c.scale, Limit: zero, Flare: zero, Drag: zero, Drawn: zero, Below: zero, Pull: zero,
		Give: zero, Given: zero, HeldTo: zero, forward: t.Forward}
	fr.weak = slices.ContainsFunc(faults, func(f kinematics.Fault) bool {
		return ActsByTorque(r, f) && f.Kind != kinematics.Dragging
	})
	grip, err := c.sys.Capacities(r, faults, c.ratings)
	var missing *solve.MissingRatingError
	if errors.As(err, &missing) {
		fr.Missing = slices.Concat(missing.Unloaded, missing.Unscaled, missing.Shared)
		return fr
	}
	chain := c.sys.Stretches(grip)
	switch {
	case len(chain) == 0:
		return nil
	case o.Drives():
		c.limit(fr, r, faults, o, chain)
	case o.Verdict == solve.Neutral || o.Verdict == solve.OutputHeld:
		fr.Drag, fr.Proportional = chain[0].Torque, proportional(r, faults, chain[:1])
		// Against the least resistance: what costs the same either way would cost
		// no more standing still.
		if way := chain[0].Optima[0].Output.Sign(); way != 0 {
			fr.Creeps, fr.Way = true, way*t.Forward
			fr.Pull = chain[len(chain)-1].From.Frac
		}
	default:
		fr.gives(r, faults, chain)
	}
	if (o.Drives() || !fr.Gives) && c.scale.Rated.Sign() > 0 && chain[0].Torque.Cmp(c.scale.Rated) > 0 {
		fr.Held, fr.HeldTo, fr.HeldBy = true, chain[0].Torque, slipping(t, chain[0].Optima)
	}
	return fr
}

// gives fills in from what torque on, and at which speed, the input turns.
func (f *Friction) gives(r *kinematics.Range, faults []kinematics.Fault, chain []solve.Stretch) {
	f.Gives, f.Give, f.Proportional = true, chain[0].Torque, proportional(r, faults, chain[:1])
	if out, one := outputOf(chain[0].Optima); one {
		f.Given = out
	}
}

// proportional says whether nothing slips in the motions of some stretches but what faults
// make slip that act through torque.
func proportional(r *kinematics.Range, faults []kinematics.Fault, chain []solve.Stretch) bool {
	whole := func(e int) bool {
		return !slices.ContainsFunc(faults, func(f kinematics.Fault) bool { return f.Coupling == e && ActsByTorque(r, f) })
	}
	return !slices.ContainsFunc(chain, func(s solve.Stretch) bool {
		return s.More || slices.ContainsFunc(s.Optima, func(m solve.MechanismMotion) bool {
			return slices.ContainsFunc(m.Slips, whole)
		})
	})
}

// slipping names what slips in any of some motions.
func slipping(t *kinematics.Train, motions []solve.MechanismMotion) []string {
	var names []string
	for _, m := range motions {
		for _, i := range m.Slips {
			names = kinematics.Union(names, t.Couplings[i].Name)
		}
	}
	return names
}

// limit fills in how far a driving range holds, and what it does beyond.
func (c *Reader) limit(fr *Friction, r *kinematics.Range, faults []kinematics.Fault, o solve.Outcome,
	chain []solve.Stretch) {
	as := func(s solve.Stretch) bool {
		out, one := outputOf(s.Optima)
		return one && out.Cmp(o.OutputSpeed()) == 0
	}
	first := slices.IndexFunc(chain, as)
	if first < 0 { // another motion costs less against any resistance
		fr.gives(r, faults, chain)
		return
	}
	s := chain[first]
	fr.Drag = s.Torque.Sub(s.Slope.Mul(s.From.Frac))
	if first > 0 {
		if out, one := outputOf(chain[first-1].Optima); one && out.Sign() != 0 {
			fr.Drawn, fr.DrawnAs, fr.Below = out, c.rangeAt(r, out.Inv()), s.Torque
		}
	}
	end := first
	for end < len(chain) && as(chain[end]) {
		end++
	}
	decides := chain[first:min(end+1, len(chain))]
	if !fr.weak {
		decides = chain[first : first+1] // where it drives as its speeds say
	}
	fr.Proportional = proportional(r, faults, decides)
	if end < len(chain) {
		last := chain[end-1]
		fr.Limits = true
		fr.Limit = last.AtEnd()
		fr.Pull = last.To.Frac
		if out, one := outputOf(chain[end].Optima); one && out.Sign() != 0 {
			fr.Flare, fr.FlareAs = out, c.rangeAt(r, out.Inv())
		}
	}
	if fr.Limits && !c.kernel.Outcome(c.sys.Train.In(r)).Drives() {
		fr.Creeps, fr.Way = true, 1
		if o.Verdict == solve.Reverse {
			fr.Way = -1
		}
	}
}

// outputOf returns the output speed of motions if it is the same in all of them.
func outputOf(motions []solve.MechanismMotion) (exact.Frac, bool) {
	for _, m := range motions[1:] {
		if m.Output.Cmp(motions[0].Output) != 0 {
			return exact.Frac{}, false
		}
	}
	return motions[0].Output, true
}

// A torqueSaid is one thing that torque decides, with numbers as they are printed; what it
// has no use for is "".
type torqueSaid struct {
	word      Word // "" that ratings are missing
	torque    string
	to        Word // what it drives then
	ratio, as string
	names     string
}

func (s torqueSaid) String() string {
	ratio := s.ratio
	if s.as != "" {
		ratio += " (" + string(As) + " " + s.as + ")"
	}
	text := string(s.word) + " "
	switch s.word {
	case "":
		return "how far by torque is not known: no rating for " + s.names
	case HoldsInput:
		return "the drag of " + s.names + " " + text + "up to " + s.torque
	case GivesWay:
		text += "at " + s.torque
		if s.to != "" {
			text += " and " + string(s.to) + " at " + ratio
		}
	case PushesWith:
		text += s.torque + " at the output"
	case CreepsForward, CreepsBackward:
		return string(s.word) + ", " + string(PushesWith) + " " + s.torque + " at the output"
	case FlaresAbove:
		text = string(HoldsAtLight) + ", " + text + s.torque
		if ratio != "" {
			text += " to " + ratio
		}
	case HoldsUpTo:
		text += s.torque
	case Drags:
		text += "with " + s.torque + " at the input"
	case DrawnTo:
		text += ratio + " below " + s.torque
	}
	return text
}

// says is what torque decides, nothing of no friction.
func (f *Friction) says() (list []torqueSaid) {
	if f == nil {
		return nil
	}
	if f.Missing != nil {
		return []torqueSaid{{names: kinematics.And(f.Missing)}}
	}
	if f.Held && !f.Gives {
		return []torqueSaid{f.holdsInput()}
	}
	say := func(w Word, torque exact.Frac) *torqueSaid {
		list = append(list, torqueSaid{word: w, torque: Torque(f.Scale, torque)})
		return &list[len(list)-1]
	}
	ratio := func(out exact.Frac) string {
		if out.Sign() == 0 {
			return ""
		}
		return Ratio(out.Inv())
	}
	switch {
	case f.Gives:
		s := say(GivesWay, f.Give)
		s.torque = f.givesAt()
		if s.ratio = ratio(f.Given); s.ratio != "" {
			s.to = f.drives(f.Given)
		}
	case f.Creeps && f.Limits:
		say(PushesWith, f.Pull)
	case f.Creeps:
		say(f.creep(), f.Pull)
	case f.Limits && f.light():
		s := say(FlaresAbove, f.Limit)
		s.ratio, s.as = ratio(f.Flare), f.FlareAs
	case f.Limits && f.weak:
		say(HoldsUpTo, f.Limit)
	}
	if f.Drag.Sign() > 0 && !f.Creeps {
		say(Drags, f.Drag)
	}
	if f.Drawn.Sign() != 0 {
		s := say(DrawnTo, f.Below)
		s.ratio, s.as = ratio(f.Drawn), f.DrawnAs
	}
	return list
}

// Text says what torque decides in one line, to go behind the text of a cell.
func (f *Friction) Text() string {
	return strings.Join(kinematics.Map(f.says(), torqueSaid.String), ", ")
}

// holdsInput says what holds the input, and up to what torque.
func (f *Friction) holdsInput() torqueSaid {
	return torqueSaid{word: HoldsInput, names: kinematics.And(f.HeldBy), torque: Torque(f.Scale, f.HeldTo)}
}

// givesAt is the torque at which a range gives way.
func (f *Friction) givesAt() string {
	if f.Give.Sign() == 0 {
		return "no torque"
	}
	return Torque(f.Scale, f.Give)
}

// light says whether a range that slips does so below the rated torque.
func (f *Friction) light() bool { return f.Limit.Cmp(f.Scale.Rated) < 0 }

// GivenWay says which way a range that gives way drives the vehicle then: +1
// forward, -1 backward, 0 neither for certain.
func (f *Friction) GivenWay() int { return f.Given.Sign() * f.forward }

// wrongWay says whether a range that gives way then drives other than healthy.
func (f *Friction) wrongWay(healthy solve.Verdict) bool {
	way := f.GivenWay()
	return way > 0 && healthy != solve.Forward || way < 0 && healthy != solve.Reverse
}

// creep says which way the vehicle creeps.
func (f *Friction) creep() Word {
	if f.Way < 0 {
		return CreepsBackward
	}
	return CreepsForward
}

// drives says which way the vehicle goes at an output speed.
func (f *Friction) drives(out exact.Frac) Word {
	if out.Sign() != f.forward {
		return DrivesBackward
	}
	return DrivesForward
}

// Short is Text in as few letters as a wall chart has room for: "flares > 0.60".
func (f *Friction) Short() string {
	switch {
	case f.Missing != nil:
		return "no rating"
	case f.Gives:
		return "gives at " + TorqueNumber(f.Scale, f.Give)
	case f.Held:
		return "held by drag"
	case f.Creeps:
		return "pull " + TorqueNumber(f.Scale, f.Pull)
	case f.Limits && f.light():
		return "flares > " + TorqueNumber(f.Scale, f.Limit)
	case f.Drag.Sign() > 0:
		return string(Drags)
	}
	return ""
}

// changes says what torque changes against the healthy range.
func (f *Friction) changes() []string {
	switch {
	case f.Gives:
		return []string{string(GivesWay) + " at " + f.givesAt()}
	case f.Held:
		return []string{f.holdsInput().String()}
	case f.Creeps && !f.Limits:
		return []string{string(f.creep())}
	case f.Creeps:
	case f.Limits && f.light():
		return []string{string(FlaresAbove) + " " + Torque(f.Scale, f.Limit)}
	case f.Limits && f.weak:
		return []string{string(HoldsUpTo) + " " + Torque(f.Scale, f.Limit)}
	case f.Drag.Sign() > 0:
		return []string{string(Drags)}
	}
	return nil
}
