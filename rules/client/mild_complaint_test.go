package client_test

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"drillwright/rules/client"
)

// mild is somebody of whom a platform knows what it must: the age, the answers, and a mild complaint of the left shoulder in a press.
func mild() *client.Request {
	return &client.Request{AsOf: today, Lift: "barbell-bench-press", Profile: &client.Profile{AgeYears: ptr(38), Sex: "MALE",
		ConditionsTold: true,
		SurgeriesTold:  true, MedicinesTold: true, Screening: &client.Screening{Lists: edition().Frame.ListIDs(), Day: today, Others: "NO"}},
		Complaints: []client.Complaint{{Region: "shoulder", Side: client.SideLeft, Intensity: 3, Moment: "BOTTOM", Kind: "ACHE", Onset: "GRADUAL",
			Days: 21}}}
}

// of makes it a complaint of another region, in a lift that loads it.
func of(region, lift string) func(*client.Request) {
	return func(q *client.Request) {
		q.Complaints[0].Region, q.Lift = region, lift
		if !edition().Frame.Vocabulary.Sided(region) {
			q.Complaints[0].Side = client.SideNone
		}
	}
}

func both(changes ...func(*client.Request)) func(*client.Request) {
	return func(q *client.Request) {
		for _, change := range changes {
			change(q)
		}
	}
}

func complains(change func(*client.Complaint)) func(*client.Request) {
	return func(q *client.Request) { change(&q.Complaints[0]) }
}

func tells(change func(*client.Profile)) func(*client.Request) {
	return func(q *client.Request) { change(q.Profile) }
}

func named(id string, side client.Side) func(*client.Request) {
	return tells(func(p *client.Profile) {
		p.Conditions = append(p.Conditions, client.Condition{ID: id, Side: side, ToldBy: "CLIENT", Status: "NOW", Since: today - 300})
	})
}

func takes(class string, days int) func(*client.Request) {
	return tells(func(p *client.Profile) {
		m := client.Medicine{Class: class}
		if days >= 0 {
			m.Since = today - client.Day(days)
		}
		p.Medicines = append(p.Medicines, m)
	})
}

func further(region string, side client.Side) func(*client.Request) {
	return func(q *client.Request) {
		c := q.Complaints[0]
		c.Region, c.Side = region, side
		q.Complaints = append(q.Complaints, c)
	}
}

func logged(drill string, days int, pain, next float64) func(*client.Request) {
	return tells(func(p *client.Profile) {
		p.Log = append(p.Log, client.LoggedSet{Drill: drill, Day: today - client.Day(days), Side: client.SideBoth, Reps: 8, LoadKg: 20,
			Pain: &pain, NextDay: &next})
	})
}

func scoredAgo(days int, change func(*client.Pain)) func(*client.Request) {
	return tells(func(p *client.Profile) {
		s := client.Pain{Region: "shoulder", Side: client.SideLeft, Day: today - client.Day(days)}
		change(&s)
		p.Pain = append(p.Pain, s)
	})
}

// presumes is whether anything is presumed of the first complaint: its scores, or a rung by the lift.
func presumes(q *client.Request) bool {
	f := client.Derive(edition().Frame, q)
	defer f.Done()
	region := q.Complaints[0].Region
	some := false
	for side := range 2 {
		for _, part := range []string{"rest", "worst", "settle_hours", "wakes_at_night"} {
			complained := q.Complaints[0].Side.On(side)
			some = some || complained && f.StatusOf("client.pain."+region+"."+part, side) == client.Presumed
		}
		some = some || f.Truth("client.rung_by_lift."+region, side).Possible
	}
	return some
}

// TestStillMild: at the edges of what is allowed something is presumed.
func TestStillMild(t *testing.T) {
	for name, change := range map[string]func(*client.Request){
		"as it is":              func(*client.Request) {},
		"four of ten":           complains(func(c *client.Complaint) { c.Intensity = 4 }),
		"a neck at three":       of("neck", "barbell-overhead-press"),
		"sudden, six weeks ago": complains(func(c *client.Complaint) { c.Onset, c.Days = "SUDDEN", 42 }),
		"on the third day":      complains(func(c *client.Complaint) { c.Days = 3 }),
		"for half a year":       complains(func(c *client.Complaint) { c.Days = 180 }),
		"a pinch when racking":  complains(func(c *client.Complaint) { c.Kind, c.Moment = "PINCH", "RACKING" }),
		"after, and settling told": both(complains(func(c *client.Complaint) { c.Moment = "AFTER" }),
			scoredAgo(1, func(p *client.Pain) { p.SettleHours = ptr(6.0) })),
		"eighteen":                   tells(func(p *client.Profile) { p.AgeYears = ptr(18) }),
		"no painkiller told":         tells(func(p *client.Profile) { p.PainkillerToday = ptr(false) }),
		"an injection long ago":      takes("joint_steroid_injection", 84),
		"a tendon that was named":    named("rotator_cuff_tendinopathy", client.SideLeft),
		"frail bones, of a shoulder": named("osteoporosis", client.SideNone),
		"a second region":            further("knee", client.SideLeft),
		"a set within the ceiling":   logged("barbell-bench-press", 3, 3, 1),
		"a bad set long before":      logged("barbell-bench-press", 40, 6, 1),
		"a bad set of the legs":      logged("leg-extension-full", 3, 6, 5),
		"an old score that is calm":  scoredAgo(20, func(p *client.Pain) { p.Rest, p.Worst = ptr(1.0), ptr(4.0) }),
		"six weeks after a birth":    tells(func(p *client.Profile) { p.Sex, p.Pregnancy = "FEMALE", &client.Pregnancy{PostnatalWeeks: ptr(6)} }),
	} {
		q := mild()
		change(q)
		require.NoError(t, client.Check(edition().Frame, q), name)
		require.True(t, presumes(q), name)
	}
}

// TestMildIsAllOfIt: without any one condition of mild nothing is presumed.
func TestMildIsAllOfIt(t *testing.T) {
	v, allowed := edition().Frame.Vocabulary, edition().Frame.Measures.Mild
	cases := map[string]func(*client.Request){
		"five of ten":             complains(func(c *client.Complaint) { c.Intensity = 5 }),
		"a neck at four":          both(of("neck", "barbell-overhead-press"), complains(func(c *client.Complaint) { c.Intensity = 4 })),
		"sudden, six weeks short": complains(func(c *client.Complaint) { c.Onset, c.Days = "SUDDEN", 41 }),
		"an injury":               complains(func(c *client.Complaint) { c.Onset, c.Days = "INJURY", 200 }),
		"onset not told":          complains(func(c *client.Complaint) { c.Onset = "" }),
		"days not told":           complains(func(c *client.Complaint) { c.Days = 0 }),
		"on the second day":       complains(func(c *client.Complaint) { c.Days = 2 }),
		"kind not told":           complains(func(c *client.Complaint) { c.Kind = "" }),
		"moment not told":         complains(func(c *client.Complaint) { c.Moment = "" }),
		"after, settling not told": both(complains(func(c *client.Complaint) { c.Moment = "AFTER" }),
			scoredAgo(1, func(p *client.Pain) { p.Rest = ptr(0.0) })),
		"age not told":          tells(func(p *client.Profile) { p.AgeYears = nil }),
		"seventeen":             tells(func(p *client.Profile) { p.AgeYears = ptr(17) }),
		"a painkiller":          tells(func(p *client.Profile) { p.PainkillerToday = ptr(true) }),
		"an injection":          takes("joint_steroid_injection", 83),
		"an injection, undated": takes("joint_steroid_injection", -1),
		"that antibiotic":       takes("fluoroquinolone", 300),
		"steroid tablets":       takes("long_term_oral_steroid", 300),
		"an operation": tells(func(p *client.Profile) {
			p.Surgeries = []client.Surgery{{ID: "other_operation", Region: "shoulder", Side: client.SideLeft, Day: today - 3000,
				FullTrainingSince: true}}
		}),
		"both sides":         further("shoulder", client.SideRight),
		"both sides at once": complains(func(c *client.Complaint) { c.Side = client.SideBoth }),
		"a side not told":    complains(func(c *client.Complaint) { c.Side = client.SideNone }),
		"the other side scored": tells(func(p *client.Profile) {
			p.Pain = []client.Pain{{Region: "shoulder", Side: client.SideRight, Worst: ptr(2.0), Day: today}}
		}),
		"three regions":            both(further("knee", client.SideLeft), further("hip", client.SideLeft)),
		"a neck beside it":         further("neck", client.SideNone),
		"a back and a leg":         both(of("low_back", "barbell-back-squat"), further("knee", client.SideLeft)),
		"an upper back and a leg":  both(of("thoracic", "barbell-bent-over-row"), further("knee", client.SideLeft)),
		"a set above the ceiling":  logged("barbell-bench-press", 3, 4, 1),
		"a set felt the next day":  logged("barbell-bench-press", 3, 1, 2),
		"a bad set last week":      both(complains(func(c *client.Complaint) { c.Days = 5 }), logged("barbell-floor-press", 10, 6, 1)),
		"an old score at rest":     scoredAgo(20, func(p *client.Pain) { p.Rest = ptr(4.0) }),
		"an old score at worst":    scoredAgo(20, func(p *client.Pain) { p.Worst = ptr(7.0) }),
		"an old score of settling": scoredAgo(20, func(p *client.Pain) { p.SettleHours = ptr(30.0) }),
		"woken long ago":           scoredAgo(20, func(p *client.Pain) { p.WakesAtNight = ptr(true) }),
		"frail bones, of a back":   both(of("low_back", "barbell-back-squat"), named("osteoporosis", client.SideNone)),
		"pregnant, of a hip": both(of("hip", "barbell-back-squat"), tells(func(p *client.Profile) {
			p.Sex, p.Pregnancy = "FEMALE", &client.Pregnancy{Weeks: ptr(20)}
		})),
		"a birth, of a back": both(of("low_back", "barbell-back-squat"), tells(func(p *client.Profile) {
			p.Sex, p.Pregnancy = "FEMALE", &client.Pregnancy{PostnatalWeeks: ptr(51)}
		})),
		"loose joints":         tells(func(p *client.Profile) { p.Beighton = ptr(6) }),
		"loose joints, a knee": both(of("knee", "barbell-back-squat"), tells(func(p *client.Profile) { p.Beighton = ptr(6) })),
		"questions of another day": tells(func(p *client.Profile) {
			s := *p.Screening
			s.Day--
			p.Screening = &s
		}),
	}
	for _, k := range v.PainKinds {
		if !slices.Contains(allowed.Kinds, k.ID) {
			cases["it feels "+k.ID] = complains(func(c *client.Complaint) { c.Kind = k.ID })
		}
	}
	for _, moment := range client.ComplaintMoments {
		if !slices.Contains(allowed.Moments, moment) {
			cases["it hurts "+moment] = complains(func(c *client.Complaint) { c.Moment = moment })
		}
	}
	for _, k := range v.Conditions {
		if here := len(k.Regions) == 0 || slices.Contains(k.Regions, "shoulder"); here && !slices.Contains(allowed.Conditions, k.ID) {
			cases["with "+k.ID] = both(named(k.ID, client.SideNone), tells(func(p *client.Profile) {
				if k.Bone {
					p.Conditions[len(p.Conditions)-1].Region = "shoulder"
				}
			}))
		}
	}
	for _, l := range edition().Frame.Lists {
		for _, question := range l.Questions {
			if l.Region != "shoulder" && !slices.Contains(allowed.Lists, l.ID) {
				continue
			}
			for _, is := range []string{"YES", "UNSURE"} {
				cases[question.ID+" "+is] = tells(func(p *client.Profile) {
					p.Answers = []client.Answer{{Question: question.ID, Is: is, Day: today}}
				})
			}
			cases[question.ID+" long ago"] = tells(func(p *client.Profile) {
				p.Answers = []client.Answer{{Question: question.ID, Is: "NO", Day: today - 60}}
			})
		}
		if l.Region == "shoulder" || slices.Contains(allowed.Lists, l.ID) {
			cases[l.ID+" not asked"] = tells(func(p *client.Profile) {
				s := *p.Screening
				s.Lists = slices.DeleteFunc(slices.Clone(s.Lists), func(id string) bool { return id == l.ID })
				p.Screening = &s
			})
		}
	}
	for name, change := range cases {
		q := mild()
		change(q)
		require.False(t, presumes(q), name)
	}
	t.Logf("%d ways in which a complaint isn't mild", len(cases))
}
