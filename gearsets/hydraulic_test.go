package gearsets

import (
	"slices"
	"strings"
	"testing"

	"tieup/kinematics"
	"tieup/kinematics/controls"
)

// governed is a train with a block of controls whose table is shifted by a governor.
func governed(t *testing.T, solenoids, table string) (*kinematics.Train, string) {
	t.Helper()
	f, problems := Parse("mine.yaml", []byte(`tieup: 1
name: one-set
source: invented for demonstration
gearsets:
  main: {kind: simple, sun: 30, ring: 66, pinions: 4}
input: main.sun
output: main.carrier
elements:
  low: {brake: main.ring}
  direct: {clutch: [main.sun, main.carrier]}
ranges:
  N: {}
  L: {apply: [low]}
  H: {apply: [direct]}
positions: {N: [N], D: [L, H]}
controls:
  source: invented for demonstration
  solenoids: {`+solenoids+`}
  table:
`+table))
	return f, problems.Excerpts()
}

// A governor's pressure has no wires: it sticks at most, and losing the supply leaves it.
func TestHydraulicSignal(t *testing.T) {
	const table = `    - {lever: N, gives: N}
    - {lever: D, on: [], gives: L}
    - {lever: D, on: [governor], gives: H}
`
	f, problems := governed(t, "governor: {hydraulic: true}", table)
	if f == nil {
		t.Fatal(problems)
	}
	n := controls.Of(f)
	var got []string
	for _, x := range n.SingleFaults() {
		if x.Part == "governor" || x.Part == "supply" {
			got = append(got, x.String())
		}
	}
	if want := []string{"governor=stuck-on", "governor=stuck-off"}; !slices.Equal(got, want) {
		t.Errorf("faults %v, want %v", got, want)
	}
	for _, text := range []string{"governor=no-current", "governor=crossed S1", "supply=lost"} {
		if _, err := n.ParseFault(text); err == nil {
			t.Errorf("%s is taken", text)
		}
	}
}

// Of two rows that only differ in what they give, the second is refused where it stands;
// and so is a word of a trouble code that no code has.
func TestTableRowsThatContradict(t *testing.T) {
	_, got := governed(t, "S1: {}", "    - {lever: N, gives: N}\n    - {lever: D, gives: L}\n    - {lever: D, gives: H}\n")
	for _, want := range []string{"mine.yaml:22:7: controls: row 3, which gives H, holds where row 2 gives L: with the same lever and solenoids",
		"hydraulic: true"} {
		if !strings.Contains(got, want) {
			t.Errorf("the error does not say %q:\n%s", want, got)
		}
	}
	_, got = governed(t, "S1: {code: shft A}", "    - {lever: N, gives: N}\n")
	if !strings.Contains(got, `mine.yaml:18:26: controls: no trouble code calls a solenoid "shft A"`) {
		t.Errorf("the error is\n%s", got)
	}
}
