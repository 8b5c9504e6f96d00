package catalog

import (
	"slices"

	"go.yaml.in/yaml/v3"
)

// tells are keys that only things of one kind have, by which one under the wrong top key is known.
var tells = []struct{ key, kind, thing string }{
	{"effect", "rules", "a rule"},
	{"dose", "doses", "a dose"},
	{"slots", "plans", "a session plan"},
	{"rungs", "ladders", "a ladder"},
	{"questions", "screening", "a list of questions"},
	{"variant_of", "drills", "a drill"},
	{"pattern", "drills", "a drill"},
	{"regions", "drills", "a drill"},
}

// kindOf is the kind of which all items of a list are; "" when they tell nothing, or not the same.
func kindOf(items []*yaml.Node) string {
	kind := ""
	for _, item := range items {
		i := tellOf(item)
		if i < 0 || kind != "" && kind != tells[i].kind {
			return ""
		}
		kind = tells[i].kind
	}
	return kind
}

// tellOf is the place in tells of what an item is by its looks; -1 when nothing tells.
func tellOf(item *yaml.Node) int {
	if item.Kind != yaml.MappingNode {
		return -1
	}
	return slices.IndexFunc(tells, func(t struct{ key, kind, thing string }) bool { return place(item, t.key) >= 0 })
}

// Misplaced reports the items of a list that belong under another top key, and takes them out of it.
func (d *Decoder) Misplaced(kind string, list *yaml.Node) {
	if list.Kind != yaml.SequenceNode || !slices.Contains([]string{"rules", "doses", "plans", "ladders", "screening", "cautions"}, kind) {
		return
	}
	list.Content = slices.DeleteFunc(list.Content, func(item *yaml.Node) bool {
		i := tellOf(item)
		if i < 0 || tells[i].kind == kind || tells[i].kind == "drills" && kind == "plans" {
			return false
		}
		d.Suggest(d.At(item), "put it under "+tells[i].kind+":", "%s stands under %s:", tells[i].thing, kind)
		return true
	})
}
