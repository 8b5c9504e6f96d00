package server

import (
	"testing"

	"github.com/stretchr/testify/require"
	"google.golang.org/protobuf/proto"
	"pgregory.net/rapid"

	"drillwright/catalog/authored"
	v1 "drillwright/proto/drillwright/v1"
	"drillwright/rules"
	"drillwright/testdata/clients"
)

func reread(t require.TestingT, text string) *ClientFile {
	c, err := ReadClient(authored.File{Name: "written.yaml", Data: []byte(text)})
	require.NoError(t, err, text)
	return c
}

func sameClient(t require.TestingT, want, got *ClientFile) {
	require.Equal(t, want.AsOf, got.AsOf)
	require.True(t, proto.Equal(want.Profile, got.Profile), "%v\n%v", want.Profile, got.Profile)
	require.Equal(t, len(want.Complaints), len(got.Complaints))
	for i := range want.Complaints {
		require.True(t, proto.Equal(want.Complaints[i], got.Complaints[i]), "%v\n%v", want.Complaints[i], got.Complaints[i])
	}
}

// TestSamplesAreWrittenAsTheyAreRead: as messages, and by way of the request.
func TestSamplesAreWrittenAsTheyAreRead(t *testing.T) {
	e, err := rules.Embedded()
	require.NoError(t, err)
	require.NotEmpty(t, clients.Files())
	for _, f := range clients.Files() {
		c := reread(t, string(f.Data))
		sameClient(t, c, reread(t, c.Text()))

		r := &reader{}
		r.convert(e.Frame, fileAsked{c})
		require.Empty(t, r.list)
		written := WriteClient(&r.request)
		sameClient(t, c, reread(t, written))
		require.Equal(t, written, WriteClient(&r.request))
	}
}

func TestAnyClientIsWrittenAsItIsRead(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := &ClientFile{Profile: &v1.Profile{}}
		fill(t, c.Profile.ProtoReflect())
		c.Profile.Ref = rapid.SampledFrom([]string{"", "m-0412", "0412", "true", "null", "1e3", "a: b", "# c", "'", "two\nlines", "é\u2028\t", "2026-11-20"}).Draw(t, "ref")
		for range rapid.IntRange(0, 2).Draw(t, "complaints") {
			complaint := &v1.Complaint{}
			fill(t, complaint.ProtoReflect())
			c.Complaints = append(c.Complaints, complaint)
		}
		sameClient(t, c, reread(t, c.Text()))
	})
}

func TestHowAClientIsWritten(t *testing.T) {
	const text = `ref: m-0412
age_years: 44
training: NOVICE
kit: {has: [dumbbell, bench]}
conditions: {}
range_deg:
  shoulder.flexion: {left: {value: 135, date: 2026-11-20, by: SAME_MEASURER}, right: {value: 168.5, date: 2026-11-20}}
rung:
  shoulder: {left: {at: isometric, since: 2026-10-26}}
painkiller_today: false
complaints:
  - {region: shoulder, side: LEFT, intensity: 6, moment: BOTTOM, days: 20}
as_of: 2026-11-24
`
	require.Equal(t, text, reread(t, text).Text())
}
