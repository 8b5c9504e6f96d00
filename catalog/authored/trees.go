package authored

import (
	"crypto/sha256"
	"encoding/binary"
	"fmt"
	"slices"
	"strings"

	"go.yaml.in/yaml/v3"
)

// Trees are files as they were parsed before, by the digest of their bytes: for files that are read again and again, since the parser is
// most of what reading costs. They had no mistake. What isn't there byte for byte is parsed. Nil has none.
type Trees struct {
	of map[[sha256.Size]byte]packedTree
}

// packedTree is one file. Its nodes stand in the order in which they are written, each as what kind it is (see looks), the lines since
// the node before, its column, and how many children it has or, of a scalar, its value: twice the length where that many letters stand
// at its place, else that plus one, and the letters.
type packedTree struct {
	keys  []string // of the top
	count int      // of the nodes
	nodes string
}

// looks are the kinds, tags and styles of nodes; what a node is fits into one byte.
var looks = struct {
	kinds  []yaml.Kind
	tags   []string
	styles []yaml.Style
}{
	[]yaml.Kind{yaml.ScalarNode, yaml.SequenceNode, yaml.MappingNode},
	[]string{"!!str", "!!int", "!!float", "!!bool", "!!null", "!!timestamp", "!!seq", "!!map"},
	[]yaml.Style{0, yaml.DoubleQuotedStyle, yaml.SingleQuotedStyle, yaml.LiteralStyle, yaml.FoldedStyle, yaml.FlowStyle},
}

// PackTrees writes down what parsing files comes to. The error is Problems, or that a file holds what isn't written down.
func PackTrees(files []File) ([]byte, error) {
	var out []byte
	for _, f := range files {
		d := NewDecoder()
		top := d.Parse(f)
		if err := d.Err(); err != nil {
			return nil, err
		}
		p := treePacker{lines: linesOf(f.Data), line: 1}
		if err := p.pack(top); err != nil {
			return nil, fmt.Errorf("pack %q: %w", f.Name, err)
		}
		digest := sha256.Sum256(f.Data)
		out = append(out, digest[:]...)
		out = binary.AppendUvarint(out, uint64(len(top.Content)/2))
		for i := 0; i < len(top.Content); i += 2 {
			out = appendText(out, top.Content[i].Value)
		}
		out = binary.AppendUvarint(out, uint64(p.count))
		out = appendText(out, string(p.out))
	}
	return out, nil
}

func appendText(out []byte, text string) []byte {
	return append(binary.AppendUvarint(out, uint64(len(text))), text...)
}

type treePacker struct {
	lines []string
	line  int // of the node before
	count int
	out   []byte
}

func (p *treePacker) pack(n *yaml.Node) error {
	kind, tag, style := slices.Index(looks.kinds, n.Kind), slices.Index(looks.tags, n.Tag), slices.Index(looks.styles, n.Style)
	if kind < 0 || tag < 0 || style < 0 || n.Line < p.line {
		return fmt.Errorf("the %s in line %d, column %d, is of no kind that is written down", n.Tag, n.Line, n.Column)
	}
	p.out = append(p.out, byte(kind|tag<<2|style<<5))
	p.out = binary.AppendUvarint(p.out, uint64(n.Line-p.line))
	p.out = binary.AppendUvarint(p.out, uint64(n.Column))
	p.line = n.Line
	p.count++
	switch {
	case n.Kind != yaml.ScalarNode:
		p.out = binary.AppendUvarint(p.out, uint64(len(n.Content)))
	case strings.HasPrefix(standing(p.lines, n), n.Value):
		p.out = binary.AppendUvarint(p.out, uint64(len(n.Value))<<1)
	default:
		p.out = append(binary.AppendUvarint(p.out, uint64(len(n.Value))<<1|1), n.Value...)
	}
	for _, c := range n.Content {
		if err := p.pack(c); err != nil {
			return err
		}
	}
	return nil
}

// standing is what stands in the line of a scalar from its first letter on, as long as each letter before it is one byte.
func standing(lines []string, n *yaml.Node) string {
	line, from := lines[n.Line-1], n.Column-1
	if n.Style&(yaml.DoubleQuotedStyle|yaml.SingleQuotedStyle) != 0 {
		from++
	}
	return line[min(from, len(line)):]
}

// UnpackTrees takes what PackTrees wrote.
func UnpackTrees(packed string) *Trees {
	t, r := &Trees{of: map[[sha256.Size]byte]packedTree{}}, treeReader{rest: packed}
	for r.rest != "" {
		digest, tree := [sha256.Size]byte([]byte(r.text(sha256.Size))), packedTree{}
		for range r.number() {
			tree.keys = append(tree.keys, r.text(r.number()))
		}
		tree.count = r.number()
		tree.nodes = r.text(r.number())
		t.of[digest] = tree
	}
	return t
}

// Keys are the top keys of a file; nil where it isn't there.
func (t *Trees) Keys(f File) []string {
	tree, _ := t.find(f)
	return slices.Clone(tree.keys)
}

func (t *Trees) find(f File) (packedTree, bool) {
	if t == nil {
		return packedTree{}, false
	}
	tree, ok := t.of[sha256.Sum256(f.Data)]
	return tree, ok
}

// unpacked is the tree of a file, as parsing it comes to; nil where it was not packed.
func (d *Decoder) unpacked(f File, src *Source) *yaml.Node {
	tree, ok := d.Trees.find(f)
	if !ok {
		return nil
	}
	r := treeReader{rest: tree.nodes, lines: src.lines, line: 1, nodes: make([]yaml.Node, tree.count), slots: make([]*yaml.Node, tree.count)}
	nodes := r.nodes
	top := r.node()
	for i := range nodes {
		d.origin[&nodes[i]] = src
	}
	return top
}

type treeReader struct {
	rest  string
	lines []string
	line  int          // of the node before
	nodes []yaml.Node  // that are still to be filled in
	slots []*yaml.Node // for children, likewise
}

func (r *treeReader) node() *yaml.Node {
	n := &r.nodes[0]
	r.nodes = r.nodes[1:]
	look := r.rest[0]
	r.rest = r.rest[1:]
	n.Kind, n.Tag, n.Style = looks.kinds[look&3], looks.tags[look>>2&7], looks.styles[look>>5]
	r.line += r.number()
	n.Line, n.Column = r.line, r.number()
	size := r.number()
	switch {
	case n.Kind != yaml.ScalarNode && size > 0:
		n.Content, r.slots = r.slots[:size:size], r.slots[size:]
		for i := range n.Content {
			n.Content[i] = r.node()
		}
	case n.Kind != yaml.ScalarNode:
	case size&1 == 0:
		n.Value = standing(r.lines, n)[:size>>1]
	default:
		n.Value = r.text(size >> 1)
	}
	return n
}

func (r *treeReader) number() int {
	if b := r.rest[0]; b < 0x80 {
		r.rest = r.rest[1:]
		return int(b)
	}
	n, size := binary.Uvarint([]byte(r.rest[:min(len(r.rest), binary.MaxVarintLen64)]))
	r.rest = r.rest[size:]
	return int(n)
}

func (r *treeReader) text(size int) string {
	text := r.rest[:size]
	r.rest = r.rest[size:]
	return text
}
