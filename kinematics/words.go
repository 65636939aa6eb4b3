package kinematics

import (
	"fmt"
	"slices"
	"strings"
)

// And lists words: "a", "a and b", "a, b and c".
func And(words []string) string { return listed(words, " and ") }

// Or lists words: "a", "a or b", "a, b or c".
func Or(words []string) string { return listed(words, " or ") }

// listed joins words with commas, and the last one with last.
func listed(words []string, last string) string {
	n := len(words)
	if n < 2 {
		return strings.Join(words, "")
	}
	return strings.Join(words[:n-1], ", ") + last + words[n-1]
}

// Plural returns the word that goes with n: one for 1, else more.
func Plural(n int, one, more string) string {
	if n == 1 {
		return one
	}
	return more
}

// Count returns n things: "1 ratio", "2 ratios".
func Count(n int, thing string) string { return fmt.Sprintf("%d %s", n, Plural(n, thing, thing+"s")) }

// Union is a list with more behind it, as far as that is not in it yet.
func Union[T comparable](list []T, more ...T) []T {
	for _, x := range more {
		if !slices.Contains(list, x) {
			list = append(list, x)
		}
	}
	return list
}

// Without is what of a list is not in another.
func Without[T comparable](list, other []T) []T {
	return slices.DeleteFunc(slices.Clone(list), func(x T) bool { return slices.Contains(other, x) })
}

// GroupBy puts together what of a list has the same key, in the order in which the keys come.
func GroupBy[T any, K comparable](list []T, key func(T) K) [][]T {
	var groups [][]T
	at := map[K]int{}
	for _, x := range list {
		k := key(x)
		i, known := at[k]
		if !known {
			i = len(groups)
			at[k], groups = i, append(groups, nil)
		}
		groups[i] = append(groups[i], x)
	}
	return groups
}

// Sort puts a list into an order, equals as they stand. It sorts places, so that a program
// holds one sort for lists of all types.
func Sort[T any](list []T, compare func(a, b T) int) {
	order := make([]int, len(list))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(i, j int) int { return compare(list[i], list[j]) })
	sorted := make([]T, len(list))
	for k, i := range order {
		sorted[k] = list[i]
	}
	copy(list, sorted)
}

// Map is what of makes of each of a list, in its order; nil of an empty one.
func Map[T, U any](list []T, of func(T) U) []U {
	var made []U
	for _, x := range list {
		made = append(made, of(x))
	}
	return made
}
