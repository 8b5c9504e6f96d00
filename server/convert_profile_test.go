package server

import (
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"
	"pgregory.net/rapid"

	v1 "drillwright/proto/drillwright/v1"
	"drillwright/rules/client"
)

// Nothing of a profile is lost on its way in: what the domain holds makes the same message again.
func TestProfileRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		sent := &v1.Profile{}
		fill(t, sent.ProtoReflect())
		if len(sent.GetLog().GetSets()) == 0 {
			sent.Log = nil // an empty log says as much as none
		}
		r := &reader{}
		r.convert(&v1.ScreenRequest{Profile: sent})
		if len(r.list) > 0 {
			t.Fatalf("good days refused: %v", r.list)
		}
		if back := profileTo(&r.profile); !proto.Equal(sent, back) {
			t.Fatalf("sent %v\ngot  %v", sent, back)
		}
	})
}

func TestComplaintRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		sent := &v1.Complaint{}
		fill(t, sent.ProtoReflect())
		sent.Intensity = proto.Float64(rapid.Float64Range(0, 10).Draw(t, "intensity"))
		list := (&reader{}).toComplaintList(nil, []*v1.Complaint{sent}, "complaints")
		back := complaintTo(&list[0])
		if !proto.Equal(sent, back) {
			t.Fatalf("sent %v\ngot  %v", sent, back)
		}
	})
}

func TestMinusZeroIsZero(t *testing.T) {
	require.False(t, math.Signbit(fold(math.Copysign(0, -1))))
}

// fill draws every field of a message: any field may be left out that the contract doesn't require.
func fill(t *rapid.T, m protoreflect.Message) {
	fields := m.Descriptor().Fields()
	for i := range fields.Len() {
		fd := fields.Get(i)
		name := string(fd.Name())
		switch {
		case fd.IsMap():
			for range rapid.IntRange(0, 2).Draw(t, name) {
				key := protoreflect.ValueOfString(word5().Draw(t, "key")).MapKey()
				if fd.MapValue().Message() != nil {
					fillEntry(t, m.Mutable(fd).Map().Mutable(key).Message())
				} else {
					m.Mutable(fd).Map().Set(key, scalar(t, fd.MapValue()))
				}
			}
		case fd.IsList():
			for range rapid.IntRange(0, 2).Draw(t, name) {
				if fd.Message() != nil {
					fill(t, m.Mutable(fd).List().AppendMutable().Message())
				} else {
					m.Mutable(fd).List().Append(scalar(t, fd))
				}
			}
		case fd.Message() != nil:
			if rapid.Bool().Draw(t, name) {
				fill(t, m.Mutable(fd).Message())
			}
		case required(fd) || rapid.Bool().Draw(t, name):
			m.Set(fd, scalar(t, fd))
		}
	}
}

// fillEntry fills a map's value; an entry with no side at all would be nothing to keep.
func fillEntry(t *rapid.T, m protoreflect.Message) {
	fill(t, m)
	if left := m.Descriptor().Fields().ByName("left"); left != nil && !slices.ContainsFunc([]protoreflect.Name{"left", "right", "midline"},
		func(n protoreflect.Name) bool { return m.Has(m.Descriptor().Fields().ByName(n)) }) {
		fill(t, m.Mutable(left).Message())
	}
}

// required fields of numbers have presence on the wire and none in the domain.
func required(fd protoreflect.FieldDescriptor) bool {
	return slices.Contains([]protoreflect.FullName{"drillwright.v1.Measure.value", "drillwright.v1.PainfulArc.from",
		"drillwright.v1.PainfulArc.to", "drillwright.v1.Complaint.intensity"}, fd.FullName())
}

func word5() *rapid.Generator[string] { return rapid.StringMatching(`[a-z]{1,5}(\.[a-z]{1,5})?`) }

func scalar(t *rapid.T, fd protoreflect.FieldDescriptor) protoreflect.Value {
	switch name := string(fd.Name()); fd.Kind() {
	case protoreflect.EnumKind:
		return protoreflect.ValueOfEnum(protoreflect.EnumNumber(rapid.IntRange(0, fd.Enum().Values().Len()-1).Draw(t, name)))
	case protoreflect.BoolKind:
		return protoreflect.ValueOfBool(rapid.Bool().Draw(t, name))
	case protoreflect.Int32Kind:
		return protoreflect.ValueOfInt32(rapid.Int32Range(0, 400).Draw(t, name))
	case protoreflect.DoubleKind:
		return protoreflect.ValueOfFloat64(fold(rapid.Float64Range(-400, 400).Draw(t, name)))
	default:
		if slices.Contains([]string{"date", "since", "given", "until", "on", "day", "looked_at"}, name) {
			return protoreflect.ValueOfString(client.Day(rapid.IntRange(1, 30000).Draw(t, name)).String())
		}
		return protoreflect.ValueOfString(word5().Draw(t, name))
	}
}
