// Package diagnosis goes from what a road test showed back to what can be wrong,
// and names the test that is worth making next. It looks nothing up: every
// hypothesis is a state of the train in every range, and package solve says what
// that state does. The way of reasoning is that of de Kleer and Williams [1].
//
// A [Finder] is made once for a train; [Finder.Diagnose] ranks the hypotheses for
// a [Case], [Answer.Plan] proposes tests, [Answer.Claim] tests a suspicion, and
// [Identify] finds elements by measured speeds.
//
// # Hypotheses
//
//	healthy         nothing is wrong in the train or with its command
//	single faults   every fault of [kinematics.Train.SingleFaults]; elements that
//	                are weak or drag with a share of their rating; elements that
//	                pressure applies and that it feeds in no range, or in every one
//	torn gear       a gear or carrier that two or more elements name directly turns free of
//	                them, and they hold its shell or hub alone
//	pressure        low: all friction elements hold a share of their rating; or none; too
//	                high, where a shift was harsh or a gauge showed it
//	wrong command   the lever one place off, either way; one range given in place
//	                of another of its position; a position that gives one only
//	some ranges     what is off in some of the ranges that apply it, on in some that
//	                do not, weak, dragging, slipping or jammed in some: the least set
//	                of ranges that the observations demand
//	trapped oil     a clutch that is held on while the engine is raced, where
//	                something was seen so
//	shift timing    of a shift that was seen to bind, flare, come late, harsh or with
//	                shudder
//	two faults      every two single faults of different couplings that need no
//	                torque, in all ranges, or the second in some, or both; three if
//	                asked
//
// Weak elements and low pressure are tried at every degree that does something else in a
// range of which something was seen: the share of the rating at which a range begins to
// slip, at light and at full throttle, follows from the torques. Dragging ones are tried
// at three other shares. What fits best counts.
//
// What acts in some ranges only is tried for every element, so that a claim that agrees
// with everything is in the list: as itself, or as the suspect of that element, gone wrong
// the same way, that the observations demand. So that not everything
// explains everything, a set of ranges that can follow one position, or where the file
// gives the controls one circuit, costs nothing, each further range of another set 0.3 of a
// contradiction; it is left out where the same fault in all ranges explains as much, and
// never stands above a fault in all ranges that does.
//
// Two faults are looked for only while no single one agrees with everything
// seen, and are kept only if they agree better than any single one. Likewise three.
//
// # How observations fit
//
// Every observation fits what a hypothesis predicts fully, partly or not. Places
// where nothing was seen count neither way. A plain word is of light throttle, or
// of whatever throttle it was; slips-full and holds-full are of full throttle.
// What is not named in these tables does not fit; tieup diagnose --table prints them:
//
//	a range that is meant to drive, and then
//	seen                   fits fully                                  fits partly
//	ok                     drives in its gear                          holds at light throttle only,
//	                                                                   slips at full throttle to a lower gear
//	forward                drives in its gear, in a lower gear,        slips until the engine runs up (by slip)
//	                       in a higher gear,
//	                       holds at light throttle only,
//	                       slips at full throttle to a lower gear
//	reverse                the other way
//	none                   no drive, no drive but rolls one way only,  ties up
//	                       output held, input held,
//	                       slips until the engine runs up
//	revs                   no drive, no drive but rolls one way only,
//	                       output held,
//	                       slips until the engine runs up
//	loaded                 input held, ties up
//	bind                   ties up                                     no drive but rolls one way only,
//	                                                                   output held, input held
//	slips                  in a lower gear, no drive,
//	                       no drive but rolls one way only,
//	                       output held, holds at light throttle only,
//	                       slips at full throttle to a lower gear,
//	                       slips until the engine runs up
//	slips-light            in a lower gear, no drive,
//	                       no drive but rolls one way only,
//	                       output held,
//	                       slips until the engine runs up
//	slips-full             holds at light throttle only,               in a lower gear, no drive,
//	                       slips at full throttle to a lower gear      no drive but rolls one way only,
//	                                                                   output held,
//	                                                                   slips until the engine runs up
//	holds-full             drives in its gear, in a lower gear,
//	                       in a higher gear, the other way
//	stall-holds            drives in its gear, in a lower gear,
//	                       in a higher gear, the other way,
//	                       input held, ties up,
//	                       slips at full throttle to a lower gear
//	stall-runs             no drive, no drive but rolls one way only,
//	                       output held, holds at light throttle only,
//	                       slips until the engine runs up
//	stall-low              drives in its gear, in a lower gear,
//	                       in a higher gear, the other way,
//	                       input held, ties up,
//	                       slips at full throttle to a lower gear
//	as lower gear          in a lower gear
//	its own ratio          drives in its gear, the other way,          slips until the engine runs up (by slip)
//	                       holds at light throttle only,
//	                       slips at full throttle to a lower gear
//	a ratio between it                                                 slips at full throttle to a lower gear (by slip),
//	and a lower gear                                                   slips until the engine runs up (by slip)
//	slips that ratio                                                   slips at full throttle to a lower gear (by slip),
//	                                                                   slips until the engine runs up (by slip)
//	engine that ratio      drives in its gear, in a higher gear,
//	                       the other way,
//	                       holds at light throttle only,
//	                       slips at full throttle to a lower gear
//
//	a range that is meant to rest, and then
//	seen             fits fully                                  fits partly
//	ok               no drive, output held
//	forward          drives forward                              creeps forward
//	reverse          drives backward                             creeps backward
//	none             no drive, output held                       creeps forward, creeps backward,
//	                                                             lurches forward, lurches backward,
//	                                                             ties up
//	bind             ties up                                     output held, lurches forward,
//	                                                             lurches backward
//	lurch            lurches forward, lurches backward           drives forward, drives backward
//	lurch-forward    lurches forward                             drives forward
//	lurch-backward   lurches backward                            drives backward
//	creeps           drives forward, drives backward,
//	                 creeps forward, creeps backward
//	creeps-forward   creeps forward                              drives forward
//	creeps-backward  creeps backward                             drives backward
//
//	coasting and pushing, when the vehicle
//	seen                 fits fully                                  fits partly
//	engine-braking       turns the input
//	no-engine-braking    lets it rest, rolls forward only
//	coasts own ratio     turns the input
//	locks                rolls backward only, does not roll
//	held                 does not roll                               rolls forward only,
//	                                                                 rolls backward only
//	rolls                turns the input, lets it rest               rolls forward only,
//	                                                                 rolls backward only
//	rolls-forward-only   rolls forward only
//	rolls-backward-only  rolls backward only
//
//	a shift that
//	seen      fits fully                                  fits partly
//	ok        binds if ill timed, flares if ill timed,    has too much pressure
//	          brings on what is weak,
//	          releases what drags, leaves the gear in,
//	          ends in another gear, does none of it
//	bind      binds anyway, is timed early                binds if ill timed
//	flare     flares anyway, is timed late                flares if ill timed
//	late      is timed late, brings on what is weak
//	harsh     binds anyway, is timed early,               binds if ill timed
//	          releases what drags, has too much pressure
//	shudder   brings on what is weak                      is timed late
//	no-shift  leaves the gear in                          ends in another gear
//
//	the vehicle pushed with the engine off that
//	seen                 fits fully                                  fits partly
//	rolls                rolls both ways                             rolls forward only,
//	                                                                 rolls backward only
//	held                 rolls neither way                           rolls forward only,
//	                                                                 rolls backward only
//	rolls-forward-only   rolls forward only
//	rolls-backward-only  rolls backward only
//
//	the fluid where
//	seen   fits fully                                  fits partly
//	ok     an element slips or drags, neither is so    pressure is low
//	low    pressure is low                             an element slips or drags,
//	                                                   neither is so
//	foamy  pressure is low                             an element slips or drags,
//	                                                   neither is so
//	burnt  pressure is low, an element slips or drags  neither is so
//	milky  pressure is low, an element slips or drags  neither is so
//
//	the line whose pressure
//	seen       fits fully                                  fits partly
//	ok         is right, falls by the seals of an element  is low
//	ok loaded  is right, falls by the seals of an element
//	low        falls by the seals of an element, is low    is none
//	none       is none
//	high       is high
//
//	the tap of an element that
//	seen  fits fully                                  fits partly
//	fed   is fed, is fed though it fails
//	low   is fed though it fails,                     is not fed
//	      is fed with low pressure
//	none  is not fed
//
//	air to an element that
//	seen  fits fully                                  fits partly
//	good  is good, is worn or drags                   never holds or is stuck on
//	bad   never holds or is stuck on,
//	      is worn or drags
//
//	an element in hand that
//	seen      fits fully                                  fits partly
//	good      is good
//	bad       does not let go, does not hold, is worn,
//	          drags, turns both ways, turns neither way,
//	          turns the wrong way, turns in its joint,
//	          does not engage
//	stuck     does not let go                             drags
//	open      does not hold                               is worn
//	weak      is worn                                     does not hold
//	dragging  drags                                       does not let go
//	slips     turns both ways
//	seized    turns neither way
//	reversed  turns the wrong way
//	sheared   turns in its joint
//	missing   does not engage
//
//	the train turned by hand on the bench that
//	seen         fits fully                                  fits partly
//	locks        locks
//	turns 0.41   turns the output by 0.41                    by 0.41 or further
//	turns 0.41+  by 0.41 or further                          turns the output by 0.41,
//	                                                         as it likes
//	turns -0.41  by 0.41 the other way
//	turns 0      not at all
//	turns free   as it likes                                 by 0.41 or further
//
// A range whose engine is loaded, or whose vehicle is held, can be felt as a bind
// though it is no tie-up, so that bind fits it partly; a range that leaves engine
// and vehicle free cannot, unless the vehicle rolls one way only. A gear that was
// judged by feel (as D1) fits the ratio of that range fully, and partly any ratio
// that is nearer to it than to that of any other range. A measured ratio fits
// fully within the tolerance and partly within twice as much. A ratio between gears fits
// by slip where an element slips: see [Slip].
//
// What was seen of a position that offers several ranges is of the first where it is seen
// at a standstill, of all if it is ok or holds, and else of whichever fits best. Conditions
// behind a word say when it was so. Cold, a leak may hold; hot, thick fluid no longer drags;
// on stands nothing loads a weak element; under load a range does what it does at full
// throttle; trapped oil acts in a raced engine only. A broken joint, a welded plate and a
// one-way clutch do not care. What was so in some tries only fits what does not come and
// go partly. Notes are kept, and weigh nothing; neither does a stall speed that is too low,
// which no part of the train can make.
//
// What the workshop finds counts like what the road shows: a test that says
// nothing about a suspect agrees with it. Turns that are counted by hand fit within
// twice the tolerance, partly within four times. With the output held, or turned
// backward, the train turns or locks.
//
// # Weights and ranks
//
// An observation that does not fit counts as one contradiction, one that fits
// partly as half, one that fits by slip as a fifth. With the error rate e, how often an observation is wrong, a
// contradiction makes a suspect less likely by the factor e. Two more things weigh,
// together less than one contradiction: every fault beside the first 0.6, and the
// way from the likeliest [Class] of causes to the least likely 0.1. So one fault
// comes before two, unless it is contradicted or fits two things only partly, and
// among equals the likelier class comes first. The order of the classes is a
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
// effort are proposed, where making any test at all is an effort, too. Some suspects
// predict nothing of some tests: air says nothing of worn plates. Those make every
// outcome as likely.
//
// Tests are of the kinds of [TestKind]; efforts are small numbers that a road-test
// sheet can change, 0 ruling a kind out. Where only tests in the workshop can tell
// suspects apart, only such tests are proposed.
//
// # Set-ups
//
// A test is an act and a [SetUp], and is judged before it is proposed. What can
// happen in a range is judged under every suspect that nothing contradicts or that
// weighs more than 1 % of all suspects, 0.1 % where wheels can lock at speed or a bind
// let go; what was seen counts in any case. A test is proposed in a set-up that
// carries all of it; where none does, it is refused with the reason. A range is not
// driven at speed before something seen in it tells that it does not bind, nor are
// those that are driven through to reach it. Common practice, no source:
//
//	set-up      carries
//	engine off  moves, moves the wrong way, locks at speed, rolls away, load falls, a bind lets go,
//	            a part jumps, hot fluid, air, a piston jumps
//	brakes on   moves, moves the wrong way, locks at speed, rolls away, hot fluid
//	on stands   moves, moves the wrong way, locks at speed, rolls away, load falls, hot fluid
//	creep       locks at speed, rolls away
//	road
//
// With the engine off and pressure gone nothing is fed: only what is stuck by itself,
// one-way clutches, joints and the pawl act. That tells an element that is welded from
// one that is fed where it should not be.
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
//
// # Controls
//
// Where the train file gives the controls, every single fault of them that changes what
// is fed is a hypothesis, in each thing that it can come to, before a fail-safe and after
// it, and so is every one beside a fault of a coupling that needs no torque. Their class
// is that of control, so that they stand before hard parts that explain as much. Without
// controls in the file ranges that read as other ranges are one hypothesis, if the map is
// that of something stuck (idempotent) or crossed (an involution); it is no mechanism and
// weighs as much as one and a half faults more.
//
// Of trouble codes only those of wires and coils count, for the solenoid that the file ties
// to them; all others are the control's own inference from what the road shows as well.
package diagnosis
