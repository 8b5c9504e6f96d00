package server

import (
	"testing"

	"github.com/stretchr/testify/require"
	"google.golang.org/protobuf/proto"
	"pgregory.net/rapid"

	"drillwright/catalog/authored"
	v1 "drillwright/proto/drillwright/v1"
	"drillwright/server/clientfile"
	"drillwright/testdata/clients"
)

func reread(t require.TestingT, text string) *clientfile.File {
	c, err := clientfile.Read(authored.File{Name: "written.yaml", Data: []byte(text)})
	require.NoError(t, err, text)
	return c
}

func sameClient(t require.TestingT, want, got *clientfile.File) {
	require.Equal(t, want.AsOf, got.AsOf)
	require.True(t, proto.Equal(want.Profile, got.Profile), "%v\n%v", want.Profile, got.Profile)
	require.Equal(t, len(want.Complaints), len(got.Complaints))
	for i := range want.Complaints {
		require.True(t, proto.Equal(want.Complaints[i], got.Complaints[i]), "%v\n%v", want.Complaints[i], got.Complaints[i])
	}
}

// TestSamplesAreWrittenAsTheyAreRead: as messages, and by way of the request.
func TestSamplesAreWrittenAsTheyAreRead(t *testing.T) {
	require.NotEmpty(t, clients.Files())
	for _, f := range clients.Files() {
		c := reread(t, string(f.Data))
		sameClient(t, c, reread(t, c.Text()))

		r := &reader{}
		r.convert(fileAsked{c})
		require.Empty(t, r.list)
		written := WriteClient(&r.request)
		sameClient(t, c, reread(t, written))
		require.Equal(t, written, WriteClient(&r.request))
	}
}

func TestAnyClientIsWrittenAsItIsRead(t *testing.T) {
	refs := []string{"", "m-0412", "0412", "true", "null", "1e3", "a: b", "# c", "'", "two\nlines", "é\u2028\t", "2026-11-20"}
	rapid.Check(t, func(t *rapid.T) {
		c := &clientfile.File{Profile: &v1.Profile{}}
		fill(t, c.Profile.ProtoReflect())
		c.Profile.Ref = rapid.SampledFrom(refs).Draw(t, "ref")
		for range rapid.IntRange(0, 2).Draw(t, "complaints") {
			complaint := &v1.Complaint{}
			fill(t, complaint.ProtoReflect())
			c.Complaints = append(c.Complaints, complaint)
		}
		sameClient(t, c, reread(t, c.Text()))
	})
}
