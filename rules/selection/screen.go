package selection

import (
	"cmp"
	"slices"
	"strings"

	"drillwright/catalog"
	"drillwright/rules"
	"drillwright/rules/client"
)

// Screen answers whether the answers give a reason to see someone first, and what may be trained.
func Screen(e *rules.Edition, q *client.Request) (*ScreenAnswer, error) {
	a, err := ask(e, q)
	if err != nil {
		return nil, err
	}
	return &ScreenAnswer{a.head}, nil
}

// gate is what screening leaves open. It stands before every verdict.
type gate struct {
	none     bool
	person   string               // rule by which the whole person trains without load; "" when none does
	unloaded map[string][2]string // region → rule by side
	classes  []*rules.Rule
}

// screen holds every refer rule against the client. What is merely possible asks its questions: an open
// emergency or same-day question leaves nothing to train, a lesser one leaves its region without load.
func screen(e *rules.Edition, f *client.Facts) (Screening, gate) {
	s, g := Screening{Outcome: NoWarningSigns}, gate{unloaded: map[string][2]string{}}
	raised := e.Raise(e.Book.Rules, rules.Refer, f)
	slices.SortStableFunc(raised, func(a, b rules.Raised) int {
		return cmp.Or(cmp.Compare(urgency(a.Rule), urgency(b.Rule)), cmp.Compare(a.Rule.ID, b.Rule.ID))
	})
	for _, r := range raised {
		if r.Sure {
			s.refer(r)
		} else {
			s.ask(e.Frame, r)
		}
		g.close(r)
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

func (s *Screening) refer(r rules.Raised) {
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

// ask notes the open questions of a referral that isn't ruled out; a fact that no question asks for is asked in the rule's words.
func (s *Screening) ask(fr *client.Frame, r rules.Raised) {
	for _, path := range r.Unsettled {
		q := Question{ID: path, Asks: r.Reason.Words, Urgency: strings.ToUpper(r.Rule.Urgency), Region: region(r)}
		if known := fr.Question(strings.TrimPrefix(path, "client.answers.")); known != nil {
			q = Question{ID: known.ID, Asks: known.Asks, Urgency: strings.ToUpper(known.Urgency), Region: known.Region}
		}
		if !slices.ContainsFunc(s.Questions, func(have Question) bool { return have.ID == q.ID }) {
			s.Questions = append(s.Questions, q)
		}
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
