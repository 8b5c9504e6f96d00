package clientfile

import (
	"fmt"
	"slices"
	"strings"

	"buf.build/gen/go/bufbuild/protovalidate/protocolbuffers/go/buf/validate"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"

	"drillwright/catalog"
	"drillwright/catalog/authored"
	v1 "drillwright/proto/drillwright/v1"
	"drillwright/rules"
	"drillwright/rules/client"
)

// wordsOf names the list that an id comes from, by the field that holds it or has it as a key. Other texts are free.
var wordsOf = map[string]string{
	"Profile.range_deg": "motion", "Profile.passive_deg": "motion", "Profile.painful_arc_deg": "motion",
	"Profile.strength_n": "motion", "Profile.hold_seconds": "motion", "Profile.best": "test",
	"Profile.pain": "region", "Profile.rung": "region", "Profile.answers": "question",
	"Profile.goal_lifts": "drill", "Profile.disliked": "drill", "LoggedSet.drill": "drill", "Standing.at": "rung",
	"Kit.has": "kit", "Condition.id": "condition", "Condition.region": "region", "Medicine.class": "medicine", "Surgery.region": "region",
	"Clearance.region": "region", "Clearance.range_deg": "motion", "Clearance.covers": "condition",
	"Screening.list": "list", "Screening.also": "list", "Complaint.region": "region",
}

// inDegrees are the fields in which only motions with a range stand.
var inDegrees = []string{"Profile.range_deg", "Profile.passive_deg", "Profile.painful_arc_deg", "Clearance.range_deg"}

// Schema is the JSON Schema of a client file: the contract's fields, comments and limits, and the words of an edition.
func Schema(e *rules.Edition) *authored.Schema {
	w := &shapes{Shapes: authored.Shapes{Words: e.Words, Defs: map[string]*authored.Schema{}}, frame: e.Frame, voc: e.Catalogue.Vocabulary}
	request := (&v1.ScreenRequest{}).ProtoReflect().Descriptor().Fields()
	file := w.object(request.ByName("profile").Message())
	for _, beside := range besideProfile {
		file.Properties[beside] = w.field(request.ByName(protoreflect.Name(beside)))
	}
	file.Dialect, file.Title, file.Defs = authored.Dialect, "A client", w.Defs
	file.Description += " Beside the profile stand complaints and as_of. Words are those of revision " + e.Revision + "."
	return file
}

// shapes walks the contract as reader does.
type shapes struct {
	authored.Shapes
	frame *client.Frame
	voc   *catalog.Vocabulary
}

func (w *shapes) message(m protoreflect.MessageDescriptor) *authored.Schema {
	return w.Define("client."+string(m.Name()), func() *authored.Schema { return w.object(m) })
}

func (w *shapes) object(m protoreflect.MessageDescriptor) *authored.Schema {
	s := &authored.Schema{Types: authored.Types{"object"}, Description: v1.Comment(m), Properties: map[string]*authored.Schema{},
		Others: false}
	for i := range m.Fields().Len() {
		fd := m.Fields().Get(i)
		s.Properties[string(fd.Name())] = w.field(fd)
		if limits(fd).GetRequired() {
			s.Required = append(s.Required, string(fd.Name()))
		}
	}
	return s
}

func (w *shapes) field(fd protoreflect.FieldDescriptor) *authored.Schema {
	name, rule := fieldName(fd), limits(fd)
	var s *authored.Schema
	switch {
	case fd.IsMap():
		list := wordsOf[name]
		s = authored.Keyed(w.keys(name, list), func(key string) *authored.Schema {
			value := w.value(fd.MapValue(), name, rule.GetMap().GetValues())
			value.Description = w.about(list, key)
			if fd.MapValue().Message() != nil {
				value.Not = w.notOf(list, key)
			}
			return value
		})
	case fd.IsList():
		s = &authored.Schema{Types: authored.Types{"array"}, Items: w.value(fd, name, rule.GetRepeated().GetItems())}
		s.MaxItems = whole64(rule.GetRepeated().MaxItems)
	default:
		s = w.value(fd, name, rule)
	}
	s.Description = strings.TrimSpace(v1.Comment(fd) + " " + s.Description)
	return s
}

// keys are the words that may stand as keys of a mapping.
func (w *shapes) keys(name, list string) []string {
	words := slices.Clone(w.Words(list))
	if slices.Contains(inDegrees, name) {
		words = slices.DeleteFunc(words, func(id string) bool { return !w.voc.Motion(id).HasRange() })
	}
	return words
}

// about is what an editor says of an id.
func (w *shapes) about(list, id string) string {
	switch {
	case list == "question":
		return w.frame.Question(id).Asks
	case list == "motion" && w.voc.Motion(id).Position != "":
		return w.voc.Name(list, id) + ": " + w.voc.Motion(id).Position
	}
	return w.voc.Name(list, id)
}

// notOf is what a motion or region doesn't have: it is told left and right, or once.
func (w *shapes) notOf(list, id string) *authored.Schema {
	switch {
	case list == "motion" && w.voc.Motion(id).Sided, list == "region" && w.voc.Sided(id):
		return authored.Has("midline")
	case list == "motion", list == "region":
		return authored.HasNone("left", "right").Not
	}
	return nil
}

func (w *shapes) value(fd protoreflect.FieldDescriptor, name string, rule *validate.FieldRules) *authored.Schema {
	switch fd.Kind() {
	case protoreflect.MessageKind:
		return w.message(fd.Message())
	case protoreflect.EnumKind:
		return w.enum(fd.Enum(), rule.GetEnum().GetIn())
	case protoreflect.BoolKind:
		return &authored.Schema{Types: authored.Types{"boolean"}}
	case protoreflect.Int32Kind:
		s := &authored.Schema{Types: authored.Types{"integer"}}
		if i := rule.GetInt32(); i.HasGte() && i.HasLte() {
			s.Minimum, s.Maximum = float(i.GetGte()), float(i.GetLte())
		}
		return s
	case protoreflect.DoubleKind:
		s := &authored.Schema{Types: authored.Types{"number"}}
		if d := rule.GetDouble(); d.HasGte() && d.HasLte() {
			s.Minimum, s.Maximum = float(d.GetGte()), float(d.GetLte())
		}
		return s
	case protoreflect.StringKind:
		return w.text(name, rule)
	}
	panic(fmt.Sprintf("a client file has no %s", fd.Kind()))
}

func (w *shapes) text(name string, rule *validate.FieldRules) *authored.Schema {
	limit := rule.GetString()
	switch {
	case wordsOf[name] != "":
		return w.OneOf(wordsOf[name])
	case limit.GetPattern() != "":
		return &authored.Schema{Types: authored.Types{"string"}, Pattern: limit.GetPattern()}
	}
	s := authored.FreeText()
	if limit != nil {
		s.MaxLength = whole64(limit.MaxLen)
	}
	return s
}

// enum has the words of an enum but its zero value, which stands for a field that is left out.
func (w *shapes) enum(enum protoreflect.EnumDescriptor, in []int32) *authored.Schema {
	s := &authored.Schema{Types: authored.Types{"string"}}
	for i := 1; i < enum.Values().Len(); i++ {
		v := enum.Values().Get(i)
		if in != nil && !slices.Contains(in, int32(v.Number())) {
			continue
		}
		s.Enum = append(s.Enum, string(v.Name()))
		s.Description += fmt.Sprintf(" %s: %s", v.Name(), v1.Comment(v))
	}
	return s
}

func limits(fd protoreflect.FieldDescriptor) *validate.FieldRules {
	rule, _ := proto.GetExtension(fd.Options(), validate.E_Field).(*validate.FieldRules)
	return rule
}

func fieldName(fd protoreflect.FieldDescriptor) string {
	return string(fd.ContainingMessage().Name()) + "." + string(fd.Name())
}

func whole64(n *uint64) *int {
	if n == nil {
		return nil
	}
	i := int(*n)
	return &i
}

func float[N int32 | float64](n N) *float64 {
	f := float64(n)
	return &f
}
