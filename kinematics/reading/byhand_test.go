package reading_test

import (
	"testing"

	"tieup/gearsets"
	"tieup/kinematics"
	"tieup/kinematics/exact"
	"tieup/kinematics/reading"
	"tieup/kinematics/solve"
)

// A published check by hand of the one-way clutch of an overdrive set that is in front:
// its carrier, turned by the engine, drives the centre shaft, which is on the ring gear,
// through the clutch in the lower gears, and the ring runs ahead of the carrier in
// overdrive. With the carrier put into the rollers on the centre shaft "the planetary
// gear must rotate counterclockwise and hold when rotated clockwise".
//
// Source: Lincoln LS 2006 workshop text, Automatic Transaxle/Transmission, Overdrive
// Planetary and One-Way Clutch Assembly, Disassembly; the same text for Mazda B4000 2009,
// 4R44E/5R55E (as copied at lemon-manuals.org.ua and myvehicle.help, read 2026-11-29).
// Teeth are invented: the check does not depend on them.
const overdriveFront = `
tieup: 1
name: overdrive-front
title: An overdrive set with its one-way clutch
source: invented for this test
shafts: [carrier-shaft, centre-shaft]
gearsets:
  overdrive: {kind: simple, sun: 35, ring: 75}
joined:
  carrier: [carrier-shaft, overdrive.carrier]
  centre:  [centre-shaft, overdrive.ring]
input: carrier-shaft
output: centre-shaft
elements:
  overdrive-band: {band: overdrive.sun}
  overdrive-one-way: {one-way: [centre-shaft, carrier-shaft]}
ranges:
  "1": {}
  "4": {apply: [overdrive-band]}
`

func TestOneWayByHand(t *testing.T) {
	file, err := gearsets.Read("overdrive-front", []byte(overdriveFront))
	if err != nil {
		t.Fatal(err)
	}
	train := file.Train
	sys := solve.Compile(train)
	centre, _ := train.Member("centre-shaft")
	carrier, _ := train.Member("carrier-shaft")
	for _, tt := range []struct {
		turned int64 // of the carrier, + clockwise, with the centre shaft held
		holds  bool
	}{{+1, true}, {-1, false}} {
		r := sys.Turn(train.Applying().Modes, []solve.Given{
			{Member: carrier, Speed: exact.Int(tt.turned)}, {Member: centre, Speed: exact.Int(0)},
		})
		if r.Locks != tt.holds {
			t.Errorf("carrier turned %+d: locks %v", tt.turned, r.Locks)
		}
	}
	// Said with the other one held, the directions are the other way round.
	clutch, _ := train.Element("overdrive-one-way")
	want := "hold carrier-shaft and turn centre-shaft by hand: it turns clockwise and is held counterclockwise"
	if got := reading.OneWayInHand(train, clutch); got != want {
		t.Errorf("got  %s\nwant %s", got, want)
	}
}

// What is done in hand where no turning shows a fault, of every kind there is.
func TestInHand(t *testing.T) {
	train, err := gearsets.Library("depot-shuttle-three-speed")
	if err != nil {
		t.Fatal(err)
	}
	for _, tt := range []struct{ fault, want string }{
		{"forward=stuck", "with forward released turn turbine against front.ring by hand: it turns; measure its clearance"},
		{"low-reverse=open", "air to low-reverse alone: it applies and lets go, and its air does not drop"},
		{"roller=seized", "hold the case and turn rear.carrier by hand: it turns clockwise and is held counterclockwise"},
		{"shell:rear.sun=sheared", "hold shell and turn rear.sun by hand: no play"},
		{"pawl=missing", "put the pawl in and turn output-shaft by hand: it holds both ways"},
	} {
		f, err := kinematics.ParseFault(train, tt.fault)
		if err != nil {
			t.Fatal(err)
		}
		if got := reading.InHand(train, f); got != tt.want {
			t.Errorf("%s\ngot  %s\nwant %s", tt.fault, got, tt.want)
		}
	}
}
