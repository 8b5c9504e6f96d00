package client_test

import (
	"flag"
	"fmt"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"drillwright/rules/client"
)

var update = flag.Bool("update", false, "rewrite the golden files")

// TestFacts holds every fact of the example profiles that differs from those of a client who told nothing.
func TestFacts(t *testing.T) {
	fr := edition().Frame
	nothing := client.Derive(fr, &client.Request{AsOf: today, Profile: &client.Profile{}})
	for name, profile := range profiles {
		got := told(client.Derive(fr, profile(fr)), nothing)
		path := "testdata/" + name + ".golden"
		if *update {
			require.NoError(t, os.WriteFile(path, []byte(got), 0o644))
		}
		want, err := os.ReadFile(path)
		require.NoError(t, err)
		require.Equal(t, string(want), got, "%s; -update rewrites it", path)
	}
}

// told writes a line for each fact that differs, of both sides when they differ from one another, then what was presumed
// and what is covered.
func told(f, nothing *client.Facts) string {
	var b strings.Builder
	for i := range f.Frame.Table.Paths {
		p := &f.Frame.Table.Paths[i]
		left, right := fact(f, p, i, 0), fact(f, p, i, 1)
		switch {
		case left == fact(nothing, p, i, 0) && right == fact(nothing, p, i, 1):
		case left == right:
			fmt.Fprintf(&b, "%s: %s\n", p.Name, left)
		default:
			fmt.Fprintf(&b, "%s: %s; right %s\n", p.Name, left, right)
		}
	}
	for _, p := range f.Presumptions {
		fmt.Fprintf(&b, "presumed: %s %s: %s\n", p.Path, p.Side, p.Words)
	}
	fmt.Fprintf(&b, "covered: %v\n", f.Covered)
	return b.String()
}

func fact(f *client.Facts, p *client.Path, index, side int) string {
	status := []string{"measured", "presumed", "never taken", "too old", "before flare", "unanswered"}[f.Status[side][index]]
	switch p.Kind {
	case client.Number:
		return fmt.Sprintf("%v, %s", f.Num[side][p.Slot], status)
	case client.Bool:
		return fmt.Sprintf("%v, %s", f.Bool[side][p.Slot], status)
	default:
		s := f.Set[side][p.Slot]
		if len(s.Sure) == len(s.Possible) {
			return fmt.Sprintf("%v, %s", s.Sure, status)
		}
		return fmt.Sprintf("%v of %v, %s", s.Sure, s.Possible, status)
	}
}

func TestReadingLeavesTheRequestAlone(t *testing.T) {
	fr := edition().Frame
	q := full(fr)
	q.KitTaken = []string{"rack", "band", "rack"}
	q.Profile.GoalLifts = []string{"push-up", "goblet-squat", "push-up"}
	want := q.Digest()
	f := client.Derive(fr, q)
	require.Equal(t, want, q.Digest())
	require.Equal(t, []string{"goblet-squat", "push-up"}, f.Words("client.goal_lifts", 0).Sure)
}

// TestUnknownWordsAreThoseOfThePath: whoever reads the facts may tell an unknown list by that.
func TestUnknownWordsAreThoseOfThePath(t *testing.T) {
	fr := edition().Frame
	f := client.Derive(fr, &client.Request{AsOf: today, Profile: &client.Profile{}})
	n := 0
	for i := range fr.Table.Paths {
		p := &fr.Table.Paths[i]
		if (p.Kind == client.Word || p.Kind == client.List) && len(p.Words) > 0 && f.Status[0][i] == client.NeverTaken {
			require.Same(t, &p.Words[0], &f.Set[1][p.Slot].Possible[0], p.Name)
			n++
		}
	}
	require.Positive(t, n)
}

// TestAMeasureThatDoesNotCount leaves the number open and says why.
func TestAMeasureThatDoesNotCount(t *testing.T) {
	fr := edition().Frame
	for name, c := range map[string]struct {
		taken  client.Day
		status client.Status
		known  bool
	}{
		"of today":           {today, client.Measured, true},
		"of last year":       {today - 365, client.TooOld, false},
		"before the flare":   {today - 11, client.BeforeFlare, false},
		"of the flare's day": {today - 10, client.Measured, true},
	} {
		q := sparse(fr)
		q.Profile.RangeDeg[0].Day = c.taken
		f := client.Derive(fr, q)
		require.Equal(t, c.status, f.StatusOf("client.range.knee.flexion", 0), name)
		require.Equal(t, c.known, f.Number("client.range.knee.flexion", 0).Known(), name)
	}
}

func TestReadingAllocatesLittle(t *testing.T) {
	fr := edition().Frame
	q := full(fr)
	require.Zero(t, testing.AllocsPerRun(20, func() { _ = client.Check(fr, q) }))
	require.LessOrEqual(t, testing.AllocsPerRun(20, func() { client.Derive(fr, q) }), 12.0)
	require.LessOrEqual(t, testing.AllocsPerRun(20, func() { q.Canonical() }), 20.0, "lists that aren't in order")
	q = q.Canonical()
	require.LessOrEqual(t, testing.AllocsPerRun(20, func() { q.Digest("SUBSTITUTE", "5", "BASIC") }), 4.0)
}
