package analysis

import (
	"slices"
	"strings"

	"tieup/kinematics"
	"tieup/kinematics/controls"
	"tieup/kinematics/solve"
)

// CheckedControls is the controls of a train beside the failures that its source prints.
type CheckedControls struct {
	Expected List[CheckedFailure] `json:"expected"`
	// Unexercised are parts of expressions that could be stuck at a pressure without the
	// proof or any expected failure coming out otherwise.
	Unexercised List[UnexercisedGate] `json:"unexercised"`
}

// FeedsProved says what no train file is read without.
const FeedsProved = "controls: the feeds give what every range applies, after every history"

// Counted says how many of the printed failures agree, and whether any differs.
func (c *CheckedControls) Counted() (says string, differs bool) {
	n := len(c.Expected)
	same := slices.DeleteFunc(slices.Clone(c.Expected), func(f CheckedFailure) bool { return f.Result == Differs })
	if n == 0 {
		return "controls: no failure is printed, so none was compared", false
	}
	return "controls: " + agreeing(n, n-len(same), "printed failures"), len(same) < n
}

// Untested says what of the controls nothing tests, a line for each part; nil where all is.
func (c *CheckedControls) Untested() []string {
	if len(c.Unexercised) == 0 {
		return nil
	}
	return append([]string{"controls: a slip in these would show neither in the ranges nor in a printed failure:"},
		kinematics.Map(c.Unexercised, func(x UnexercisedGate) string {
			return "  " + x.Where + ": " + x.Text + " taken as " +
				map[controls.Level]string{controls.None: "never", controls.Full: "always"}[x.Stuck]
		})...)
}

// A CheckedFailure is one printed result and what comes out in each command it covers.
type CheckedFailure struct {
	Lever  Name         `json:"lever"`
	Range  Name         `json:"range"`
	Faults List[string] `json:"faults"`
	Gives  string       `json:"gives"`
	Got    List[string] `json:"got"` // where it differs
	Result Agreement    `json:"result"`
}

// An UnexercisedGate is a name in an expression that nothing tests.
type UnexercisedGate struct {
	Where string         `json:"where"`
	Text  string         `json:"text"`
	Stuck controls.Level `json:"stuck"` // what it could be taken for
}

// checkControls compares the printed failures; nil for a train without controls.
func checkControls(t *kinematics.Train) *CheckedControls {
	n := controls.Of(t)
	if n == nil {
		return nil
	}
	c := &CheckedControls{}
	k := solve.Compile(t).Kernel()
	c.Expected = kinematics.Map(n.Expect(), func(v controls.Verdict) CheckedFailure { return checkFailure(n, k, v) })
	c.Unexercised = kinematics.Map(n.Unexercised(), func(g controls.Gate) UnexercisedGate {
		return UnexercisedGate{strings.Join(g.Path, "."), g.Text, g.Stuck}
	})
	return c
}

// checkFailure compares one printed result: by the elements that are fed, and where these
// are others by the ratio.
func checkFailure(n *controls.Network, k *solve.Kernel, v controls.Verdict) CheckedFailure {
	x := v.Expect
	f := CheckedFailure{Lever: Name(x.Lever), Range: Name(x.Range), Faults: x.Faults, Gives: x.Gives, Result: Agrees}
	if x.Gives == "" {
		f.Gives = strings.Join(x.Applies, ", ")
	}
	if len(v.Cases) == 0 {
		f.Result, f.Got = Differs, List[string]{"no command is covered"}
	}
	for _, c := range v.Cases {
		if c.Agrees || x.Gives != "" && sameRatio(n, k, x, c) {
			continue
		}
		f.Result = Differs
		for _, set := range c.Sets {
			fed := n.Train.CouplingNames(set.Applied(&n.Train.Ranges[c.Node.Range]))
			f.Got = append(f.Got, n.Train.Ranges[c.Node.Range].Name+": fed "+strings.Join(fed, ", "))
		}
	}
	return f
}

// sameRatio says whether every outcome of a case drives at the ratio of the range that is
// printed.
func sameRatio(n *controls.Network, k *solve.Kernel, x *controls.Expect, c controls.Case) bool {
	t := n.Train
	r, _ := t.Range(x.Gives)
	want, drives := k.Outcome(t.In(&t.Ranges[r])).Ratio()
	for _, set := range c.Sets {
		for _, faults := range n.Causes(c.Node.Range, set, nil) {
			got, moves := k.Outcome(t.In(&t.Ranges[c.Node.Range], faults...)).Ratio()
			if !drives || !moves || got.Cmp(want) != 0 {
				return false
			}
		}
	}
	return true
}
