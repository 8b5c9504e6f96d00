package server

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"google.golang.org/grpc"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"
	"google.golang.org/protobuf/reflect/protoregistry"
	"google.golang.org/protobuf/types/dynamicpb"

	v1 "drillwright/proto/drillwright/v1"
)

// canary stands in a text of a request, and must not be seen again but in its answer.
const canary = "canary-4f1d0c"

// TestNoTextOfARequestIsLogged: each text of each request in turn, the others as they may be, of a member as of a draft. Log and
// metrics are then searched.
func TestNoTextOfARequestIsLogged(t *testing.T) {
	r := run(t, Config{CheckShare: 1}, nil)
	asked := 0
	for _, service := range []string{"SelectionService", "CatalogService", "RulebookService"} {
		found, err := protoregistry.GlobalFiles.FindDescriptorByName(protoreflect.FullName("drillwright.v1." + service))
		require.NoError(t, err)
		methods := found.(protoreflect.ServiceDescriptor).Methods()
		for i := range methods.Len() {
			m := methods.Get(i)
			name := "/drillwright.v1." + service + "/" + string(m.Name())
			ask := func(req proto.Message, options ...grpc.CallOption) {
				asked++
				_ = r.conn.Invoke(t.Context(), name, req, dynamicpb.NewMessage(m.Output()), options...) // refused or answered
			}
			base := dynamicpb.NewMessage(m.Input())
			fillWithin(base)
			if p := m.Input().Fields().ByName("profile"); p != nil {
				c := sampleClient(t)
				data, err := proto.Marshal(&v1.ScreenRequest{Profile: c.Profile, Complaints: c.Complaints, AsOf: c.AsOf})
				require.NoError(t, err)
				require.NoError(t, proto.UnmarshalOptions{Merge: true}.Unmarshal(data, base))
			}
			eachText(base, func(set func(string)) {
				set(canary)
				ask(base)
			})
		}
	}
	require.Greater(t, asked, 100)
	told := r.told()
	r.stop()
	require.NotEmpty(t, r.lines.String())
	for name, text := range map[string]string{"log": r.lines.String(), "metrics": told} {
		for line := range strings.Lines(text) {
			require.NotContains(t, line, canary, name)
		}
	}
}

// eachText shows each text of a message, which may be set until the next is shown; then it says what it said.
func eachText(m protoreflect.Message, show func(set func(string))) {
	text := protoreflect.ValueOfString
	m.Range(func(fd protoreflect.FieldDescriptor, v protoreflect.Value) bool {
		switch {
		case fd.IsMap():
			entries := v.Map()
			var keys []protoreflect.MapKey
			entries.Range(func(k protoreflect.MapKey, v protoreflect.Value) bool {
				if fd.MapValue().Message() != nil {
					eachText(v.Message(), show)
				}
				keys = append(keys, k)
				return true
			})
			was := entries.Get(keys[0])
			show(func(s string) { entries.Set(text(s).MapKey(), was) })
			entries.Clear(text(canary).MapKey())
		case fd.IsList() && fd.Message() != nil:
			for i := range v.List().Len() {
				eachText(v.List().Get(i).Message(), show)
			}
		case fd.IsList() && fd.Kind() == protoreflect.StringKind:
			was := v.List().Get(0)
			show(func(s string) { v.List().Set(0, text(s)) })
			v.List().Set(0, was)
		case fd.Message() != nil && !fd.IsList():
			eachText(v.Message(), show)
		case fd.Kind() == protoreflect.StringKind:
			show(func(s string) { m.Set(fd, text(s)) })
			m.Set(fd, v)
		}
		return true
	})
}
