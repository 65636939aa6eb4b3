// Package reading turns what package solve decides into the words of the trade.
package reading
