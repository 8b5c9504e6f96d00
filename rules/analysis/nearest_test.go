package analysis

import (
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"drillwright/rules"
	"drillwright/rules/client"
	"drillwright/rules/internal/random"
	"drillwright/rules/predicate"
)

var nearestTried = flag.Int("nearest", 60, "random formulas for which every client is tried")

// trial is a fact that the trial of every client tries: all the values it can be told, by hand.
type trial struct {
	path   string
	side   int
	word   string
	values []func(*client.Request)
	size   func(q *client.Request, i int) float64 // of the change from a client to the value at i
}

// onNumber tries every whole number from lo to hi.
func onNumber(path string, side, lo, hi int, usual float64, had func(*client.Request) *float64, tell func(*client.Request, int)) trial {
	t := trial{path: path, side: side}
	for v := lo; v <= hi; v++ {
		t.values = append(t.values, func(q *client.Request) { tell(q, v) })
	}
	t.size = func(q *client.Request, i int) float64 {
		from := usual
		if v := had(q); v != nil {
			from = *v
		}
		return math.Abs(float64(lo+i)-from) / float64(hi-lo)
	}
	return t
}

func on(path, word string, side int, values ...func(*client.Request)) trial {
	return trial{path: path, word: word, side: side, values: values, size: func(*client.Request, int) float64 { return 1 }}
}

func number(v *int) *float64 {
	if v == nil {
		return nil
	}
	f := float64(*v)
	return &f
}

// trials: whole numbers that sums are made of, a score of one side, a yes-or-no, a word, two lists.
func trials() []trial {
	worst := func(q *client.Request) *float64 {
		for _, p := range q.Profile.Pain {
			return p.Worst
		}
		return nil
	}
	medicine := func(class string, in bool) func(*client.Request) {
		return func(q *client.Request) {
			q.Profile.MedicinesTold = true
			q.Profile.Medicines = slices.DeleteFunc(q.Profile.Medicines, func(m client.Medicine) bool { return m.Class == class })
			if in {
				q.Profile.Medicines = append(q.Profile.Medicines, client.Medicine{Class: class})
			}
		}
	}
	condition := func(by, status string) func(*client.Request) {
		return func(q *client.Request) {
			q.Profile.ConditionsTold = true
			q.Profile.Conditions = nil
			if by != "" {
				q.Profile.Conditions = []client.Condition{{ID: "subacromial_pain", Side: client.SideLeft, ToldBy: by, Status: status}}
			}
		}
	}
	training := func(w string) func(*client.Request) { return func(q *client.Request) { q.Profile.Training = w } }
	supervised := func(yes bool) func(*client.Request) { return func(q *client.Request) { q.Profile.Supervised = &yes } }
	return []trial{
		onNumber("client.confidence", 0, 0, 10, 5, func(q *client.Request) *float64 { return number(q.Profile.Confidence) },
			func(q *client.Request, v int) { q.Profile.Confidence = &v }),
		onNumber("client.beighton", 0, 0, 9, 0, func(q *client.Request) *float64 { return number(q.Profile.Beighton) },
			func(q *client.Request, v int) { q.Profile.Beighton = &v }),
		onNumber("client.pain.shoulder.worst", 0, 0, 10, 0, worst, func(q *client.Request, v int) {
			f := float64(v)
			q.Profile.Pain = []client.Pain{{Region: "shoulder", Side: client.SideLeft, Worst: &f, Day: q.AsOf}}
		}),
		on("client.supervised", "", 0, supervised(true), supervised(false)),
		on("client.training", "", 0, training("NOVICE"), training("INTERMEDIATE"), training("ADVANCED")),
		on("client.medicines", "blood_thinner", 0, medicine("blood_thinner", true), medicine("blood_thinner", false)),
		on("client.medicines", "insulin", 0, medicine("insulin", true), medicine("insulin", false)),
		on("client.conditions", "subacromial_pain", 0, condition("", ""), condition("CLIENT", "NOW"), condition("CLINICIAN", "NOW"),
			condition("CLIENT", "PAST")),
	}
}

func copied(q *client.Request) *client.Request {
	c, p := *q, *q.Profile
	p.Medicines, p.Conditions, p.Pain = slices.Clone(p.Medicines), slices.Clone(p.Conditions), slices.Clone(p.Pain)
	c.Profile = &p
	return &c
}

// tried is the answer by trying every client: the least number of changes and the smallest size; ok is false when none
// within most changes does.
func tried(e *rules.Edition, q *client.Request, demands []Demand, most int) (changes int, size float64, ok bool) {
	list := trials()
	var try func(q *client.Request, from, left int, size float64) (float64, bool)
	try = func(now *client.Request, from, left int, had float64) (float64, bool) {
		if left == 0 {
			return had, meets(e, now, demands)
		}
		best, found := 0.0, false
		for i := from; i < len(list); i++ {
			for v := range list[i].values {
				next := copied(now)
				list[i].values[v](next)
				if size, ok := try(next, i+1, left-1, had+list[i].size(q, v)); ok && (!found || size < best) {
					best, found = size, true
				}
			}
		}
		return best, found
	}
	for changes := range most + 1 {
		if size, ok := try(q, 0, changes, 0); ok {
			return changes, size, true
		}
	}
	return 0, 0, false
}

// meets is whether a client meets every demand, by the closures.
func meets(e *rules.Edition, q *client.Request, demands []Demand) bool {
	f := client.Derive(e.Frame, q)
	defer f.Done()
	for _, d := range demands {
		sure, possible := false, false
		for i, row := range e.Rows(d.drill) {
			rd := predicate.Read(f, d.side^i, row, e.NoLift)
			t := rd.Eval(d.when)
			sure, possible = sure || t.Sure, possible || t.Possible
			if !d.bothRows {
				break
			}
		}
		if d.loose {
			sure, possible = possible, sure
		}
		if d.never && possible || !d.never && !sure {
			return false
		}
	}
	return true
}

// formula draws a condition over the facts of the trials. Thresholds are even, so that a whole number lies between two.
func formula(dice *rand.Rand, depth int) string {
	of := func(words ...string) string { return words[dice.IntN(len(words))] }
	cmp := of(">", ">=", "<", "<=", "==")
	switch {
	case depth > 0 && dice.IntN(4) == 0:
		return "not (" + formula(dice, depth-1) + ")"
	case depth > 0:
		return "(" + formula(dice, depth-1) + of(" and ", " or ", " and ") + formula(dice, depth-1) + ")"
	}
	switch dice.IntN(9) {
	case 0:
		return fmt.Sprintf("client.confidence + client.beighton %s %d", cmp, 2*dice.IntN(10))
	case 1:
		return fmt.Sprintf("client.confidence %s %d", cmp, 2*dice.IntN(6))
	case 2:
		return fmt.Sprintf("client.beighton %s %d", cmp, 2*dice.IntN(5))
	case 3:
		return fmt.Sprintf("client.pain.shoulder.worst %s %d", cmp, 2*dice.IntN(6))
	case 4:
		return "client.supervised"
	case 5:
		return "client.training " + of("==", "!=") + " '" + of("NOVICE", "INTERMEDIATE", "ADVANCED") + "'"
	case 6:
		return "'" + of("blood_thinner", "insulin") + "' in client.medicines"
	case 7:
		return "'subacromial_pain' in client." + of("conditions", "past_conditions", "conditions_by_clinician")
	}
	return "count(client.medicines, # in ['blood_thinner', 'insulin']) >= " + of("1", "2")
}

// someClient tells some of the trials' facts.
func someClient(dice *rand.Rand) *client.Request {
	q := &client.Request{Profile: &client.Profile{}, AsOf: random.AsOf}
	for _, t := range trials() {
		if dice.IntN(3) > 0 {
			t.values[dice.IntN(len(t.values))](q)
		}
	}
	return q
}

// TestNearestIsNearest holds the search against trying every client: the same existence, the same least number of
// changes, the same size.
func TestNearestIsNearest(t *testing.T) {
	if testing.Short() {
		t.Skip("judges the whole catalogue many times over")
	}
	dice := rand.New(rand.NewPCG(1, 2))
	var texts []string
	for range 120 {
		texts = append(texts, formula(dice, 2))
	}
	w := readOn(t, random.Catalogue(2, 60), random.Cautions(texts))
	paths := trials()
	may := func(p *client.Path, side int, _ bool) bool {
		return slices.ContainsFunc(paths, func(t trial) bool { return t.path == p.Name && t.side == side })
	}
	ended := map[Existence]int{}
	for range *nearestTried {
		q := someClient(dice)
		var demands []Demand
		var said []string
		for range 1 + dice.IntN(4) {
			at := dice.IntN(len(texts))
			r := w.Book.Rule(fmt.Sprintf("g-%04d", at))
			demand := Must(r, w.Catalogue.Drills[0], 0)
			demand.never, demand.bothRows, demand.loose = dice.IntN(3) == 0, false, dice.IntN(4) == 0
			demands = append(demands, demand)
			said = append(said, fmt.Sprintf("never %t, loose %t: %s", demand.never, demand.loose, texts[at]))
		}
		text := strings.Join(said, "\n")
		const most = 3
		found := Nearest(w.Edition, Search{Demands: demands, Request: q, mayChange: may, Changes: most, Nodes: 100000, Sets: 50})
		changes, size, ok := tried(w.Edition, q, demands, most)
		ended[found.Existence]++
		switch found.Existence {
		case Exists:
			require.True(t, ok, "found %+v\n%s", found.Sets[0].Edits, text)
			require.Len(t, found.Sets[0].Edits, changes, text)
			require.InDelta(t, size, found.Sets[0].size, 1e-9, text)
			require.True(t, found.least && found.all)
			for _, s := range found.Sets {
				require.Len(t, s.Edits, changes)
				require.True(t, meets(w.Edition, s.Request, demands), text)
			}
		case NotDecided:
			require.Contains(t, text, "client.confidence + client.beighton", "only sums of several facts may be too hard")
			require.False(t, ok && changes < 2, text)
		default:
			require.False(t, ok, "%d changes of size %g\n%s", changes, size, text)
		}
	}
	t.Log(ended)
	require.Greater(t, ended[Exists], *nearestTried/3)
	require.Greater(t, ended[NoClient], *nearestTried/30)
}

// TestNoRuleIsHopeless: of no judged rule of the embedded edition is it proved that it holds for nobody, on every drill that
// it could be about, unless it is about the lift; and whoever is found can be checked and sent.
func TestNoRuleIsHopeless(t *testing.T) {
	e := builtIn(t)
	found := 0
	for _, r := range e.AllRules() {
		if !r.AboutDrills() || r.When.Reads(func(r *predicate.Ref) bool { return r.Root == predicate.OfLift }) {
			continue
		}
		could, asked := false, 0
		for _, d := range e.Catalogue.Drills {
			if !e.AppliesTo(r, d) || could {
				continue
			}
			asked++
			answer := Nearest(e, Search{Demands: []Demand{Must(r, d, 0)}, Changes: 5, Nodes: 500, Sets: 3})
			could = answer.Existence != NoClient
			for _, s := range answer.Sets {
				found++
				require.NoError(t, client.Check(e.Frame, s.Request), r.ID)
				require.True(t, meets(e, s.Request, []Demand{Must(r, d, 0)}), r.ID)
			}
		}
		require.True(t, could || asked == 0, "%s: %s", r.ID, r.CodeText)
	}
	require.Greater(t, found, 200)
}

// BenchmarkNearest: a client of whom everything is known, and bars over many facts, some of which hold.
func BenchmarkNearest(b *testing.B) {
	for _, size := range []struct{ facts, bars, changes int }{{60, 60, 4}, {60, 200, 4}, {200, 300, 3}} {
		b.Run(fmt.Sprintf("%dx%d", size.facts, size.bars), func(b *testing.B) {
			dice := rand.New(rand.NewPCG(7, uint64(size.bars)))
			var facts []string
			for _, kind := range []string{"strength", "hold", "passive"} {
				for i := range random.Vocabulary().Motions {
					if m := &random.Vocabulary().Motions[i]; m.Sided && m.HasRange() {
						facts = append(facts, "client."+kind+"."+m.ID)
					}
				}
			}
			facts = facts[:min(len(facts), size.facts/2)] // each has two sides
			var texts []string
			for range size.bars {
				var atoms []string
				for range 2 + dice.IntN(2) {
					atoms = append(atoms, fmt.Sprintf("%s %s %d", facts[dice.IntN(len(facts))], []string{">", "<"}[dice.IntN(2)], 10*(1+dice.IntN(8))))
				}
				texts = append(texts, strings.Join(atoms, " and "))
			}
			w := readOn(b, random.Catalogue(2, 60), random.Cautions(texts))
			table := w.Frame.Table
			var searches []Search
			for len(searches) < 50 {
				q := &client.Request{Profile: &client.Profile{}, AsOf: random.AsOf}
				for _, path := range facts {
					for side := range 2 {
						k := &lever{leverKey: leverKey{path: path, side: side}, of: table.Path(path)}
						k.how, k.id = reportingOf(path)
						k.report(w.Frame, q, Value{Number: float64(5 + 10*dice.IntN(9))})
					}
				}
				s := Search{Request: q, Changes: size.changes, Nodes: 200000, Sets: 5}
				held := 0
				for i := range texts {
					d := MustNot(w.Book.Rule(fmt.Sprintf("g-%04d", i)), w.Catalogue.Drills[0], i%2)
					d.bothRows = false
					d.drill = nil
					if holds := !meets(w.Edition, q, []Demand{{when: d.when, drill: w.Catalogue.Drills[0], side: d.side, never: true}}); holds {
						if held++; held > size.changes+1 {
							continue // a bar more would be out of reach
						}
					}
					s.Demands = append(s.Demands, d)
				}
				searches = append(searches, s)
			}
			var took []time.Duration
			nodes := 0
			for b.Loop() {
				at := time.Now()
				found := Nearest(w.Edition, searches[len(took)%len(searches)])
				took = append(took, time.Since(at))
				nodes = max(nodes, found.nodes)
			}
			slices.Sort(took)
			b.ReportMetric(float64(took[len(took)/2].Microseconds()), "µs-p50")
			b.ReportMetric(float64(took[len(took)*99/100].Microseconds()), "µs-p99")
			b.ReportMetric(float64(nodes), "nodes-max")
		})
	}
}

// TestNearestOfTwoSides holds the search against a grid of both sides' ranges: what a range is short of the other side, and
// how far it is trusted, follow from it. Every region that the thresholds leave has a point on the grid.
func TestNearestOfTwoSides(t *testing.T) {
	if testing.Short() {
		t.Skip("judges the whole catalogue many times over")
	}
	const motion, step = "shoulder.flexion", 2.5
	dice := rand.New(rand.NewPCG(5, 6))
	atom := func() string {
		number := []string{"client.range." + motion, "client.gap.range." + motion, "client.range." + motion + " + client.margin." +
			motion}[dice.IntN(3)]
		text := fmt.Sprintf("%s %s %d", number, []string{">", ">=", "<", "<=", "=="}[dice.IntN(5)], 20*(dice.IntN(10)-1))
		if dice.IntN(3) == 0 {
			return "not (" + text + ")"
		}
		return text
	}
	var texts []string
	for range 40 {
		texts = append(texts, "("+atom()+[]string{" and ", " or "}[dice.IntN(2)]+atom()+") and "+atom())
	}
	w := readOn(t, random.Catalogue(2, 60), random.Cautions(texts))
	may := func(p *client.Path, _ int, _ bool) bool { return p.Name == "client.range."+motion }
	p := w.Frame.Table.Path("client.range." + motion)
	measured := func(q *client.Request, side int, v float64) *client.Request {
		next := copied(q)
		next.Profile.RangeDeg = append(slices.Clone(q.Profile.RangeDeg), client.Measure{Of: motion, Side: client.Sides[side], Value: v,
			Day: q.AsOf, By: "SAME_MEASURER"})
		return next
	}
	least := func(q *client.Request, demands []Demand) int {
		if meets(w.Edition, q, demands) {
			return 0
		}
		best := 3
		for left := p.Lo; left <= p.Hi; left += step {
			one := measured(q, 0, left)
			if meets(w.Edition, one, demands) || meets(w.Edition, measured(q, 1, left), demands) {
				return 1
			}
			for right := p.Lo; best == 3 && right <= p.Hi; right += step {
				if meets(w.Edition, measured(one, 1, right), demands) {
					best = 2
				}
			}
		}
		return best
	}
	ended := map[Existence]int{}
	for i := range texts {
		q := &client.Request{Profile: &client.Profile{}, AsOf: random.AsOf}
		for side := range 2 {
			if dice.IntN(2) == 0 {
				q = measured(q, side, 20*float64(dice.IntN(9)))
			}
		}
		var demands []Demand
		for side := range 2 {
			d := Must(w.Book.Rule(fmt.Sprintf("g-%04d", (i+side*dice.IntN(2))%len(texts))), w.Catalogue.Drills[0], side)
			d.bothRows, d.never = false, dice.IntN(2) == 0
			demands = append(demands, d)
		}
		found := Nearest(w.Edition, Search{Demands: demands, Request: q, mayChange: may, Changes: 2, Nodes: 100000})
		ended[found.Existence]++
		switch want := least(q, demands); found.Existence {
		case Exists:
			require.True(t, meets(w.Edition, found.Sets[0].Request, demands))
			require.True(t, len(found.Sets[0].Edits) == want || !found.least, "%d of %d changes: %s %v", len(found.Sets[0].Edits), want, texts[i],
				found.Sets)
		case NoClient:
			require.Equal(t, 3, want, texts[i])
		}
	}
	t.Log(ended)
	require.Greater(t, ended[Exists], 10)
	require.Positive(t, ended[NoClient])
}
