package fit

import (
	"math"
	"strconv"
	"strings"

	"tieup/kinematics"
	"tieup/kinematics/exact"
)

// A Mark is a cell of an application chart.
type Mark uint8

// The marks.
const (
	Off     Mark = iota // not applied
	On                  // applied, or, of a one-way clutch, holding
	Unknown             // the chart does not tell, or applied without load
)

// String returns the word that is printed.
func (m Mark) String() string { return [...]string{"off", "on", "unknown"}[m] }

// A ColumnKind is what an element of a chart is, as far as the chart tells.
type ColumnKind string

// The kinds of column.
const (
	AnyKind       ColumnKind = ""
	ClutchColumn  ColumnKind = "clutch"
	BrakeColumn   ColumnKind = "brake"
	OneWayColumn  ColumnKind = "one-way"
	OutsideColumn ColumnKind = "outside" // no part of the train, such as the clutch that locks a converter
)

// ColumnKinds lists the kinds that a chart can write.
var ColumnKinds = []ColumnKind{ClutchColumn, BrakeColumn, OneWayColumn, OutsideColumn}

// A Column is an element under the user's own letter.
type Column struct {
	Name string
	Kind ColumnKind
}

// A Printed number is a figure as it stands in the chart. Value has its sign: below 0 for
// reverse.
type Printed struct {
	Text   string
	Value  exact.Frac
	Places int
}

// interval is what a figure can stand for: half a unit of its last place both ways, or,
// where places were cut off, less than a unit more. open says that the end away from zero
// is not in it.
func (p Printed) interval(truncated bool) (low, high exact.Frac) {
	unit := exact.Int(1)
	for range p.Places {
		unit = unit.Mul(exact.NewFrac(1, 10))
	}
	size := p.Value.Abs()
	if truncated {
		low, high = size, size.Add(unit)
	} else {
		half := unit.Mul(exact.NewFrac(1, 2))
		low, high = size.Sub(half), size.Add(half)
	}
	if p.Value.Sign() < 0 {
		return high.Neg(), low.Neg()
	}
	return low, high
}

// A Row is a range of a chart.
type Row struct {
	Name  string
	Marks []Mark // parallel to Chart.Columns
	Ratio *Printed
	Line  int // of the file
}

// reverse says whether the row drives backward.
func (r *Row) reverse() bool { return r.Ratio != nil && r.Ratio.Value.Sign() < 0 }

// Reversing says whether the name of a range is that of a reverse.
func Reversing(name string) bool {
	n := strings.ToUpper(strings.TrimSpace(name))
	return strings.HasPrefix(n, "R") && !strings.HasPrefix(n, "RED") || n == "AR" || n == "M.AR" || n == "MAR"
}

// Teeth is a tooth count of a member, or the bounds that it must keep.
type Teeth struct {
	Member string // "front.sun"
	Count  int64
}

// A MemberSpeed is the speed of a member in a range, per turn of the input.
type MemberSpeed struct {
	Row    int // index into Chart.Rows
	Member string
	Speed  Printed
}

// Passed is a row of the file that was not read.
type Passed struct {
	Line int
	Text string
}

// A Chart is an application chart with ratios.
type Chart struct {
	Name    string
	Columns []Column
	Rows    []Row
	// FinalDrive is the factor that ratios can contain; nil if they contain none. Where it is
	// not known its Text is empty, and they contain one; else what fits says how, see
	// [Answer.Final].
	FinalDrive *Printed
	Passed     []Passed
	Layout     string // the name of the train in the library that it is, "" if not told
	Teeth      []Teeth
	Speeds     []MemberSpeed
	OutIn      bool // ratios are output speed / input speed
	// Truncated says that places were cut off, Rounded that they were not; neither, that
	// the chart does not tell.
	Truncated, Rounded bool

	read    []int           // columns without a kind that are read as one-way clutches beside elements
	refused map[string]bool // what was asked of layouts in vain
}

// signed is the ratio of a row as input speed / output speed, roughly.
func (c *Chart) signed(r *Row) float64 {
	v := r.Ratio.Value.Float()
	if c.OutIn {
		return 1 / v
	}
	return v
}

// published is a figure of the chart for a train file.
func (c *Chart) published(r *Row, truncated bool, sign int) *kinematics.Published {
	text := strings.TrimPrefix(strings.TrimPrefix(r.Ratio.Text, "-"), "+")
	if r.Ratio.Value.Sign()*sign < 0 {
		text = "-" + text
	}
	return &kinematics.Published{Text: text, OutIn: c.OutIn, Truncated: truncated}
}

// Digits writes a size with as many places as the figure of a row has, cut off or rounded as the
// chart says.
func (c *Chart) Digits(row int, size float64) string {
	unit := math.Pow10(c.Rows[row].Ratio.Places)
	size = math.Abs(size) * unit
	if c.Truncated {
		size = math.Floor(size)
	}
	return strconv.FormatFloat(math.Round(size)/unit, 'f', c.Rows[row].Ratio.Places, 64)
}
