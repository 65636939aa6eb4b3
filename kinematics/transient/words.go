package transient

import (
	"fmt"
	"math"
	"slices"

	"tieup/kinematics"
	"tieup/kinematics/solve"
)

// RPM converts a speed of this package.
func RPM(w float64) float64 { return w / radians }

// Words says in sentences what the shift was like, the most important first.
func (a *Answer) Words() []string {
	w := &wording{a: a, t: a.Shift.System.Train}
	w.before()
	w.headline()
	w.lurch()
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
	var list []string
	for _, c := range couplings {
		list = append(list, w.name(c))
	}
	return kinematics.And(list)
}

// before says that the old range does not do what it should.
func (w *wording) before() {
	s := w.a.Shift
	healthy, faulty := s.outcome(s.From, nil), s.outcome(s.From, s.Faults)
	was, _ := healthy.Ratio()
	is, _ := faulty.Ratio()
	if healthy.Verdict == faulty.Verdict && was == is {
		return
	}
	words := map[solve.Verdict]string{
		solve.Forward: "drives forward", solve.Reverse: "drives backward", solve.Neutral: "does not drive",
		solve.OutputHeld: "holds the output", solve.InputHeld: "holds the input", solve.TieUp: "ties up",
	}[faulty.Verdict]
	if ratio, ok := faulty.Ratio(); ok {
		words += fmt.Sprintf(" at %.2f", math.Abs(ratio.Float()))
	}
	w.say("before the command, %s %s with these faults", s.From.Name, words)
}

// headline is what the shift is called: timed, binds, flares.
func (w *wording) headline() {
	a, v := w.a, &w.a.Verdict
	if v.Bind > 0 {
		text := fmt.Sprintf("binds for %s s: output torque falls to %s N m at %s s while the input gives %s",
			seconds(v.Bind), whole(v.Least), seconds(v.LeastAt), whole(v.LeastInput))
		if a.Timed != nil {
			text += fmt.Sprintf(" (timed: not below %s)", whole(v.TimedLeast))
		}
		w.say("%s%s", text, w.fight())
	}
	if v.Flare > 0 {
		text := fmt.Sprintf("flares by %s rpm at %s s", whole(RPM(v.Flare)), seconds(v.FlareAt))
		if v.Bind == 0 && v.Least < v.TimedLeast {
			text += fmt.Sprintf("; output torque falls to %s N m", whole(v.Least))
		}
		w.say("%s", text)
	}
	if v.Sag > 0 {
		w.say("lets the input fall %s rpm below both ranges at %s s", whole(RPM(v.Sag)), seconds(v.SagAt))
	}
	if v.Bind > 0 || v.Flare > 0 || v.Sag > 0 {
		return
	}
	from, to := a.drives(a.Shift.From), a.drives(a.Shift.To)
	switch {
	case len(v.Slipping) > 0:
	case a.Shift.From == a.Shift.To:
		w.say("stays in %s", a.Shift.To.Name)
	case from && to && a.Handover == LetGo:
		w.say("timed by itself: what %s needs holds already, only %s lets go", a.Shift.To.Name, w.names(a.changed(Releases)))
	case from && to && len(a.changed(Releases)) == 0:
		w.say("timed by itself: nothing has to let go for %s", w.names(a.changed(Applies)))
	case from && to:
		on := a.changed(Applies)
		w.say("timed: %s %s over from %s", w.names(on), kinematics.Plural(len(on), "takes", "take"), w.names(a.changed(Releases)))
	case to:
		w.say("takes up %s", a.Shift.To.Name)
	case from:
		w.say("lets go of %s", a.Shift.From.Name)
	default:
		w.say("changes from %s to %s without drive", a.Shift.From.Name, a.Shift.To.Name)
	}
}

// fight names what fights and what gives.
func (w *wording) fight() string {
	v := &w.a.Verdict
	giving := slices.DeleteFunc(slices.Clone(v.Giving), func(c int) bool { return slices.Contains(v.Fighting, c) })
	text := ""
	if n := len(v.Fighting); n > 0 {
		text = fmt.Sprintf("; %s %s the drive", w.names(v.Fighting), kinematics.Plural(n, "fights", "fight"))
	}
	if n := len(giving); n > 0 {
		text += fmt.Sprintf(", %s %s", w.names(giving), kinematics.Plural(n, "slips", "slip"))
	}
	return text
}

// drives says whether a healthy range drives.
func (a *Answer) drives(r *kinematics.Range) bool { return a.Shift.outcome(r, nil).Drives() }

// changed lists the couplings that the shift applies or releases.
func (a *Answer) changed(c Change) []int {
	var list []int
	for _, x := range a.Run.Courses {
		if x.Change == c {
			list = append(list, x.Coupling)
		}
	}
	return list
}

// lurch says how hard the vehicle is pushed when the old range does not drive
// it when healthy, and that it is a lurch if the healthy shift does not push so.
func (w *wording) lurch() {
	a, v := w.a, &w.a.Verdict
	vehicle := &a.Shift.Vehicle
	if a.drives(a.Shift.From) || v.Peak == 0 || vehicle.Mass == 0 || w.shocks() {
		return
	}
	what, way := "pushes", "forward"
	if v.Peak < 0 {
		way = "backward"
	}
	if a.Shift.From == a.Shift.To {
		what = "creeps"
	} else if a.Timed == nil || !a.drives(a.Shift.To) || v.Peak*float64(v.Sense) < 0 || math.Abs(v.Peak) > muchPush*peak(a.Timed) {
		what = "lurches"
	}
	w.say("%s %s: output torque reaches %s N m at %s s, which is %.1f m/s²", what, way, whole(v.Peak), seconds(v.PeakAt),
		math.Abs(v.Peak)/vehicle.Mass/vehicle.Travel())
}

// shocks says whether something without limit caught what turned: how large the
// torques are then depends on how stiff things are.
func (w *wording) shocks() bool {
	for _, t := range w.a.Run.Tracks {
		if w.shock(&t) {
			return true
		}
	}
	return false
}

func (w *wording) shock(t *Track) bool {
	return !w.t.Couplings[t.Coupling].Kind.Friction() && t.TotalHeat() > wordOfShock
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
	first, last := r.Output[0]*travel, r.Output[len(r.Output)-1]*travel
	if (w.a.Verdict.Bind > 0 || w.a.Shift.From == w.a.Shift.To) && math.Abs(last) < math.Abs(first)-0.5 {
		w.say("the vehicle slows from %.1f to %.1f km/h in %s s", first, last, seconds(r.Time[len(r.Time)-1]))
	}
}

// ending says when the shift was over, or that it was not.
func (w *wording) ending() {
	a, v := w.a, &w.a.Verdict
	last := len(a.Run.Time) - 1
	end := seconds(a.Run.Time[last])
	if len(v.Slipping) > 0 {
		var speeds []string
		for _, c := range v.Slipping {
			speeds = append(speeds, fmt.Sprintf("%s by %s rpm", w.name(c), whole(RPM(math.Abs(a.Run.Track(c).Slip[last])))))
		}
		w.say("is not over at %s s: %s still %s", end, kinematics.And(speeds), kinematics.Plural(len(speeds), "slips", "slip"))
		return
	}
	o := a.Shift.outcome(a.Shift.To, a.Shift.Faults)
	switch {
	case v.Done > 0 && o.Drives():
		w.say("%s holds from %s s on, the input at %s rpm", a.Shift.To.Name, seconds(v.Done), whole(RPM(a.Run.Input[sampleAt(a.Run, v.Done)])))
	case o.Verdict == solve.TieUp || o.Verdict == solve.InputHeld:
		w.say("nothing slips any more, and with these faults %s cannot turn its input", a.Shift.To.Name)
	}
}

// What is worth a word of heat.
const (
	wordOfHeat  = 500.0 // J
	wordOfShock = 10.0  // J
	muchHeat    = 1.5   // times that of the timed run
)

// heat compares the heat of every coupling with the timed run.
func (w *wording) heat() {
	for _, t := range w.a.Run.Tracks {
		q := t.TotalHeat()
		if w.shock(&t) {
			w.say("%s catches what turns: a shock that takes %.0f J (torques are means over %g ms)", w.name(t.Coupling), q, 1000*w.a.Shift.Sample)
			continue
		}
		if q < wordOfHeat {
			continue
		}
		timed := 0.0
		if w.a.Timed != nil {
			for _, x := range w.a.Timed.Tracks {
				if x.Coupling == t.Coupling {
					timed = x.TotalHeat()
				}
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

var numbers = []string{"", "", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve",
	"thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen", "nineteen", "twenty"}

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
