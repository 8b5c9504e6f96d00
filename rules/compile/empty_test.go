package compile

import (
	"testing"

	"github.com/stretchr/testify/require"

	"drillwright/rules/client"
	"drillwright/rules/predicate"
)

// TestOverNothing: all over a domain without members holds, any doesn't, in one book.
func TestOverNothing(t *testing.T) {
	all := (&predicate.Node{Op: predicate.And, Domain: "stressors"}).Seal()
	some := (&predicate.Node{Op: predicate.Or, Domain: "stressors"}).Seal()
	rows := [][]*predicate.Row{{predicate.Pack(predicate.Tags{})}, {predicate.Pack(predicate.Tags{})}}
	p := New(rows, []Rule{{When: all, Effect: Others}, {When: some, Effect: Others}}, nil)
	p.NewTruths().Each(factsOf(client.Span{}), nil, nil, func(rule int, truth *Truth) {
		require.Equal(t, rule == 0, truth.Possible(1, 0))
		require.Equal(t, rule == 0, truth.Sure(1, 1))
	})
}
