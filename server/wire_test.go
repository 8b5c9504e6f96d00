package server

import (
	"slices"
	"strings"
	"testing"

	"buf.build/go/protovalidate"
	"github.com/stretchr/testify/require"
	"google.golang.org/protobuf/encoding/protowire"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"
	"pgregory.net/rapid"

	v1 "drillwright/proto/drillwright/v1"
	"drillwright/rules"
	"drillwright/testdata/clients"
)

// readFromWire is whether a question is read from its bytes. If so, that says what the reader of messages says.
func readFromWire(t require.TestingT, m proto.Message) bool {
	sent, err := proto.Marshal(m)
	require.NoError(t, err)
	got := m.ProtoReflect().New().Interface()
	r := &reader{}
	if !r.fromWire(got.(asking), string(sent)) {
		return false
	}
	q, wrong := converted(m.(asking))
	require.Empty(t, wrong)
	require.Equal(t, q, &r.request)
	rest := proto.Clone(m)
	withoutClient(rest.(asking))
	require.True(t, proto.Equal(rest, got), "%v\n%v", rest, got)
	return true
}

// inCalendar is whether there are all days of a question.
func inCalendar(m proto.Message) bool {
	_, wrong := converted(m.(asking))
	return len(wrong) == 0
}

// TestSamplesAreReadFromWire: what clients send that are told of as our samples are is read so, or it would be for nothing.
func TestSamplesAreReadFromWire(t *testing.T) {
	for _, f := range clients.Files() {
		c := reread(t, string(f.Data))
		require.True(t, readFromWire(t, &v1.SubstituteRequest{Profile: c.Profile, Complaints: c.Complaints, AsOf: c.AsOf, Lift: "back-squat",
			KitTaken: []string{"barbell"}, StationsTaken: []string{"rack"}, Limit: 3, View: v1.View_BASIC}), f.Name)
	}
	require.False(t, (&reader{}).fromWire(fileAsked{}, ""), "what is no question isn't read")
}

// TestWireIsTheContract: whatever bytes are read, proto.Unmarshal reads them too, the library's walk over the limits lets them
// through, and the reader of messages says the same of them. They are those of questions, changed: fields twice, left out, in another
// place, unknown, of another type, longer than need be, cut off, with bytes that are no text; in any message of them.
func TestWireIsTheContract(t *testing.T) {
	library, err := protovalidate.New()
	require.NoError(t, err)
	e, err := rules.Embedded()
	require.NoError(t, err)
	full := fullProfile(t, e)
	read, refused := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		m := rapid.SampledFrom(everyQuestion).Draw(t, "question").ProtoReflect().New()
		if rapid.Bool().Draw(t, "everything known") {
			ask := proto.Clone(&v1.ScreenRequest{Profile: full.Profile, Complaints: full.Complaints, AsOf: full.AsOf})
			sent, err := proto.Marshal(ask)
			require.NoError(t, err)
			require.NoError(t, proto.Unmarshal(sent, m.Interface())) // all questions have the client in the same fields
		} else {
			fillWithin(m)
		}
		sent, err := proto.MarshalOptions{Deterministic: true}.Marshal(m.Interface())
		require.NoError(t, err)
		for range rapid.IntRange(1, 3).Draw(t, "changes") {
			sent = altered(t, sent, m.Descriptor())
		}
		got := m.New().Interface()
		r := &reader{}
		if !r.fromWire(got.(asking), string(sent)) {
			refused++
			return
		}
		read++
		is := m.New().Interface()
		require.NoError(t, proto.Unmarshal(sent, is))
		require.NoError(t, library.Validate(is))
		q, wrong := converted(is.(asking))
		require.Empty(t, wrong)
		require.Equal(t, q, &r.request)
		withoutClient(is.(asking))
		require.True(t, proto.Equal(is, got))
	})
	t.Logf("%d read, %d left to proto.Unmarshal", read, refused)
	require.Positive(t, read)
	require.Positive(t, refused)
}

// altered changes a field of a message, or of a message in it.
func altered(t *rapid.T, sent []byte, of protoreflect.MessageDescriptor) []byte {
	fields := fieldBytes(sent)
	if len(fields) == 0 {
		return append(slices.Clone(sent), rapid.SliceOfN(rapid.Byte(), 1, 3).Draw(t, "bytes")...)
	}
	i := rapid.IntRange(0, len(fields)-1).Draw(t, "at")
	number, as, n := protowire.ConsumeTag(fields[i])
	if n < 0 {
		return slices.Concat(slices.Delete(fields, i, i+1)...)
	}
	var in protoreflect.MessageDescriptor
	if fd := of.Fields().ByNumber(number); fd != nil && as == protowire.BytesType {
		in = fd.Message()
	}
	if in != nil && rapid.IntRange(0, 4).Draw(t, "within") > 0 {
		value, _ := protowire.ConsumeBytes(fields[i][n:])
		fields[i] = protowire.AppendBytes(protowire.AppendTag(nil, number, as), altered(t, value, in))
		return slices.Concat(fields...)
	}
	switch rapid.SampledFrom([]string{"twice", "gone", "moved", "unknown", "other type", "long", "cut", "no text", "byte", "other"}).Draw(t, "way") {
	case "twice":
		fields = slices.Insert(fields, rapid.IntRange(0, len(fields)).Draw(t, "again at"), fields[i])
	case "gone":
		fields = slices.Delete(fields, i, i+1)
	case "moved":
		field := fields[i]
		fields = slices.Delete(fields, i, i+1)
		fields = slices.Insert(fields, rapid.IntRange(0, len(fields)).Draw(t, "to"), field)
	case "unknown":
		fields = append(fields, protowire.AppendVarint(protowire.AppendTag(nil, 1000, protowire.VarintType), 1))
	case "other type":
		fields[i] = append(protowire.AppendTag(nil, number, rapid.SampledFrom([]protowire.Type{0, 1, 2, 3, 4, 5}).Draw(t, "type")), fields[i][n:]...)
	case "long": // the same number in more bytes than need be
		if as == protowire.VarintType {
			v, _ := protowire.ConsumeVarint(fields[i][n:])
			fields[i] = append(protowire.AppendTag(nil, number, as), byte(v)|0x80, byte(v>>7)|0x80, byte(v>>14)&0x7f)
		} else {
			fields[i] = append([]byte{fields[i][0] | 0x80, 0}, fields[i][1:]...)
		}
	case "cut":
		fields = append(fields[:i], fields[i][:rapid.IntRange(0, len(fields[i])-1).Draw(t, "to")])
	case "no text":
		fields[i] = protowire.AppendBytes(protowire.AppendTag(nil, number, protowire.BytesType), []byte("a\xffb"))
	case "byte":
		fields[i] = slices.Clone(fields[i])
		fields[i][rapid.IntRange(0, len(fields[i])-1).Draw(t, "which")] = rapid.Byte().Draw(t, "byte")
	case "other":
		fields[i] = append(protowire.AppendTag(nil, number, as), fields[rapid.IntRange(0, len(fields)-1).Draw(t, "of")][1:]...)
	}
	return slices.Concat(fields...)
}

// fieldBytes are the bytes of a message field by field; what isn't readable is one.
func fieldBytes(sent []byte) [][]byte {
	var fields [][]byte
	for len(sent) > 0 {
		_, _, n := protowire.ConsumeField(sent)
		if n < 0 {
			n = len(sent)
		}
		fields, sent = append(fields, sent[:n:n]), sent[n:]
	}
	return fields
}

// TestWireIsBounded: a message of a million messages isn't read to its end.
func TestWireIsBounded(t *testing.T) {
	within := func(field protowire.Number, message string) string {
		return string(protowire.AppendString(protowire.AppendTag(nil, field, protowire.BytesType), message))
	}
	r := &reader{}
	require.False(t, r.fromWire(&v1.ScreenRequest{}, strings.Repeat(within(2, ""), 1_000_000)))
	require.LessOrEqual(t, cap(r.room.complaint.list), 64)
	require.False(t, r.fromWire(&v1.ScreenRequest{}, within(1, within(16, strings.Repeat(within(1, ""), 1_000_000)))))
	require.LessOrEqual(t, cap(r.room.loggedSet.list), 4096)
}
