package cli

import (
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"tieup/gearsets"
	"tieup/kinematics"
)

// open reads a train and prints what looks wrong in its file.
func open(cmd *cobra.Command, name string) (*kinematics.Train, error) {
	f, err := openFile(cmd, name)
	if err != nil {
		return nil, err
	}
	return f.Train, nil
}

func openFile(cmd *cobra.Command, name string) (*gearsets.File, error) {
	f, err := gearsets.Open(name, input(cmd))
	if err != nil {
		return nil, err
	}
	fmt.Fprint(cmd.ErrOrStderr(), f.Problems.Excerpts())
	return f, nil
}

// findRange looks up a range of t.
func findRange(t *kinematics.Train, name string) (*kinematics.Range, error) {
	if i, ok := t.Range(name); ok {
		return &t.Ranges[i], nil
	}
	if len(t.Ranges) == 0 {
		return nil, fmt.Errorf("%s has no ranges: choose elements with --apply", t.Name)
	}
	return nil, t.NoSuch("range", name, t.RangeNames())
}

// findRanges looks up ranges of t.
func findRanges(t *kinematics.Train, names []string) ([]kinematics.Range, error) {
	var ranges []kinematics.Range
	for _, name := range names {
		r, err := findRange(t, name)
		if err != nil {
			return nil, err
		}
		ranges = append(ranges, *r)
	}
	return ranges, nil
}

// A choice is what a command looks at: ranges, or elements that are applied in place of one.
type choice struct {
	ranges, apply []string
	combination   bool // --apply was given, perhaps with nothing in it
}

// add adds --apply.
func (c *choice) add(cmd *cobra.Command) {
	cmd.Flags().StringSliceVar(&c.apply, "apply", nil,
		"apply these `ELEMENTS` (with commas between them) in place of a range")
	complete(cmd, "apply", listed(appliable))
}

// read takes the ranges that were named.
func (c *choice) read(cmd *cobra.Command, ranges []string) {
	c.ranges, c.combination = ranges, cmd.Flags().Changed("apply")
}

// find returns the ranges of t, or the combination as a range without a name; nil if nothing
// was chosen.
func (c *choice) find(t *kinematics.Train) ([]kinematics.Range, error) {
	if c.combination {
		apply, err := findApply(t, c.apply)
		return []kinematics.Range{{Apply: apply, Input: t.Input, Output: t.Output}}, err
	}
	return findRanges(t, c.ranges)
}

// findMember looks up a member whose speed is known.
func findMember(t *kinematics.Train, name string) (kinematics.MemberID, error) {
	id, ok := t.Member(name)
	if !ok {
		return 0, t.NoSuch("member", name, t.MemberNames())
	}
	if t.Members[id].Unknown {
		if t.Gearsets[t.Members[id].Gearset].Across() {
			return 0, fmt.Errorf("%s only spins on its carrier: turn or hold the carrier or a side gear", name)
		}
		return 0, fmt.Errorf("the speed of %s is not known: %s does not give the teeth of its pinions", name, t.Name)
	}
	return id, nil
}

// findApply looks up the elements of --apply. One-way clutches that always act
// cannot be applied.
func findApply(t *kinematics.Train, names []string) ([]int, error) {
	var apply []int
	for _, name := range names {
		e, err := t.FindElement(strings.TrimSpace(name))
		if err != nil {
			return nil, err
		}
		if c := &t.Couplings[e]; actsAlways(c) {
			return nil, fmt.Errorf("--apply: the one-way clutch %s acts always: leave it out", c.Name)
		}
		if slices.Contains(apply, e) {
			return nil, fmt.Errorf("--apply: %s is named twice", t.Couplings[e].Name)
		}
		apply = append(apply, e)
	}
	slices.Sort(apply)
	return apply, nil
}
