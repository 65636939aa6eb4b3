package plots

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"tieup/gearsets"
	"tieup/kinematics"
	"tieup/kinematics/exact"
)

// nodes writes the nodes of a lever: label, speeds of all lines, torque, ports.
func nodes(t *kinematics.Train, s *LeverState, l int) []string {
	var list []string
	for n, node := range s.Levers[l].Nodes {
		words := []string{node.Label}
		for _, line := range s.Lines {
			words = append(words, shown(line.Speeds[l][n]))
		}
		if node.Torque != nil {
			words = append(words, "torque "+node.Torque.Min.String())
		}
		for _, p := range node.Ports {
			name := p.words(t)
			if p.Kind == GroundPort {
				name = "housing by " + name
			}
			words = append(words, name)
		}
		list = append(list, strings.Join(words, "; "))
	}
	return list
}

// First of the depot's three-speed. Speeds as in TestSpeedPlan. Torques by hand:
// without losses the output takes the ratio, -27/11, and the rear carrier what is
// left for the sum to be zero, 16/11.
func TestLeverDiagram(t *testing.T) {
	sys := library(t, "depot-shuttle-three-speed")
	d := leverDiagram(t, sys, ranges(t, sys.Train, "D1"), nil)
	s := &d.States[0]
	want := []string{
		"sun-shell; -121/135; torque 0",
		"rear.carrier; at rest; torque 16/11; housing by roller",
		"output-shaft; 11/27; torque -27/11; output",
		"front.ring; 1; torque 1; input by forward",
	}
	if diff := cmp.Diff(want, nodes(sys.Train, s, 0)); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
	var bars []string
	for _, b := range s.Levers[0].Bars {
		bars = append(bars, b.Name+": "+strings.Join(b.Parts, ", "))
	}
	if diff := cmp.Diff([]string{"front: sun 30, carrier, ring 66", "rear: sun 30, carrier, ring 66"}, bars); diff != "" {
		t.Errorf("bars (-want +got):\n%s", diff)
	}
}

// A tie-up is drawn as the motions that contradict each other. By hand: with the
// direct clutch let go this is second, where the shell stands and
// 66 (1 - w) = 30 w gives w(out) = 11/16; with the band let go all turns as one.
func TestLeverDiagramTieUp(t *testing.T) {
	sys := library(t, "depot-shuttle-three-speed")
	d := leverDiagram(t, sys, ranges(t, sys.Train, "D2"), faults(t, sys.Train, "direct=stuck"))
	s := &d.States[0]
	if s.Label != "D2: ties up" {
		t.Errorf("label %q", s.Label)
	}
	var labels []string
	for _, l := range s.Lines {
		labels = append(labels, l.Label)
	}
	if diff := cmp.Diff([]string{"without direct: drives forward at 1.45", "without intermediate: drives forward at 1.00"}, labels); diff != "" {
		t.Errorf("lines (-want +got):\n%s", diff)
	}
	want := []string{
		"sun-shell; at rest; 1; input by direct; housing by intermediate",
		"rear.carrier; 121/256; 1",
		"output-shaft; 11/16; 1; output",
		"front.ring; 1; 1; input by forward",
	}
	if diff := cmp.Diff(want, nodes(sys.Train, s, 0)); diff != "" {
		t.Errorf("nodes (-want +got):\n%s", diff)
	}
}

// A brake and a one-way clutch in series hold a node together, and clutches link
// two levers.
func TestLeverDiagramChains(t *testing.T) {
	sys := library(t, "simpson-three-speed")
	d := leverDiagram(t, sys, ranges(t, sys.Train, "D2"), nil)
	if got := nodes(sys.Train, &d.States[0], 0)[0]; !strings.HasSuffix(got, "housing by intermediate-roller + intermediate") {
		t.Errorf("sun shell: %s", got)
	}

	sys = library(t, "lepelletier-six-speed")
	s := &leverDiagram(t, sys, ranges(t, sys.Train, "D4"), nil).States[0]
	var links []string
	for _, l := range s.Links {
		links = append(links, s.node(l.From).Label+" - "+via(sys.Train, l.Via)+" - "+s.node(l.To).Label)
	}
	if diff := cmp.Diff([]string{"slow-shaft - forward - rear.sun-short", "turbine - four-five-six - rear.carrier"}, links); diff != "" {
		t.Errorf("links (-want +got):\n%s", diff)
	}
}

// On every lever of every train, the torques from outside sum to zero and have
// no moment: what the lever analogy rests on.
func TestLeversAreInEquilibrium(t *testing.T) {
	checked := 0
	for _, name := range gearsets.Names() {
		sys := library(t, name)
		for _, s := range leverDiagram(t, sys, sys.Train.Ranges, nil).States {
			for _, l := range s.Levers {
				sum, moment := exact.NewFrac(0, 1), exact.NewFrac(0, 1)
				single := true
				for _, n := range l.Nodes {
					if n.Torque == nil || n.Torque.Min.Cmp(n.Torque.Max) != 0 {
						single = false
						break
					}
					sum = sum.Add(n.Torque.Min.Frac)
					moment = moment.Add(n.Torque.Min.Frac.Mul(n.At))
				}
				if !single {
					continue
				}
				checked++
				if sum.Sign() != 0 || moment.Sign() != 0 {
					t.Errorf("%s, %s, %s: sum %v, moment %v", name, s.Label, l.Title, sum, moment)
				}
			}
		}
	}
	if checked < 100 {
		t.Errorf("only %d levers were checked", checked)
	}
}

// Where levers of a state that ties up are on slides of their own, the first shows the output,
// for which the lines ask different speeds.
func TestFirstSlideShowsTheContradiction(t *testing.T) {
	sys := library(t, "four-carrier-eight-speed")
	d := leverDiagram(t, sys, ranges(t, sys.Train, "R"), faults(t, sys.Train, "lock-clutch=stuck"))
	sheets, _ := Sheets(PNG, d, Style{Size: Size{Width: 1200, Height: 675, pixels: true}})
	s := &sheets[0].(*Levers).States[0]
	if len(sheets) < 2 || len(s.Lines) != 4 {
		t.Fatalf("%d slides, %d lines", len(sheets), len(s.Lines))
	}
	seen := map[float64]bool{}
	for l, lever := range s.Levers {
		for n, node := range lever.Nodes {
			if node.Label != "output-shaft" {
				continue
			}
			for _, line := range s.Lines {
				f, _ := line.Speeds[l][n].Point()
				seen[f.Float()] = true
			}
		}
	}
	if len(seen) != 4 {
		t.Errorf("the first slide asks the output for %v", seen)
	}
}
