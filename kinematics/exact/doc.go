// Package exact has the numbers that answers are made of: fractions, and closed
// intervals of them that may be empty or reach to infinity.
//
// A [Frac] is two int64 for as long as they suffice and math/big from there on,
// so that no operation is ever rounded or out of range. All are values: methods
// return new ones and change nothing.
//
// In JSON a number is the nearest float64 (zero never with a minus), an infinite
// [Bound] is "inf" or "-inf", and an [Interval] is {"min": .., "max": ..}, both
// null when it is empty. As text, and in a field of type [Text], a fraction is
// written exactly: 27/11.
package exact
