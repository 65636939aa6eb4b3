// Package appchart reads application charts with ratios, as spreadsheets write them: CSV
// with commas, semicolons or tabs between the cells, a decimal comma or point, a mark of
// the byte order, blank rows.
//
//	range; A; B; C; D;  E; OWC; ratio
//	kind;  ;  ;  ;  ;   ;  one-way
//	1;     x;  ;  ;  ;   ;  x;   2,45
//	2;     x;  ; x;  ;   ;   ;   1,45
//	R;      ; x;  ; x;   ;   ;   2,20
//
// The first row names the columns: the ranges, then the elements under the user's own
// letters, then "ratio". Each other row is a range, or begins with one of these words:
//
//	kind         under each element what it is: clutch, brake, one-way, or outside for
//	             what is no part of the train, such as the clutch that locks a converter
//	layout       the name of a train in the library that it is
//	final drive  the factor that all ratios contain; ? if they contain one that is not known
//	teeth        a member and its tooth count: teeth; front.sun; 37
//	speed        a range, a member and its speed per turn of the input: speed; 2; front.sun; 0,31
//	ratio as     in/out, or out/in where ratios are output speed / input speed
//	rounding     rounded, or truncated where places were cut off
//	name         the name of the train that is made
//	#            a remark
//
// A cell is on (x, 1, on, yes, a dot or ring), off (empty, -, 0, off, no) or unknown (?, or
// a mark in brackets: applied without load). A ratio keeps the places that are printed.
// That of a range whose name begins with R may be without its sign.
package appchart
