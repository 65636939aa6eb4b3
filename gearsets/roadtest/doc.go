// Package roadtest reads and writes the road-test sheet: what was seen of a
// vehicle, for package diagnosis.
//
// [Parse] reads a sheet, [Format] writes one. It is YAML of the same kind as a
// train file:
//
//	sheet: 1
//	train: depot-shuttle-three-speed
//	complaint: binds in reverse
//	circumstances: [sudden, clean]
//	seen:
//	  R: bind
//	  N: [forward, as D1]
//	  D1: not tested
//	shifts:
//	  D1-D2: ok
//	assume:
//	  tolerance: 3%
//
// Those with a star must be there.
//
//	sheet *        version of the format: 1
//	train *        name of a train of the library, or the path of a train file, from
//	               the folder of the sheet
//	vehicle        free text
//	complaint      free text
//	circumstances  list of sudden or gradual, clean or burnt, cold or hot, rebuilt
//	seen           what was seen by range: a word or a list of words. The words are
//	               those of package diagnosis; not tested is the default
//	shifts         what was seen by shift, D1-D2: ok, bind, flare
//	assume         error-rate and tolerance, as parts (5% or 0.05); weak, dragging,
//	               light-throttle and full-throttle, as shares; classes, a list of
//	               classes of causes, likeliest first; effort, whole numbers by kind
//	               of test, 0 for one that is not to be proposed
package roadtest
