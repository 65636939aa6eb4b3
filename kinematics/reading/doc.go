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
//	word                                said when                             smallest state that shows it
//	drives forward                      pulling turns the output forward at   S, ring brake applied
//	                                    least so fast
//	drives backward                     pulling turns the output backward at  S + carrier brake, ring out, carrier brake
//	                                    least so fast                         applied
//	no drive                            pulling leaves the output to rest or  S, nothing applied
//	                                    to turn
//	no drive, output held               pulling turns the input, the output   S + carrier brake (at the output), applied
//	                                    cannot turn
//	input held                          the input cannot turn forward, the    S + sun brake (at the input), applied
//	                                    output can
//	ties up                             the input cannot turn forward, nor    S + sun brake, both applied
//	                                    the output with the input at rest
//	engine braking                      rolling on as driven must turn the    S, ring brake applied
//	                                    input forward
//	freewheels                          rolling on as driven lets the input   S + one-way clutch holding the ring
//	                                    rest                                  backward only
//	does not roll back                  driving, and the output cannot turn   S + one-way clutch holding the carrier
//	                                    the other way                         backward, ring brake applied
//	rolls freely                        not driving, rolls both ways, the     S, nothing applied
//	                                    input free to rest
//	rolls forward only                  not driving, cannot roll backward     S + one-way clutch holding the carrier
//	                                                                          backward
//	rolls backward only                 not driving, cannot roll forward      S + the same clutch fitted backwards
//	does not roll                       not driving, rolls neither way        S + carrier brake, applied
//	coasting turns the engine           not driving, but rolling must turn    S + the one-way clutch on the ring fitted
//	                                    the input                             backwards
//	coasting turns the engine backward  not driving, but rolling must turn    S + that clutch on the carrier, ring brake
//	                                    it backward ("coasting backward ..."  applied
//	                                    where rolling forward does not turn
//	                                    it, or at another ratio)
//	lurches forward against the pawl    the range would drive forward         S + pawl, both applied
//	                                    without the pawl
//	lurches backward against the pawl   the range would drive backward        the same with the carrier held and the
//	                                    without the pawl                      ring out
//	starts in                           a position's first range drives as a  S + clutch sun-carrier stuck, positions of
//	                                    later one                             two ranges
//	as                                  a range drives at another range's     the same
//	                                    ratio
//
// The next are said where an element is weak, drags or is stuck with a share of its
// rating. R is a range that applies the ring brake, which gives it a rating.
//
//	holds at light throttle             driving, and slips below the rated    S, ring brake applied, weak 0.6
//	                                    torque
//	flares above                        the torque at which it does           the same
//	holds up to                         driving, and slips at or above the    S, ring brake applied, weak 0.9
//	                                    rated torque
//	creeps forward                      not driving when healthy, pushed      S, nothing applied, R, ring brake dragging
//	                                    forward by a drag                     0.1
//	creeps backward                     the same, backward                    the same with the carrier held and the
//	                                                                          ring out
//	pushing with up to                  the torque at the output beyond       the same
//	                                    which it stands
//	drags                               driving, and turning costs torque     S + clutch sun-carrier dragging, ring
//	                                    without a load                        brake applied
//	holds the input                     not tied up, and the rated torque     S + clutch sun-carrier dragging 1, ring
//	                                    does not turn the input against what  brake applied
//	                                    drags
//	drawn to                            driving over a one-way clutch, a      S + one-way clutch holding the ring
//	                                    drag overruns it at the least         backward only, + clutch sun-carrier
//	                                    torques                               dragging 0.1
//	gives way                           tied up by its speeds, and turns      S + clutch sun-carrier stuck 0.5, ring
//	                                    from a torque on                      brake applied
package reading
