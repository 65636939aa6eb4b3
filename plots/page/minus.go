package page

import (
	"bytes"
	"slices"

	"tieup/plots/stage"
)

// asIs are the elements of a page whose text is copied or read by programs.
var asIs = []string{"script", "style", "pre", "code", "textarea"}

// trueMinus writes the minus of numbers in the text of a page as the pictures on it have it.
func trueMinus(html []byte) []byte {
	var b bytes.Buffer
	for len(html) > 0 {
		n := bytes.IndexByte(html, '<')
		if n < 0 {
			n = len(html)
		}
		b.WriteString(stage.TrueMinus(string(html[:n])))
		tag := tagLength(html[n:])
		b.Write(html[n : n+tag])
		html = html[n+tag:]
	}
	return b.Bytes()
}

// tagLength is how many bytes a tag has, with all of its element if that stays as it is.
func tagLength(html []byte) int {
	if len(html) == 0 {
		return 0
	}
	n := bytes.IndexByte(html, '>') + 1
	if n == 0 {
		return len(html)
	}
	name, _, _ := bytes.Cut(html[1:n-1], []byte(" "))
	if slices.Contains(asIs, string(name)) {
		if end := bytes.Index(html[n:], []byte("</"+string(name)+">")); end >= 0 {
			return n + end
		}
		return len(html)
	}
	return n
}
