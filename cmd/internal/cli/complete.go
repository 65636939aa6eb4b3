package cli

import (
	"math"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"tieup/gearsets"
	"tieup/kinematics"
)

// complete sets what a flag is completed with. Only a flag that does not exist
// is refused, and that is a mistake of ours.
func complete(cmd *cobra.Command, flag string, f cobra.CompletionFunc) {
	if err := cmd.RegisterFlagCompletionFunc(flag, f); err != nil {
		panic(err)
	}
}

// freely leaves it to the user what these flags are given: not even files are proposed.
func freely(cmd *cobra.Command, flags ...string) {
	for _, flag := range flags {
		complete(cmd, flag, cobra.NoFileCompletions)
	}
}

// oneOf completes with words that are always the same.
func oneOf(words ...string) cobra.CompletionFunc {
	return cobra.FixedCompletions(words, cobra.ShellCompDirectiveNoFileComp)
}

// The commands that take a train, a train and two ranges, and any number of ranges.
var (
	completeTrain          = trainAndRanges(0)
	completeTrainTwoRanges = trainAndRanges(2)
	completeTrainRanges    = trainAndRanges(math.MaxInt)
)

// trainAndRanges completes the first argument with the trains of the library, to which
// the shell adds files, and then at most so many ranges of it.
func trainAndRanges(most int) cobra.CompletionFunc {
	return func(cmd *cobra.Command, args []string, to string) ([]string, cobra.ShellCompDirective) {
		switch {
		case len(args) == 0:
			return completeTrains(cmd, args, to)
		case len(args) > most:
			return nil, cobra.ShellCompDirectiveNoFileComp
		}
		return ofTrain(func(t *kinematics.Train) []string {
			return slices.DeleteFunc(t.RangeNames(), func(r string) bool { return slices.Contains(args[1:], r) })
		})(cmd, args, to)
	}
}

// completeTrains completes every argument with trains.
func completeTrains(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
	return gearsets.Names(), cobra.ShellCompDirectiveDefault
}

// ofTrain completes with words that the train named first gives. A train on
// standard input cannot be read before the command runs.
func ofTrain(words func(*kinematics.Train) []string) cobra.CompletionFunc {
	return func(_ *cobra.Command, args []string, _ string) ([]string, cobra.ShellCompDirective) {
		if len(args) == 0 || args[0] == "-" {
			return nil, cobra.ShellCompDirectiveNoFileComp
		}
		f, err := gearsets.Open(args[0], strings.NewReader(""))
		if err != nil {
			return nil, cobra.ShellCompDirectiveNoFileComp
		}
		return words(f.Train), cobra.ShellCompDirectiveNoFileComp
	}
}

// goingOn is ofTrain for words behind which more is written: what they are depends on
// what was written before.
func goingOn(words func(t *kinematics.Train, to string) []string) cobra.CompletionFunc {
	return func(cmd *cobra.Command, args []string, to string) ([]string, cobra.ShellCompDirective) {
		list, directive := ofTrain(func(t *kinematics.Train) []string { return words(t, to) })(cmd, args, to)
		return list, directive | cobra.ShellCompDirectiveNoSpace
	}
}

// assigned completes NAME=VALUE up to the value.
func assigned(names func(*kinematics.Train) []string) cobra.CompletionFunc {
	return goingOn(func(t *kinematics.Train, _ string) []string { return ending(names(t), "=") })
}

// listed completes the last word of a list with commas.
func listed(words func(*kinematics.Train) []string) cobra.CompletionFunc {
	return goingOn(func(t *kinematics.Train, to string) []string { return lastOf(to, words(t)) })
}

// lastOf proposes words for the last of a list with commas: those that do not stand in it.
func lastOf(to string, words []string) []string {
	before := to[:strings.LastIndex(to, ",")+1]
	var list []string
	for _, w := range words {
		if !slices.Contains(strings.Split(before, ","), w) {
			list = append(list, before+w)
		}
	}
	return list
}

// ending puts an end behind every word.
func ending(words []string, end string) []string {
	for i := range words {
		words[i] += end
	}
	return words
}

// turnable names the members that can be turned, held, or be input or output.
func turnable(t *kinematics.Train) []string {
	return slices.DeleteFunc(t.MemberNames(), func(name string) bool {
		id, _ := t.Member(name)
		return id == kinematics.Housing || t.Members[id].Unknown
	})
}

// elementsThat names the elements of which something is so.
func elementsThat(is func(*kinematics.Coupling) bool) func(*kinematics.Train) []string {
	return func(t *kinematics.Train) []string {
		var names []string
		for i := range t.Couplings[:t.ElementCount] {
			if c := &t.Couplings[i]; is(c) {
				names = append(names, c.Name)
			}
		}
		return names
	}
}

// actsAlways says whether a coupling is a one-way clutch that nothing switches: it can
// neither be applied nor let go.
func actsAlways(c *kinematics.Coupling) bool { return c.Kind == kinematics.OneWay && !c.Switched }

// appliable names the elements that can be applied.
var appliable = elementsThat(func(c *kinematics.Coupling) bool { return !actsAlways(c) })

// slipping names the elements that slip at a torque.
var slipping = elementsThat(func(c *kinematics.Coupling) bool { return c.Kind.Friction() })

// allFaults lists NAME=KIND of everything that can be wrong with t.
func allFaults(t *kinematics.Train) []string {
	var faults []string
	for i := range t.Couplings {
		for _, k := range t.FaultKinds(i) {
			faults = append(faults, t.Couplings[i].Name+"="+string(k))
		}
	}
	return append(faults, controlFaults(t)...)
}
