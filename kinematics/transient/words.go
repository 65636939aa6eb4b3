package transient

import (
	"fmt"
	"math"
	"slices"

	"tieup/kinematics"
	"tieup/kinematics/reading"
	"tieup/kinematics/solve"
)

// RPM converts a speed of this package.
func RPM(w float64) float64 { return w / radians }

// Words says in sentences what the shift was like, the most important first.
func (a *Answer) Words() []string {
	w := &wording{a: a, t: a.Shift.System.Train}
	w.before()
	w.after()
	w.headline()
	w.push()
	w.brakes()
	w.slowed()
	w.ending()
	w.heat()
	w.events()
	return w.lines
}

// A wording collects sentences.
type wording struct {
	a     *Answer
	t     *kinematics.Train
	lines []string
}

func (w *wording) say(format string, args ...any) {
	w.lines = append(w.lines, fmt.Sprintf(format, args...))
}

func (w *wording) name(coupling int) string { return w.t.Couplings[coupling].Name }

func (w *wording) names(couplings []int) string {
	return kinematics.And(kinematics.Map(couplings, w.name))
}

// before says that the old range does not do what it should.
func (w *wording) before() {
	s := w.a.Shift
	faulty := s.outcome(s.From, s.holdingAtStart())
	if s.From == s.To || alike(s.outcome(s.From, nil), faulty) {
		return
	}
	w.say("before the command, %s %s with these faults", s.From.Name, reading.DoesAt(faulty))
}

// after says that the run did not come to what the new range does.
func (w *wording) after() {
	s, e := w.a.Shift, &w.a.Verdict.End
	healthy := s.outcome(s.To, nil)
	fails := s.To.Name
	if healthy.Drives() && s.From != s.To {
		fails += " does not engage: it"
	}
	switch e.What {
	case Held:
		w.say("%s%s", w.held(), w.fight())
	case NotYet:
		ratio, _ := healthy.Ratio()
		r, last := w.a.Run, w.a.Run.last()
		is := r.Input[last]
		would := is - r.gap(ratio)
		way := "up"
		if is > would {
			way = "down"
		}
		w.say("the input has not run %s to %s at %s s: it turns at %s rpm, in %s it would turn at %s", way, s.To.Name,
			seconds(r.Time[last]),
			whole(RPM(is)), s.To.Name, whole(RPM(would)))
	case Otherwise:
		as := ""
		switch x := s.alikeRange(e.Outcome); {
		case x == nil || s.From == s.To:
		case x == s.From && healthy.Drives():
			w.say("%s does not engage: it stays in %s, at %.2f", s.To.Name, x.Name, ratioOf(e.Outcome))
			return
		default:
			as = ", as " + x.Name
		}
		w.say("%s %s with these faults%s", fails, reading.DoesAt(e.Outcome), as)
	case NoDrive:
		w.say("%s %s with these faults", fails, reading.DoesAt(e.Outcome))
	}
}

func ratioOf(o solve.Outcome) float64 {
	ratio, _ := o.Ratio()
	return math.Abs(ratio.Float())
}

// held says that the input is held at the end.
func (w *wording) held() string {
	s, r, e := w.a.Shift, w.a.Run, &w.a.Verdict.End
	switch {
	case !r.rests():
		return fmt.Sprintf("%s holds the input from %s s on, while the vehicle rolls", s.To.Name, seconds(e.Since))
	case e.Since == 0:
		return s.To.Name + " ties up: nothing turns"
	}
	return fmt.Sprintf("%s ties up: from %s s on nothing turns", s.To.Name, seconds(e.Since))
}

// headline is what the shift is called: timed, binds, flares.
func (w *wording) headline() {
	a, v := w.a, &w.a.Verdict
	if v.Bind > wordOfBind || v.Bind > 0 && v.End.What != Held {
		w.bind()
	}
	if v.Flare > 0 {
		text := fmt.Sprintf("flares by %s rpm at %s s", whole(RPM(v.Flare)), seconds(v.FlareAt))
		if d := v.driving(); v.Bind == 0 && d*v.Least < d*v.TimedLeast {
			text += "; " + w.least()
		}
		w.say("%s", text)
	}
	if v.Sag > 0 {
		w.say("lets the input fall %s rpm below both ranges at %s s", whole(RPM(v.Sag)), seconds(v.SagAt))
	}
	if v.Bind > 0 || v.Flare > 0 || v.Sag > 0 || v.End.What != Reached {
		return
	}
	if len(v.Slow) > 0 {
		for _, c := range v.Slow {
			what := "neither binds nor flares"
			if !a.Shift.drove() && a.Shift.From != a.Shift.To {
				what = "takes up " + a.Shift.To.Name
			}
			w.say("%s, but %s slips for %s s (timed: %s s)", what, w.name(c), seconds(a.Run.slipTime(c)),
				seconds(a.Timed.slipTime(c)))
		}
		return
	}
	w.say("%s", w.success())
}

// wordOfBind is how long, s, a range that ties up must bind before for a word.
const wordOfBind = 0.05

// success names a shift in which nothing went wrong.
func (w *wording) success() string {
	s := w.a.Shift
	to := s.drives(s.To)
	on, off := changes(w.a.Run.Courses, Applies), changes(w.a.Run.Courses, Releases)
	switch {
	case s.From == s.To:
		return "stays in " + s.To.Name
	case !to && s.drove():
		return "lets go of " + s.From.Name
	case !to:
		return fmt.Sprintf("changes from %s to %s without drive", s.From.Name, s.To.Name)
	case !s.drove():
		return "takes up " + s.To.Name
	case len(on) == 0 && len(off) == 0:
		return fmt.Sprintf("comes to %s: with these faults no element changes", s.To.Name)
	case len(on) == 0:
		return fmt.Sprintf("timed by itself: what %s needs holds already, only %s %s go", s.To.Name, w.names(off),
			kinematics.Plural(len(off), "lets", "let"))
	case len(off) == 0:
		return "timed by itself: nothing has to let go for " + w.names(on)
	case w.a.Handover == ViaNeutral:
		return fmt.Sprintf("timed: %s %s go before %s %s hold", w.names(off), kinematics.Plural(len(off), "lets", "let"),
			w.names(on), kinematics.Plural(len(on), "takes", "take"))
	}
	timed := "timed: "
	if w.a.Handover == LetGo {
		timed = "timed by itself: "
		var catch []int
		for _, e := range w.a.Run.Events {
			if e.Holds {
				catch = kinematics.Union(catch, e.Coupling)
			}
		}
		if len(catch) > 0 {
			on = catch
		}
	}
	return fmt.Sprintf("%s%s %s over from %s", timed, w.names(on),
		kinematics.Plural(len(on), "takes", "take"), w.names(off))
}

// drove says whether the old range drives, healthy and with the faults.
func (s *Shift) drove() bool {
	return s.drives(s.From) && s.outcome(s.From, s.holdingAtStart()).Drives()
}

// bind says how long and how deep the shift binds.
func (w *wording) bind() {
	v := &w.a.Verdict
	text := fmt.Sprintf("binds for %s s: %s at %s s while the input %s", seconds(v.Bind), w.least(), seconds(v.LeastAt),
		w.gives(v.LeastInput))
	if w.a.Timed != nil {
		worse := map[bool]string{false: "below", true: "above"}[v.driving() < 0] // up, where it drives backward
		text += fmt.Sprintf(" (timed: not %s %s)", worse, whole(v.TimedLeast))
	}
	if v.End.What != Held {
		text += w.fight()
	}
	w.say("%s", text)
}

// least says what the output torque came to at its worst.
func (w *wording) least() string {
	v := &w.a.Verdict
	falls := "falls"
	if v.driving() < 0 {
		falls = "rises"
	}
	return fmt.Sprintf("output torque %s to %s N m", falls, whole(v.Least))
}

// gives says what the input does.
func (w *wording) gives(torque float64) string {
	if torque < -0.5 {
		return "drags with " + whole(-torque)
	}
	return "gives " + whole(torque)
}

// fight names what fights and what gives.
func (w *wording) fight() string {
	v := &w.a.Verdict
	giving := kinematics.Without(v.Giving, v.Fighting)
	text := ""
	if n := len(v.Fighting); n > 0 {
		text = fmt.Sprintf("; %s %s the drive", w.names(v.Fighting), kinematics.Plural(n, "fights", "fight"))
	}
	if n := len(giving); n > 0 {
		text += fmt.Sprintf("%s %s %s", map[bool]string{true: ",", false: ";"}[text != ""], w.names(giving),
			kinematics.Plural(n, "slips", "slip"))
	}
	return text
}

// felt is the acceleration, m/s², from which on a push is felt.
const felt = 0.1

// push says how the vehicle is pushed when the old range does not drive it or
// drives the other way, and that it is a lurch if the healthy shift does not push
// so.
func (w *wording) push() {
	a, v := w.a, &w.a.Verdict
	s, vehicle := a.Shift, &a.Shift.Vehicle
	if vehicle.Mass == 0 || s.From == s.To && s.drives(s.To) || s.From != s.To && s.drove() && a.Handover != ViaNeutral {
		return
	}
	if math.Abs(v.Push) < felt*vehicle.Mass*vehicle.Travel() || v.End.What == Held && !a.Run.rolls() {
		return
	}
	what, slows := w.pushing()
	w.say("%s: output torque reaches %s N m at %s s%s", what, whole(v.Push), seconds(v.PushAt), w.gains(slows))
}

// rolls says whether the vehicle ever moves.
func (r *Run) rolls() bool {
	return slices.ContainsFunc(r.Output, func(w float64) bool { return math.Abs(w) >= slippingSpeed })
}

// pushing is what the push does to the vehicle, and whether it slows it.
func (w *wording) pushing() (what string, slows bool) {
	a, v := w.a, &w.a.Verdict
	r := a.Run
	way := math.Copysign(1, v.Push)
	word := map[bool]string{true: "forward", false: "backward"}[way > 0]
	last := r.Output[r.last()]
	switch {
	case way*r.Output[r.before()] < -slippingSpeed && math.Abs(last) < slippingSpeed:
		return "stops the vehicle", true
	case way*r.Output[r.before()] < -slippingSpeed && way*last < 0:
		return "holds the vehicle back", true
	case a.Shift.From == a.Shift.To:
		return "creeps " + word, false
	case a.Timed == nil || !a.Shift.drives(a.Shift.To) || v.Push*float64(v.Sense) < 0 ||
		math.Abs(v.Push) > muchPush*peak(a.Timed):
		return "lurches " + word, false
	}
	return "pushes " + word, false
}

// gains says how much speed a push gives the vehicle, or takes from it.
func (w *wording) gains(slows bool) string {
	r := w.a.Run
	i := max(1, sampleAt(r, w.a.Verdict.PushAt))
	gain := (r.Output[i] - r.Output[i-1]) / (r.Time[i] - r.Time[i-1]) * w.a.Shift.Vehicle.Travel() *
		math.Copysign(1, w.a.Verdict.Push)
	switch {
	case gain >= 0.05 && slows:
		return fmt.Sprintf(", and the vehicle slows by %.1f m/s²", gain)
	case gain >= 0.05:
		return fmt.Sprintf(", and the vehicle speeds up by %.1f m/s²", gain)
	case w.a.Shift.Brake > 0 && math.Abs(r.Output[i]) < slippingSpeed:
		return "; the brakes hold the vehicle"
	}
	return ""
}

// wordOfBraking is the share of its torque with which an input brakes for a word.
const wordOfBraking = 0.1

// brakes says that an input beyond its no-load speed brakes.
func (w *wording) brakes() {
	s, r := w.a.Shift, w.a.Run
	most := min(0, slices.Min(r.InputTorque))
	if s.Torque > 0 && s.NoLoad > 0 && most < -wordOfBraking*s.Torque {
		w.say("the input turns faster than %s rpm, at which its torque is nothing: there it brakes, with up to %s N m",
			whole(RPM(s.NoLoad)), whole(-most))
	}
}

// caught says whether a coupling that cannot slip caught what turned: how large
// the torques are then depends on how stiff things are.
func (r *Run) caught(t *Track) bool {
	return t.TotalHeat() > wordOfShock && slices.ContainsFunc(r.shocks,
		func(k int) bool { return r.Tracks[k].Coupling == t.Coupling })
}

// Shocks says whether anything that cannot slip caught what turned.
func (r *Run) Shocks() bool {
	return slices.ContainsFunc(r.Tracks, func(t Track) bool { return r.caught(&t) })
}

// muchPush is how many times that of the healthy shift a push is a lurch.
const muchPush = 1.25

func peak(r *Run) float64 {
	most := 0.0
	for _, x := range r.OutputTorque {
		most = max(most, math.Abs(x))
	}
	return most
}

// slowed says that the vehicle lost speed in a bind, or coasting.
func (w *wording) slowed() {
	r := w.a.Run
	travel := w.a.Shift.Vehicle.Travel() * 3.6
	first, last := r.Output[0]*travel, r.Output[r.last()]*travel
	if (w.a.Verdict.Bind > 0 || w.a.Verdict.End.What == Held || w.a.Shift.From == w.a.Shift.To) &&
		math.Abs(last) < math.Abs(first)-0.5 {
		w.say("the vehicle slows from %.1f to %.1f km/h in %s s", first, last, seconds(r.Time[r.last()]))
	}
}

// ending says when the shift was over, or that it was not.
func (w *wording) ending() {
	a, v := w.a, &w.a.Verdict
	last := a.Run.last()
	end := seconds(a.Run.Time[last])
	if len(v.Slipping) > 0 {
		speeds := kinematics.Map(v.Slipping, func(c int) string {
			return fmt.Sprintf("%s by %s rpm", w.name(c), whole(RPM(math.Abs(a.Run.Track(c).Slip[last]))))
		})
		w.say("is not over at %s s: %s still %s", end, kinematics.And(speeds),
			kinematics.Plural(len(speeds), "slips", "slip"))
	}
	for _, c := range v.Drags {
		t := a.Run.Track(c)
		w.say("%s drags to the end: it slips at %s rpm with %s N m", w.name(c), whole(RPM(math.Abs(t.Slip[last]))),
			whole(max(t.TorqueMax[last], -t.TorqueMin[last])))
	}
	if v.Done > 0 && v.End.What == Reached && a.Shift.drives(a.Shift.To) {
		w.say("%s holds from %s s on, the input at %s rpm", a.Shift.To.Name, seconds(v.Done),
			whole(RPM(a.Run.Input[sampleAt(a.Run, v.Done)])))
	}
}

// What is worth a word of heat.
const (
	wordOfHeat = 500.0 // J
	muchHeat   = 1.5   // times that of the timed run
)

// heat compares the heat of every coupling with the timed run.
func (w *wording) heat() {
	for _, t := range w.a.Run.Tracks {
		q := t.TotalHeat()
		if w.a.Run.caught(&t) {
			w.say("%s catches what turns: a shock that takes %.0f J; its torque depends on how stiff the parts are",
				w.name(t.Coupling), q)
			continue
		}
		if q < wordOfHeat {
			continue
		}
		timed := 0.0
		if w.a.Timed != nil {
			if x := w.a.Timed.Track(t.Coupling); x != nil {
				timed = x.TotalHeat()
			}
		}
		text := fmt.Sprintf("%s takes %s kJ", w.name(t.Coupling), kilo(q))
		switch {
		case w.a.Timed == nil || w.a.Verdict.Timed:
		case timed < wordOfHeat/10:
			text += ", and none when timed"
		case q > muchHeat*timed:
			text += fmt.Sprintf(", %s the %s of the timed shift", times(q/timed), kilo(timed))
		}
		if area := w.t.Couplings[t.Coupling].Area; area > 0 {
			text += fmt.Sprintf(" (%.2f J/mm²)", q/area/1e6)
		}
		if t.SlipTime > 0 {
			text += fmt.Sprintf(", slipping for %s s", seconds(t.SlipTime))
		}
		w.say("%s", text)
	}
}

// maxEvents keeps the words short.
const maxEvents = 6

func (w *wording) events() {
	for i, e := range w.a.Run.Events {
		if i == maxEvents {
			w.say("one-way clutches change %d times more", len(w.a.Run.Events)-maxEvents)
			return
		}
		what := "lets go and overruns from"
		if e.Holds {
			what = "takes hold at"
		}
		w.say("%s %s %s s", w.name(e.Coupling), what, seconds(e.Time))
	}
}

// times puts a multiple in words.
func times(x float64) string {
	n := int(math.Round(x))
	switch {
	case x < 2.5:
		return fmt.Sprintf("%.1f times", x)
	case n < len(numbers):
		return numbers[n] + " times"
	}
	return fmt.Sprintf("%d times", n)
}

var numbers = []string{"", "", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten",
	"eleven", "twelve", "thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen", "nineteen", "twenty"}

func whole(x float64) string {
	if math.Abs(x) < 0.5 {
		return "0"
	}
	return fmt.Sprintf("%.0f", x)
}

func seconds(t float64) string { return fmt.Sprintf("%.2f", t) }

func kilo(q float64) string {
	if q < 9950 {
		return fmt.Sprintf("%.1f", q/1000)
	}
	return fmt.Sprintf("%.0f", q/1000)
}

func sampleAt(r *Run, t float64) int {
	i, _ := slices.BinarySearch(r.Time, t)
	return min(i, len(r.Time)-1)
}
