package main

import (
	"fmt"
	"slices"
	"strings"

	"buf.build/gen/go/bufbuild/protovalidate/protocolbuffers/go/buf/validate"
	"buf.build/go/protovalidate"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"

	v1 "drillwright/proto/drillwright/v1"
)

// limits writes whether a question keeps the limits that the contract's annotations state: the same walk as the library's, as plain
// comparisons. What it can't write it refuses, so that no limit is left out.
type limits struct {
	*writer
	done    []protoreflect.FullName
	todo    []protoreflect.MessageDescriptor
	entries []protoreflect.FieldDescriptor // the maps of messages, which a reader has as lists
}

// questionLimits are those of all that SelectionService is asked.
func questionLimits(w *writer) error {
	w.p("\npackage server\n\nimport (\n\"math\"\n\nv1 \"drillwright/proto/drillwright/v1\"\n)")
	l := &limits{writer: w}
	methods := v1.File_drillwright_v1_selection_service_proto.Services().ByName("SelectionService").Methods()
	w.p("\n// withinLimits is whether a question, whose profile's maps are e, keeps the contract's limits.")
	w.p("func withinLimits(m asking, e *profileEntries) bool {\nif !limitsOfEntries(e) {\nreturn false\n}\nswitch m := m.(type) {")
	for i := range methods.Len() {
		in := methods.Get(i).Input()
		w.p("case *v1.%s:\nreturn limitsOf%s(m)", in.Name(), in.Name())
		l.visit(in)
	}
	w.p("}\nreturn false\n}")
	for len(l.todo) > 0 {
		next := l.todo[0]
		l.todo = l.todo[1:]
		if err := l.message(next); err != nil {
			return err
		}
	}
	return l.ofEntries()
}

func (l *limits) visit(m protoreflect.MessageDescriptor) {
	if !slices.Contains(l.done, m.FullName()) {
		l.done, l.todo = append(l.done, m.FullName()), append(l.todo, m)
	}
}

func (l *limits) message(m protoreflect.MessageDescriptor) error {
	if rules, err := protovalidate.ResolveMessageRules(m); err != nil || proto.Size(rules) > 0 {
		return fmt.Errorf("%s: limits of a whole message aren't written: %v %v", m.FullName(), rules, err)
	}
	for i := range m.Oneofs().Len() {
		if o := m.Oneofs().Get(i); !o.IsSynthetic() {
			return fmt.Errorf("%s: limits of one of several fields aren't written", o.FullName())
		}
	}
	l.p("\nfunc limitsOf%s(m *v1.%s) bool {", m.Name(), m.Name())
	for i := range m.Fields().Len() {
		fd := m.Fields().Get(i)
		rules, err := protovalidate.ResolveFieldRules(fd)
		if err == nil {
			err = l.field(fd, rules)
		}
		if err != nil {
			return fmt.Errorf("%s: %w", fd.FullName(), err)
		}
	}
	l.p("return true\n}")
	return nil
}

func (l *limits) field(fd protoreflect.FieldDescriptor, rules *validate.FieldRules) error {
	v := "m." + goName(fd)
	if rules.GetRequired() {
		l.p("if %s {\nreturn false\n}", missing(fd, v))
	}
	switch {
	case fd.IsMap() && fd.MapValue().Message() != nil:
		l.entries = append(l.entries, fd)
		l.visit(fd.MapValue().Message())
		return nil
	case fd.IsMap():
		return l.pairs(fd, v, rules)
	case fd.IsList():
		return l.items(fd, v, rules)
	case fd.Message() != nil:
		if err := only(rules); err != nil {
			return err
		}
		l.visit(fd.Message())
		sent := v + " != nil && "
		if rules.GetRequired() {
			sent = ""
		}
		l.p("if %s!limitsOf%s(%s) {\nreturn false\n}", sent, fd.Message().Name(), v)
		return nil
	}
	sent := "true"
	if fd.HasPresence() {
		v = "*" + v
		if !rules.GetRequired() {
			sent = v[1:] + " != nil"
		}
	} else if rules.GetIgnore() == validate.Ignore_IGNORE_IF_ZERO_VALUE {
		sent = "!(" + missing(fd, v) + ")"
	}
	wrong, err := beyond(fd, v, rules)
	if err == nil && len(wrong) > 0 {
		l.p("if %s(%s) {\nreturn false\n}", strings.TrimPrefix(sent+" && ", "true && "), strings.Join(wrong, " ||\n"))
	}
	return err
}

// missing is when a field that is required isn't there.
func missing(fd protoreflect.FieldDescriptor, v string) string {
	switch {
	case fd.IsList() || fd.IsMap():
		return "len(" + v + ") == 0"
	case fd.HasPresence():
		return v + " == nil"
	case fd.Kind() == protoreflect.StringKind:
		return v + ` == ""`
	case fd.Kind() == protoreflect.BoolKind:
		return "!" + v
	}
	return v + " == 0"
}

func (l *limits) items(fd protoreflect.FieldDescriptor, v string, rules *validate.FieldRules) error {
	r := rules.GetRepeated()
	if err := only(rules, "repeated"); err != nil {
		return err
	}
	if err := written(r, "max_items", "items"); err != nil {
		return err
	}
	if r.MaxItems != nil {
		l.p("if len(%s) > %d {\nreturn false\n}", v, r.GetMaxItems())
	}
	return l.each(fd, "_, v", v, r.GetItems())
}

// ofEntries writes the limits of the maps that a reader has as lists.
func (l *limits) ofEntries() error {
	l.p("\nfunc limitsOfEntries(e *profileEntries) bool {")
	for _, fd := range l.entries {
		rules, err := protovalidate.ResolveFieldRules(fd)
		if err == nil {
			err = only(rules, "map")
		}
		if err == nil {
			err = written(rules.GetMap(), "max_pairs", "keys")
		}
		if err != nil {
			return err
		}
		v := "e." + memory(goName(fd))
		wrong, err := beyond(fd.MapKey(), "v.key", rules.GetMap().GetKeys())
		if err != nil {
			return err
		}
		if most := rules.GetMap().MaxPairs; most != nil {
			l.p("if len(%s) > %d {\nreturn false\n}", v, *most)
		}
		wrong = append(wrong, "!limitsOf"+string(fd.MapValue().Message().Name())+"(v.value)")
		l.p("for _, v := range %s {\nif %s {\nreturn false\n}\n}", v, strings.Join(wrong, " ||\n"))
	}
	l.p("return true\n}")
	return nil
}

func (l *limits) pairs(fd protoreflect.FieldDescriptor, v string, rules *validate.FieldRules) error {
	r := rules.GetMap()
	if err := only(rules, "map"); err != nil {
		return err
	}
	if err := written(r, "max_pairs", "keys", "values"); err != nil {
		return err
	}
	if r.MaxPairs != nil {
		l.p("if len(%s) > %d {\nreturn false\n}", v, r.GetMaxPairs())
	}
	if r.GetKeys() != nil {
		wrong, err := beyond(fd.MapKey(), "key", r.GetKeys())
		if err != nil {
			return err
		}
		l.p("for key := range %s {\nif %s {\nreturn false\n}\n}", v, strings.Join(wrong, " ||\n"))
	}
	return l.each(fd.MapValue(), "_, v", v, r.GetValues())
}

// each holds every item of a list, or value of a map.
func (l *limits) each(fd protoreflect.FieldDescriptor, names, v string, rules *validate.FieldRules) error {
	if m := fd.Message(); m != nil {
		if err := only(rules); err != nil {
			return err
		}
		l.visit(m)
		l.p("for %s := range %s {\nif !limitsOf%s(v) {\nreturn false\n}\n}", names, v, m.Name())
		return nil
	}
	wrong, err := beyond(fd, "v", rules)
	if err == nil && len(wrong) > 0 {
		l.p("for %s := range %s {\nif %s {\nreturn false\n}\n}", names, v, strings.Join(wrong, " ||\n"))
	}
	return err
}

// beyond are the ways in which a value is beyond its limits.
func beyond(fd protoreflect.FieldDescriptor, v string, rules *validate.FieldRules) ([]string, error) {
	var wrong []string
	add := func(format string, args ...any) { wrong = append(wrong, fmt.Sprintf(format, args...)) }
	var err error
	switch fd.Kind() {
	case protoreflect.StringKind:
		r := rules.GetString()
		if err = only(rules, "string"); err == nil {
			err = written(r, "max_len", "min_len", "max_bytes", "pattern")
		}
		if r.MinLen != nil {
			add("lettersBelow(%s, %d)", v, r.GetMinLen())
		}
		if r.MaxLen != nil {
			add("lettersAbove(%s, %d)", v, r.GetMaxLen())
		}
		if r.MaxBytes != nil {
			add("len(%s) > %d", v, r.GetMaxBytes())
		}
		if r.Pattern != nil && r.GetPattern() != datePattern {
			return nil, fmt.Errorf("the pattern %q isn't written", r.GetPattern())
		} else if r.Pattern != nil {
			add("!dateShaped(%s)", v)
		}
	case protoreflect.Int32Kind:
		r := rules.GetInt32()
		if err = only(rules, "int32"); err == nil {
			err = written(r, "gte", "lte")
		}
		if _, ok := r.GetGreaterThan().(*validate.Int32Rules_Gte); ok {
			add("%s < %d", v, r.GetGte())
		}
		if _, ok := r.GetLessThan().(*validate.Int32Rules_Lte); ok {
			add("%s > %d", v, r.GetLte())
		}
	case protoreflect.DoubleKind:
		r := rules.GetDouble()
		if err = only(rules, "double"); err == nil {
			err = written(r, "gte", "lte", "finite")
		}
		if _, ok := r.GetGreaterThan().(*validate.DoubleRules_Gte); ok {
			add("!(%s >= %v)", v, r.GetGte())
		}
		if _, ok := r.GetLessThan().(*validate.DoubleRules_Lte); ok {
			add("!(%s <= %v)", v, r.GetLte())
		}
		if r.GetFinite() {
			add("math.IsNaN(%s) || math.IsInf(%s, 0)", v, v)
		}
	case protoreflect.EnumKind:
		r := rules.GetEnum()
		if err = only(rules, "enum"); err == nil {
			err = written(r, "defined_only", "in")
		}
		if r.GetDefinedOnly() {
			most := fd.Enum().Values().Len() - 1
			for i := range most + 1 {
				if fd.Enum().Values().ByNumber(protoreflect.EnumNumber(i)) == nil {
					return nil, fmt.Errorf("the numbers of %s have gaps, which isn't written", fd.Enum().FullName())
				}
			}
			add("%s < 0 || %s > %d", v, v, most)
		}
		if len(r.GetIn()) > 0 {
			var among []string
			for _, in := range r.GetIn() {
				among = append(among, fmt.Sprintf("%s == %d", v, in))
			}
			add("!(%s)", strings.Join(among, " || "))
		}
	default:
		err = only(rules)
	}
	return wrong, err
}

const datePattern = "^[0-9]{4}-[0-9]{2}-[0-9]{2}$"

// only refuses limits of another kind than those that are written for a field.
func only(rules *validate.FieldRules, kinds ...protoreflect.Name) error {
	if rules == nil {
		return nil
	}
	return written(rules, append(kinds, "required", "ignore")...)
}

// written refuses what stands in a message of limits beside some of its fields.
func written(limits proto.Message, names ...protoreflect.Name) error {
	var err error
	limits.ProtoReflect().Range(func(fd protoreflect.FieldDescriptor, v protoreflect.Value) bool {
		if !slices.Contains(names, fd.Name()) {
			err = fmt.Errorf("the limit %s = %v isn't written", fd.FullName(), v)
		}
		return err == nil
	})
	return err
}
