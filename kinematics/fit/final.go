package fit

import (
	"math"
	"strconv"

	"tieup/kinematics/exact"
)

// A FinalReading says how ratios contain a final drive that a chart gives.
type FinalReading string

// The readings of a final drive.
const (
	Contained    FinalReading = "contained"
	NotContained FinalReading = "not contained"
	// Multiplied: each figure is a ratio with fewer places times the final drive, rounded
	// again, as tables make them.
	Multiplied FinalReading = "multiplied"
)

// finalReadings are the ways to read the final drive of a chart that gives its figure.
func (c *Chart) finalReadings() map[FinalReading]*Chart {
	if c.FinalDrive == nil || c.FinalDrive.Text == "" {
		return map[FinalReading]*Chart{Contained: c}
	}
	without := *c
	without.FinalDrive = nil
	list := map[FinalReading]*Chart{Contained: c, NotContained: &without}
	for places := 1; places <= 3; places++ {
		if x := c.divided(places); x != nil {
			list[Multiplied] = x
			break
		}
	}
	return list
}

// plain is 2 for an answer that calls nothing a misprint, 1 for one that does, 0 where nothing
// fits.
func (a *Answer) plain() int {
	switch {
	case len(a.Fitted) == 0:
		return 0
	case a.Fitted[0].blames():
		return 1
	}
	return 2
}

// divided is the chart with the one ratio of so many places for each figure that gives it when
// multiplied with the final drive, nil if some figure has none or several.
func (c *Chart) divided(places int) *Chart {
	if c.OutIn {
		return nil
	}
	x := *c
	x.FinalDrive, x.Rows = nil, append([]Row(nil), c.Rows...)
	unit := int64(math.Pow10(places))
	for i := range x.Rows {
		p := x.Rows[i].Ratio
		if p == nil {
			continue
		}
		low, high := p.interval(c.Truncated)
		near := int64(math.Round(p.Value.Float() / c.FinalDrive.Value.Float() * float64(unit)))
		x.Rows[i].Ratio = nil
		for n := near - 1; n <= near+1; n++ {
			v := exact.NewFrac(n, unit)
			if product := v.Mul(c.FinalDrive.Value); product.Cmp(low) < 0 || product.Cmp(high) > 0 || n == 0 {
				continue
			}
			if x.Rows[i].Ratio != nil {
				return nil
			}
			x.Rows[i].Ratio = &Printed{Value: v, Places: places, Text: strconv.FormatFloat(v.Float(), 'f', places, 64)}
		}
		if x.Rows[i].Ratio == nil {
			return nil
		}
	}
	return &x
}
