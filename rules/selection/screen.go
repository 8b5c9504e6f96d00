package selection

import (
	"cmp"
	"slices"
	"strings"

	"drillwright/catalog"
	"drillwright/rules"
	"drillwright/rules/client"
)

// Screen answers whether the answers give a reason to see someone first, and what may be trained. Errors: *client.Invalid, *UnknownID, client.ErrAbandoned.
func Screen(e *rules.Edition, q *client.Request) (*ScreenAnswer, error) {
	a, err := ask(e, q, nil, "SCREEN")
	if err != nil {
		return nil, err
	}
	defer a.done()
	a.presumed()
	return &ScreenAnswer{a.head}, nil
}

// gate is what screening leaves open. It stands before every verdict.
type gate struct {
	none     bool
	person   string               // rule by which the whole person trains without load; "" when none does
	unloaded map[string][2]string // region → rule by side
	classes  []*rules.Rule
	raised   []rules.Raised // what all of this comes from
}

// screen holds every refer rule against the client. What is merely possible asks its questions: an open
// emergency or same-day question leaves nothing to train, a lesser one leaves its region without load.
func screen(e *rules.Edition, f *client.Facts) (Screening, gate) {
	s, g := Screening{Outcome: NoWarningSigns}, gate{unloaded: map[string][2]string{}}
	raised := slices.Collect(e.Raise(e.Book.Of(rules.Refer), f))
	slices.SortStableFunc(raised, func(a, b rules.Raised) int {
		return cmp.Or(cmp.Compare(urgency(a.Rule), urgency(b.Rule)), cmp.Compare(a.Rule.ID, b.Rule.ID))
	})
	g.raised = raised
	for _, r := range raised {
		if r.Sure {
			s.refer(r)
		} else {
			s.ask(f, r)
		}
		if r.Sure || !onlyConditions(r) {
			g.close(r)
		}
	}
	if !conditionsKnown(f) {
		s.add(question(f, "client.conditions", rules.Raised{Rule: &rules.Rule{Urgency: "before_loading"}}))
	}
	s.NoDrills = g.none
	s.Unloaded = g.list(e.Catalogue.Vocabulary)
	switch {
	case len(s.Referrals) > 0:
		s.Outcome = SeeSomeone
	case len(s.Questions) > 0:
		s.Outcome = QuestionsFirst
	}
	return s, g
}

func urgency(r *rules.Rule) int { return slices.Index(rules.Urgencies, r.Urgency) }

// refer notes a referral once; one that holds on both sides alike names none.
func (s *Screening) refer(r rules.Raised) {
	if r.Rule.Scope != "region" {
		r.Reason.Side = ""
	}
	if at := slices.IndexFunc(s.Referrals, func(have Referral) bool { return have.Rule == r.Rule.ID && have.Words == r.Reason.Words }); at >= 0 {
		s.Referrals[at].Side = ""
		return
	}
	s.Referrals = append(s.Referrals, Referral{Rule: r.Rule.ID, Urgency: strings.ToUpper(r.Rule.Urgency), Scope: strings.ToUpper(r.Rule.Scope),
		Region: region(r), Side: r.Reason.Side, Words: r.Reason.Words, Source: r.Rule.Source.Text()})
}

// region is the region a referral is about; "" for the whole person.
func region(r rules.Raised) string {
	if r.Rule.Scope != "region" {
		return ""
	}
	if r.Rule.Region != "" {
		return r.Rule.Region
	}
	return r.Reason.Member
}

// settles names, for facts that a question of the screening list can settle, the question, and what to send when
// its answer is yes; for others, what to send. The field is the profile's.
var settles = []struct{ prefix, question, field, details string }{
	{"client.surgery.", "surgery_or_dislocation", "profile.surgeries", "Which operations or dislocations, on which side and when?"},
	{"client.medicines", "takes_medicine", "profile.medicines", "Which classes of medicine?"},
	{"client.pregnancy.", "pregnant_or_recent_birth", "profile.pregnancy", "How many weeks, and what have midwife or doctor agreed to?"},
	{"client.blood_pressure.", "high_blood_pressure", "profile.blood_pressure", "What is the blood pressure after five minutes' sitting?"},
	{"client.age_years", "", "profile.age_years", "How old is the client?"},
	{"client.guardian_present", "", "profile.guardian_present", "Is a guardian present today?"},
	{"client.irritability.", "", "profile.pain", painAsked},
	{"client.pain.", "", "profile.pain", painAsked},
	{"client.conditions", "known_condition", "profile.conditions", "Which conditions, on which side, told by whom?"},
}

const painAsked = "Score what hurts this week: at rest, at its worst, the day after, the hours it takes to settle, whether it wakes at night."

// question is what to ask to settle a fact.
func question(f *client.Facts, path string, r rules.Raised) Question {
	id, send := strings.TrimPrefix(path, "client.answers."), Question{}
	for _, s := range settles {
		if strings.HasPrefix(path, s.prefix) {
			id, send = s.question, Question{ID: s.field, Asks: s.details, Urgency: strings.ToUpper(r.Rule.Urgency), Region: region(r)}
		}
	}
	known := f.Frame.Question(id)
	switch {
	case known != nil && (send.ID == "" || !f.Truth("client.answers."+id, 0).Sure):
		return Question{ID: known.ID, Asks: known.Asks, Urgency: strings.ToUpper(known.Urgency), Region: known.Region}
	case send.ID != "":
		return send
	}
	return Question{ID: path, Asks: r.Reason.Words, Urgency: strings.ToUpper(r.Rule.Urgency), Region: region(r)}
}

// ask notes the open questions of a referral that isn't ruled out; a fact that no question asks for is asked in the rule's words.
func (s *Screening) ask(f *client.Facts, r rules.Raised) {
	for _, path := range r.Unsettled {
		s.add(question(f, path, r))
	}
}

// onlyConditions is true of a referral that stays open because nobody asked about conditions. That asks its
// question; the drills that no condition bars stay.
func onlyConditions(r rules.Raised) bool {
	return !slices.ContainsFunc(r.Unsettled, func(path string) bool { return !strings.HasPrefix(path, "client.conditions") })
}

func (s *Screening) add(q Question) {
	if !slices.ContainsFunc(s.Questions, func(have Question) bool { return have.ID == q.ID }) {
		s.Questions = append(s.Questions, q)
	}
}

// close takes away what a referral, sure or merely possible, leaves no room for.
func (g *gate) close(r rules.Raised) {
	switch {
	case r.Rule.Urgency == "emergency" || r.Rule.Urgency == "today":
		g.none = true
	case r.Rule.Scope == "person":
		if g.person == "" {
			g.person = r.Rule.ID
		}
	case r.Rule.Scope == "class":
		if !slices.Contains(g.classes, r.Rule) {
			g.classes = append(g.classes, r.Rule)
		}
	default:
		sides := g.unloaded[region(r)]
		for side := range 2 {
			if client.Side(r.Reason.Side).On(side) && sides[side] == "" {
				sides[side] = r.Rule.ID
			}
		}
		g.unloaded[region(r)] = sides
	}
}

// list names what may only be moved without load, in the order of the vocabulary.
func (g *gate) list(v *catalog.Vocabulary) []Unloaded {
	var out []Unloaded
	if g.person != "" {
		out = append(out, Unloaded{Why: g.person})
	}
	for _, id := range v.IDs("region") {
		sides := g.unloaded[id]
		switch {
		case sides[0] == "" && sides[1] == "":
		case sides[0] == sides[1] || !v.Sided(id):
			out = append(out, Unloaded{Region: id, Why: cmp.Or(sides[0], sides[1])})
		default:
			for side, why := range sides {
				if why != "" {
					out = append(out, Unloaded{Region: id, Side: string(client.Sides[side]), Why: why})
				}
			}
		}
	}
	return out
}

// closes is false when screening leaves everything open.
func (g *gate) closes() bool {
	return g.none || g.person != "" || len(g.unloaded) > 0 || len(g.classes) > 0
}

// allows is whether screening leaves a drill on a side open; else it names the rule.
func (g *gate) allows(e *rules.Edition, d *catalog.Drill, side int) (string, bool) {
	if g.none {
		return "", false
	}
	if g.person != "" && d.Loads {
		return g.person, false
	}
	for i, row := range d.Rows {
		bodySide := side
		if i == 1 {
			bodySide = 1 - side
		}
		for _, load := range row.Regions {
			why := g.unloaded[load.Region][bodySide]
			if why != "" && e.Frame.Ladder(load.Region).Place(load.Rung) > 0 {
				return why, false
			}
		}
	}
	for _, r := range g.classes {
		if e.ClassHolds(r, d) {
			return r.ID, false
		}
	}
	return "", true
}
