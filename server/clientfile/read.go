package clientfile

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"go.yaml.in/yaml/v3"
	"google.golang.org/protobuf/reflect/protoreflect"

	"drillwright/catalog/authored"
	v1 "drillwright/proto/drillwright/v1"
)

// Read reads a client file strictly. The error is authored.Problems: every mistake at its place.
func Read(file authored.File) (*File, error) {
	d := authored.NewDecoder()
	top := d.Parse(file)
	if top == nil {
		return nil, d.Err()
	}
	c := ReadNode(d, top)
	c.whole = authored.Pos{Source: c.whole.Source}
	if err := d.Err(); err != nil {
		return nil, err
	}
	return c, nil
}

// ReadNode reads the mapping of a client that stands inside another file. Mistakes go to the decoder's report.
func ReadNode(d *authored.Decoder, n *yaml.Node) *File {
	r := &reader{Decoder: d, positions: map[string]authored.Pos{}}
	c := &File{Profile: &v1.Profile{}, positions: r.positions, whole: d.At(n)}
	// The mapping is a request without its question: read it as one, and its other keys as the profile's.
	asked := &v1.ScreenRequest{Profile: c.Profile}
	r.top(n, asked.ProtoReflect())
	c.Complaints, c.AsOf = asked.Complaints, asked.AsOf
	return c
}

// reader walks YAML against the contract, noting the position of every field.
type reader struct {
	*authored.Decoder
	positions map[string]authored.Pos
}

// top reads the keys of the file: those of the request beside the profile, and those of the profile.
func (r *reader) top(n *yaml.Node, request protoreflect.Message) {
	beside := request.Descriptor().Fields()
	profile := request.Get(beside.ByName("profile")).Message()
	names := append(names(profile.Descriptor()), besideProfile...)
	slices.Sort(names)
	r.keys(n, names, func(key string, keyNode, value *yaml.Node) {
		if slices.Contains(besideProfile, key) {
			r.field(key, keyNode, value, request, beside.ByName(protoreflect.Name(key)))
			return
		}
		r.field("profile."+key, keyNode, value, profile, profile.Descriptor().Fields().ByName(protoreflect.Name(key)))
	})
}

// keys visits the known keys of a mapping that have a value, and reports the others.
func (r *reader) keys(n *yaml.Node, known []string, do func(key string, keyNode, value *yaml.Node)) {
	if n.Kind != yaml.MappingNode {
		r.Add(r.At(n), "here stands %s; it must be a mapping with the keys %s", nodeWord(n), strings.Join(known, ", "))
		return
	}
	for i := 0; i+1 < len(n.Content); i += 2 {
		key, value := n.Content[i], n.Content[i+1]
		switch {
		case !slices.Contains(known, key.Value):
			r.Unknown(r.At(key), "key", key.Value, known)
		case value.Tag == "!!null":
			r.Suggest(r.At(key), "leave the key out if it isn't known, or write {} or [] for none", "%s has no value", key.Value)
		default:
			do(key.Value, key, value)
		}
	}
}

func (r *reader) message(path string, n *yaml.Node, m protoreflect.Message) {
	fields := m.Descriptor().Fields()
	r.keys(n, names(m.Descriptor()), func(key string, keyNode, value *yaml.Node) {
		r.field(path+"."+key, keyNode, value, m, fields.ByName(protoreflect.Name(key)))
	})
}

func (r *reader) field(path string, key, value *yaml.Node, m protoreflect.Message, fd protoreflect.FieldDescriptor) {
	r.positions[path] = r.At(key)
	switch {
	case fd.IsMap():
		r.entries(path, value, m.Mutable(fd).Map(), fd.MapValue())
	case fd.IsList():
		r.list(path, value, m.Mutable(fd).List(), fd)
	case fd.Message() != nil:
		r.message(path, value, m.Mutable(fd).Message())
	default:
		r.positions[path] = r.At(value)
		if v, ok := r.scalar(value, fd); ok {
			m.Set(fd, v)
		}
	}
}

func (r *reader) entries(path string, n *yaml.Node, into protoreflect.Map, fd protoreflect.FieldDescriptor) {
	if n.Kind != yaml.MappingNode {
		r.Add(r.At(n), "here stands %s; it must be a mapping of ids to values", nodeWord(n))
		return
	}
	for i := 0; i+1 < len(n.Content); i += 2 {
		key, value := n.Content[i], n.Content[i+1]
		entry := fmt.Sprintf("%s[%q]", path, key.Value)
		r.positions[entry] = r.At(key)
		if fd.Message() != nil {
			r.message(entry, value, into.Mutable(protoreflect.ValueOfString(key.Value).MapKey()).Message())
		} else if v, ok := r.scalar(value, fd); ok {
			into.Set(protoreflect.ValueOfString(key.Value).MapKey(), v)
		}
	}
}

func (r *reader) list(path string, n *yaml.Node, into protoreflect.List, fd protoreflect.FieldDescriptor) {
	if n.Kind != yaml.SequenceNode {
		r.Suggest(r.At(n), "write [a, b] or one item a line with a dash", "here stands %s; it must be a list", nodeWord(n))
		return
	}
	for i, item := range n.Content {
		at := fmt.Sprintf("%s[%d]", path, i)
		r.positions[at] = r.At(item)
		if fd.Message() != nil {
			r.message(at, item, into.AppendMutable().Message())
		} else if v, ok := r.scalar(item, fd); ok {
			into.Append(v)
		}
	}
}

// scalar reads one value. Words and days may stand with or without quotes.
func (r *reader) scalar(n *yaml.Node, fd protoreflect.FieldDescriptor) (protoreflect.Value, bool) {
	before := r.Count()
	var v protoreflect.Value
	switch fd.Kind() {
	case protoreflect.EnumKind:
		return r.enum(n, fd.Enum())
	case protoreflect.BoolKind:
		var b bool
		r.Decode(n, &b)
		v = protoreflect.ValueOfBool(b)
	case protoreflect.Int32Kind:
		var whole int
		r.Decode(n, &whole)
		if whole > math.MaxInt32 || whole < math.MinInt32 {
			r.Add(r.At(n), "%s is far too large", n.Value)
		}
		v = protoreflect.ValueOfInt32(int32(whole))
	case protoreflect.DoubleKind:
		var f float64
		r.Decode(n, &f)
		v = protoreflect.ValueOfFloat64(f)
	default:
		var s string
		r.Decode(n, &s)
		v = protoreflect.ValueOfString(s)
	}
	return v, r.Count() == before
}

func (r *reader) enum(n *yaml.Node, enum protoreflect.EnumDescriptor) (protoreflect.Value, bool) {
	if n.Kind == yaml.ScalarNode {
		if v := enum.Values().ByName(protoreflect.Name(n.Value)); v != nil && v.Number() != 0 {
			return protoreflect.ValueOfEnum(v.Number()), true
		}
	}
	var words []string
	for i := 1; i < enum.Values().Len(); i++ {
		words = append(words, string(enum.Values().Get(i).Name()))
	}
	if n.Kind != yaml.ScalarNode {
		r.Suggest(r.At(n), "known: "+strings.Join(words, ", "), "here stands %s; it must be a word", nodeWord(n))
	} else {
		r.Unknown(r.At(n), "word", n.Value, words)
	}
	return protoreflect.Value{}, false
}

func names(m protoreflect.MessageDescriptor) []string {
	var list []string
	for i := range m.Fields().Len() {
		list = append(list, string(m.Fields().Get(i).Name()))
	}
	slices.Sort(list)
	return list
}

func nodeWord(n *yaml.Node) string {
	switch n.Kind {
	case yaml.MappingNode:
		return "a mapping"
	case yaml.SequenceNode:
		return "a list"
	default:
		return fmt.Sprintf("%q", n.Value)
	}
}
