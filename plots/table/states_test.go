package table

import (
	"bytes"
	"fmt"
	"strings"
	"testing"

	"tieup/kinematics"
	"tieup/kinematics/analysis"
)

// TestStatesLongLists: what is long is shortened in text, with the count of the
// rest, and complete in csv and json.
func TestStatesLongLists(t *testing.T) {
	const n = 6 // sets in series, each held or locked: 4^6 combinations, 2^6 = 64 drive
	b := kinematics.NewBuilder("chain")
	for i := range n {
		set := fmt.Sprintf("s%d", i)
		b.Simple(set, 24, int64(60+i), 0, true)
		if i > 0 {
			b.Join("j"+set, fmt.Sprintf("s%d.carrier", i-1), set+".ring")
		}
		b.Element("brake"+set, kinematics.Brake, set+".sun", kinematics.HousingName)
		b.Element("lock"+set, kinematics.Clutch, set+".sun", set+".ring")
	}
	b.Element("through", kinematics.Clutch, "s0.ring", fmt.Sprintf("s%d.carrier", n-1))
	b.Ports("s0.ring", fmt.Sprintf("s%d.carrier", n-1))
	b.Range("top", "through")
	train, err := b.Build()
	if err != nil {
		t.Fatal(err)
	}
	found, err := analysis.Open(train).States(t.Context(), analysis.StatesQuestion{})
	if err != nil {
		t.Fatal(err)
	}
	answer := States{States: found}
	tieUps, least := 0, answer.LeastTieUps.Len()
	for _, g := range answer.Groups {
		if g.Verdict == analysis.TieUp {
			tieUps = g.Count
		}
	}
	var text, csv bytes.Buffer
	if err := Text(&text, 0, answer); err != nil {
		t.Fatal(err)
	}
	if err := answer.CSV(&csv); err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{
		"13 elements can be applied or not, in 8192 combinations\n",
		fmt.Sprintf(" or one of %d more\n", least-mostTieUps),
		"63 ratios that the train can give are used by no range\n",
		", and ",
	} {
		if !strings.Contains(text.String(), want) {
			t.Errorf("the text does not say %q", want)
		}
	}
	if got := strings.Count(csv.String(), "\n"); got != 1+8192 {
		t.Errorf("csv has %d lines, want a head and 8192", got)
	}
	if got := strings.Count(csv.String(), ",tie-up,"); got != tieUps || least <= mostTieUps {
		t.Errorf("csv has %d tie-ups, want %d; %d least ones", got, tieUps, least)
	}
}
