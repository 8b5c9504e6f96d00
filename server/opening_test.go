package server

import (
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"drillwright/rules"
	"drillwright/rules/client"
	"drillwright/rules/selection"
)

// TestSmallestChangesOpen: what Explain offers as the smallest change, told in the request, opens that side of the drill,
// and no part of it does; it asks for nothing but range, strength, hold, kit, and what nobody measured.
func TestSmallestChangesOpen(t *testing.T) {
	if testing.Short() {
		t.Skip("judges the whole catalogue many times over")
	}
	e, err := rules.Embedded()
	require.NoError(t, err)
	offered, several := 0, 0
	for name, q := range sampleClients(t, e) {
		for i, d := range e.Catalogue.Drills {
			if (i+len(name))%12 != 0 {
				continue // a twelfth of them
			}
			before, err := selection.Explain(e, q, d.ID)
			require.NoError(t, err)
			for side, s := range before.Sides {
				require.Equal(t, s.Verdict == string(rules.Open), s.OpensWords == "", "%s %s %s", name, d.ID, s.Side)
				for _, set := range s.Smallest {
					offered++
					require.NotEmpty(t, set.Changes)
					if len(set.Changes) > 1 {
						several++
					}
					for part := range 1 << len(set.Changes) {
						var some []selection.Change
						for at, c := range set.Changes {
							if part>>at&1 != 0 {
								some = append(some, c)
							}
						}
						after, err := selection.Explain(e, changed(t, q, some), d.ID)
						require.NoError(t, err, "%s %s", name, d.ID)
						open := after.Sides[side].Verdict == string(rules.Open)
						require.Equal(t, len(some) == len(set.Changes), open, "%s %s %s: %s", name, d.ID, s.Side, set.Words)
					}
				}
			}
		}
	}
	t.Logf("%d sets, %d of several changes", offered, several)
	require.Greater(t, offered, 50)
	require.Positive(t, several)
}

// changed tells changes in a request, by hand.
func changed(t *testing.T, q *client.Request, changes []selection.Change) *client.Request {
	t.Helper()
	out, p := *q, *q.Profile
	out.Profile = &p
	for _, c := range changes {
		kind, id, _ := strings.Cut(strings.TrimPrefix(c.Path, "client."), ".")
		v, _ := strconv.ParseFloat(c.To, 64)
		switch kind {
		case "range":
			p.RangeDeg = measured(p.RangeDeg, id, client.Side(c.Side), v, q.AsOf)
		case "strength":
			p.StrengthN = measured(p.StrengthN, id, client.Side(c.Side), v, q.AsOf)
		case "hold":
			p.HoldSeconds = measured(p.HoldSeconds, id, client.Side(c.Side), v, q.AsOf)
		case "kit":
			p.Kit, p.KitTold = append(slices.Clone(p.Kit), c.Member), true
		case "body_mass_kg":
			p.BodyMassKg = &v
		case "best":
			test, part, _ := strings.Cut(id, ".")
			p.Best = slices.Clone(p.Best)
			at := slices.IndexFunc(p.Best, func(b client.Best) bool { return b.Test == test })
			if at < 0 {
				at, p.Best = len(p.Best), append(p.Best, client.Best{Test: test})
			}
			b, n := &p.Best[at], int(v)
			b.Day = q.AsOf
			switch part {
			case "sets":
				b.Sets = &n
			case "reps":
				b.Reps = &n
			case "load_kg":
				b.LoadKg = &v
			case "pain":
				b.Pain = &v
			case "form":
				b.Form = c.To
			}
		default:
			require.Fail(t, "neither training nor a measurement changes "+c.Path)
		}
	}
	return &out
}

// measured takes a measure again, as carefully as the last time.
func measured(list []client.Measure, motion string, side client.Side, v float64, day client.Day) []client.Measure {
	m := client.Measure{Of: motion, Side: side, Value: v, Day: day, By: "SAME_MEASURER"}
	for _, had := range list {
		if had.Of == motion && had.Side == side {
			m.By = had.By
		}
	}
	return append(slices.Clone(list), m)
}
