// Package plots draws what the other packages computed, as SVG, PNG or PDF.
//
// A drawing is made in two steps. A function such as [SpeedPlan] takes an answer of
// package analysis and returns its geometry: axes, series and labels as values.
// [Write] then draws them. No mechanics is computed here, so a drawing cannot disagree
// with the tables, and its data can be tested without looking at a picture. What must
// be said to whoever runs the vehicle stands below the picture.
//
//	function            data          the drawing
//	[SpeedPlan]         [Speeds]      speed of every member in one or more ranges
//	[LeverDiagram]      [Levers]      the train as levers, in one or more ranges
//	[ApplicationChart]  [Application] elements x ranges, with the outcome
//	[FaultChart]        [WallChart]   single faults x ranges
//	[ShiftLadder]       [Ladder]      input, members and slips against output speed
//	[BreakawayPlan]     [Breakaway]   input torque needed and what slips against resistance
//	[HalfSection]       [Sections]    schematic half-section with the loaded path
//	[ShiftInTime]       [InTime]      a shift played in time: speeds, output torque, heat
//	[ReportPage]        [Report]      a page of a case, with its half-section
//
// [NewPlan] gives no drawing but the places of a train's parts, for writers that draw them.
//
// # Conventions
//
// The speed plan is a plan of parallel axes, one per member, after K. Kutzbach
// (from memory): within a gearset the axes stand where its teeth put them, so
// that every motion is a straight line across them. The lever diagram follows
// H. L. Benford and M. B. Leising, The Lever Analogy: A New Tool in Transmission
// Analysis, SAE 810102, 1981 (from memory).
//
// Both rest on one fact. Seen from the carrier all gears of a set turn in fixed
// proportion, wi - wc = ki u, with ki from the meshes alone (Willis); so
// wi = wc + ki u, and a member placed at ki has a speed that is linear in its
// place. For a simple set with zs and zr teeth that puts the sun at 0, the
// carrier at zr and the ring at zr + zs. Two sets that share two members turn
// together on one such line.
//
// Positive is the sense in which the input turns. Every drawing says so, names
// the train, the ranges and the faults, and gives the source of the train. What
// a colour says is always said by a shape, a dash or a word as well.
//
// # Sheets
//
// Given a size, a drawing fills it: panels may be lower, half-sections higher than
// at their natural size. The smallest letters of a picture are at least 6 points on paper
// and 2.5 % of the height on a slide, whose size is given in pixels; notes and sources at
// its foot are smaller. Charts are for the wall: their slides are pictures of the paper,
// with letters of at least 12 of 900. Ranges, panels, scales, and rows of charts, that do
// not fit so go onto further sheets (see [Sheets]): pages of a PDF, which is on A4 without a
// size, or files. One that is too wide for that is as large as it goes.
// No text covers another, a bar, or a sign: a test looks at every kind of drawing of every
// train.
//
// # Formats
//
// Text in SVG and PDF stays text, in Liberation Sans or, for SVG, what has the
// same widths. The same data give the same bytes in each format. PNG and PDF
// refuse a title with letters that Liberation Sans does not have.
package plots
