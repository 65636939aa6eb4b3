package table

import (
	"math"
	"strconv"

	"tieup/kinematics/analysis"
	"tieup/kinematics/exact"
	"tieup/kinematics/reading"
)

// decimal writes four places, or four figures where a number is small.
func decimal(x float64) string {
	if x != 0 && math.Abs(x) < 0.01 {
		return strconv.FormatFloat(x, 'g', 4, 64)
	}
	return strconv.FormatFloat(x, 'f', 4, 64)
}

// places is Decimal with four places also for whole numbers, so that the
// points of a column stand below one another.
func places(f exact.Frac) string { return decimal(f.Float()) }

// signed is places with a sign on everything but 0.
func signed(f exact.Frac) string {
	if f.Sign() > 0 {
		return "+" + places(f)
	}
	return places(f)
}

// withExact is the decimal with the fraction, where that says more.
func withExact(f exact.Frac) string {
	if f.IsInt() {
		return f.String()
	}
	return places(f) + " = " + f.String()
}

// rpm writes a speed in turns per minute.
func rpm(f exact.Frac, inputRPM float64) string {
	x := f.Float() * inputRPM
	s := strconv.FormatFloat(x, 'f', 1, 64)
	if x > 0 {
		s = "+" + s
	}
	return s
}

// bounds puts the bounds of a free speed in words: "0 or more".
func bounds(i exact.Interval) string {
	if i.Min.Inf < 0 && i.Max.Inf > 0 {
		return "any speed"
	}
	return reading.Between(i, reading.Decimal)
}

// shortest is the shortest decimal that reads back as the same float.
func shortest(f exact.Frac) string { return strconv.FormatFloat(f.Float(), 'g', -1, 64) }

// ratioCells are a ratio as a number and exactly, both empty where there is none.
func ratioCells(r analysis.Ratio, write func(exact.Frac) string) (number, fraction string) {
	if r.Ratio == nil {
		return "", ""
	}
	return write(*r.Ratio), r.Exact.String()
}
