package rules

import (
	"slices"
	"strconv"
	"strings"

	"go.yaml.in/yaml/v3"
)

// differ compares what stands under a field; nil stands for nothing. It goes down into mappings, and into lists whose
// items have ids.
func differ(field string, was, is *yaml.Node) []FieldChange {
	switch {
	case sameNode(was, is):
		return nil
	case was != nil && is != nil && was.Kind == yaml.MappingNode && is.Kind == yaml.MappingNode:
		var list []FieldChange
		for _, key := range bothOf(keysOf(was), keysOf(is)) {
			list = append(list, differ(strings.TrimPrefix(field+"."+key, "."), under(was, key), under(is, key))...)
		}
		return list
	case hasIDs(was) && hasIDs(is):
		var list []FieldChange
		for _, id := range bothOf(idsOf(was), idsOf(is)) {
			list = append(list, differ(field+"["+id+"]", itemOf(was, id), itemOf(is, id))...)
		}
		if a, b := common(idsOf(was), idsOf(is)), common(idsOf(is), idsOf(was)); !slices.Equal(a, b) {
			list = append(list, FieldChange{field, "in the order " + strings.Join(a, ", "), "in the order " + strings.Join(b, ", ")})
		}
		return list
	}
	return []FieldChange{{field, writtenAs(was), writtenAs(is)}}
}

// sameNode is whether two nodes say the same, however they are written.
func sameNode(a, b *yaml.Node) bool {
	switch {
	case a == nil || b == nil:
		return a == b
	case a.Kind != b.Kind:
		return false
	case a.Kind == yaml.ScalarNode:
		return sameScalar(a, b)
	case a.Kind == yaml.MappingNode:
		return len(a.Content) == len(b.Content) && !slices.ContainsFunc(keysOf(a),
			func(key string) bool { return !sameNode(under(a, key), under(b, key)) })
	}
	return slices.EqualFunc(a.Content, b.Content, sameNode)
}

// sameScalar: a text may be broken into lines elsewhere, a number written otherwise.
func sameScalar(a, b *yaml.Node) bool {
	if slices.Equal(strings.Fields(a.Value), strings.Fields(b.Value)) {
		return true
	}
	x, errX := strconv.ParseFloat(a.Value, 64)
	y, errY := strconv.ParseFloat(b.Value, 64)
	return errX == nil && errY == nil && x == y && a.Style == b.Style
}

func keysOf(n *yaml.Node) []string {
	var keys []string
	for i := 0; i < len(n.Content); i += 2 {
		keys = append(keys, n.Content[i].Value)
	}
	return keys
}

// hasIDs is whether a node is a list of which every item has an id.
func hasIDs(n *yaml.Node) bool {
	return n != nil && n.Kind == yaml.SequenceNode && !slices.ContainsFunc(n.Content,
		func(i *yaml.Node) bool { return textUnder(i, "id") == "" })
}

func idsOf(list *yaml.Node) []string {
	var ids []string
	for _, i := range list.Content {
		ids = append(ids, textUnder(i, "id"))
	}
	return ids
}

func itemOf(list *yaml.Node, id string) *yaml.Node {
	for _, i := range list.Content {
		if textUnder(i, "id") == id {
			return i
		}
	}
	return nil
}

// bothOf are the words of two lists, each once.
func bothOf(a, b []string) []string {
	all := slices.Concat(a, b)
	slices.Sort(all)
	return slices.Compact(all)
}

// common are the words of a list that another has too.
func common(list, other []string) []string {
	var out []string
	for _, w := range list {
		if slices.Contains(other, w) {
			out = append(out, w)
		}
	}
	return out
}

// writtenAs is a node as its author wrote it: a text without its quotes, anything else in one line, without comments.
func writtenAs(n *yaml.Node) string {
	switch {
	case n == nil:
		return ""
	case n.Kind == yaml.ScalarNode:
		return strings.TrimSpace(n.Value)
	}
	text, err := yaml.Marshal(inOneLine(n))
	if err != nil {
		panic(err) // it was read from YAML
	}
	return strings.TrimSpace(string(text))
}

func inOneLine(n *yaml.Node) *yaml.Node {
	out := &yaml.Node{Kind: n.Kind, Tag: n.Tag, Value: n.Value, Style: n.Style&^(yaml.LiteralStyle|yaml.FoldedStyle) | yaml.FlowStyle}
	if n.Kind == yaml.ScalarNode {
		out.Style &^= yaml.FlowStyle
	}
	for _, c := range n.Content {
		out.Content = append(out.Content, inOneLine(c))
	}
	return out
}

// textUnder is a scalar of a mapping; "" when it isn't there.
func textUnder(n *yaml.Node, key string) string {
	if v := under(n, key); v != nil {
		return v.Value
	}
	return ""
}

// under is what stands under a key of a mapping; nil when nothing does.
func under(n *yaml.Node, key string) *yaml.Node {
	for i := 0; i+1 < len(n.Content); i += 2 {
		if n.Kind == yaml.MappingNode && n.Content[i].Value == key {
			return n.Content[i+1]
		}
	}
	return nil
}
