package page

import (
	"bytes"
	"regexp"

	"tieup/plots/stage"
)

// asIs are the parts of a page that are copied or read by programs.
var asIs = regexp.MustCompile(`(?is)<(script|style|pre|code|textarea)\b.*?</(script|style|pre|code|textarea)>|<[^>]*>`)

// trueMinus writes the minus of numbers in the text of a page as the pictures on it have it.
func trueMinus(html []byte) []byte {
	var b bytes.Buffer
	from := 0
	for _, at := range asIs.FindAllIndex(html, -1) {
		b.WriteString(stage.TrueMinus(string(html[from:at[0]])))
		b.Write(html[at[0]:at[1]])
		from = at[1]
	}
	b.WriteString(stage.TrueMinus(string(html[from:])))
	return b.Bytes()
}
