package appchart

import (
	"encoding/binary"
	"fmt"
	"strings"
	"testing"
	"unicode/utf16"

	"tieup/gearsets"
	"tieup/kinematics"
	"tieup/kinematics/fit"
)

var trains = []*kinematics.Train{gearsets.MustLibrary("simpson-three-speed"), gearsets.MustLibrary("lepelletier-six-speed")}

const good = "range;A;B;OWC;ratio\nkind;clutch;brake;;\n1;x;;x;2,45\n2;x;x;;1,45\n3;X;?;(x);1\nR;;●;-;2,20\nN;;;;\n"

// The same chart as spreadsheets write it.
func TestForms(t *testing.T) {
	for name, src := range map[string]string{
		"semicolons": good,
		"tabs":       strings.ReplaceAll(good, ";", "\t"),
		"commas": strings.NewReplacer("2,45", `"2,45"`, "1,45", "1.45", "2,20", "2.20", "2;", "2,", ";",
			",").Replace(good),
		"decimal points":           strings.NewReplacer("2,45", "2.45", "1,45", "1.45", "2,20", "2.20").Replace(good),
		"byte order mark":          "\ufeff" + good,
		"CRLF":                     strings.ReplaceAll(good, "\n", "\r\n"),
		"CR":                       strings.ReplaceAll(good, "\n", "\r"),
		"blank rows":               "\n;;;;\n" + strings.ReplaceAll(good, "\n", "\n;;;;\n\n"),
		"remarks":                  "# my unit;;;\n" + good,
		"UTF-16":                   wideOf(good, binary.LittleEndian),
		"UTF-16, high bytes first": wideOf(good, binary.BigEndian),
	} {
		c, problems := Read("chart.csv", []byte(src), trains)
		if c == nil {
			t.Errorf("%s: %s", name, problems.Excerpts())
			continue
		}
		want := "[{A clutch} {B brake} {OWC one-way}] " +
			"1 [on off on] 2.45 2; 2 [on on off] 1.45 2; 3 [on unknown unknown] 1 0; R [off on off] -2.20 2; N [off off off]"
		if got := show(c); got != want {
			t.Errorf("%s:\n%s, not\n%s", name, got, want)
		}
	}
}

// The same chart in other words, as manuals and spreadsheets have it: invented for the test.
func TestManuals(t *testing.T) {
	const same = "1 [on off] 2.84 2; 2 [on unknown] 1.00 2; R [off on] -2.10 2"
	for name, c := range map[string]struct{ src, want string }{
		"a title and groups above": {"Application chart;;;\n;Clutches;;\nGear;A;B;Ratio\n1;●;;2,84\n2;•;(•);1,00\nR;;O;2,10\n", same},
		"letters below groups":     {"Gear;Elements;;Ratio\n;A;B;\n1;x;-;2,84\n2;x;(x);1,00\nR;n/a;x;2,10\n", same},
		"tabs with a title":        {"Clutches, bands\nGear\tA\tB\tRatio\n1\tApplied\t\t2,84\n2\tOn\t(x)\t1,00\nR\t--\tHolding\t2,10\n", same},
		"ratios to one":            {"Gang,A,B,Übersetzung\n1,x,,2.84:1\n2,x,[x],1 : 1.00\nR,,x,2.10 : 1\n", same},
		"reverse by a letter":      {"Rapport;A;B;Rapport de démultiplication\n1;X;;i = 2,84\n2;X;?;=1,00*\nR;;X¹;R 2,10\n", same},
		"reverse in brackets":      {"gear,ratio (in:out),A,B\n1,2.84,yes,no\n2,1.00,yes,?\nR,(2.10),no,yes\n", same},
		"positions, steps, notes":  {"Position;Gear;A;B;Ratio;Step;Notes\nD;1;x;;2.84;;low\nD;2;x;(x);1.00;2.84;\nR;;;x;2.10;;\nReleased after the shift: see page 3\n", same},
		"the ranges in a row":      {"Element;1;2;R\nA;x;x;\nB;;?;x\nRatio;2,84;1,00;-2,10\n", same},
		"the separator first":      {"sep=;\ngear;A;B;ratio\n1;x;;2,84\n2;x;?;1,00\nR;;x;–2,10\n", same},
		"Windows-1252":             {"Gang;A;B;\xdcbersetzung\n1;\x95;\x96;2,84\n2;\x95;?;1,00\nR;;\xd7;2,10\n", same},
		"percent": {"gear;A;B;ratio\n1;x;;35,2 %\n2;x;?;100%\nR;;x;47,6%\nratio as;out/in\n",
			"1 [on off] 0.352 3; 2 [on unknown] 1.00 2; R [off on] -0.476 3"},
		"words above": {"rounding;truncated\ngear;A;B;ratio\n1;x;;2,84\n2;x;?;1,00\nR;;x;2,10\n", same},
	} {
		chart, problems := Read("chart.csv", []byte(c.src), trains)
		if chart == nil {
			t.Errorf("%s: %s", name, problems.Excerpts())
			continue
		}
		if got, want := strings.ReplaceAll(show(chart), "--", "-"), "[{A } {B }] "+c.want; got != want {
			t.Errorf("%s:\n%s, not\n%s", name, got, want)
		}
	}
	const passed = "Application chart;;;\nGear;A;B;Ratio\n1;x;;2.84\n* released late;;;\nSpread;;;4.2\nR;;x;2.1\n"
	c, problems := Read("chart.csv", []byte(passed), trains)
	if want := "[{1 Application chart} {4 * released late} {5 Spread 4.2}]"; c == nil || fmt.Sprint(c.Passed) != want {
		t.Errorf("passed over: %v, not %s: %s", c, want, problems.Excerpts())
	}
	c, problems = Read("chart.csv", []byte("gear;TCC;A;Freilauf;ratio\n1;x;x;x;2.84\n"), trains)
	if c == nil || c.Columns[0].Kind != fit.OutsideColumn || c.Columns[2].Kind != fit.OneWayColumn {
		t.Errorf("%+v %s", c, problems.Excerpts())
	}
}

func wideOf(text string, order binary.AppendByteOrder) string {
	out := order.AppendUint16(nil, 0xfeff)
	for _, u := range utf16.Encode([]rune(text)) {
		out = order.AppendUint16(out, u)
	}
	return string(out)
}

func show(c *fit.Chart) string {
	var rows []string
	for _, r := range c.Rows {
		text := fmt.Sprint(r.Name, " ", r.Marks)
		if r.Ratio != nil {
			sign := ""
			if r.Ratio.Value.Sign() < 0 {
				sign = "-"
			}
			text += fmt.Sprint(" ", sign, r.Ratio.Text, " ", r.Ratio.Places)
		}
		rows = append(rows, text)
	}
	return fmt.Sprint(c.Columns, " ", strings.Join(rows, "; "))
}

func TestWords(t *testing.T) {
	c, problems := Read("chart.csv", []byte(good+"layout;simpson-three-speed\nfinal drive;3,21\nteeth;front.sun;37\n"+
		"speed;2;front.carrier;-0,31\nratio as;out/in\nrounding;truncated\nname;my-unit\n"), trains)
	if c == nil {
		t.Fatal(problems.Excerpts())
	}
	if c.Layout != "simpson-three-speed" || c.FinalDrive.Text != "3.21" || len(c.Teeth) != 1 || c.Teeth[0].Count != 37 ||
		len(c.Speeds) != 1 || c.Speeds[0].Row != 1 || c.Speeds[0].Speed.Value.Sign() > 0 || !c.OutIn || !c.Truncated ||
		c.Name != "my-unit" {
		t.Errorf("%+v", c)
	}
}

// What charts call a brake or a one-way clutch is one, and rounding is as it is written.
func TestKindsByName(t *testing.T) {
	for name, want := range map[string]fit.ColumnKind{
		"band": fit.BrakeColumn, "sprag": fit.OneWayColumn, "roller": fit.OneWayColumn, "Freewheel": fit.OneWayColumn,
		"OWC": fit.OneWayColumn, "one-way clutch": fit.OneWayColumn, "one way": fit.OneWayColumn, "outside": fit.OutsideColumn,
	} {
		c, problems := Read("chart.csv", []byte("range;A;B;ratio\nkind;"+name+";;\n1;x;;2.4\nrounding;rounded\n"), trains)
		if c == nil {
			t.Errorf("%s: %s", name, problems.Excerpts())
			continue
		}
		if c.Columns[0].Kind != want || !c.Rounded || c.Truncated {
			t.Errorf("%s is %q, rounded %t, truncated %t", name, c.Columns[0].Kind, c.Rounded, c.Truncated)
		}
	}
}

func TestBlank(t *testing.T) {
	filled := strings.Replace(Blank(), "1,,,,,,,\n", "1,x,,,,,,2.45\n", 1)
	if c, problems := Read("blank.csv", []byte(filled), trains); c == nil || len(c.Columns) != 6 || len(c.Rows) != 7 {
		t.Errorf("%v %s", c, problems.Excerpts())
	}
}

// Each broken chart is refused at its place, with what to write instead.
func TestBroken(t *testing.T) {
	head := "range;A;B;ratio\n"
	for _, c := range []struct{ name, src, at, message, hint string }{
		{"empty", "", "1:1", "the file is empty", "--blank"},
		{"only remarks", "# nothing\n\n", "1:1", "the file is empty", "--blank"},
		{"no ratio column", "range;A;B\n1;x;;\n", "1:1", "no column is headed ratio", "write the first row as"},
		{"final drive above", "final drive;yes\n" + head + "1;x;;2.4\n", "1:13", "not a number", "write it as printed"},
		{"no elements", "range;ratio\n1;2.4\n", "1:1", "no column is headed by an element", "a column for each element"},
		{"two ratio columns", "range;A;ratio;ratio\n1;x;2.4;2.4\n", "1:15", "two columns of ratios", "leave one"},
		{"two columns A", "range;A;a;ratio\n1;x;;2.4\n", "1:9", `two columns "a"`, "another name than that in column 7"},
		{"long column name", "range;" + strings.Repeat("A", 41) + ";ratio\n1;x;2.4\n", "1:7", "longer than 40",
			"short name"},
		{"too many columns", "range" + many(25) + ";ratio\n1" + strings.Repeat(";", 25) + ";2.4\n", "1:1",
			"there are 25 elements", "no element"},
		{"no ratio", head + "1;x;;\n2;;x;\n", "1:1", "no range has a ratio", "column headed ratio"},
		{"bad mark", head + "1;x;maybe;2.4\n", "2:5", `"maybe" is no mark`, "write x where"},
		{"a bad mark behind blanks", head + "1;  maybe;;2.4\n", "2:5", `"maybe" is no mark`, "write x where"},
		{"a bad mark behind letters of two bytes", "range;Ä;B;ratio\n1;●;maybe;2.4\n", "2:5", `"maybe" is no mark`, "write x where"},
		{"too many digits before the point", head + "1;x;;24512\n", "2:6", "too many digits", "at most four"},
		{"ratio a date", head + "1;x;;02.Apr\n", "2:6", `"02.Apr", not a number`, "write it as printed"},
		{"ratio of zero", head + "1;x;;0.00\n", "2:6", "cannot be 0", "write it as printed"},
		{"comma and point", head + "1;x;;1.234,5\n", "2:6", "a comma and a point", "write it as printed"},
		{"too many digits", head + "1;x;;2.4512345\n", "2:6", "too many digits", "at most four"},
		{"a row short of a cell", head + "1;x;;2.4\n2;x;1.4\n", "3:5", "stands in column 3, not 4", "an empty cell"},
		{"a range twice", head + "1;x;;2.4\n1;;x;1.4\n", "3:1", "range 1 stands twice, first in line 2", "another name"},
		{"a range without a name", head + ";x;;2.4\n", "2:1", "no name", "1, 2, R"},
		{"a name of signs", head + "§;x;;2.4\n", "2:1", "cannot name a range", "letters and digits"},
		{"a cell without a column", head + "1;x;;2.4;x\n", "2:10", "in a column without a name", "name the column"},
		{"no such kind", head + "kind;gear;;\n1;x;;2.4\n", "2:6", `"gear" is no kind`, "clutch, brake"},
		{"kind twice", head + "kind;clutch;;\nkind;brake;;\n1;x;;2.4\n", "3:1", "kind stands twice, first in line 2",
			"leave one"},
		{"no such layout", head + "1;x;;2.4\nlayout;simpson-three-sped\n", "3:8", "did you mean simpson-three-speed?",
			"tieup trains"},
		{"layout missing", head + "1;x;;2.4\nlayout;;\n", "3:1", "is missing", "the name of a train"},
		{"final drive a word", head + "1;x;;2.4\nfinal drive;yes\n", "3:13", "not a number", "write it as printed"},
		{"final drive below 0", head + "1;x;;2.4\nfinal drive;-3.2\n", "3:13", "below 0", "without a sign"},
		{"teeth of no gear", head + "1;x;;2.4\nteeth;sun;37\n", "3:7", "no gear of a gearset", "front.sun; 37"},
		{"teeth of no train", head + "1;x;;2.4\nteeth;front.sn;37\n", "3:7",
			`no train of the library has a gear "front.sn": did you mean front.sun?`, "tieup show TRAIN"},
		{"teeth of a carrier", head + "1;x;;2.4\nteeth;front.carrier;37\n", "3:7",
			`no train of the library has a gear "front.carrier"`, "tieup show TRAIN"},
		{"speed of no member", head + "1;x;;2.4\nspeed;1;sun-shel;0.4\n", "3:9",
			`no train of the library has a member "sun-shel"`, "tieup show TRAIN"},
		{"teeth of a half", head + "1;x;;2.4\nteeth;front.sun;37.5\n", "3:17", "no tooth count", "front.sun; 37"},
		{"teeth twice", head + "1;x;;2.4\nteeth;front.sun;37\nteeth;front.sun;38\n", "4:7", "stand twice", "leave one"},
		{"speed without a number", head + "1;x;;2.4\nspeed;1;front.sun\n", "3:1", "needs a range, a member and a number",
			"write speed; RANGE"},
		{"speed of what stands still", head + "1;x;;2.4\nspeed;1;front.sun;0,00\n", "3:19", "the speed of front.sun is 0",
			"leave the row out"},
		{"speed in no range", head + "1;x;;2.4\nspeed;7;front.sun;0.4\n", "3:7", `no range "7"`, "with a range of the chart"},
		{"ratio as a word", head + "1;x;;2.4\nratio as;upside\n", "3:10", "ratio as is", "in/out or out/in"},
		{"rounding a word", head + "1;x;;2.4\nrounding;up\n", "3:10", "rounding is", "rounded or truncated"},
		{"a name with a blank", head + "1;x;;2.4\nname;my unit\n", "3:6", "cannot name a train", "my-six-speed"},
		{"an open quotation mark", head + "1;\"x;;2.4\n2;x;;1.4\n", "2:1", "quotation mark", "close"},
		{"two cells", head + "1;x;;2.4\nrounding;rounded;truncated\n", "3:18", "takes one cell", "rounded or truncated"},
		{"not text", head + "1;\x00;;2.4\n", "2:3", "this is not text", "as CSV"},
		{"not UTF-8", head + "1;\x81;;2.4\n", "2:1", "not UTF-8", "CSV UTF-8"},
		{"too large", strings.Repeat("#\n", 1<<20), "1:1", "more than", "a row for each range"},
	} {
		chart, problems := Read("broken.csv", []byte(c.src), trains)
		if chart != nil || len(problems) == 0 {
			t.Errorf("%s: it is read", c.name)
			continue
		}
		if strings.HasPrefix(c.message, "no column is headed ratio") && len(problems) > 1 {
			t.Errorf("%s: %d problems", c.name, len(problems))
		}
		p := problems[0]
		if got := fmt.Sprintf("%d:%d", p.Line, p.Column); got != c.at || !strings.Contains(p.Message, c.message) ||
			!strings.Contains(p.Hint, c.hint) {
			t.Errorf("%s: %s %q, hint %q; want %s %q, hint %q", c.name, got, p.Message, p.Hint, c.at, c.message, c.hint)
		}
	}
}

func many(n int) string {
	text := ""
	for i := range n {
		text += fmt.Sprintf(";E%d", i)
	}
	return text
}

// Whatever the bytes are, they are read or refused with a place.
func FuzzRead(f *testing.F) {
	for _, seed := range []string{good, Blank(), "\xff\xfea", "range\tA\tratio\n1\t\"x\n\"\t2\n",
		"range;A;ratio\n1;x;2:1\n"} {
		f.Add([]byte(seed))
	}
	f.Fuzz(func(t *testing.T, src []byte) {
		c, problems := Read("fuzz.csv", src, trains)
		if (c == nil) != problems.Refuse() {
			t.Fatalf("%v %v", c, problems)
		}
		for _, p := range problems {
			if p.Line < 1 || p.Column < 1 || p.Message == "" || p.Hint == "" {
				t.Fatalf("%+v", p)
			}
		}
		_ = problems.Excerpts()
	})
}
