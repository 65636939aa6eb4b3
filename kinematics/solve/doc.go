// Package solve is the engine: it decides exactly what a train does in a state.
//
// [Compile] eliminates the meshes and joints of a train once, into a basis of
// free motions, so that every member's speed is an integer combination of a few
// coordinates q. A state then adds one row per locked coupling (slip = 0) and one
// inequality per one-way clutch (slip >= 0), and the admissible motions
//
//	{ q : G q = 0, H q >= 0 }
//
// form a polyhedral cone. Its generators, projected on the plane of input and
// output speed, answer everything: see [Outcome] for the slices.
//
// Everything that is decided (locked, free, driving, which bound) is decided in
// integers. Floating point only describes what has been decided.
//
// A [Kernel] evaluates states of one compiled train without allocating; use one
// per goroutine. [System.Motion] gives the full answer for one state, and
// [System.Turn] turns and holds any members as on a bench.
//
// # Torques and powers
//
// [System.Pulling] and [System.Coasting] give what a state carries while one end
// drives the other: equilibrium of every body with one unknown for each mesh and
// each coupling that can carry, solved in fractions. Where the load is shared
// there are several statically determinate ways, and torques are bounds over
// them; no average or least-squares sharing is made up.
//
// Losses act as other teeth would: of what the driving gear gives, as seen from
// the carrier, the driven one gets a share. Which gear drives is not assumed.
// It is traced outward from the input, where the sign of each load settles its own
// direction, and tried both ways where power runs in a circle. Those count whose own
// result has these directions and an efficiency above 0 and at most 1; without the
// second condition a train that locks itself would seem to run. Power, as torque times
// speed, splits by w = (w - wc) + wc into rolling power, on which the losses are
// counted, and coupling power, which passes as if the set turned as one. This
// is the method of the basic train with its carrier held [Müller 1982].
//
// # Breakaway
//
// [System.Capacities] gives friction elements a capacity, and [System.Standing] and
// [System.Rolling] force the train to move: among all motions the one of least
// dissipation is that in which it gives [Drucker, Prager and Greenberg 1952]. The
// linear program is solved in integers, and torques that balance it within all
// capacities prove every answer. [System.Stretches] gives it for any resistance of
// the vehicle at once. Bodies are rigid and friction is Coulomb's, the same at rest
// and slipping, in both directions.
//
// # Work that has an end
//
// There can be exponentially many ways to share a load, conflicts and strains.
// Couplings in parallel count as one, and every search takes a context and a [Limit]
// and says whether it came to the end. No verdict, ratio or speed waits for one.
//
// # Proofs
//
// A [Prover] writes certificates that package certify checks without the engine.
//
// # Sources
//
//   - [Drucker, Prager and Greenberg 1952] D. C. Drucker, W. Prager and H. J. Greenberg,
//     Extended limit design theorems for continuous media, Quarterly of Applied
//     Mathematics 9 (1952) 381-389 (from memory).
//   - [Müller 1982] H. W. Müller, Epicyclic Drive Trains: Analysis, Synthesis, and
//     Applications, 1982 (from memory).
package solve
