package selection_test

import (
	"slices"
	"testing"

	"pgregory.net/rapid"

	"drillwright/rules/client"
)

// member draws someone of any kind: mostly well and asked everything, with up to two complaints, and now and then a
// condition, an operation, a medicine, a clearance, an answer that isn't no. What is measured and scored varies.
func member(t *testing.T, r *rapid.T) *client.Request {
	e, q := edition(t), someone(t)
	p, v := q.Profile, e.Frame.Vocabulary
	often := func(what string, of int) bool { return rapid.IntRange(1, of).Draw(r, what) == of }
	p.AgeYears = to(rapid.SampledFrom([]int{16, 24, 38, 52, 67, 81}).Draw(r, "age"))
	p.Sex = rapid.SampledFrom([]string{"MALE", "FEMALE", ""}).Draw(r, "sex")
	p.Training = rapid.SampledFrom([]string{"NOVICE", "INTERMEDIATE", "ADVANCED", ""}).Draw(r, "training")
	p.GuardianPresent, p.Supervised = to(true), to(rapid.Bool().Draw(r, "supervised"))
	if often("score of looseness", 4) {
		p.Beighton = to(rapid.IntRange(0, 9).Draw(r, "beighton"))
	}
	if often("pressure", 4) {
		p.BloodPressure = pressure(r, q, 178)
	}
	for n := rapid.IntRange(0, 2).Draw(r, "complaints"); n > 0; n-- {
		k := complaint(t, r)
		if !slices.ContainsFunc(q.Complaints, func(had client.Complaint) bool { return had.Region == k.Region }) { // else they may contradict
			q.Complaints = append(q.Complaints, k)
		}
	}
	for n := rapid.IntRange(0, 2).Draw(r, "conditions"); n > 0; n-- {
		k := condition(t, r)
		if !slices.ContainsFunc(p.Conditions, func(had client.Condition) bool { return had.ID == k.ID }) {
			p.Conditions = append(p.Conditions, k)
		}
	}
	if often("operated", 6) {
		p.Surgeries = []client.Surgery{operation(t, r, q)}
	}
	if often("medicine", 6) {
		p.Medicines = []client.Medicine{medicine(t, r, q)}
	}
	if often("cleared", 4) {
		p.Clearances, p.ClearancesTold = []client.Clearance{anyClearance(t, r, q)}, true
	}
	for _, region := range v.IDs("region") {
		sore := slices.ContainsFunc(q.Complaints, func(c client.Complaint) bool { return c.Region == region })
		if sore && rapid.Bool().Draw(r, region+" scored") {
			scored(t, r, q, region)
		}
		if often(region+" measured", 3) {
			measuredSomehow(t, r, q, region)
		}
		if often(region+" standing", 5) {
			stands(t, q, region, rapid.SampledFrom(e.Frame.Ladder(region).Rungs).Draw(r, region+" rung"))
		}
	}
	if often("answer", 3) {
		answered(q, rapid.SampledFrom(e.Frame.QuestionIDs()).Draw(r, "question"), rapid.SampledFrom([]string{"YES", "UNSURE"}).Draw(r, "is"))
	}
	if rapid.Bool().Draw(r, "of a lift") {
		q.Lift = rapid.SampledFrom(e.Catalogue.DrillIDs()).Draw(r, "lift")
	}
	return q
}

func side(t *testing.T, r *rapid.T, region string) client.Side {
	if !edition(t).Frame.Vocabulary.Sided(region) {
		return client.SideNone
	}
	return rapid.SampledFrom([]client.Side{client.SideLeft, client.SideRight, client.SideBoth}).Draw(r, "side")
}

// oneOf draws a word.
func oneOf(r *rapid.T, what string, words ...string) string {
	return rapid.SampledFrom(words).Draw(r, what)
}

// ago is a day so many days before that of the request.
func ago(r *rapid.T, q *client.Request, what string, least, most int) client.Day {
	return q.AsOf - client.Day(rapid.IntRange(least, most).Draw(r, what))
}

func complaint(t *testing.T, r *rapid.T) client.Complaint {
	v := edition(t).Frame.Vocabulary
	region := oneOf(r, "sore", v.IDs("region")...)
	return client.Complaint{Region: region, Side: side(t, r, region), Intensity: float64(rapid.IntRange(1, 9).Draw(r, "intensity")),
		Moment: oneOf(r, "moment", client.ComplaintMoments...), Kind: oneOf(r, "kind", v.IDs("pain_kind")...),
		Onset: oneOf(r, "onset", "GRADUAL", "GRADUAL", "SUDDEN", "INJURY"), Days: rapid.SampledFrom([]int{1, 5, 12, 20, 50, 100}).Draw(r, "days")}
}

func condition(t *testing.T, r *rapid.T) client.Condition {
	v := edition(t).Frame.Vocabulary
	k := v.Conditions[v.Index("condition", oneOf(r, "condition", v.IDs("condition")...))]
	c := client.Condition{ID: k.ID, ToldBy: oneOf(r, "told by", "CLINICIAN", "CLIENT", ""),
		Status: oneOf(r, "status", "NOW", "NOW", "", "PAST"), Since: day(t, today) - client.Day(rapid.IntRange(1, 900).Draw(r, "since"))}
	if len(k.Regions) == 0 || slices.ContainsFunc(k.Regions, v.Sided) {
		c.Side = rapid.SampledFrom([]client.Side{client.SideLeft, client.SideRight, client.SideBoth}).Draw(r, "condition side")
	}
	return c
}

func operation(t *testing.T, r *rapid.T, q *client.Request) client.Surgery {
	region := oneOf(r, "operated region", edition(t).Frame.Vocabulary.IDs("region")...)
	return client.Surgery{ID: "repair", Region: region, Side: side(t, r, region), Day: ago(r, q, "operated", 1, 3000)}
}

func medicine(t *testing.T, r *rapid.T, q *client.Request) client.Medicine {
	return client.Medicine{Class: oneOf(r, "class", edition(t).Frame.Vocabulary.IDs("medicine")...), Since: ago(r, q, "taken since", 1, 400)}
}

func pressure(r *rapid.T, q *client.Request, highest int) *client.BloodPressure {
	upper, lower := rapid.IntRange(100, highest).Draw(r, "systolic"), rapid.IntRange(60, 99).Draw(r, "diastolic")
	return &client.BloodPressure{Systolic: upper, Diastolic: lower, Day: q.AsOf}
}

// anyClearance is one that covers a condition of the client, or limits any region.
func anyClearance(t *testing.T, r *rapid.T, q *client.Request) client.Clearance {
	v := edition(t).Frame.Vocabulary
	regions, covers := v.IDs("region"), []string(nil)
	if k := q.Profile.Conditions; len(k) > 0 {
		covers = []string{k[0].ID}
		if of := v.Conditions[v.Index("condition", k[0].ID)].Regions; len(of) > 0 {
			regions = of
		}
	}
	region := oneOf(r, "cleared region", regions...)
	c := client.Clearance{By: "CLINICIAN", Region: region, Side: side(t, r, region), Given: ago(r, q, "given", 0, 60), Covers: covers,
		Surgery: rapid.Bool().Draw(r, "for the operation")}
	if rapid.Bool().Draw(r, "load limit") {
		c.LoadKg = to(float64(rapid.IntRange(0, 40).Draw(r, "kg")))
	}
	return c
}

func scored(t *testing.T, r *rapid.T, q *client.Request, region string) {
	score := func(what string, most int) *float64 { return to(float64(rapid.IntRange(0, most).Draw(r, what))) }
	for _, side := range sidesOf(t, region) {
		p := client.Pain{Region: region, Side: side, Rest: score("rest", 7), Worst: score("worst", 9), NextDay: score("next day", 5),
			SettleHours: score("settles", 30), WakesAtNight: to(rapid.IntRange(0, 4).Draw(r, "wakes") == 4), Day: q.AsOf - 1}
		p.Worst = to(max(*p.Rest, *p.Worst))
		q.Profile.Pain = append(q.Profile.Pain, p)
	}
}

func measuredSomehow(t *testing.T, r *rapid.T, q *client.Request, region string) {
	for _, m := range edition(t).Frame.Vocabulary.Motions {
		if m.Region != region {
			continue
		}
		for _, side := range onSides(m.Sided) {
			share := rapid.SampledFrom([]float64{0.5, 0.8, 1}).Draw(r, m.ID)
			one := client.Measure{Of: m.ID, Side: side, Value: 200 * share, Day: q.AsOf, By: "SAME_MEASURER"}
			q.Profile.StrengthN = append(q.Profile.StrengthN, one)
			if m.HasRange() {
				one.Value = m.Limits[0] + share*(m.Limits[1]-m.Limits[0])
				q.Profile.RangeDeg = append(q.Profile.RangeDeg, one)
			}
		}
	}
}

func onSides(sided bool) []client.Side {
	if sided {
		return client.Sides[:]
	}
	return []client.Side{client.SideNone}
}

// copied is a request of which any list may be changed.
func copied(q *client.Request) *client.Request {
	p := *q.Profile
	p.Conditions, p.Surgeries, p.Medicines = slices.Clone(p.Conditions), slices.Clone(p.Surgeries), slices.Clone(p.Medicines)
	p.Clearances, p.Answers, p.Pain = slices.Clone(p.Clearances), slices.Clone(p.Answers), slices.Clone(p.Pain)
	p.RangeDeg, p.StrengthN = slices.Clone(p.RangeDeg), slices.Clone(p.StrengthN)
	c := *q
	c.Profile, c.Complaints = &p, slices.Clone(q.Complaints)
	return &c
}
