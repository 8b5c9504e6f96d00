package rules

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"drillwright/catalog"
	"drillwright/rules/compile"
	"drillwright/rules/internal/random"
)

// Numbers that some drills and most clients don't state, and some that everybody does.
var (
	drillNumbers = []string{"drill.floor_kg", "drill.bench_deg", "drill.rung.shoulder", "drill.stressor.%s", "drill.arc.%s.from",
		"drill.arc.%s.to", "drill.arc.%s.hardest", "drill.arc.%s.loaded.to", "drill.skill", "lift.floor_kg", "lift.arc.%s.to"}
	clientNumbers = []string{"client.limit.load_kg.shoulder", "client.limit.range.%s", "client.painful.%s.from", "client.painful.%s.to",
		"client.range.%s", "client.gap.range.%s", "client.margin.%s", "client.body_mass_kg", "client.pain.shoulder.worst", "norm.low.%s"}
)

// arithmetic draws sums, products and choices over numbers, at most so many levels deep.
func arithmetic(t *rapid.T, depth int) string {
	number := func(from []string) string {
		path := rapid.SampledFrom(from).Draw(t, "number")
		id := rapid.SampledFrom([]string{"shoulder.flexion", "hip.flexion", "neck.flexion"}).Draw(t, "motion")
		if strings.Contains(path, "stressor") {
			id = rapid.SampledFrom(random.Vocabulary().IDs("stressor")).Draw(t, "stressor")
		}
		return strings.ReplaceAll(path, "%s", id)
	}
	kind := rapid.IntRange(0, 7).Draw(t, "kind")
	if depth == 0 {
		kind %= 2
	}
	constant := rapid.SampledFrom([]string{"0", "2", "3", "10"})
	switch kind {
	case 0:
		return number(drillNumbers)
	case 1:
		return number(clientNumbers)
	case 2:
		return fmt.Sprintf("(%s + %s)", arithmetic(t, depth-1), arithmetic(t, depth-1))
	case 3:
		return fmt.Sprintf("(%s - %s)", arithmetic(t, depth-1), arithmetic(t, depth-1))
	case 4:
		return fmt.Sprintf("(%s * %s)", arithmetic(t, depth-1), constant.Draw(t, "times"))
	case 5:
		return fmt.Sprintf("(-%s)", arithmetic(t, depth-1))
	case 6:
		return fmt.Sprintf("(%s - %s)", arithmetic(t, depth-1), constant.Draw(t, "less"))
	default:
		asks := rapid.SampledFrom([]string{"client.hypermobile", "drill.overhead", "client.painkiller_today", "lift.push",
			"drill.skill >= 2"}).Draw(t, "if")
		return fmt.Sprintf("(%s ? %s : %s)", asks, arithmetic(t, depth-1), arithmetic(t, depth-1))
	}
}

// TestArithmeticAgrees: comparisons of arithmetic, much of it over what nobody stated, come out alike three ways.
func TestArithmeticAgrees(t *testing.T) {
	snap := random.Catalogue(5, 60)
	rapid.Check(t, func(t *rapid.T) {
		var book []string
		for range 20 {
			cmp := rapid.SampledFrom([]string{">", ">=", "<", "<=", "==", "!="}).Draw(t, "cmp")
			when := fmt.Sprintf("%s %s %s", arithmetic(t, 2), cmp, arithmetic(t, 1))
			if rapid.Bool().Draw(t, "denied") {
				when = "not (" + when + ")"
			}
			book = append(book, when)
		}
		w := readWorld(t, snap, random.Cautions(book))
		for range 3 {
			_, err := w.compared(rapid.Uint64Range(0, 1000).Draw(t, "client"))
			require.NoError(t, err)
		}
	})
}

// TestUnstatedNumbers: a comparison with a number that isn't stated is false, whatever is worked out with it, and its
// denial true; both are settled, not unknown.
func TestUnstatedNumbers(t *testing.T) {
	conditions := map[string]Held{
		"drill.bench_deg > client.range.shoulder.flexion":                                 0,
		"drill.bench_deg <= client.range.shoulder.flexion":                                0,
		"drill.bench_deg + 10 > client.range.shoulder.flexion - 400":                      0,
		"drill.bench_deg * 0 == client.margin.shoulder.flexion * 0":                       0,
		"drill.bench_deg == drill.bench_deg":                                              0,
		"drill.bench_deg != drill.bench_deg":                                              Possible | Sure,
		"not (-drill.bench_deg < client.range.shoulder.flexion)":                          Possible | Sure,
		"drill.skill >= client.limit.load_kg.shoulder":                                    0,
		"drill.skill < client.limit.load_kg.shoulder * 2 + client.range.shoulder.flexion": 0,
		"not (drill.skill < client.limit.load_kg.shoulder)":                               Possible | Sure,
		"drill.skill < client.range.shoulder.flexion + 400":                               Possible | Sure,
		"drill.skill > client.range.shoulder.flexion":                                     Possible,

		"(client.painkiller_today ? drill.bench_deg : 400) > client.range.shoulder.flexion":       Possible,
		"not ((client.painkiller_today ? drill.bench_deg : 400) > client.range.shoulder.flexion)": Possible,
		"(client.painkiller_today ? 500 : 400) > client.range.shoulder.flexion":                   Possible | Sure,
		"(drill.skill >= 0 ? drill.bench_deg : 400) > client.range.shoulder.flexion":              0,
	}
	var texts []string
	for text := range conditions {
		texts = append(texts, text)
	}
	bare := random.Changed(random.Catalogue(1, 60), func(d *catalog.Drill) { d.BenchDeg = nil })
	w := readWorld(t, catalog.NewSnapshot(random.Vocabulary(), bare), random.Cautions(texts))
	q := random.Client(1, random.Vocabulary(), 1)
	q.Profile.Clearances, q.Complaints = nil, nil
	q.Complaints = append(q.Complaints, random.Client(2, random.Vocabulary(), 0).Complaints...)
	for i := range q.Complaints {
		q.Complaints[i].Region, q.Complaints[i].Side = "shoulder", "BOTH" // in question: no range is presumed
	}
	f := random.Facts(1, w.Frame, q)
	_, err := compared(w.Edition, w.reference, w.truths, f, nil, w.Catalogue.Drills)
	require.NoError(t, err)
	w.truths.Each(f, nil, w.NoLift, func(i int, truth *compile.Truth) {
		r := w.judged[i]
		if want, ours := conditions[r.CodeText]; ours {
			for _, d := range w.Catalogue.Drills {
				require.Equal(t, bitsOf(want), bitsOf(heldBy(truth, r, d, 0)), "%s: %s", r.CodeText, d.ID)
			}
		}
	})
}

// TestChoiceOfWhatIsNotStated: a rule isn't passed over because a number that only other clients choose isn't stated.
func TestChoiceOfWhatIsNotStated(t *testing.T) {
	bare := random.Changed(random.Catalogue(1, 60), func(d *catalog.Drill) { d.BenchDeg = nil })
	for _, asks := range []string{"client.hypermobile", "not (client.beighton <= 4)"} {
		number := "(" + asks + " ? client.age_years : drill.bench_deg)"
		w := readWorld(t, catalog.NewSnapshot(random.Vocabulary(), bare),
			random.Cautions([]string{number + " * 2 >= 60", "drill.skill >= 0 and 20 <= " + number}))
		q := random.Client(1, random.Vocabulary(), 1)
		age, score := 31, 9
		q.Profile.AgeYears, q.Profile.Beighton = &age, &score
		f := random.Facts(1, w.Frame, q)
		_, err := compared(w.Edition, w.reference, w.truths, f, nil, w.Catalogue.Drills)
		require.NoError(t, err)
		w.truths.Each(f, nil, w.NoLift, func(i int, truth *compile.Truth) {
			if r := w.judged[i]; r.ID != "g-0000" && r.ID != "g-0001" {
				return
			}
			require.True(t, truth.Sure(0, 0))
			require.True(t, w.rulesFor(w.Catalogue.Drills[0]).Has(i))
		})
	}
}
