package selection_test

import (
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"drillwright/rules/client"
	"drillwright/rules/selection"
)

// complainedOf is the region of ours in which a row of the table would be told.
var complainedOf = map[string]string{"spine": "low_back", "low back": "low_back"}

// flagged is someone of 45 with a complaint where the row has it, and those answers yes; all others are no.
func flagged(t *testing.T, r row, yes []string) *client.Request {
	q := someone(t)
	q.Profile.AgeYears = to(45)
	region := r["region"]
	if own, ok := complainedOf[region]; ok {
		region = own
	}
	side := sidesOf(t, region)[0]
	hurts(q, region, side, 3)
	scores(t, q, region, 3)
	stands(t, q, region, "single_joint")
	for _, id := range yes {
		require.NotNil(t, edition(t).Frame.Question(id), "%s: there is no question %q", r["id"], id)
		q.Profile.Answers = append(q.Profile.Answers, client.Answer{Question: id, Is: "YES", Day: q.AsOf})
	}
	return q
}

func TestEveryFlagRowHasItsCheck(t *testing.T) {
	rules, sums := 0, 0
	for _, r := range published(t, "red_flags.csv") {
		if r["rule"] != "arithmetic" {
			require.NotEmpty(t, r["answers"], r["id"])
			rule(t, r["rule"])
			rules++
			continue
		}
		require.Equal(t, "arithmetic only", r["urgency"], r["id"])
		require.Contains(t, sumsOf, r["id"])
		sums++
	}
	require.Equal(t, []int{13, 6}, []int{rules, sums})
	require.Len(t, sumsOf, sums)
}

func TestFlagsRefer(t *testing.T) {
	for _, r := range published(t, "red_flags.csv") {
		if r["rule"] == "arithmetic" {
			continue
		}
		t.Run(r["id"], func(t *testing.T) {
			quiet := screened(t, flagged(t, r, nil))
			require.Equal(t, selection.NoWarningSigns, quiet.Outcome, "with every answer no: %v %v", quiet.Referrals, quiet.Questions)

			q := flagged(t, r, r.list("answers"))
			s := screened(t, q)
			require.Equal(t, selection.SeeSomeone, s.Outcome)
			at := slices.IndexFunc(s.Referrals, func(f selection.Referral) bool { return f.Rule == r["rule"] })
			require.GreaterOrEqual(t, at, 0, "%s doesn't refer: %v", r["rule"], s.Referrals)
			require.Equal(t, strings.ToUpper(r["urgency"]), s.Referrals[at].Urgency)
			if r["urgency"] == "soon" {
				require.False(t, s.NoDrills)
				require.NotEmpty(t, s.Unloaded, "nothing is spared")
				return
			}
			require.True(t, s.NoDrills)
			session, err := selection.Select(edition(t), q, "", selection.Options{})
			require.NoError(t, err)
			require.Empty(t, session.Drills)
			q.Lift = "goblet-squat"
			instead, err := selection.Substitute(edition(t), q, selection.Options{})
			require.NoError(t, err)
			require.Empty(t, instead.Substitutes)
		})
	}
}

// TestFlagsReferWhenUnsure: to an emergency or same-day question "unsure" is yes; left unanswered it is asked, and
// nothing is trained until then.
func TestFlagsReferWhenUnsure(t *testing.T) {
	for _, r := range published(t, "red_flags.csv") {
		if r["rule"] == "arithmetic" || r["urgency"] == "soon" {
			continue
		}
		q := flagged(t, r, r.list("answers"))
		for i := range q.Profile.Answers {
			q.Profile.Answers[i].Is = "UNSURE"
		}
		s := screened(t, q)
		require.True(t, s.NoDrills, r["id"])
		require.True(t, slices.ContainsFunc(s.Referrals, func(f selection.Referral) bool { return f.Rule == r["rule"] }), r["id"])

		q.Profile.Answers, q.Profile.Screening = nil, nil
		s = screened(t, q)
		require.True(t, s.NoDrills, r["id"])
		require.Empty(t, s.Referrals, r["id"])
		require.True(t, slices.ContainsFunc(s.Questions, func(x selection.Question) bool { return x.ID == r.list("answers")[0] }), "%s: %v",
			r["id"], s.Questions)
	}
}

func screened(t *testing.T, q *client.Request) selection.Screening {
	t.Helper()
	a, err := selection.Screen(edition(t), q)
	require.NoError(t, err)
	return a.Screening
}

// The sums below are of the published rules' own text, for those who read a clinician's note. They are not in the
// book: their signs are for a clinician to find, and their cut-offs are made to rule in, not to rule out.

// sumOf is a published count: how its findings are told apart, the points from which it holds, and what counts otherwise than one.
type sumOf struct {
	between  *regexp.Regexp
	findings int
	holds    int
	other    map[string]int
	cases    []sumCase
}

type sumCase struct {
	found []int // places of the findings in the row's text
	holds bool
}

var (
	commas   = regexp.MustCompile(`;? or |; |, | with `)
	eachAdds = regexp.MustCompile(`: \+1 each; |, `) // "bedridden or surgery" is one finding
)

var sumsOf = map[string]sumOf{
	// An injury and a positive drop-arm test: both.
	"RED005": {between: commas, findings: 2, holds: 2, cases: []sumCase{{[]int{0}, false}, {[]int{1}, false}, {[]int{0, 1}, true}}},
	// Three of five rule in: gait, three reflexes, age above 45. At 44 with two signs there are two; at 46 the age makes three.
	"RED016": {between: commas, findings: 5, holds: 3, cases: []sumCase{{[]int{0, 1}, false}, {[]int{0, 1, 4}, true}, {[]int{1, 2, 3}, true},
		{[]int{4}, false}}},
	// Any of them.
	"RED018": {between: commas, findings: 4, holds: 1, cases: []sumCase{{nil, false}, {[]int{0}, true}, {[]int{1}, true}, {[]int{2}, true},
		{[]int{3}, true}}},
	// Two or more, one each; another diagnosis as likely takes two away.
	"RED019": {between: eachAdds, findings: 10, holds: 2, other: map[string]int{"alternative diagnosis as likely: -2": -2},
		cases: []sumCase{{[]int{3}, false}, {[]int{3, 4}, true}, {[]int{3, 4, 9}, false}, {[]int{0, 3, 4, 9}, false},
			{[]int{0, 3, 4, 5, 9}, true}}},
	// Any of five.
	"RED023": {between: commas, findings: 5, holds: 1, cases: []sumCase{{nil, false}, {[]int{0}, true}, {[]int{1}, true}, {[]int{2}, true},
		{[]int{3}, true}, {[]int{4}, true}}},
	"RED024": {between: commas, findings: 3, holds: 1, cases: []sumCase{{nil, false}, {[]int{0}, true}, {[]int{1}, true}, {[]int{2}, true}}},
}

func TestCliniciansSums(t *testing.T) {
	for _, r := range published(t, "red_flags.csv") {
		sum, ok := sumsOf[r["id"]]
		if !ok {
			continue
		}
		_, text, named := strings.Cut(r["findings"], "rule: ")
		if !named {
			text = r["findings"]
		}
		findings := sum.between.Split(text, -1)
		require.Len(t, findings, sum.findings, "%s: %q", r["id"], findings)
		for name := range sum.other {
			require.Contains(t, findings, name, r["id"])
		}
		for _, c := range sum.cases {
			points := 0
			for _, i := range c.found {
				if own, ok := sum.other[findings[i]]; ok {
					points += own
				} else {
					points++
				}
			}
			require.Equal(t, c.holds, points >= sum.holds, "%s: %v make %d", r["id"], c.found, points)
		}
	}
}

// TestNoQuestionAsksForACliniciansTest: a coach can't test reflexes, press on bones or measure a calf.
func TestNoQuestionAsksForACliniciansTest(t *testing.T) {
	tests := []string{"hoffmann", "babinski", "supinator", "reflex", "drop-arm", "drop arm", "squeeze", "calf-squeeze", "pitting", "oedema",
		"collateral",
		"tuberosity", "tenderness", "tender", "fibula", "kneecap", "3 cm", "45", "nystagmus", "press on"}
	for _, id := range edition(t).Frame.QuestionIDs() {
		asks := strings.ToLower(edition(t).Frame.Question(id).Asks)
		for _, word := range tests {
			require.NotContains(t, asks, word, id)
		}
	}
}
