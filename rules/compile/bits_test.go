package compile

import (
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
)

const testWords = 3

// randomSet has about half of all rows.
func randomSet(dice *rand.Rand) set {
	s := newSet(testWords)
	for i := range s {
		s[i] = dice.Uint64()
	}
	return s
}

func TestSetOperations(t *testing.T) {
	dice := rand.New(rand.NewPCG(1, 1))
	for range 50 {
		a, b := randomSet(dice), randomSet(dice)
		b[1] = 0
		for name, op := range map[string]struct {
			run  func(s set) bool
			want func(a, b bool) bool
		}{
			"and":     {func(s set) bool { return s.and(b) }, func(a, b bool) bool { return a && b }},
			"without": {func(s set) bool { return s.without(b) }, func(a, b bool) bool { return a && !b }},
			"rest":    {func(s set) bool { return s.rest(a, b) }, func(a, b bool) bool { return a && !b }},
			"or":      {func(s set) bool { s.or(b); return !s.empty() }, func(a, b bool) bool { return a || b }},
		} {
			got := slices.Clone(a)
			left := op.run(got)
			members := 0
			for i := range testWords * 64 {
				require.Equal(t, op.want(a.has(i), b.has(i)), got.has(i), name)
				if got.has(i) {
					members++
				}
			}
			require.Equal(t, members > 0, left, name)
			require.Equal(t, members, got.count())
			require.Len(t, slices.Collect(got.all()), members)
		}
	}
	none := newSet(testWords)
	require.True(t, none.empty())
	require.False(t, randomSet(dice).and(none))
}

// terms are all eight shapes of a term.
func terms(dice *rand.Rand) []term {
	var out []term
	for _, plus := range []set{nil, randomSet(dice)} {
		for _, minus := range []set{nil, randomSet(dice)} {
			out = append(out, term{plus, minus, false}, term{plus, minus, true})
		}
	}
	return out
}

// holds is what a term says of one row.
func (t term) holds(row int) bool {
	in := t.plus != nil && t.plus.has(row) && (t.minus == nil || !t.minus.has(row))
	return in != t.not
}

func TestKeepAndJoin(t *testing.T) {
	dice := rand.New(rand.NewPCG(2, 2))
	for range 20 {
		for _, term := range terms(dice) {
			rows, had := randomSet(dice), randomSet(dice)
			kept, joined := slices.Clone(rows), slices.Clone(had)
			left := kept.keep(&term)
			joined.join(rows, &term)
			for i := range testWords * 64 {
				require.Equal(t, rows.has(i) && term.holds(i), kept.has(i), "keep %v", term)
				require.Equal(t, had.has(i) || rows.has(i) && term.holds(i), joined.has(i), "join %v", term)
			}
			require.Equal(t, !kept.empty(), left, "keep %v", term)
		}
	}
}

// TestShorterSets: a set cut to the first layer works with terms and sets of both layers.
func TestShorterSets(t *testing.T) {
	dice := rand.New(rand.NewPCG(3, 3))
	for _, term := range terms(dice) {
		whole, more := randomSet(dice), randomSet(dice)
		cut := slices.Clone(whole)[:1]
		whole.keep(&term)
		cut.keep(&term)
		require.Equal(t, whole[:1], cut)
		whole.join(more, &term)
		cut.join(more, &term)
		require.Equal(t, whole[:1], cut)
		require.Equal(t, whole.and(more), !whole.empty())
		cut.and(more)
		require.Equal(t, whole[:1], cut)
	}
}
