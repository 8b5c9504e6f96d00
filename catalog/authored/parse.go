package authored

import (
	"bytes"
	"errors"
	"io"
	"regexp"
	"slices"
	"strings"
	"unicode/utf8"

	"go.yaml.in/yaml/v3"
)

// MaxFileBytes is the largest file that is read: far above any honest one, far below what would hurt.
const MaxFileBytes = 2 << 20

const (
	// maxLine is the longest line, in bytes: a place in a line is found by going through it.
	maxLine = 200_000
	// maxKeys is how many keys a mapping may have: they are looked for one after the other.
	maxKeys = 2_000
)

// Decoder reads YAML strictly into Go values: unknown keys, wrong types, duplicates, anchors and second
// documents are problems, all reported, none fatal. It remembers where each node came from, so that
// values merged from several files still point at the author's line.
type Decoder struct {
	*Report
	// Kinds are what a file may list; for the mistake of a list without its key.
	Kinds Kinds
	// Trees are files that need not be parsed again; nil for none.
	Trees  *Trees
	origin map[*yaml.Node]*Source
}

// Kinds are the kinds of thing that files list, each under a top key of its own.
type Kinds struct {
	// Begin tells an author how a file begins: "begin with rules:, or another key".
	Begin string
	Kinds []Kind
}

// Kind is one of them.
type Kind struct {
	Top   string // the key that they are listed under
	Mark  string // a key that no other kind has
	Thing string // one of them as people read it
}

// Of is the first kind that an item of a list has a mark of; nil when it has none.
func (k Kinds) Of(item *yaml.Node) *Kind {
	for i := range k.Kinds {
		if item.Kind == yaml.MappingNode && KeyIndex(item, k.Kinds[i].Mark) >= 0 {
			return &k.Kinds[i]
		}
	}
	return nil
}

// top is the key of which all items of a list are; "" when they have no mark, or not of the same kind.
func (k Kinds) top(items []*yaml.Node) string {
	top := ""
	for _, item := range items {
		kind := k.Of(item)
		if kind == nil || top != "" && top != kind.Top {
			return ""
		}
		top = kind.Top
	}
	return top
}

// KeyIndex is where a key of a mapping stands in its content; -1 when it isn't there.
func KeyIndex(n *yaml.Node, key string) int {
	for i := 0; i+1 < len(n.Content); i += 2 {
		if n.Content[i].Value == key {
			return i
		}
	}
	return -1
}

// NewDecoder starts an empty report.
func NewDecoder() *Decoder {
	return &Decoder{Report: &Report{}, Kinds: Kinds{Begin: "begin with a key and a colon"}, origin: map[*yaml.Node]*Source{}}
}

// Parse reads one file as one document whose top is a mapping. It returns nil after reporting when it isn't, and
// nothing else can be meant.
func (d *Decoder) Parse(f File) *yaml.Node {
	src := &Source{Name: f.Name, lines: []string{""}}
	start := Pos{src, 1, 1}
	if len(f.Data) > MaxFileBytes {
		d.Suggest(start, "make several files of it", "the file has %d bytes; the most that is read is %d", len(f.Data), MaxFileBytes)
		return nil
	}
	data := bytes.TrimPrefix(f.Data, mark)
	src.data, src.lines = f.Data, linesOf(f.Data)
	if top := d.unpacked(f, src); top != nil {
		return top
	}
	if !d.legible(src, data) {
		return nil
	}
	doc, err := document(string(data))
	if err != nil && !errors.Is(err, io.EOF) {
		if doc = d.repair(src, err); doc == nil {
			return nil
		}
	}
	if doc == nil || len(doc.Content) == 0 {
		d.Suggest(start, "begin with a key and a colon, or take the file away", "the file is empty but for comments")
		return nil
	}
	top := doc.Content[0]
	if !d.register(top, src) {
		return nil
	}
	return d.top(top)
}

// Forget lets go of what was needed to read the files, whose bytes nobody may change from now on.
func (d *Decoder) Forget() {
	for _, src := range d.origin {
		if src != nil && src.data != nil {
			src.lines = nil
		}
	}
}

// SourceOf is a file as problems show it.
func SourceOf(f File) *Source {
	return &Source{Name: f.Name, data: f.Data, lines: linesOf(f.Data)}
}

// legible is whether the bytes of a file are text.
func (d *Decoder) legible(src *Source, data []byte) bool {
	at := Pos{src, 1, 1}
	if len(bytes.TrimSpace(data)) == 0 {
		d.Suggest(at, "begin with a key and a colon, or take the file away", "the file is empty")
		return false
	}
	if utf16 := len(data) > 1 && (data[0] == 0xff && data[1] == 0xfe || data[0] == 0xfe && data[1] == 0xff); utf16 {
		d.Suggest(at, "save it as UTF-8", "the file is text of another kind (UTF-16)")
		return false
	}
	valid := utf8.Valid(data)
	for i, line := range src.Lines() {
		if len(line) > maxLine {
			d.Suggest(Pos{src, i + 1, 1}, "break it", "the line has %d bytes; the most that is read is %d", len(line), maxLine)
			return false
		}
		for col, r := range []rune(line) {
			switch here := (Pos{src, i + 1, col + 1}); {
			case !valid && r == utf8.RuneError:
				d.Suggest(here, "save the file as UTF-8", "this letter can't be read")
			case valid && (r < ' ' && r != '\t' || r == 0x7f || r > 0x7f && r < 0xa0 || r == '\uFEFF' || r == '\uFFFE' || r == '\uFFFF'):
				d.Fix(here, &Edit{From: here, To: here.After(1)}, "take it out", "a sign that can't be seen (U+%04X)", r)
			default:
				continue
			}
			return false
		}
	}
	return true
}

// document parses the first document of a text, and says so if there is a second.
func document(text string) (*yaml.Node, error) {
	dec := yaml.NewDecoder(strings.NewReader(text))
	var doc, second yaml.Node
	if err := dec.Decode(&doc); err != nil {
		return nil, err
	}
	if err := dec.Decode(&second); !errors.Is(err, io.EOF) {
		return nil, errSecond
	}
	return &doc, nil
}

var errSecond = errors.New("a second document")

// top makes sure that a document is a mapping. A list of things of one kind lacks no more than the name of the kind.
func (d *Decoder) top(n *yaml.Node) *yaml.Node {
	if n.Kind == yaml.MappingNode {
		return n
	}
	at := d.At(n)
	kind := ""
	if n.Kind == yaml.SequenceNode && n.Style&yaml.FlowStyle == 0 && at.Col == 1 {
		kind = d.Kinds.top(n.Content)
	}
	if kind == "" {
		d.Suggest(at, d.Kinds.Begin, "a file begins with a key that says what is in it; this one begins with %s", kindWord(n))
		return nil
	}
	d.Fix(at, &Edit{at, at, kind + ":\n"}, "write "+kind+": on a line above",
		"a file begins with a key that says what is in it; this one begins with a list")
	key := &yaml.Node{Kind: yaml.ScalarNode, Tag: "!!str", Value: kind, Line: n.Line, Column: n.Column}
	whole := &yaml.Node{Kind: yaml.MappingNode, Tag: "!!map", Line: n.Line, Column: n.Column, Content: []*yaml.Node{key, n}}
	d.Adopt(key, n)
	d.Adopt(whole, n)
	return whole
}

// register notes the origin of every node; anchors, aliases and merge keys are refused.
func (d *Decoder) register(n *yaml.Node, src *Source) bool {
	d.origin[n] = src
	n.HeadComment, n.LineComment, n.FootComment = "", "", "" // which nothing reads
	switch {
	case n.Kind == yaml.AliasNode:
		d.Suggest(d.At(n), "write the value out; a text that begins with * goes in quotes",
			"* stands for a value from elsewhere, which is not read")
		return false
	case n.Anchor != "":
		d.Suggest(d.At(n), "write the value out where it is needed; a text that begins with & goes in quotes",
			"& gives a value a name, which is not read")
		return false
	case n.Tag == "!!merge":
		d.Suggest(d.At(n), "write the keys out", "<< takes over keys from elsewhere, which is not read")
		return false
	case n.Style&yaml.TaggedStyle != 0:
		d.tagged(n)
	}
	good := true
	for _, c := range n.Content {
		good = d.register(c, src) && good
	}
	switch {
	case n.Kind != yaml.MappingNode:
	case len(n.Content) > 2*maxKeys:
		d.Suggest(d.At(n), "make several of it", "%d keys under one; the most that is read is %d", len(n.Content)/2, maxKeys)
		return false
	default:
		d.commas(n)
		d.twice(n)
	}
	return good
}

// tagged reports a value that begins with !, and reads it as the text that it must be.
func (d *Decoder) tagged(n *yaml.Node) {
	at := d.At(n)
	text := strings.TrimRight(at.Rest(), " \t")
	var fix *Edit
	if n.Kind == yaml.ScalarNode && n.Style == yaml.TaggedStyle && strings.HasPrefix(text, "!") && strings.HasSuffix(text, n.Value) &&
		!strings.Contains(text, " #") {
		n.Value, n.Tag, n.Style = text, "!!str", 0
		fix = Text{Value: text, At: at}.Requote(false)
	}
	d.Fix(at, fix, "put the text in double quotes", "! can't begin a text without quotes")
}

// commas reports decimal commas between curly brackets, where YAML takes what follows for a key.
func (d *Decoder) commas(n *yaml.Node) {
	for i := 2; i+1 < len(n.Content) && n.Style&yaml.FlowStyle != 0; i += 2 {
		val, key := n.Content[i-1], n.Content[i]
		if n.Content[i+1].Tag != "!!null" || !digits.MatchString(val.Value) || !digits.MatchString(key.Value) {
			continue
		}
		from, to := d.end(val), d.At(key)
		if from.Line != to.Line {
			continue
		}
		meant := val.Value + "." + key.Value
		d.Fix(from, &Edit{from, to, "."}, "write "+meant, "a decimal comma")
		val.Value, val.Tag = meant, "!!float"
		n.Content = slices.Delete(n.Content, i, i+2)
		i -= 2
	}
}

var digits = regexp.MustCompile(`^-?[0-9]+$`)

// twice reports keys that stand twice in a mapping. One that says the same on a line of its own goes.
func (d *Decoder) twice(n *yaml.Node) {
	seen := map[string]*yaml.Node{}
	for i := 0; i+1 < len(n.Content); i += 2 {
		key, val := n.Content[i], n.Content[i+1]
		had := seen[key.Value]
		if had == nil {
			seen[key.Value] = val
			continue
		}
		at, end := d.At(key), d.end(val)
		var fix *Edit
		if same := had.Kind == yaml.ScalarNode && val.Kind == yaml.ScalarNode && had.Value == val.Value && had.Tag == val.Tag; same &&
			n.Style&yaml.FlowStyle == 0 && at.Line == end.Line && strings.TrimSpace(end.Rest()) == "" && at.Line < len(at.Source.Lines()) &&
			first(at) {
			fix = &Edit{From: Pos{at.Source, at.Line, 1}, To: Pos{at.Source, at.Line + 1, 1}}
		}
		d.Fix(at, fix, "keep one of them", "key %q stands twice", key.Value)
	}
}

// first is whether nothing but spaces stands before a place in its line.
func first(at Pos) bool {
	return strings.TrimSpace(string([]rune(at.Source.Lines()[at.Line-1])[:at.Col-1])) == ""
}

// end is where a scalar ends, its quote included, or a collection in brackets; a place of line 0 where that can't be told.
func (d *Decoder) end(n *yaml.Node) Pos {
	at := d.At(n)
	if n.Kind != yaml.ScalarNode && n.Style&yaml.FlowStyle != 0 {
		last := at.After(1)
		if len(n.Content) > 0 {
			last = d.end(n.Content[len(n.Content)-1])
		}
		rest := last.Rest()
		if closing := strings.TrimLeft(rest, " ,"); strings.HasPrefix(closing, "}") || strings.HasPrefix(closing, "]") {
			return last.After(len(rest) - len(closing) + 1)
		}
		return Pos{Source: at.Source}
	}
	if n.Kind != yaml.ScalarNode || n.Style&(yaml.LiteralStyle|yaml.FoldedStyle) != 0 || at.Source.repaired(n.Line) {
		return Pos{Source: at.Source}
	}
	t := Text{Value: n.Value, At: at, style: n.Style}
	marks := t.marks()
	if len(marks) == 0 {
		return Pos{Source: at.Source}
	}
	end := marks[len(marks)-1].from
	if n.Style&(yaml.DoubleQuotedStyle|yaml.SingleQuotedStyle) != 0 {
		end = end.After(1)
	}
	return end
}

// Adopt gives a node made while merging the origin of another.
func (d *Decoder) Adopt(n, from *yaml.Node) { d.origin[n] = d.origin[from] }

// At is where a node stands.
func (d *Decoder) At(n *yaml.Node) Pos {
	return d.origin[n].written(Pos{Line: n.Line, Col: n.Column})
}
