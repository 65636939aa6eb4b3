// Package notices holds the licence texts of everything that is linked into tieup:
// Go's library, modules and fonts. They are collected from the module cache.
package notices

import _ "embed"

//go:generate go run ./collect notices.txt

//go:embed notices.txt
var text string

// Text returns a list of the modules with their licences, and the texts of all.
func Text() string { return text }
