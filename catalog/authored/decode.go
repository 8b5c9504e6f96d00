package authored

import (
	"fmt"
	"iter"
	"math"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"sync"

	"go.yaml.in/yaml/v3"
)

// NodeDecoder is for types that read their own node.
type NodeDecoder interface {
	DecodeNode(d *Decoder, n *yaml.Node)
}

// Written is for the same types: it lists a value of each Go type that the node may be written as, for the schema.
type Written interface{ WrittenAs() []any }

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
	if at := v.FieldByName("At"); at.IsValid() && at.Type() == reflect.TypeFor[Pos]() {
		at.Set(reflect.ValueOf(d.At(n)))
	}
	shape := shapeOf(v.Type())
	if n.Kind != yaml.MappingNode {
		names, rest := shape.names, "}"
		if len(names) > 5 {
			names, rest = names[:5], ", …}"
		}
		suggestion := "write {" + strings.Join(names, ": …, ") + ": …" + rest + ", or one a line"
		if n.Kind == yaml.SequenceNode && len(n.Content) == 1 && n.Content[0].Kind == yaml.MappingNode {
			suggestion = "take the dash or the square brackets away"
		}
		d.Suggest(d.At(n), suggestion, "here stands %s; it must be keys with values", kindWord(n))
		return
	}
	for i := 0; i+1 < len(n.Content); i += 2 {
		key, val := n.Content[i], n.Content[i+1]
		f, ok := shape.fields[key.Value]
		if !ok {
			if f, ok = shape.fields[d.unknownKey(n, key, shape.names)]; !ok {
				continue
			}
		}
		if val.Tag == "!!null" {
			continue
		}
		before := d.Doubtful()
		d.value(val, v.Field(f.index))
		if f.limited && d.Doubtful() == before {
			d.within(key.Value, val, v.Field(f.index), f.least, f.most)
		}
	}
}

// unknownKey reports a key, and returns the one that it must be; "" when that isn't certain, or stands there too.
func (d *Decoder) unknownKey(n, key *yaml.Node, known []string) string {
	if sure := Misspelt(key.Value, known); sure != "" && KeyIndex(n, sure) >= 0 {
		d.Suggest(d.At(key), fmt.Sprintf("%q stands here too", sure), "unknown key %q", key.Value)
		return ""
	}
	return d.Unknown(d.At(key), "key", key.Value, known)
}

// within reports a number, or those of a list, outside the limits of their field.
func (d *Decoder) within(field string, n *yaml.Node, v reflect.Value, least, most float64) {
	at, f := d.At(n), 0.0
	switch v.Kind() {
	case reflect.Pointer:
		d.within(field, n, v.Elem(), least, most)
		return
	case reflect.Slice:
		for i := range v.Len() {
			item := n
			if i < len(n.Content) {
				item = n.Content[i]
			}
			d.within(field, item, v.Index(i), least, most)
		}
		return
	case reflect.Int:
		f = float64(v.Int())
	default:
		f = v.Float()
	}
	if f < least || f > most {
		d.Suggest(at, field+" goes "+fromTo(least, most), "%s is %g", field, f)
	}
}

func fromTo(least, most float64) string {
	switch {
	case math.IsInf(most, 1):
		return fmt.Sprintf("from %g up", least)
	case math.IsInf(least, -1):
		return fmt.Sprintf("up to %g", most)
	}
	return fmt.Sprintf("from %g to %g", least, most)
}

func (d *Decoder) slice(n *yaml.Node, v reflect.Value) {
	items := n.Content
	if n.Kind != yaml.SequenceNode {
		items = d.listed(n, v.Type().Elem())
	}
	out := reflect.MakeSlice(v.Type(), 0, len(items))
	for _, item := range items {
		one := reflect.New(v.Type().Elem()).Elem()
		d.value(item, one)
		if _, own := one.Addr().Interface().(NodeDecoder); one.Kind() == reflect.Struct && item.Kind != yaml.MappingNode && !own {
			continue // reported; nothing more can be said of it
		}
		out = reflect.Append(out, one)
	}
	v.Set(out)
}

func (d *Decoder) mapping(n *yaml.Node, v reflect.Value) {
	if n.Kind != yaml.MappingNode {
		d.Suggest(d.At(n), "write {key: value}", "here stands %s; it must be keys with values", kindWord(n))
		return
	}
	v.Set(reflect.MakeMap(v.Type()))
	for i := 0; i+1 < len(n.Content); i += 2 {
		item := reflect.New(v.Type().Elem()).Elem()
		d.value(n.Content[i+1], item)
		v.SetMapIndex(reflect.ValueOf(n.Content[i].Value).Convert(v.Type().Key()), item)
	}
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
		d.Suggest(d.At(n), "write {key: value}", "here stands %s; it must be keys with values", kindWord(n))
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

// shape is what a struct may be written as.
type shape struct {
	fields map[string]field
	names  []string // sorted
}

// field of a struct. A tag range:"0..10" holds its numbers, or each of a list, within these.
type field struct {
	index       int
	limited     bool
	least, most float64
}

var shapes sync.Map // reflect.Type to *shape

func shapeOf(t reflect.Type) *shape {
	if had, ok := shapes.Load(t); ok {
		return had.(*shape)
	}
	s := &shape{fields: map[string]field{}}
	for name, of := range fields(t) {
		f := field{index: of.Index[0], least: math.Inf(-1), most: math.Inf(1)}
		if least, most := bounds[float64](of.Tag.Get("range")); holdsNumbers(of.Type) {
			if least != nil {
				f.limited, f.least = true, *least
			}
			if most != nil {
				f.limited, f.most = true, *most
			}
		}
		s.fields[name] = f
		s.names = append(s.names, name)
	}
	slices.Sort(s.names)
	shapes.Store(t, s)
	return s
}

// holdsNumbers is true of a number, one that may be left out, and a list of them.
func holdsNumbers(t reflect.Type) bool {
	switch t.Kind() {
	case reflect.Int, reflect.Float64:
		return true
	case reflect.Pointer, reflect.Slice:
		return holdsNumbers(t.Elem())
	}
	return false
}

func kindWord(n *yaml.Node) string {
	switch {
	case n.Kind == yaml.MappingNode:
		return "keys with values"
	case n.Kind == yaml.SequenceNode:
		return "a list"
	case n.Tag == "!!null":
		return "nothing"
	default:
		return strconv.Quote(Shortened(n.Value))
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
