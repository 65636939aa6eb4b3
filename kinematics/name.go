package kinematics

import "strings"

// ValidName says whether s may name a train, gearset, member, element, range
// or position: letters, digits, '-' and '_', beginning with a letter or digit.
// Dots, commas, colons, '@' and '=' have a meaning on the command line.
func ValidName(s string) bool {
	for i, r := range s {
		switch {
		case r >= 'a' && r <= 'z', r >= 'A' && r <= 'Z', r >= '0' && r <= '9':
		case (r == '-' || r == '_') && i > 0:
		default:
			return false
		}
	}
	return s != "" && len(s) <= 64
}

// Nearest returns the name that the misspelt one most likely means, or "" if
// none is near: at most a third of its letters may be wrong, swapped or missing.
func Nearest(misspelt string, names []string) string {
	best, bestDistance := "", max(1, len(misspelt)/3)+1
	low := strings.ToLower(misspelt)
	for _, n := range names {
		if d := distance(low, strings.ToLower(n)); d < bestDistance {
			best, bestDistance = n, d
		}
	}
	return best
}

// distance is the number of letters to insert, delete, replace or swap with a
// neighbour to turn a into b (optimal string alignment).
func distance(a, b string) int {
	if len(a) > 64 || len(b) > 64 {
		return len(a) + len(b)
	}
	before, prev, cur := make([]int, len(b)+1), make([]int, len(b)+1), make([]int, len(b)+1)
	for j := range prev {
		prev[j] = j
	}
	for i := 1; i <= len(a); i++ {
		cur[0] = i
		for j := 1; j <= len(b); j++ {
			cost := 1
			if a[i-1] == b[j-1] {
				cost = 0
			}
			cur[j] = min(prev[j]+1, cur[j-1]+1, prev[j-1]+cost)
			if i > 1 && j > 1 && a[i-1] == b[j-2] && a[i-2] == b[j-1] {
				cur[j] = min(cur[j], before[j-2]+1)
			}
		}
		before, prev, cur = prev, cur, before
	}
	return prev[len(b)]
}
