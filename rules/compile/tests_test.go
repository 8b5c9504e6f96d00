package compile

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"drillwright/rules/client"
	"drillwright/rules/predicate"
)

// TestStrict: what is at least a number is above its strict one, and nothing else is; likewise at most and below.
func TestStrict(t *testing.T) {
	values := []float64{0, 1, 15, 14.999999999999998, -15, 0.1, 1e300, math.MaxFloat64, math.SmallestNonzeroFloat64, math.NaN()}
	for _, v := range slices.Clone(values) {
		values = append(values, -v, math.Nextafter(v, math.Inf(1)), math.Nextafter(v, math.Inf(-1)))
	}
	for _, k := range append(slices.Clone(values), math.Inf(1), math.Inf(-1)) {
		for _, v := range values {
			if math.IsInf(v, 0) {
				continue // no fact is
			}
			require.Equal(t, v >= k, v > strict(atLeast, k), "%v >= %v", v, k)
			require.Equal(t, v <= k, v < strict(atMost, k), "%v <= %v", v, k)
			require.Equal(t, v > k, v > strict(above, k))
			require.Equal(t, v < k, v < strict(below, k))
		}
	}
}

// asksNumber is a comparison of the client's only number.
func asksNumber(cmp string, k float64) *predicate.Node {
	fact := &predicate.Num{Op: predicate.Value, Ref: &predicate.Ref{Root: predicate.OfFacts, Kind: client.Number, Name: "n"}}
	return &predicate.Node{Op: predicate.Compare, Cmp: cmp, L: fact, R: &predicate.Num{Op: predicate.Const, K: k}}
}

func gateOf(n *predicate.Node, s client.Span) (left, right bool) {
	f := factsOf(s)
	readings := [2]predicate.Reading{predicate.Read(f, 0, nil, nil), predicate.Read(f, 1, nil, nil)}
	var of Asked
	of.Begin(&readings)
	return NewPreconditions([]*predicate.Node{n.Seal()}).Holds(0, &of)
}

// TestNumberTests holds every comparison, affirmed and denied, against its closure, on spans around the constant.
func TestNumberTests(t *testing.T) {
	ends := []float64{-1, 14.999999999999998, 15, 15.000000000000002, 30}
	spans := []client.Span{{Lo: math.NaN(), Hi: math.NaN()}}
	for i, low := range ends {
		for _, high := range ends[i:] {
			spans = append(spans, client.Span{Lo: low, Hi: high})
		}
	}
	for _, cmp := range []string{">", ">=", "<", "<=", "=="} {
		for _, denied := range []bool{false, true} {
			n := asksNumber(cmp, 15).Seal()
			if denied {
				n = (&predicate.Node{Op: predicate.Not, Kids: []*predicate.Node{n}}).Seal()
			}
			for _, s := range spans {
				r := predicate.Read(factsOf(s), 0, nil, nil)
				left, _ := gateOf(n, s)
				require.Equal(t, r.Eval(n).Possible, left, "%v %s 15, denied %v", s, cmp, denied)
			}
		}
	}
}

// TestLongGate: a predicate with more literals than a jump is wide is asked all the same.
func TestLongGate(t *testing.T) {
	for _, op := range []predicate.Op{predicate.And, predicate.Or} {
		n := &predicate.Node{Op: op}
		for i := range math.MaxInt16 + 10 {
			n.Kids = append(n.Kids, asksNumber(">", float64(i)))
		}
		n.Seal()
		for _, v := range []float64{-1, 5, math.MaxInt16 + 20} {
			left, _ := gateOf(n, client.Span{Lo: v, Hi: v})
			require.Equal(t, op == predicate.Or && v > 0 || v > math.MaxInt16+10, left, fmt.Sprint(op, v))
		}
	}
}

// TestGateOverNothing: what is joined of nothing has a test of its own, wherever it stands.
func TestGateOverNothing(t *testing.T) {
	empty := func(op predicate.Op) *predicate.Node { return &predicate.Node{Op: op, Domain: "stressors"} }
	join := func(op predicate.Op, kids ...*predicate.Node) *predicate.Node {
		return &predicate.Node{Op: op, Kids: kids}
	}
	yes, no := func() *predicate.Node { return asksNumber(">", 1) }, func() *predicate.Node { return asksNumber(">", 9) }
	var list []*predicate.Node
	for _, nothing := range []predicate.Op{predicate.And, predicate.Or} {
		list = append(list, empty(nothing))
		for _, op := range []predicate.Op{predicate.And, predicate.Or} {
			list = append(list, join(op, yes(), empty(nothing)), join(op, no(), empty(nothing)), join(op, empty(nothing), yes()),
				join(op, empty(nothing), no()),
				join(op, join(predicate.And+predicate.Or-op, no(), empty(nothing)), yes()),
				join(op, empty(nothing), empty(predicate.And+predicate.Or-nothing)))
		}
	}
	f := factsOf(client.Span{Lo: 5, Hi: 5})
	readings := [2]predicate.Reading{predicate.Read(f, 0, nil, nil), predicate.Read(f, 1, nil, nil)}
	var of Asked
	of.Begin(&readings)
	for _, n := range list {
		n.Seal()
	}
	g := NewPreconditions(list)
	for i, n := range list {
		left, _ := g.Holds(i, &of)
		require.Equal(t, readings[0].Eval(n).Possible, left, "%d: %s", i, n.Key())
	}
}
