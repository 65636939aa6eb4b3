package cli

import (
	"errors"
	"fmt"
	"math"
	"strings"

	"tieup/kinematics/exact"
)

// Limits of numbers: how long they may be written, and how large they and their
// inverses may be.
const (
	mostDigits = 100
	mostNumber = 1e15
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
