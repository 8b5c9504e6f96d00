package selection_test

import (
	"slices"
	"testing"

	"pgregory.net/rapid"

	"drillwright/rules/client"
)

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
	{"since when a rung stands not told, or long before the complaint", func(t *testing.T, r *rapid.T, q *client.Request) *client.Request {
		_, c := sorest(t, r, q)
		stands(t, q, c.Region, rapid.SampledFrom(edition(t).Frame.Ladder(c.Region).Rungs).Draw(r, "rung"))
		w := copied(q)
		w.Profile.Rungs = slices.Clone(q.Profile.Rungs)
		since := rapid.SampledFrom([]client.Day{0, q.AsOf - 400}).Draw(r, "since")
		for i := range w.Profile.Rungs {
			if w.Profile.Rungs[i].Region == c.Region {
				w.Profile.Rungs[i].Since = since
			}
		}
		return w
	}},
	{"a logged set that hurt, or was felt the next day", func(t *testing.T, r *rapid.T, q *client.Request) *client.Request {
		w, _ := sorest(t, r, q)
		s := client.LoggedSet{Drill: oneOf(r, "logged", edition(t).Catalogue.DrillIDs()...), Day: ago(r, q, "logged days ago", 0, 60),
			Side: rapid.SampledFrom([]client.Side{client.SideLeft, client.SideRight, client.SideBoth}).Draw(r, "logged side"), Reps: 8,
			Pain: to(1.0), NextDay: to(0.0)}
		if rapid.Bool().Draw(r, "that day") {
			s.Pain = to(float64(rapid.IntRange(4, 9).Draw(r, "pain")))
		} else {
			s.NextDay = to(float64(rapid.IntRange(3, 9).Draw(r, "next day")))
		}
		w.Profile.Log = []client.LoggedSet{s}
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
		if k.Status = "NOW"; len(v.Conditions[v.Index("condition", k.ID)].Regions) == 0 {
			return nil // a clearance puts its region in question, where the condition doesn't
		}
		q.Profile.Conditions = []client.Condition{k}
		c := anyClearance(t, r, q)
		if c.LoadKg, c.Side = nil, client.SideNone; v.Sided(c.Region) {
			c.Side = k.Side // it puts its side in question, where the condition doesn't
		}
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
