package catalog

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"iter"
	"math"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"go.yaml.in/yaml/v3"
)

// MaxFileBytes is the largest file that is read: far above any honest one, far below what would hurt.
const MaxFileBytes = 2 << 20

// File is one named text, from disk, an embedded folder or a request.
type File struct {
	Name string
	Data []byte
}

// Decoder reads YAML strictly into Go values: unknown keys, wrong types, duplicates, anchors and second
// documents are problems, all reported, none fatal. It remembers where each node came from, so that
// values merged from several files still point at the author's line.
type Decoder struct {
	*Report
	origin map[*yaml.Node]*Source
}

// NewDecoder starts an empty report.
func NewDecoder() *Decoder {
	return &Decoder{Report: &Report{}, origin: map[*yaml.Node]*Source{}}
}

// NodeDecoder is for types that read their own node.
type NodeDecoder interface {
	DecodeNode(d *Decoder, n *yaml.Node)
}

// Written is for the same types: it lists a value of each Go type that the node may be written as, for the schema.
type Written interface{ WrittenAs() []any }

// Parse reads one file as one document whose top is a mapping. It returns nil after reporting when it isn't.
func (d *Decoder) Parse(f File) *yaml.Node {
	src := &Source{Name: f.Name}
	whole := Pos{Source: src}
	switch {
	case len(f.Data) > MaxFileBytes:
		d.Add(whole, "file has %d bytes; the most that is read is %d", len(f.Data), MaxFileBytes)
		return nil
	case len(bytes.TrimSpace(f.Data)) == 0:
		d.Add(whole, "file is empty")
		return nil
	case !utf8.Valid(f.Data) || bytes.IndexByte(f.Data, 0) >= 0:
		d.Add(whole, "file is not UTF-8 text")
		return nil
	}
	src.Lines = strings.Split(strings.ReplaceAll(string(f.Data), "\r\n", "\n"), "\n")
	dec := yaml.NewDecoder(bytes.NewReader(f.Data))
	var doc yaml.Node
	if err := dec.Decode(&doc); errors.Is(err, io.EOF) {
		d.Add(whole, "file is empty but for comments")
		return nil
	} else if err != nil {
		d.syntax(src, err)
		return nil
	}
	var second yaml.Node
	if err := dec.Decode(&second); err == nil {
		d.Add(Pos{src, second.Line, 1}, "a second document starts here; a file holds one")
		return nil
	}
	if len(doc.Content) == 0 || doc.Content[0].Kind != yaml.MappingNode {
		d.Add(Pos{src, 1, 1}, "the file must be a mapping of keys to values")
		return nil
	}
	top := doc.Content[0]
	if !d.register(top, src) {
		return nil
	}
	return top
}

// syntax reports an error of the YAML parser at the line it names.
func (d *Decoder) syntax(src *Source, err error) {
	text := strings.TrimPrefix(err.Error(), "yaml: ")
	at := Pos{Source: src, Line: 1, Col: 1}
	if rest, ok := strings.CutPrefix(text, "line "); ok {
		if number, message, ok := strings.Cut(rest, ": "); ok {
			if n, err := strconv.Atoi(number); err == nil {
				at.Line, text = n, message
			}
		}
	}
	at.Line = min(at.Line, len(src.Lines))
	maybeTab := strings.Contains(text, "tab") || strings.Contains(text, "cannot start any token")
	for i := at.Line - 1; i < len(src.Lines) && maybeTab; i++ {
		if indent := src.Lines[i][:len(src.Lines[i])-len(strings.TrimLeft(src.Lines[i], " \t"))]; strings.Contains(indent, "\t") {
			d.Suggest(Pos{src, i + 1, strings.Index(indent, "\t") + 1}, "indent with spaces", "a tab can't be used to indent")
			return
		}
	}
	at.Col = len(src.Lines[at.Line-1]) - len(strings.TrimLeft(src.Lines[at.Line-1], " ")) + 1
	d.Add(at, "this is not readable YAML: %s", text)
}

// register notes the origin of every node; anchors, aliases and merge keys are refused.
func (d *Decoder) register(n *yaml.Node, src *Source) bool {
	d.origin[n] = src
	if n.Kind == yaml.AliasNode || n.Anchor != "" {
		d.Add(d.At(n), "anchors and aliases (& and *) are not read; write the value out")
		return false
	}
	good := true
	for _, c := range n.Content {
		good = d.register(c, src) && good
	}
	if n.Kind == yaml.MappingNode {
		seen := map[string]bool{}
		for i := 0; i+1 < len(n.Content); i += 2 {
			key := n.Content[i]
			if seen[key.Value] {
				d.Add(d.At(key), "key %q stands twice", key.Value)
			}
			seen[key.Value] = true
		}
	}
	return good
}

// Adopt gives a node made while merging the origin of another.
func (d *Decoder) Adopt(n, from *yaml.Node) { d.origin[n] = d.origin[from] }

// At is where a node stands.
func (d *Decoder) At(n *yaml.Node) Pos { return Pos{d.origin[n], n.Line, n.Column} }

// Decode reads a node into a pointer.
func (d *Decoder) Decode(n *yaml.Node, into any) {
	d.value(n, reflect.ValueOf(into).Elem())
}

func (d *Decoder) value(n *yaml.Node, v reflect.Value) {
	if v.CanAddr() {
		if own, ok := v.Addr().Interface().(NodeDecoder); ok {
			own.DecodeNode(d, n)
			return
		}
	}
	switch v.Kind() {
	case reflect.Pointer:
		v.Set(reflect.New(v.Type().Elem()))
		d.value(n, v.Elem())
	case reflect.Struct:
		d.structure(n, v)
	case reflect.Slice:
		d.slice(n, v)
	case reflect.Map:
		d.mapping(n, v)
	default:
		d.scalar(n, v)
	}
}

func (d *Decoder) structure(n *yaml.Node, v reflect.Value) {
	if n.Kind != yaml.MappingNode {
		d.Add(d.At(n), "here stands %s; it must be a mapping with the keys %s", kindWord(n), strings.Join(fieldNames(v.Type()), ", "))
		return
	}
	if at := v.FieldByName("At"); at.IsValid() && at.Type() == reflect.TypeFor[Pos]() {
		at.Set(reflect.ValueOf(d.At(n)))
	}
	fields := fieldIndex(v.Type())
	for i := 0; i+1 < len(n.Content); i += 2 {
		key, val := n.Content[i], n.Content[i+1]
		index, ok := fields[key.Value]
		if !ok {
			d.Unknown(d.At(key), "key", key.Value, fieldNames(v.Type()))
			continue
		}
		if val.Tag == "!!null" {
			continue
		}
		d.value(val, v.Field(index))
	}
}

// Unknown reports a word that isn't one of the known, with the nearest or the whole short list.
func (d *Report) Unknown(at Pos, what, word string, known []string) {
	d.Suggest(at, DidYouMean(word, known), "unknown %s %q", what, word)
}

// DidYouMean names the nearest known word, or all when they are few.
func DidYouMean(word string, known []string) string {
	if near := Nearest(word, known); near != "" {
		return fmt.Sprintf("did you mean %q?", near)
	}
	if len(known) > 0 && len(known) <= 20 {
		return "known: " + strings.Join(known, ", ")
	}
	return ""
}

func (d *Decoder) slice(n *yaml.Node, v reflect.Value) {
	if n.Kind != yaml.SequenceNode {
		d.Suggest(d.At(n), "write [a, b] or one item a line with a dash", "here stands %s; it must be a list", kindWord(n))
		return
	}
	out := reflect.MakeSlice(v.Type(), len(n.Content), len(n.Content))
	for i, item := range n.Content {
		d.value(item, out.Index(i))
	}
	v.Set(out)
}

func (d *Decoder) mapping(n *yaml.Node, v reflect.Value) {
	if n.Kind != yaml.MappingNode {
		d.Add(d.At(n), "here stands %s; it must be a mapping", kindWord(n))
		return
	}
	v.Set(reflect.MakeMap(v.Type()))
	for i := 0; i+1 < len(n.Content); i += 2 {
		item := reflect.New(v.Type().Elem()).Elem()
		d.value(n.Content[i+1], item)
		v.SetMapIndex(reflect.ValueOf(n.Content[i].Value).Convert(v.Type().Key()), item)
	}
}

func (d *Decoder) scalar(n *yaml.Node, v reflect.Value) {
	if n.Kind != yaml.ScalarNode {
		d.Add(d.At(n), "here stands %s; it must be %s", kindWord(n), typeWord(v.Kind()))
		return
	}
	switch v.Kind() {
	case reflect.String:
		if n.Tag == "!!null" {
			d.Add(d.At(n), "the value is missing")
		}
		v.SetString(n.Value)
	case reflect.Bool:
		if n.Tag != "!!bool" || n.Value != "true" && n.Value != "false" {
			d.Suggest(d.At(n), "write true or false", "%q is neither true nor false", n.Value)
			return
		}
		v.SetBool(n.Value == "true")
	case reflect.Int:
		f, ok := d.number(n)
		if ok && f != math.Trunc(f) {
			d.Add(d.At(n), "%q is not a whole number", n.Value)
		}
		v.SetInt(int64(f))
	case reflect.Float64:
		f, _ := d.number(n)
		v.SetFloat(f)
	default:
		panic(fmt.Sprintf("decode into %s", v.Type()))
	}
}

func (d *Decoder) number(n *yaml.Node) (float64, bool) {
	f, err := strconv.ParseFloat(n.Value, 64)
	switch {
	case n.Style&(yaml.DoubleQuotedStyle|yaml.SingleQuotedStyle) != 0 && err == nil:
		d.Suggest(d.At(n), "write "+n.Value, "a number stands in quotes")
	case err != nil && strings.Count(n.Value, ",") == 1 && decimal(strings.Replace(n.Value, ",", ".", 1)):
		d.Suggest(d.At(n), "write "+strings.Replace(n.Value, ",", ".", 1), "%q has a decimal comma", n.Value)
	case err != nil && decimal(strings.TrimRight(n.Value, "°")):
		d.Suggest(d.At(n), "write "+strings.TrimRight(n.Value, "°"), "%q has a degree sign", n.Value)
	case err != nil || math.IsNaN(f) || math.IsInf(f, 0):
		d.Add(d.At(n), "%q is not a number", n.Value)
	default:
		return f, true
	}
	return 0, false
}

func decimal(s string) bool {
	_, err := strconv.ParseFloat(s, 64)
	return err == nil
}

// Text is a string that remembers where and how it was written.
type Text struct {
	Value string
	At    Pos
	// Inner is where the first character of the value stands: after the quote, or on the first line of a literal block.
	Inner  Pos
	Quoted bool
	// Broken is true for styles in which positions inside the value are lost (folded, or over several lines).
	Broken bool
}

// WrittenAs implements Written.
func (t *Text) WrittenAs() []any { return []any{""} }

// DecodeNode implements NodeDecoder.
func (t *Text) DecodeNode(d *Decoder, n *yaml.Node) {
	d.Decode(n, &t.Value)
	t.At = d.At(n)
	t.Inner = t.At
	src := t.At.Source
	switch {
	case n.Style&(yaml.DoubleQuotedStyle|yaml.SingleQuotedStyle) != 0:
		t.Quoted = true
		t.Inner.Col++
		t.Broken = strings.Contains(t.Value, "\n") || !closesOnLine(src, t.At)
	case n.Style&yaml.LiteralStyle != 0:
		t.Quoted = true
		t.Inner.Line++
		if src != nil && t.Inner.Line <= len(src.Lines) {
			line := src.Lines[t.Inner.Line-1]
			t.Inner.Col = len(line) - len(strings.TrimLeft(line, " ")) + 1
		}
	case n.Style&yaml.FoldedStyle != 0:
		t.Quoted, t.Broken = true, true
	}
}

// closesOnLine is true when the quote that opens at the place closes on the same line.
func closesOnLine(src *Source, at Pos) bool {
	if src == nil || at.Line > len(src.Lines) || at.Col > len(src.Lines[at.Line-1]) {
		return true
	}
	line := src.Lines[at.Line-1]
	return strings.LastIndexByte(line, line[at.Col-1]) > at.Col-1
}

// Entry is one key of a mapping whose order matters.
type Entry[T any] struct {
	Key   string
	At    Pos
	Value T
}

// Entries is a mapping in the order it was written.
type Entries[T any] []Entry[T]

// WrittenAs implements Written: a key without a value is passed over.
func (e *Entries[T]) WrittenAs() []any { return []any{map[string]*T{}} }

// DecodeNode implements NodeDecoder.
func (e *Entries[T]) DecodeNode(d *Decoder, n *yaml.Node) {
	if n.Kind != yaml.MappingNode {
		d.Add(d.At(n), "here stands %s; it must be a mapping", kindWord(n))
		return
	}
	for i := 0; i+1 < len(n.Content); i += 2 {
		entry := Entry[T]{Key: n.Content[i].Value, At: d.At(n.Content[i])}
		if n.Content[i+1].Tag == "!!null" {
			continue
		}
		d.Decode(n.Content[i+1], &entry.Value)
		*e = append(*e, entry)
	}
}

// Several is a list that may be written as its only item.
type Several[T any] []T

// WrittenAs implements Written.
func (s *Several[T]) WrittenAs() []any {
	var one T
	return []any{one, []T{}}
}

// DecodeNode implements NodeDecoder.
func (s *Several[T]) DecodeNode(d *Decoder, n *yaml.Node) {
	items := []*yaml.Node{n}
	if n.Kind == yaml.SequenceNode {
		items = n.Content
	}
	for _, item := range items {
		var v T
		d.Decode(item, &v)
		*s = append(*s, v)
	}
}

// fields are those that a file may give, each under its key.
func fields(t reflect.Type) iter.Seq2[string, reflect.StructField] {
	return func(yield func(string, reflect.StructField) bool) {
		for i := range t.NumField() {
			if key := t.Field(i).Tag.Get("yaml"); key != "" && !yield(key, t.Field(i)) {
				return
			}
		}
	}
}

func fieldIndex(t reflect.Type) map[string]int {
	index := map[string]int{}
	for key, f := range fields(t) {
		index[key] = f.Index[0]
	}
	return index
}

func fieldNames(t reflect.Type) []string {
	var names []string
	for key := range fields(t) {
		names = append(names, key)
	}
	slices.Sort(names)
	return names
}

func kindWord(n *yaml.Node) string {
	switch {
	case n.Kind == yaml.MappingNode:
		return "a mapping"
	case n.Kind == yaml.SequenceNode:
		return "a list"
	case n.Tag == "!!null":
		return "nothing"
	default:
		return strconv.Quote(n.Value)
	}
}

func typeWord(k reflect.Kind) string {
	switch k {
	case reflect.Bool:
		return "true or false"
	case reflect.Int, reflect.Float64:
		return "a number"
	default:
		return "a text"
	}
}
