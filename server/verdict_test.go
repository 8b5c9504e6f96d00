package server

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"
	"google.golang.org/protobuf/proto"

	"drillwright/catalog/authored"
	v1 "drillwright/proto/drillwright/v1"
	"drillwright/server/clientfile"
)

// TestOneVerdictOverTheWire: for sample clients and lifts, Explain, given the lift, says of each substitute what Substitute
// says, with the same dose on the same side; and of what is left out that it isn't open.
func TestOneVerdictOverTheWire(t *testing.T) {
	r := run(t, Config{}, nil)
	paths, err := filepath.Glob("../testdata/clients/*.yaml")
	require.NoError(t, err)
	compared := 0
	for i, path := range paths {
		if i%6 != 0 {
			continue
		}
		data, err := os.ReadFile(path)
		require.NoError(t, err)
		f, err := clientfile.Read(authored.File{Name: path, Data: data})
		require.NoError(t, err)
		for _, lift := range []string{"dumbbell-bench-press", "barbell-back-squat"} {
			a, err := r.Substitute(t.Context(), &v1.SubstituteRequest{Profile: f.Profile, Complaints: f.Complaints, AsOf: f.AsOf, Lift: lift,
				Limit: 6})
			require.NoError(t, err, path)
			explain := func(drill string) *v1.ExplainResponse {
				x, err := r.Explain(t.Context(), &v1.ExplainRequest{Profile: f.Profile, Complaints: f.Complaints, AsOf: f.AsOf, Drill: drill,
					Lift: lift})
				require.NoError(t, err, path)
				return x
			}
			for _, s := range a.GetSubstitutes() {
				x := explain(s.GetDrill().GetId())
				require.Equal(t, s.GetVerdict(), x.GetVerdict(), "%s: %s instead of %s", path, s.GetDrill().GetId(), lift)
				for _, given := range s.GetSides() {
					for _, side := range x.GetSides() {
						if given.GetSide() == "BOTH" || given.GetSide() == side.GetSide() {
							require.True(t, proto.Equal(given.GetDose(), side.GetDose()), "%s: %s instead of %s", path, s.GetDrill().GetId(), lift)
							compared++
						}
					}
				}
			}
			for _, l := range a.GetLeftOut() {
				require.NotEqual(t, v1.Verdict_OPEN, explain(l.GetDrill()).GetVerdict(), "%s: %s instead of %s", path, l.GetDrill(), lift)
			}
		}
	}
	require.Greater(t, compared, 20)
}
