// Package certify checks certificates: what an answer says of a state, proved by
// numbers that anyone can multiply out. It knows the equations of a state and
// nothing of how the answer was found; it imports neither the engine nor its
// arithmetic, only math/big.
//
// # The equations
//
// A state is rows over the speeds w of its members (package kinematics has the
// equations); the housing does not turn and has no column:
//
//	meshes     zA wA + zB wB - (zA + zB) wC  = 0   (zB negative for an internal mesh or a chain)
//	couplings  slip = wA - wB:  locked = 0,  one-way >= 0,  reversed <= 0,  open anything
//
// # The atoms
//
// A motion (M) gives the speed of every member that is not 0. It is checked by
// putting it into every row.
//
// A proof (F, after Farkas) gives a multiplier for rows: any for meshes and locked
// couplings, >= 0 for one-way ones, <= 0 for reversed ones, none for open ones. The
// sum of the rows times their multipliers is then >= 0 on every motion. It is
// checked by adding up, column by column.
//
// # What is proved with them
//
// A slice is the set of values that a quantity takes on all motions with some speeds
// given, each written as form = value:
//
//	field             given                     quantity
//	pull              input = 1                 f output
//	coast.forward     f output = 1              input
//	coast.backward    -f output = 1             input
//	rest              input = 0                 f output
//	input_backward    -input = 1                0
//	members.NAME      input and output as in    the member's speed
//	                  the answer's "at"
//
// where f is +1 if a positive output moves the vehicle forward, else -1. One end
// of a slice, value v, is proved by a motion that reaches it and by a proof whose
// sum is
//
//	quantity + sum of a_k form_k   with   - sum of a_k value_k = v
//
// at the lower end, and with -quantity and -v at the upper end; a_k are its
// multipliers "at". An end at infinity is proved by a motion and a ray, a motion
// with all forms at 0 on which the quantity goes that way. A slice is empty by a
// proof whose sum is sum of a_k form_k with sum of a_k value_k < 0.
//
// A conflict is a set of couplings that makes a motion impossible, as an empty slice
// whose proof uses these alone; and it is a smallest one by a motion for each part
// left out, in which the others hold and all else is open.
//
// A balance is an equilibrium: torques from outside at members, and multipliers
// of rows (tooth loads and torques of couplings) whose sum cancels them in every
// column. At its motion the power from outside is what slips dissipate: capacity
// times slip, over all couplings that slip against a capacity; nothing without any.
// As each torque is within its capacity, no motion that is forced in the same way
// costs less. The vehicle's resistance is a brake of the output by the name of
// "resistance", and counts in balances that mention it.
//
// # What is not
//
// That a list is whole, bounds over several ways to share a load, self-locking and
// fewest changes are not certified. Ratings are taken as given, and so is the
// train file as parser and builder read it.
package certify
