package server

import (
	"maps"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"drillwright/rules"
	"drillwright/rules/client"
	"drillwright/rules/selection"
)

// TestLiveCheckFindsAFaultyIndex, although the second look lets nothing through of what the fault opens: the answer
// counts it among what was considered. The sound edition answers the same request alike both ways.
func TestLiveCheckFindsAFaultyIndex(t *testing.T) {
	faulty := run(t, Config{Edition: embedded().Planted("drill.rung.shoulder"), CheckShare: 1}, nil)
	had := faulty.substitute("active-hang")
	faulty.tells("drillwright_check_mismatches_total 1")
	faulty.stop()
	require.Contains(t, faulty.lines.String(), "level=ERROR")
	require.Contains(t, faulty.lines.String(), had.GetHeader().GetReceipt().GetRequestDigest())

	sound := run(t, Config{CheckShare: 1}, nil)
	should := sound.substitute("active-hang")
	sound.tells("drillwright_check_answers_total 1")
	sound.tells("drillwright_check_mismatches_total 0")
	require.Greater(t, had.GetConsidered(), should.GetConsidered())
}

// TestNothingFaultyIsPublished: what is compiled wrongly differs from the reference for a sample client, the same one each time.
func TestNothingFaultyIsPublished(t *testing.T) {
	if testing.Short() {
		t.Skip("judges the whole catalogue many times over")
	}
	e := embedded()
	for range 2 {
		require.EqualError(t, agrees(t.Context(), e.Planted("drill.rung.shoulder"), nil),
			`sample client "both-shoulders": band-diagonal-arm-raise on the LEFT: 3 points, by the reference 9`)
	}
}

// TestSampleClientsGetNothingThatAFaultOpens: what a faulty index returns for the example clients, the sound edition
// holds open, or in need of a test where the answer says so.
func TestSampleClientsGetNothingThatAFaultOpens(t *testing.T) {
	if testing.Short() {
		t.Skip("judges the whole catalogue many times over")
	}
	sound := embedded()
	faulty, before := sound.Planted("drill.rung.shoulder"), sound.Withheld()
	all := sampleClients(t, sound)
	for i, name := range slices.Sorted(maps.Keys(all)) {
		if i%4 != 0 {
			continue // each is asked for everything, which takes a while
		}
		q := all[name]
		for lift, o := range map[string]selection.Options{"active-hang": {Limit: -1, Brief: true}, "band-overhead-press": {}, "push-up": {}} {
			q.Lift = lift
			a, err := selection.Substitute(faulty, q, o)
			require.NoError(t, err, name)
			for _, s := range a.Substitutes {
				noWorse(t, sound, q, rules.Verdict(s.Verdict), s.Drill.ID, s.Sides)
			}
		}
		q.Lift = ""
		for _, plan := range []string{"", "neck-session", "whole-body-session"} {
			a, err := selection.Select(faulty, q, plan, selection.Options{})
			require.NoError(t, err, name)
			for _, d := range a.Drills {
				noWorse(t, sound, q, rules.Verdict(d.Verdict), d.Drill.ID, d.Sides)
			}
		}
	}
	require.Greater(t, sound.Withheld(), before, "the fault matters to none of them")
}

// noWorse wants each side that is to be trained to come out, by itself, no worse than the answer says.
func noWorse(t *testing.T, sound *rules.Edition, q *client.Request, reported rules.Verdict, drill string, sides []selection.SideDose) {
	explained, err := selection.Explain(sound, q, drill)
	require.NoError(t, err)
	for _, side := range explained.Sides {
		if slices.ContainsFunc(sides, func(s selection.SideDose) bool { return s.Side == "BOTH" || s.Side == side.Side }) {
			require.Equal(t, reported, rules.Together(reported, rules.Verdict(side.Verdict)), "%s on the %s, lift %q", drill, side.Side, q.Lift)
		}
	}
}
