// Package lesson makes exercises about a train and marks them. There are four
// kinds, those of a fault worksheet in a classroom (common practice, no source):
//
//	chart     fill in the application chart of the healthy train
//	predict   given a fault, say what each range does
//	suspects  given a complaint, list the single faults that explain it
//	next      given suspects, choose the range that tells most of them apart under
//	          power or, if none does, coasting
//
// Of a range that given faults of the controls can bring to more than one thing the first
// two ask, and each thing is right; the others say nothing of it.
//
// Every answer is asked of the engine; none is written down anywhere. The same
// train, faults and seed give the same exercises on any machine.
//
// A single fault explains a complaint if with it every range that was tried does
// what was seen: it drives that way at that ratio, does not drive, is held or ties
// up. How the vehicle rolls counts only where the complaint tells it: whoever says
// "no drive" has not said that coasting leaves the engine alone. Faults that act
// through torque alone (weak, dragging) are not among the suspects, as how much
// they hold is not given.
package lesson
