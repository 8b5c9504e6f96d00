package text

import (
	"strings"

	pb "drillwright/proto/drillwright/v1"
)

// Explain writes why a drill may or may not be done, side by side. Sides on which the same is said share a part.
func (p *Page) Explain(r *pb.ExplainResponse) {
	h := r.GetHeader()
	p.heading(r.GetDrill().GetName()+": "+verdicts[r.GetVerdict()], h)
	p.screening(h)
	sides := r.GetSides()
	for len(sides) > 0 {
		same := 1
		for same < len(sides) && p.sideBody(sides[same]) == p.sideBody(sides[0]) {
			same++
		}
		p.section(sideHeading(sides[:same]))
		p.out.WriteString(p.sideBody(sides[0]))
		sides = sides[same:]
	}
	p.closing(h)
}

func sideHeading(sides []*pb.SideExplained) string {
	var names []string
	for _, s := range sides {
		names = append(names, sideWord(s.GetSide()))
	}
	head := sentence(list(names) + ": " + verdicts[sides[0].GetVerdict()])
	return strings.TrimSuffix(head, ".")
}

// sideBody is what is said of one side, on a page of its own so that two sides can be compared.
func (p *Page) sideBody(s *pb.SideExplained) string {
	one := &Page{Colour: p.Colour}
	if len(s.GetRules()) == 0 {
		one.line(2, "No rule speaks against it.")
	}
	for _, o := range s.GetRules() {
		one.outcome(o)
	}
	if d := s.GetDose(); d != nil {
		one.field(2, "Dose", sentences(dose(d), d.GetLoadWords(), d.GetNote()))
	}
	return one.String()
}

func (p *Page) outcome(o *pb.RuleOutcome) {
	r := o.GetReason()
	p.item(2, "-", outcomeHead(o)+": "+cited(r.GetWords(), r.GetSource()))
	p.quiet(4, "rule "+r.GetRule()+figures(r.GetFacts()))
	if o.GetVerdict() != pb.Verdict_NOT_TODAY && o.GetVerdict() != pb.Verdict_TEST_FIRST {
		return
	}
	for _, c := range o.GetClauses() {
		if c.GetHolds() {
			p.item(4, "·", clause(c))
		}
	}
	if o.GetOpens() != "" {
		p.line(4, sentence(o.GetOpens()))
	}
}

func outcomeHead(o *pb.RuleOutcome) string {
	r := o.GetReason()
	switch {
	case o.GetVerdict() == pb.Verdict_NOT_TODAY:
		return "Not today, because"
	case o.GetVerdict() == pb.Verdict_TEST_FIRST:
		return "Needs a test first"
	case r.GetEffect() == pb.Effect_FAVOUR && r.GetPoints() < 0:
		return "Against it (" + signed(r.GetPoints()) + ")"
	case r.GetEffect() == pb.Effect_FAVOUR:
		return "For it (" + signed(r.GetPoints()) + ")"
	case r.GetEffect() == pb.Effect_ADJUST || r.GetEffect() == pb.Effect_DOSE:
		return "Dose"
	case r.GetStanding() == pb.ReasonStanding_NOT_RULED_OUT:
		return "Take care, not ruled out"
	default:
		return "Take care"
	}
}

func clause(c *pb.Clause) string {
	words := c.GetText()
	if !c.GetKnown() {
		words += " (not known)"
	}
	if c.GetFlip() != "" {
		words += ": " + c.GetFlip()
	}
	return words
}

// figures lists what a rule read of the client: "; left range shoulder flexion 135 deg".
func figures(facts []*pb.Fact) string {
	var words strings.Builder
	for _, f := range facts {
		words.WriteString("; " + strings.TrimSpace(sideWord(f.GetSide())+" "+plain(strings.TrimPrefix(f.GetPath(), "client."))))
		switch f.GetStatus() {
		case pb.FactStatus_UNKNOWN:
			words.WriteString(": " + f.GetWhy())
		case pb.FactStatus_PRESUMED:
			words.WriteString(": " + strings.TrimSpace(plainValue(f)+" (presumed)"))
		default:
			words.WriteString(": " + plainValue(f))
		}
	}
	return words.String()
}

func plainValue(f *pb.Fact) string {
	if f.GetValue() == "" {
		return "none"
	}
	unit := f.GetUnit()
	switch unit {
	case "deg":
		return f.GetValue() + "°"
	case "percent":
		return f.GetValue() + " %"
	}
	return strings.TrimSpace(strings.ReplaceAll(f.GetValue(), "_", " ") + " " + unit)
}
