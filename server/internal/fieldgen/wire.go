package main

import (
	"fmt"
	"slices"
	"strings"

	"buf.build/go/protovalidate"
	"google.golang.org/protobuf/encoding/protowire"
	"google.golang.org/protobuf/reflect/protoreflect"

	v1 "drillwright/proto/drillwright/v1"
)

// wire writes the reader of questions from their bytes, a function a message. What only few writers of messages do, it leaves to
// proto.Unmarshal: fields that the contract hasn't, parts of one message in several places, entries without a key or a value.
type wire struct {
	*writer
	done, todo []protoreflect.MessageDescriptor
	entries    []protoreflect.FieldDescriptor // the maps of messages, all of which are a profile's
}

func (t *table) wire(w *writer) error {
	w.p("\npackage server\n\nimport v1 \"drillwright/proto/drillwright/v1\"")
	r := &wire{writer: w}
	w.p("\n// wireQuestion reads a question; of what is no question it reads nothing.")
	w.p("func (r *reader) wireQuestion(w wire, m asking) bool {\nswitch m := m.(type) {")
	for _, in := range requests() {
		w.p("case *v1.%s:\nreturn r.wire%s(w, m)", in.Name(), in.Name())
		r.visit(in)
	}
	w.p("}\nreturn false\n}")
	w.p("\n// withoutClient takes the client out of a question that a reader has read.")
	w.p("func withoutClient(m asking) {\nswitch m := m.(type) {")
	for _, in := range requests() {
		w.p("case *v1.%s:\nm.Profile, m.Complaints = nil, nil", in.Name())
	}
	w.p("}\n}")
	for len(r.todo) > 0 {
		next := r.todo[0]
		r.todo = r.todo[1:]
		if err := r.message(next); err != nil {
			return err
		}
	}
	r.entriesOfProfile()
	r.room()
	return nil
}

func (r *wire) visit(m protoreflect.MessageDescriptor) {
	if !slices.Contains(r.done, m) {
		r.done, r.todo = append(r.done, m), append(r.todo, m)
	}
}

func (r *wire) message(m protoreflect.MessageDescriptor) error {
	r.p("\nfunc (r *reader) wire%s(w wire, m *v1.%s) bool {\nfor w.more() {\nswitch w.varint() {", m.Name(), m.Name())
	for i := range m.Fields().Len() {
		fd := m.Fields().Get(i)
		read, as, err := r.field(fd)
		if err != nil {
			return fmt.Errorf("%s: %w", fd.FullName(), err)
		}
		r.p("case %d: // %s\n%s", protowire.EncodeTag(fd.Number(), as), fd.Name(), read)
	}
	r.p("default:\nreturn false\n}\n}\nreturn !w.bad\n}")
	return nil
}

// field is what reads a field, and the type that it has among the bytes. What is longer than it may be isn't read to its end.
func (r *wire) field(fd protoreflect.FieldDescriptor) (read string, as protowire.Type, err error) {
	v := "m." + goName(fd)
	if fd.IsMap() && fd.MapValue().Message() != nil {
		v = "r.entries." + memory(goName(fd))
	}
	rules, err := protovalidate.ResolveFieldRules(fd)
	if err != nil {
		return "", 0, err
	}
	full := ""
	if fd.IsList() || fd.IsMap() {
		most := max(rules.GetRepeated().GetMaxItems(), rules.GetMap().GetMaxPairs())
		if most == 0 {
			return "", 0, fmt.Errorf("a list that may be of any length isn't read")
		}
		full = fmt.Sprintf("if len(%s) == %d {\nreturn false\n}\n", v, most)
	}
	switch {
	case fd.IsMap() && fd.MapKey().Kind() != protoreflect.StringKind:
		return "", 0, fmt.Errorf("keys that are no texts aren't read")
	case fd.IsMap() && fd.MapValue().Message() != nil:
		if fd.Parent() != (&v1.Profile{}).ProtoReflect().Descriptor() {
			return "", 0, fmt.Errorf("a map of messages is read in a profile only")
		}
		r.entries = append(r.entries, fd)
		return fmt.Sprintf("key, in := w.entry()\n%s\nr.entries.%s = append(r.entries.%s, entry[*v1.%s]{key, v})",
				r.sub(fd.MapValue().Message(), "v := ", "in"), memory(goName(fd)), memory(goName(fd)), fd.MapValue().Message().Name()),
			protowire.BytesType, nil
	case fd.IsMap():
		value, as, err := scalar(fd.MapValue(), "in")
		return full + fmt.Sprintf("in := w.message()\nkey, value := in.key(%d), %s\nif _, twice := %s[key]; twice || in.bad || in.more() {\n"+
			"return false\n}\nset(&%s, key, value)", protowire.EncodeTag(2, as), value, v, v), protowire.BytesType, err
	case fd.Message() != nil && fd.IsList():
		return full + r.sub(fd.Message(), "v := ", "w.message()") + fmt.Sprintf("\n%s = append(%s, v)", v, v), protowire.BytesType, nil
	case fd.Message() != nil:
		return fmt.Sprintf("if %s != nil {\nreturn false\n}\n", v) + r.sub(fd.Message(), v+" = ", "w.message()"), protowire.BytesType, nil
	}
	value, as, err := scalar(fd, "w")
	switch {
	case fd.IsList() && fd.Kind() != protoreflect.StringKind:
		return "", 0, fmt.Errorf("a list of numbers isn't read")
	case fd.IsList():
		value = fmt.Sprintf("append(%s, %s)", v, value)
	case fd.HasPresence():
		value = fmt.Sprintf("r.room.%s.keep(%s)", fd.Kind(), value)
	}
	return full + v + " = " + value, as, err
}

// sub reads a message within a message.
func (r *wire) sub(m protoreflect.MessageDescriptor, assign, from string) string {
	r.visit(m)
	read := fmt.Sprintf("%sr.room.%s.next()\n", assign, memory(string(m.Name())))
	return read + fmt.Sprintf("if !r.wire%s(%s, %s) {\nreturn false\n}", m.Name(), from, strings.TrimRight(assign, ":= "))
}

// scalar is a value that is read.
func scalar(fd protoreflect.FieldDescriptor, w string) (string, protowire.Type, error) {
	switch fd.Kind() {
	case protoreflect.StringKind:
		return w + ".string()", protowire.BytesType, nil
	case protoreflect.DoubleKind:
		return w + ".double()", protowire.Fixed64Type, nil
	case protoreflect.BoolKind:
		return w + ".varint() != 0", protowire.VarintType, nil
	case protoreflect.Int32Kind:
		return "int32(" + w + ".varint())", protowire.VarintType, nil
	case protoreflect.EnumKind:
		return fmt.Sprintf("v1.%s(%s.varint())", fd.Enum().Name(), w), protowire.VarintType, nil
	}
	return "", 0, fmt.Errorf("a %s isn't read", fd.Kind())
}

// memory is the name of a field of a struct of ours.
func memory(name string) string { return strings.ToLower(name[:1]) + name[1:] }

// entriesOfProfile writes what holds the maps of a profile.
func (r *wire) entriesOfProfile() {
	r.p("\n// profileEntries are the entries of a profile's maps, in order of their keys once the profile is read.")
	r.p("type profileEntries struct {")
	for _, fd := range r.entries {
		r.p("%s []entry[*v1.%s]", memory(goName(fd)), fd.MapValue().Message().Name())
	}
	r.p("}\n\nfunc (e *profileEntries) of(m *v1.Profile) {")
	for _, fd := range r.entries {
		r.p("e.%[1]s = inOrder(e.%[1]s[:0], m.Get%[2]s())", memory(goName(fd)), goName(fd))
	}
	var sorted []string
	for _, fd := range r.entries {
		sorted = append(sorted, "sortEntries(e."+memory(goName(fd))+")")
	}
	r.p("}\n\n// sort is false where a key stands twice.")
	r.p("func (e *profileEntries) sort() bool {\nreturn %s\n}", strings.Join(sorted, " &&\n"))
	r.p("\nfunc (e *profileEntries) empty() {")
	for _, fd := range r.entries {
		r.p("e.%[1]s = emptied(e.%[1]s)", memory(goName(fd)))
	}
	r.p("}")
}

// room writes what holds the messages, and the scalars that may be absent.
func (r *wire) room() {
	var names []string
	r.p("\n// room is where a reader has the messages that it reads.\ntype room struct {")
	for _, m := range r.done {
		if !slices.Contains(requests(), m) {
			names = append(names, memory(string(m.Name())))
			r.p("%s slab[v1.%s]", memory(string(m.Name())), m.Name())
		}
	}
	for _, kind := range []struct{ name, typ string }{{"double", "float64"}, {"int32", "int32"}, {"bool", "bool"}} {
		names = append(names, kind.name)
		r.p("%s slab[%s]", kind.name, kind.typ)
	}
	r.p("}\n\nfunc (r *room) empty() {")
	for _, name := range names {
		r.p("r.%s.empty()", name)
	}
	r.p("}")
}
