package text

import (
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"google.golang.org/protobuf/proto"

	v1 "drillwright/proto/drillwright/v1"
)

func header() *v1.AnswerHeader {
	return &v1.AnswerHeader{
		Ref: "m-0430", AsOf: "2026-11-24", Call: "112",
		Screening: &v1.ScreeningResult{
			Outcome: v1.Outcome_SEE_PROFESSIONAL_FIRST, NoDrills: false,
			Referrals: []*v1.Referral{
				{Rule: "first-rule", Urgency: v1.Urgency_SOON, Scope: v1.Scope_REGION, Region: "low_back", Words: "first referral",
					Source: "Someone 2020"},
				{Rule: "second-rule", Urgency: v1.Urgency_BEFORE_LOADING, Scope: v1.Scope_PERSON, Words: "second referral"},
			},
			Questions: []*v1.Question{{Id: "a_question", Asks: "a question?", Urgency: v1.Urgency_TODAY}},
			Unloaded: []*v1.Unloaded{
				{Region: "shoulder", Side: "LEFT", Why: "first-rule"}, {Region: "elbow", Side: "LEFT", Why: "first-rule"}, {Why: "second-rule"},
			},
		},
		Cautions: []*v1.Notice{{Rule: "a", Words: "one caution"}, {Rule: "b", Words: "another caution", NotRuledOut: true}},
		Notes:    []string{"a note"},
		Presumed: []string{"left knee flexion of 140° at least", "right knee flexion of 140° at least", "neck flexion of 57° at least"},
		MeasureNext: []*v1.MeasureNext{
			{Side: "LEFT", Words: "shoulder flexion", How: "lying on the back", Opens: 12},
		},
		Receipt: &v1.Receipt{Revision: "abc", Engine: "1", RequestDigest: "def"},
	}
}

func choice(name string, reasons ...*v1.Reason) *v1.Substitute {
	one := &v1.Dose{Sets: 3, RepsLow: 8, RepsHigh: 10, Tempo: "2-0-3", RestSeconds: 90, EffortLow: 6, EffortHigh: 7, PainCeiling: 3,
		PerWeek: 3, LoadWords: "Start light."}
	return &v1.Substitute{
		Drill: &v1.DrillCard{Name: name, Station: "rack", StopIf: "it pinches in " + name, Cues: []string{"ribs down"}},
		Tier:  v1.Tier_NEAR_VARIANT, Verdict: v1.Verdict_OPEN, KeepsMuscles: v1.Keeps_MOST, KeepsPattern: v1.Keeps_SOME,
		KeepsLoad: v1.Keeps_LITTLE,
		Sides: []*v1.SideDose{{Side: "LEFT", Dose: one, Words: "Left first."}, {Side: "RIGHT", Dose: proto.CloneOf(one),
			Words: "Then right."}},
		TestSet: &v1.TestSet{Words: "eight easy ones"}, Points: 70, Lead: 4, Parts: []*v1.ScorePart{{Name: "muscles", Points: 20, Of: 25},
			{Name: "favours", Points: 8}},
		Cautions: []*v1.Reason{{Rule: "shared", Effect: v1.Effect_CAUTION, Standing: v1.ReasonStanding_HOLDS, Words: "mind the pace"}},
		Reasons:  reasons,
	}
}

func answer() *v1.SubstituteResponse {
	return &v1.SubstituteResponse{
		Header: header(), Lift: &v1.DrillCard{Name: "Overhead press"}, Considered: 40,
		Provokers: []*v1.Provoker{{Region: "shoulder", Side: "LEFT", Words: "the top of the press"}},
		Substitutes: []*v1.Substitute{
			choice("first choice", &v1.Reason{Rule: "near", Effect: v1.Effect_FAVOUR, Standing: v1.ReasonStanding_HOLDS, Points: 8,
				Words: "near the lift", Source: "judged"}),
			choice("second choice"),
		},
		LeftOut: []*v1.LeftOut{{Name: "Jerk", Reason: &v1.Reason{Words: "Jerk goes too high", Source: "common practice"}}},
	}
}

func TestOrderOfASubstituteAnswer(t *testing.T) {
	p := &Page{}
	p.Substitute(answer())
	at := 0
	for _, want := range []string{
		"Instead of: Overhead press, for m-0430, on 2026-11-24",
		"See a professional first", "SOON, within days", "First referral. [Someone 2020]", "Until then: no load on the low back.",
		"BEFORE anything is loaded", "Until then: nothing under load.",
		"without load only, for now: left shoulder and left elbow (rule first-rule).",
		"Questions still to ask", "1. A question?", "(a_question; if yes: see someone today)",
		"What probably sets it off", "Left shoulder: the top of the press.",
		"Instead (2 of 40 that fit)", "For every one of these:", "Take care", "Mind the pace.",
		"1. first choice", "a near variant · rack · open today", "most of the muscles, some of the pattern, little of the load",
		"3 sets of 8 to 10, 2 s down 3 s up, rest 90 s, effort 6 to 7 of 10, pain at most",
		"The same dose. Then right.", "Eight easy ones.", "Ribs down.", "It pinches in first choice.",
		"(+8) Near the lift. [judged]", "70: muscles 20 of 25, favours +8; 4 ahead of the next.",
		"2. second choice", "Not today, because", "- Jerk goes too high. [common practice]",
		"What to measure next", "Left shoulder flexion: a normal value opens 12 drills.",
		"Presumed, not measured", "Knee flexion of 140° at least, both sides; neck flexion of 57° at least.",
		"Not told, and how it was taken", "Cautions and when to stop", "One caution.", "Not ruled out: another caution.",
		"In an emergency", "Call 112.", "revision abc, engine 1, request def",
	} {
		next := strings.Index(p.String()[at:], want)
		if !assert.GreaterOrEqual(t, next, 0, "%q is missing, or stands too early, in\n%s", want, p) {
			return
		}
		at += next
	}
}

func TestWhatHoldsForAllIsSaidOnce(t *testing.T) {
	p := &Page{}
	p.Substitute(answer())
	assert.Equal(t, 1, strings.Count(p.String(), "Mind the pace."))

	r := answer()
	r.Substitutes = r.Substitutes[:1]
	one := &Page{}
	one.Substitute(r)
	assert.Equal(t, 1, strings.Count(one.String(), "Mind the pace."))
	assert.NotContains(t, one.String(), "For every one of these")
}

// TestAskForThisFirst: each question with the field that takes the answer, and what the answers may bring.
func TestAskForThisFirst(t *testing.T) {
	facts := []*v1.Telling{{Field: "complaints[0].onset", Asks: "how did it begin?"}, {Field: "profile.age_years", Asks: "how old?"}}
	flat := func(opens int32, facts ...*v1.Telling) string {
		a := answer()
		a.Header.TellFirst = &v1.TellFirst{Facts: facts, Opens: opens}
		p := &Page{}
		p.Substitute(a)
		return strings.Join(strings.Fields(p.String()), " ")
	}
	asked := "Ask for this first 1. How did it begin? (complaints[0].onset) 2. How old? (profile.age_years)"
	assert.Contains(t, flat(12, facts...), asked+" If nothing in the answers speaks against it, 12 drills would come out better than today: "+
		"open, or to be tested first.")
	assert.Contains(t, flat(0, facts...), asked)
	assert.NotContains(t, flat(0, facts...), "would come out better")
	assert.NotContains(t, flat(3), "Ask for this first")
}

// TestTestSetOfWhatHurts: all of it is there, and what follows from a test is written out once for drills that it is the same for.
func TestTestSetOfWhatHurts(t *testing.T) {
	a := answer()
	for _, s := range a.GetSubstitutes() {
		s.TestSet = &v1.TestSet{Words: "eight easy ones", Passed: "passed: it hurts no more", Failed: "failed: the next drill",
			NextMorning: "score the morning"}
	}
	other := choice("third choice")
	other.TestSet = &v1.TestSet{Words: "one hold", Passed: "passed: no pain", Failed: "failed: nothing for the knee",
		NextMorning: "score the morning"}
	a.Substitutes = append(a.Substitutes, other, choice("fourth choice"))
	a.Substitutes[3].TestSet = &v1.TestSet{Words: "two holds", Passed: "passed: no pain", Failed: "failed: nothing for the knee",
		NextMorning: "score two mornings"}
	p := &Page{}
	p.Substitute(a)
	flat := strings.Join(strings.Fields(p.String()), " ")
	assert.Equal(t, 2, strings.Count(flat, "Eight easy ones. Passed: it hurts no more."), flat)
	assert.Equal(t, 1, strings.Count(flat, "Failed: the next drill. Next morning Score the morning"), flat)
	assert.Equal(t, 1, strings.Count(flat, "Failed, and the next morning: as above."), flat)
	assert.Contains(t, flat, "One hold. Passed: no pain. Failed: nothing for the knee. Next morning Score the morning")
	assert.Contains(t, flat, "Two holds. Passed: no pain. Failed: as above. Next morning Score two mornings")
}

func TestColourAddsNothingButColour(t *testing.T) {
	plain, coloured := &Page{}, &Page{Colour: true}
	plain.Substitute(answer())
	coloured.Substitute(answer())
	assert.NotContains(t, plain.String(), "\x1b")
	assert.Contains(t, coloured.String(), red+"SOON, within days"+end)
	assert.Equal(t, plain.String(), regexp.MustCompile("\x1b\\[[0-9;]*m").ReplaceAllString(coloured.String(), ""))
}

func TestLinesKeepToTheWidth(t *testing.T) {
	r := answer()
	r.Substitutes[0].Reasons[0].Words = strings.Repeat("a long reason with many words ", 30)
	p := &Page{}
	p.Substitute(r)
	for _, line := range strings.Split(p.String(), "\n") {
		assert.LessOrEqual(t, runes(line), width, line)
		assert.Equal(t, strings.TrimRight(line, " "), line, "a line ends in blanks")
	}
}

func TestNoDrillsShowsNone(t *testing.T) {
	r := answer()
	r.Header.Screening.NoDrills = true
	p := &Page{}
	p.Substitute(r)
	assert.Contains(t, p.String(), "No drills until the questions below are answered.")
	assert.NotContains(t, p.String(), "first choice")
	r.Header.Screening.Referrals[0].Urgency = v1.Urgency_EMERGENCY
	p = &Page{}
	p.Substitute(r)
	assert.Contains(t, p.String(), "EMERGENCY, now: call 112")
	assert.Contains(t, p.String(), "No drills today.")
}

func TestDose(t *testing.T) {
	for want, d := range map[string]*v1.Dose{
		"1 set of 5, pain at most 0 of 10.": {Sets: 1, RepsLow: 5, RepsHigh: 5},
		"4 holds of 10 to 15 s, rest 45 s, pain at most 2 of 10.": {Sets: 4, HoldLowSeconds: 10, HoldHighSeconds: 15, RestSeconds: 45,
			PainCeiling: 2},
		"2 sets of 3 holds of 5 s, pain at most 3 of 10.": {Sets: 2, RepsLow: 3, RepsHigh: 3, HoldLowSeconds: 5,
			HoldHighSeconds: 5, PainCeiling: 3},
		"3 sets of 20 metres, rest 2 min, pain at most 3 of 10.":           {Sets: 3, Metres: 20, RestSeconds: 120, PainCeiling: 3},
		"2 sets of 8, pain at most 3 of 10, 2 times a day, every day.":     {Sets: 2, RepsHigh: 8, PerDay: 2, PerWeek: 7, PainCeiling: 3},
		"2 sets of 8, effort 5 of 10, pain at most 3 of 10, 1 day a week.": {Sets: 2, RepsHigh: 8, EffortHigh: 5, PerWeek: 1, PainCeiling: 3},
	} {
		assert.Equal(t, want, dose(d))
	}
}

func TestExplainJoinsLikeSides(t *testing.T) {
	rule := func(side string) []*v1.RuleOutcome {
		return []*v1.RuleOutcome{
			{Reason: &v1.Reason{Rule: "care", Effect: v1.Effect_CAUTION, Standing: v1.ReasonStanding_HOLDS, Words: "careful"}},
			{Reason: &v1.Reason{Rule: "barred", Effect: v1.Effect_BAR, Words: "too far",
				Facts: []*v1.Fact{{Path: "client.range.knee.flexion", Side: side, Value: "90", Unit: "deg", Status: v1.FactStatus_MEASURED}}},
				Verdict: v1.Verdict_NOT_TODAY, Opens: "would open with 110°",
				Clauses: []*v1.Clause{{Text: "known and fixed", Holds: true, Known: true}, {Text: "can change", Holds: true, Known: true,
					Flip: "110°"}}},
			{Reason: &v1.Reason{Rule: "liked", Effect: v1.Effect_FAVOUR, Standing: v1.ReasonStanding_HOLDS, Points: 5, Words: "liked"}},
		}
	}
	r := &v1.ExplainResponse{Header: header(), Drill: &v1.DrillCard{Name: "Squat"}, Verdict: v1.Verdict_NOT_TODAY, Sides: []*v1.SideExplained{
		{Side: "LEFT", Verdict: v1.Verdict_NOT_TODAY, Rules: rule("")}, {Side: "RIGHT", Verdict: v1.Verdict_NOT_TODAY, Rules: rule("")}}}
	p := &Page{}
	p.Explain(r)
	assert.Contains(t, p.String(),
		"\nLeft and right: not today\n  - Not today, because: Too far.\n    rule barred; range knee flexion: 90°\n    · can change\n    Would "+
			"open with 110°.\n  - Take care: Careful.\n")
	assert.Contains(t, p.String(), "If it were open, these would count too: liked +5.")

	for _, s := range r.Sides {
		s.Opens = "the smallest change that would open it: knee flexion of 110° or more"
	}
	p = &Page{}
	p.Explain(r)
	assert.Contains(t, p.String(),
		"\nLeft and right: not today\n  The smallest change that would open it: knee flexion of 110° or more.\n  - Not today")

	r.Sides[1].Rules = rule("RIGHT")
	p = &Page{}
	p.Explain(r)
	assert.Contains(t, p.String(), "\nLeft: not today\n")
	assert.Contains(t, p.String(), "\nRight: not today\n")
}

// TestWhatIsNotSureIsMarked: neither page states what only may be, and what gives no points isn't for a drill.
func TestWhatIsNotSureIsMarked(t *testing.T) {
	unsure := func(effect v1.Effect, points int32, words string) *v1.Reason {
		return &v1.Reason{Rule: "r", Effect: effect, Points: points, Standing: v1.ReasonStanding_NOT_RULED_OUT, Words: words}
	}
	explain := &Page{}
	explain.outcome(&v1.RuleOutcome{Reason: unsure(v1.Effect_FAVOUR, 0, "One side is weaker")})
	assert.Equal(t, "  - Doesn't count: Not ruled out: One side is weaker.\n    rule r\n", explain.String())
	explain = &Page{}
	explain.outcome(&v1.RuleOutcome{Reason: unsure(v1.Effect_FAVOUR, -5, "Not ruled out: the side is weaker")})
	assert.Contains(t, explain.String(), "Against it (-5): Not ruled out: the side is weaker.")
	explain = &Page{}
	explain.outcome(&v1.RuleOutcome{Verdict: v1.Verdict_NOT_TODAY, Reason: &v1.Reason{Rule: "r", Effect: v1.Effect_BAR,
		Standing: v1.ReasonStanding_UNTESTED, Words: "Not ruled out: it slips"}})
	assert.Contains(t, explain.String(), "Not today: Not ruled out: it slips.")
	for _, effect := range []v1.Effect{v1.Effect_CAUTION, v1.Effect_ADJUST, v1.Effect_DOSE} {
		assert.Contains(t, reason(unsure(effect, 0, "The pain is high")), "Not ruled out: The pain is high", effect)
	}
}
