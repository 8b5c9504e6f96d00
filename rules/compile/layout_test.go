package compile

import (
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"drillwright/rules/predicate"
)

// someRows are drills with one row or two.
func someRows(dice *rand.Rand, drills int, two float64) [][]*predicate.Row {
	rows := make([][]*predicate.Row, drills)
	for i := range rows {
		rows[i] = []*predicate.Row{predicate.Pack(predicate.Tags{})}
		if dice.Float64() < two {
			rows[i] = append(rows[i], predicate.Pack(predicate.Tags{}))
		}
	}
	return rows
}

// TestEveryRowHasAPlace: each row stands where the layout says, and no row anywhere else.
func TestEveryRowHasAPlace(t *testing.T) {
	dice := rand.New(rand.NewPCG(1, 1))
	for _, drills := range []int{0, 1, 63, 64, 65, 200} {
		for _, two := range []float64{0, 0.4, 1} {
			rows := someRows(dice, drills, two)
			l := newLayout(rows)
			count := 0
			for d, r := range rows {
				place := int(l.position[d])
				require.Equal(t, int32(d), l.drill[place])
				require.Same(t, r[0], l.rows[place])
				if len(r) > 1 {
					require.Same(t, r[1], l.rows[l.first*64+place])
				}
				count += len(r)
			}
			require.Equal(t, count, l.every.count())
			for at, row := range l.rows {
				require.Equal(t, row != nil, l.every.has(at), "place %d", at)
			}
		}
	}
}

// TestFold: a drill has what its first row has here, or its second row there.
func TestFold(t *testing.T) {
	dice := rand.New(rand.NewPCG(2, 2))
	for _, drills := range []int{1, 64, 65, 300} {
		for _, two := range []float64{0, 0.1, 0.4, 1} {
			rows := someRows(dice, drills, two)
			l := newLayout(rows)
			first, second := slices.Clone(l.every), slices.Clone(l.every)
			for i := range l.every {
				first[i] &= dice.Uint64()
				second[i] &= dice.Uint64()
			}
			out := newSet(l.first)
			l.fold(out, first, second)
			for d, r := range rows {
				place := int(l.position[d])
				want := first.has(place) || len(r) > 1 && second.has(l.first*64+place)
				require.Equal(t, want, out.has(place), "drill %d of %d", d, drills)
			}
			require.LessOrEqual(t, out.count(), drills)
		}
	}
}
