package selection_test

import (
	"encoding/csv"
	"os"
	"slices"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"

	"drillwright/catalog"
	"drillwright/rules"
	"drillwright/rules/client"
)

// compiled is the embedded edition, compiled once for all tests of this package.
var compiled = sync.OnceValues(rules.Embedded)

func edition(t *testing.T) *rules.Edition {
	t.Helper()
	e, err := compiled()
	require.NoError(t, err)
	return e
}

// row is one line of a table, by column.
type row map[string]string

// list splits a cell whose parts stand between semicolons; an empty cell has none.
func (r row) list(column string) []string {
	if r[column] == "" {
		return nil
	}
	return strings.Split(r[column], ";")
}

// published reads a table of testdata/published.
func published(t *testing.T, name string) []row {
	t.Helper()
	file, err := os.Open("../../testdata/published/" + name)
	require.NoError(t, err)
	defer file.Close()
	lines, err := csv.NewReader(file).ReadAll()
	require.NoError(t, err)
	var rows []row
	for _, l := range lines[1:] {
		r := row{}
		for i, column := range lines[0] {
			r[column] = l[i]
		}
		require.NotEmpty(t, r["source"], "%s names no source", r["id"])
		require.Contains(t, []string{"yes", "no"}, r["confirmed"], r["id"])
		rows = append(rows, r)
	}
	return rows
}

func drill(t *testing.T, id string) *catalog.Drill {
	t.Helper()
	d := edition(t).Catalogue.Drill(id)
	require.NotNil(t, d, "there is no drill %q", id)
	return d
}

func rule(t *testing.T, id string) *rules.Rule {
	t.Helper()
	r := edition(t).Book.Rule(id)
	require.NotNil(t, r, "there is no rule %q", id)
	return r
}

const today = "2026-11-24"

func day(t *testing.T, s string) client.Day {
	t.Helper()
	d, err := client.ParseDay(s)
	require.NoError(t, err)
	return d
}

func to[V any](v V) *V { return &v }

// someone is a grown client with every kit at hand, asked every question and with nothing to tell.
func someone(t *testing.T) *client.Request {
	t.Helper()
	e := edition(t)
	p := &client.Profile{Ref: "m-0450", AgeYears: to(35), Sex: "MALE", Training: "INTERMEDIATE", Supervised: to(true), BodyMassKg: to(80.0),
		KitTold: true, Kit: e.Frame.Vocabulary.IDs("kit"), ConditionsTold: true, SurgeriesTold: true, MedicinesTold: true,
		PainkillerToday: to(false),
		Screening:       &client.Screening{Lists: e.Frame.ListIDs(), Day: day(t, today), Others: "NO"}}
	return &client.Request{Profile: p, AsOf: day(t, today)}
}

// hurts adds a complaint of three weeks' ache.
func hurts(q *client.Request, region string, side client.Side, intensity float64) {
	q.Complaints = append(q.Complaints, client.Complaint{Region: region, Side: side, Intensity: intensity, Moment: "MIDDLE", Kind: "ACHE",
		Onset: "GRADUAL", Days: 20})
}

// has tells a condition, named by a clinician long ago.
func has(q *client.Request, condition string, side client.Side) {
	q.Profile.Conditions = append(q.Profile.Conditions, client.Condition{ID: condition, Side: side, Since: q.AsOf - 200, ToldBy: "CLINICIAN",
		Status: "NOW"})
}

// sidesOf are the sides of a region, or the one entry of a midline region.
func sidesOf(t *testing.T, region string) []client.Side {
	if edition(t).Frame.Vocabulary.Sided(region) {
		return client.Sides[:]
	}
	return []client.Side{client.SideNone}
}

// scores sets the worst pain of a region on the left, settled within hours, asleep at night; the other side is free
// of it. What is told here and below stands in place of what was.
func scores(t *testing.T, q *client.Request, region string, worst float64) {
	q.Profile.Pain = slices.DeleteFunc(q.Profile.Pain, func(p client.Pain) bool { return p.Region == region })
	for i, side := range sidesOf(t, region) {
		pain := worst
		if i == catalog.Right {
			pain = 0
		}
		q.Profile.Pain = append(q.Profile.Pain, client.Pain{Region: region, Side: side, Rest: to(0.0), Worst: to(pain), NextDay: to(min(pain, 1)),
			SettleHours: to(3.0), WakesAtNight: to(false), Day: q.AsOf - 1})
	}
}

// stands puts every side of a region on a rung.
func stands(t *testing.T, q *client.Request, region, rung string) {
	q.Profile.Rungs = slices.DeleteFunc(q.Profile.Rungs, func(s client.Standing) bool { return s.Region == region })
	for _, side := range sidesOf(t, region) {
		q.Profile.Rungs = append(q.Profile.Rungs, client.Standing{Region: region, Side: side, At: rung, Since: q.AsOf - 10})
	}
}

// reaches measures every motion of a region at the most that the vocabulary allows, short of what speaks for loose joints.
func reaches(t *testing.T, q *client.Request, region string) {
	for _, m := range edition(t).Frame.Vocabulary.Motions {
		if m.Region != region || !m.HasRange() {
			continue
		}
		most := m.Limits[1]
		if m.LooseFrom != nil {
			most = *m.LooseFrom - 1
		}
		if m.Sided {
			measured(q, m.ID, client.SideLeft, most)
			measured(q, m.ID, client.SideRight, most)
		} else {
			measured(q, m.ID, client.SideNone, most)
		}
	}
}

// measured notes a range of yesterday by the same measurer.
func measured(q *client.Request, motion string, side client.Side, deg float64) {
	q.Profile.RangeDeg = slices.DeleteFunc(q.Profile.RangeDeg, func(m client.Measure) bool { return m.Of == motion && m.Side == side })
	q.Profile.RangeDeg = append(q.Profile.RangeDeg, client.Measure{Of: motion, Side: side, Value: deg, Day: q.AsOf - 1, By: "SAME_MEASURER"})
}

func derived(t *testing.T, q *client.Request) *client.Facts {
	t.Helper()
	e := edition(t)
	require.NoError(t, client.Check(e.Frame, q))
	return client.Derive(e.Frame, q)
}

// judged holds the whole book against one drill: few need more, and one costs little.
func judged(t *testing.T, f *client.Facts, d *catalog.Drill) *rules.Judgement {
	return edition(t).JudgeOne(f, nil)
}

// speaks is whether a rule bars a drill on the left, warns of it, or favours it.
func speaks(t *testing.T, f *client.Facts, d *catalog.Drill, id string) bool {
	t.Helper()
	j := judged(t, f, d)
	switch r := rule(t, id); r.Effect {
	case rules.Bar:
		return j.Barred(r, d, catalog.Left) == rules.NotToday
	case rules.Caution:
		return j.Held(r, d, catalog.Left)&rules.Possible != 0
	default:
		return j.Favoured(r, d, catalog.Left)
	}
}

// closedBy lists the rules that keep a drill from being open: on either side where it works both, else on the left.
func closedBy(t *testing.T, f *client.Facts, d *catalog.Drill) []string {
	j := judged(t, f, d)
	var ids []string
	for _, r := range j.Edition.Book.Rules {
		if j.Barred(r, d, catalog.Left) != rules.Open || d.Sides != catalog.OneSide && j.Barred(r, d, catalog.Right) != rules.Open {
			ids = append(ids, r.ID)
		}
	}
	return ids
}

// points are what the book's favours give a drill on the left.
func points(t *testing.T, f *client.Facts, d *catalog.Drill) int {
	return judged(t, f, d).Favours(d, catalog.Left)
}
