// Package gearsets reads train files and holds the library of trains. Package
// roadtest beside it reads road-test sheets.
//
// [Open] reads a train by the name it has in the library, from a file, or from
// standard input. [Parse] reads the text of one; what is wrong with it comes
// back as a [problem.List], all at once and each with its place. [Audit] checks
// whether the tooth counts of a train can be put together. [Schema] is the
// format as a JSON Schema, for editors.
//
// # The train file
//
// A train file is YAML in UTF-8 with one document of at most 1 MiB. Anchors,
// aliases, tags and merge keys are not used. A small one:
//
//	tieup: 1
//	name: yard-tug-two-speed
//	title: Simple planetary set with a direct clutch
//	source: invented for demonstration
//	shafts: [turbine, output-shaft]
//	gearsets:
//	  front: {kind: simple, sun: 30, ring: 66, pinions: 4}
//	joined:
//	  drive:  [turbine, front.ring]
//	  wheels: [output-shaft, front.carrier]
//	input: turbine
//	output: output-shaft
//	elements:
//	  low:  {band: front.sun}
//	  high: {clutch: [front.sun, front.ring]}
//	ranges:
//	  N:  {}
//	  D1: {apply: [low]}
//	  D2: {apply: [high]}
//	positions: {N: [N], D: [D1, D2]}
//
// A name is of letters, digits, - and _, at most 64, and begins with a letter
// or digit. The name housing is taken: it is the member that never turns.
//
// # Keys of the file
//
// Those with a star must be there.
//
//	tieup *       version of the format: 1
//	name *        name of the train
//	title         what the train is, on one line
//	source *      where the figures come from: a text or a list of texts; of
//	              figures that come from nowhere, "invented for demonstration"
//	note          free text
//	shafts        list of members that carry no gear: shafts, shells, drums, and
//	              the race between a one-way clutch and its brake
//	gearsets *    gearsets by name, up to 50: see below
//	joined        joints by name: lists of members that turn as one for good; may
//	              contain housing. Each member sits on its joint by a spline that
//	              can fail
//	input *       the member that is turned
//	output *      the member that turns the load
//	drive         converter (default) or direct: what turns the input. Behind a
//	              converter a held input loads the engine but does not stop it
//	use           vehicle (default), cycle, hoist or machine: what the train is
//	              built into. Cautions and tests follow from it
//	forward       same (default) or opposite: with opposite the vehicle moves
//	              backward when the output turns in the sense of the input
//	rated-torque  the input torque that the train is made for, N m. Where it is
//	              left out torques are given as multiples of it
//	published-as  in/out (default) or out/in: what published ratios divide by what
//	rounding      rounded (default) or truncated: how published ratios were cut
//	elements      elements by name: see below
//	ranges *      ranges by name: see below
//	positions     places of the selector by name: lists of the ranges they offer,
//	              lowest first
//	taps          list of the elements that have a pressure tap of their own, []
//	              for none. Line pressure has one always; where the key is left out
//	              a tap of an element is there or not
//	inertia       inertias of members, kg m²: see below
//	vehicle       what the output moves: see below
//	shift         when elements let go and take hold: see below
//	controls      what feeds the elements: see below
//
// Members are the shafts, the housing, and the parts of gearsets: gearset.part,
// such as front.sun. Shafts, joints, elements, ranges and positions are at most
// 100 of each, and so are the entries of a list.
//
// # Gearsets
//
// The kind says which keys give the teeth and which parts there are. Tooth
// counts are whole numbers from 1 to 100000. Where only a ratio is known it
// stands in place of the teeth, as a decimal that is taken exactly as written
// (2.20 is 11/5) or as a fraction (73/35). Numerator and denominator in lowest terms
// are at most 1000000, so that a decimal has at most six places.
//
//	simple         sun, ring, or ring/sun; pinion if not (ring - sun) / 2. Parts:
//	               sun, ring, carrier, pinion
//	double-pinion  sun, ring, or ring/sun; inner-pinion and outer-pinion, both or
//	               neither. The sun meshes the inner pinions, the ring the outer.
//	               Parts: sun, ring, carrier, inner-pinion, outer-pinion
//	ravigneaux     two or three of sun-short (the sun on the short pinions),
//	               sun-long (the sun on the long pinions) and ring, or
//	               ring/sun-short with ring/sun-long; ring-meshes: long or short,
//	               the pinions that the ring meshes; short-pinion and long-pinion,
//	               both or neither. Parts: those given, carrier, short-pinion,
//	               long-pinion
//	stepped        suns and rings: gears by name, each a list of its own teeth and
//	               those of the pinion step it meshes: {slow: [21, 33]}. Parts: the
//	               gears by their names, carrier, pinion
//	bevel          left, right, or right/left; pinion. Parts: left, right, carrier
//	stepped-bevel  left and right: gears by name on either side of the pinion, each
//	               a list of its own teeth and those of the pinion step it meshes:
//	               {held: [76, 56]}. Parts: the gears by their names, carrier
//	pair           a, b, or b/a; mesh: external, internal or chain, which must be
//	               there; bevel: true where the axes cross, so that the mesh only
//	               says which way b turns; carrier: the member that carries both
//	               axes, housing if it is left out. Parts: a, b
//
// # Keys of every kind of gearset
//
//	pinions          number of pinions on the carrier, 1 to 100 (of pairs of
//	                 pinions in double-pinion and ravigneaux sets)
//	profile-shifted  true: the teeth are modified, so that the conditions on
//	                 standard teeth do not apply (see Tooth counts)
//
// Pinions are members, too, if their teeth are known; the speed of a pinion
// without teeth and of a bevel pinion is given by no equation.
//
// # Elements
//
// An element says what it is and what it joins: one of the keys from clutch to
// pawl. Those behind them say more.
//
//	clutch    [a, b]: a clutch between two members
//	brake     a: a disc brake to the housing
//	band      a: a band brake to the housing
//	dog       a or [a, b]: positive, it does not slip
//	one-way   [a, b]: a may turn faster than b in the sense of the input; a: to the
//	          housing, overruns: forward lets a turn in the sense of the input,
//	          overruns: backward against it
//	pawl      a: the parking pawl
//	overruns  forward or backward, of a one-way clutch with one member: which way
//	          it turns freely
//	switched  true, of a one-way clutch: it acts only in ranges that apply it. All
//	          others act always, and no range may apply them
//	capacity  of a clutch, brake or band: the torque it can hold, N m; assumed from
//	          the loads of the healthy ranges where it is left out
//	also      other names, such as the letter that a source gives it
//	note      free text
//
// # Ranges
//
// A range is one line of the application chart. All keys can be left out.
//
//	apply         list of the elements that are applied
//	input         the member that is turned, where it is not that of the train
//	output        the member that turns the load, where it is not that of the train
//	published     the ratio as the source prints it: 2.40 has two places
//	published-as  what that ratio divides by what, where not as the train's
//	rounding      how that ratio was cut, where not as the train's
//	source        where that ratio was read, where not in the train's sources
//	gear          the gear that trouble codes of ratios mean by it: 1 to 10, or R;
//	              left out: numbered by the ratios, the highest being gear 1
//	intended      true: the range is meant to tie up. A range that ties up without
//	              it is refused, and so is one that has it and does not
//	note          free text
//
// # Shifts in time
//
// These keys matter to shifts that are played in time alone; what is left out is
// assumed there.
//
// The key inertia lists members with their inertia about their axis, kg m²:
// turbine: 0.12. That of pinions is of all pinions of the name together; their mass
// is part of the carrier. What turns as one adds up. The key shift lists elements,
// each with
//
//	release  the span of time in which it lets go, s after the command: 0.35..0.50,
//	         at an even rate; 0.35..0.50:smooth, slowly at both ends
//	apply    the span in which it takes hold
//	area     friction area of all its plates, or of its band, cm²
//
// # Vehicle
//
//	mass *         kg
//	final-drive *  turns of the output per turn of the wheels
//	tyre-radius *  m
//	rolling        the rolling resistance as a share of the weight, 0 if left out
//	drag           the drag area, m², 0 if left out
//
// # Controls
//
// What feeds the elements, of which package controls says the meaning. Two levels:
// with circuits, valves and feeds the elements follow from how the valves stand; a
// table in their place is what every manual prints. In both the feeds are proved to give
// what each range applies when the file is read.
//
//	source *    where the controls come from: a text or a list of texts; from
//	            memory, or invented, where that is so
//	note        free text
//	solenoids   solenoids by name, on or off as charts print them: see below
//	circuits    circuits by name, each with its route: an expression. The circuit
//	            line is always there
//	valves      valves by name: see below
//	balls       check balls by name, each with the circuits it lies between;
//	            whichever has pressure goes through
//	feeds       elements, each with the expression of what applies it, or with the
//	            keys below
//	neighbours  pairs of circuits between which a leak is possible
//	command     ranges, or position/range, each with the solenoids that the control
//	            switches on: a list, a list of such lists, or the keys of a pattern
//	table       in place of feeds, the rows that a manual prints: see below. What
//	            no row tells is unknown
//	fail-safe   what the control commands instead when it knows of a failure, by
//	            solenoid, S1+S2 for several, valve or supply: see below
//	expect      printed failure results, which tieup check compares: see below
//
// Expressions are of names (a solenoid that is on, a valve that is up, the pressure of
// a circuit or ball), line, and, or, not, lever(D 2), parentheses, and unknown for what
// the source does not tell. A valve may read itself.
//
// # Solenoids
//
//	code       what the open trouble codes call it: shift A to shift H, pressure
//	           control A to F
//	hydraulic  true for what is no solenoid: a pressure that comes and goes by
//	           itself, such as a governor's. It has no wires
//	note       free text
//
// # Valves
//
//	up    the pressures against its spring
//	down  the pressures with its spring; down wins
//	note  free text
//
// # Feeds
//
//	apply *  the expression of what applies it, or a list of apply areas, each with
//	         from and its share of the capacity
//	release  the expression of what releases it against that
//	fill     how long it takes to fill, s: a time, or routes with when and take;
//	         the first that holds after the shift counts
//	exhaust  how long it takes to exhaust, likewise
//
// # Apply areas
//
//	from *  the expression of what acts on the area
//	share   its share of the capacity of the element, 1 if left out
//
// # Patterns
//
//	on      solenoids that are on
//	either  solenoids that may be on or off
//	apply   the elements of this pattern, where they are not those of the range
//
// # Rows of a table
//
//	lever   positions of the lever; left out: any
//	on      the solenoids that are on; left out: any pattern
//	either  solenoids that may be on or off
//	gives   the range that the unit is in; a pattern that no range commands may
//	        have a row, too
//	apply   the elements that are fed, where they are those of no range
//
// # Fail-safes
//
// Beside these keys stand ranges, or position/range, each with what is commanded there
// instead; the lever stays. A range that is not named is commanded as before.
//
//	when       the faults that set it off: no-current, short-on, supply; with
//	           monitored mechanical ones, too. Left out: every fault that the
//	           control can know of
//	monitored  true: the control finds mechanical faults, too, by the ratio
//
// # Expected failures
//
//	lever    the position of the lever; left out: every one that offers the range
//	range    the range commanded; left out: every one of the lever
//	fault    the fault, or a list of faults, as on the command line
//	gives    the range that the unit is in by its ratio
//	applies  or the elements that are fed
//	before   true: before any fail-safe
//	source   where it was read, where not in the source of the controls
//
// # Tooth counts
//
// [Audit] checks, for gears of one module and standard addendum,
//
//	coaxial         ring = sun + 2 pinion                                   [1, 13-5]
//	equal spacing   (sun + ring) / pinions whole                            [1, 13-7]
//	clearance       (sun + pinion) sin(180°/pinions) > pinion + 2           [1, 13-9]
//
// and what corresponds to them in the other kinds: in a double-pinion set the
// difference (ring - sun) / pinions is whole; in a Ravigneaux set the first
// holds for each sun and ring on the same pinions, and the second for each two
// central gears, with the sign of their sense; on stepped pinions all central
// gears have one distance from the pinion axis, unless the steps have different
// modules. Where two pinions mesh each other, the triangle of the axes must
// close, and the pinions clear the gears that they pass. These follow from
// plane geometry; their derivations stand in the code.
//
// What does not hold is a warning, not an error: gears with profile shift need
// not keep the first and third, and pinions may be spaced unequally. A set with
// profile-shifted: true is excused from the first and third.
//
// # Sources
//
//  1. Elements of Metric Gear Technology, section 13.3.1, in the technical
//     section of Stock Drive Products / Sterling Instrument catalogue D785, as
//     read at sdp-si.com.
package gearsets
