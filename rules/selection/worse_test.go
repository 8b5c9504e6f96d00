package selection_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"drillwright/catalog"
	"drillwright/rules"
	"drillwright/rules/client"
	"drillwright/rules/selection"
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
		q.Complaints = append(q.Complaints, complaint(t, r))
	}
	for n := rapid.IntRange(0, 2).Draw(r, "conditions"); n > 0; n-- {
		p.Conditions = append(p.Conditions, condition(t, r))
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
	k := v.Conditions[v.Place("condition", oneOf(r, "condition", v.IDs("condition")...))]
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
		if of := v.Conditions[v.Place("condition", k[0].ID)].Regions; len(of) > 0 {
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

// worsening makes of a client one who is worse off, or of whom less is known, in a single respect. It may first give the
// client what the worsening takes; nil: this client has nothing to make worse.
type worsening struct {
	name string
	do   func(t *testing.T, r *rapid.T, q *client.Request) *client.Request
}

var worsenings = []worsening{
	{"a further condition", func(t *testing.T, r *rapid.T, q *client.Request) *client.Request {
		w := copied(q)
		w.Profile.Conditions = append(w.Profile.Conditions, condition(t, r))
		return w
	}},
	{"a condition that is past is there now", func(t *testing.T, r *rapid.T, q *client.Request) *client.Request {
		k := condition(t, r)
		k.Status = "PAST"
		q.Profile.Conditions = append(q.Profile.Conditions, k)
		w := copied(q)
		w.Profile.Conditions[len(w.Profile.Conditions)-1].Status = rapid.SampledFrom([]string{"", "NOW"}).Draw(r, "status")
		return w
	}},
	{"a further operation", func(t *testing.T, r *rapid.T, q *client.Request) *client.Request {
		w := copied(q)
		w.Profile.Surgeries = append(w.Profile.Surgeries, operation(t, r, q))
		return w
	}},
	{"a further medicine", func(t *testing.T, r *rapid.T, q *client.Request) *client.Request {
		w := copied(q)
		w.Profile.Medicines = append(w.Profile.Medicines, medicine(t, r, q))
		return w
	}},
	{"a further complaint", func(t *testing.T, r *rapid.T, q *client.Request) *client.Request {
		w := copied(q)
		w.Complaints = append(w.Complaints, complaint(t, r))
		return w
	}},
	{"more pain", func(t *testing.T, r *rapid.T, q *client.Request) *client.Request {
		w, c := sorest(t, r, q)
		c.Intensity = min(10, c.Intensity+float64(rapid.IntRange(1, 6).Draw(r, "more")))
		return w
	}},
	{"a worse onset", func(t *testing.T, r *rapid.T, q *client.Request) *client.Request {
		w, c := sorest(t, r, q)
		c.Onset = worseWord(r, [][]string{{"GRADUAL"}, {"SUDDEN"}, {"INJURY"}, {""}}, c.Onset)
		return w
	}},
	{"a worse moment, of no lift", func(t *testing.T, r *rapid.T, q *client.Request) *client.Request {
		q.Lift = ""
		return worseMoment(t, r, q)
	}},
	{"a worse moment, of a lift", worseMoment},
	{"a worse kind", func(t *testing.T, r *rapid.T, q *client.Request) *client.Request {
		w, c := sorest(t, r, q)
		c.Kind = worseWord(r, [][]string{{"ACHE", "PULL", "PINCH"}, {""}, {"TINGLE", "NUMB", "SHOOTING", "WEAK"}}, c.Kind)
		return w
	}},
	{"worse scores", func(t *testing.T, r *rapid.T, q *client.Request) *client.Request {
		w, p := scoredPain(t, r, q)
		switch rapid.IntRange(0, 3).Draw(r, "which") {
		case 0:
			p.Rest, p.Worst = to(min(10, *p.Rest+3)), to(max(*p.Worst, min(10, *p.Rest+3)))
		case 1:
			p.Worst = to(min(10, *p.Worst+3))
		case 2:
			p.SettleHours = to(*p.SettleHours + 24)
		case 3:
			p.WakesAtNight = to(true)
		}
		return w
	}},
	{"a more urgent answer", func(t *testing.T, r *rapid.T, q *client.Request) *client.Request {
		answers := []string{"NO", "UNSURE", "YES"}
		id, from := rapid.SampledFrom(edition(t).Frame.QuestionIDs()).Draw(r, "answered"), rapid.IntRange(0, 1).Draw(r, "from")
		answered(q, id, answers[from])
		w := copied(q)
		answered(w, id, answers[rapid.IntRange(from+1, 2).Draw(r, "to")])
		return w
	}},
	{"an answer too old", func(t *testing.T, r *rapid.T, q *client.Request) *client.Request {
		id := rapid.SampledFrom(edition(t).Frame.QuestionIDs()).Draw(r, "answered")
		answered(q, id, rapid.SampledFrom([]string{"NO", "UNSURE", "YES"}).Draw(r, "was"))
		w := copied(q)
		w.Profile.Answers[len(w.Profile.Answers)-1].Day = q.AsOf - 200
		return w
	}},
	{"the questions asked yesterday", func(t *testing.T, r *rapid.T, q *client.Request) *client.Request {
		w := copied(q)
		s := *q.Profile.Screening
		s.Day -= client.Day(rapid.IntRange(1, 60).Draw(r, "days ago"))
		w.Profile.Screening = &s
		return w
	}},
	{"a list of questions not asked", func(t *testing.T, r *rapid.T, q *client.Request) *client.Request {
		w := copied(q)
		s := *q.Profile.Screening
		s.Lists = slices.Clone(s.Lists)
		i := rapid.IntRange(0, len(s.Lists)-1).Draw(r, "list")
		s.Lists = slices.Delete(s.Lists, i, i+1)
		w.Profile.Screening = &s
		return w
	}},
	{"conditions emptied or absent beside YES", func(t *testing.T, r *rapid.T, q *client.Request) *client.Request {
		answered(q, "known_condition", "YES")
		q.Profile.Conditions = append(q.Profile.Conditions, condition(t, r))
		w := copied(q)
		w.Profile.Conditions, w.Profile.ConditionsTold = nil, rapid.Bool().Draw(r, "empty")
		return w
	}},
	{"operations emptied or absent beside YES", func(t *testing.T, r *rapid.T, q *client.Request) *client.Request {
		answered(q, "surgery_or_dislocation", "YES")
		q.Profile.Surgeries = append(q.Profile.Surgeries, operation(t, r, q))
		w := copied(q)
		w.Profile.Surgeries, w.Profile.SurgeriesTold = nil, rapid.Bool().Draw(r, "empty")
		return w
	}},
	{"medicines emptied or absent beside YES", func(t *testing.T, r *rapid.T, q *client.Request) *client.Request {
		answered(q, "takes_medicine", "YES")
		q.Profile.Medicines = append(q.Profile.Medicines, medicine(t, r, q))
		w := copied(q)
		w.Profile.Medicines, w.Profile.MedicinesTold = nil, rapid.Bool().Draw(r, "empty")
		return w
	}},
	{"a pregnancy emptied or absent beside YES", func(t *testing.T, r *rapid.T, q *client.Request) *client.Request {
		q.Profile.Sex = "FEMALE"
		answered(q, "pregnant_or_recent_birth", "YES")
		q.Profile.Pregnancy = &client.Pregnancy{Weeks: to(rapid.IntRange(4, 40).Draw(r, "weeks")), Agreed: to(rapid.Bool().Draw(r, "agreed"))}
		w := copied(q)
		if w.Profile.Pregnancy = nil; rapid.Bool().Draw(r, "empty") {
			w.Profile.Pregnancy = &client.Pregnancy{}
		}
		return w
	}},
	{"a pregnancy that nobody said was agreed", func(t *testing.T, r *rapid.T, q *client.Request) *client.Request {
		q.Profile.Sex = "FEMALE"
		answered(q, "pregnant_or_recent_birth", "YES")
		q.Profile.Pregnancy = &client.Pregnancy{Weeks: to(rapid.IntRange(4, 40).Draw(r, "weeks")), Agreed: to(rapid.Bool().Draw(r, "agreed"))}
		w := copied(q)
		w.Profile.Pregnancy = &client.Pregnancy{Weeks: q.Profile.Pregnancy.Weeks}
		return w
	}},
	{"a pressure dropped beside YES, or too old beside any answer", func(t *testing.T, r *rapid.T, q *client.Request) *client.Request {
		q.Profile.BloodPressure = pressure(r, q, 190)
		old := rapid.Bool().Draw(r, "old")
		if !old || rapid.Bool().Draw(r, "high") {
			answered(q, "high_blood_pressure", "YES")
		}
		w := copied(q)
		w.Profile.BloodPressure = nil
		if old {
			was := *q.Profile.BloodPressure
			was.Day -= 100
			w.Profile.BloodPressure = &was
		}
		return w
	}},
	{"a range dropped or too old", func(t *testing.T, r *rapid.T, q *client.Request) *client.Request {
		return measureGone(r, q, func(p *client.Profile) *[]client.Measure { return &p.RangeDeg })
	}},
	{"a strength dropped or too old", func(t *testing.T, r *rapid.T, q *client.Request) *client.Request {
		return measureGone(r, q, func(p *client.Profile) *[]client.Measure { return &p.StrengthN })
	}},
	{"scores dropped or too old", func(t *testing.T, r *rapid.T, q *client.Request) *client.Request {
		w, p := scoredPain(t, r, q)
		switch rapid.IntRange(0, 3).Draw(r, "which") {
		case 0:
			p.Day -= 30
		case 1:
			p.Rest = nil
		case 2:
			p.SettleHours = nil
		case 3:
			p.WakesAtNight = nil
		}
		return w
	}},
	{"something of the person not told", func(t *testing.T, r *rapid.T, q *client.Request) *client.Request {
		w := copied(q)
		p := w.Profile
		switch rapid.IntRange(0, 6).Draw(r, "which") {
		case 0:
			p.AgeYears = nil
		case 1:
			p.Sex = ""
		case 2:
			p.Training = ""
		case 3:
			p.Supervised = nil
		case 4:
			p.GuardianPresent = nil
		case 5:
			p.PainkillerToday = nil
		case 6:
			p.Kit, p.KitTold = nil, false
		}
		return w
	}},
	{"a side not told", func(t *testing.T, r *rapid.T, q *client.Request) *client.Request {
		w, c := sorest(t, r, q)
		k := condition(t, r)
		switch {
		case rapid.Bool().Draw(r, "of a complaint"):
			c.Side = client.SideNone
		case k.Side != client.SideNone:
			q.Profile.Conditions = append(q.Profile.Conditions, k)
			w = copied(q)
			w.Profile.Conditions[len(w.Profile.Conditions)-1].Side = client.SideNone
		}
		return w
	}},
	{"a day not told", func(t *testing.T, r *rapid.T, q *client.Request) *client.Request {
		q.Profile.Conditions = append(q.Profile.Conditions, condition(t, r))
		if rapid.Bool().Draw(r, "cleared for it") {
			q.Profile.Conditions = q.Profile.Conditions[len(q.Profile.Conditions)-1:]
			q.Profile.Clearances = []client.Clearance{anyClearance(t, r, q)}
		}
		w := copied(q)
		w.Profile.Conditions[len(w.Profile.Conditions)-1].Since = 0
		return w
	}},
	{"who told it not told", func(t *testing.T, r *rapid.T, q *client.Request) *client.Request {
		q.Profile.Conditions = append(q.Profile.Conditions, condition(t, r))
		w := copied(q)
		w.Profile.Conditions[len(w.Profile.Conditions)-1].ToldBy = ""
		return w
	}},
	{"a complaint that nobody has looked at since it began", func(t *testing.T, r *rapid.T, q *client.Request) *client.Request {
		_, c := sorest(t, r, q)
		at := slices.Index(q.Complaints, *c)
		q.Complaints[at].LookedAt = q.AsOf - client.Day(rapid.IntRange(0, c.Days).Draw(r, "looked at"))
		w := copied(q)
		if w.Complaints[at].LookedAt = 0; rapid.Bool().Draw(r, "before it began") {
			w.Complaints[at].LookedAt = q.AsOf - client.Day(c.Days) - 1
		}
		return w
	}},
	{"a YES that nobody has looked at", func(t *testing.T, r *rapid.T, q *client.Request) *client.Request {
		answered(q, rapid.SampledFrom(edition(t).Frame.QuestionIDs()).Draw(r, "answered"), "YES")
		last := len(q.Profile.Answers) - 1
		q.Profile.Answers[last].LookedAt = q.AsOf - client.Day(rapid.IntRange(0, 30).Draw(r, "looked at"))
		w := copied(q)
		if w.Profile.Answers[last].LookedAt = 0; rapid.Bool().Draw(r, "long ago") {
			w.Profile.Answers[last].LookedAt = q.AsOf - 3000
		}
		return w
	}},
	{"a NO without the complaint in view", func(t *testing.T, r *rapid.T, q *client.Request) *client.Request {
		sorest(t, r, q)
		answered(q, rapid.SampledFrom(edition(t).Frame.QuestionIDs()).Draw(r, "answered"), "NO")
		last := len(q.Profile.Answers) - 1
		q.Profile.Answers[last].ComplaintInView = true
		w := copied(q)
		w.Profile.Answers[last].ComplaintInView = false
		return w
	}},
	{"full training since an operation not told", func(t *testing.T, r *rapid.T, q *client.Request) *client.Request {
		k := operation(t, r, q)
		k.ID, k.FullTrainingSince = "other_operation", true
		q.Profile.Surgeries = append(q.Profile.Surgeries, k)
		w := copied(q)
		if last := len(w.Profile.Surgeries) - 1; rapid.Bool().Draw(r, "undated") {
			w.Profile.Surgeries[last].Day = 0
		} else {
			w.Profile.Surgeries[last].FullTrainingSince = false
		}
		return w
	}},
	{"the bone not told", func(t *testing.T, r *rapid.T, q *client.Request) *client.Request {
		region := oneOf(r, "bone", edition(t).Frame.Vocabulary.IDs("region")...)
		k := client.Condition{ID: oneOf(r, "broken", "fracture", "bone_stress_injury"), Region: region, Side: side(t, r, region),
			ToldBy: "CLINICIAN", Since: ago(r, q, "broken days", 1, 400)}
		if k.ID == "bone_stress_injury" && slices.Contains([]string{"shoulder", "elbow", "wrist", "neck"}, region) {
			return nil // without a bone it is of legs, spine or ribs
		}
		q.Profile.Conditions = append(q.Profile.Conditions, k)
		w := copied(q)
		w.Profile.Conditions[len(w.Profile.Conditions)-1].Region = ""
		return w
	}},
	{"a clearance without limits that ran out", func(t *testing.T, r *rapid.T, q *client.Request) *client.Request {
		k, v := condition(t, r), edition(t).Frame.Vocabulary
		if k.Status = "NOW"; len(v.Conditions[v.Place("condition", k.ID)].Regions) == 0 {
			return nil // a clearance puts its region in question, where the condition doesn't
		}
		q.Profile.Conditions = []client.Condition{k}
		c := anyClearance(t, r, q)
		c.LoadKg = nil
		q.Profile.Clearances, q.Profile.ClearancesTold = []client.Clearance{c}, true
		w := copied(q)
		if w.Profile.Clearances = nil; rapid.Bool().Draw(r, "ran out") && c.Given < q.AsOf {
			c.Until = q.AsOf - 1
			w.Profile.Clearances = []client.Clearance{c}
		}
		return w
	}},
	{"no clinician's word for an operation", func(t *testing.T, r *rapid.T, q *client.Request) *client.Request {
		k := operation(t, r, q)
		q.Profile.Surgeries = []client.Surgery{k}
		q.Profile.Clearances = []client.Clearance{{By: "CLINICIAN", Region: k.Region, Side: k.Side, Given: q.AsOf, Surgery: true}}
		w := copied(q)
		if w.Profile.Clearances = nil; rapid.Bool().Draw(r, "ran out") {
			ended := q.Profile.Clearances[0]
			ended.Given, ended.Until = q.AsOf-1, q.AsOf-1
			w.Profile.Clearances = []client.Clearance{ended}
		}
		return w
	}},
}

// sorest gives the client a complaint, if there is none, and a copy whose complaint may be made worse.
func sorest(t *testing.T, r *rapid.T, q *client.Request) (*client.Request, *client.Complaint) {
	if len(q.Complaints) == 0 {
		q.Complaints = []client.Complaint{complaint(t, r)}
	}
	w := copied(q)
	return w, &w.Complaints[rapid.IntRange(0, len(w.Complaints)-1).Draw(r, "which complaint")]
}

func worseMoment(t *testing.T, r *rapid.T, q *client.Request) *client.Request {
	w, c := sorest(t, r, q)
	within := []string{"START", "BOTTOM", "MIDDLE", "TOP", "HOLDING", "RACKING"}
	c.Moment = worseWord(r, [][]string{within, {"AFTER"}, {"NEXT_DAY"}, {"ALWAYS"}}, c.Moment)
	return w
}

// scoredPain gives the client a complaint with scores, if there are none, and a copy whose scores may be changed.
func scoredPain(t *testing.T, r *rapid.T, q *client.Request) (*client.Request, *client.Pain) {
	w, c := sorest(t, r, q)
	if !slices.ContainsFunc(q.Profile.Pain, func(p client.Pain) bool { return p.Region == c.Region }) {
		scored(t, r, q, c.Region)
		w = copied(q)
	}
	of := slices.IndexFunc(w.Profile.Pain, func(p client.Pain) bool { return p.Region == c.Region })
	return w, &w.Profile.Pain[of]
}

// worseWord draws a word of a later group than the one that a word stands in; the word itself where there is none.
func worseWord(r *rapid.T, groups [][]string, word string) string {
	at := slices.IndexFunc(groups, func(g []string) bool { return slices.Contains(g, word) })
	if at < 0 || at == len(groups)-1 {
		return word
	}
	return rapid.SampledFrom(groups[rapid.IntRange(at+1, len(groups)-1).Draw(r, "worse group")]).Draw(r, "worse")
}

// measureGone takes a measure away, or makes it too old to count; nil when there is none.
func measureGone(r *rapid.T, q *client.Request, of func(*client.Profile) *[]client.Measure) *client.Request {
	w := copied(q)
	list := of(w.Profile)
	if len(*list) == 0 {
		return nil
	}
	i := rapid.IntRange(0, len(*list)-1).Draw(r, "which measure")
	if rapid.Bool().Draw(r, "old") {
		(*list)[i].Day -= 200
	} else {
		*list = slices.Delete(*list, i, i+1)
	}
	return w
}

// exception is what the promise doesn't hold for.
type exception struct {
	whole  bool // nothing of it holds
	tested bool // what was barred may wait for a test; nothing may be open that wasn't
	asked  bool // a referral that was merely not ruled out may be gone; nothing may be open that wasn't
	soon   bool // a referral may be less urgent than today; no loading drill may be open that wasn't
}

// exceptions are the pairs of clients in which the one who is worse off, or less known, may do more, each with its reason.
// A pair that none of them names must keep the promise whole.
var exceptions = []struct {
	why string
	exception
	when func(e *rules.Edition, name string, q, w *client.Request) bool
}{
	{"a region is asked about while something puts it in question; an entry that is gone is asked for itself, and closes more",
		exception{asked: true},
		func(_ *rules.Edition, name string, _, _ *client.Request) bool {
			return strings.Contains(name, "emptied or absent")
		}},
	{"a range or a strength that bars, and that nobody took, is to be tested",
		exception{tested: true},
		func(_ *rules.Edition, name string, _, _ *client.Request) bool {
			return strings.HasPrefix(name, "a range") || strings.HasPrefix(name, "a strength")
		}},
	{"a range that nobody took is presumed in a quiet region: the promise is for regions in question",
		exception{whole: true},
		func(e *rules.Edition, name string, q, w *client.Request) bool {
			f := client.Derive(e.Frame, w)
			defer f.Done()
			return strings.HasPrefix(name, "a range") && slices.ContainsFunc(q.Profile.RangeDeg, func(m client.Measure) bool {
				return !slices.Contains(w.Profile.RangeDeg, m) && !f.InQuestion(e.Frame.Vocabulary.Motion(m.Of).Region)
			})
		}},
	{"a tendon that was named is stirred up only by night pain or by the hours to settle, and trains on under the pain rule",
		exception{whole: true},
		func(e *rules.Edition, name string, _, w *client.Request) bool {
			return strings.Contains(name, "condition") && slices.ContainsFunc(w.Profile.Conditions, func(k client.Condition) bool {
				return e.Frame.Vocabulary.Conditions[e.Frame.Vocabulary.Place("condition", k.ID)].Tendon
			})
		}},
	{"an entry settles the YES, or the doubt, that asks for it", exception{whole: true},
		func(e *rules.Edition, name string, q, _ *client.Request) bool {
			conditions := []string{"known_condition", "heart_or_circulation", "metabolic_or_kidney", "surgery_or_dislocation", "high_blood_pressure"}
			settled := map[string][]string{"a further condition": conditions, "a condition that is past is there now": conditions,
				"a further operation": {"surgery_or_dislocation", "operation_last_12_weeks"}, "a further medicine": {"takes_medicine"}}[name]
			return slices.ContainsFunc(q.Profile.Answers, func(a client.Answer) bool { return a.Is != "NO" && slices.Contains(settled, a.Question) })
		}},
	{"what a clinician has explained sends nobody on for being numb",
		exception{whole: true},
		func(_ *rules.Edition, name string, _, w *client.Request) bool {
			explains := []string{"carpal_tunnel_syndrome", "cervical_radiculopathy", "lumbar_radiculopathy", "spinal_stenosis"}
			return strings.Contains(name, "condition") && slices.ContainsFunc(w.Profile.Conditions, func(k client.Condition) bool {
				return k.ToldBy == "CLINICIAN" && slices.Contains(explains, k.ID)
			})
		}},
	{"felt during a lift that doesn't load it, it may be the heart; felt after it, or always, it isn't of the lift",
		exception{whole: true},
		func(e *rules.Edition, name string, q, _ *client.Request) bool {
			lift := e.Catalogue.Drill(q.Lift)
			return name == "a worse moment, of a lift" && lift != nil && slices.ContainsFunc(q.Complaints, func(c client.Complaint) bool {
				return !slices.ContainsFunc(lift.Rows, func(row catalog.Row) bool {
					load := row.Load(c.Region)
					return load != nil && load.Role != "brace" && e.Frame.Ladder(c.Region).Place(load.Rung) > 0
				})
			})
		}},
	{"a complaint says where an injury or a pain that rises is", exception{whole: true},
		func(_ *rules.Edition, name string, q, _ *client.Request) bool {
			return name == "a further complaint" && slices.ContainsFunc(q.Profile.Answers, func(a client.Answer) bool {
				return a.Is != "NO" && slices.Contains([]string{"recent_trauma", "pain_rising_daily"}, a.Question)
			})
		}},
	{"an entry that contradicts a NO is asked about again; it settles a YES, or a doubt",
		exception{whole: true},
		func(_ *rules.Edition, name string, q, _ *client.Request) bool {
			asks := []string{"known_condition", "heart_or_circulation", "metabolic_or_kidney", "surgery_or_dislocation", "operation_last_12_weeks",
				"takes_medicine", "pregnant_or_recent_birth", "high_blood_pressure"}
			last := len(q.Profile.Answers) - 1
			return name == "a more urgent answer" && q.Profile.Answers[last].Is == "NO" && slices.Contains(asks, q.Profile.Answers[last].Question)
		}},
	{"limits that a clinician set with the operation in mind stand though nobody dated it",
		exception{whole: true},
		func(_ *rules.Edition, name string, _, w *client.Request) bool {
			return strings.HasPrefix(name, "full training") && slices.ContainsFunc(w.Profile.Clearances, func(c client.Clearance) bool { return c.Surgery })
		}},
	{"joints are taken for loose, or not, as long as something measured speaks for it",
		exception{whole: true},
		func(e *rules.Edition, name string, q, _ *client.Request) bool {
			f := client.Derive(e.Frame, q)
			defer f.Done()
			return strings.HasPrefix(name, "a range") && f.Truth("client.hypermobile", 0).Possible
		}},
	{"only a night that was told contradicts an answer", exception{whole: true},
		func(_ *rules.Edition, name string, q, w *client.Request) bool {
			return strings.HasPrefix(name, "scores dropped") && slices.ContainsFunc(q.Profile.Pain, func(p client.Pain) bool {
				return *p.WakesAtNight && !slices.Contains(w.Profile.Pain, p)
			})
		}},
	{"pain of 7 at rest that began suddenly or with an injury is a matter of today when it was scored; unscored it is asked for, and its region closed",
		exception{whole: true},
		func(_ *rules.Edition, name string, q, w *client.Request) bool {
			return strings.HasPrefix(name, "scores dropped") && slices.ContainsFunc(q.Profile.Pain, func(p client.Pain) bool {
				return *p.Rest >= 7 && !slices.Contains(w.Profile.Pain, p) && slices.ContainsFunc(w.Complaints, func(c client.Complaint) bool {
					return c.Region == p.Region && c.Onset != "GRADUAL"
				})
			})
		}},
	{"a bone that nobody places closes all loading; the questions of its region, and what hangs on it, come with the region",
		exception{soon: true, asked: true},
		func(_ *rules.Edition, name string, _, _ *client.Request) bool { return name == "the bone not told" }},
	{"a side that nobody complains of is free of pain unless it was scored",
		exception{whole: true},
		func(_ *rules.Edition, name string, q, w *client.Request) bool {
			return strings.HasPrefix(name, "scores dropped") && slices.ContainsFunc(q.Profile.Pain, func(p client.Pain) bool {
				return !slices.Contains(w.Profile.Pain, p) && !slices.ContainsFunc(w.Complaints, func(c client.Complaint) bool {
					return c.Region == p.Region && (p.Side == client.SideNone || c.Side.On(slices.Index(client.Sides[:], p.Side)))
				})
			})
		}},
}

// TestWorseIsNeverMilder: someone who is worse off, or of whom less is known, finds no loading drill open that wasn't, none
// to be tested that was barred, and is never sent on less urgently.
func TestWorseIsNeverMilder(t *testing.T) {
	e := edition(t)
	for _, worse := range worsenings {
		t.Run(worse.name, func(t *testing.T) {
			rapid.Check(t, func(r *rapid.T) {
				q := member(t, r)
				w := worse.do(t, r, q)
				if w == nil {
					return
				}
				x := excepted(e, worse.name, q, w)
				if x.whole {
					return
				}
				before, after := left(r, e, q), left(r, e, w)
				if after.Possible.Place > before.Sure.Place && !x.soon {
					r.Fatalf("%s wants someone seen; then only %q does\n%s", before.Sure.By, after.Possible.By, fromTo(q, w))
				}
				if after.Possible.Place > before.Possible.Place && !x.asked {
					r.Fatalf("%s may want someone seen; then only %q does\n%s", before.Possible.By, after.Possible.By, fromTo(q, w))
				}
				if milder := milder(e, before, after, x.tested); len(milder) > 0 {
					r.Fatalf("%d drills: %s\n%s", len(milder), strings.Join(milder[:min(4, len(milder))], ", "), fromTo(q, w))
				}
			})
		})
	}
}

func excepted(e *rules.Edition, name string, q, w *client.Request) (all exception) {
	for _, x := range exceptions {
		if x.when(e, name, q, w) {
			all = exception{all.whole || x.whole, all.tested || x.tested, all.asked || x.asked, all.soon || x.soon}
		}
	}
	return all
}

// milder names the loading drills that come out better on a side than before.
func milder(e *rules.Edition, before, after *selection.Left, tested bool) []string {
	var out []string
	for i, d := range e.Catalogue.Drills {
		for side := range 2 {
			was, is := before.Verdicts[i][side], after.Verdicts[i][side]
			if d.Sides != catalog.OneSide {
				was, is = rules.Together(before.Verdicts[i][0], before.Verdicts[i][1]), rules.Together(after.Verdicts[i][0], after.Verdicts[i][1])
			}
			if d.Loads && was != is && rules.Together(was, is) == was && !(tested && is == rules.TestFirst) {
				out = append(out, fmt.Sprintf("%s on the %s, which was %s, is %s", d.ID, client.Sides[side], was, is))
			}
		}
	}
	return out
}

// fromTo is what differs between the two clients, and who they are.
func fromTo(q, w *client.Request) string {
	short := func(q *client.Request) string {
		p := q.Profile
		return fmt.Sprintf("lift %q, complaints %+v, conditions %+v, operations %+v, medicines %+v, clearances %+v, answers %+v, ", q.Lift,
			q.Complaints, p.Conditions, p.Surgeries, p.Medicines, p.Clearances, p.Answers) +
			fmt.Sprintf("pain %d, ranges %d, strengths %d, rungs %+v, pressure %+v, pregnancy %+v", len(p.Pain), len(p.RangeDeg), len(p.StrengthN),
				p.Rungs, p.BloodPressure, p.Pregnancy)
	}
	return "of: " + short(q) + "\nto: " + short(w)
}
