package server_test

import (
	"bytes"
	"context"
	"math/rand/v2"
	"regexp"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"
	"google.golang.org/grpc"
	"google.golang.org/protobuf/encoding/prototext"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"

	"drillwright/catalog/authored"
	v1 "drillwright/proto/drillwright/v1"
	"drillwright/server"
	"drillwright/server/clientfile"
	"drillwright/testdata/clients"
)

// shuffle reorders every list of a message and of those within it. Some items are then there twice, but for the sets of a log.
func shuffle(dice *rand.Rand, m protoreflect.Message) {
	m.Range(func(fd protoreflect.FieldDescriptor, v protoreflect.Value) bool {
		switch {
		case fd.IsList():
			list := v.List()
			if fd.Name() != "sets" && list.Len() < 20 {
				list.Append(list.Get(dice.IntN(list.Len())))
			}
			dice.Shuffle(list.Len(), func(i, j int) {
				a, b := list.Get(i), list.Get(j)
				list.Set(i, b)
				list.Set(j, a)
			})
			for i := range list.Len() {
				if fd.Message() != nil {
					shuffle(dice, list.Get(i).Message())
				}
			}
		case fd.Message() != nil && !fd.IsMap():
			shuffle(dice, v.Message())
		}
		return true
	})
}

type question interface {
	proto.Message
	GetProfile() *v1.Profile
	GetComplaints() []*v1.Complaint
}

type answer interface {
	proto.Message
	GetHeader() *v1.AnswerHeader
}

// questions are those that a client is asked about.
func questions(c *clientfile.File) map[string]question {
	kit, stations := []string{"dumbbell", "band", "bench"}, []string{"rack", "cable_column"}
	view := v1.View_REASONS
	return map[string]question{
		"Screen": &v1.ScreenRequest{Profile: c.Profile, Complaints: c.Complaints, AsOf: c.AsOf},
		"Substitute": &v1.SubstituteRequest{Profile: c.Profile, Complaints: c.Complaints, AsOf: c.AsOf, Lift: "barbell-overhead-press",
			KitTaken: kit, StationsTaken: stations, View: view},
		"Select": &v1.SelectRequest{Profile: c.Profile, Complaints: c.Complaints, AsOf: c.AsOf, KitTaken: kit, StationsTaken: stations,
			View: view},
		"Explain": &v1.ExplainRequest{Profile: c.Profile, Complaints: c.Complaints, AsOf: c.AsOf, Drill: "push-press", KitTaken: kit,
			StationsTaken: stations},
	}
}

var complaintIndex = regexp.MustCompile(`^complaints\[(\d+)\]`)

// answered is an answer as bytes, without the reference, which is echoed, and with complaints named by what they say: their indexes
// are those of the question.
func answered(ctx context.Context, t *testing.T, conn *grpc.ClientConn, method string, q question) (answer, []byte) {
	a := map[string]answer{"Screen": &v1.ScreenResponse{}, "Substitute": &v1.SubstituteResponse{}, "Select": &v1.SelectResponse{},
		"Explain": &v1.ExplainResponse{}}[method]
	require.NoError(t, conn.Invoke(ctx, "/drillwright.v1.SelectionService/"+method, q, a))
	require.Equal(t, q.GetProfile().GetRef(), a.GetHeader().Ref)
	a.GetHeader().Ref = ""
	for _, f := range a.GetHeader().GetTellFirst().GetFacts() {
		f.Field = complaintIndex.ReplaceAllStringFunc(f.Field, func(name string) string {
			i, err := strconv.Atoi(complaintIndex.FindStringSubmatch(name)[1])
			require.NoError(t, err)
			text, err := prototext.MarshalOptions{}.Marshal(q.GetComplaints()[i])
			require.NoError(t, err)
			return string(text)
		})
	}
	sent, err := proto.MarshalOptions{Deterministic: true}.Marshal(a)
	require.NoError(t, err)
	return a, sent
}

// TestOrderOfListsChangesNoAnswer: whatever the order of the lists of a question, what the platform calls the person and what was noted
// for a coach to read, the answer is the same, with its receipt. Each sample client is asked about, and joined with the next one.
func TestOrderOfListsChangesNoAnswer(t *testing.T) {
	if testing.Short() {
		t.Skip("asks too much for the race detector")
	}
	conn, ctx, dice := boot(t, server.Config{Edition: edition}), within(t), rand.New(rand.NewPCG(14, 1))
	var before *clientfile.File
	joined := 0
	for _, f := range clients.Files() {
		c, err := clientfile.Read(authored.File{Name: f.Name, Data: f.Data})
		require.NoError(t, err)
		asked := []*clientfile.File{c}
		if before != nil {
			both := &clientfile.File{Profile: proto.CloneOf(c.Profile), AsOf: max(c.AsOf, before.AsOf)}
			proto.Merge(both.Profile, before.Profile)
			both.Complaints = append(append(both.Complaints, c.Complaints...), before.Complaints...)
			screen := &v1.ScreenRequest{Profile: both.Profile, Complaints: both.Complaints, AsOf: both.AsOf}
			if conn.Invoke(ctx, "/drillwright.v1.SelectionService/Screen", screen, &v1.ScreenResponse{}) == nil {
				asked = append(asked, both)
				joined++
			}
		}
		for _, c := range asked {
			for method, q := range questions(c) {
				want, wantBytes := answered(ctx, t, conn, method, q)
				for range 2 {
					other := proto.Clone(q).(question)
					shuffle(dice, other.ProtoReflect())
					other.GetProfile().Ref = "somebody"
					for _, k := range other.GetProfile().GetConditions().GetKnown() {
						k.Detail = "a note"
					}
					got, gotBytes := answered(ctx, t, conn, method, other)
					require.Equal(t, prototext.Format(want), prototext.Format(got), "%s %s", f.Name, method)
					require.True(t, bytes.Equal(wantBytes, gotBytes), "%s %s", f.Name, method)
				}
			}
		}
		before = c
	}
	require.Greater(t, joined, len(clients.Files())/2)
}
