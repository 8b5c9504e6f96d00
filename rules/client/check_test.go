package client_test

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"

	"drillwright/catalog"
	"drillwright/rules/client"
)

// frame is the embedded catalogue with a ladder for each region and a few questions.
var frame = sync.OnceValue(func() *client.Frame {
	snap, err := catalog.Read(catalog.EmbeddedFiles())
	if err != nil {
		panic(err)
	}
	var ladders []client.Ladder
	for _, region := range snap.Vocabulary.IDs("region") {
		ladders = append(ladders, client.Ladder{Region: region, Rungs: []string{"active_motion", "isometric", "single_joint", "unrestricted"}})
	}
	lists := []client.QuestionList{
		{ID: "everyone", Questions: []client.Question{{ID: "chest_pressure", Asks: "Chest pressure?", Urgency: "emergency"}}},
		{ID: "shoulder", Region: "shoulder", Questions: []client.Question{{ID: "numb_or_weak_arm", Asks: "A numb or weak arm?",
			Urgency: "soon"}}},
	}
	return client.NewFrame(snap, ladders, lists, client.Measures{})
})

func day(t *testing.T, text string) client.Day {
	t.Helper()
	d, err := client.ParseDay(text)
	require.NoError(t, err)
	return d
}

func ptr[T any](v T) *T { return &v }

// good is a request with something in every field, and nothing wrong with it.
func good(t *testing.T) *client.Request {
	on := day(t, "2026-11-20")
	return &client.Request{
		AsOf: day(t, "2026-11-24"), KitTaken: []string{"band"}, StationsTaken: []string{"rack"}, Minutes: 45,
		Complaints: []client.Complaint{{Region: "shoulder", Side: client.SideLeft, Intensity: 6, Moment: "BOTTOM", Kind: "ACHE", Onset: "GRADUAL",
			Days: 20},
			{Region: "neck", Intensity: 2}},
		Profile: &client.Profile{
			Ref: "m-0412", AgeYears: ptr(44), Sex: "FEMALE", Training: "NOVICE", BodyMassKg: ptr(71.0), DominantSide: client.SideRight,
			Kit: []string{"dumbbell"}, KitTold: true, Beighton: ptr(3), Confidence: ptr(6), ProgrammeWeek: ptr(4),
			Conditions:     []client.Condition{{ID: "rotator_cuff_tendinopathy", Side: client.SideLeft, ToldBy: "CLINICIAN", Since: on}},
			ConditionsTold: true,
			Clearances: []client.Clearance{{By: "CLINICIAN", Region: "shoulder", Side: client.SideLeft, Given: on, Until: on + 60,
				RangeDeg: []client.Limit{{Motion: "shoulder.flexion", ToDeg: 90}}, LoadKg: ptr(5.0), Covers: []string{"rotator_cuff_tendinopathy"}}},
			RangeDeg: []client.Measure{{Of: "shoulder.flexion", Side: client.SideLeft, Value: 135, Day: on, By: "SAME_MEASURER"},
				{Of: "neck.flexion", Value: 40, Day: on}},
			PassiveDeg:  []client.Measure{{Of: "shoulder.flexion", Side: client.SideLeft, Value: 150, Day: on}},
			StrengthN:   []client.Measure{{Of: "shoulder.external_rotation", Side: client.SideLeft, Value: 88, Day: on}},
			HoldSeconds: []client.Measure{{Of: "shoulder.scapular_retraction", Side: client.SideLeft, Value: 8, Day: on}},
			PainfulArcs: []client.PainfulArc{{Motion: "shoulder.abduction", Side: client.SideLeft, From: 70, To: 110}},
			Best:        []client.Best{{Test: "push_up_test", Sets: ptr(2), Reps: ptr(15), Form: "OK", Pain: ptr(1.0), Day: on}},
			Pain: []client.Pain{{Region: "shoulder", Side: client.SideLeft, Rest: ptr(1.0), Worst: ptr(4.0), NextDay: ptr(2.0),
				SettleHours: ptr(6.0), Day: on},
				{Region: "neck", Rest: ptr(0.0), Day: on}},
			Rungs: []client.Standing{{Region: "shoulder", Side: client.SideLeft, At: "isometric", Since: on},
				{Region: "neck", At: "unrestricted"}},
			Surgeries:     []client.Surgery{{ID: "cuff_repair", Region: "shoulder", Side: client.SideRight, Day: on}},
			Medicines:     []client.Medicine{{Class: "beta_blocker", Since: on}},
			Pregnancy:     &client.Pregnancy{Weeks: ptr(12)},
			BloodPressure: &client.BloodPressure{Systolic: 128, Diastolic: 82, Day: on},
			Screening:     &client.Screening{Lists: []string{"everyone"}, Day: on, Others: "NO"},
			Disliked:      []string{"push-up"}, GoalLifts: []string{"barbell-overhead-press"},
			Log: []client.LoggedSet{{Drill: "push-up", Day: on, Reps: 10, Effort: ptr(7.0), Pain: ptr(1.0), NextDay: ptr(0.0)}},
		},
	}
}

func found(t *testing.T, q *client.Request) []client.Violation {
	t.Helper()
	err := client.Check(frame(), q)
	if err == nil {
		return nil
	}
	var invalid *client.Invalid
	require.True(t, errors.As(err, &invalid), "%v", err)
	return invalid.Violations
}

func TestAGoodRequestPasses(t *testing.T) {
	require.Empty(t, found(t, good(t)))
	require.Empty(t, found(t, &client.Request{AsOf: day(t, "2026-11-24"), Profile: &client.Profile{}}))
}

func TestEachMistakeIsNamed(t *testing.T) {
	const before = "the day of the request, 2026-11-24"
	tomorrow := day(t, "2026-11-25")
	for name, c := range map[string]struct {
		spoil func(*client.Request, *client.Profile)
		field string
		says  string
	}{
		"no day": {func(q *client.Request, _ *client.Profile) { q.AsOf = 0 }, "as_of",
			"the day of the request is missing; write YYYY-MM-DD"},
		"too far": {func(_ *client.Request, p *client.Profile) { p.RangeDeg[0].Value = 500 },
			`profile.range_deg["shoulder.flexion"].left.value`, "500° is more than shoulder flexion can be; at most 200°"},
		"too little": {func(_ *client.Request, p *client.Profile) { p.RangeDeg[0].Value = -90 },
			`profile.range_deg["shoulder.flexion"].left.value`, "-90° is less than shoulder flexion can be; at least -10°"},
		"not a number": {func(_ *client.Request, p *client.Profile) { p.RangeDeg[0].Value = math.NaN() },
			`profile.range_deg["shoulder.flexion"].left.value`, "this is not a number"},
		"passive too far": {func(_ *client.Request, p *client.Profile) { p.PassiveDeg[0].Value = 500 },
			`profile.passive_deg["shoulder.flexion"].left.value`, "500° is more than shoulder flexion can be; at most 200°"},
		"unknown motion": {func(_ *client.Request, p *client.Profile) { p.RangeDeg[0].Of = "shoulder.flexon" },
			`profile.range_deg["shoulder.flexon"]`, `unknown motion "shoulder.flexon"; did you mean "shoulder.flexion"?`},
		"no side": {func(_ *client.Request, p *client.Profile) { p.RangeDeg[0].Side = client.SideNone },
			`profile.range_deg["shoulder.flexion"].midline`, "shoulder flexion has a left and a right; write it under left or right"},
		"side of a midline": {func(_ *client.Request, p *client.Profile) { p.RangeDeg[1].Side = client.SideRight },
			`profile.range_deg["neck.flexion"].right`, "neck flexion has no left and right; write it under midline, once"},
		"no degrees": {func(_ *client.Request, p *client.Profile) {
			p.RangeDeg[0].Of = "shoulder.scapular_retraction"
		}, `profile.range_deg["shoulder.scapular_retraction"]`, ` isn't measured in degrees; write it under strength_n or hold_seconds`},
		"measured tomorrow": {func(_ *client.Request, p *client.Profile) { p.RangeDeg[0].Day = tomorrow },
			`profile.range_deg["shoulder.flexion"].left.date`, "2026-11-25 is after " + before},
		"measured never": {func(_ *client.Request, p *client.Profile) { p.RangeDeg[0].Day = 0 },
			`profile.range_deg["shoulder.flexion"].left.date`, "the day is missing; write YYYY-MM-DD"},
		"measured by": {func(_ *client.Request, p *client.Profile) { p.RangeDeg[0].By = "COACH" },
			`profile.range_deg["shoulder.flexion"].left.by`, `unknown measurer "COACH"; known: SAME_MEASURER, OTHER, SELF`},
		"strength": {func(_ *client.Request, p *client.Profile) { p.StrengthN[0].Value = 9000 },
			`profile.strength_n["shoulder.external_rotation"].left.value`, "9000 N is more than the strength of shoulder external rotation"},
		"hold": {func(_ *client.Request, p *client.Profile) { p.HoldSeconds[0].Value = -1 },
			`profile.hold_seconds["shoulder.scapular_retraction"].left.value`, "-1 s is less than a hold of "},
		"arc backwards": {func(_ *client.Request, p *client.Profile) { p.PainfulArcs[0].From = 120 },
			`profile.painful_arc_deg["shoulder.abduction"].left.to`,
			"the arc ends at 110°, not beyond its start at 120°; write the smaller angle under from"},
		"arc too far": {func(_ *client.Request, p *client.Profile) { p.PainfulArcs[0].To = 300 },
			`profile.painful_arc_deg["shoulder.abduction"].left.to`, "300° is more than shoulder abduction can be; at most 200°"},
		"pain score": {func(_ *client.Request, p *client.Profile) { p.Pain[0].Worst = ptr(11.0) }, `profile.pain["shoulder"].left.worst`,
			"11 is no pain score; it goes from 0 to 10"},
		"hours to settle": {func(_ *client.Request, p *client.Profile) { p.Pain[0].SettleHours = ptr(999.0) },
			`profile.pain["shoulder"].left.settle_hours`, "999 h is more than the time to settle can be; at most 336 h"},
		"pain of a region": {func(_ *client.Request, p *client.Profile) { p.Pain[0].Region = "sholder" }, `profile.pain["sholder"]`,
			`unknown region "sholder"; did you mean "shoulder"?`},
		"pain has a side": {func(_ *client.Request, p *client.Profile) { p.Pain[1].Side = client.SideLeft }, `profile.pain["neck"].left`,
			"the neck has no left and right; write it under midline, once"},
		"rung": {func(_ *client.Request, p *client.Profile) { p.Rungs[0].At = "isometrics" }, `profile.rung["shoulder"].left.at`,
			`unknown rung "isometrics"; did you mean "isometric"?`},
		"rung tomorrow": {func(_ *client.Request, p *client.Profile) { p.Rungs[0].Since = tomorrow }, `profile.rung["shoulder"].left.since`,
			"2026-11-25 is after " + before},
		"complaint region": {func(q *client.Request, _ *client.Profile) { q.Complaints[0].Region = "" }, "complaints[0].region",
			"the region is missing"},
		"complaint side": {func(q *client.Request, _ *client.Profile) { q.Complaints[1].Side = client.SideLeft }, "complaints[1].side",
			"the neck has no left and right; leave the side out"},
		"intensity": {func(q *client.Request, _ *client.Profile) { q.Complaints[0].Intensity = 12 }, "complaints[0].intensity",
			"12 is no pain score; it goes from 0 to 10"},
		"moment": {func(q *client.Request, _ *client.Profile) { q.Complaints[0].Moment = "BOTOM" }, "complaints[0].moment",
			`unknown moment "BOTOM"; did you mean "BOTTOM"?`},
		"kind": {func(q *client.Request, _ *client.Profile) { q.Complaints[0].Kind = "ACHES" }, "complaints[0].kind",
			`unknown kind of pain "ACHES"; did you mean "ACHE"?`},
		"days": {func(q *client.Request, _ *client.Profile) { q.Complaints[0].Days = -1 }, "complaints[0].days",
			"-1 days is less than"},
		"kit": {func(_ *client.Request, p *client.Profile) { p.Kit[0] = "dumbell" }, "profile.kit.has[0]",
			`unknown kit "dumbell"; did you mean "dumbbell"?`},
		"kit taken": {func(q *client.Request, _ *client.Profile) { q.KitTaken[0] = "bnd" }, "kit_taken[0]",
			`unknown kit "bnd"; did you mean "band"?`},
		"station taken": {func(q *client.Request, _ *client.Profile) { q.StationsTaken[0] = "rak" }, "stations_taken[0]",
			`unknown station "rak"; did you mean "rack"?`},
		"goal": {func(_ *client.Request, p *client.Profile) { p.GoalLifts[0] = "barbel-overhead-press" }, "profile.goal_lifts[0]",
			`unknown drill "barbel-overhead-press"; did you mean "barbell-overhead-press"?`},
		"logged drill": {func(_ *client.Request, p *client.Profile) { p.Log[0].Drill = "" }, "profile.log.sets[0].drill",
			"the drill is missing"},
		"disliked drill": {func(_ *client.Request, p *client.Profile) { p.Disliked = []string{"pushup"} }, "profile.disliked[0]",
			`unknown drill "pushup"; did you mean "push-up"?`},
		"logged effort": {func(_ *client.Request, p *client.Profile) { p.Log[0].Effort = ptr(11.0) }, "profile.log.sets[0].effort",
			"11 is no effort score; it goes from 0 to 10"},
		"age": {func(_ *client.Request, p *client.Profile) { p.AgeYears = ptr(444) }, "profile.age_years",
			"444 years is more than an age can be; at most 120 years"},
		"condition": {func(_ *client.Request, p *client.Profile) { p.Conditions[0].ID = "osteoporose" }, "profile.conditions.known[0].id",
			`unknown condition "osteoporose"; did you mean "osteoporosis"?`},
		"condition's side": {func(_ *client.Request, p *client.Profile) {
			p.Conditions[0].ID = "osteoporosis"
		}, "profile.conditions.known[0].side", "osteoporosis has no left and right; leave the side out"},
		"clearance by": {func(_ *client.Request, p *client.Profile) { p.Clearances[0].By = "CLIENT" }, "profile.clearances[0].by",
			"only a clinician can give a clearance; write CLINICIAN if one did, else leave the clearance out"},
		"clearance ends": {func(_ *client.Request, p *client.Profile) { p.Clearances[0].Until = p.Clearances[0].Given - 1 },
			"profile.clearances[0].until", "it ends on 2026-11-19, before it was given"},
		"clearance motion": {func(_ *client.Request, p *client.Profile) { p.Clearances[0].RangeDeg[0].Motion = "shoulder.flexon" },
			`profile.clearances[0].range_deg["shoulder.flexon"]`, "did you mean"},
		"clearance covers": {func(_ *client.Request, p *client.Profile) { p.Clearances[0].Covers[0] = "x" }, "profile.clearances[0].covers[0]",
			`unknown condition "x"`},
		"clearance region": {func(_ *client.Request, p *client.Profile) { p.Clearances[0].Covers[0] = "osteoporosis" },
			"profile.clearances[0].covers[0]", "is no condition of the shoulder; give that region a clearance of its own"},
		"surgery": {func(_ *client.Request, p *client.Profile) { p.Surgeries[0].Region = "kne" }, "profile.surgeries.known[0].region",
			`unknown region "kne"; did you mean "knee"?`},
		"medicine": {func(_ *client.Request, p *client.Profile) { p.Medicines[0].Class = "beta_blockers" },
			"profile.medicines.known[0].class", `unknown medicine "beta_blockers"; did you mean "beta_blocker"?`},
		"weeks": {func(_ *client.Request, p *client.Profile) { p.Pregnancy.Weeks = ptr(60) }, "profile.pregnancy.weeks",
			"60 weeks is more than a pregnancy can be; at most 45 weeks"},
		"pressure": {func(_ *client.Request, p *client.Profile) { p.BloodPressure.Systolic = 80 }, "profile.blood_pressure.systolic",
			"the upper value, 80, is not above the lower, 82"},
		"test": {func(_ *client.Request, p *client.Profile) { p.Best[0].Test = "pushup_test" }, `profile.best["pushup_test"]`,
			`unknown test "pushup_test"; did you mean "push_up_test"?`},
		"list of questions": {func(_ *client.Request, p *client.Profile) { p.Screening.Lists[0] = "everyon" }, "profile.screening.list",
			`unknown list of questions "everyon"; did you mean "everyone"?`},
		"further list": {func(_ *client.Request, p *client.Profile) {
			p.Screening.Lists = append(p.Screening.Lists, "sholder")
		}, "profile.screening.also[0]", `unknown list of questions "sholder"`},
		"others": {func(_ *client.Request, p *client.Profile) { p.Screening.Others = "YES" }, "profile.screening.others",
			`unknown answer for the others "YES"`},
		"question": {func(_ *client.Request, p *client.Profile) {
			p.Answers = []client.Answer{{Question: "chest_presure", Is: "NO", Day: p.Screening.Day}}
		}, `profile.answers["chest_presure"]`, `unknown question "chest_presure"`},
	} {
		q := good(t)
		c.spoil(q, q.Profile)
		list := found(t, q)
		i := slices.IndexFunc(list, func(v client.Violation) bool { return v.Field == c.field })
		require.GreaterOrEqual(t, i, 0, "%s: %v", name, list)
		require.Contains(t, list[i].Sentence(), c.says, name)
	}
}

func TestEverythingAtOnceAndOnce(t *testing.T) {
	q := good(t)
	q.Profile.Kit = []string{"dumbell"}
	q.Complaints[0].Intensity = 12
	q.Profile.StrengthN = []client.Measure{{Of: "elbow.flexon", Side: client.SideLeft, Day: q.AsOf},
		{Of: "elbow.flexon", Side: client.SideRight, Day: q.AsOf}}
	require.Equal(t, `complaints[0].intensity: 12 is no pain score; it goes from 0 to 10
profile.kit.has[0]: unknown kit "dumbell"; did you mean "dumbbell"?
profile.strength_n["elbow.flexon"]: unknown motion "elbow.flexon"; did you mean "elbow.flexion"?`, client.Check(frame(), q).Error())
}

// TestUnknownWordsAreSearchedForFiftyTimes: each different word once, when it is read, and no more than so many.
func TestUnknownWordsAreSearchedForFiftyTimes(t *testing.T) {
	q := good(t)
	q.Profile.Disliked = nil
	for i := range 900 {
		q.Profile.Disliked = append(q.Profile.Disliked, fmt.Sprintf("push-upp%d", i/3))
	}
	list := found(t, q)
	require.Len(t, list, 900)
	require.Zero(t, client.Searches(list), "before anybody reads them")
	for i, v := range list {
		near := ""
		if i < 3*client.MostSearched {
			near = `did you mean "push-up"?`
		}
		require.Equal(t, near, v.Suggested(), i)
	}
	require.Equal(t, client.MostSearched, client.Searches(list))
}

// TestACheckEndsWhenNobodyWaits: a loop over a long list looks whether somebody still waits.
func TestACheckEndsWhenNobodyWaits(t *testing.T) {
	q := good(t)
	for range 1000 {
		q.Profile.Log = append(q.Profile.Log, client.LoggedSet{Day: q.AsOf})
	}
	require.Len(t, found(t, q), 1000)
	gone := make(chan struct{})
	close(gone)
	q.Done = gone
	require.Empty(t, found(t, q))
}
