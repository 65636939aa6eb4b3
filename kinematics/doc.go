// Package kinematics is the model of a planetary gear train and the words it
// is described in: members, meshes, couplings, ranges, faults and states. It
// solves nothing and reads no files; package solve answers what a state does,
// package gearsets reads trains from files.
//
// # Words
//
// One word stands for one thing in train files, in this model, in the output
// of the commands and in drawings.
//
//	word       meaning
//	member     a body that rotates: a shaft, shell, race, gear, carrier or pinion;
//	           the housing is member 0 and never turns
//	gearset    sun gears, ring gears and a carrier with its pinions, under one name
//	mesh       two gears in engagement, on one carrier (or on the housing)
//	coupling   whatever can join two members: spline, clutch, brake, band, dog,
//	           one-way clutch, parking pawl
//	element    a coupling other than a spline: what an application chart lists
//	joint      members that are splined or welded together for good; each of
//	           them sits on the joint by its own spline, so that one can shear
//	slip       wA - wB, the speed of a coupling's first member seen from its second
//	range      one line of the application chart: which elements are applied
//	position   a place of the selector; it offers one or more ranges
//	fault      what is wrong with one coupling, in all ranges or in named ones
//	state      which couplings are locked, open or one-way: a range with its faults
//
// # Notation
//
//	quantity                       symbol    in code        meaning
//	speed of a member              w         w              turns per turn of the input, relative to the housing
//	speed seen from the carrier    w - wc    wSunCarrier    turns per turn of the input, relative to the carrier
//	teeth                          z         ZA, ZB         whole numbers above 0
//	slip of a coupling             s         slip           wA - wB
//	ratio                          i         ratio          input speed / output speed [SAE J646]
//	free motions                   q         q              coordinates of all motions that meshes and joints allow
//
// Positive is the sense in which the input turns when the engine runs. Speeds
// and ratio keep that sign. Whether the vehicle moves forward when the output
// turns positive is a property of the train, [Train.Forward]; only verdicts,
// pull bounds and coasting use it.
//
// # The equation of a mesh
//
// Gears A and B with zA and zB teeth, on a carrier C:
//
//	zA (wA - wC) + zB (wB - wC) = 0    external
//	zA (wA - wC) - zB (wB - wC) = 0    internal
//
// This is Willis' relation [Willis 1841] written for one pair of gears, the
// fundamental circuit of [Buchsbaum and Freudenstein 1970]. Any compound train
// is a list of such rows; a kind of gearset is only shorthand for them (kinds.go holds
// what sets each apart, [KindFacts]):
//
//	kind           central gears          pinions                     rows
//	simple         sun, ring              pinion                      sun x pinion, pinion o ring
//	double-pinion  sun, ring              inner-pinion, outer-pinion  sun x inner, inner x outer, outer o ring
//	ravigneaux     sun-short, sun-long,   short-pinion, long-pinion   sun-short x short, short x long,
//	               ring                                               sun-long x long, short or long o ring
//	stepped        any suns and rings     pinion (with steps)         each sun x its step, each ring o its step
//	bevel          left, right            pinion (spin only)          left x right over the pinion
//	stepped-bevel  any left and right     pinion (spin only, steps)   first x or o each other over the pinion
//	pair           a, b                   none                        a x b, a o b or a chain
//
// (x external, o internal.) A set whose pinion teeth are not known is one row
// between its central gears, zSun (wSun - wC) + zRing (wRing - wC) = 0 for a
// simple set and a minus for a double-pinion set: the pinions drop out. Their
// speeds are then not given; they are never invented.
//
// Opposite side gears of a bevel set turn oppositely as seen from the carrier. On a
// pinion with steps of pA and pB teeth the row over it is zA pB (wA - wC) + zB pA (wB - wC)
// = 0, with a minus for two gears on one side.
// Its pinion turns about an axis across the others, so it has a spin against
// the carrier and no speed of its own.
//
// # Sources
//
//   - [Willis 1841] R. Willis, Principles of Mechanism, 1841 (from memory).
//   - [Buchsbaum and Freudenstein 1970] F. Buchsbaum and F. Freudenstein,
//     Synthesis of kinematic structure of geared kinematic chains and other
//     mechanisms, Journal of Mechanisms 5 (1970) 357-392 (from memory).
//   - [SAE J646] Planetary Gears: Terminology (title and abstract read).
package kinematics
