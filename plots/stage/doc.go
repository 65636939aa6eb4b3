// Package stage draws a train for the page: a [Figure] once for each train, and a
// [Scene] for each state, which is numbers for the figure and words.
//
// # What is to be seen
//
// The three headline states of the Simpson train with its forward clutch stuck on say
// what a picture of the stage must tell someone who has not read the page:
//
//	    second 1                       second 3                      second 10
//	N   red band, arrow, "drives       the gears turn; forward is    low-roller holds
//	    forward at 2.48, as D1"        framed, "stuck on"            rear.carrier: neutral is first
//	R   red band, arrows that meet,    the gears stand; three lines  one output, asked for three
//	    "ties up"                      fan out on the lever          speeds; three framed elements
//	D1  quiet band, "drives forward    the same picture as N         "as when healthy: the fault
//	    at 2.48"                                                     does not show here"
//
// One colour is a body, what is joined for good; a clutch that holds merges none. Ways to
// move are ink, told apart by letter, dash and marker.
package stage
