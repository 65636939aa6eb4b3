package gearsets

import (
	"fmt"
	"math"
	"strings"

	"tieup/gearsets/internal/yamlfile"
	"tieup/gearsets/problem"
	"tieup/kinematics"
)

// A Condition is something that tooth counts must satisfy so that a gearset
// can be put together.
type Condition string

// The conditions.
const (
	// Coaxial: all central gears and the carrier have one axis. For gears of one
	// module without profile shift, ring = sun + 2 pinion.
	Coaxial Condition = "coaxial"
	// Spacing: identical pinions fit in at equal angles.
	Spacing Condition = "equal spacing"
	// Clearance: the tips of gears that do not mesh do not touch.
	Clearance Condition = "clearance"
)

// AuditState is what came out for one condition.
type AuditState uint8

// The states of a finding.
const (
	AuditOK         AuditState = iota // satisfied
	AuditWarning                      // not satisfied
	AuditNotChecked                   // cannot be told: Text says why
	AuditExcused                      // not satisfied by standard gears, but the file says profile-shifted
)

// String returns the words that are printed.
func (s AuditState) String() string {
	return [...]string{"ok", "warning", "not checked", "excused (profile-shifted)"}[s]
}

// A Finding is the audit of one condition of one gearset.
type Finding struct {
	Gearset   int // index into Train.Gearsets
	Condition Condition
	State     AuditState
	Text      string // the condition in numbers, or why it was not checked
	Hint      string // of a warning: what would satisfy it
	Part      string // the part that a warning is about: "ring"; "pinions" for their number
}

// Audit checks the tooth counts of every gearset: see the package comment for
// the conditions and where they come from.
func Audit(t *kinematics.Train) []Finding {
	var all []Finding
	for i := range t.Gearsets {
		g := &t.Gearsets[i]
		if !g.Planetary() {
			continue // any two gears make a pair
		}
		a := &audit{set: g, index: i}
		if g.RatioOnly {
			a.skip(Coaxial, "ratio only: the teeth are not given")
			all = append(all, a.findings...)
			continue
		}
		a.coaxial()
		a.spacing()
		a.clearance()
		all = append(all, a.findings...)
	}
	return all
}

type audit struct {
	set      *kinematics.Gearset
	index    int
	findings []Finding
}

func (a *audit) add(c Condition, s AuditState, part, hint, format string, args ...any) {
	a.findings = append(a.findings, Finding{Gearset: a.index, Condition: c, State: s,
		Text: fmt.Sprintf(format, args...), Hint: hint, Part: part})
}

func (a *audit) ok(c Condition, format string, args ...any) {
	a.add(c, AuditOK, "", "", format, args...)
}

func (a *audit) skip(c Condition, why string) { a.add(c, AuditNotChecked, "", "", "%s", why) }

// standard records a condition on gears without profile shift that is not
// satisfied: a set that the file calls profile-shifted is excused from it.
func (a *audit) standard(c Condition, part, hint, format string, args ...any) {
	if a.set.ProfileShifted {
		a.add(c, AuditExcused, part, "", format, args...)
		return
	}
	a.add(c, AuditWarning, part, hint, format, args...)
}

// central returns the distance of a central gear from the axis of its pinion in
// half modules, which is sun + pinion or ring - pinion; known is false if the
// pinion teeth are not.
func central(g *kinematics.Gear) (distance int64, known bool) {
	if g.PinionTeeth == 0 {
		return 0, false
	}
	if g.Internal {
		return g.Teeth - g.PinionTeeth, true
	}
	return g.Teeth + g.PinionTeeth, true
}

// says writes the distance of a central gear: "sun 30 + pinion 18 = 48".
func (a *audit) says(g *kinematics.Gear) string {
	d, _ := central(g)
	sign := "+"
	if g.Internal {
		sign = "-"
	}
	return fmt.Sprintf("%s %d %s %s %d = %d", g.Part, g.Teeth, sign, a.pinionWord(g), g.PinionTeeth, d)
}

func (a *audit) pinionWord(g *kinematics.Gear) string {
	if a.set.Steps() {
		return "step"
	}
	return a.set.Pinions[g.Pinion].Part
}

// coaxial compares the distances of all central gears on the same pinions.
func (a *audit) coaxial() {
	s := a.set
	switch {
	case s.Across() && s.Steps():
		a.inclined()
		return
	case s.Across():
		return // the side gears are coaxial whatever their teeth
	case s.Steps():
		a.coaxialSteps()
		return
	case s.Pinions[0].Derived:
		sun, ring, p := &s.Gears[0], &s.Gears[1], s.Pinions[0]
		a.ok(Coaxial, "%s (%s %d - %s %d) / 2 = %d", p.Part, ring.Part, ring.Teeth, sun.Part, sun.Teeth, p.Teeth)
		return
	case s.Pinions[0].Teeth == 0 && len(s.Pinions) == 1:
		sun, ring := &s.Gears[0], &s.Gears[1]
		a.standard(Coaxial, ring.Part,
			fmt.Sprintf("the difference of %s and %s is even for unmodified teeth; write profile-shifted: true if it is meant",
				ring.Part, sun.Part),
			"no pinion closes between %s %d and %s %d: half of %d is not whole", sun.Part, sun.Teeth, ring.Part, ring.Teeth,
			ring.Teeth-sun.Teeth)
		return
	case s.Pinions[0].Teeth == 0:
		a.skip(Coaxial, "the pinion teeth are not given")
		return
	}
	// A sun and a ring on the same pinions are as those of a simple set.
	for i := range s.Gears {
		for j := range s.Gears[:i] {
			g, h := &s.Gears[j], &s.Gears[i]
			if g.Pinion == h.Pinion {
				a.same(g, h)
			}
		}
	}
	a.triangle()
}

// same compares a sun and a ring on the same pinion.
func (a *audit) same(sun, ring *kinematics.Gear) {
	word := a.set.Pinions[sun.Pinion].Part
	want := sun.Teeth + 2*sun.PinionTeeth
	if ring.Teeth == want {
		a.ok(Coaxial, "%s %d = %s %d + 2 %s %d", ring.Part, ring.Teeth, sun.Part, sun.Teeth, word, sun.PinionTeeth)
		return
	}
	a.standard(Coaxial, ring.Part,
		fmt.Sprintf("%s = %s + 2 %s (%d) for unmodified teeth; write profile-shifted: true if %d is meant", ring.Part,
			sun.Part, word, want, ring.Teeth),
		"%s %d does not close on %s %d and %s %d", ring.Part, ring.Teeth, sun.Part, sun.Teeth, word, sun.PinionTeeth)
}

// coaxialSteps compares the distances of all gears. Steps may have different
// modules, gears on one step not; which ones share a step is told by its teeth.
func (a *audit) coaxialSteps() {
	s := a.set
	var distances []string
	first, _ := central(&s.Gears[0])
	equal := true
	for i := range s.Gears {
		g := &s.Gears[i]
		d, _ := central(g)
		distances = append(distances, a.says(g))
		equal = equal && d == first
		for j := range s.Gears[:i] {
			h := &s.Gears[j]
			if e, _ := central(h); h.PinionTeeth == g.PinionTeeth && e != d {
				a.standard(Coaxial, g.Part, "write profile-shifted: true if it is meant",
					"%s and %s do not close on one pinion step of %d: %s, %s", h.Part, g.Part, g.PinionTeeth, a.says(h), a.says(g))
				return
			}
		}
	}
	list := strings.Join(distances, ", ")
	if equal {
		a.ok(Coaxial, "%s", list)
		return
	}
	a.standard(Coaxial, s.Gears[0].Part,
		"right only if the modules of the steps are in the inverse ratio of these sums; write profile-shifted: true to "+
			"say that it is meant",
		"the steps do not close with one module: %s", list)
}

// inclined checks that the pinion axis of a stepped bevel set can stand as all steps
// need it. The pitch cones of a bevel mesh touch along a line through the point where
// all axes meet: with the axis of the pinion at an angle S to the main one, a pitch
// cone of half-angle d on a step of p teeth, zl on its left and zr on its right,
//
//	zl / p = sin(S - d) / sin d    zr / p = sin(S + d) / sin d
//
// so that cos S = (zr - zl) / (2 p), which all steps with gears on both sides share.
func (a *audit) inclined() {
	s := a.set
	first, text := 0.0, ""
	for i := range s.Gears {
		for j := range s.Gears {
			l, r := &s.Gears[i], &s.Gears[j]
			if l.PinionTeeth != r.PinionTeeth || l.Far || l == r {
				continue
			}
			step := fmt.Sprintf("%s %d, %s %d on a step of %d", l.Part, l.Teeth, r.Part, r.Teeth, l.PinionTeeth)
			cos := float64(r.Teeth-l.Teeth) / float64(2*l.PinionTeeth)
			switch {
			case !r.Far && r.Teeth != l.Teeth:
				a.standard(Coaxial, r.Part, "give gears on one side steps of their own",
					"gears on one side of a step have the same teeth: %s", step)
				return
			case !r.Far:
				continue
			case math.Abs(cos) >= 1:
				a.standard(Coaxial, r.Part, "right and left differ by less than twice the step", "no pinion axis closes on %s",
					step)
				return
			case text != "" && math.Abs(cos-first) > 1e-9:
				a.standard(Coaxial, r.Part, "(right - left) / step is the same for all steps",
					"the steps need different pinion axes: %s; %s", text, step)
				return
			}
			first, text = cos, step
		}
	}
	if text == "" {
		a.skip(Coaxial, "no step has gears on both sides")
		return
	}
	a.ok(Coaxial, "%s: the pinion axis stands at %.1f° to the main axis", text, math.Acos(first)*180/math.Pi)
}

// halves are the two pinions of a meshing pair, each with its distance from the
// main axis in half modules.
type halves struct {
	name  [2]string
	teeth [2]int64
	dist  [2]float64
}

// halves returns the pair, if the distances of both pinions are known.
func (a *audit) halves() (h halves, ok bool) {
	s := a.set
	if len(s.Pinions) != 2 || s.Pinions[0].Teeth == 0 {
		return h, false
	}
	for i, p := range s.Pinions {
		h.name[i], h.teeth[i] = p.Part, p.Teeth
		for k := range s.Gears {
			if d, known := central(&s.Gears[k]); known && s.Gears[k].Pinion == i && h.dist[i] == 0 {
				h.dist[i] = float64(d)
			}
		}
	}
	return h, h.dist[0] > 0 && h.dist[1] > 0
}

// angle is the angle between the two pinions of a pair as seen from the main
// axis, by the law of cosines; ok is false if the triangle does not close.
func (h halves) angle() (rad float64, ok bool) {
	a, b, c := h.dist[0], h.dist[1], float64(h.teeth[0]+h.teeth[1])
	if c < math.Abs(a-b) || c > a+b {
		return 0, false
	}
	return math.Acos((a*a + b*b - c*c) / (2 * a * b)), true
}

// triangle checks that two meshing pinions reach each other: the main axis and
// their two axes are a triangle with sides a, b and their own distance.
func (a *audit) triangle() {
	h, ok := a.halves()
	if !ok {
		return
	}
	text := fmt.Sprintf("%s at %g, %s at %g and %g between them (half modules)",
		h.name[0], h.dist[0], h.name[1], h.dist[1], float64(h.teeth[0]+h.teeth[1]))
	if _, closes := h.angle(); closes {
		a.ok(Coaxial, "%s make a triangle", text)
		return
	}
	a.standard(Coaxial, h.name[1],
		"the distance of the pinions lies between the difference and the sum of their distances from the axis",
		"%s make no triangle", text)
}

// spacing checks, for every two central gears, that a pinion fits in again
// after the carrier has turned by one n-th of a turn: with one gear at rest, the
// other must then stand as before up to a tooth of the pinions. For gears g, h
// that mesh steps p, q of one pinion (p = q for a plain one)
//
//	(zg zq + zh zp) / (n gcd(p, q))    whole
//
// if they turn oppositely with the carrier at rest, and with a minus if they
// turn alike. With p = q this is the usual (sun + ring) / n.
//
// Why: a pinion put in at a distance of 1/n turn, itself turned by y against the
// one before, meshes sun g if p y = zg/n and ring h if q y = -zh/n, both up to
// whole teeth, that is modulo 1. Some y does both if and only if the two cosets
// zg/(n p) + Z/p and -zh/(n q) + Z/q meet, which is the condition above. All of
// several cosets meet if each two do (Chinese remainder theorem), so that pairs
// are enough.
func (a *audit) spacing() {
	s := a.set
	n := int64(s.PinionCount)
	if n == 0 {
		a.skip(Spacing, "the number of pinions is not given")
		return
	}
	for i := range s.Gears {
		for j := range s.Gears[:i] {
			g, h := &s.Gears[j], &s.Gears[i]
			zg, zh, p := g.Teeth, h.Teeth, int64(1)
			if s.Steps() && g.PinionTeeth != h.PinionTeeth {
				p = gcd(g.PinionTeeth, h.PinionTeeth)
				zg, zh = zg*h.PinionTeeth, zh*g.PinionTeeth
			}
			sum, sign := zg+zh, "+"
			if g.TurnsAs(h) {
				sum, sign = zg-zh, "-"
				if sum < 0 {
					g, h, zg, zh, sum = h, g, zh, zg, -sum
				}
			}
			text := fmt.Sprintf("(%s %d %s %s %d) / %d", g.Part, zg, sign, h.Part, zh, n*p)
			if p > 1 || zg != g.Teeth {
				text = fmt.Sprintf("(%s %d x %d %s %s %d x %d) / %d", g.Part, g.Teeth, h.PinionTeeth, sign, h.Part, h.Teeth,
					g.PinionTeeth, n*p)
			}
			if sum%(n*p) == 0 {
				a.ok(Spacing, "%s = %d is whole", text, sum/(n*p))
				continue
			}
			a.add(Spacing, AuditWarning, "pinions", a.spacingHint(sum, p),
				"%s equal pinions do not fit in at equal angles: %s = %.4g is not whole", fmt.Sprint(n), text,
				float64(sum)/float64(n*p))
		}
	}
}

// spacingHint names the numbers of pinions that would fit.
func (a *audit) spacingHint(sum, p int64) string {
	var fit []string
	for n := int64(2); n <= 8; n++ {
		if sum%(n*p) == 0 {
			fit = append(fit, fmt.Sprint(n))
		}
	}
	if len(fit) == 0 {
		return "no number of pinions from 2 to 8 fits in at equal angles"
	}
	return "these numbers of pinions fit in at equal angles: " + strings.Join(fit, ", ")
}

// clearance checks that the tips of gears that do not mesh do not touch, for
// teeth of standard addendum, one module: a gear of z teeth has a tip diameter
// of z + 2 modules.
func (a *audit) clearance() {
	s := a.set
	n := float64(s.PinionCount)
	switch {
	case s.Across():
		a.skip(Clearance, "no condition on teeth is known for bevel pinions")
		return
	case n == 0:
		a.skip(Clearance, "the number of pinions is not given")
	case n == 1:
		a.ok(Clearance, "a single pinion has no neighbour")
	default:
		a.neighbours(n)
	}
	a.crossing(n)
}

// neighbours checks each pinion against the next of its own kind: on a circle
// of radius d / 2 modules the n pinions are d sin(180° / n) apart.
func (a *audit) neighbours(n float64) {
	s := a.set
	checked := map[[2]int64]bool{} // pinion and teeth of the step
	for i := range s.Gears {
		g := &s.Gears[i]
		d, known := central(g)
		key := [2]int64{int64(g.Pinion), g.PinionTeeth}
		if !known || checked[key] {
			continue
		}
		checked[key] = true
		apart, tip := float64(d)*math.Sin(math.Pi/n), g.PinionTeeth+2
		sign := "+"
		if g.Internal {
			sign = "-"
		}
		text := fmt.Sprintf("(%s %d %s %s %d) sin(180°/%g) = %.1f", g.Part, g.Teeth, sign, a.pinionWord(g), g.PinionTeeth,
			n, apart)
		if apart > float64(tip) {
			a.ok(Clearance, "%s is above %s + 2 = %d", text, a.pinionWord(g), tip)
			continue
		}
		a.standard(Clearance, "pinions",
			"give fewer pinions; write profile-shifted: true if the teeth are modified so that they clear",
			"neighbouring pinions touch: %s is not above %s + 2 = %d", text, a.pinionWord(g), tip)
	}
	if len(checked) == 0 {
		a.skip(Clearance, "the pinion teeth are not given")
	}
}

// crossing checks, where two pinions mesh each other, that one of them clears
// the sun of the other and, with n pairs, the other pinion of the next pair.
func (a *audit) crossing(n float64) {
	h, ok := a.halves()
	if !ok {
		return
	}
	angle, ok := h.angle()
	if !ok {
		return // reported by triangle
	}
	// The second pinion is as long as all gears: the outer one of a double-pinion
	// set, the long one of a Ravigneaux set passes the sun of the first.
	const near, far = 0, 1
	for i := range a.set.Gears {
		switch g := &a.set.Gears[i]; {
		case !g.Internal && g.Pinion == near:
			a.clear(far, h.name[far], h.dist[far], float64(g.Teeth+h.teeth[far]+4), g.Part)
		case g.Internal && g.Pinion == far && a.set.Kind.Facts().InOnePlane:
			// The tip circle of a ring of z teeth has a diameter of z - 2 modules.
			a.clear(near, h.name[near]+"'s tip", float64(g.Teeth-2)-h.dist[near]-float64(h.teeth[near]), 2, "the "+g.Part+"'s")
		}
	}
	if n < 2 {
		return
	}
	next := 2*math.Pi/n - angle
	apart := math.Sqrt(h.dist[0]*h.dist[0] + h.dist[1]*h.dist[1] - 2*h.dist[0]*h.dist[1]*math.Cos(next))
	a.clear(far, "the "+h.name[1], apart, float64(h.teeth[0]+h.teeth[1]+4), "the "+h.name[0]+" of the next pair")
}

// clear compares the distance of two axes with the sum of the tip radii, both
// in half modules.
func (a *audit) clear(pinion int, name string, apart, tips float64, other string) {
	text := fmt.Sprintf("%s and %s are %.1f apart", name, other, apart)
	if apart > tips {
		a.ok(Clearance, "%s, above their tips' %g (half modules)", text, tips)
		return
	}
	a.standard(Clearance, a.set.Pinions[pinion].Part,
		"write profile-shifted: true if the teeth are modified so that they clear",
		"%s, not above their tips' %g (half modules): they touch", text, tips)
}

// audit reports the findings that are warnings, at the keys they are about.
func (r *report) audit(f *trainFile, t *kinematics.Train) {
	for _, x := range Audit(t) {
		if x.State != AuditWarning {
			continue
		}
		g := f.gearsets[x.Gearset]
		r.Add(problem.Warning, g.placeOf(x.Part), x.Hint, yamlfile.Say(g.name.Value, x.Text))
	}
}

// placeOf is where a part of the set stands in the file: its value, or the name
// of the set.
func (g *gearsetEntry) placeOf(part string) problem.Place {
	for _, s := range g.steps {
		if s.part.Value == part {
			return s.teethAt
		}
	}
	if g.object.Has(part) {
		return g.value(part)
	}
	return g.name.Place
}
