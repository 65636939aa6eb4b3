// Package fit finds the trains that have an application chart and its ratios.
//
// # Layouts
//
// A layout is what is joined to what in a train, its basic ratios left open: ring/sun of a
// simple set, two of a Ravigneaux set, teeth per tooth of the step on stepped pinions. A match
// compares the marks of a chart with what each range of a layout asks, columns by
// depth-first search, all ways with the fewest cells that differ, rows in the order of their
// ratios. A one-way clutch compares with whether it holds.
//
// # Ratios
//
// In a state input / output = num / den, two determinants. Each basic ratio stands in one
// row of the system
//
//	x (wOver - wC) + s (wUnder - wC) = 0    s = +1 where they turn oppositely, else -1
//
// so that both are affine in each x. A figure printed as a stands for an interval: half a
// unit of its last place both ways, or a whole unit upward where places were cut off. At a
// point it is met where num - low den and num - high den have opposite signs; over a box of
// x both take their extremes at its corners. A box is dropped where they have the same sign
// in all of it, and cut where one unknown alone rules an end out; sums of bounds with the
// weights of a linear program tighten boxes near a solution. Only the bound on rounding
// errors decides, never a tolerance: no solution is outside the boxes that are left.
//
// [Fitted.Rank] is the rank of the slopes of all ratios. Where it is less than the number of
// unknowns the figures leave a family, and [Settling] says which ratio would settle it.
//
// # Levers
//
// Marks and ratios show a train at its input, its output and the slips of its elements: the
// lever [Benford and Leising 1981]. [Classes] groups the fits that are the same lever there.
//
// # Sources
//
//   - [Benford and Leising 1981] H. L. Benford and M. B. Leising, The Lever Analogy: A New Tool
//     in Transmission Analysis, SAE 810102, 1981 (title and abstract known).
//   - [Marquardt 1963] D. W. Marquardt, An algorithm for least-squares estimation of nonlinear
//     parameters, Journal of SIAM 11 (1963) 431-441 (from memory).
//   - [Bareiss 1968] E. H. Bareiss, Sylvester's identity and multistep integer-preserving
//     Gaussian elimination, Mathematics of Computation 22 (1968) 565-578 (from memory).
package fit
