// Package roadtest reads and writes the road-test sheet: what was seen of a
// vehicle, for package diagnosis.
//
// [Parse] reads a sheet, [Format] writes one. It is YAML of the same kind as a
// train file:
//
//	sheet: 1
//	train: depot-shuttle-three-speed
//	complaint: binds in reverse
//	circumstances: [sudden, clean]
//	seen:
//	  R: bind
//	  N: [forward, as D1]
//	  D1: not tested
//	shifts:
//	  D1-D2: ok
//	assume:
//	  tolerance: 3%
//
// # Keys
//
// Those with a star must be there.
//
//	sheet *        version of the format: 1
//	ends           "...": the last line of the sheet is three dots, and without it
//	               the sheet is refused as cut short. A sheet may do without the
//	               key
//	train *        name of a train of the library, or the path of a train file,
//	               from the folder of the sheet
//	vehicle        free text: which vehicle, mileage, date
//	complaint      free text, in the customer's words
//	circumstances  list of sudden or gradual, clean or burnt (the fluid), cold or
//	               hot (only then), rebuilt (lately)
//	seen           what was seen by range: a word or a list of words. The words are
//	               those of package diagnosis; not tested is the default
//	shifts         what was seen by shift, D1-D2, or by selecting a range, N-R: ok,
//	               bind, flare, late, harsh, shudder, no-shift
//	workshop       what tests showed: pressure:NAME@RANGE, air:NAME, element:NAME,
//	               bench:NAME+NAME
//	found          what elements and joints were found to be on opening, by name:
//	               burnt, glazed, worn, welded, seized, stripped, broken, reversed,
//	               leaks, clearance-large, clearance-small, good
//	replaced       list of what was replaced, in free text
//	proved         turns by hand that were made once the unit was together again,
//	               and what they showed: ok, locks, turns, free, or how many turns
//	               the output makes for one of the input, - the other way. A turn
//	               names the elements with air, joined by +, or - for none, what is
//	               done with the output and which way the input is turned
//	assume         what the diagnosis takes for granted: see below
//
// # What is taken for granted
//
//	error-rate      how often something is seen wrongly, as a part: 5% or 0.05
//	tolerance       how far a measured ratio may be off, as a part
//	weak            the share of its rating with which a weak element holds
//	dragging        the share with which one drags that is released
//	light-throttle  as a share of the rated input torque
//	full-throttle   as a share of the rated input torque
//	classes         list of classes of causes, likeliest first
//	effort          whole numbers by kind of test, 0 for one that is not to be
//	                proposed
package roadtest
