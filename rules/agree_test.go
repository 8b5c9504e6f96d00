package rules

import (
	"flag"
	"slices"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"drillwright/catalog"
	"drillwright/rules/client"
	"drillwright/rules/compile"
)

var agreeDrills = flag.Int("agree-drills", 40, "drills judged for each random client")

// EmbeddedOnce is the built-in edition, read once for all tests: nothing changes an edition.
var EmbeddedOnce = sync.OnceValues(Embedded)

func embeddedEdition(t testing.TB) *Edition {
	t.Helper()
	e, err := EmbeddedOnce()
	require.NoError(t, err)
	return e
}

// pickFew draws a few members of a list, in order.
func pickFew(t *rapid.T, list []string, most int, label string) []string {
	if len(list) == 0 {
		return nil
	}
	var out []string
	for _, i := range rapid.SliceOfNDistinct(rapid.IntRange(0, len(list)-1), 0, min(most, len(list)), rapid.ID[int]).Draw(t, label) {
		out = append(out, list[i])
	}
	slices.Sort(out)
	return out
}

func maybe[V any](t *rapid.T, g *rapid.Generator[V], label string) *V {
	if rapid.Bool().Draw(t, label+" told") {
		v := g.Draw(t, label)
		return &v
	}
	return nil
}

// randomRequest draws a client: some things measured, some too old, some never.
func randomRequest(t *rapid.T, e *Edition) *client.Request {
	v := e.Frame.Vocabulary
	day := client.Day(20000)
	sides := []client.Side{client.SideLeft, client.SideRight}
	p := &client.Profile{AgeYears: maybe(t, rapid.IntRange(10, 90), "age"), Beighton: maybe(t, rapid.IntRange(0, 9), "beighton"),
		Sex:      rapid.SampledFrom([]string{"", "MALE", "FEMALE"}).Draw(t, "sex"),
		Training: rapid.SampledFrom([]string{"", "NOVICE", "ADVANCED"}).Draw(t, "training"),
		KitTold:  true, Kit: pickFew(t, v.IDs("kit"), 12, "kit"), ConditionsTold: rapid.Bool().Draw(t, "conditions told"),
		Supervised: maybe(t, rapid.Bool(), "supervised"), PainkillerToday: maybe(t, rapid.Bool(), "painkiller")}
	for _, id := range pickFew(t, v.IDs("condition"), 3, "conditions") {
		side := rapid.SampledFrom(append(slices.Clone(sides), client.SideNone)).Draw(t, "side")
		if regions := v.Conditions[v.Index("condition", id)].Regions; len(regions) > 0 && !slices.ContainsFunc(regions, v.Sided) {
			side = client.SideNone
		}
		p.Conditions = append(p.Conditions, client.Condition{ID: id, Side: side, ToldBy: "CLINICIAN"})
	}
	for _, m := range v.Motions {
		if !m.HasRange() || !rapid.Bool().Draw(t, "measured "+m.ID) {
			continue
		}
		side := rapid.SampledFrom(append(slices.Clone(sides), client.SideBoth)).Draw(t, "measured side")
		if !m.Sided {
			side = client.SideNone
		}
		p.RangeDeg = append(p.RangeDeg, client.Measure{Of: m.ID, Side: side,
			Value: float64(rapid.IntRange(int(m.Limits[0]), int(m.Limits[1])).Draw(t, "degrees")),
			Day:   day - client.Day(rapid.IntRange(0, 60).Draw(t, "age of measure")),
			By:    rapid.SampledFrom([]string{"SAME_MEASURER", "SELF"}).Draw(t, "by")})
	}
	q := &client.Request{Profile: p, AsOf: day}
	for _, region := range pickFew(t, v.IDs("region"), 2, "sore") {
		side := rapid.SampledFrom(sides).Draw(t, "sore side")
		if !v.Sided(region) {
			side = client.SideNone
		}
		q.Complaints = append(q.Complaints, client.Complaint{Region: region, Side: side,
			Intensity: float64(rapid.IntRange(1, 10).Draw(t, "intensity")), Moment: "BOTTOM", Kind: "ACHE", Onset: "GRADUAL",
			Days: rapid.IntRange(0, 40).Draw(t, "days")})
		if rapid.Bool().Draw(t, "rung told") {
			p.Rungs = append(p.Rungs, client.Standing{Region: region, Side: client.SideBoth,
				At: rapid.SampledFrom(e.Frame.Ladder(region).Rungs).Draw(t, "rung")})
		}
	}
	return q
}

// TestThreeWaysAgree holds the programs on expr's machine, the closures and the compiled sets against each other on
// the embedded edition: every truth of every rule, then verdict, decider, points and what waits.
func TestThreeWaysAgree(t *testing.T) {
	e := embeddedEdition(t)
	reference := e.ByReference()
	truths := e.program.NewTruths()
	rapid.Check(t, func(t *rapid.T) {
		f := client.Derive(e.Frame, randomRequest(t, e))
		lift := e.Catalogue.Drills[rapid.IntRange(0, len(e.Catalogue.Drills)-1).Draw(t, "lift")]
		var few []*catalog.Drill
		for range *agreeDrills {
			few = append(few, e.Catalogue.Drills[rapid.IntRange(0, len(e.Catalogue.Drills)-1).Draw(t, "drill")])
		}
		agree(t, e, reference, truths, f, lift, few)
	})
}

// agree fails where the three ways differ on some drills.
func agree(t require.TestingT, e, reference *Edition, truths *compile.Truths, f *client.Facts, lift *catalog.Drill, few []*catalog.Drill) {
	_, err := compared(e, reference, truths, f, lift, few)
	require.NoError(t, err)
}

// TestDroppingAMeasureOpensNothing: in a region in question, where nothing is presumed, a client with one measure
// less finds no drill open that wasn't.
func TestDroppingAMeasureOpensNothing(t *testing.T) {
	e := embeddedEdition(t)
	rapid.Check(t, func(t *rapid.T) {
		q := randomRequest(t, e)
		f := client.Derive(e.Frame, q)
		var drop []int
		for i, m := range q.Profile.RangeDeg {
			if f.InQuestion(e.Frame.Vocabulary.Motion(m.Of).Region, m.Side) {
				drop = append(drop, i)
			}
		}
		if len(drop) == 0 {
			return
		}
		i := rapid.SampledFrom(drop).Draw(t, "dropped")
		fewer := *q.Profile
		fewer.RangeDeg = slices.Delete(slices.Clone(q.Profile.RangeDeg), i, i+1)
		less := *q
		less.Profile = &fewer
		with, without := e.Judge(f, nil), e.Judge(client.Derive(e.Frame, &less), nil)
		for _, d := range e.Catalogue.Drills {
			for side := range 2 {
				if a, b := with.Verdict(d, side), without.Verdict(d, side); b == Open && a != Open {
					t.Fatalf("%s on side %d is open without %s, and %s with it", d.ID, side, q.Profile.RangeDeg[i].Of, a)
				}
			}
		}
	})
}
