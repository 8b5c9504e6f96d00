package selection_test

import (
	"flag"
	"fmt"
	"maps"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"drillwright/rules"
	"drillwright/rules/analysis"
	"drillwright/rules/client"
	"drillwright/rules/selection"
)

var everyPair = flag.Bool("every-pair", false, "hold every pair of referrals together, not one in nineteen")

// Signs and severity never contradict each other. Two referrals that can hold together are both told, the more urgent first; it alone
// decides whether anything may be trained; and what the other spares stays spared. The table says how many pairs of each urgency can.
func TestReferralsTogether(t *testing.T) {
	if testing.Short() {
		t.Skip("judges the whole catalogue many times over")
	}
	e := edition(t)
	refers := e.Book.Of(rules.Refer)
	table, pairs := map[string]int{}, 0
	for i, a := range refers {
		for k, b := range refers[:i] {
			if pairs++; !*everyPair && pairs%19 != 0 {
				continue
			}
			found := analysis.Nearest(e, analysis.Search{Demands: []analysis.Demand{analysis.Must(a, nil, 0), analysis.Must(b, nil, 0)},
				Request: someone(t), Changes: 6,
				Nodes: 4000, Sets: 1})
			if found.Existence != analysis.Exists {
				table[a.Urgency+" and "+b.Urgency+": none found"]++
				continue
			}
			s := screened(t, found.Sets[0].Request)
			what := fmt.Sprintf("%s and %s (%d, %d): %v", a.ID, b.ID, i, k, s)
			require.Equal(t, selection.SeeSomeone, s.Outcome, what)
			require.Subset(t, ids(s.Referrals), []string{a.ID, b.ID}, what)
			require.True(t, slices.IsSortedFunc(s.Referrals, func(x, y selection.Referral) int { return urgencyOf(x) - urgencyOf(y) }), what)
			require.LessOrEqual(t, urgencyOf(s.Referrals[0]), min(slices.Index(rules.Urgencies, a.Urgency),
				slices.Index(rules.Urgencies, b.Urgency)), what)
			if urgencyOf(s.Referrals[0]) <= slices.Index(rules.Urgencies, "today") {
				require.True(t, s.NoDrills, what)
			}
			for _, r := range s.Referrals {
				if r.Scope == "REGION" && !s.NoDrills {
					for _, side := range sidesOf(t, r.Region) {
						require.True(t, r.Side != "" && r.Side != string(side) || spares(s, r.Region, side), "%s spares nothing: %s", r.Rule, what)
					}
				}
			}
			table[strings.Join(slices.Sorted(slices.Values([]string{a.Urgency, b.Urgency})), " and ")]++
		}
	}
	for _, line := range slices.Sorted(maps.Keys(table)) {
		t.Logf("%-40s %d", line, table[line])
	}
}

func urgencyOf(r selection.Referral) int {
	return slices.Index(rules.Urgencies, strings.ToLower(r.Urgency))
}

func ids(list []selection.Referral) []string {
	var out []string
	for _, r := range list {
		out = append(out, r.Rule)
	}
	return out
}

// spares is whether a region on a side is only moved without load.
func spares(s selection.Screening, region string, side client.Side) bool {
	return slices.ContainsFunc(s.Unloaded, func(u selection.Unloaded) bool {
		return u.Region == "" || u.Region == region && (u.Side == "" || u.Side == string(side))
	})
}
