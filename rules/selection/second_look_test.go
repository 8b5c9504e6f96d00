package selection_test

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"drillwright/catalog"
	"drillwright/rules"
	"drillwright/rules/client"
	"drillwright/rules/selection"
)

// onRung has a sore left shoulder, measured and scored, and stands on a rung: the planted fault is in the index of the
// shoulder's rungs.
func onRung(t *testing.T, rung string) *client.Request {
	q := someone(t)
	hurts(q, "shoulder", client.SideLeft, 3)
	scores(t, q, "shoulder", 3)
	stands(t, q, "shoulder", rung)
	reaches(t, q, "shoulder")
	return q
}

// verdictOf is how a drill comes out, by itself and through the closures, on the sides to be trained.
func verdictOf(t *testing.T, e *rules.Edition, q *client.Request, id string, sides []selection.SideDose) rules.Verdict {
	explained, err := selection.Explain(e, q, id)
	require.NoError(t, err)
	worst := rules.Open
	for _, side := range explained.Sides {
		if trained(sides, side.Side) {
			worst = rules.Together(worst, rules.Verdict(side.Verdict))
		}
	}
	return worst
}

// safeSubstitutes holds every answer of a faulty edition against what the sound one says of its drills alone.
func safeSubstitutes(t *testing.T, sound, faulty *rules.Edition, q *client.Request) {
	for _, o := range []selection.Options{{}, {Brief: true}, {Limit: -1}, {Limit: -1, Brief: true}} {
		a, err := selection.Substitute(faulty, q, o)
		require.NoError(t, err)
		for _, s := range a.Substitutes {
			reported := rules.Verdict(s.Verdict)
			own := verdictOf(t, sound, q, s.Drill.ID, s.Sides)
			require.Equal(t, reported, rules.Together(reported, own), "%s instead of %s", s.Drill.ID, q.Lift)
		}
	}
}

// TestNothingThatAFaultOpensIsReturned, though the first look at some client would put a barred drill first of all.
func TestNothingThatAFaultOpensIsReturned(t *testing.T) {
	if testing.Short() {
		t.Skip("judges the whole catalogue many times over")
	}
	sound := edition(t)
	faulty, first := sound.Planted("drill.rung.shoulder"), 0
	for _, rung := range sound.Frame.Ladder("shoulder").Rungs {
		for _, lift := range []string{"barbell-overhead-press", "active-hang"} {
			q, before := onRung(t, rung), sound.Withheld()
			q.Lift = lift
			safeSubstitutes(t, sound, faulty, q)
			opened := openedBy(t, sound, faulty, q)
			if len(opened) > 0 {
				require.Greater(t, sound.Withheld(), before, "what is withheld is counted")
			}
			a, err := selection.Substitute(faulty, q, selection.Options{Limit: -1})
			require.NoError(t, err)
			for _, s := range a.Substitutes {
				require.NotContains(t, opened, s.Drill.ID)
			}
			looked, err := selection.FirstLook(faulty, q)
			require.NoError(t, err)
			if len(opened) > 0 && opened[0] == looked[0] {
				t.Logf("%s, %s: the first of %d would be %s, which is barred", rung, lift, len(looked), looked[0])
				first++
			}
		}
	}
	require.Positive(t, first)
}

// openedBy are the drills, best first, that a faulty edition would return but for the second look, and that come out
// worse on the sound one.
func openedBy(t *testing.T, sound, faulty *rules.Edition, q *client.Request) []string {
	looked, err := selection.FirstLook(faulty, q)
	require.NoError(t, err)
	should, err := selection.FirstLook(sound, q)
	require.NoError(t, err)
	opened := slices.DeleteFunc(looked, func(id string) bool { return slices.Contains(should, id) })
	for _, id := range opened {
		explained, err := selection.Explain(sound, q, id)
		require.NoError(t, err)
		require.Equal(t, string(rules.NotToday), explained.Verdict, id)
	}
	return opened
}

// TestNothingThatAFaultOpensIsReturnedToAnyone draws clients that have something else as well.
func TestNothingThatAFaultOpensIsReturnedToAnyone(t *testing.T) {
	sound := edition(t)
	faulty := sound.Planted("drill.rung.shoulder")
	anyone := rapid.Custom(func(r *rapid.T) *client.Request {
		q := randomSore(t, r)
		q.Minutes = rapid.IntRange(15, 70).Draw(r, "minutes")
		stands(t, q, "shoulder", rapid.SampledFrom(sound.Frame.Ladder("shoulder").Rungs[:4]).Draw(r, "shoulder"))
		return q
	})
	before := sound.Withheld()
	for seed := range 8 {
		q := anyone.Example(seed)
		safeSubstitutes(t, sound, faulty, q)
		q.Lift = ""
		safeSession(t, sound, faulty, q, sound.Book.Plans[seed].ID)
	}
	require.Greater(t, sound.Withheld(), before)
}

// safeSession holds a session of a faulty edition against what the sound one says of its drills alone.
func safeSession(t *testing.T, sound, faulty *rules.Edition, q *client.Request, plan string) *selection.SelectAnswer {
	a, err := selection.Select(faulty, q, plan, selection.Options{})
	require.NoError(t, err)
	short, err := selection.Select(faulty, q, plan, selection.Options{Brief: true})
	require.NoError(t, err)
	require.Len(t, short.Drills, len(a.Drills))
	for i, d := range a.Drills {
		require.Equal(t, rules.Open, verdictOf(t, sound, q, d.Drill.ID, d.Sides), "%s in %s", d.Drill.ID, plan)
		require.Equal(t, d.Drill, short.Drills[i].Drill)
		require.Equal(t, d.Backups, short.Drills[i].Backups)
		for _, b := range d.Backups {
			explained, err := selection.Explain(sound, q, b.ID)
			require.NoError(t, err)
			require.Equal(t, string(rules.Open), explained.Verdict, "%s as a backup in %s", b.ID, plan)
		}
	}
	return a
}

// TestSessionFillsThePlaceAgain: a drill that a fault opens is left out, and its place goes to the next.
func TestSessionFillsThePlaceAgain(t *testing.T) {
	sound := edition(t)
	faulty, refilled := sound.Planted("drill.rung.shoulder"), 0
	for _, rung := range []string{"active_motion", "isometric", "single_joint"} {
		for _, plan := range []string{"shoulder-session", "upper-body-session"} {
			q := onRung(t, rung)
			a := safeSession(t, sound, faulty, q, plan)
			drills, slots, err := selection.FirstSession(faulty, q, plan)
			require.NoError(t, err)
			for i, id := range drills {
				if id == "" || verdictOf(t, sound, q, id, both) != rules.NotToday {
					continue
				}
				in := func(d selection.SessionDrill) bool { return d.Drill.ID == id }
				require.False(t, slices.ContainsFunc(a.Drills, in), "%s is barred", id)
				if filled(a, slots[i]) == count(drills, slots, slots[i]) {
					refilled++
				}
			}
		}
	}
	require.Positive(t, refilled)
}

var both = []selection.SideDose{{Side: "BOTH"}}

// filled is how many places of a slot have a drill.
func filled(a *selection.SelectAnswer, slot string) (n int) {
	for _, d := range a.Drills {
		if d.Slot == slot {
			n++
		}
	}
	return n
}

func count(drills, slots []string, slot string) (n int) {
	for i, id := range drills {
		if slots[i] == slot && id != "" {
			n++
		}
	}
	return n
}

// TestExplainLooksAtNoIndex: a fault in one changes nothing of what it says, of any drill.
func TestExplainLooksAtNoIndex(t *testing.T) {
	sound := edition(t)
	faulty, q := sound.Planted("drill.rung.shoulder"), onRung(t, "single_joint")
	f := derived(t, q)
	right, wrong := sound.Judge(f, nil), faulty.Judge(f, nil)
	defer right.Done()
	defer wrong.Done()
	differ := 0
	for _, d := range sound.Catalogue.Drills {
		opened := right.Verdict(d, catalog.Left) == rules.NotToday && wrong.Verdict(d, catalog.Left) == rules.Open
		if !opened && d.Index%20 > 0 {
			continue
		}
		want, err := selection.Explain(sound, q, d.ID)
		require.NoError(t, err)
		got, err := selection.Explain(faulty, q, d.ID)
		require.NoError(t, err)
		require.Equal(t, want, got, d.ID)
		if opened {
			differ++
			require.Equal(t, string(rules.NotToday), got.Sides[catalog.Left].Verdict, d.ID)
		}
	}
	require.Positive(t, differ, "the fault opens nothing here")
}

// TestSoundEditionWithholdsNothing: both looks agree, so nothing is counted.
func TestSoundEditionWithholdsNothing(t *testing.T) {
	e := edition(t)
	before := e.Withheld()
	for _, rung := range e.Frame.Ladder("shoulder").Rungs {
		q := onRung(t, rung)
		_, err := selection.Select(e, q, "shoulder-session", selection.Options{})
		require.NoError(t, err)
		q.Lift = "push-up"
		_, err = selection.Substitute(e, q, selection.Options{Limit: -1})
		require.NoError(t, err)
	}
	require.Equal(t, before, e.Withheld())
}
