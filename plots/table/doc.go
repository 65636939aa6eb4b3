// Package table writes answers as aligned text for people, and as CSV. It computes no
// mechanics and words none: it writes the values of package analysis, which are their
// own JSON, so that the forms of one answer cannot disagree.
//
// For every answer there is a writer, which [Text] writes for people and, where rows are
// natural, its method CSV for machines:
//
//	type           command    one row or object is
//	[Trains]       trains     a train of the library
//	[Overview]     show       a train with its application chart
//	[Solved]       solve      a state: a range or combination, with faults
//	[Reasons]      why        a reason; no CSV
//	[Chart]        chart      a range
//	[WallChart]    chart      a fault or two, with --all and --pairs
//	[Controlled]   controls   a range, and what feeds its elements
//	[ControlChart] controls   a fault of the controls, where neither range nor fault is given
//	[Loaded]       load       what a range carries; no CSV
//	[Turned]       turn       a member, turned or held as on a bench
//	[Planned]      plan       a turn by hand; no CSV
//	[Shifts]       shifts     a shift from one range to another, with the states on the way
//	[States]       states     combinations of elements that do the same
//	[BrokenAway]   breakaway  what gives first in a range; no CSV
//	[Worn]         wear       a part in a motion
//	[Played]       transient  a shift played in time; in CSV a moment of it
//	[Swept]        transient  a timing of a shift, with --sweep
//	[Diagnosed]    diagnose   a suspect; no CSV
//	[Fits]         diagnose   an observation against what can be seen, with --table; no CSV
//	[CaseShown]    case       a case: suspects, what was found, turns by hand; no CSV
//	[Identified]   identify   a ratio that measured speeds could be
//	[Fitted]       fit        a figure of a layout that could have a chart
//	[Wanted]       fit        tooth counts that come near wanted ratios, with --wanted
//	[Form]         sheet      a range of a road-test sheet on paper, as text only
//	[Worksheet]    worksheet  an exercise for learners, or its answer; no CSV
//	[Checked]      check      a range with a published ratio, or a finding
//
// # CSV
//
// What ranges can come to besides what the rows show, and what must be said to whoever runs
// the vehicle, stands behind the rows, as comments: lines that begin with "# ".
//
// # JSON
//
// [WriteJSON] writes an answer as one object that begins with "schema", a name with a
// version that only ever gains fields, and "units". Bounds without end are the strings
// "-inf" and "inf"; null means that the value does not apply, nothing else. Fields
// keep their order, and members and elements that of the train file.
package table
