package exact

// A Bound is an end of an interval: a fraction, or infinite.
type Bound struct {
	Frac
	Inf int8 // -1 or +1 for infinite, else 0
}

// Finite returns the bound at f.
func Finite(f Frac) Bound { return Bound{Frac: f} }

// Infinite returns the bound at plus infinity for a sign above 0, else minus infinity.
func Infinite(sign int) Bound {
	if sign > 0 {
		return Bound{Inf: 1}
	}
	return Bound{Inf: -1}
}

// Between returns the interval from least to most.
func Between(least, most Frac) Interval { return Interval{Min: Finite(least), Max: Finite(most)} }

// Sign returns -1, 0 or +1.
func (b Bound) Sign() int {
	if b.Inf != 0 {
		return int(b.Inf)
	}
	return b.Frac.Sign()
}

// String returns "-inf", "inf" or the fraction.
func (b Bound) String() string {
	switch {
	case b.Inf < 0:
		return "-inf"
	case b.Inf > 0:
		return "inf"
	}
	return b.Frac.String()
}

// Neg returns -b.
func (b Bound) Neg() Bound {
	if b.Inf != 0 {
		return Bound{Inf: -b.Inf}
	}
	return Bound{Frac: b.Frac.Neg()}
}

// Cmp compares two bounds.
func (b Bound) Cmp(c Bound) int {
	switch {
	case b.Inf == 0 && c.Inf == 0:
		return b.Frac.Cmp(c.Frac)
	case b.Inf == c.Inf:
		return 0
	case b.Inf < c.Inf:
		return -1
	}
	return 1
}

// An Interval is a closed set [Min, Max] of the extended line, or empty.
type Interval struct {
	Empty    bool
	Min, Max Bound
}

// None is the empty interval.
var None = Interval{Empty: true}

// Point returns the one value of the interval and whether it has just one.
func (i Interval) Point() (Frac, bool) {
	return i.Min.Frac, !i.Empty && i.Min.Inf == 0 && i.Max.Inf == 0 && i.Min.Frac.Cmp(i.Max.Frac) == 0
}

// String returns "[1/2, inf]", or "empty".
func (i Interval) String() string {
	if i.Empty {
		return "empty"
	}
	return "[" + i.Min.String() + ", " + i.Max.String() + "]"
}

// Include returns the least interval that holds i and f.
func (i Interval) Include(f Frac) Interval {
	b := Finite(f)
	switch {
	case i.Empty:
		return Interval{Min: b, Max: b}
	case b.Cmp(i.Min) < 0:
		i.Min = b
	case b.Cmp(i.Max) > 0:
		i.Max = b
	}
	return i
}

// IsZero says whether 0 is the only value of the interval.
func (i Interval) IsZero() bool { return !i.Empty && i.Min.Sign() == 0 && i.Max.Sign() == 0 }

// HasZero says whether 0 lies in the interval.
func (i Interval) HasZero() bool { return !i.Empty && i.Min.Sign() <= 0 && i.Max.Sign() >= 0 }

// Neg returns {-x : x in i}.
func (i Interval) Neg() Interval {
	if i.Empty {
		return i
	}
	return Interval{Min: i.Max.Neg(), Max: i.Min.Neg()}
}

// Abs returns the sizes of the values of i.
func (i Interval) Abs() Interval {
	switch {
	case i.Min.Sign() >= 0:
		return i
	case i.Max.Sign() <= 0:
		return i.Neg()
	}
	most := i.Max
	if least := i.Min.Neg(); least.Cmp(most) > 0 {
		most = least
	}
	return Interval{Min: Finite(Int(0)), Max: most}
}

// NearestZero returns the value of a non-empty interval that is nearest to 0.
func (i Interval) NearestZero() Frac {
	switch {
	case i.Min.Sign() > 0:
		return i.Min.Frac
	case i.Max.Sign() < 0:
		return i.Max.Frac
	}
	return Int(0)
}
