package cli

import (
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"tieup/kinematics/analysis"
	"tieup/kinematics/exact"
)

// Limits of numbers: how long they may be written, and how large they and their
// inverses may be.
const (
	mostDigits = 100
	mostNumber = analysis.MostNumber
)

// errDividesByZero is the error of "1/0".
var errDividesByZero = errors.New("divides by 0")

// parseNumber reads a number exactly, as every flag takes it: 250, -2.5, 1e-3 or 70/33.
func parseNumber(text string) (exact.Frac, error) {
	text = strings.TrimSpace(text)
	if _, below, found := strings.Cut(text, "/"); found && below != "" && strings.Trim(below, "0") == "" {
		return exact.Frac{}, errDividesByZero
	}
	if len(text) > mostDigits {
		return exact.Frac{}, fmt.Errorf("%s has more than %d digits", quote(text), mostDigits)
	}
	f, err := exact.Parse(text)
	if x := math.Abs(f.Float()); err == nil && f.Sign() != 0 && (x < 1/mostNumber || x > mostNumber) {
		return exact.Frac{}, fmt.Errorf("%s is beyond what is measured", quote(text))
	}
	return f, err
}

// parseFloat reads a number from least to most.
func parseFloat(text string, least, most float64) (float64, bool) {
	f, err := parseNumber(text)
	if err != nil {
		return 0, false
	}
	x := f.Float()
	return x, x >= least && x <= most
}

// A number is the value of a flag that may be left out.
type number struct {
	value       float64
	given       bool
	least, most float64
	above       bool // least itself is not taken
	unit        string
	advice      string // what to write instead, "" to name the unit and the limits
}

// add makes the number a flag of a command.
func (n *number) add(cmd *cobra.Command, name, unit string, least, most float64, usage string) {
	n.unit, n.least, n.most = unit, least, most
	cmd.Flags().Var(n, name, usage)
	freely(cmd, name)
}

// addSpeed makes it a speed above 0, turns per minute.
func (n *number) addSpeed(cmd *cobra.Command, name, usage string) {
	n.above, n.advice = true, "write a speed above 0 in turns per minute, such as 1800"
	n.add(cmd, name, "rpm", 0, 1e6, usage)
}

// addTorque makes it a torque above 0, N m.
func (n *number) addTorque(cmd *cobra.Command, name, usage string) {
	n.above, n.advice = true, "write a torque above 0 in N m, such as 250"
	n.add(cmd, name, "N m", 0, 1e7, usage)
}

// String returns the number as it is written.
func (n *number) String() string {
	if !n.given {
		return ""
	}
	return strconv.FormatFloat(n.value, 'g', -1, 64)
}

// Type names the value in help.
func (n *number) Type() string { return "N" }

// Set reads a number within its limits.
func (n *number) Set(s string) error {
	f, err := parseNumber(s)
	x := f.Float()
	within := x >= n.least && x <= n.most && !(n.above && x == n.least)
	switch {
	case err == nil && within:
		n.value, n.given = x, true
		return nil
	case n.advice != "":
		return errors.New(n.advice)
	case err != nil:
		return fmt.Errorf("write a number in %s", n.unit)
	}
	return fmt.Errorf("write a number in %s from %g to %g", n.unit, n.least, n.most)
}

// pointer returns the number, nil if it was not given.
func (n *number) pointer() *float64 {
	if !n.given {
		return nil
	}
	return &n.value
}
