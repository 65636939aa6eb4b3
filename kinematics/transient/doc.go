// Package transient plays a shift in time: from one range into another, healthy
// or not, with the vehicle as an inertia at the output. It says how long a bind
// lasts and how deep the output torque falls, how far the input flares, how much
// heat each coupling takes, and when one-way clutches let go and take hold.
//
// Most callers fill in a [Shift], call [Shift.Play] and read the [Answer];
// [Shift.Sweep] plays one timing after the other, from flare to bind.
//
// # Model
//
// The train is rigid but for its couplings; shafts and mounts do not twist and
// there is no backlash, so torques change faster here than in a vehicle.
//
//	quantity                       symbol  unit     in code
//	time after the command         t       s        Time
//	speed of a member              w       rad/s    Member
//	slip of a coupling, wA - wB    s       rad/s    Track.Slip
//	torque on its member A         T       N m      Track.TorqueMin, TorqueMax
//	heat in a coupling             Q       J        Track.Heat
//	inertia                        I       kg m²    Shift.Inertia
//	step                           h       s        Shift.Step
//
// Every coupling obeys one law, an interval of torque that may change with time
// and the rule that it does as much as it can against slip:
//
//	friction   -C <= T <= C    T = -C sign(s) while it slips     [Coulomb]
//	one-way     0 <= T         T = 0 while it overruns, s > 0
//	rigid      any T           s = 0
//
// Stuck elements without a share of their rating are welded: rigid. So are
// splines, seized one-way clutches, dogs and the pawl. The vehicle's rolling
// resistance and brakes and the drag of a closed-throttle engine are friction
// too, so that things come to rest and stay there.
//
// # Time steps
//
// With the free motions q of [solve.System.Basis] and their mass matrix M, a step
// of length h finds the speeds at its end [Moreau 1988; Jean 1999]:
//
//	q⁺ = argmin  ½ |q - q_free|²_M + h Σ C_e |g_e q|    g_o q >= 0 for one-way clutches
//
// where q_free is where the step would end without couplings, and C_e are the
// capacities at the middle of the step. That is a convex problem, tiny, with one
// answer; its dual, in the impulses of the couplings, is what is solved (box).
// Nothing is looked for in time and nothing made smooth: what sticks, sticks
// exactly, and what begins or ends to slip does so within a step.
//
// An impulse does the work of the mean of the slips before and after it [Thomson
// and Tait], so the energy of a step balances to rounding, whatever its length:
// [Energy.Error]. What the length of the steps does to the course is seen by
// halving them: [StepError]. What rounding does to their solution is bounded:
// [Accuracy].
//
// # When nothing is given
//
// A shift from one friction element to another changes over in one of two ways.
// By torque, as when pulling into a higher gear: what is applied slips the way in
// which it will hold, takes the load over, and what lets go must do so as its load
// comes to nothing. By speed, as when pulling into a lower gear: what lets go must
// do so first, the input runs to its new speed, and there the other takes hold.
// Without a ramp of its own the one that has to wait does so perfectly: from when
// the first ramp starts, it holds only the way in which the healthy range loads it,
// as a one-way clutch would. The timed run, to which others are compared, has this
// even where ramps are given. A fault does not alter what is commanded: what lets
// go in time is off for good when what is applied would be on, and what takes hold
// in time is on for good when it would have caught.
//
// Where of two elements that take hold one takes over by torque and the other by
// speed, the first has its ramp, the second waits, and what lets go does so by its
// ramp or as its load comes to nothing.
//
// Neither is needed where a one-way clutch takes the load over: what is applied has
// no slip, then. From a range that drives forward into one that drives backward,
// what lets go does so as the other begins to take hold. Other ramps are
// [AssumedApply] and [AssumedRelease].
//
// # What a run came to
//
// Whether a shift succeeded is read from its end: from the speeds, from what slips,
// and, where both ends rest, from what the new range does with the faults: [End].
//
// Inertias and vehicle that the train file does not give are those of [Inertias]
// and a vehicle, which are invented. Of a train that is built into no vehicle its file says
// what the output moves, or no shift is played.
//
// # Sources
//
//   - [Moreau 1988] J. J. Moreau, Unilateral contact and dry friction in finite
//     freedom dynamics, CISM 302, 1988 (from memory).
//   - [Jean 1999] M. Jean, The non-smooth contact dynamics method, Computer Methods
//     in Applied Mechanics and Engineering 177 (1999) (from memory).
//   - [Stark and Parker 1995] P. B. Stark and R. L. Parker, Bounded-variable least
//     squares: an algorithm and applications, Computational Statistics 10 (1995)
//     (from memory).
//   - [Thomson and Tait] W. Thomson and P. G. Tait, Treatise on Natural Philosophy,
//     1867, on the work of an impulse (from memory).
package transient
