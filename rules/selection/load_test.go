package selection_test

import (
	"fmt"
	"math"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"drillwright/catalog"
	"drillwright/rules"
	"drillwright/rules/client"
	"drillwright/rules/selection"
)

// did is a set of so many days ago, with effort and pain told, and no pain the next morning.
func did(q *client.Request, id string, ago, reps int, kg float64) client.LoggedSet {
	return client.LoggedSet{Drill: id, Day: q.AsOf - client.Day(ago), Side: client.SideBoth, Reps: reps, LoadKg: kg, Effort: to(10.0),
		Pain: to(1.0), NextDay: to(0.0)}
}

// shoulderHurts is a client whose left shoulder has hurt 2 of 10 for twenty days, scored, measured and on the top rung.
func shoulderHurts(t *testing.T) *client.Request {
	q := someone(t)
	hurts(q, "shoulder", client.SideLeft, 2)
	scores(t, q, "shoulder", 2)
	stands(t, q, "shoulder", "unrestricted")
	reaches(t, q, "shoulder")
	return q
}

// TestWhereALoadComesFrom: each log with the load that a careful coach would name for it, and the sentence. The 24th of November is today,
// and the shoulder has hurt since the 4th.
func TestWhereALoadComesFrom(t *testing.T) {
	const bench, dumbbells, carry = "barbell-bench-press", "dumbbell-bench-press", "farmer-carry"
	with := func(s client.LoggedSet, change func(*client.LoggedSet)) client.LoggedSet {
		change(&s)
		return s
	}
	for name, c := range map[string]struct {
		sore  bool
		drill string
		log   func(q *client.Request) []client.LoggedSet
		kg    float64 // 0: none
		words string
	}{
		"nothing is known": {false, bench, func(*client.Request) []client.LoggedSet { return nil }, 0,
			"Find the load from the test set on: a step more at a time, while it leaves about 3 good repetitions in hand."},
		"a carry, as last time": {false, carry,
			func(q *client.Request) []client.LoggedSet { return []client.LoggedSet{did(q, carry, 12, 0, 24)} }, 24,
			"24 kg, as on 12 November."},
		"worked out for the dose": {false, bench,
			func(q *client.Request) []client.LoggedSet { return []client.LoggedSet{did(q, bench, 12, 10, 60)} }, 55,
			"55 kg: from the 60 kg x 10 of 12 November, worked out for 10 repetitions at an effort of 7."},
		"two in reserve": {false, bench, func(q *client.Request) []client.LoggedSet {
			return []client.LoggedSet{with(did(q, bench, 12, 5, 60), func(s *client.LoggedSet) { s.Effort = to(8.0) })}
		}, 50, "50 kg: from the 60 kg x 5 of 12 November, worked out for 10 repetitions at an effort of 7."},
		"effort not told: nothing in reserve": {false, bench, func(q *client.Request) []client.LoggedSet {
			return []client.LoggedSet{with(did(q, bench, 12, 5, 60), func(s *client.LoggedSet) { s.Effort = nil })}
		}, 45, "45 kg: from the 60 kg x 5 of 12 November, worked out for 10 repetitions at an effort of 7."},
		"six weeks old": {false, carry, func(q *client.Request) []client.LoggedSet { return []client.LoggedSet{did(q, carry, 42, 0, 24)} }, 18,
			"A fifth off the 24 kg of 13 October, after 42 days without it: 18 kg."},
		"older than six weeks": {false, carry, func(q *client.Request) []client.LoggedSet { return []client.LoggedSet{did(q, carry, 43, 0, 24)} },
			0,
			"Find the load from the test set on: a step more at a time, while it keeps the effort at about 7 of 10."},
		"a fortnight is no break": {false, carry,
			func(q *client.Request) []client.LoggedSet { return []client.LoggedSet{did(q, carry, 14, 0, 24)} }, 24,
			"24 kg, as on 10 November."},
		"a heavy set long ago, a light one of late": {false, carry, func(q *client.Request) []client.LoggedSet {
			return []client.LoggedSet{did(q, carry, 30, 0, 24), did(q, carry, 3, 0, 12)}
		}, 24, "24 kg, as on 25 October."},
		"above the ceiling": {false, carry, func(q *client.Request) []client.LoggedSet {
			return []client.LoggedSet{with(did(q, carry, 3, 0, 24), func(s *client.LoggedSet) { s.Pain = to(4.0) })}
		}, 0, "At most 18 kg, a quarter off the 24 kg of 21 November, which hurt too much: find the load from the test set on."},
		"hurt since it went well": {false, carry, func(q *client.Request) []client.LoggedSet {
			return []client.LoggedSet{did(q, carry, 9, 0, 24), with(did(q, carry, 3, 0, 20), func(s *client.LoggedSet) { s.Pain = to(4.0) })}
		}, 14, "A quarter off the 20 kg of 21 November, which hurt too much: 14 kg."},
		"went well since it hurt": {false, carry, func(q *client.Request) []client.LoggedSet {
			return []client.LoggedSet{did(q, carry, 3, 0, 24), with(did(q, carry, 9, 0, 20), func(s *client.LoggedSet) { s.Pain = to(4.0) })}
		}, 24, "24 kg, as on 21 November."},
		"sore: since it began": {true, bench, func(q *client.Request) []client.LoggedSet { return []client.LoggedSet{did(q, bench, 12, 12, 60)} },
			60,
			"60 kg, as on 12 November."},
		"sore: from before it began": {true, bench, func(q *client.Request) []client.LoggedSet {
			return []client.LoggedSet{did(q, bench, 24, 12, 60), with(did(q, bench, 3, 12, 20), func(s *client.LoggedSet) { s.Pain = nil })}
		}, 45, "A quarter off the 60 kg of 31 October, as it is from before the complaint: 45 kg."},
		"sore: the day it began": {true, bench,
			func(q *client.Request) []client.LoggedSet { return []client.LoggedSet{did(q, bench, 20, 12, 60)} }, 35,
			"35 kg: from the 60 kg of 4 November, a fifth off after 20 days without it, a quarter off as it is from before the complaint."},
		"sore: nobody told its pain": {true, bench, func(q *client.Request) []client.LoggedSet {
			return []client.LoggedSet{with(did(q, bench, 12, 12, 60), func(s *client.LoggedSet) { s.Pain = nil })}
		}, 45, "A quarter off the 60 kg of 12 November, as nobody told its pain: 45 kg."},
		"sore: it hurt before the complaint": {true, bench, func(q *client.Request) []client.LoggedSet {
			return []client.LoggedSet{with(did(q, bench, 24, 12, 60), func(s *client.LoggedSet) { s.Pain = to(4.0) })}
		}, 0, "At most 45 kg, a quarter off the 60 kg of 31 October, which hurt too much: find the load from the test set on."},
		"a dumbbell in each hand": {false, dumbbells,
			func(q *client.Request) []client.LoggedSet { return []client.LoggedSet{did(q, bench, 12, 12, 100)} }, 37,
			"37 kg in each hand: from the 100 kg barbell bench press of 12 November, 83 % of it, halved, a tenth off."},
		"sore: from another drill": {true, dumbbells,
			func(q *client.Request) []client.LoggedSet { return []client.LoggedSet{did(q, bench, 12, 12, 100)} }, 28,
			"28 kg in each hand: from the 100 kg barbell bench press of 12 November, 83 % of it, halved, a tenth off, a quarter off for what " +
				"hurts."},
		"from another drill that hurt": {false, dumbbells, func(q *client.Request) []client.LoggedSet {
			return []client.LoggedSet{did(q, bench, 12, 12, 100), with(did(q, bench, 9, 12, 60), func(s *client.LoggedSet) { s.Pain = to(4.0) })}
		}, 0, "Find the load from the test set on: a step more at a time, while it leaves about 3 good repetitions in hand."},
		"sore: from another drill whose pain nobody told": {true, dumbbells, func(q *client.Request) []client.LoggedSet {
			return []client.LoggedSet{with(did(q, bench, 12, 12, 100), func(s *client.LoggedSet) { s.Pain = nil })}
		}, 0, "At most 37 kg, what the other side allows: find the load from the test set on."},
		"its own log before another's": {false, dumbbells, func(q *client.Request) []client.LoggedSet {
			return []client.LoggedSet{did(q, bench, 12, 12, 100), did(q, dumbbells, 12, 12, 20)}
		}, 20, "20 kg, as on 12 November."},
		"never more than the relative": {false, "trap-bar-deadlift", func(q *client.Request) []client.LoggedSet {
			return []client.LoggedSet{did(q, "barbell-deadlift", 12, 12, 100)}
		}, 100, "100 kg: from the 100 kg barbell deadlift of 12 November."},
		"one side: the side wasn't told": {false, "dumbbell-row", func(q *client.Request) []client.LoggedSet {
			return []client.LoggedSet{with(did(q, "dumbbell-row", 12, 12, 20), func(s *client.LoggedSet) { s.Side = client.SideNone })}
		}, 0, "Find the load from the test set on: a step more at a time, while it leaves about 3 good repetitions in hand."},
		"one side: the other was told": {false, "dumbbell-row", func(q *client.Request) []client.LoggedSet {
			return []client.LoggedSet{with(did(q, "dumbbell-row", 12, 12, 20), func(s *client.LoggedSet) { s.Side = client.SideRight })}
		}, 0, "Find the load from the test set on: a step more at a time, while it leaves about 3 good repetitions in hand."},
		"machines don't compare": {false, "machine-chest-press",
			func(q *client.Request) []client.LoggedSet { return []client.LoggedSet{did(q, bench, 12, 12, 100)} }, 0,
			"Find the load from the test set on: a step more at a time, while it leaves about 3 good repetitions in hand."},
	} {
		t.Run(name, func(t *testing.T) {
			q := someone(t)
			if c.sore {
				q = shoulderHurts(t)
			}
			q.Profile.Log = c.log(q)
			a := explained(t, q, c.drill)
			require.NotNil(t, a.Sides[0].Dose, "%v", a.Sides[0].Rules)
			require.Equal(t, c.words, a.Sides[0].Dose.LoadWords)
			if c.kg == 0 {
				require.Nil(t, a.Sides[0].Dose.LoadKg)
			} else {
				require.NotNil(t, a.Sides[0].Dose.LoadKg)
				require.InDelta(t, c.kg, *a.Sides[0].Dose.LoadKg, 1e-9)
			}
		})
	}
}

// TestNoLoadFromAnotherDrill: for some a share is never taken, nor where it can't be ruled out that they are one of these.
func TestNoLoadFromAnotherDrill(t *testing.T) {
	const from, drill = "barbell-bench-press", "incline-barbell-press"
	known := func(q *client.Request) bool {
		q.Profile.Log = []client.LoggedSet{did(q, from, 12, 12, 60)}
		for _, side := range explained(t, q, drill).Sides {
			if side.Dose != nil && side.Dose.LoadKg != nil {
				return true
			}
		}
		return false
	}
	require.True(t, known(someone(t)))
	for name, change := range map[string]func(q *client.Request, p *client.Profile){
		"seventeen":         func(_ *client.Request, p *client.Profile) { p.AgeYears, p.GuardianPresent = to(17), to(true) },
		"sixty-five":        func(_ *client.Request, p *client.Profile) { p.AgeYears = to(65) },
		"age not told":      func(_ *client.Request, p *client.Profile) { p.AgeYears = nil },
		"a novice":          func(_ *client.Request, p *client.Profile) { p.Training = "NOVICE" },
		"training not told": func(_ *client.Request, p *client.Profile) { p.Training = "" },
		"pregnant": func(_ *client.Request, p *client.Profile) {
			p.Sex, p.Pregnancy = "FEMALE", &client.Pregnancy{Weeks: to(8), Agreed: to(true)}
		},
		"upper pressure": func(q *client.Request, p *client.Profile) {
			p.BloodPressure = &client.BloodPressure{Systolic: 160, Diastolic: 80, Day: q.AsOf}
		},
		"lower pressure": func(q *client.Request, p *client.Profile) {
			p.BloodPressure = &client.BloodPressure{Systolic: 120, Diastolic: 100, Day: q.AsOf}
		},
		"pressure not asked": func(_ *client.Request, p *client.Profile) { p.Screening = nil },
		"osteoporosis":       func(q *client.Request, _ *client.Profile) { has(q, "osteoporosis", client.SideNone) },
		"conditions unasked": func(_ *client.Request, p *client.Profile) {
			p.ConditionsTold, p.Screening.Lists = false, slices.DeleteFunc(slices.Clone(p.Screening.Lists),
				func(id string) bool { return id == "everyone" })
		},
	} {
		t.Run(name, func(t *testing.T) {
			q := someone(t)
			change(q, q.Profile)
			require.False(t, known(q))
		})
	}
}

// TestBodyWeightIsALoadToo: what of the body a drill moves is held against a clinician's limit, with what is lifted beside it, and against
// the load of the lift in whose place it comes.
func TestBodyWeightIsALoadToo(t *testing.T) {
	verdict := func(q *client.Request, id string) (string, string) {
		a := explained(t, q, id)
		words := ""
		for _, r := range a.Sides[0].Rules {
			if r.Verdict == "NOT_TODAY" {
				words = r.Reason.Words
			}
		}
		return a.Verdict, words
	}
	q := someone(t) // of 80 kg
	limited(q, "shoulder", client.SideLeft, 52)
	stands(t, q, "shoulder", "unrestricted")
	reaches(t, q, "shoulder")
	v, words := verdict(q, "push-up") // 64 %
	require.Equal(t, "OPEN", v, words)
	q.Profile.Clearances[0].LoadKg = to(51.0)
	v, words = verdict(q, "push-up")
	require.Equal(t, "NOT_TODAY", v)
	require.Equal(t, "Push-up, hands flat on the floor moves about 51 kg of the body; the most for the left side today is 51 kg.", words)

	q = someone(t)
	limited(q, "knee", client.SideNone, 100)
	stands(t, q, "knee", "unrestricted")
	reaches(t, q, "knee")
	q.Profile.Log = []client.LoggedSet{did(q, "barbell-back-squat", 3, 12, 100)}
	dose := explained(t, q, "barbell-back-squat").Sides[0].Dose // 88 % of 80 kg are 70.4
	require.NotNil(t, dose)
	require.Equal(t, "27.5 kg, by the clinician's limit; the log alone would give more.", dose.LoadWords)
	q.Profile.Clearances[0].LoadKg = to(90.0)
	_, words = verdict(q, "barbell-back-squat")
	require.Equal(t, "The most for the left side today is 17.5 kg beside about 70 kg of the body; Barbell back squat starts at 20 kg.", words)

	q = shoulderHurts(t)
	q.Lift = "barbell-bench-press"
	for kg, want := range map[float64]string{40: "NOT_TODAY", 60: "OPEN"} { // three quarters are 30 and 45 kg, and 41 % of the body 33
		q.Profile.Log = []client.LoggedSet{did(q, q.Lift, 12, 12, kg)}
		v, words = verdict(q, "push-up-hold-on-racked-bar")
		require.Equal(t, want, v, "%g kg: %s", kg, words)
		inList := slices.Contains(openInPlace(t, q), "push-up-hold-on-racked-bar")
		require.Equal(t, want == "OPEN", inList, "one verdict, whoever is asked")
	}
	q.Profile.BodyMassKg = nil
	q.Profile.Log = []client.LoggedSet{did(q, q.Lift, 12, 12, 40)}
	v, words = verdict(q, "push-up-hold-on-racked-bar")
	require.Equal(t, "OPEN", v, "%s: nobody told the body's mass", words)
}

// openInPlace are the substitutes of a request, all of them.
func openInPlace(t *testing.T, q *client.Request) (ids []string) {
	a, err := selection.Substitute(edition(t), q, selection.Options{Limit: -1})
	require.NoError(t, err)
	for _, s := range a.Substitutes {
		ids = append(ids, s.Drill.ID)
	}
	return ids
}

// aLog draws a client with a log, on whom a load would be named, with what hurts and a clinician's limit or none.
func aLog(t *testing.T, r *rapid.T) *client.Request {
	q := someone(t)
	region := rapid.SampledFrom([]string{"shoulder", "knee", "low_back", ""}).Draw(r, "region")
	if region != "" {
		side := client.SideLeft
		if !edition(t).Frame.Vocabulary.Sided(region) {
			side = client.SideNone
		}
		pain := float64(rapid.IntRange(1, 6).Draw(r, "pain"))
		hurts(q, region, side, pain)
		q.Complaints[0].Days = rapid.SampledFrom([]int{0, 5, 20, 60}).Draw(r, "days")
		if rapid.Bool().Draw(r, "scored") {
			scores(t, q, region, pain)
		}
		stands(t, q, region, "unrestricted")
		reaches(t, q, region)
		if rapid.Bool().Draw(r, "limit") {
			limited(q, region, side, float64(rapid.IntRange(1, 120).Draw(r, "limit kg")))
		}
	}
	for range rapid.IntRange(1, 6).Draw(r, "sets") {
		s := did(q, rapid.SampledFrom(loadable(t)).Draw(r, "drill"), rapid.IntRange(0, 45).Draw(r, "ago"), rapid.IntRange(1, 14).Draw(r, "reps"),
			float64(rapid.IntRange(1, 120).Draw(r, "kg")))
		s.Side = rapid.SampledFrom([]client.Side{client.SideLeft, client.SideRight, client.SideBoth}).Draw(r, "side")
		s.Effort, s.Pain = to(float64(rapid.IntRange(4, 10).Draw(r, "effort"))), to(float64(rapid.IntRange(0, 5).Draw(r, "set pain")))
		s.NextDay = to(float64(rapid.IntRange(0, 3).Draw(r, "next day")))
		q.Profile.Log = append(q.Profile.Log, s)
	}
	return q
}

// loadable are drills of every tool whose load is set in kilograms, and those with a share.
func loadable(t *testing.T) []string {
	ids := []string{"machine-leg-press", "seated-cable-row", "one-arm-dumbbell-bench-press", "goblet-squat", "dumbbell-row", "farmer-carry",
		"leg-extension-full"}
	for _, s := range edition(t).Frame.Measures.Loads.Shares.Of {
		ids = append(ids, s.Drill, s.From)
	}
	slices.Sort(ids)
	return slices.Compact(ids)
}

// dosesOf are a client's doses of every drill that isn't closed as a whole, by drill and side.
func dosesOf(t *testing.T, q *client.Request) map[string]*selection.Dose {
	e, out := edition(t), map[string]*selection.Dose{}
	all, err := selection.Doses(e, q)
	require.NoError(t, err)
	for _, d := range e.Catalogue.Drills {
		sides := all[d.ID]
		if d.Sides != catalog.OneSide && rules.Together(sides[0].Verdict, sides[1].Verdict) == rules.NotToday {
			continue
		}
		for i, side := range sides {
			if side.Dose != nil {
				out[d.ID+" "+string(client.Sides[i])] = side.Dose
			}
		}
	}
	return out
}

var oneSentence = regexp.MustCompile(`^[^.]*(\d\.\d[^.]*)*\.$`)

// TestLoadsStayWithinWhatIsKnown: no load above what the log shows, above what a sore region starts at, above a clinician's limit, or off
// the steps of its kit.
func TestLoadsStayWithinWhatIsKnown(t *testing.T) {
	e, named := edition(t), 0
	rapid.Check(t, func(r *rapid.T) {
		q := aLog(t, r)
		for key, dose := range dosesOf(t, q) {
			id, side, _ := strings.Cut(key, " ")
			d := drill(t, id)
			require.Regexp(r, oneSentence, dose.LoadWords, key)
			if dose.LoadKg == nil {
				continue
			}
			named++
			kg := *dose.LoadKg
			require.GreaterOrEqual(r, kg, d.Load.FloorKg, key)
			steps := (kg - d.Load.FloorKg) / d.Load.StepKg
			require.InDelta(r, math.Round(steps), steps, 1e-6, "%s: %g kg", key, kg)
			at := slices.Index([]string{"LEFT", "RIGHT"}, side)
			relatives := map[string]float64{id: 1}
			for _, s := range e.Frame.Measures.Loads.Shares.Of {
				if s.Drill == id {
					relatives[s.From] = s.Percent / 100
				}
			}
			most := 0.0
			for _, s := range q.Profile.Log {
				share, related := relatives[s.Drill]
				if !related || q.AsOf-s.Day > 42 {
					continue
				}
				left := share * s.LoadKg
				if hits(q, d, at) && (s.Drill != id || q.Complaints[0].Days == 0 || int(q.AsOf-s.Day) >= q.Complaints[0].Days) {
					left *= 0.75
				}
				most = max(most, left)
			}
			require.LessOrEqual(r, kg, most+1e-9, "%s: %s", key, dose.LoadWords)
			for _, c := range q.Profile.Clearances {
				if hits(q, d, at) {
					require.LessOrEqual(r, kg, *c.LoadKg, "%s: %s", key, dose.LoadWords)
				}
			}
		}
	})
	t.Logf("%d loads named", named)
}

// hits is whether a drill loads the region of the first complaint while a side works, or both do.
func hits(q *client.Request, d *catalog.Drill, side int) bool {
	if len(q.Complaints) == 0 {
		return false
	}
	c := q.Complaints[0]
	for i, row := range d.Rows {
		for region := range row.Asks() {
			load := row.Load(region)
			loads := row.Carries(region) || load != nil && load.Rung != "active_motion"
			if region == c.Region && loads && (c.Side.On(side^i) || d.Sides != catalog.OneSide) {
				return true
			}
		}
	}
	return false
}

// TestUntoldNeverLoadsMore: whatever nobody told, no load comes out heavier for it.
func TestUntoldNeverLoadsMore(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		q := aLog(t, r)
		before := dosesOf(t, q)
		i := rapid.IntRange(0, len(q.Profile.Log)-1).Draw(r, "which set")
		s := &q.Profile.Log[i]
		what := rapid.SampledFrom([]string{"effort", "age", "training", "conditions", "pressure", "days", "mass", "set", "side",
			"scores"}).Draw(r, "untold")
		switch what {
		case "effort":
			s.Effort = nil
		case "age":
			q.Profile.AgeYears = nil
		case "training":
			q.Profile.Training = ""
		case "conditions":
			q.Profile.ConditionsTold, q.Profile.Screening = false, nil
		case "pressure":
			q.Profile.Screening = nil
		case "side":
			s.Side = client.SideNone
		case "days":
			if len(q.Complaints) > 0 {
				q.Complaints[0].Days = 0
			}
		case "mass":
			q.Profile.BodyMassKg = nil
		case "set":
			if *s.Pain > 0 || *s.NextDay > 0 { // pain that was told speaks against a load
				r.Skip()
			}
			q.Profile.Log = slices.Delete(q.Profile.Log, i, i+1)
		case "scores":
			q.Profile.Pain = nil
		}
		after := dosesOf(t, q)
		for key, dose := range after {
			other := strings.NewReplacer("LEFT", "RIGHT", "RIGHT", "LEFT").Replace(key)
			// Which side sets the pace, if any, hangs on what was told of both.
			paced := drill(t, strings.Fields(key)[0]).Sides == catalog.OneSide && before[other] != nil
			if dose.LoadKg == nil || paced && (what == "days" || what == "scores") {
				continue
			}
			if was := before[key]; was != nil && was.LoadKg != nil {
				require.LessOrEqual(r, *dose.LoadKg, *was.LoadKg, "%s without %s: %s, and before: %s", key, what, dose.LoadWords, was.LoadWords)
				continue
			}
			require.Failf(r, "a load where there was none", "%s without %s: %s", key, what, dose.LoadWords)
		}
	})
}

// TestSorePainUntoldNeverLoadsMore: of a set that loaded what hurts, pain and next morning that nobody told count as too much to be sure.
func TestSorePainUntoldNeverLoadsMore(t *testing.T) {
	for _, pain := range []float64{0, 1, 3} {
		for _, next := range []float64{0, 1} {
			reported, untold := shoulderHurts(t), shoulderHurts(t)
			s := did(reported, "barbell-bench-press", 5, 12, 60)
			s.Pain, s.NextDay = &pain, &next
			reported.Profile.Log = []client.LoggedSet{s}
			for _, drop := range []func(*client.LoggedSet){func(s *client.LoggedSet) { s.Pain = nil },
				func(s *client.LoggedSet) { s.NextDay = nil; s.Day = reported.AsOf }} {
				one := s
				drop(&one)
				untold.Profile.Log = []client.LoggedSet{one}
				require.Less(t, *explained(t, untold, s.Drill).Sides[0].Dose.LoadKg, *explained(t, reported, s.Drill).Sides[0].Dose.LoadKg,
					fmt.Sprint(pain, next))
			}
		}
	}
}

// TestSecondLookAtLoads: a load that no set of the log stands behind, or more than a sore region starts at, isn't returned, whatever named
// it.
func TestSecondLookAtLoads(t *testing.T) {
	const bench = "barbell-bench-press"
	looked := func(q *client.Request, kg float64) bool {
		ok, err := selection.SecondLookAtLoad(edition(t), q, bench, kg)
		require.NoError(t, err)
		return ok
	}
	q := someone(t)
	require.False(t, looked(q, 20), "no log")
	q.Profile.Log = []client.LoggedSet{did(q, bench, 50, 12, 60)}
	require.False(t, looked(q, 20), "too old")
	q.Profile.Log = []client.LoggedSet{did(q, bench, 12, 12, 60)}
	require.True(t, looked(q, 60))
	require.False(t, looked(q, 62.5), "above the log")
	q.Profile.Log = []client.LoggedSet{did(q, bench+"-wide", 12, 12, 60)}
	require.True(t, looked(q, 55))
	require.False(t, looked(q, 57.5), "above the share")
	q.Profile.Training = "NOVICE"
	require.False(t, looked(q, 55), "a share isn't for everybody")

	q = shoulderHurts(t)
	q.Profile.Log = []client.LoggedSet{did(q, bench, 30, 12, 60)}
	require.True(t, looked(q, 45))
	require.False(t, looked(q, 47.5), "above what a sore region starts at")
	q.Profile.Log = []client.LoggedSet{did(q, bench, 10, 12, 60)}
	require.True(t, looked(q, 60), "it was done since")
	limited(q, "shoulder", client.SideRight, 40)
	require.False(t, looked(q, 42.5), "above a clinician's limit")
}

// TestOffIsSaidOfALoad: that something is taken off stands only where a load is named, and then the card says off what. A hold, the body's
// own weight, a band and what moves no load are told nothing of the kind.
func TestOffIsSaidOfALoad(t *testing.T) {
	e, said, others := edition(t), 0, 0
	for _, region := range []string{"shoulder", "knee"} {
		q := someone(t)
		hurts(q, region, client.SideLeft, 4)
		scores(t, q, region, 4)
		for i := range q.Profile.Pain {
			q.Profile.Pain[i].NextDay = to(3.0)
		}
		stands(t, q, region, "unrestricted")
		reaches(t, q, region)
		for _, d := range e.Catalogue.Drills {
			if d.Lifted() && d.Index%2 == 0 {
				q.Profile.Log = append(q.Profile.Log, did(q, d.ID, 25, 12, 60))
			}
		}
		q.Lift = map[string]string{"shoulder": "barbell-overhead-press", "knee": "barbell-back-squat"}[region]
		a, err := selection.Substitute(e, q, selection.Options{Limit: -1})
		require.NoError(t, err)
		for _, s := range a.Substitutes {
			dose := s.Sides[0].Dose
			off := false
			for _, r := range s.Reasons {
				off = off || strings.Contains(r.Words, " off what ") || strings.Contains(r.Words, "load off")
			}
			if dose.LoadKg == nil && len(s.Sides) == 1 {
				require.False(t, off, "%s: %v", s.Drill.ID, s.Reasons)
				others++
			}
			if off && len(s.Sides) == 1 {
				require.Contains(t, dose.LoadWords, "30 % off", s.Drill.ID)
				said++
			}
			require.Equal(t, dose.LoadKg == nil, !strings.Contains(dose.LoadWords, " kg") || strings.HasPrefix(dose.LoadWords, "At most"), "%s: %s",
				s.Drill.ID, dose.LoadWords)
		}
	}
	require.Positive(t, said)
	require.Positive(t, others)
}
