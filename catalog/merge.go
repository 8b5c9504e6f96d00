package catalog

import (
	"slices"

	"drillwright/catalog/authored"

	"go.yaml.in/yaml/v3"
)

// merger makes whole drills out of what their authors wrote: the parent of a variant first, then the blocks
// it uses in order, then its own fields. Mappings merge key by key, lists and values replace, null removes.
type merger struct {
	d      *authored.Decoder
	blocks map[string]*yaml.Node
	drills map[string]*yaml.Node
	order  []*yaml.Node
	done   map[string]*yaml.Node
	depth  map[string]int      // of variants that are done: how many drills they are made of, one upon the other
	keys   int                 // that were laid down so far
	ids    [2][]string         // of drills and blocks, once they are asked for
	partly map[*yaml.Node]bool // merged drills whose parent, or a block that they use, doesn't exist
}

func newMerger(d *authored.Decoder) *merger {
	return &merger{d: d, blocks: map[string]*yaml.Node{}, drills: map[string]*yaml.Node{}, done: map[string]*yaml.Node{},
		depth: map[string]int{}, partly: map[*yaml.Node]bool{}}
}

const (
	// maxVariants is how many drills may be laid one upon the other.
	maxVariants = 50
	// maxMerged is how many keys all drills together may have, with those that they take over.
	maxMerged = 2_000_000
)

// atomic keys of the top level are replaced whole one level down: an arc, a region.
var replacedWhole = []string{"arcs", "regions"}

func (m *merger) collect(doc *yaml.Node) {
	for i := 0; i+1 < len(doc.Content); i += 2 {
		into := map[string]map[string]*yaml.Node{"blocks": m.blocks, "drills": m.drills}[doc.Content[i].Value]
		if into == nil {
			continue
		}
		list := doc.Content[i+1]
		if list.Kind != yaml.SequenceNode {
			m.d.Suggest(m.d.At(list), "begin each item with a dash: - id: …", "%s must be a list", doc.Content[i].Value)
			continue
		}
		for _, item := range list.Content {
			id := child(item, "id")
			if item.Kind != yaml.MappingNode || id == nil {
				m.d.Suggest(m.d.At(item), "begin it with id: and words in lower case joined by -", "an item of %s without an id", doc.Content[i].Value)
				continue
			}
			if first, ok := into[id.Value]; ok {
				m.d.Suggest(m.d.At(id), "give this one another id", "%q stands in %s too; ids are given once", id.Value, m.d.At(first))
				continue
			}
			into[id.Value] = item
			if doc.Content[i].Value == "drills" {
				m.order = append(m.order, item)
			}
		}
	}
}

func (m *merger) merged() []*yaml.Node {
	var out []*yaml.Node
	for _, n := range m.order {
		out = append(out, m.resolve(n, nil))
	}
	return out
}

// resolve merges one drill; trail holds the variants below it, to catch a circle.
func (m *merger) resolve(n *yaml.Node, trail []string) *yaml.Node {
	id := child(n, "id").Value
	if whole := m.done[id]; whole != nil {
		return whole
	}
	whole := m.empty(n)
	if of := child(n, "variant_of"); of != nil {
		switch parent := m.drills[of.Value]; {
		case slices.Contains(trail, of.Value) || of.Value == id:
			m.d.Suggest(m.d.At(of), "name another drill, or take variant_of: out", "%q is a variant of itself", id)
		case parent == nil:
			m.d.Unknown(m.d.At(of), "drill", of.Value, m.known(0))
			m.partly[whole] = true
		case len(trail) == maxVariants || m.depth[of.Value] >= maxVariants:
			m.d.Suggest(m.d.At(of), "name a drill that is no variant", "%q is a variant of a variant, and so on, more than %d times", id,
				maxVariants)
			m.partly[whole] = true
		default:
			from := m.resolve(parent, append(trail, id))
			m.partly[whole], m.depth[id] = m.partly[from], m.depth[of.Value]+1
			m.over(whole, from, "")
			for _, own := range []string{"id", "name", "variant_of", "changes", "use"} {
				remove(whole, own)
			}
		}
	}
	if use := child(n, "use"); use != nil {
		blocks := use.Content
		if use.Kind == yaml.ScalarNode { // reported when it is decoded
			blocks = []*yaml.Node{use}
		}
		for _, b := range blocks {
			block := m.blocks[b.Value]
			if block == nil {
				m.d.Unknown(m.d.At(b), "block", b.Value, m.known(1))
				m.partly[whole] = true
				continue
			}
			m.over(whole, block, "")
			remove(whole, "id")
		}
	}
	m.over(whole, n, "")
	m.done[id] = whole
	return whole
}

// known are the ids of drills (0) or blocks (1).
func (m *merger) known(which int) []string {
	if m.ids[which] == nil {
		m.ids[which] = keys([]map[string]*yaml.Node{m.drills, m.blocks}[which])
	}
	return m.ids[which]
}

// full is whether no more keys are taken over; the first that are too many are told.
func (m *merger) full(n *yaml.Node) bool {
	had := m.keys
	m.keys += len(n.Content) / 2
	if m.keys > maxMerged && had <= maxMerged {
		m.d.Suggest(m.d.At(n), "take over less", "variants and blocks take over more than %d keys in all", maxMerged)
	}
	return m.keys > maxMerged
}

func (m *merger) empty(like *yaml.Node) *yaml.Node {
	n := &yaml.Node{Kind: yaml.MappingNode, Tag: "!!map", Line: like.Line, Column: like.Column}
	m.d.Adopt(n, like)
	return n
}

// over lays b upon a, in place; under is the key that holds them.
func (m *merger) over(a, b *yaml.Node, under string) {
	if m.full(b) {
		return
	}
	for i := 0; i+1 < len(b.Content); i += 2 {
		key, val := b.Content[i], b.Content[i+1]
		at := authored.KeyIndex(a, key.Value)
		switch {
		case val.Tag == "!!null":
			remove(a, key.Value)
		case at < 0:
			a.Content = append(a.Content, key, m.copyMaps(val))
		case val.Kind == yaml.MappingNode && a.Content[at+1].Kind == yaml.MappingNode && !slices.Contains(replacedWhole, under):
			m.over(a.Content[at+1], val, key.Value)
		default:
			a.Content[at], a.Content[at+1] = key, m.copyMaps(val)
		}
	}
}

// copyMaps copies mappings, which merging changes, and shares everything else.
func (m *merger) copyMaps(n *yaml.Node) *yaml.Node {
	if n.Kind != yaml.MappingNode {
		return n
	}
	c := m.empty(n)
	if m.full(n) {
		return c
	}
	for i := 0; i+1 < len(n.Content); i += 2 {
		if n.Content[i+1].Tag != "!!null" {
			c.Content = append(c.Content, n.Content[i], m.copyMaps(n.Content[i+1]))
		}
	}
	return c
}

// child is the value of a key; nil when there is none.
func child(n *yaml.Node, key string) *yaml.Node {
	if n == nil || n.Kind != yaml.MappingNode {
		return nil
	}
	if i := authored.KeyIndex(n, key); i >= 0 {
		return n.Content[i+1]
	}
	return nil
}

func remove(n *yaml.Node, key string) {
	if i := authored.KeyIndex(n, key); i >= 0 {
		n.Content = slices.Delete(n.Content, i, i+2)
	}
}

func keys(m map[string]*yaml.Node) []string {
	ids := make([]string, 0, len(m))
	for id := range m {
		ids = append(ids, id)
	}
	slices.Sort(ids)
	return ids
}
