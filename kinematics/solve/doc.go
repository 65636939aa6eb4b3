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
package solve
