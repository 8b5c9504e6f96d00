package server

import (
	"os"
	"path/filepath"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"drillwright/catalog"
	"drillwright/rules"
	"drillwright/rules/client"
	"drillwright/rules/selection"
)

// sampleClients reads every example client of testdata.
func sampleClients(t *testing.T, e *rules.Edition) map[string]*client.Request {
	paths, err := filepath.Glob("../testdata/clients/*.yaml")
	require.NoError(t, err)
	require.NotEmpty(t, paths)
	all := map[string]*client.Request{}
	for _, path := range paths {
		data, err := os.ReadFile(path)
		require.NoError(t, err)
		c, err := ReadClient(catalog.File{Name: path, Data: data})
		require.NoError(t, err)
		r, err := read(e.Frame, fileAsked{c})
		require.NoError(t, err)
		all[filepath.Base(path)] = &r.request
	}
	return all
}

// TestFirstShare: a client who measured only the sore region still gets a full answer. Of the drills that load no
// sore region at most one in ten may wait for a test.
func TestFirstShare(t *testing.T) {
	e, err := rules.Embedded()
	require.NoError(t, err)
	for name, q := range sampleClients(t, e) {
		screened, err := selection.Screen(e, q)
		require.NoError(t, err)
		if screened.Screening.NoDrills {
			continue
		}
		j := e.Judge(client.Derive(e.Frame, q), nil)
		all, waiting := 0, 0
		for _, d := range e.Catalogue.Drills {
			if loadsSore(d, q) {
				continue
			}
			all++
			if rules.Together(j.Verdict(d, catalog.Left), j.Verdict(d, catalog.Right)) == rules.TestFirst {
				waiting++
			}
		}
		t.Logf("%s: %d of %d wait for a test", name, waiting, all)
		require.LessOrEqual(t, waiting*10, all, "%s: %d of %d drills wait for a test", name, waiting, all)
	}
}

func loadsSore(d *catalog.Drill, q *client.Request) bool {
	return slices.ContainsFunc(d.Rows, func(row catalog.Row) bool {
		return slices.ContainsFunc(q.Complaints, func(c client.Complaint) bool { return row.Load(c.Region) != nil })
	})
}
