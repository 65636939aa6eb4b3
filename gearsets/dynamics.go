package gearsets

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"tieup/gearsets/internal/yamlfile"
	"tieup/kinematics"
)

// What a shift in time needs beyond the gears: inertias, the vehicle, and when
// elements let go and take hold.

type inertiaEntry struct {
	member scalar
	value  float64 // kg m²
}

type shiftEntry struct {
	element        scalar
	release, apply *kinematics.Ramp
	area           float64 // m²
}

// An amount is a decimal number with its unit and limits.
type amount struct {
	what, unit, example string
	most                float64
	orZero              bool
}

var (
	inertiaAmount = amount{"an inertia", "kg m²", "0.02", 1e6, false}
	areaAmount    = amount{"an area", "cm²", "450", 1e6, false}
)

// vehicleKeys are the keys of the vehicle; those without a default must be there.
var vehicleKeys = []struct {
	key    string
	amount amount
	needed bool
	set    func(*kinematics.Vehicle, float64)
}{
	{"mass", amount{"a mass", "kg", "4200", 1e6, false}, true, func(v *kinematics.Vehicle, x float64) { v.Mass = x }},
	{"final-drive", amount{"a ratio", "", "4.3", 100, false}, true, func(v *kinematics.Vehicle, x float64) { v.FinalDrive = x }},
	{"tyre-radius", amount{"a radius", "m", "0.38", 10, false}, true, func(v *kinematics.Vehicle, x float64) { v.TyreRadius = x }},
	{"rolling", amount{"a share of the weight", "", "0.012", 1, true}, false, func(v *kinematics.Vehicle, x float64) { v.Rolling = x }},
	{"drag", amount{"an area", "m²", "4.8", 1000, true}, false, func(v *kinematics.Vehicle, x float64) { v.Drag = x }},
}

// amount reads a decimal number in plain digits, NaN if it was reported.
func (o *object) amount(key string, a amount) float64 {
	hint := fmt.Sprintf("write %s in %s, such as %s", a.what, a.unit, a.example)
	if a.unit == "" {
		hint = fmt.Sprintf("write %s, such as %s", a.what, a.example)
	}
	s := o.Text(key, hint)
	if !s.Given() {
		return math.NaN()
	}
	whole, places, _ := strings.Cut(s.Value, ".")
	x, err := strconv.ParseFloat(s.Value, 64)
	switch {
	case err != nil || !yamlfile.Digits(whole) || places != "" && !yamlfile.Digits(places):
		o.Errorf(s.Place, hint, "%s is %q, not %s", key, yamlfile.Clip(s.Value), a.what)
		return math.NaN()
	case x > a.most || x == 0 && !a.orZero:
		o.Errorf(s.Place, hint, "%s cannot be %s", key, strings.TrimSpace(yamlfile.Clip(s.Value)+" "+a.unit))
		return math.NaN()
	}
	return x
}

// vehicle reads what the output moves.
func (r *report) vehicle(o *object) *kinematics.Vehicle {
	f, ok := o.Get("vehicle")
	if !ok {
		return nil
	}
	const form = "write {mass: 4200, final-drive: 4.3, tyre-radius: 0.38, rolling: 0.012, drag: 4.8}"
	var keys []string
	for _, k := range vehicleKeys {
		keys = append(keys, k.key)
	}
	x, ok := r.object(f.Value, f.Key, "vehicle", form, keys...)
	if !ok {
		return nil
	}
	v := &kinematics.Vehicle{}
	for _, k := range vehicleKeys {
		if k.needed {
			x.Require(form, k.key)
		}
		if x.Has(k.key) {
			k.set(v, x.amount(k.key, k.amount))
		}
	}
	return v
}

// inertias reads the inertias of members.
func (r *report) inertias(o *object) []inertiaEntry {
	const hint = "write a line such as turbine: 0.12 below it, in kg m², or leave the key out"
	var list []inertiaEntry
	f, ok := o.Get("inertia")
	if !ok {
		return nil
	}
	fields, ok := r.Pairs(f.Value, f.Key, "inertia", hint)
	if ok && len(fields) == 0 {
		o.Errorf(f.Key.Place, hint, "inertia is empty")
	}
	for _, e := range fields {
		x := r.alone("inertia", e)
		if v := x.amount(e.Key.Value, inertiaAmount); !math.IsNaN(v) {
			list = append(list, inertiaEntry{e.Key, v})
		}
	}
	return list
}

// shiftTiming reads when one element lets go and takes hold.
func (r *report) shiftTiming(e field) shiftEntry {
	x := shiftEntry{element: e.Key}
	const form = "write when it lets go and takes hold, in seconds after the command: {release: 0.35..0.50, apply: 0.40..0.70}"
	o, ok := r.object(e.Value, e.Key, "shift of "+e.Key.Value, form, "release", "apply", "area")
	if !ok {
		return x
	}
	if len(o.Fields) == 0 && !o.Bad {
		o.Errorf(e.Key.Place, form, "nothing is given")
	}
	x.release, x.apply = o.ramp("release"), o.ramp("apply")
	if o.Has("area") {
		x.area = o.amount("area", areaAmount) / 1e4
	}
	return x
}

// ramp reads a span of time, nil if there is none.
func (o *object) ramp(key string) *kinematics.Ramp {
	const hint = "write the start and end in seconds after the command, such as 0.35..0.50, or 0.35..0.50:smooth"
	s := o.Text(key, hint)
	if !s.Given() {
		return nil
	}
	ramp, err := kinematics.ParseRamp(s.Value)
	if err != nil {
		what, _, _ := strings.Cut(err.Error(), ": write ")
		o.Errorf(s.Place, hint, "%s: %s", key, yamlfile.Clip(what))
		return nil
	}
	return &ramp
}

// dynamics looks up the members and elements of a shift in time.
func (c *checker) dynamics() {
	for _, e := range c.file.inertias {
		if c.member(e.member, "inertia") && e.member.Value == kinematics.HousingName {
			c.Errorf(e.member.Place, "leave it out", "inertia: the housing never turns")
		}
	}
	elements := map[string]*elementEntry{}
	var names []string
	for _, e := range c.file.elements {
		elements[e.name.Value] = e
		names = append(names, e.name.Value)
	}
	for _, e := range c.file.shifts {
		owner := "shift of " + e.element.Value
		x := elements[e.element.Value]
		switch {
		case x == nil && !c.file.unsure["elements"]:
			c.Errorf(e.element.Place, nearest(e.element.Value, names, "the elements are "), "shift: there is no element %q", yamlfile.Clip(e.element.Value))
		case x == nil || x.bad:
		case x.kind == kinematics.OneWay && !x.switched && (e.release != nil || e.apply != nil):
			c.Errorf(e.element.Place, "leave it out", "%s: a one-way clutch that is not switched acts always", owner)
		case e.area > 0 && !x.kind.Friction():
			c.Errorf(e.element.Place, "only clutches, brakes and bands have a friction area: leave it out", "%s: it does not slip", owner)
		}
	}
}

// buildDynamics puts the entries on the train that was built.
func (f *trainFile) buildDynamics(t *kinematics.Train) {
	t.Vehicle = f.vehicle
	for _, e := range f.inertias {
		if m, ok := t.Member(e.member.Value); ok {
			t.Members[m].Inertia = e.value
		}
	}
	for _, e := range f.shifts {
		if i, ok := t.Element(e.element.Value); ok {
			t.Couplings[i].Release, t.Couplings[i].Apply, t.Couplings[i].Area = e.release, e.apply, e.area
		}
	}
}
