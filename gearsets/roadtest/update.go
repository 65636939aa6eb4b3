package roadtest

import (
	"bytes"
	"slices"
	"strings"

	"go.yaml.in/yaml/v4"

	"tieup/kinematics/diagnosis"
)

// Update writes a case into a sheet that is there, src, and keeps the comments that
// stand in it, its order and what of it did not change. Where src is no sheet the result
// is that of [Format].
func Update(src []byte, train string, c *diagnosis.Case, shifts [][2]int) []byte {
	fresh := Format(train, c, shifts)
	var old, now yaml.Node
	if !IsSheet(src) || yaml.Unmarshal(src, &old) != nil || yaml.Unmarshal(fresh, &now) != nil ||
		len(old.Content) != 1 || old.Content[0].Kind != yaml.MappingNode {
		return fresh
	}
	if keyed(old.Content[0], "train") != nil { // it finds its train as before
		drop(now.Content[0], "train")
	}
	if !merge(old.Content[0], now.Content[0], "") {
		return src
	}
	var b bytes.Buffer
	e := yaml.NewEncoder(&b)
	e.SetIndent(2)
	if e.Encode(&old) != nil || e.Close() != nil {
		return fresh
	}
	out := b.Bytes()
	if keyed(old.Content[0], endsKey) != nil && !bytes.HasSuffix(bytes.TrimSpace(out), []byte("\n"+endMark)) {
		out = append(bytes.TrimRight(out, "\n"), "\n"+endMark+"\n"...)
	}
	return out
}

// valueAt is where the value of a key of a mapping stands, -1 if there is none.
func valueAt(m *yaml.Node, key string) int {
	for i := 0; i+1 < len(m.Content); i += 2 {
		if m.Content[i].Value == key {
			return i + 1
		}
	}
	return -1
}

// keyed is the value of a key of a mapping, nil if there is none.
func keyed(m *yaml.Node, key string) *yaml.Node {
	if i := valueAt(m, key); i >= 0 {
		return m.Content[i]
	}
	return nil
}

// drop takes a key out of a mapping.
func drop(m *yaml.Node, key string) bool {
	i := valueAt(m, key)
	if i >= 0 {
		m.Content = slices.Delete(m.Content, i-1, i+1)
	}
	return i >= 0
}

// entryMaps are the mappings whose keys come and go with what is known.
var entryMaps = []string{"seen", "shifts", "workshop", "found", "proved"}

// merge makes a mapping say what another one says, and says whether anything changed.
// What an old sheet leaves out because it is so by default stays out.
func merge(old, now *yaml.Node, path string) (changed bool) {
	for i := 0; i+1 < len(now.Content); i += 2 {
		key, value := now.Content[i], now.Content[i+1]
		was := keyed(old, key.Value)
		switch {
		case was == nil && leftOut(path, key.Value, value):
		case was == nil:
			bare(key)
			old.Content, changed = slices.Insert(old.Content, behind(old, now, i), key, value), true
		case was.Kind == yaml.MappingNode && value.Kind == yaml.MappingNode && key.Value != "assume":
			changed = merge(was, value, key.Value) || changed
		case key.Value != "assume" && !same(was, value):
			value.HeadComment, value.LineComment, value.FootComment = was.HeadComment, was.LineComment, was.FootComment
			*was, changed = *value, true
		}
	}
	if !slices.Contains(entryMaps, path) {
		for _, key := range []string{"found", "replaced", "proved"} {
			changed = path == "" && keyed(now, key) == nil && drop(old, key) || changed
		}
		return changed
	}
	for i := 0; i+1 < len(old.Content); i += 2 {
		if key := old.Content[i].Value; keyed(now, key) == nil && !blank(old.Content[i+1]) {
			old.Content, changed = slices.Delete(old.Content, i, i+2), true
			i -= 2
		}
	}
	return changed
}

// behind is where in an old mapping an entry of the new one is put: behind the nearest
// one before it that the old has, else at the end.
func behind(old, now *yaml.Node, i int) int {
	for i -= 2; i >= 0; i -= 2 {
		if k := valueAt(old, now.Content[i].Value); k >= 0 {
			return k + 1
		}
	}
	return len(old.Content)
}

// leftOut says whether a key may stay out of an old sheet: it says nothing.
func leftOut(path, key string, value *yaml.Node) bool {
	if path != "" {
		return blank(value)
	}
	if key == endsKey || key == "assume" {
		return true
	}
	for i := 1; i < len(value.Content); i += 2 {
		if !blank(value.Content[i]) {
			return false
		}
	}
	return value.Kind == yaml.MappingNode || value.Kind == yaml.SequenceNode && len(value.Content) == 0
}

// blank says whether a value says that nothing was tested.
func blank(n *yaml.Node) bool {
	return n.Kind == yaml.ScalarNode && (n.Tag == "!!null" || n.Value == diagnosis.NotTested)
}

// same says whether two values say the same.
func same(a, b *yaml.Node) bool {
	if blank(a) && blank(b) {
		return true
	}
	return strings.Join(scalars(a), "\x00") == strings.Join(scalars(b), "\x00")
}

// scalars are the scalars of a value in order, their spaces made one.
func scalars(n *yaml.Node) []string {
	if n.Kind == yaml.ScalarNode {
		return []string{strings.Join(strings.Fields(n.Value), " ")}
	}
	var list []string
	for _, c := range n.Content {
		list = append(list, scalars(c)...)
	}
	return list
}

// bare takes the comments off a key that is new to a sheet.
func bare(key *yaml.Node) { key.HeadComment, key.LineComment, key.FootComment = "", "", "" }
