package selection

import (
	"cmp"
	"slices"
	"strings"

	"drillwright/catalog"
	"drillwright/rules"
	"drillwright/rules/client"
)

// Screen answers whether the answers give a reason to see someone first, and what may be trained. Errors: *client.Invalid,
// client.ErrAbandoned.
func Screen(e *rules.Edition, q *client.Request) (*ScreenAnswer, error) {
	a, err := ask(e, q, nil, "SCREEN")
	if err != nil {
		return nil, err
	}
	defer a.done()
	a.presumed()
	a.head.TellFirst = a.tellFirst(nil, nil, func() []*catalog.Drill { return nil })
	return &ScreenAnswer{a.head}, nil
}

// permission is what screening leaves open. It stands before every verdict.
type permission struct {
	none       bool
	person     string               // rule by which the whole person trains without load; "" when none does
	unloaded   map[string][2]string // region → rule by side
	classes    []*rules.Rule
	advisories []rules.Advisory // what all of this comes from
}

// screen holds every refer rule against the client. What is merely possible asks its questions: an open
// emergency or same-day question leaves nothing to train, a lesser one leaves its region without load.
func screen(e *rules.Edition, f *client.Facts) (Screening, permission) {
	s, g := Screening{Outcome: NoWarningSigns}, permission{unloaded: map[string][2]string{}}
	raised := slices.Collect(e.Advisories(e.Book.Of(rules.Refer), f))
	index := func(r rules.Advisory) int { return e.Catalogue.Vocabulary.Index("region", region(r)) }
	slices.SortStableFunc(raised, func(a, b rules.Advisory) int {
		return cmp.Or(cmp.Compare(urgency(a.Rule), urgency(b.Rule)), cmp.Compare(a.Rule.ID, b.Rule.ID), cmp.Compare(index(a), index(b)))
	})
	g.advisories = raised
	for _, r := range raised {
		if r.Sure {
			s.refer(r)
		} else {
			s.ask(f, r)
		}
		if r.Sure || !onlyConditions(f, r) {
			g.close(r)
		}
	}
	s.askAgain(f)
	if !conditionsKnown(f) {
		s.add(question(f, "client.conditions", rules.Advisory{Rule: &rules.Rule{Urgency: "before_loading"}}))
	}
	slices.SortStableFunc(s.Questions, func(a, b Question) int { return cmp.Compare(urgencyOf(a), urgencyOf(b)) })
	if s.emergency() { // help comes first, whatever else is open
		s.Questions = nil
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

// emergency is whether a referral calls for help at once.
func (s *Screening) emergency() bool {
	return len(s.Referrals) > 0 && s.Referrals[0].Urgency == "EMERGENCY" // they stand in order of urgency
}

func urgencyOf(q Question) int { return slices.Index(rules.Urgencies, strings.ToLower(q.Urgency)) }

// askAgain asks what a yes that is settled by being told leaves open, and in the words of the contradiction what a no leaves open.
func (s *Screening) askAgain(f *client.Facts) {
	for q := range f.Untold {
		reported := q.SettledBy.Told
		if len(q.SettledBy.Conditions) > 0 {
			reported = []string{"conditions"}
		}
		for _, part := range reported {
			s.add(Question{ID: parts[part].field, Asks: parts[part].asks, Urgency: strings.ToUpper(q.Urgency), Region: q.Region})
		}
	}
	for q, asks := range f.Contradicted {
		s.Questions = slices.DeleteFunc(s.Questions, func(had Question) bool { return had.ID == q.ID })
		s.add(Question{ID: q.ID, Asks: asks, Urgency: strings.ToUpper(q.Urgency), Region: q.Region, Contradicted: true})
	}
}

func urgency(r *rules.Rule) int { return slices.Index(rules.Urgencies, r.Urgency) }

// refer notes a referral once; one that holds on both sides alike names none.
func (s *Screening) refer(r rules.Advisory) {
	if r.Rule.Scope != "region" {
		r.Reason.Side = ""
	}
	if at := slices.IndexFunc(s.Referrals, func(have Referral) bool {
		return have.Rule == r.Rule.ID &&
			have.Words == r.Reason.Words
	}); at >= 0 {
		s.Referrals[at].Side = ""
		return
	}
	s.Referrals = append(s.Referrals, Referral{Rule: r.Rule.ID, Urgency: strings.ToUpper(r.Rule.Urgency), Scope: strings.ToUpper(r.Rule.Scope),
		Region: region(r), Side: r.Reason.Side, Words: r.Reason.Words, Source: r.Rule.Source.Text})
}

// region is the region a referral is about; "" for the whole person.
func region(r rules.Advisory) string {
	if r.Rule.Scope != "region" {
		return ""
	}
	if r.Rule.Region != "" {
		return r.Rule.Region
	}
	return r.Reason.Member
}

// parts of a request that say more than a yes or a no, and how they are asked for.
var parts = map[string]struct{ field, asks string }{
	"age":            {"profile.age_years", "How old is the client?"},
	"blood_pressure": {"profile.blood_pressure", "What is the blood pressure after five minutes' sitting?"},
	"complaint":      {"complaints", "How does it feel, how did it begin, gradually, suddenly or with an injury, and how many days ago?"},
	"conditions":     {"profile.conditions", "Which conditions, on which side, told by whom; of a bone, in which region and since when?"},
	"guardian":       {"profile.guardian_present", "Is a guardian present today?"},
	"medicines":      {"profile.medicines", "Which classes of medicine?"},
	"pain": {"profile.pain", "Score what hurts this week: at rest, at its worst, the day after, the hours it takes to settle, " +
		"whether it wakes at night."},
	"pregnancy": {"profile.pregnancy", "How many weeks, and what have midwife or doctor agreed to?"},
	"surgeries": {"profile.surgeries", "Which operations or dislocations, in which region, on which side and when, " +
		"and has there been full training since?"},
}

// settles names, for facts that no question of their own settles, the part to send, and the question whose no would do.
var settles = []struct{ prefix, part, question string }{
	{"client.surgery", "surgeries", "surgery_or_dislocation"},
	{"client.trained_since_surgery.", "surgeries", ""},
	{"client.operation", "surgeries", "surgery_or_dislocation"},
	{"client.medicines", "medicines", "takes_medicine"},
	{"client.pregnancy.", "pregnancy", "pregnant_or_recent_birth"},
	{"client.blood_pressure.", "blood_pressure", "high_blood_pressure"},
	{"client.age_years", "age", ""},
	{"client.guardian_present", "guardian", ""},
	{"client.irritability.", "pain", ""},
	{"client.pain.", "pain", ""},
	{"client.healing_bone.", "conditions", "known_condition"},
	{"client.condition", "conditions", "known_condition"},
	{"request.complaint.", "complaint", ""},
	{"client.in_question.", "complaint", ""},
}

// question is what to ask to settle a fact.
func question(f *client.Facts, path string, r rules.Advisory) Question {
	id, send := strings.TrimPrefix(path, "client.answers."), Question{}
	for _, s := range settles {
		if strings.HasPrefix(path, s.prefix) {
			part := parts[s.part]
			id, send = s.question, Question{ID: part.field, Asks: part.asks, Urgency: strings.ToUpper(r.Rule.Urgency), Region: region(r)}
			break
		}
	}
	known := f.Frame.Question(id)
	switch {
	case known != nil && (send.ID == "" || !f.Affirmed(id)):
		return Question{ID: known.ID, Asks: known.Asks, Urgency: strings.ToUpper(known.Urgency), Region: known.Region}
	case send.ID != "":
		return send
	}
	return Question{ID: path, Asks: r.Reason.Words, Urgency: strings.ToUpper(r.Rule.Urgency), Region: region(r)}
}

// ask notes the open questions of a referral that isn't ruled out; a fact that no question asks for is asked in the rule's words.
func (s *Screening) ask(f *client.Facts, r rules.Advisory) {
	for _, path := range r.Unsettled {
		s.add(question(f, path, r))
	}
}

// onlyConditions is true of a referral, not of the same day, that stays open because nobody asked about conditions. That asks
// its question; the drills that no condition bars stay. Who says that there is one, and not which, was asked.
func onlyConditions(f *client.Facts, r rules.Advisory) bool {
	if r.Rule.Urgency == "emergency" || r.Rule.Urgency == "today" || len(r.Unsettled) == 0 || f.Open("known_condition") {
		return false
	}
	return !slices.ContainsFunc(r.Unsettled, func(path string) bool {
		return !strings.HasPrefix(path, "client.conditions") && !strings.HasPrefix(path, "client.healing_bone.")
	})
}

// add asks a question once; one that several regions ask is of none of them.
func (s *Screening) add(q Question) {
	at := slices.IndexFunc(s.Questions, func(have Question) bool { return have.ID == q.ID })
	switch {
	case at < 0:
		s.Questions = append(s.Questions, q)
	case s.Questions[at].Region != q.Region:
		s.Questions[at].Region = ""
	}
}

// close takes away what a referral, sure or merely possible, leaves no room for.
func (g *permission) close(r rules.Advisory) {
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
func (g *permission) list(v *catalog.Vocabulary) []Unloaded {
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
func (g *permission) closes() bool {
	return g.none || g.person != "" || len(g.unloaded) > 0 || len(g.classes) > 0
}

// allows is whether screening leaves a drill on a side open; else it names the rule.
func (g *permission) allows(e *rules.Edition, d *catalog.Drill, side int) (string, bool) {
	if g.none {
		return "", false
	}
	if g.person != "" && d.Loads {
		return g.person, false
	}
	for i := range d.Rows {
		bodySide := side
		if i == 1 {
			bodySide = 1 - side
		}
		for region := range d.Rows[i].Asks() {
			if why := g.unloaded[region][bodySide]; why != "" && e.Frame.Ladder(region).Loads(&d.Rows[i], region) {
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
