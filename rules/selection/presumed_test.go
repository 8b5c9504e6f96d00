package selection_test

import (
	"slices"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"drillwright/catalog"
	"drillwright/rules"
	"drillwright/rules/client"
	"drillwright/rules/selection"
)

// otherwise is the embedded edition with something else in its measures.
func otherwise(change func(measures string) string) func() *rules.Edition {
	return sync.OnceValue(func() *rules.Edition {
		files := rules.EmbeddedFiles()
		for i := range files {
			if strings.HasSuffix(files[i].Name, "measures.yaml") {
				files[i].Data = []byte(change(string(files[i].Data)))
			}
		}
		e, err := rules.Read(files)
		if err != nil {
			panic(err)
		}
		return e
	})
}

// In one of these nothing is presumed of a mild complaint, in the other no rung by the lift.
var (
	presumingNothing = otherwise(func(m string) string {
		from, to := strings.Index(m, "  mild:"), strings.Index(m, "  limiting_gap:")
		return m[:from] + m[to:]
	})
	showingNothing = otherwise(func(m string) string {
		return strings.Replace(m, "up_to: multi_joint_two_side", "up_to: active_motion", 1)
	})
)

// lightly draws somebody with one mild complaint, mostly in a lift that loads it, of whom nothing was scored.
func lightly(t *testing.T, r *rapid.T) *client.Request {
	e, q := edition(t), someone(t)
	p, m := q.Profile, e.Frame.Measures.Mild
	p.AgeYears = to(rapid.SampledFrom([]int{18, 24, 38, 52, 67, 81}).Draw(r, "age"))
	p.Training = oneOf(r, "training", "NOVICE", "INTERMEDIATE", "ADVANCED", "")
	p.Supervised = to(rapid.Bool().Draw(r, "supervised"))
	region := oneOf(r, "sore", e.Frame.Vocabulary.IDs("region")...)
	c := client.Complaint{Region: region, Intensity: float64(rapid.IntRange(1, 3).Draw(r, "intensity")),
		Moment: oneOf(r, "moment", m.Moments...),
		Kind:   oneOf(r, "kind", m.Kinds...), Onset: "GRADUAL", Days: rapid.IntRange(3, 120).Draw(r, "days")}
	if e.Frame.Vocabulary.Sided(region) {
		c.Side = rapid.SampledFrom(client.Sides[:]).Draw(r, "side")
	}
	q.Complaints = []client.Complaint{c}
	if rapid.IntRange(1, 3).Draw(r, "measured") == 3 {
		measuredSomehow(t, r, q, region)
	}
	var lifts []string
	for _, d := range e.Catalogue.Drills {
		if d.Loads && d.Rows[0].Load(region) != nil {
			lifts = append(lifts, d.ID)
		}
	}
	q.Lift = oneOf(r, "lift", lifts...)
	return q
}

// TestTellingAScoreIsNeverWorse: a score that is no worse than what was presumed closes nothing.
func TestTellingAScoreIsNeverWorse(t *testing.T) {
	e := edition(t)
	most := e.Frame.Measures.Mild.Presumed
	rapid.Check(t, func(r *rapid.T) {
		q := lightly(t, r)
		w, c := copied(q), q.Complaints[0]
		p := client.Pain{Region: c.Region, Side: c.Side, Day: q.AsOf}
		score := func(what string, most float64) *float64 {
			if rapid.IntRange(1, 4).Draw(r, what+" told") == 1 {
				return nil
			}
			return to(float64(rapid.IntRange(0, int(most)).Draw(r, what)))
		}
		p.Rest, p.Worst, p.SettleHours = score("rest", min(most.Rest, c.Intensity)), score("worst", most.Worst),
			score("settles", most.SettleHours)
		p.NextDay = score("next day", 1)
		if rapid.Bool().Draw(r, "night told") {
			p.WakesAtNight = to(false)
		}
		w.Profile.Pain = []client.Pain{p}
		silent, reported := left(r, e, q), left(r, e, w)
		if worse := milder(e, reported, silent, false); len(worse) > 0 {
			r.Fatalf("%d drills are worse off for being told of %+v: %s\n%s", len(worse), p, strings.Join(worse[:min(4, len(worse))], ", "),
				fromTo(q, w))
		}
		require.GreaterOrEqual(r, reported.Possible.Place, silent.Possible.Place)
	})
}

// TestPresumedScoresAndReferrals: a presumption makes no referral sure, and rules out none but those that read the scores.
func TestPresumedScoresAndReferrals(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		q := member(t, r)
		if rapid.Bool().Draw(r, "mild") {
			q = lightly(t, r)
		}
		sure, possible, err := selection.RaisedOf(edition(t), q)
		require.NoError(r, err)
		sureBefore, possibleBefore, err := selection.RaisedOf(presumingNothing(), q)
		require.NoError(r, err)
		for name := range sure {
			require.Contains(r, sureBefore, name, "sure by a presumption")
		}
		for name := range possible {
			require.Contains(r, possibleBefore, name, "possible by a presumption")
		}
		for name, rule := range possibleBefore {
			if possible[name] == nil && !strings.Contains(rule.CodeText, "client.pain[") && !strings.Contains(rule.CodeText,
				"client.irritability[") {
				r.Fatalf("%s is ruled out by a presumption", name)
			}
		}
	})
}

// TestTheLiftOpensNothing: what a lift shows lets drills be tested that ask no more than the lift, and opens none.
func TestTheLiftOpensNothing(t *testing.T) {
	e := edition(t)
	rapid.Check(t, func(r *rapid.T) {
		q := lightly(t, r)
		if rapid.Bool().Draw(r, "of any kind") {
			q = member(t, r)
		}
		with, without := left(r, e, q), left(r, showingNothing(), q)
		lift := e.Catalogue.Drill(q.Lift)
		allowed := selection.AllowedOf(e, q)
		for i, d := range e.Catalogue.Drills {
			for side := range 2 {
				is, was := with.Verdicts[i][side], without.Verdicts[i][side]
				if is == was {
					continue
				}
				if was != rules.NotToday || is != rules.TestFirst {
					r.Fatalf("%s on the %s: %s without the lift, %s with it", d.ID, client.Sides[side], was, is)
				}
				if asks := asksMore(e, q, d, lift, side, allowed); asks != "" {
					r.Fatalf("%s on the %s may be tested for %s, and %s\n%s", d.ID, client.Sides[side], q.Lift, asks, fromTo(q, q))
				}
			}
		}
	})
}

// asksMore says what a drill asks beyond what a lift shows of a side that hurts; "" when nothing.
func asksMore(e *rules.Edition, q *client.Request, d, lift *catalog.Drill, side int, allowed [2][]float64) string {
	v := e.Frame.Vocabulary
	switch {
	case lift == nil:
		return "there is no lift"
	case d.Speed != "slow" && d.Speed != "hold":
		return "it is fast"
	case d.Skill > lift.Skill:
		return "it asks more skill"
	case d.BreathHold > lift.BreathHold:
		return "it asks more breath"
	case d.Spine.Compression > lift.Spine.Compression:
		return "it presses the spine more"
	case d.NeedsSpotter && !*q.Profile.Supervised:
		return "it needs someone who spots"
	}
	furthest := func(of *catalog.Drill, row int, motion string) float64 {
		most := 0.0
		for i := range of.Rows {
			if arc := of.Rows[i].Arc(motion); (row < 0 || i == row) && arc != nil && arc.Loaded != nil {
				most = max(most, arc.Loaded.To)
			}
		}
		return most
	}
	for _, c := range q.Complaints {
		for i := range d.Rows {
			if !c.Side.On(side^i) && v.Sided(c.Region) {
				continue
			}
			for _, m := range v.Motions {
				if m.Region == c.Region && furthest(d, i, m.ID) > furthest(lift, -1, m.ID) {
					return "it is loaded further in " + m.ID
				}
			}
			for at, id := range v.IDs("stressor") {
				if slices.Contains(v.Stressors[at].Regions, c.Region) && float64(d.Rows[i].Worst(id)) > allowed[side^i][at] {
					return "it brings " + id
				}
			}
			ladder, most := e.Frame.Ladder(c.Region), -1
			for row := range lift.Rows {
				most = max(most, ladder.Asked(&lift.Rows[row], c.Region))
			}
			if ladder.Asked(&d.Rows[i], c.Region) > max(most, ladder.Index(ladder.Entry["low"])) {
				return "it asks a higher rung of " + c.Region
			}
		}
	}
	return ""
}
