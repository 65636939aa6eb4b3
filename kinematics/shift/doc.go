// Package shift says what a shift from one range to another risks, from what
// the train does while it is on the way.
//
// # Partial states
//
// Elements that both ranges apply stay. The off-going are applied in the first
// range only, the on-coming in the second only. What really changes are the
// couplings whose mode differs between the two ranges with their faults: a
// stuck off-going element never lets go and changes nothing. While k couplings
// change, each either still does what it does in the first range or already
// what it does in the second: 2^k states, of which two are the ranges
// themselves and the others are partial states. Two of those have names:
//
//	overlap   every off-going and every on-coming holds
//	underlap  none of them holds
//
// With more than [MostChanges] couplings only these two are evaluated. One-way
// clutches act in every state, unless they are switched.
//
// # The rolling vehicle
//
// A shift under way happens while the vehicle rolls: the output turns, say at
// +1, and the input must find its speed. In a partial state it may turn at any
// speed of the slice [least, greatest] of the cone at output +1 (-1 when both
// ranges drive backward; package solve calls the slices coasts).
//
//   - Pulling, the engine turns the input up until something catches it: the
//     input runs at the greatest speed, which is the ratio of the state. If
//     there is none, nothing catches it.
//   - Coasting, throttle closed, the input falls until something carries it: it
//     runs at the least speed of the slice, or idles if that is not above 0.
//
// So a one-way clutch that catches the input when pulling does nothing for it
// when coasting, and the two get separate answers. If the slice is empty the
// wheels lock; if no speed in it is above 0 the input is held.
//
// A partial state is harmless if it does what the first range does, what the
// second does, or something between them: each [Effect] says which. In any
// other it does harm, more or less; while pulling:
//
//	locks the wheels or holds the input   a tie-up
//	a numerically higher ratio than both  a flare
//	no ratio, nothing catches the input   neutral
//	a numerically lower ratio than both   the engine is pulled down
//	drives the other way
//
// # Early and late
//
// Early and late are said of the on-coming elements, measured by the release of
// the off-going. Early: every on-coming holds before the first off-going lets
// go, so that overlap is passed. Late: the last off-going lets go before the
// first on-coming holds, so that underlap is passed. With one of each these are
// the only two ways but doing both at one moment. With more there are mixed
// orders, which pass neither.
//
// Overlap and underlap decide. With more couplings holding, the cone of a state
// can only shrink: the greatest speed of its slice falls and the least rises.
// Every state passed early holds no more than overlap and no less than one of
// the ranges, so it settles between that range and overlap; if overlap is
// harmless, so is all that is passed early. Likewise underlap decides for late.
// And a state of a mixed order lies between one that is passed late and one that
// is passed early: if early and late are both harmless, every order is. Early
// never flares, and late never ties up.
//
// The verdicts, each for pulling and for coasting:
//
//	timed            early and late both do harm: the exchange must happen at
//	                 one moment (with three or more elements, perhaps in another
//	                 order, which is then given)
//	safe if early    no state passed early does harm, some state passed late does
//	safe if late     the reverse
//	safe either way  no partial state does harm
//
// and, where faults decide, those that say that timing does not matter: see
// [Verdict]. A safe shift in which a one-way clutch takes over or lets go by
// itself is a freewheel shift.
//
// Engaging a range from one that does not drive, and letting go of it, happen
// at a standstill. There the input may be held for a moment without harm, and
// only driving the wrong way counts.
//
// # The torque hole
//
// [Hole] is what pulling loses while the on-coming elements take over, at the
// speeds of the first range. It needs torques; all else here follows from speeds.
package shift
