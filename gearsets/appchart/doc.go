// Package appchart reads application charts with ratios, as spreadsheets write them: CSV
// with commas, semicolons or tabs between the cells, a decimal comma or point, in UTF-8,
// UTF-16 or Windows-1252, with a mark of the byte order, blank rows, titles and footnotes.
//
//	range; A; B; C; D;  E; OWC; ratio
//	kind;  ;  ;  ;  ;   ;  one-way
//	1;     x;  ;  ;  ;   ;  x;   2,45
//	2;     x;  ; x;  ;   ;   ;   1,45
//	R;      ; x;  ; x;   ;   ;   2,20
//
// One row names the columns: the ranges, the elements under the user's own letters, and
// "ratio", also Übersetzung, rapport, i and the like. Titles above it and footnotes are passed
// over, which the chart keeps, and a second row below it may hold the letters where it
// groups them. Columns of steps and remarks are passed over, too; one of positions may stand
// before that of the gears. A table with the ranges in its first row is turned about. Each
// other row is a range, or begins with one of these words, which may stand above as well:
//
//	kind         under each element what it is: clutch, brake, one-way, or outside for what is no
//	             part of the train, such as the clutch that locks a converter
//	layout       the name of a train in the library that it is
//	final drive  a factor: what fits says whether the ratios contain it; ? if they contain one
//	             that is not known
//	teeth        a member and its tooth count: teeth; front.sun; 37
//	speed        a range, a member and its speed per turn of the input: speed; 2; front.sun; 0,31
//	ratio as     in/out, or out/in where ratios are output speed / input speed
//	rounding     rounded, or truncated where places were cut off
//	name         the name of the train that is made
//	#            a remark
//
// A cell is on (x, 1, on, yes, applied, holding, a dot or ring), off (empty, -, 0, off, no, n/a)
// or unknown (?, a triangle, or a mark in brackets: applied without load); signs of footnotes
// count nothing. A ratio keeps the places that are printed: 2.84, 2,84:1, 1:2.84, i = 2.84, 284%.
// That of a range whose name begins with R may be without its sign, or be (2.84) or R 2.84. A
// column that is named lock-up, TCC or the like is outside, one named sprag, roller, freewheel,
// Freilauf or the like is a one-way clutch.
package appchart
