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
				gone, region := !slices.Contains(w.Profile.RangeDeg, m), e.Frame.Vocabulary.Motion(m.Of).Region
				return gone && !f.InQuestion(region, m.Side)
			})
		}},
	{"a tendon that was named is stirred up only by night pain or by the hours to settle, and trains on under the pain rule",
		exception{whole: true},
		func(e *rules.Edition, name string, _, w *client.Request) bool {
			return strings.Contains(name, "condition") && slices.ContainsFunc(w.Profile.Conditions, func(k client.Condition) bool {
				return e.Frame.Vocabulary.Conditions[e.Frame.Vocabulary.Index("condition", k.ID)].Tendon
			})
		}},
	{"an entry settles the YES, or the doubt, that asks for it", exception{whole: true},
		func(e *rules.Edition, name string, q, _ *client.Request) bool {
			conditions := []string{"known_condition", "heart_or_circulation", "metabolic_or_kidney", "surgery_or_dislocation", "high_blood_pressure",
				"belly_ridge_or_scar"}
			settled := map[string][]string{"a further condition": conditions, "a condition that is past is there now": conditions,
				"a further operation": {"surgery_or_dislocation", "operation_last_12_weeks"}, "a further medicine": {"takes_medicine"}}[name]
			return slices.ContainsFunc(q.Profile.Answers, func(a client.Answer) bool { return a.Is != "NO" && slices.Contains(settled, a.Question) })
		}},
	{"what a clinician has explained sends nobody on for being numb",
		exception{whole: true},
		func(e *rules.Edition, name string, _, w *client.Request) bool {
			v := e.Frame.Vocabulary
			return strings.Contains(name, "condition") && slices.ContainsFunc(w.Profile.Conditions, func(k client.Condition) bool {
				return k.ToldBy == "CLINICIAN" && len(v.Conditions[v.Index("condition", k.ID)].ExplainsNerve) > 0
			})
		}},
	{"felt during a lift that doesn't load it, it may be the heart; felt after it, or always, it isn't of the lift",
		exception{whole: true},
		func(e *rules.Edition, name string, q, _ *client.Request) bool {
			lift := e.Catalogue.Drill(q.Lift)
			return name == "a worse moment, of a lift" && lift != nil && slices.ContainsFunc(q.Complaints, func(c client.Complaint) bool {
				return !slices.ContainsFunc(lift.Rows, func(row catalog.Row) bool {
					load := row.Load(c.Region)
					return load != nil && load.Role != "brace" && e.Frame.Ladder(c.Region).Index(load.Rung) > 0
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
			return strings.HasPrefix(name, "full training") && slices.ContainsFunc(w.Profile.Clearances,
				func(c client.Clearance) bool { return c.Surgery })
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
	{"pain of 7 at rest that began suddenly or with an injury is a matter of today when it was scored; unscored it is asked for, and its " +
		"region closed",
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
	{"of a mild complaint the scores that nobody told are presumed, and listed",
		exception{whole: true},
		func(e *rules.Edition, name string, q, w *client.Request) bool {
			f := client.Derive(e.Frame, w)
			defer f.Done()
			silent := strings.HasPrefix(name, "scores dropped") || name == "a further complaint"
			return silent && slices.ContainsFunc(f.Presumptions, func(p *client.Presumption) bool {
				return strings.HasPrefix(p.Path, "client.pain.")
			})
		}},
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
				if w == nil || contradicted(e, q) || contradicted(e, w) {
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

// contradicted is whether what a step added says otherwise what is there: such a client gets no answer.
func contradicted(e *rules.Edition, w *client.Request) bool {
	err := client.Check(e.Frame, w)
	return err != nil && strings.Contains(err.Error(), " has another ")
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
