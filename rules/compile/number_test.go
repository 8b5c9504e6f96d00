package compile

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"drillwright/rules/client"
	"drillwright/rules/predicate"
)

// oneNumber is a catalogue of drills that have one number each; every third drill has a second row with another.
func oneNumber(values []float64) *layout {
	var rows [][]*predicate.Row
	for i, v := range values {
		drill := []*predicate.Row{predicate.Pack(predicate.Tags{Num: []float64{v}})}
		if i%3 == 0 {
			drill = append(drill, predicate.Pack(predicate.Tags{Num: []float64{values[len(values)-1-i]}}))
		}
		rows = append(rows, drill)
	}
	return newLayout(rows)
}

// the number of the drill, and that of the client.
var (
	drillNumber  = &predicate.Num{Op: predicate.Value, Ref: &predicate.Ref{Root: predicate.OfDrill, Name: "drill.n", Kind: client.Number}}
	clientNumber = &predicate.Num{Op: predicate.Value, Ref: &predicate.Ref{Root: predicate.OfFacts, Name: "client.n", Kind: client.Number,
		Path: &client.Path{Name: "client.n"}}}
)

func compare(left *predicate.Num, cmp string, right *predicate.Num) *predicate.Node {
	return (&predicate.Node{Op: predicate.Compare, L: left, Cmp: cmp, R: right}).Seal()
}

// distinct draws a number for each drill: so many distinct values, a few drills without one.
func distinct(dice *rand.Rand, drills, values int) []float64 {
	out := make([]float64, drills)
	for i := range out {
		out[i] = float64(5*dice.IntN(values)) - 30
		if dice.IntN(10) == 0 {
			out[i] = math.NaN()
		}
	}
	return out
}

// TestNumberIndex holds every comparison with spans of every kind against the closures, in catalogues with fewer and
// with more distinct values than an index keeps sets for.
func TestNumberIndex(t *testing.T) {
	dice := rand.New(rand.NewPCG(1, 2))
	for _, values := range []int{1, 2, 40, 128, 129, 257, 383} {
		numbers := distinct(dice, 4*values, values)
		spans := spansAround(dice, numbers)
		l := oneNumber(numbers)
		for _, cmp := range []string{">", ">=", "<", "<=", "=="} {
			for _, n := range []*predicate.Node{compare(drillNumber, cmp, clientNumber), compare(clientNumber, cmp, drillNumber)} {
				holdsAlike(t, l, n, spans)
			}
		}
	}
}

// spansAround draws spans on, between and beyond the values, and numbers that nobody stated.
func spansAround(dice *rand.Rand, values []float64) []client.Span {
	nan := math.NaN()
	spans := []client.Span{{Lo: nan, Hi: nan}, {Lo: -1000, Hi: -1000}, {Lo: 1000, Hi: 1000}, {Lo: -1000, Hi: 1000},
		{Lo: math.Inf(-1), Hi: math.Inf(1)}}
	for range 25 {
		lo := values[dice.IntN(len(values))] + float64(dice.IntN(3)-1)*2
		spans = append(spans, client.Span{Lo: lo, Hi: lo}, client.Span{Lo: lo, Hi: lo + float64(dice.IntN(60))})
	}
	return spans
}

// holdsAlike wants the rows of an atom's term, both ends, to be those for which the closures say so.
func holdsAlike(t *testing.T, l *layout, n *predicate.Node, spans []client.Span) {
	t.Helper()
	b := &builder{layout: l, numbers: map[string]*numberIndex{}}
	atom := b.numberAtom(n)
	require.NotNil(t, atom)
	r := newRequest(&Program{layout: l})
	for _, span := range spans {
		f := factsOf(span)
		r.begin(f, nil)
		for _, upper := range []bool{true, false} {
			var found term
			known := atom.find(r, upper, &found)
			got := slices.Clone(l.every)
			got.keep(&found)
			for at := range l.every.all() {
				reading := predicate.Read(f, 0, l.rows[at], nil)
				truth := reading.Eval(n)
				if want := truth.Sure || upper && truth.Possible; want != got.has(at) {
					t.Fatalf("%v %s %v, upper %v: row %d, of %v, is %v", n.L.Key(), n.Cmp, span, upper, at, l.rows[at].Number(0), got.has(at))
				}
				if truth.Sure != truth.Possible && known {
					t.Fatalf("%s with %v says that it is settled; of %v it isn't", n.Cmp, span, l.rows[at].Number(0))
				}
			}
		}
	}
}

func factsOf(span client.Span) *client.Facts {
	f := &client.Facts{}
	for side := range 2 {
		f.Num[side] = []client.Span{span}
	}
	return f
}

// TestSinceEveryPlace: the rows from each place on, where a set is kept and where it is completed from the rows.
func TestSinceEveryPlace(t *testing.T) {
	for _, values := range []int{5, 128, 129, 400} {
		l := oneNumber(distinct(rand.New(rand.NewPCG(3, 4)), 6*values, values))
		x := newNumberIndex(l, drillNumber.Seal())
		require.LessOrEqual(t, len(x.from)*l.words*8, max(len(x.rows)*bytesARow, l.words*8), "an index takes no more than it may")
		spare := newSet(l.words)
		for place := range len(x.values) + 2 {
			want := newSet(l.words)
			for at := range l.every.all() {
				if place < len(x.values) && l.rows[at].Number(0) >= x.values[place] {
					want.add(at)
				}
			}
			got := x.since(place, spare)
			if place >= len(x.values) {
				require.Nil(t, got)
				continue
			}
			require.Equal(t, want, got, "%d values, place %d", len(x.values), place)
		}
	}
}

// TestNoNumberStated: where no drill states the number, no comparison holds.
func TestNoNumberStated(t *testing.T) {
	l := oneNumber([]float64{math.NaN(), math.NaN()})
	for _, cmp := range []string{">", ">=", "<", "<=", "=="} {
		holdsAlike(t, l, compare(drillNumber, cmp, clientNumber), []client.Span{{Lo: 1, Hi: 1}, {Lo: 0, Hi: 9}})
	}
}
