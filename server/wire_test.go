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
		if asContract(t, library, m, sent) {
			read++
		} else {
			refused++
		}
	})
	t.Logf("%d read, %d left to proto.Unmarshal", read, refused)
	require.Positive(t, read)
	require.Positive(t, refused)
}

// asContract is whether bytes are read as a question. If so, they are of the contract, and mean the same.
func asContract(t require.TestingT, library protovalidate.Validator, question protoreflect.Message, sent []byte) bool {
	got := question.New().Interface()
	r := &reader{}
	if !r.fromWire(got.(asking), string(sent)) {
		return false
	}
	is := question.New().Interface()
	require.NoError(t, proto.Unmarshal(sent, is))
	require.NoError(t, library.Validate(is))
	q, wrong := converted(is.(asking))
	require.Empty(t, wrong)
	require.Equal(t, q, &r.request)
	withoutClient(is.(asking))
	require.True(t, proto.Equal(is, got))
	return true
}

// TestWireCutOff: no beginning of a question is read as more than it is.
func TestWireCutOff(t *testing.T) {
	library, err := protovalidate.New()
	require.NoError(t, err)
	c := sample(t)
	ask := &v1.SubstituteRequest{AsOf: c.AsOf, Lift: "back-squat", Profile: c.Profile, Complaints: c.Complaints}
	sent, err := proto.MarshalOptions{Deterministic: true}.Marshal(ask)
	require.NoError(t, err)
	require.True(t, asContract(t, library, ask.ProtoReflect(), sent))
	for n := range sent {
		last := append([]byte(nil), sent[n:]...) // the lift and the day, so that what is left may be whole
		asContract(t, library, ask.ProtoReflect(), append(last, sent[:n]...))
		asContract(t, library, ask.ProtoReflect(), sent[:n])
	}
}

// TestUnusualWireIsLeft: what few writers write, and may mean something else than its parts, is left to proto.Unmarshal.
func TestUnusualWireIsLeft(t *testing.T) {
	field := func(number protowire.Number, parts ...string) string {
		return string(protowire.AppendString(protowire.AppendTag(nil, number, protowire.BytesType), strings.Join(parts, "")))
	}
	const profile, asOf, kit, conditions, pain = 1, 3, 4, 5, 11
	fields := (&v1.Profile{}).ProtoReflect().Descriptor().Fields()
	for name, number := range map[protoreflect.Name]protowire.Number{"kit": kit, "pain": pain, "conditions": conditions} {
		require.Equal(t, number, fields.ByName(name).Number())
	}
	rest := field(asOf, "2026-11-24")
	key, left := field(1, "shoulder"), field(1, field(6, "2026-11-20"))
	for name, one := range map[string]struct {
		sent string
		read bool
	}{
		"as most write it":           {field(profile, field(pain, key, field(2, left))) + rest, true},
		"in another order":           {rest + field(profile, field(pain, key, field(2, left))), true},
		"no profile":                 {rest, false},
		"a profile in two parts":     {field(profile, field(kit)) + field(profile, field(pain, key, field(2, left))) + rest, false},
		"a kit in two parts":         {field(profile, field(kit, field(1, "band")), field(kit, field(1, "bench"))) + rest, false},
		"conditions in two parts":    {field(profile, field(conditions), field(conditions)) + rest, false},
		"a side in two parts":        {field(profile, field(pain, key, field(2, left, left))) + rest, false},
		"one key twice":              {field(profile, field(pain, key, field(2, left)), field(pain, key, field(2, left))) + rest, false},
		"an entry's key twice":       {field(profile, field(pain, key, key, field(2, left))) + rest, false},
		"an entry's value twice":     {field(profile, field(pain, key, field(2, left), field(2, left))) + rest, false},
		"an entry's value first":     {field(profile, field(pain, field(2, left), key)) + rest, false},
		"an entry without a key":     {field(profile, field(pain, field(2, left))) + rest, false},
		"an entry without a value":   {field(profile, field(pain, key)) + rest, false},
		"more in an entry":           {field(profile, field(pain, key, field(2, left), field(3, ""))) + rest, false},
		"a field of another book":    {field(profile, field(1000, "")) + rest, false},
		"the day twice":              {field(profile) + field(asOf, "2026-11-23") + rest, true},
		"bytes that are no text":     {field(profile, field(1, "a\xff")) + rest, false},
		"a day of no calendar":       {field(profile) + field(asOf, "2026-02-30"), false},
		"beyond the contract's":      {field(profile, field(1, strings.Repeat("a", 129))) + rest, false},
		"a length beyond the end":    {field(profile) + rest[:len(rest)-1], false},
		"a number without an end":    {field(profile) + rest + "\x08\xff", false},
		"a tag of a field of no one": {field(profile) + rest + "\x00", false},
	} {
		require.Equal(t, one.read, (&reader{}).fromWire(&v1.ScreenRequest{}, one.sent), name)
	}
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
	ways := []string{"twice", "gone", "apart", "moved", "unknown", "other type", "long", "cut", "no text", "byte", "other"}
	switch rapid.SampledFrom(ways).Draw(t, "way") {
	case "twice":
		fields = slices.Insert(fields, rapid.IntRange(0, len(fields)).Draw(t, "again at"), fields[i])
	case "apart": // a message in two parts
		if in != nil {
			value, _ := protowire.ConsumeBytes(fields[i][n:])
			parts := fieldBytes(value)
			at := rapid.IntRange(0, len(parts)).Draw(t, "after")
			tag := protowire.AppendTag(nil, number, as)
			fields[i] = append(protowire.AppendBytes(slices.Clone(tag), slices.Concat(parts[:at]...)),
				protowire.AppendBytes(tag, slices.Concat(parts[at:]...))...)
		}
	case "gone":
		fields = slices.Delete(fields, i, i+1)
	case "moved":
		field := fields[i]
		fields = slices.Delete(fields, i, i+1)
		fields = slices.Insert(fields, rapid.IntRange(0, len(fields)).Draw(t, "to"), field)
	case "unknown":
		fields = append(fields, protowire.AppendVarint(protowire.AppendTag(nil, 1000, protowire.VarintType), 1))
	case "other type":
		other := rapid.SampledFrom([]protowire.Type{0, 1, 2, 3, 4, 5}).Draw(t, "type")
		fields[i] = append(protowire.AppendTag(nil, number, other), fields[i][n:]...)
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
