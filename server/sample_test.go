package server

import (
	"context"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"drillwright/catalog"
	"drillwright/catalog/authored"
	"drillwright/rules"
	"drillwright/rules/client"
	"drillwright/rules/selection"
	"drillwright/server/clientfile"
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
		c, err := clientfile.Read(authored.File{Name: path, Data: data})
		require.NoError(t, err)
		r, err := read(context.Background(), e, fileAsked{c})
		require.NoError(t, err)
		all[filepath.Base(path)] = &r.request
	}
	return all
}

// TestSampleClientsAreOfEveryKind: a preview sees only what its clients are.
func TestSampleClientsAreOfEveryKind(t *testing.T) {
	e := embedded()
	var kinds []string
	youngest, oldest := 120, 0
	for _, q := range sampleClients(t, e) {
		p := q.Profile
		for _, c := range q.Complaints {
			kinds = append(kinds, c.Region, c.Region+" "+string(c.Side), c.Moment, c.Kind)
		}
		if p.AgeYears != nil {
			youngest, oldest = min(youngest, *p.AgeYears), max(oldest, *p.AgeYears)
		}
		a, err := selection.Screen(e, q)
		require.NoError(t, err)
		kinds = append(kinds, p.Training, p.Sex, a.Screening.Outcome)
		for _, r := range p.Rungs {
			kinds = append(kinds, r.At)
		}
		for _, has := range []struct {
			what string
			is   bool
		}{{"no complaint", len(q.Complaints) == 0}, {"measured", len(p.RangeDeg) > 0}, {"unmeasured", len(p.RangeDeg) == 0},
			{"surgery", len(p.Surgeries) > 0},
			{"clearance", len(p.Clearances) > 0}, {"condition", len(p.Conditions) > 0}, {"conditions not asked", !p.ConditionsTold},
			{"medicine", len(p.Medicines) > 0},
			{"pregnant", p.Pregnancy != nil && p.Pregnancy.Weeks != nil}, {"postnatal", p.Pregnancy != nil && p.Pregnancy.PostnatalWeeks != nil},
			{"pressure", p.BloodPressure != nil}, {"painful arc", len(p.PainfulArcs) > 0}, {"log", len(p.Log) > 0},
			{"no kit", p.KitTold && len(p.Kit) == 0},
			{"kit not told", !p.KitTold}, {"no goal", len(p.GoalLifts) == 0}, {"several goals", len(p.GoalLifts) > 1}} {
			if has.is {
				kinds = append(kinds, has.what)
			}
		}
	}
	for _, r := range e.Frame.Vocabulary.Regions {
		if r.Sided {
			require.Subset(t, kinds, []string{r.ID + " LEFT", r.ID + " RIGHT"})
		}
		require.Contains(t, kinds, r.ID)
	}
	require.Subset(t, kinds, []string{"FEMALE", "MALE", "NOVICE", "INTERMEDIATE", "ADVANCED", selection.NoWarningSigns, selection.SeeSomeone,
		selection.QuestionsFirst,
		"active_motion", "isometric", "single_joint", "multi_joint_one_side", "multi_joint_two_side", "unrestricted", "no complaint", "measured",
		"unmeasured",
		"surgery", "clearance", "condition", "conditions not asked", "medicine", "pregnant", "postnatal", "pressure", "painful arc", "log",
		"no kit", "kit not told",
		"no goal", "several goals"})
	require.LessOrEqual(t, youngest, 12)
	require.GreaterOrEqual(t, oldest, 80)
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
