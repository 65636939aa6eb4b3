package plots

import (
	"math"
	"strconv"
)

// A scale places values on a straight line of the page.
type scale struct {
	low, high float64 // values
	from, to  float64 // where they lie
}

func (s scale) at(v float64) float64 {
	return s.from + (v-s.low)/(s.high-s.low)*(s.to-s.from)
}

// around returns the least and greatest of some values with a rim of a share of
// their span.
func around(rim float64, values ...float64) (low, high float64) {
	low, high = math.Inf(1), math.Inf(-1)
	for _, v := range values {
		if !math.IsNaN(v) && !math.IsInf(v, 0) {
			low, high = min(low, v), max(high, v)
		}
	}
	if low > high {
		low, high = 0, 1
	}
	span := high - low
	if span == 0 {
		span = 1
	}
	return low - rim*span, high + rim*span
}

// ticks returns about n round values between low and high, with their labels.
func ticks(low, high float64, n int) (at []float64, labels []string) {
	rough := (high - low) / float64(n)
	step := math.Pow(10, math.Floor(math.Log10(rough)))
	switch r := rough / step; {
	case r > 5:
		step *= 10
	case r > 2:
		step *= 5
	case r > 1:
		step *= 2
	}
	places := max(0, -int(math.Floor(math.Log10(step)+1e-9)))
	for i := math.Ceil(low/step - 1e-9); i*step <= high+1e-9*step; i++ {
		v := i * step
		at = append(at, v)
		label := strconv.FormatFloat(v, 'f', places, 64)
		if i == 0 {
			label = "0"
		}
		labels = append(labels, label)
	}
	return at, labels
}

// levels draws a line across for each of about n round values, that of 0 of a width of its
// own, with the number in front of it.
func (p *pen) levels(x, y scale, n int, zero float64) {
	at, labels := ticks(y.low, y.high, n)
	for k, v := range at {
		width := 0.6
		if v == 0 {
			width = zero
		}
		p.stroke(line{p.faint, width, nil}, point{x.from, y.at(v)}, point{x.to, y.at(v)})
		p.middle(script{size: tickScript.size, color: p.soft, anchor: 1}, point{x.from - 5, y.at(v)}, labels[k])
	}
}

// signed writes a speed with its sign: three places, four below 0.1, or whole
// turns a minute.
func signed(v float64, rpm bool) string {
	places := 3
	switch {
	case rpm:
		places = 0
	case math.Abs(v) < 0.1:
		places = 4
	}
	text := strconv.FormatFloat(v, 'f', places, 64)
	switch {
	case v == 0:
		return "0"
	case v > 0:
		return "+" + text
	}
	return text
}
