package predicate

import (
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// TestUnchosen: without its choices a comparison of what is known comes out as it does with them, worked out by hand.
func TestUnchosen(t *testing.T) {
	yes := &Node{Op: Always}
	no := &Node{Op: Not, Kids: []*Node{yes}}
	var number func(t *rapid.T, depth int) (*Num, float64)
	number = func(t *rapid.T, depth int) (*Num, float64) {
		kind := rapid.IntRange(0, 3).Draw(t, "kind")
		if depth == 0 || kind == 0 {
			k := float64(rapid.IntRange(-3, 3).Draw(t, "number"))
			return &Num{Op: Const, K: k}, k
		}
		l, x := number(t, depth-1)
		r, y := number(t, depth-1)
		switch {
		case kind == 1:
			return &Num{Op: Add, L: l, R: r}, x + y
		case kind == 2:
			return &Num{Op: Sub, L: l, R: r}, x - y
		case rapid.Bool().Draw(t, "which"):
			return &Num{Op: Choose, Cond: yes, L: l, R: r}, x
		}
		return &Num{Op: Choose, Cond: no, L: l, R: r}, y
	}
	rapid.Check(t, func(t *rapid.T) {
		l, x := number(t, 2)
		r, y := number(t, 2)
		cmp := rapid.SampledFrom([]string{"<", "<=", ">", ">=", "=="}).Draw(t, "cmp")
		want := map[string]bool{"<": x < y, "<=": x <= y, ">": x > y, ">=": x >= y, "==": x == y}[cmp]
		n := (&Node{Op: Compare, Cmp: cmp, L: l, R: r}).Unchosen().Seal()
		got := (&Reading{}).Eval(n)
		require.Equal(t, want, got.Sure)
		require.Equal(t, want, got.Possible)
	})
}
