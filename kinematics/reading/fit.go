package reading

import (
	"fmt"
	"math"
	"slices"

	"tieup/kinematics"
	"tieup/kinematics/fit"
)

// FitDifference says what a cell of a chart means that differs from the matched train. sure says
// that enough figures agree to call it a misprint.
func FitDifference(c *fit.Chart, l *fit.Layout, d fit.Difference, sure bool) string {
	row := c.Rows[d.Row].Name
	column := "no column"
	if d.Column >= 0 {
		column = "column " + c.Columns[d.Column].Name
	}
	if d.Element < 0 {
		return fmt.Sprintf("%s, %s: on, and the matched train has no such element", row, column)
	}
	name := l.Train.Couplings[d.Element].Name
	cell := fmt.Sprintf("%s, %s: %s in the chart, %s in the matched train (%s)", row, column, d.Printed, d.Matched, name)
	switch d.Kind {
	case fit.Harmless:
		return cell + "; the ratio is the same either way"
	case fit.NeedsOneWay:
		return cell + "; the ratio needs something that holds there: a one-way clutch is assumed, if the mark is not missing"
	}
	if !sure {
		return cell + "; with the mark as it is printed this train cannot have the ratio: the mark is misprinted, " +
			"or it is another train; too few figures tell"
	}
	return cell + "; with the mark as it is printed the row cannot have its ratio: probably a misprint"
}

// FitPassed names the rows of a chart that were not read.
func FitPassed(c *fit.Chart) (list []string) {
	for _, p := range c.Passed {
		text := []rune(p.Text)
		if len(text) > 60 {
			text = append(text[:60], '…')
		}
		list = append(list, fmt.Sprintf("line %d is passed over: %s", p.Line, string(text)))
	}
	return list
}

// FitFinal says how the ratios of a chart contain the final drive that it gives, nothing where
// it gives none.
func FitFinal(a *fit.Answer, c *fit.Chart) []string {
	switch {
	case a.EitherFinal:
		return []string{fmt.Sprintf("the ratios are read with the final drive %s in them; without it a layout fits, too: "+
			"leave the row out if they do not contain it", c.FinalDrive.Text)}
	case a.Final == fit.NotContained && len(a.Fitted) > 0:
		return []string{fmt.Sprintf("the ratios do not contain the final drive %s: nothing fits if they do",
			c.FinalDrive.Text)}
	case a.Final == fit.Multiplied && len(a.Fitted) > 0:
		for i, r := range c.Rows {
			if r.Ratio != nil && r.Ratio.Value.Sign() > 0 {
				return []string{fmt.Sprintf("each ratio is a rounded one times the final drive %s, rounded again: "+
					"%s is %s times it", c.FinalDrive.Text, r.Ratio.Text, a.Chart.Rows[i].Ratio.Text)}
			}
		}
	}
	return nil
}

// FitReadingsCut says that columns can be one-way clutches in more ways than were tried.
const FitReadingsCut = "columns without a kind can be one-way clutches in more ways than were tried, " +
	"which could explain what is called a misprint here: a row kind leaves fewer"

// FitUnnamed says, where nothing fits, what columns without a kind were taken for; "" where all
// have one.
func FitUnnamed(c *fit.Chart) string {
	if !slices.ContainsFunc(c.Columns, func(x fit.Column) bool { return x.Kind == fit.AnyKind }) {
		return ""
	}
	return fmt.Sprintf("columns without a kind were also read as one-way clutches beside other elements, "+
		"at most %d at once: if more are, write one-way under them in a row kind", fit.MostRead)
}

// FitLayout names a layout.
func FitLayout(l *fit.Layout) string { return NameOfLayout(l.Train.Name, l.Plain) }

// NameOfLayout names the layout of a train, or a plain one without its one-way clutches.
func NameOfLayout(train string, plain bool) string {
	if plain {
		return train + " without its one-way clutches"
	}
	return train
}

// FitCut says that layouts match a chart in more ways than were tried.
func FitCut(layouts []*fit.Layout) string {
	const few = 3
	names := fmt.Sprintf("%d layouts match these marks", len(layouts))
	if len(layouts) <= few {
		list := kinematics.Map(layouts, FitLayout)
		names = kinematics.And(list) + kinematics.Plural(len(list), " matches", " match") + " these marks"
	}
	return fmt.Sprintf("%s in more than %d ways; the first %d by the order of columns (most marks first) and of the "+
		"layout's elements were tried; marks or kinds that are filled in leave fewer", names, fit.MostMatches,
		fit.MostMatches)
}

// FitMisprint names the figure that alone does not agree, or those of which one is wrong, with
// what the others give for it.
func FitMisprint(c *fit.Chart, suspects []fit.Suspect) string {
	if len(suspects) == 1 {
		s := suspects[0]
		return fmt.Sprintf("%s: %s is probably a misprint: without it all other figures agree, and with any other "+
			"left out they do not; %s", c.Rows[s.Row].Name, c.Rows[s.Row].Ratio.Text, others(c, s))
	}
	list := kinematics.Map(suspects, func(s fit.Suspect) string {
		return fmt.Sprintf("%s in %s (%s)", c.Rows[s.Row].Ratio.Text, c.Rows[s.Row].Name, others(c, s))
	})
	return fmt.Sprintf("%s is probably a misprint: with one of them left out all others agree, and "+
		"nothing tells which it is; this fit leaves out %s. Find the right figure of one, or empty its cell, and fit again",
		kinematics.Or(list), c.Rows[suspects[0].Row].Name)
}

// others says what the other figures give for that of a row.
func others(c *fit.Chart, s fit.Suspect) string {
	if math.IsInf(s.Most, 1) {
		return "the others leave it open"
	}
	least, most := c.Digits(s.Row, s.Least), c.Digits(s.Row, s.Most)
	if least == most {
		return "the others give " + least
	}
	return fmt.Sprintf("the others give %s to %s", least, most)
}

// remarkForms are the sentences of remarks, of a name and of what goes with it.
var remarkForms = map[fit.RemarkKind]string{
	fit.AssumedOneWay: "assumed: the one-way clutch %[1]s of the matched train, for which the chart has no column",
	fit.ReadAsOneWay: "column %[1]s is read as a one-way clutch, with which fewer cells differ: " +
		"write one-way under it in a row kind if it is one, else clutch or brake",
	fit.StandsBehind: "column %[1]s is a one-way clutch behind %[2]s, in series with it: %[2]s acts only while it holds",
	fit.StandsBeside: "column %[1]s is a one-way clutch beside %[2]s, parallel to it: it holds what %[2]s would hold",
	fit.CarriesNothing: "wherever column %[1]s holds, %[2]s is applied, too: it carries nothing there, " +
		"or a mark is wrong",
	fit.SpeedNotUsed:  "the speed of %[2]s in %[1]s is not used: the layout has no such member",
	fit.TeethNotUsed:  "the teeth of %[1]s are not used: the layout has no such gear",
	fit.RowLeftOut:    "row %[1]s is left out of the train: as it is marked, nothing turns",
	fit.ColumnLeftOut: "column %[1]s is left out of the train: the layout has no such element",
	fit.MarksOfLayout: "row %[1]s has the marks of the matched train",
	fit.UnknownMarks:  "row %[1]s: what the chart does not tell is as in the matched train",
	fit.KeptRatio:     "no figure depends on %[1]s: it is as in the matched train",
	fit.StandForRatio: "the numbers of %[1]s stand for its ratios: they are no tooth counts",
}

// FitRemark says what a fitted train has that the chart does not say.
func FitRemark(r fit.Remark) string {
	if r.Kind == fit.AssumedOneWay && r.With != "" {
		return fmt.Sprintf("assumed: a one-way clutch beside %s (%s), which the figures need", r.With, r.Name)
	}
	return fmt.Sprintf(remarkForms[r.Kind], r.Name, r.With)
}

// FitSettling says what would settle basic ratios that the figures leave open. letters
// names elements as the chart does.
func FitSettling(l *fit.Layout, s fit.Settling, letters func(element int) string) string {
	switch {
	case s.Open >= 0:
		return fmt.Sprintf("no ratio settles %s: count its teeth", l.Ratios[s.Open].Name)
	case s.Range >= 0:
		return fmt.Sprintf("the ratio of a range such as %s of %s would settle it (%s applied)",
			l.Train.Ranges[s.Range].Name,
			l.Train.Name, lettered(s.Elements, letters))
	}
	return fmt.Sprintf("the ratio with %s applied would settle it", lettered(s.Elements, letters))
}

func lettered(elements []int, letters func(int) string) string {
	names := kinematics.Map(elements, letters)
	if len(names) == 0 {
		return "nothing"
	}
	return kinematics.And(names)
}

// FitRefusal says why a layout does not fit.
func FitRefusal(c *fit.Chart, r fit.Refusal) string {
	cells := "its marks agree"
	switch {
	case r.Cells > fit.MostCells:
		return fmt.Sprintf("%s differ from its marks", kinematics.Count(r.Cells, "cell"))
	case r.Cells > 0:
		cells = kinematics.Count(r.Cells, "cell") + " differ"
		if r.Cells == 1 {
			cells = "1 cell differs"
		}
	}
	if r.Row < 0 {
		return cells + ", but not all its figures can be had at once"
	}
	row := c.Rows[r.Row]
	text := fmt.Sprintf("%s, but it cannot give %s in %s with the rows above it", cells, row.Ratio.Text, row.Name)
	switch {
	case r.Residual < 0.1:
		text += fmt.Sprintf("; the nearest is off by %.2g %%", 100*r.Residual)
	case r.Residual < 10:
		text += fmt.Sprintf("; the nearest is off by %.0f %%", 100*r.Residual)
	}
	return text
}

// FitApart says what tells a layout from the others of its class.
func FitApart(c *fit.Chart, t fit.Telling) string {
	text := "parts in hand: " + countedKinds(t.Sets)
	if t.Row >= 0 {
		text += fmt.Sprintf("; a speed: in %s its %s turns %.2f times per turn of the input, as nothing in the others does",
			c.Rows[t.Row].Name, t.Layout.Train.Members[t.Member].Name, t.Speed)
	}
	return text
}

// countedKinds counts gearsets by kind: "2 simple sets and 1 Ravigneaux set".
func countedKinds(sets []kinematics.Kind) string {
	var words []string
	var done []kinematics.Kind
	for _, k := range sets {
		if slices.Contains(done, k) {
			continue
		}
		done = append(done, k)
		n := len(slices.DeleteFunc(slices.Clone(sets), func(o kinematics.Kind) bool { return o != k }))
		words = append(words, fmt.Sprintf("%d %s", n, kinematics.Plural(n, k.Facts().Noun, k.Facts().Nouns)))
	}
	return kinematics.And(words)
}
