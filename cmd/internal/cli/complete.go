package cli

import (
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

// completeTrain completes the first argument with the trains of the library;
// the shell itself adds files.
func completeTrain(_ *cobra.Command, args []string, _ string) ([]string, cobra.ShellCompDirective) {
	if len(args) > 0 {
		return nil, cobra.ShellCompDirectiveNoFileComp
	}
	return gearsets.Names(), cobra.ShellCompDirectiveDefault
}

// completeTrains completes every argument with trains.
func completeTrains(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
	return gearsets.Names(), cobra.ShellCompDirectiveDefault
}

// completeTrainRanges completes a train and then its ranges.
func completeTrainRanges(cmd *cobra.Command, args []string, to string) ([]string, cobra.ShellCompDirective) {
	if len(args) == 0 {
		return completeTrain(cmd, args, to)
	}
	return ofTrain(args, func(t *kinematics.Train) []string {
		return slices.DeleteFunc(t.RangeNames(), func(r string) bool { return slices.Contains(args[1:], r) })
	})
}

// ofTrain completes with words that the train named first gives. A train on
// standard input cannot be read before the command runs.
func ofTrain(args []string, words func(*kinematics.Train) []string) ([]string, cobra.ShellCompDirective) {
	if len(args) == 0 || args[0] == "-" {
		return nil, cobra.ShellCompDirectiveNoFileComp
	}
	f, err := gearsets.Open(args[0], strings.NewReader(""))
	if err != nil {
		return nil, cobra.ShellCompDirectiveNoFileComp
	}
	return words(f.Train), cobra.ShellCompDirectiveNoFileComp
}

func completeElements(_ *cobra.Command, args []string, _ string) ([]string, cobra.ShellCompDirective) {
	return ofTrain(args, (*kinematics.Train).ElementNames)
}

func completeMembers(_ *cobra.Command, args []string, _ string) ([]string, cobra.ShellCompDirective) {
	return ofTrain(args, turnable)
}

// turnable names the members that can be turned, held, or be input or output.
func turnable(t *kinematics.Train) []string {
	return slices.DeleteFunc(t.MemberNames(), func(name string) bool {
		id, _ := t.Member(name)
		return id == kinematics.Housing || t.Members[id].Unknown
	})
}

// completeTurn completes MEMBER=SPEED up to the speed.
func completeTurn(_ *cobra.Command, args []string, to string) ([]string, cobra.ShellCompDirective) {
	words, directive := ofTrain(args, func(t *kinematics.Train) []string {
		ms := turnable(t)
		for i := range ms {
			ms[i] += "="
		}
		return ms
	})
	return words, directive | cobra.ShellCompDirectiveNoSpace
}

// completeApply completes the last element of a list with commas.
func completeApply(_ *cobra.Command, args []string, to string) ([]string, cobra.ShellCompDirective) {
	before := to[:strings.LastIndex(to, ",")+1]
	words, directive := ofTrain(args, func(t *kinematics.Train) []string {
		var es []string
		for _, c := range t.Couplings[:t.ElementCount] {
			always := c.Kind == kinematics.OneWay && !c.Switched
			if !always && !slices.Contains(strings.Split(before, ","), c.Name) {
				es = append(es, before+c.Name)
			}
		}
		return es
	})
	return words, directive | cobra.ShellCompDirectiveNoSpace
}

// completeRangesList completes the last range of a list with commas.
func completeRangesList(_ *cobra.Command, args []string, to string) ([]string, cobra.ShellCompDirective) {
	before := to[:strings.LastIndex(to, ",")+1]
	words, directive := ofTrain(args, func(t *kinematics.Train) []string {
		var list []string
		for _, r := range t.RangeNames() {
			if !slices.Contains(strings.Split(before, ","), r) {
				list = append(list, before+r)
			}
		}
		return list
	})
	return words, directive | cobra.ShellCompDirectiveNoSpace
}

// completeFault completes NAME=KIND.
func completeFault(_ *cobra.Command, args []string, _ string) ([]string, cobra.ShellCompDirective) {
	return ofTrain(args, func(t *kinematics.Train) []string {
		var faults []string
		for i := range t.Couplings {
			for _, k := range t.FaultKinds(i) {
				faults = append(faults, t.Couplings[i].Name+"="+string(k))
			}
		}
		return append(faults, controlFaults(t)...)
	})
}
