package selection_test

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"drillwright/rules/client"
	"drillwright/rules/selection"
)

func TestEveryLoadRowHasItsCheck(t *testing.T) {
	checked := map[string]int{}
	for _, r := range published(t, "load_tables.csv") {
		checked[r["topic"]]++
	}
	require.Equal(t, map[string]int{"percent_1rm_vs_reps": 14, "est_1rm_formula": 2, "est_1rm_worked": 8, "est_1rm_property": 1,
		"est_1rm_limit": 1}, checked)
}

// TestLoadTableIsTheChart: where two tables disagree the book follows the chart, whose rows were seen, and says so.
func TestLoadTableIsTheChart(t *testing.T) {
	loads := edition(t).Frame.Measures.Loads
	ours := map[int]float64{}
	for _, p := range loads.Percent {
		ours[p.Reps] = p.Percent
	}
	chart := 0
	for _, r := range published(t, "load_tables.csv") {
		if r["topic"] != "percent_1rm_vs_reps" {
			continue
		}
		reps, percent := int(number(t, r["key"])), number(t, r["value"])
		own, has := ours[reps]
		if r["table"] == "chart" {
			require.True(t, has, "%s: no row of %d repetitions", r["id"], reps)
			require.Equal(t, percent, own, "%s: %d repetitions", r["id"], reps)
			require.Equal(t, percent, selection.Percent(loads.Percent, reps), r["id"])
			chart++
			continue
		}
		require.Equal(t, "no", r["confirmed"], "%s: the other table is from memory", r["id"])
		if has {
			require.NotEqual(t, percent, own, "%s: the tables disagree at %d", r["id"], reps)
			require.Contains(t, loads.Source.Note, fmt.Sprintf("%s at %d", r["value"], reps), "%s: the disagreement isn't said", r["id"])
		}
	}
	require.Len(t, ours, chart, "rows that no published row stands behind")
}

func TestFormulasAreAsPublished(t *testing.T) {
	algebra := map[string]func(w, r float64) float64{
		"w*(1+r/30)":  func(w, r float64) float64 { return w * (1 + r/30) },
		"w*36/(37-r)": func(w, r float64) float64 { return w * 36 / (37 - r) },
	}
	for _, r := range published(t, "load_tables.csv") {
		if r["topic"] != "est_1rm_formula" {
			continue
		}
		want := algebra[r["value"]]
		require.NotNil(t, want, r["value"])
		for _, kg := range []float64{20, 72.5, 140} {
			for reps := 2; reps <= 10; reps++ {
				require.InDelta(t, want(kg, float64(reps)), selection.EstimateMax(strings.ToLower(r["key"]), kg, reps), 1e-9,
					"%s: %g kg, %d repetitions", r["id"], kg, reps)
			}
		}
	}
}

func TestWorkedEstimates(t *testing.T) {
	for _, r := range published(t, "load_tables.csv") {
		if r["topic"] != "est_1rm_worked" {
			continue
		}
		var name string
		var kg float64
		var reps int
		_, err := fmt.Sscanf(r["key"], "%s w=%g r=%d", &name, &kg, &reps)
		require.NoError(t, err, r["id"])
		want := number(t, r["value"])
		if reps == 1 {
			// One repetition is itself by either formula: Epley's own 103.33 for a single of 100 would
			// say that more was lifted than was.
			want = kg
		}
		require.InDelta(t, want, selection.EstimateMax(strings.ToLower(name), kg, reps), 0.01, "%s: %s", r["id"], r["key"])
	}
}

// TestFormulasMeetAtTen: both give 4/3 of the load there; below it Epley's lies a little higher, at one both are the load.
func TestFormulasMeetAtTen(t *testing.T) {
	const kg = 90
	require.InDelta(t, selection.EstimateMax("brzycki", kg, 10), selection.EstimateMax("epley", kg, 10), 1e-9)
	require.InDelta(t, kg*4/3.0, selection.EstimateMax("epley", kg, 10), 1e-9)
	for reps := 2; reps < 10; reps++ {
		epley, brzycki := selection.EstimateMax("epley", kg, reps), selection.EstimateMax("brzycki", kg, reps)
		require.Greater(t, epley, brzycki, "%d repetitions", reps)
		require.Less(t, epley, brzycki*1.05, "%d repetitions", reps)
	}
	require.Equal(t, selection.EstimateMax("brzycki", kg, 1), selection.EstimateMax("epley", kg, 1))
	require.Zero(t, selection.EstimateMax("epley", kg, 0))
}

// TestLongSetsSetNoTarget: a logged set is estimated from up to ten repetitions; of eleven or twelve the load
// is known, and nothing is worked out from it.
func TestLongSetsSetNoTarget(t *testing.T) {
	loads := edition(t).Frame.Measures.Loads
	limit := 0
	for _, r := range published(t, "load_tables.csv") {
		if r["topic"] == "est_1rm_limit" {
			var err error
			limit, err = strconv.Atoi(r["value"])
			require.NoError(t, err)
		}
	}
	require.Equal(t, limit, loads.MaxReps)

	const lift, kg = "dumbbell-bench-press", 40
	target := func(dose *selection.Dose, reps int) float64 {
		step := drill(t, lift).Load.StepKg
		most := selection.EstimateMax(loads.Formula, kg, reps)
		return math.Floor(most*selection.Percent(loads.Percent, dose.RepsHigh+10-dose.EffortHigh)/100/step) * step
	}
	dose := logged(t, lift, kg, limit)
	for _, reps := range []int{limit, limit + 1} {
		require.Less(t, target(dose, reps), float64(kg), "the check needs sets whose target would lie below their load")
	}
	require.Equal(t, target(dose, limit), *dose.LoadKg, "a set of %d repetitions", limit)
	for _, reps := range []int{limit + 1, limit + 2} {
		require.Equal(t, float64(kg), *logged(t, lift, kg, reps).LoadKg, "a set of %d repetitions", reps)
	}
}

// logged is the dose of a lift for someone who did one set of it last week.
func logged(t *testing.T, lift string, kg float64, reps int) *selection.Dose {
	q := someone(t)
	q.Profile.Log = []client.LoggedSet{{Drill: lift, Day: q.AsOf - 7, Side: client.SideBoth, Reps: reps, LoadKg: kg, Effort: to(8.0),
		Pain: to(0.0)}}
	a, err := selection.Explain(edition(t), q, lift)
	require.NoError(t, err)
	require.Equal(t, "OPEN", a.Verdict)
	require.NotNil(t, a.Sides[0].Dose)
	require.NotNil(t, a.Sides[0].Dose.LoadKg, a.Sides[0].Dose.LoadWords)
	return a.Sides[0].Dose
}
