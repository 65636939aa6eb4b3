// Package controls is what feeds a gear train: solenoids, valves, circuits and the
// lever. It answers which elements get pressure in a commanded range, healthy or with
// faults of the controls. What the train then does, the engine says: a control fault
// changes the set of elements, never a symptom.
//
// [Compile] gives a [Spec], the block of a train file, a meaning for its train;
// [Network.Evaluate] answers one set of faults in every command and in detail,
// [Network.Survey] many sets at once, [Network.Chain] says by which steps a fault
// reaches an element.
//
// # Words
//
//	word       meaning
//	solenoid   on or off, as charts print it; whether off passes pressure is in the
//	           expressions
//	circuit    a passage with a pressure: none, low or full. Taps and leaks are on it
//	line       the circuit that is always there
//	valve      up or down: up against its spring
//	ball       a check ball: it lets either of its circuits through
//	feed       which circuits apply an element, and which release it
//	command    which solenoids the control switches on in a range
//	fail-safe  what it commands instead when it knows of a failure
//	node       one pattern of one command: lever, range, solenoids that are on
//
// # Expressions
//
//	or    = and {"or" and}
//	and   = not {"and" not}
//	not   = "not" not | "(" or ")" | "lever" "(" position {position} ")" | "unknown" | name
//
// A name is that of a solenoid (on), a valve (up), a circuit or a ball (its pressure),
// or line. "and" is the least of its pressures, "or" the greatest, "not" turns none and
// full round. What a source does not tell is unknown, which is not "no".
//
// # Pressure
//
// All pressures are parts of the line's. A circuit that leaks is low, and so is what it
// feeds; what is above it keeps its pressure (no orifice is modelled). A pressure as
// high as the line's moves a valve; of a lower one it is not known whether it does. A
// line that is low moves all valves as before and leaves every element its share
// (judgement: valves need less than clutches). Without line pressure nothing is fed and
// every valve is at its spring.
//
//	valve up        where up has pressure and down has none
//	spring broken   up alone: up; down alone: down; neither: it stays as it is, which
//	                after a restart nobody knows; both: unknown
//	element fed     by any of its apply areas, whose shares of the capacity add up, less what releases it
//	ball missing    its circuits are one
//	lever between   of the ways that only one of the two positions opens, nobody knows
//
// # Three values, and exactly
//
// Every evaluation begins with Kleene's three values (here sets of pressures) from
// valves of which nothing is known, and lets them settle: algorithm B of
// [Eichelberger 1965]. What comes out known holds after every history. Where an element
// stays unknown, what latches remember is followed through every sequence of commands,
// algorithms A and B from each of their positions; and where that does not decide it, the
// valves are searched exactly: any subset of those that are unstable moves, the general
// multiple winner model of [Brzozowski and Seger 1995]. The ends of all moves are the
// components of that graph without a way out: a position, or a cycle, in which the
// valves hunt. A cycle that is left sooner or later, however late, is no end.
//
// A history begins at a restart, all valves at their springs and the lever in P or N,
// and goes on with any lever and any range of it, each held until the valves have
// settled. What has one value that nobody knows (an unknown that valves read, a low
// signal at a valve) is tried both ways, at most 2^8.
//
// # What is proved
//
// [Network.Prove] shows that in every node, after every history, the feeds give what
// the range applies. That does not see an interlock that acts under faults only:
// [Network.Unexercised] lists the leaves of expressions that could be stuck at none or
// full without the proof or any [Expect] coming out otherwise.
//
// # What it does not do
//
// No flow, no orifices, no springs in newtons: the pressures have three levels, and the
// times to fill and exhaust are those of the file. Regulators are on or off.
//
// # Sources
//
//   - [Kleene 1952] S. C. Kleene, Introduction to Metamathematics, section 64 (from memory).
//   - [Eichelberger 1965] E. B. Eichelberger, Hazard detection in combinational and
//     sequential switching circuits, IBM Journal of Research and Development 9 (1965)
//     90-99 (from memory).
//   - [Brzozowski and Seger 1995] J. A. Brzozowski and C.-J. H. Seger, Asynchronous
//     Circuits, Springer, 1995 (from memory).
//   - [Seshu 1965] S. Seshu, On an improved diagnosis program, IEEE Transactions on
//     Electronic Computers EC-14 (1965) 76-79: many faulty machines in one word (from memory).
//   - [Tarjan 1972] R. Tarjan, Depth-first search and linear graph algorithms, SIAM
//     Journal on Computing 1 (1972) 146-160 (from memory).
//   - [SAE J915] Automatic transmissions: manual control sequence (title read).
package controls
