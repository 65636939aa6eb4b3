package table

import (
	"cmp"
	"strings"
)

// applied lists the elements that are applied, "nothing" for none.
func applied(elements []string) string { return cmp.Or(list(elements), "nothing") }

// orNone lists words, "none" for none.
func orNone(words []string) string { return cmp.Or(list(words), "none") }

// rangeOrCombination names a range, or a combination that has no name.
func rangeOrCombination(name string) string {
	if name == "" {
		return "combination"
	}
	return "range " + name
}

func list(words []string) string { return strings.Join(words, ", ") }
