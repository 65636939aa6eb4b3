// Package bench plans the turns by hand that prove an assembly: with air to some
// elements and the output free, held or pawled, the input is turned, and what it and
// the output do tells a sound assembly from one with a fault.
//
// A turn shows a fault where what is seen with it can never be seen of a sound
// assembly: the input locks where it should turn or turns where it should lock, or the
// output makes another number of turns than it should. That is decided exactly, and
// strictly: an output that is free may by chance, or by the drag of new seals, make the
// right number of turns, so that a fault that frees the output is not taken as shown by
// a count; and a turn in which a sound output is free counts as no test.
//
// The fewest turns that show all that turning can show are a weighted set cover:
// greedily first [Chvatal 1979], then exactly by branch and bound, whose lower bound is
// a set of faults of which no two are shown by the same turn. A search that is cut says
// how many turns are proved to be needed at least. [Plan.Tree] tells the suspects of a
// failed turn apart by further ones, each with the most information for its effort
// [Pattipati and Alexandridis 1990].
//
// # Sources
//
//   - [Chvatal 1979] V. Chvatal, A Greedy Heuristic for the Set-Covering Problem,
//     Mathematics of Operations Research 4 (1979) 233-235 (from memory).
//   - [Pattipati and Alexandridis 1990] K. R. Pattipati and M. G. Alexandridis,
//     Application of Heuristic Search and Information Theory to Sequential Fault
//     Diagnosis, IEEE Transactions on Systems, Man, and Cybernetics 20 (1990) 872-887
//     (from memory).
package bench
