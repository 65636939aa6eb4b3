// Package certify checks certificates: what an answer says of a state, proved by
// numbers that anyone can multiply out. It knows nothing of how the answer was found, and
// imports nothing but math/big. Package verify, below it, writes the rows of a state down
// from a train file and compares an answer with what is proved; both trust the parser of
// the file and the builder of the model.
//
// # The equations
//
// A state is rows over the speeds w of its members (package kinematics has the
// equations); the housing does not turn and has no column:
//
//	mesh 0, mesh 1 ...   zA wA + zB wB - (zA + zB) wC  = 0   (zB negative for an internal mesh or a chain)
//	a coupling           slip = wA - wB:  locked = 0,  one-way >= 0,  reversed <= 0,
//	                     friction anything, up to its capacity; one that is open has no row
//
// # The atoms
//
// A motion (M) gives the speed of every member that is not 0. It is checked by
// putting it into every row.
//
// A proof (F, after Farkas) gives a multiplier for rows: any for "=", >= 0 for ">=", <= 0
// for "<=", none for friction. The sum of the rows times their multipliers is then >= 0 on
// every motion. It is checked by adding up, member by member.
//
// A left inverse (I) gives, for each row that is loaded, speeds of which this row alone
// feels anything, and feels 1: its multiplier in an equilibrium is then the work of the
// torques outside on these speeds, turned round, and so there is no other.
//
// # Slices
//
// A slice is the values of a quantity in all motions in which some forms have values that
// are given. One end of it, value v, is proved by a motion that is so and reaches v, and
// by a proof whose sum is
//
//	quantity + sum of at_k given_k   with   - sum of at_k is_k = v
//
// at the lower end, and with -quantity and -v at the upper one. An end at infinity is
// proved by a motion and a ray, a motion with all that is given at 0 on which the quantity
// goes that way. A slice is empty by a proof whose sum is sum of at_k given_k with
// sum of at_k is_k < 0. The fields of an answer and their slices are
//
//	field             given                     quantity
//	pull              input = 1                 f output
//	coast.forward     f output = 1              input
//	coast.backward    -f output = 1             input
//	rest              input = 0                 f output
//	input_backward    -input = 1                nothing: empty or not
//	members.NAME      input and output as in    the member's speed
//	                  the answer's "at"
//
// where f is +1 if a positive output moves the vehicle forward, else -1.
//
// A conflict is an empty slice with parts, sets of couplings: its proof uses meshes and
// parts alone, and for each part there is a motion without it, in which meshes and the
// other parts hold and all else is open. So the parts are a smallest set.
//
// A slice that costs is about quantity plus capacity times slip, summed over friction: a
// ray on which that falls shows that an engine that gives more runs away.
//
// # Balances
//
// A balance is an equilibrium: torques from outside at members, and multipliers of rows
// (loads of meshes, torques of couplings on their member A) whose sum cancels them, member
// by member, each within what its row can carry. At its motion whatever slips is held back
// by its whole capacity, and nothing else takes power: the power from outside is what
// friction takes, and no motion that is forced in the same way costs less. The vehicle's
// resistance is a row "resistance", friction on the output.
//
// The least cost is concave over the resistance. Where one motion has the least cost at
// both ends of a stretch it so has it on all of it.
//
// # Meshes with losses
//
// With losses the gear that is driven gets less than the row says: the row acts on a
// balance as Forth, with zA times the efficiency, where gear A is driven, and as Back, with
// zB times it, where B is. A is driven where its torque from the mesh and its turning
// on the carrier have one sign: the multiplier times Rolls, zA (wA - wC), is > 0.
// Such a balance agrees with its own losses; that no other does is not shown.
//
// # What is not proved
//
// That a list is whole, bounds over several ways to share a load, self-locking and
// fewest changes are not certified. Ratings are taken as given, and so is the
// train file as parser and builder read it. An answer lists what its certificate covers,
// and what it does not.
package certify
