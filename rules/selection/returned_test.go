package selection_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"drillwright/catalog"
	"drillwright/rules"
	"drillwright/rules/client"
	"drillwright/rules/selection"
)

// given is a drill that an answer gives someone to do.
type given struct {
	drill   *catalog.Drill
	verdict rules.Verdict
	sides   []selection.SideDose // none: a backup, which some side is open for
}

// givenTo asks for substitutes of a lift or for a session, and says which.
func givenTo(t *testing.T, r *rapid.T, q *client.Request) (asked *client.Request, all []given) {
	e := edition(t)
	if rapid.Bool().Draw(r, "a session") {
		q = withoutLift(q)
		a, err := selection.Select(e, q, rapid.SampledFrom(e.Book.Plans).Draw(r, "plan").ID, selection.Options{Brief: true})
		require.NoError(r, err)
		for _, s := range a.Drills {
			all = append(all, given{s.Drill, rules.Verdict(s.Verdict), s.Sides})
			for _, backup := range s.Backups {
				all = append(all, given{e.Catalogue.Drill(backup.ID), rules.Open, nil})
			}
		}
		return q, all
	}
	a, err := selection.Substitute(e, q, selection.Options{Brief: true})
	require.NoError(r, err)
	for _, s := range a.Substitutes {
		all = append(all, given{s.Drill, rules.Verdict(s.Verdict), s.Sides})
	}
	return q, all
}

func withoutLift(q *client.Request) *client.Request {
	w := *q
	w.Lift = ""
	return &w
}

// lifter is a member who asks about a lift and has logged sets of many drills, heavy ones too.
func lifter(t *testing.T, r *rapid.T) *client.Request {
	e, q := edition(t), member(t, r)
	if q.Lift == "" {
		q.Lift = rapid.SampledFrom(e.Catalogue.DrillIDs()).Draw(r, "lift")
	}
	every, kg := rapid.IntRange(1, 6).Draw(r, "every"), float64(rapid.IntRange(1, 20).Draw(r, "times 5 kg")*5)
	for i, d := range e.Catalogue.Drills {
		if d.Lifted() && i%every == 0 {
			q.Profile.Log = append(q.Profile.Log, client.LoggedSet{Drill: d.ID, Day: q.AsOf - 3, Reps: 8, LoadKg: kg, Effort: to(7.0)})
		}
	}
	return q
}

// TestNothingBarredIsGiven: what is given to do is not barred when each rule is run as an expression, the plain way.
func TestNothingBarredIsGiven(t *testing.T) {
	e := edition(t)
	plain := e.ByReference()
	rapid.Check(t, func(r *rapid.T) {
		q, all := givenTo(t, r, lifter(t, r))
		if len(all) == 0 {
			return
		}
		var drills []*catalog.Drill
		for _, g := range all {
			drills = append(drills, g.drill)
		}
		left, err := selection.LeftOf(plain, q, drills...)
		require.NoError(r, err)
		for _, g := range all {
			verdicts := left.Verdicts[g.drill.Index]
			if g.sides == nil {
				require.Contains(r, verdicts, rules.Open, "%s as a backup", g.drill.ID)
			}
			for side, v := range verdicts {
				if trained(g.sides, string(client.Sides[side])) {
					require.Equal(r, g.verdict, rules.Together(g.verdict, v), "%s on the %s is %s", g.drill.ID, client.Sides[side], v)
				}
			}
		}
	})
}

// TestNoDosePassesALimit: no load above what a clinician allows for a region that the drill works on that side of the
// body, and no pain above the floor's ceiling.
func TestNoDosePassesALimit(t *testing.T) {
	limited := 0
	rapid.Check(t, func(r *rapid.T) {
		q := lifter(t, r)
		for range rapid.IntRange(1, 3).Draw(r, "limits") {
			c := anyClearance(t, r, q)
			c.LoadKg = to(float64(rapid.IntRange(1, 60).Draw(r, "kg")))
			q.Profile.Clearances = append(q.Profile.Clearances, c)
		}
		q.Profile.ClearancesTold = true
		_, all := givenTo(t, r, q)
		for _, g := range all {
			for _, s := range g.sides {
				require.LessOrEqual(r, s.Dose.PainCeiling, rules.PainCeiling, g.drill.ID)
				for side := range 2 {
					most := allowedKg(t, q, g.drill, s.Side, side)
					if s.Dose.LoadKg != nil && !math.IsInf(most, 1) {
						limited++
						require.LessOrEqual(r, *s.Dose.LoadKg, most, "%s on the %s", g.drill.ID, s.Side)
					}
				}
			}
		}
	})
	t.Logf("%d doses with a load under a limit", limited)
}

// allowedKg is the least load that a clinician allows on one side of the body for what a drill, trained on a side, works there.
func allowedKg(t *testing.T, q *client.Request, d *catalog.Drill, trained string, body int) float64 {
	most, e := math.Inf(1), edition(t)
	if d.Sides == catalog.OneSide && trained != string(client.Sides[body]) {
		return most
	}
	for _, c := range q.Profile.Clearances {
		load := d.Rows[0].Load(c.Region)
		if load == nil || e.Frame.Ladder(c.Region).Index(load.Rung) == 0 || c.LoadKg == nil {
			continue
		}
		if c.Side.On(body) || !e.Frame.Vocabulary.Sided(c.Region) {
			most = min(most, *c.LoadKg)
		}
	}
	return most
}

// TestRefChangesNothing: the platform's own id of a person is echoed, and part of what the receipt's digest is made of.
func TestRefChangesNothing(t *testing.T) {
	e := edition(t)
	rapid.Check(t, func(r *rapid.T) {
		q := lifter(t, r)
		other := copied(q)
		other.Profile.Ref = rapid.SampledFrom([]string{"", "m-0001", "left", "YES"}).Draw(r, "ref")
		plan, drill := rapid.SampledFrom(e.Book.Plans).Draw(r, "plan").ID, rapid.SampledFrom(e.Catalogue.DrillIDs()).Draw(r, "drill")
		question := rapid.SampledFrom([]string{"SCREEN", "SUBSTITUTE", "SELECT", "EXPLAIN"}).Draw(r, "question")
		answer := func(q *client.Request) (answer any) {
			var head *selection.Header
			switch question {
			case "SCREEN":
				a, err := selection.Screen(e, q)
				require.NoError(r, err)
				answer, head = a, &a.Header
			case "SUBSTITUTE":
				a, err := selection.Substitute(e, q, selection.Options{})
				require.NoError(r, err)
				answer, head = a, &a.Header
			case "SELECT":
				a, err := selection.Select(e, withoutLift(q), plan, selection.Options{})
				require.NoError(r, err)
				answer, head = a, &a.Header
			case "EXPLAIN":
				a, err := selection.Explain(e, q, drill)
				require.NoError(r, err)
				answer, head = a, &a.Header
			}
			require.NotEmpty(r, head.Receipt.RequestDigest)
			head.Receipt.RequestDigest = ""
			return answer
		}
		require.Equal(r, answer(q), answer(other))
	})
}
