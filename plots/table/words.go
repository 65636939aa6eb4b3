package table

import "strings"

// applied lists the elements that are applied, "nothing" for none.
func applied(elements []string) string {
	if len(elements) == 0 {
		return "nothing"
	}
	return list(elements)
}

// rangeOrCombination names a range, or a combination that has no name.
func rangeOrCombination(name string) string {
	if name == "" {
		return "combination"
	}
	return "range " + name
}

func list(words []string) string { return strings.Join(words, ", ") }
