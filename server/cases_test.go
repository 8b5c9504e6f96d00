package server

import (
	"testing"

	"github.com/stretchr/testify/require"

	v1 "drillwright/proto/drillwright/v1"
	"drillwright/rules"
	"drillwright/rules/analysis"
	"drillwright/rules/client"
	"drillwright/rules/selection"
	"drillwright/server/clientfile"
)

// TestCases: every case of the embedded book passes, and together they exercise nearly all of it.
func TestCases(t *testing.T) {
	if testing.Short() {
		t.Skip("judges the whole catalogue many times over")
	}
	e, err := rules.Embedded()
	require.NoError(t, err)
	cases, err := Cases(e)
	require.NoError(t, err)
	require.NotEmpty(t, cases)
	coverage := analysis.NewCoverage(e)
	outcomes, err := selection.RunCases(t.Context(), e, cases, coverage)
	require.NoError(t, err)
	for _, o := range outcomes {
		for _, f := range o.Faults {
			t.Errorf("%s: case %s: wanted %s, got %s: %v", f.At, o.Case.ID.Value, f.Wanted, f.Got, f.Reasons)
		}
	}
	n := coverage.Count()
	t.Logf("%d cases, %d of %d rules, %d of %d clauses", len(cases), n.Rules, n.OfRules, n.Clauses, n.OfClauses)
	require.GreaterOrEqual(t, n.Rules*100, n.OfRules*98)
	require.GreaterOrEqual(t, n.Clauses*100, n.OfClauses*95)
}

// TestOnlyTheStationLeaves: against the same question with nothing taken, exactly the drills on the station leave.
func TestOnlyTheStationLeaves(t *testing.T) {
	e, err := rules.Embedded()
	require.NoError(t, err)
	cases, err := Cases(e)
	require.NoError(t, err)
	asked := 0
	for _, c := range cases {
		if c.ID.Value != "wide-bench-station" {
			continue
		}
		asked++
		taken, free := *c.Request, *c.Request
		free.StationsTaken = nil
		stays := listing(t, e, &taken)
		left := 0
		for id := range listing(t, e, &free) {
			onStation := e.Catalogue.Drill(id).Station == taken.StationsTaken[0]
			require.Equal(t, !onStation, stays[id], id)
			if onStation {
				left++
			}
		}
		require.Positive(t, left, "no drill stood on the station")
	}
	require.Equal(t, 1, asked)
}

// fileAsked is the client of a file as a request asks about it.
type fileAsked struct{ *clientfile.File }

func (f fileAsked) GetProfile() *v1.Profile        { return f.Profile }
func (f fileAsked) GetComplaints() []*v1.Complaint { return f.Complaints }
func (f fileAsked) GetAsOf() string                { return f.AsOf }

func listing(t *testing.T, e *rules.Edition, q *client.Request) map[string]bool {
	a, err := selection.Substitute(e, q, selection.Options{Limit: -1})
	require.NoError(t, err)
	ids := map[string]bool{}
	for _, s := range a.Substitutes {
		ids[s.Drill.ID] = true
	}
	return ids
}
