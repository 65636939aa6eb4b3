// Package reading turns what package solve decides into the words of the trade,
// and gives the reasons.
//
// [Reader] reads ranges and whole charts, [Explain] finds why. Words never
// come from a table of symptoms: each stands for one fact of the outcome.
//
// # Words
//
// The trains of the table: S is a simple set, sun in, carrier out, with a brake
// on the ring; "+ X" adds to it. Pulling is turning the input forward.
//
//	word                               said when                                             smallest state that shows it
//	drives forward                     pulling turns the output forward at least so fast     S, ring brake applied
//	drives backward                    pulling turns the output backward at least so fast    S + carrier brake, ring out, carrier brake applied
//	no drive                           pulling leaves the output to rest or to turn          S, nothing applied
//	no drive, output held              pulling turns the input, the output cannot turn       S + carrier brake (at the output), applied
//	input held                         the input cannot turn forward, the output can         S + sun brake (at the input), applied
//	ties up                            the input cannot turn forward, nor the output with    S + sun brake, both applied
//	                                   the input at rest
//	engine braking                     rolling on as driven must turn the input forward      S, ring brake applied
//	freewheels                         rolling on as driven lets the input rest              S + one-way clutch holding the ring backward only
//	does not roll back                 driving, and the output cannot turn the other way     S + one-way clutch holding the carrier backward, ring brake applied
//	rolls freely                       not driving, rolls both ways, the input free to rest   S, nothing applied
//	rolls forward only                 not driving, cannot roll backward                     S + one-way clutch holding the carrier backward
//	rolls backward only                not driving, cannot roll forward                      S + the same clutch fitted backwards
//	does not roll                      not driving, rolls neither way                        S + carrier brake, applied
//	coasting turns the engine          not driving, but rolling must turn the input          S + the one-way clutch on the ring fitted backwards
//	coasting turns the engine backward not driving, but rolling must turn it backward        S + that clutch on the carrier, ring brake applied
//	                                   ("coasting backward ..." where rolling forward does
//	                                   not turn it, or at another ratio)
//	lurches forward against the pawl   the range would drive forward without the pawl        S + pawl, both applied
//	lurches backward against the pawl  the range would drive backward without the pawl       the same with the carrier held and the ring out
//	starts in                          a position's first range drives as a later one        S + clutch sun-carrier stuck, positions of two ranges
//	as                                 a range drives at another range's ratio               the same
//
// The next are said where an element is weak, drags or is stuck with a share of its
// rating. R is a range that applies the ring brake, which gives it a rating.
//
//	holds at light throttle            driving, and slips below the rated torque             S, ring brake applied, weak 0.6
//	flares above                       the torque at which it does                           the same
//	holds up to                        driving, and slips at or above the rated torque       S, ring brake applied, weak 0.9
//	creeps forward                     not driving when healthy, pushed forward by a drag    S, nothing applied, R, ring brake dragging 0.1
//	creeps backward                    the same, backward                                    the same with the carrier held and the ring out
//	pushing with up to                 the torque at the output beyond which it stands       the same
//	drags                              driving, and turning costs torque without a load      S + clutch sun-carrier dragging, ring brake applied
//	holds the input                    not tied up, and the rated torque does not turn the  S + clutch sun-carrier dragging 1, ring brake applied
//	                                   input against what drags
//	drawn to                           driving over a one-way clutch, a drag overruns it     S + one-way clutch holding the ring backward only, + clutch
//	                                   at the least torques                                  sun-carrier dragging 0.1
//	gives way                          tied up by its speeds, and turns from a torque on     S + clutch sun-carrier stuck 0.5, ring brake applied
package reading
