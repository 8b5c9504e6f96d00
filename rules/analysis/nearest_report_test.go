package analysis

import (
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"drillwright/rules/client"
)

// TestWhatIsToldIsTheFact: each path that the search can tell is known afterwards, and is what was told; so a field of a message whose
// telling was forgotten fails by its path.
func TestWhatIsToldIsTheFact(t *testing.T) {
	e := builtIn(t)
	reported := 0
	for i := range e.Frame.Table.Paths {
		p := &e.Frame.Table.Paths[i]
		k := &lever{leverKey: leverKey{path: p.Name}, of: p}
		k.how, k.id = reportingOf(p.Name)
		if k.how == nil || strings.HasPrefix(p.Name, "client.surgery_cleared.") || strings.HasPrefix(p.Name, "client.trained_since_surgery.") {
			continue // these two are said of an operation that was told
		}
		v := Value{Number: p.Hi, Yes: true}
		switch {
		case p.Kind == client.Word:
			v.Word = p.Words[len(p.Words)-1]
		case p.Kind == client.List && p.Words == nil:
			k.word = e.Catalogue.Drills[0].ID
		case p.Kind == client.List:
			k.word, v.Word = p.Words[0], "CLINICIAN"
		}
		q := &client.Request{AsOf: 20781, Profile: &client.Profile{}}
		k.report(e.Frame, q, v)
		f := client.Derive(e.Frame, q)
		is := f.StatusOf(p.Name, 0) == client.Measured
		switch p.Kind {
		case client.Number:
			is = is && f.Number(p.Name, 0) == client.Span{Lo: p.Hi, Hi: p.Hi}
		case client.Bool:
			is = is && f.Truth(p.Name, 0) == client.Yes
		case client.Word:
			is = is && slices.Equal(f.Words(p.Name, 0).Sure, []string{v.Word})
		default:
			is = is && slices.Contains(f.Words(p.Name, 0).Sure, k.word)
		}
		require.True(t, is, "%s isn't what was told", p.Name)
		reported++
	}
	require.Greater(t, reported, 300)
}
