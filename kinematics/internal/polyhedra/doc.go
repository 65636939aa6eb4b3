// Package polyhedra computes polyhedral cones, their elementary vectors and linear
// programs over integers. These are its lecture notes; each section names the type
// that does it.
//
// # Cones
//
// The motions q of a train that a state admits obey equations e q = 0, one per
// locked coupling, and inequalities h q >= 0, one per one-way clutch. Such a set
// contains with any two motions their sum, and with any motion all multiples >= 0:
// it is a polyhedral cone. By the theorem of Minkowski and Weyl [Schrijver 1986] a
// cone is just as well described by what it is made of:
//
//	{ q : e q = 0, h q >= 0 }  =  { sum of a_i line_i + sum of b_j ray_j : b_j >= 0 }
//
// Lines are motions that work both ways, rays those that work one way only. The
// rows answer "may this move?"; the generators answer "what can move, and between
// which bounds?". A question about two speeds, input x and output y, needs the
// generators' shadow on the plane (x, y) alone, and there a bound of y at x = 1 is
// the largest or smallest quotient y/x: one pass over the generators ([Cone.Slice]).
//
// # Double description
//
// [Cone] keeps the generators while rows are added one at a time, the double
// description method [Motzkin et al. 1953]. Let d be the value of the new row on
// each generator.
//
//   - If some line has d != 0, it is used up: a suitable multiple of it is added to
//     every other generator, so that these come to lie on the plane d = 0. An equation
//     leaves nothing of the line; an inequality leaves its half with d > 0, a ray.
//   - If all lines lie on the plane, it cuts the rays. Those with d > 0 stay (d = 0
//     only, for an equation). New rays lie where the plane meets the edges of the cone:
//     d_p m - d_m p for a ray p on the one side, a ray m on the other.
//
// Most pairs (p, m) do not span an edge, and what they give is not extreme. Two
// rays are adjacent exactly if no third one satisfies all the inequalities with
// equality that both of them do (the combinatorial test [Fukuda and Prodon 1996]);
// each ray carries the set of its equalities as bits, so that the test is a few
// logical operations. Equations are added before inequalities: they only make the
// space smaller, while inequalities can make rays many.
//
// # Elementary vectors
//
// Torques t at the couplings balance if they do no work on any motion, which is a
// linear system as well: t lies in the null space of a matrix. A vector of a
// subspace is elementary if no other one is 0 at more places; that is, its support
// (the unknowns that are not 0) contains no smaller support but 0's. Up to a factor
// an elementary vector is fixed by its support. Every vector of the subspace is a
// sum of elementary ones with supports inside its own and with its signs ("without
// cancellation") [Rockafellar 1969].
//
// From that everything follows that is asked of torques:
//
//   - By Farkas' lemma constraints contradict each other exactly if a combination of
//     them, with multipliers >= 0 on inequalities, says 0 > 0. The supports of the
//     elementary ones among these multipliers are the smallest contradicting sets
//     [Gleeson and Ryan 1990].
//   - A statically determinate way to carry a load is an equilibrium in which every
//     coupling that is loaded is needed: an elementary one. The ways are the corners
//     of all ways, so that bounds of a torque are taken on at one of them.
//   - Any motion is a sum without cancellation of elementary motions, so its cost in
//     |slip| is the sum of theirs: the optimum of a breakaway is an elementary motion.
//
// [Search] finds them by brute force on the small side: in a null space of d
// dimensions each unknown is a plane through the origin, and an elementary vector
// is a line in which d - 1 independent planes meet. Unknowns on one and the same
// plane are in series and count as one. Dual to that are unknowns whose columns are
// equal but for a factor, in parallel: each stands in for the other, and the caller
// expands them. There can be exponentially many lines, so that a [Budget] limits
// its work.
//
// # Linear programs over integers
//
// [Program] minimises a cost in |row q|: the least dissipation of a motion that is
// forced on a train. It uses the simplex method on a dictionary in which every entry
// is a whole number over one common denominator, the last pivot. Exchanging row r
// with column c gives
//
//	a_ij := (a_ij a_rc - a_ic a_rj) / denominator,   denominator := a_rc,
//
// where the division leaves no remainder: every entry is, up to sign, a minor of the
// matrix one began with, by an identity of Sylvester. This is fraction-free
// elimination [Bareiss 1968], known as integer pivoting in the simplex method
// [Edmonds 1967]. The entries therefore never grow beyond the minors (Hadamard's
// bound), and no greatest common divisors are taken. Bland's rule keeps degenerate
// programs from cycling [Bland 1977]. The last dictionary holds the dual solution,
// multipliers that prove the optimum without the search being trusted.
//
// # Bit bounds
//
// The work is done in int64. A coordinate is at most 2^b - 1 where b is the bit
// length of the bitwise or of all coordinates, which costs one instruction each
// to maintain. A row whose absolute coefficients sum to less than 2^r has values
// below 2^(r+b). A combination a x - b y has at most one bit more than the longer of
// its two products. Each method checks such a bound before it computes, for a whole
// vector at once. Where a bound would be exceeded it gives up, and the same
// computation is repeated with math/big ([BigCone]). In programs products are taken
// over 128 bits, so that only results have to fit.
//
// # Sources
//
//   - [Bareiss 1968] E. H. Bareiss, Sylvester's identity and multistep
//     integer-preserving Gaussian elimination, Mathematics of Computation 22 (1968)
//     565-578 (from memory).
//   - [Bland 1977] R. G. Bland, New finite pivoting rules for the simplex method,
//     Mathematics of Operations Research 2 (1977) 103-107 (from memory).
//   - [Edmonds 1967] J. Edmonds, Systems of distinct representatives and linear
//     algebra, Journal of Research of the National Bureau of Standards 71B (1967)
//     241-245 (from memory).
//   - [Fukuda and Prodon 1996] K. Fukuda and A. Prodon, Double description method
//     revisited, Combinatorics and Computer Science, LNCS 1120 (1996) 91-111 (from
//     memory).
//   - [Gleeson and Ryan 1990] J. Gleeson and J. Ryan, Identifying minimally infeasible
//     subsystems of inequalities, ORSA Journal on Computing 2 (1990) 61-63 (from memory).
//   - [Motzkin et al. 1953] T. S. Motzkin, H. Raiffa, G. L. Thompson and R. M. Thrall,
//     The double description method, Contributions to the Theory of Games II (1953)
//     51-73 (from memory).
//   - [Rockafellar 1969] R. T. Rockafellar, The elementary vectors of a subspace of
//     R^N, Combinatorial Mathematics and its Applications (1969) 104-127 (from memory).
//   - [Schrijver 1986] A. Schrijver, Theory of Linear and Integer Programming (1986)
//     (from memory).
//   - [Whitney 1935] H. Whitney, On the abstract properties of linear dependence,
//     American Journal of Mathematics 57 (1935) 509-533 (from memory).
package polyhedra
