package server

import (
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/rogpeppe/go-internal/txtar"
	"github.com/stretchr/testify/require"

	"drillwright/catalog"
	v1 "drillwright/proto/drillwright/v1"
	"drillwright/rules"
	"drillwright/rules/client"
	"drillwright/rules/selection"
)

// wanted is what a coaching case asks for. Groups are held against the full list, before the family cap and the limit.
type wanted struct {
	Lift    string                    `yaml:"lift"`
	Taken   []string                  `yaml:"stations_taken"`
	Groups  [][]string                `yaml:"groups"`
	Barred  catalog.Entries[[]string] `yaml:"barred"`     // by the rule named
	Any     []string                  `yaml:"barred_any"` // by some rule, whichever
	Lost    []string                  `yaml:"lost"`       // not barred, and below every group
	Listed  []string                  `yaml:"listed"`
	Open    []string                  `yaml:"open"`       // on both sides
	OnRight []string                  `yaml:"open_right"` // on the right side
	First   string                    `yaml:"first"`
	Leaves  string                    `yaml:"only_station_leaves"`
	Nothing bool                      `yaml:"no_drills"`
	Refer   struct {
		Urgency string `yaml:"urgency"`
	} `yaml:"refer"`
}

// coaching is one case on its way through.
type coaching struct {
	*testing.T
	e *rules.Edition
	q *client.Request
}

func TestCoachingCases(t *testing.T) {
	e, err := rules.Embedded()
	require.NoError(t, err)
	paths, err := filepath.Glob("../testdata/coaching/*.txtar")
	require.NoError(t, err)
	require.NotEmpty(t, paths)
	for _, path := range paths {
		t.Run(strings.TrimSuffix(filepath.Base(path), ".txtar"), func(t *testing.T) {
			q, want := readCase(t, e, path)
			coaching{t, e, q}.hold(want)
		})
	}
}

func readCase(t *testing.T, e *rules.Edition, path string) (*client.Request, wanted) {
	archive, err := txtar.ParseFile(path)
	require.NoError(t, err)
	var want wanted
	var q *client.Request
	for _, f := range archive.Files {
		file := catalog.File{Name: f.Name, Data: f.Data}
		if f.Name == "want.yaml" {
			d := catalog.NewDecoder()
			d.Decode(d.Parse(file), &want)
			require.NoError(t, d.Err())
			continue
		}
		c, err := ReadClient(file)
		require.NoError(t, err)
		r, err := read(e.Frame, fileAsked{c})
		require.NoError(t, err)
		q = &r.request
	}
	q.Lift, q.StationsTaken = want.Lift, want.Taken
	return q, want
}

func (c coaching) hold(want wanted) {
	a, err := selection.Substitute(c.e, c.q, selection.Options{Limit: -1})
	require.NoError(c, err)
	if want.Nothing {
		require.True(c, a.Screening.NoDrills)
		require.Empty(c, a.Substitutes)
		require.NotEmpty(c, a.Screening.Referrals)
		require.Equal(c, want.Refer.Urgency, a.Screening.Referrals[0].Urgency)
		return
	}
	require.Equal(c, selection.NoWarningSigns, a.Screening.Outcome, "questions %v, referrals %v", a.Screening.Questions, a.Screening.Referrals)
	place := map[string]int{}
	for i, s := range a.Substitutes {
		place[s.Drill.ID] = i + 1
	}
	c.groups(want, place, a)
	for _, id := range want.Listed {
		require.NotZero(c, place[id], "%s is not listed: %v", id, c.why(id))
	}
	if want.First != "" {
		require.Equal(c, 1, place[want.First], "%s stands at %d behind %s", want.First, place[want.First], a.Substitutes[0].Drill.ID)
	}
	c.bars(want, place)
	if want.Leaves != "" {
		c.onlyStationLeaves(want, place)
	}
}

// groups: every drill of a group stands before every drill of the next, and what lost below all.
func (c coaching) groups(want wanted, place map[string]int, a *selection.SubstituteAnswer) {
	last, lastID := 0, ""
	for i, group := range append(slices.Clone(want.Groups), want.Lost) {
		highest := last
		for _, id := range group {
			at := place[id]
			if at == 0 {
				if i < len(want.Groups) {
					c.Errorf("%s of group %d is not listed: %v", id, i+1, c.why(id))
				}
				continue
			}
			s := a.Substitutes[at-1]
			if at < last {
				c.Errorf("%s of group %d stands at %d (%d points, %s), before %s at %d", id, i+1, at, s.Points, s.Tier, lastID, last)
			}
			if at > highest {
				highest, lastID = at, id
			}
		}
		last = highest
	}
}

// bars holds what must be barred, by the rule named, and what must stay open.
func (c coaching) bars(want wanted, place map[string]int) {
	for _, e := range want.Barred {
		for _, id := range e.Value {
			if why := c.why(id); place[id] != 0 || !slices.Contains(why, e.Key) {
				c.Errorf("%s must be barred by %s; it stands at %d and is barred by %v", id, e.Key, place[id], why)
			}
		}
	}
	for _, id := range want.Any {
		if why := c.why(id); place[id] != 0 || len(why) == 0 {
			c.Errorf("%s must be barred; it stands at %d", id, place[id])
		}
	}
	for _, id := range want.Open {
		require.Equal(c, "OPEN", c.explain(id).Verdict, "%s: %v", id, c.why(id))
	}
	for _, id := range want.OnRight {
		require.Equal(c, "OPEN", c.explain(id).Sides[catalog.Right].Verdict)
	}
}

func (c coaching) explain(id string) *selection.ExplainAnswer {
	a, err := selection.Explain(c.e, c.q, id)
	require.NoError(c, err)
	return a
}

// why lists the rules that bar a drill, on either side.
func (c coaching) why(id string) []string {
	var ids []string
	for _, side := range c.explain(id).Sides {
		for _, r := range side.Rules {
			if r.Verdict == string(rules.NotToday) && !slices.Contains(ids, r.Reason.Rule) {
				ids = append(ids, r.Reason.Rule)
			}
		}
	}
	return ids
}

// onlyStationLeaves: against the same question with nothing taken, exactly the drills on the station leave.
func (c coaching) onlyStationLeaves(want wanted, place map[string]int) {
	free := *c.q
	free.StationsTaken = nil
	all, err := selection.Substitute(c.e, &free, selection.Options{Limit: -1})
	require.NoError(c, err)
	left := 0
	for _, s := range all.Substitutes {
		onStation := c.e.Catalogue.Drill(s.Drill.ID).Station == want.Leaves
		require.Equal(c, onStation, place[s.Drill.ID] == 0, "%s", s.Drill.ID)
		if onStation {
			left++
		}
	}
	require.Positive(c, left, "no drill stood on the station")
}

// fileAsked is the client of a file as a request asks about it.
type fileAsked struct{ *ClientFile }

func (f fileAsked) GetProfile() *v1.Profile        { return f.Profile }
func (f fileAsked) GetComplaints() []*v1.Complaint { return f.Complaints }
func (f fileAsked) GetAsOf() string                { return f.AsOf }
