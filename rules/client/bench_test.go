package client_test

import (
	"reflect"
	"slices"
	"sync"
	"testing"

	"drillwright/rules"
	"drillwright/rules/client"
)

// edition is the embedded one, read once.
var edition = sync.OnceValue(func() *rules.Edition {
	e, err := rules.Embedded()
	if err != nil {
		panic(err)
	}
	return e
})

const today = client.Day(20781)

// full is a request of somebody of whom everything is known: every motion measured on both sides, a log of 30 sets.
func full(fr *client.Frame) *client.Request {
	p := &client.Profile{
		Ref: "m-0412", AgeYears: ptr(44), Sex: "FEMALE", Training: "NOVICE", BodyMassKg: ptr(71.5), DominantSide: client.SideRight,
		Kit: slices.Clone(fr.Vocabulary.IDs("kit")[5:25]), KitTold: true, Beighton: ptr(3), Confidence: ptr(6), ProgrammeWeek: ptr(4),
		Conditions: []client.Condition{{ID: "rotator_cuff_tendinopathy", Side: client.SideLeft, ToldBy: "CLINICIAN", Since: today - 60},
			{ID: "osteoporosis", ToldBy: "CLIENT"}, {ID: "patellar_tendinopathy", Side: client.SideRight, Status: "PAST"}},
		ConditionsTold: true,
		Clearances: []client.Clearance{{By: "CLINICIAN", Region: "shoulder", Side: client.SideLeft, Given: today - 10, Until: today + 60,
			NoOverhead: true,
			RangeDeg:   []client.Limit{{Motion: "shoulder.flexion", ToDeg: 90}}, LoadKg: ptr(5.0), Covers: []string{"rotator_cuff_tendinopathy"}}},
		ClearancesTold: true,
		PainfulArcs:    []client.PainfulArc{{Motion: "shoulder.abduction", Side: client.SideLeft, From: 70, To: 110}},
		Best:           []client.Best{{Test: "push_up_test", Sets: ptr(2), Reps: ptr(15), Form: "OK", Pain: ptr(1.0), Day: today - 6}},
		Surgeries:      []client.Surgery{{ID: "cuff_repair", Region: "shoulder", Side: client.SideRight, Day: today - 900}}, SurgeriesTold: true,
		Medicines: []client.Medicine{{Class: "beta_blocker", Since: today - 200}}, MedicinesTold: true,
		Pregnancy:     &client.Pregnancy{PostnatalWeeks: ptr(70), Agreed: ptr(true)},
		BloodPressure: &client.BloodPressure{Systolic: 128, Diastolic: 82, Day: today - 4},
		Answers: []client.Answer{{Question: "numb_or_weak_arm", Is: "NO", Day: today}, {Question: "recent_trauma", Is: "NO", Day: today},
			{Question: "surgery_or_dislocation", Is: "YES", Day: today}},
		Screening:       &client.Screening{Lists: fr.ListIDs(), Day: today, Others: "NO"},
		PainkillerToday: ptr(false), Supervised: ptr(true), GuardianPresent: ptr(false),
		Disliked: []string{"push-up", "goblet-squat"}, GoalLifts: []string{"barbell-overhead-press", "barbell-back-squat"},
	}
	measure(fr, p)
	for _, region := range slices.Sorted(slices.Values(fr.Vocabulary.IDs("region"))) {
		for _, side := range sidesOf(fr.Vocabulary.Sided(region)) {
			p.Pain = append(p.Pain, client.Pain{Region: region, Side: side, Rest: ptr(1.0), Worst: ptr(3.0), NextDay: ptr(2.0),
				SettleHours: ptr(6.0), WakesAtNight: ptr(false), Day: today - 2})
			p.Rungs = append(p.Rungs, client.Standing{Region: region, Side: side, At: fr.Ladder(region).Rungs[2], Since: today - 30})
		}
	}
	for i := range 30 {
		p.Log = append(p.Log, client.LoggedSet{Drill: fr.Drills.Drills[i/3*7].ID, Day: today - client.Day(i/6), Reps: 10, LoadKg: 12.5,
			Effort: ptr(7.0), Pain: ptr(1.0), NextDay: ptr(0.0)})
	}
	return &client.Request{
		Profile: p, AsOf: today, Lift: "barbell-overhead-press", KitTaken: []string{"plate", "band"}, StationsTaken: []string{"rack"},
		Minutes: 45,
		Complaints: []client.Complaint{{Region: "shoulder", Side: client.SideLeft, Intensity: 6, Moment: "TOP", Kind: "ACHE", Onset: "GRADUAL",
			Days: 20},
			{Region: "neck", Intensity: 2, Moment: "AFTER", Kind: "ACHE", Onset: "GRADUAL", Days: 3}},
	}
}

func sidesOf(sided bool) []client.Side {
	if sided {
		return client.Sides[:]
	}
	return []client.Side{client.SideNone}
}

// measure measures every motion, in the order in which the server lists them.
func measure(fr *client.Frame, p *client.Profile) {
	for _, id := range slices.Sorted(slices.Values(fr.Vocabulary.IDs("motion"))) {
		m := fr.Vocabulary.Motion(id)
		for i, side := range sidesOf(m.Sided) {
			taken := client.Measure{Of: id, Side: side, Day: today - 4, By: "SAME_MEASURER"}
			if m.HasRange() {
				taken.Value = m.Limits[1]*0.75 - float64(i)
				p.RangeDeg = append(p.RangeDeg, taken)
			}
			taken.Value = 120 - float64(i)
			p.StrengthN = append(p.StrengthN, taken)
			taken.Value = 30 + float64(i)
			p.HoldSeconds = append(p.HoldSeconds, taken)
		}
	}
}

// sparse is a request of somebody who said how old they are and what hurts.
func sparse(*client.Frame) *client.Request {
	return &client.Request{
		Profile: &client.Profile{Ref: "m-0031", AgeYears: ptr(52), Screening: &client.Screening{Lists: []string{"everyone", "knee"}, Day: today,
			Others: "NO"},
			RangeDeg: []client.Measure{{Of: "knee.flexion", Side: client.SideLeft, Value: 110, Day: today, By: "SELF"}}},
		AsOf: today, Lift: "barbell-back-squat",
		Complaints: []client.Complaint{{Region: "knee", Side: client.SideLeft, Intensity: 3, Moment: "BOTTOM", Kind: "ACHE", Onset: "GRADUAL",
			Days: 10}},
	}
}

var profiles = map[string]func(*client.Frame) *client.Request{"full": full, "sparse": sparse}

// perRequest times one reading of each profile.
func perRequest(b *testing.B, read func(*client.Frame, *client.Request)) {
	fr := edition().Frame
	for _, name := range []string{"full", "sparse"} {
		q := profiles[name](fr).Canonical()
		if err := client.Check(fr, q); err != nil {
			b.Fatal(err)
		}
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				read(fr, q)
			}
		})
	}
}

func BenchmarkCheck(b *testing.B) {
	perRequest(b, func(fr *client.Frame, q *client.Request) { _ = client.Check(fr, q) })
}

func BenchmarkDerive(b *testing.B) {
	perRequest(b, func(fr *client.Frame, q *client.Request) { client.Derive(fr, q) })
}

// BenchmarkDigest is of requests in their canonical form.
func BenchmarkDigest(b *testing.B) {
	perRequest(b, func(_ *client.Frame, q *client.Request) { q.Digest() })
}

// BenchmarkCanonical puts lists in order that are in the opposite one; next to it, lists that are in order.
func BenchmarkCanonical(b *testing.B) {
	in := full(edition().Frame).Canonical()
	turned := full(edition().Frame).Canonical()
	for _, list := range lists(turned) {
		swap := reflect.Swapper(list)
		for i, j := 0, reflect.ValueOf(list).Len()-1; i < j; i, j = i+1, j-1 {
			swap(i, j)
		}
	}
	for name, q := range map[string]*client.Request{"in order": in, "turned": turned} {
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				q.Canonical()
			}
		})
	}
}
