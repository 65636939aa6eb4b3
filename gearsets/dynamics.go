package gearsets

import (
	"errors"

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

// vehicle reads what the output moves.
func (r *report) vehicle(o *object) *kinematics.Vehicle {
	x, ok := o.Sub("vehicle")
	if !ok {
		return nil
	}
	v := &kinematics.Vehicle{}
	for _, k := range vehicleKeys {
		value, _ := x.Decimal(k.Name)
		k.set(v, value)
	}
	return v
}

// inertias reads the inertias of members.
func (r *report) inertias(o *object) []inertiaEntry {
	var list []inertiaEntry
	for _, e := range o.Entries("inertia") {
		if v, ok := r.Entry("inertia", e, inertia, "").Decimal(e.Key.Value); ok {
			list = append(list, inertiaEntry{e.Key, v})
		}
	}
	return list
}

// shiftTiming reads when one element lets go and takes hold.
func (r *report) shiftTiming(e field) shiftEntry {
	x := shiftEntry{element: e.Key}
	o, ok := r.Object(e.Value, e.Key, "shift of "+e.Key.Value, timingTable)
	if !ok {
		return x
	}
	if len(o.Fields) == 0 && !o.Bad {
		o.Errorf(e.Key.Place, timingTable.Form, "nothing is given")
	}
	x.release, x.apply = readRamp(o, "release"), readRamp(o, "apply")
	if cm2, ok := o.Decimal("area"); ok {
		x.area = cm2 / 1e4
	}
	return x
}

// readRamp reads a span of time, nil if there is none.
func readRamp(o *object, key string) *kinematics.Ramp {
	s := o.Text(key)
	if !s.Given() {
		return nil
	}
	ramp, err := kinematics.ParseRamp(s.Value)
	if err != nil {
		what := err.Error()
		if form := new(kinematics.RampError); errors.As(err, &form) {
			what = form.Text // the hint has the form
		}
		o.Errorf(s.Place, rampHint, "%s: %s", key, yamlfile.Clip(what))
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
	elements, names := c.elements()
	for _, e := range c.file.shifts {
		owner := "shift of " + e.element.Value
		x := elements[e.element.Value]
		switch {
		case x == nil && !c.file.unsure["elements"]:
			c.Errorf(e.element.Place, nearest(e.element.Value, names, "the elements are "), "shift: there is no element %q",
				yamlfile.Clip(e.element.Value))
		case x == nil || x.bad:
		case x.kind == kinematics.OneWay && !x.switched && (e.release != nil || e.apply != nil):
			c.Errorf(e.element.Place, "leave it out", "%s: a one-way clutch that is not switched acts always", owner)
		case e.area > 0 && !x.kind.Friction():
			c.Errorf(e.element.Place, "only clutches, brakes and bands have a friction area: leave it out",
				"%s: it does not slip", owner)
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
