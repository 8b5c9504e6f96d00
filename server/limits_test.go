package server

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"buf.build/go/protovalidate"
	"github.com/stretchr/testify/require"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"
	"pgregory.net/rapid"

	v1 "drillwright/proto/drillwright/v1"
)

var everyQuestion = []proto.Message{&v1.ScreenRequest{}, &v1.SubstituteRequest{}, &v1.SelectRequest{}, &v1.ExplainRequest{}}

// TestLimitsAreTheLibrarys holds the reader from bytes against the library's walk over the contract: it reads what that walk lets
// through, and says the same of it as the reader of messages does. Of each question with something in
// every field, each field in turn says every value at, within and beyond what could bound it, or nothing; and so do several at once.
func TestLimitsAreTheLibrarys(t *testing.T) {
	library, err := protovalidate.New()
	require.NoError(t, err)
	for _, question := range everyQuestion {
		m := question.ProtoReflect().New()
		fillWithin(m)
		require.NoError(t, library.Validate(m.Interface()), "the question to begin with")
		accepted, refused := 0, 0
		agree := func(path string) {
			broken := library.Validate(m.Interface())
			if broken == nil {
				accepted++
			} else {
				refused++
			}
			require.Equal(t, broken == nil && inCalendar(m.Interface()), readFromWire(t, m.Interface()), "%s: %v", path, broken)
		}
		agree(string(m.Descriptor().Name()))
		atEdges(m, string(m.Descriptor().Name()), agree)
		require.Greater(t, accepted, 100)
		require.Greater(t, refused, 100)
	}
	rapid.Check(t, func(t *rapid.T) {
		m := rapid.SampledFrom(everyQuestion).Draw(t, "question").ProtoReflect().New()
		fillWithin(m)
		someEdges(t, m)
		broken := library.Validate(m.Interface())
		require.Equal(t, broken == nil && inCalendar(m.Interface()), readFromWire(t, m.Interface()), "%v", broken)
	})
}

// fillWithin says something within the limits in every field, in one item of every list and one entry of every map.
func fillWithin(m protoreflect.Message) {
	for i := range m.Descriptor().Fields().Len() {
		fd := m.Descriptor().Fields().Get(i)
		rules, err := protovalidate.ResolveFieldRules(fd)
		if err != nil {
			panic(err)
		}
		switch {
		case fd.IsMap():
			value := m.NewField(fd).Map().NewValue()
			if fd.MapValue().Message() != nil {
				fillWithin(value.Message())
			} else {
				value = within(fd.MapValue(), "", nil)
			}
			m.Mutable(fd).Map().Set(protoreflect.ValueOfString("a").MapKey(), value)
		case fd.IsList():
			list := m.Mutable(fd).List()
			if fd.Message() != nil {
				fillWithin(list.AppendMutable().Message())
			} else {
				list.Append(within(fd, "", nil))
			}
		case fd.Message() != nil:
			fillWithin(m.Mutable(fd).Message())
		default:
			m.Set(fd, within(fd, rules.GetString().GetPattern(), rules.GetEnum().GetIn()))
		}
	}
}

func within(fd protoreflect.FieldDescriptor, pattern string, in []int32) protoreflect.Value {
	switch fd.Kind() {
	case protoreflect.StringKind:
		if pattern != "" {
			return protoreflect.ValueOfString("2026-11-20")
		}
		return protoreflect.ValueOfString("a")
	case protoreflect.BoolKind:
		return protoreflect.ValueOfBool(true)
	case protoreflect.EnumKind:
		if len(in) > 0 {
			return protoreflect.ValueOfEnum(protoreflect.EnumNumber(in[0]))
		}
		return protoreflect.ValueOfEnum(1)
	case protoreflect.Int32Kind:
		return protoreflect.ValueOfInt32(int32(leastOf(fd)))
	case protoreflect.DoubleKind:
		return protoreflect.ValueOfFloat64(leastOf(fd))
	}
	panic(fmt.Sprintf("a field of another kind: %s", fd.FullName()))
}

func leastOf(fd protoreflect.FieldDescriptor) float64 {
	rules, err := protovalidate.ResolveFieldRules(fd)
	if err != nil {
		panic(err)
	}
	return max(1, float64(rules.GetInt32().GetGte()), rules.GetDouble().GetGte())
}

// atEdges sets each field of a message, and of all in it, to each value that may be an edge, shows it, and puts it back.
func atEdges(m protoreflect.Message, path string, show func(path string)) {
	for i := range m.Descriptor().Fields().Len() {
		fd := m.Descriptor().Fields().Get(i)
		at := path + "." + string(fd.Name())
		was := proto.Clone(m.Interface()).ProtoReflect().Get(fd) // what m.Get gives is the field itself
		m.Clear(fd)
		show(at + " left out")
		switch {
		case fd.IsMap():
			for _, n := range sizesOf(fd) {
				filled := m.NewField(fd)
				for k := range n {
					value := filled.Map().NewValue()
					was.Map().Range(func(_ protoreflect.MapKey, v protoreflect.Value) bool { value = v; return false })
					filled.Map().Set(protoreflect.ValueOfString(fmt.Sprint(k)).MapKey(), value)
				}
				m.Set(fd, filled)
				show(fmt.Sprintf("%s of %d", at, n))
			}
			for _, key := range texts {
				filled := m.NewField(fd)
				was.Map().Range(func(_ protoreflect.MapKey, v protoreflect.Value) bool {
					filled.Map().Set(protoreflect.ValueOfString(key).MapKey(), v)
					return true
				})
				m.Set(fd, filled)
				show(fmt.Sprintf("%s[%q]", at, key))
			}
			m.Set(fd, was)
			is := m.Get(fd).Map()
			is.Range(func(k protoreflect.MapKey, v protoreflect.Value) bool {
				if fd.MapValue().Message() != nil {
					atEdges(v.Message(), at+"[]", show)
					return true
				}
				for _, edge := range edgesOf(fd.MapValue()) {
					is.Set(k, edge)
					show(fmt.Sprintf("%s[] = %v", at, edge))
				}
				is.Set(k, v)
				return true
			})
		case fd.IsList():
			for _, n := range sizesOf(fd) {
				filled := m.NewField(fd)
				for range n {
					filled.List().Append(was.List().Get(0))
				}
				m.Set(fd, filled)
				show(fmt.Sprintf("%s of %d", at, n))
			}
			m.Set(fd, was)
			if fd.Message() != nil {
				atEdges(m.Get(fd).List().Get(0).Message(), at+"[0]", show)
				break
			}
			is := m.Get(fd).List()
			first := is.Get(0)
			for _, edge := range edgesOf(fd) {
				is.Set(0, edge)
				show(fmt.Sprintf("%s[0] = %v", at, edge))
			}
			is.Set(0, first)
		case fd.Message() != nil:
			m.Set(fd, m.NewField(fd))
			show(at + " empty")
			m.Set(fd, was)
			atEdges(m.Get(fd).Message(), at, show)
		default:
			for _, edge := range edgesOf(fd) {
				m.Set(fd, edge)
				show(fmt.Sprintf("%s = %v", at, edge))
			}
		}
		m.Set(fd, was)
	}
}

// someEdges leaves some fields of a message, and of all in it, at an edge or out.
func someEdges(t *rapid.T, m protoreflect.Message) {
	for i := range m.Descriptor().Fields().Len() {
		fd := m.Descriptor().Fields().Get(i)
		switch chance := rapid.IntRange(0, 99).Draw(t, string(fd.Name())); {
		case chance == 0:
			m.Clear(fd)
		case fd.IsMap() && fd.MapValue().Message() != nil:
			m.Get(fd).Map().Range(func(_ protoreflect.MapKey, v protoreflect.Value) bool {
				someEdges(t, v.Message())
				return true
			})
		case fd.IsList() && fd.Message() != nil:
			someEdges(t, m.Get(fd).List().Get(0).Message())
		case fd.IsMap() || fd.IsList():
		case fd.Message() != nil:
			someEdges(t, m.Get(fd).Message())
		case chance < 3:
			m.Set(fd, rapid.SampledFrom(edgesOf(fd)).Draw(t, string(fd.Name())+" at"))
		}
	}
}

// sizesOf a list or map, up to one more than it may hold.
func sizesOf(fd protoreflect.FieldDescriptor) []int {
	rules, err := protovalidate.ResolveFieldRules(fd)
	if err != nil {
		panic(err)
	}
	most := int(max(rules.GetRepeated().GetMaxItems(), rules.GetMap().GetMaxPairs()))
	return []int{2, most, most + 1}
}

var texts = []string{"", "a", strings.Repeat("a", 40), strings.Repeat("a", 80), strings.Repeat("é", 80), strings.Repeat("a", 81),
	strings.Repeat("é", 81), strings.Repeat("a", 128), strings.Repeat("é", 128), strings.Repeat("a", 129), strings.Repeat("a", 5000),
	"2026-11-20", "2026-99-99", "2026-1-20", "2026-11-20\n", " 2026-11-20", "20261120--", "2026-11-2é", "2026/11/20"}

func edgesOf(fd protoreflect.FieldDescriptor) []protoreflect.Value {
	var all []protoreflect.Value
	rules, err := protovalidate.ResolveFieldRules(fd)
	if err != nil {
		panic(err)
	}
	switch fd.Kind() {
	case protoreflect.StringKind:
		for _, s := range texts {
			all = append(all, protoreflect.ValueOfString(s))
		}
	case protoreflect.BoolKind:
		all = append(all, protoreflect.ValueOfBool(false), protoreflect.ValueOfBool(true))
	case protoreflect.EnumKind:
		for n := -1; n <= fd.Enum().Values().Len()+1; n++ {
			all = append(all, protoreflect.ValueOfEnum(protoreflect.EnumNumber(n)))
		}
	case protoreflect.Int32Kind:
		low, high := rules.GetInt32().GetGte(), rules.GetInt32().GetLte()
		for _, n := range []int32{math.MinInt32, -1, 0, 1, low - 1, low, low + 1, high - 1, high, high + 1, math.MaxInt32} {
			all = append(all, protoreflect.ValueOfInt32(n))
		}
	case protoreflect.DoubleKind:
		low, high := rules.GetDouble().GetGte(), rules.GetDouble().GetLte()
		for _, n := range []float64{math.NaN(), math.Inf(-1), math.Inf(1), math.Copysign(0, -1), 0, 1, -1, low, math.Nextafter(low, -1e9),
			high, math.Nextafter(high, 1e9), math.MaxFloat64} {
			all = append(all, protoreflect.ValueOfFloat64(n))
		}
	}
	return all
}
