package gearsets

import (
	"strconv"
	"strings"

	"tieup/gearsets/internal/yamlfile"
	"tieup/gearsets/problem"
)

// A fraction is a ratio of two whole numbers in lowest terms; 0/0 if not given.
type fraction struct {
	problem.Place
	num, den int64
}

// maxFraction bounds numerator and denominator of a ratio: six places.
const maxFraction = 1_000_000

// readRatio reads a positive ratio: a decimal, taken exactly as written, or a fraction.
func readRatio(o *object, key string) fraction {
	const hint = ratioHint
	s := o.Text(key)
	if !s.Given() {
		return fraction{}
	}
	num, den, ok := parseRatio(s.Value)
	switch {
	case !ok:
		o.Errorf(s.Place, hint, "%s is %q, not a ratio", key, yamlfile.Clip(s.Value))
		return fraction{}
	case num == 0 || den == 0:
		o.Errorf(s.Place, hint, "%s cannot be %q: a ratio is above 0", key, yamlfile.Clip(s.Value))
		return fraction{}
	case num > maxFraction || den > maxFraction:
		o.Errorf(s.Place, hint, "%s %s is %d/%d: numbers above %d are not taken", key, yamlfile.Clip(s.Value), num, den,
			maxFraction)
		return fraction{}
	}
	return fraction{s.Place, num, den}
}

// parseRatio reads digits, digits.digits or digits/digits, exactly.
func parseRatio(s string) (num, den int64, ok bool) {
	a, b, isFraction := strings.Cut(s, "/")
	if !isFraction {
		whole, places, decimal := strings.Cut(s, ".")
		a, b = whole+places, "1"+strings.Repeat("0", len(places))
		if decimal && (whole == "" || places == "") {
			return 0, 0, false
		}
	}
	if !yamlfile.Digits(a) || !yamlfile.Digits(b) || len(a) > 15 || len(b) > 15 {
		return 0, 0, false
	}
	num, _ = strconv.ParseInt(a, 10, 64)
	den, _ = strconv.ParseInt(b, 10, 64)
	if g := gcd(num, den); g > 1 {
		num, den = num/g, den/g
	}
	return num, den, true
}

func gcd(a, b int64) int64 {
	for b != 0 {
		a, b = b, a%b
	}
	return a
}
