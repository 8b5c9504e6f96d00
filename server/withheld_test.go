package server

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"

	v1 "drillwright/proto/drillwright/v1"
	"drillwright/rules"
)

func (r *running) substitute(lift string) *v1.SubstituteResponse {
	r.t.Helper()
	c := sampleClient(r.t)
	resp, err := r.Substitute(r.t.Context(), &v1.SubstituteRequest{Profile: c.Profile, Complaints: c.Complaints, AsOf: c.AsOf, Lift: lift})
	require.NoError(r.t, err)
	return resp
}

// TestWithheldIsTold: of the edition that is served, and it is logged nowhere. The embedded edition and its faulty copy
// count together.
func TestWithheldIsTold(t *testing.T) {
	reported := func() string { return fmt.Sprintf("drillwright_second_look_withheld_total %d", embedded().Withheld()) }
	r := run(t, Config{Edition: embedded().Planted("drill.rung.shoulder"), CheckShare: -1}, nil)
	before := reported()
	r.tells(before)
	r.substitute("active-hang")
	require.NotEqual(t, before, reported())
	r.tells(reported())

	other, err := rules.Embedded()
	require.NoError(t, err)
	r.server.Adopt(other)
	r.tells("drillwright_second_look_withheld_total 0")
	r.stop()
	require.NotContains(t, r.lines.String(), "withheld")
	require.NotContains(t, r.lines.String(), "level=ERROR")
}
