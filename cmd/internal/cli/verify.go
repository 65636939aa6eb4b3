package cli

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"slices"

	"github.com/spf13/cobra"

	"tieup/kinematics/certify/verify"
)

func newVerifyCmd() *cobra.Command {
	return &cobra.Command{
		Use: "verify ANSWER.json [TRAIN]",
		Long: `Check the proofs that an answer carries.

The JSON of solve, why, load and breakaway carries a certificate: motions and
multipliers, as exact fractions, that prove its verdict, ratio, bounds,
conflicts and torques, and the list of what they cover and do not. They are
checked here by multiplication alone, against the equations of the train file,
without what found the answer; the decimals are compared with the fractions.
Ratings and the reading of the train file are taken as given. That a list is
whole, bounds over several ways to share a load, self-locking and fewest changes
are not proved.

ANSWER.json is a file, or - for what is piped in. TRAIN is the file of a train
that is not in the library.`,
		Example: `  tieup solve simpson-three-speed R --format json > answer.json
  tieup verify answer.json`,
		Args: args(1, 2, "which answer? Write the name of its file, or - for what is piped in",
			"verify takes one answer, and the file of its train if that is not in the library"),
		RunE: runVerify,
	}
}

// mostAnswer is how long an answer may be.
const mostAnswer = 256 << 20

func runVerify(cmd *cobra.Command, args []string) error {
	data, err := readAnswer(cmd, args[0])
	if err != nil {
		return err
	}
	type named struct {
		Train string `json:"train"`
	}
	var head struct {
		named
		States  []named `json:"states"`
		Loads   []named `json:"loads"`
		Without []any   `json:"without_load"`
	}
	if err := json.Unmarshal(data, &head); err != nil {
		return fmt.Errorf("%s: this is no answer in JSON: %w", args[0], err)
	}
	name := head.Train
	for _, part := range slices.Concat(head.States, head.Loads) {
		name = part.Train
	}
	if len(args) > 1 {
		name = args[1]
	}
	if len(head.Loads) == 0 && len(head.Without) > 0 {
		return fmt.Errorf("%s: nothing in it carries a load, so that there is nothing to prove: "+
			"the answers of solve and why prove what the ranges do", args[0])
	}
	if name == "" {
		return fmt.Errorf("%s: it names no train: write the train's name or file behind it", args[0])
	}
	train, err := open(cmd, name)
	if err != nil {
		return err
	}
	n, err := verify.Answer(train, data)
	var problem *verify.Problem
	if errors.As(err, &problem) {
		fmt.Fprintf(cmd.OutOrStdout(), "not proved: %s\n", problem)
		return errDiffers
	}
	if err != nil {
		return fmt.Errorf("%s: %w", args[0], err)
	}
	fmt.Fprintf(cmd.OutOrStdout(), "proved: %d of %d\n", n, n)
	return nil
}

func readAnswer(cmd *cobra.Command, name string) ([]byte, error) {
	in, err := openInput(cmd, name)
	if err != nil {
		return nil, err
	}
	defer in.Close()
	data, err := io.ReadAll(io.LimitReader(in, mostAnswer+1))
	if len(data) > mostAnswer {
		return nil, fmt.Errorf("%s is longer than 256 MiB: no answer is", name)
	}
	return data, err
}
