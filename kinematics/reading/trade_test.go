package reading_test

import (
	"slices"
	"strings"
	"testing"

	"tieup/gearsets"
	"tieup/kinematics"
	"tieup/kinematics/reading"
	"tieup/kinematics/solve"
)

// All checks of this file are facts of the trade: common practice, no source. The
// ratios in them are those of the trains, which the tests of the library compare
// with what is published.

// parsed reads faults as users write them.
func parsed(t testing.TB, train *kinematics.Train, texts ...string) []kinematics.Fault {
	t.Helper()
	var faults []kinematics.Fault
	for _, text := range texts {
		f, err := kinematics.ParseFault(train, text)
		if err != nil {
			t.Fatal(err)
		}
		faults = append(faults, f)
	}
	return faults
}

// rowOf returns the row of a range of a chart.
func rowOf(t testing.TB, chart *reading.Chart, name string) reading.Row {
	t.Helper()
	i, ok := chart.Train.Range(name)
	if !ok {
		t.Fatalf("%s has no range %s", chart.Train.Name, name)
	}
	return chart.Rows[i]
}

const (
	asBefore = "as before" // a range that a fault leaves as it was
	simpson  = "simpson-three-speed"
	shuttle  = "depot-shuttle-three-speed"
	withOD   = "overdrive-simpson-four-speed"
)

// TestTradeFaults: what a technician expects of a fault, range by range. A
// reading is what the chart says, a comma, and how it coasts; parts that do not
// matter are left out.
func TestTradeFaults(t *testing.T) {
	for _, tt := range []struct {
		fact   string
		train  string
		faults []string
		reads  map[string]string
	}{
		{"a forward clutch that is stuck on drives in neutral as in first, binds in reverse, leaves the forward ranges and lurches in park",
			shuttle, []string{"forward=stuck"}, map[string]string{
				"N": "drives forward at 2.45 (as D1)", "R": "ties up, does not roll", "P": "lurches forward against the pawl",
				"D1": asBefore, "D2": asBefore, "D3": asBefore, "L1": asBefore,
			}},
		{"without a forward clutch only reverse is left",
			shuttle, []string{"forward=open"}, map[string]string{
				"D1": "no drive", "D2": "no drive", "D3": "no drive", "L1": "no drive", "R": asBefore, "N": asBefore, "P": asBefore,
			}},
		{"a low one-way clutch fitted backwards loses first, which then turns the engine when coasting, and binds where it must overrun",
			shuttle, []string{"roller=reversed"}, map[string]string{
				"D1": "no drive, but coasting turns the engine at 2.45", "D2": "ties up", "D3": "ties up", "L1": asBefore, "R": asBefore, "N": asBefore,
			}},
		{"a low one-way clutch that slips loses first in drive only: manual first has its brake, and where it overruns nothing is missed",
			shuttle, []string{"roller=slips"}, map[string]string{
				"D1": "no drive, rolls freely", "L1": asBefore, "R": asBefore, "N": asBefore,
				"D2": "drives forward at 1.45, engine braking", "D3": "drives forward at 1.00, engine braking",
			}},
		{"a low one-way clutch that is seized brakes the engine in drive first and binds above it",
			shuttle, []string{"roller=seized"}, map[string]string{
				"D1": "drives forward at 2.45, engine braking", "D2": "ties up", "D3": "ties up", "L1": asBefore, "R": asBefore,
			}},
		{"a sheared sun shell loses reverse and leaves first",
			shuttle, []string{"shell:sun-shell=sheared"}, map[string]string{
				"R": "no drive", "D1": asBefore, "L1": asBefore, "N": asBefore,
				"D2": "drives forward at 2.45 (as D1)", "D3": "drives forward at 2.45 (as D1)",
			}},
		{"without the direct clutch there is no reverse and no third, which stays in first",
			shuttle, []string{"direct=open"}, map[string]string{
				"R": "no drive", "D1": asBefore, "D2": asBefore, "D3": "drives forward at 2.45 (as D1), freewheels", "L1": asBefore,
			}},
		{"a direct clutch that is stuck on starts in third, binds in second and in manual first",
			shuttle, []string{"direct=stuck"}, map[string]string{
				"D1": "drives forward at 1.00 (as D3)", "D2": "ties up", "D3": asBefore, "L1": "ties up", "R": asBefore,
			}},
		{"without the low-reverse brake there is no reverse and no engine braking in manual first, which still pulls",
			shuttle, []string{"low-reverse=open"}, map[string]string{
				"R": "no drive", "L1": "drives forward at 2.45, freewheels", "D1": asBefore, "D2": asBefore, "D3": asBefore,
			}},
		{"a low-reverse brake that is stuck on binds in second and third",
			shuttle, []string{"low-reverse=stuck"}, map[string]string{
				"D1": "drives forward at 2.45, engine braking", "D2": "ties up", "D3": "ties up", "R": asBefore, "L1": asBefore,
			}},
		{"an intermediate band that is not backed off starts in second, and binds in reverse, third and manual first",
			shuttle, []string{"intermediate=stuck"}, map[string]string{
				"D1": "drives forward at 1.45 (as D2)", "D2": asBefore, "D3": "ties up", "R": "ties up", "L1": "ties up",
			}},
		{"without the intermediate band second is first again, and freewheels",
			shuttle, []string{"intermediate=open"}, map[string]string{
				"D2": "drives forward at 2.45 (as D1), freewheels", "D1": asBefore, "D3": asBefore, "R": asBefore, "L1": asBefore,
			}},
		{"without its pawl park rolls",
			shuttle, []string{"pawl=missing"}, map[string]string{"P": "no drive, rolls freely", "N": asBefore, "R": asBefore, "D1": asBefore}},
		{"a lever or valve that leaves the forward clutch on in reverse alone binds there alone",
			shuttle, []string{"forward=stuck@R"}, map[string]string{"R": "ties up", "N": asBefore, "P": asBefore, "D1": asBefore}},
		{"no drive in manual first can be two faults at once: low brake and one-way clutch",
			shuttle, []string{"low-reverse=open", "roller=slips"}, map[string]string{"L1": "no drive", "D1": "no drive", "D2": "drives forward at 1.45"}},
		{"neutral is not empty: overdrive-direct is on there, so that a stuck forward clutch drives as in first and a stuck direct clutch does not",
			withOD, []string{"forward=stuck"}, map[string]string{"N": "drives forward at 2.80 (as D1)", "R": "ties up", "P": "lurches forward against the pawl", "D3": asBefore}},
		{"a direct clutch that is stuck on starts in third; second, held by a one-way clutch, lets it, its coast band does not",
			withOD, []string{"direct=stuck"}, map[string]string{
				"D1": "drives forward at 1.00 (as D3)", "D2": "drives forward at 1.00 (as D3)", "M2": "ties up", "M1": "ties up", "D3": asBefore, "R": asBefore,
			}},
		{"without the overdrive clutch its one-way clutch still drives, but third and manual first no longer brake the engine",
			withOD, []string{"overdrive-direct=open"}, map[string]string{
				"D1": asBefore, "D2": asBefore, "D3": "drives forward at 1.00, freewheels, does not roll back", "M1": "drives forward at 2.80, freewheels", "D4": asBefore,
			}},
		{"an overdrive brake that is stuck on holds the engine wherever overdrive-direct is on, and overdrive alone is left",
			withOD, []string{"overdrive-brake=stuck"}, map[string]string{
				"D1": "input held: the engine is loaded as in a stall test", "D3": "ties up", "R": "ties up", "D4": asBefore,
			}},
		{"neutral that keeps the low brake on drives when one clutch sticks, even backward",
			"interlinked-four-speed", []string{"reverse=stuck"}, map[string]string{"N": "drives backward at 2.19 (as R)", "R": asBefore, "D1": "ties up"}},
		{"the same",
			"interlinked-four-speed", []string{"underdrive=stuck"}, map[string]string{"N": "drives forward at 2.83 (as D1)", "R": "ties up", "D1": asBefore}},
		{"without the reverse clutch of a Ravigneaux train only reverse is lost",
			"ravigneaux-four-speed", []string{"reverse=open"}, map[string]string{
				"R": "no drive", "D1": asBefore, "D2": asBefore, "D3": asBefore, "D4": asBefore, "M1": asBefore, "M2": asBefore,
			}},
		{"without its direct clutch third falls back to second, caught by the intermediate one-way clutch, and fourth is lost",
			"ravigneaux-four-speed", []string{"direct=open"}, map[string]string{
				"D3": "drives forward at 1.47 (as D2), freewheels", "D4": "no drive", "D1": asBefore, "D2": asBefore, "R": asBefore,
			}},
		{"a low one-way clutch of a Ravigneaux train fitted backwards binds in every range in which it overruns",
			"ravigneaux-four-speed", []string{"low-roller=reversed"}, map[string]string{
				"D1": "no drive, but coasting turns the engine at 2.40", "D2": "ties up", "D3": "ties up", "D4": "ties up", "M1": asBefore, "R": asBefore,
			}},
		{"in a bicycle hub whose pawls on the carrier have lost their spring low gear slips, the others are as before",
			"hub-three-speed", []string{"carrier-pawls=slips"}, map[string]string{"low": "no drive", "normal": asBefore, "high": asBefore}},
	} {
		train := libraryTrain(t, tt.train)
		chart := reading.NewReader(solve.Compile(train)).Chart(parsed(t, train, tt.faults...)...)
		for name, want := range tt.reads {
			row := rowOf(t, chart, name)
			got := row.Faulty.Text()
			if strings.Contains(want, ", ") && !strings.Contains(want, ", but") {
				got += ", " + row.Faulty.Reading.Coast
			}
			switch {
			case want == asBefore && len(row.Changes) > 0:
				t.Errorf("%s: in %s under %v: changed to %q, %v", tt.fact, name, tt.faults, got, row.Changes)
			case want != asBefore && got != want && row.Faulty.Reading.Pull != want:
				t.Errorf("%s: in %s under %v: got %q, want %q", tt.fact, name, tt.faults, got, want)
			case want != asBefore && len(row.Changes) == 0:
				t.Errorf("%s: in %s under %v: no change is told", tt.fact, name, tt.faults)
			}
		}
	}
}

// Common practice, no source: manual first is not first in drive, second and third
// of a Simpson train hold on a hill, one brake serves reverse and manual first.
func TestTradeHealthy(t *testing.T) {
	train := libraryTrain(t, shuttle)
	chart := reading.NewReader(solve.Compile(train)).Chart()
	for name, want := range map[string]string{
		"P": "no drive, output held: does not roll", "N": "no drive: rolls freely",
		"D1": "drives forward at 2.45: freewheels", "L1": "drives forward at 2.45: engine braking",
		"D2": "drives forward at 1.45: engine braking, does not roll back", "D3": "drives forward at 1.00: engine braking, does not roll back",
		"R": "drives backward at 2.20: engine braking",
	} {
		row := rowOf(t, chart, name)
		if got := row.Healthy.Text() + ": " + row.Healthy.Reading.Coast; got != want {
			t.Errorf("%s reads %q, want %q", name, got, want)
		}
	}
	for _, name := range []string{"R", "L1"} {
		lowReverse, _ := train.Element("low-reverse")
		if !slices.Contains(rowOf(t, chart, name).Range.Apply, lowReverse) {
			t.Errorf("%s does without the low-reverse brake", name)
		}
	}
}

// Common practice, no source: which test separates two suspects, as a workshop
// is taught it. Two fault sets that a range reads differently are told apart by it.
func TestTradeSeparates(t *testing.T) {
	train := libraryTrain(t, shuttle)
	reader := reading.NewReader(solve.Compile(train))
	for _, tt := range []struct {
		a, b    string
		by      string // range that separates them, "" if no range does
		inBoth  string // range of the complaint, alike under both
		as, bs  string // what the separating range reads under each
		because string
	}{
		{"roller=slips", "forward=open", "L1", "D1", "drives forward at 2.45", "no drive", "manual first has a brake for its reaction, but needs the forward clutch"},
		{"direct=open", "low-reverse=open", "D3", "", "drives forward at 2.45 (as D1)", "drives forward at 1.00", "both lose reverse; third needs the direct clutch only"},
		{"direct=open", "low-reverse=open", "L1", "", "engine braking", "freewheels", "manual first needs the low-reverse brake only"},
		{"roller=slips", "roller=reversed", "D2", "", "drives forward at 1.45", "ties up", "where it must overrun, a slipping one does no harm"},
		{"low-reverse=stuck", "roller=seized", "", "D2", "", "", "the same kinematics: only an element test splits them"},
	} {
		a, b := reader.Chart(parsed(t, train, tt.a)...), reader.Chart(parsed(t, train, tt.b)...)
		differ := func(name string) bool {
			x, y := rowOf(t, a, name).Faulty, rowOf(t, b, name).Faulty
			return x.Text() != y.Text() || x.Reading.Coast != y.Reading.Coast
		}
		if tt.inBoth != "" && differ(tt.inBoth) {
			t.Errorf("%s and %s already differ in %s", tt.a, tt.b, tt.inBoth)
		}
		if tt.by == "" {
			for _, name := range train.RangeNames() {
				if differ(name) {
					t.Errorf("%s and %s differ in %s: %s", tt.a, tt.b, name, tt.because)
				}
			}
			continue
		}
		x, y := rowOf(t, a, tt.by).Faulty, rowOf(t, b, tt.by).Faulty
		if x.Text() != tt.as && x.Reading.Coast != tt.as || y.Text() != tt.bs && y.Reading.Coast != tt.bs {
			t.Errorf("%s under %s reads %q, %q, and under %s %q, %q: %s",
				tt.by, tt.a, x.Text(), x.Reading.Coast, tt.b, y.Text(), y.Reading.Coast, tt.because)
		}
	}
}

// Common practice, no source: in a train that needs three elements in every gear,
// one that never holds takes away each gear that needs it, whole, and no other; and
// any element too many ties up every gear.
func TestTradeThreeOfFive(t *testing.T) {
	train := libraryTrain(t, "four-carrier-eight-speed")
	reader := reading.NewReader(solve.Compile(train))
	for e, c := range train.Couplings[:train.ElementCount] {
		if c.Kind == kinematics.Pawl {
			continue
		}
		open := reader.Chart(kinematics.Fault{Coupling: e, Kind: kinematics.OpenF})
		stuck := reader.Chart(kinematics.Fault{Coupling: e, Kind: kinematics.Stuck})
		for i, r := range train.Ranges {
			needed, gear := slices.Contains(r.Apply, e), len(r.Apply) == 3
			if got := open.Rows[i]; needed != (got.Faulty.Reading.Has(reading.NoDrive) && got.Healthy.Outcome.Drives()) {
				t.Errorf("%s without %s: %s", r.Name, c.Name, got.Faulty.Text())
			}
			if got := stuck.Rows[i].Faulty; gear && needed == got.Reading.Has(reading.TiesUp) {
				t.Errorf("%s with %s stuck: %s", r.Name, c.Name, got.Text())
			}
		}
	}
}

// What a range applies already cannot change it by sticking, and what it does not
// apply cannot change it by never holding, in any train.
func TestNoChangeWithoutCause(t *testing.T) {
	for _, name := range gearsets.Names() {
		train := libraryTrain(t, name)
		reader := reading.NewReader(solve.Compile(train))
		for e, c := range train.Couplings[:train.ElementCount] {
			if c.Kind == kinematics.OneWay {
				continue
			}
			for _, kind := range []kinematics.FaultKind{kinematics.Stuck, kinematics.OpenF} {
				chart := reader.Chart(kinematics.Fault{Coupling: e, Kind: kind})
				for _, row := range chart.Rows {
					if slices.Contains(row.Range.Apply, e) == (kind == kinematics.Stuck) && len(row.Changes) > 0 {
						t.Errorf("%s: %s with %s %s: %v", name, row.Range.Name, c.Name, kind, row.Changes)
					}
				}
			}
		}
	}
}
