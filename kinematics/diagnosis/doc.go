// Package diagnosis goes from what a road test showed back to what can be wrong,
// and names the test that is worth making next. It looks nothing up: every
// hypothesis is a state of the train in every range, and package solve says what
// that state does. The way of reasoning is that of de Kleer and Williams [1].
//
// A [Finder] is made once for a train; [Finder.Diagnose] ranks the hypotheses for
// a [Case], [Answer.Next] proposes tests, [Answer.Claim] tests a suspicion, and
// [Identify] finds elements by measured speeds.
//
// # Hypotheses
//
//	healthy         nothing is wrong in the train or with its command
//	single faults   every fault of [kinematics.Train.SingleFaults]; elements that
//	                are weak or drag with a stated share of their rating; elements
//	                that are off in one range that applies them, or on in one that
//	                does not; low pressure, which makes all friction elements weak
//	wrong command   the lever one place off, either way; one range given in place
//	                of another of its position; a position that gives one only
//	shift timing    of a shift that was seen to bind or flare, and that does so
//	                when it is badly timed
//	two faults      every two single faults of different couplings that need no
//	                torque, in all ranges; three if asked
//
// Two faults are looked for only while no single one agrees with everything
// seen, and are kept only if they agree better than any single one. Likewise three.
//
// # How observations fit
//
// Every observation fits what a hypothesis predicts fully, partly or not. Places
// where nothing was seen count neither way. A plain word is of light throttle, or
// of whatever throttle it was; slips-full and holds-full are of full throttle.
// These are the tables; tieup diagnose --table prints them:
//
//	a range that is meant to drive, and then
//	seen           drives in its gear  in a lower gear  in a higher gear  the other way  no drive  output held  input held  ties up  holds at light throttle only
//	ok             fully               not              not               not            not       not          not         not      partly
//	forward        fully               fully            fully             not            not       not          not         not      fully
//	reverse        not                 not              not               fully          not       not          not         not      not
//	none           not                 not              not               not            fully     fully        fully       partly   not
//	revs           not                 not              not               not            fully     fully        not         not      not
//	loaded         not                 not              not               not            not       not          fully       fully    not
//	bind           not                 not              not               not            not       partly       partly      fully    not
//	slips          not                 fully            not               not            fully     fully        not         not      fully
//	slips-light    not                 fully            not               not            fully     fully        not         not      not
//	slips-full     not                 partly           not               not            partly    partly       not         not      fully
//	holds-full     fully               fully            fully             fully          not       not          not         not      not
//	as lower gear  not                 fully            not               not            not       not          not         not      not
//	its own ratio  fully               not              not               fully          not       not          not         not      fully
//
//	a range that is meant to rest, and then
//	seen             no drive  output held  drives forward  creeps forward  lurches forward  ties up
//	ok               fully     not          not             not             not              not
//	forward          not       not          fully           partly          not              not
//	reverse          not       not          not             not             not              not
//	none             fully     fully        not             partly          partly           partly
//	bind             not       partly       not             not             partly           fully
//	lurch            not       not          partly          not             fully            not
//	lurch-forward    not       not          partly          not             fully            not
//	lurch-backward   not       not          not             not             not              not
//	creeps           not       not          partly          fully           not              not
//	creeps-forward   not       not          partly          fully           not              not
//	creeps-backward  not       not          not             not             not              not
//
//	coasting and pushing, when the vehicle
//	seen                 turns the input  lets it rest  rolls forward only  rolls backward only  does not roll
//	engine-braking       fully            not           not                 not                  not
//	no-engine-braking    not              fully         fully               not                  not
//	coasts own ratio     fully            not           not                 not                  not
//	locks                not              not           not                 fully                fully
//	held                 not              not           partly              partly               fully
//	rolls                fully            fully         partly              partly               not
//	rolls-forward-only   not              not           fully               not                  not
//	rolls-backward-only  not              not           not                 fully                not
//
//	a shift that
//	seen   binds anyway  binds if ill timed  flares anyway  flares if ill timed  does neither
//	ok     not           fully               not            fully                fully
//	bind   fully         partly              not            not                  not
//	flare  not           not                 fully          partly               not
//
// A range whose engine is loaded, or whose vehicle is held, can be felt as a bind
// though it is no tie-up, so that bind fits it partly; a range that leaves engine
// and vehicle free cannot, unless the vehicle rolls one way only. A gear that was
// judged by feel (as D1) fits the ratio of that range fully, and partly any ratio
// that is nearer to it than to that of any other range. A measured ratio fits
// fully within the tolerance and partly within twice as much.
//
// # Weights and ranks
//
// An observation that does not fit counts as one contradiction, one that fits
// partly as half. With the error rate e, how often an observation is wrong, a
// contradiction makes a suspect less likely by the factor e. Two more things weigh,
// so little that together they stay below half a contradiction: every fault
// beside the first 0.4, and the way from the likeliest [Class] of causes to the
// least likely 0.1. So what agrees with everything seen comes first, one fault
// before two, and among equals the likelier class. The order of the classes is a
// judgement, no data: no source with usable counts was found. Circumstances put
// some faults before all classes: see [Circumstance].
//
// Suspects that every observation fits alike are one [Group]: nothing seen so far
// can tell them apart. The rank of a group is 1 and the number of groups whose
// best suspect weighs more.
//
// # The next test
//
// A test is worth the information that its outcome is expected to give about the
// suspects: their mutual information, where an outcome is wrong at the error rate
// and then anything else with equal chance. Those with the most information per
// effort are proposed. Some suspects predict nothing of some tests: an element
// that never holds may be fed or not. Those make every outcome as likely.
//
// Tests are of the kinds of [TestKind]; efforts are small numbers that a road-test
// sheet can change, 0 ruling a kind out. Where only an element's own test can tell
// suspects apart, only such tests are proposed.
//
// # What it does not do
//
// Circumstances and causes are words for people: no mechanics stands behind them.
// A fault that comes and goes, slipping by wear over a test, a converter, an
// engine or a control that fails are no hypotheses.
//
// # Sources
//
//  1. J. de Kleer and B. C. Williams, Diagnosing multiple faults, Artificial
//     Intelligence 32 (1987) 97-130 (from memory).
//  2. Words, classes and causes: common practice in workshops, no source.
package diagnosis
