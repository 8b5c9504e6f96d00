package text

import (
	"slices"
	"strings"

	v1 "drillwright/proto/drillwright/v1"
)

// Explain writes why a drill may or may not be done, side by side. Sides on which the same is said share a part.
func (p *Page) Explain(r *v1.ExplainResponse) {
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

func sideHeading(sides []*v1.SideExplained) string {
	var names []string
	for _, s := range sides {
		names = append(names, sideWord(s.GetSide()))
	}
	return capital(enumerated(names) + ": " + verdicts[sides[0].GetVerdict()])
}

// sideBody is what is said of one side, on a page of its own so that two sides can be compared.
func (p *Page) sideBody(s *v1.SideExplained) string {
	one := &Page{Colour: p.Colour}
	if len(s.GetRules()) == 0 {
		one.line(2, "No rule speaks against it.")
	}
	deciding, rest := split(s)
	if s.GetOpens() != "" {
		one.line(2, sentence(s.GetOpens()))
	}
	for _, o := range deciding {
		one.outcome(o)
	}
	if len(rest) > 0 {
		one.line(2, "If it were open, these would count too: "+strings.Join(rest, ", ")+".")
	}
	if d := s.GetDose(); d != nil {
		one.field(2, "Dose", sentences(dose(d), d.GetLoadWords(), d.GetNote()))
	}
	return one.String()
}

// split puts what decides first. On a side that isn't open, points and doses are only named.
func split(s *v1.SideExplained) (deciding []*v1.RuleOutcome, rest []string) {
	for _, o := range s.GetRules() {
		r := o.GetReason()
		aside := r.GetEffect() == v1.Effect_FAVOUR || r.GetEffect() == v1.Effect_ADJUST || r.GetEffect() == v1.Effect_DOSE
		switch {
		case !aside || s.GetVerdict() != v1.Verdict_NOT_TODAY:
			deciding = append(deciding, o)
		case r.GetEffect() == v1.Effect_FAVOUR && r.GetPoints() == 0:
		case r.GetPoints() != 0:
			rest = append(rest, r.GetRule()+" "+signed(r.GetPoints()))
		default:
			rest = append(rest, r.GetRule())
		}
	}
	slices.SortStableFunc(deciding, func(x, y *v1.RuleOutcome) int { return weight(y) - weight(x) })
	return deciding, slices.Compact(rest)
}

func weight(o *v1.RuleOutcome) int {
	switch o.GetVerdict() {
	case v1.Verdict_NOT_TODAY:
		return 2
	case v1.Verdict_TEST_FIRST:
		return 1
	default:
		return 0
	}
}

func (p *Page) outcome(o *v1.RuleOutcome) {
	r := o.GetReason()
	words := r.GetWords()
	if r.GetStanding() == v1.ReasonStanding_NOT_RULED_OUT {
		words = notRuledOut(words)
	}
	p.item(2, "-", outcomeHead(o)+": "+cited(words, r.GetSource()))
	p.quiet(4, "rule "+r.GetRule()+figures(r.GetFacts()))
	if weight(o) == 0 {
		return
	}
	for _, c := range telling(o.GetClauses()) {
		p.item(4, "·", clause(c, o.GetOpens()))
	}
	if o.GetOpens() != "" {
		p.line(4, sentence(o.GetOpens()))
	}
}

// telling are the clauses that something could turn; where nothing could, all that hold.
func telling(list []*v1.Clause) []*v1.Clause {
	var holding, turning []*v1.Clause
	for _, c := range list {
		if c.GetHolds() {
			holding = append(holding, c)
		}
		if c.GetHolds() && (c.GetFlip() != "" || !c.GetKnown()) {
			turning = append(turning, c)
		}
	}
	if len(turning) > 0 {
		return turning
	}
	return holding
}

func outcomeHead(o *v1.RuleOutcome) string {
	r := o.GetReason()
	switch {
	case o.GetVerdict() == v1.Verdict_NOT_TODAY && r.GetStanding() == v1.ReasonStanding_UNTESTED:
		return "Not today"
	case o.GetVerdict() == v1.Verdict_NOT_TODAY:
		return "Not today, because"
	case o.GetVerdict() == v1.Verdict_TEST_FIRST:
		return "Needs a test first"
	case r.GetEffect() == v1.Effect_FAVOUR && r.GetPoints() < 0:
		return "Against it (" + signed(r.GetPoints()) + ")"
	case r.GetEffect() == v1.Effect_FAVOUR && r.GetPoints() == 0:
		return "Doesn't count"
	case r.GetEffect() == v1.Effect_FAVOUR:
		return "For it (" + signed(r.GetPoints()) + ")"
	case r.GetEffect() == v1.Effect_ADJUST || r.GetEffect() == v1.Effect_DOSE:
		return "Dose"
	default:
		return "Take care"
	}
}

// clause is a clause as its author wrote it, and what would turn it unless that is said below.
func clause(c *v1.Clause, opens string) string {
	words := c.GetText()
	if !c.GetKnown() {
		words += " (not known)"
	}
	if c.GetFlip() != "" && !strings.Contains(opens, c.GetFlip()) {
		words += ": " + c.GetFlip()
	}
	return words
}

// figures lists what a rule read of the client: "; left range shoulder flexion 135 deg".
func figures(facts []*v1.Fact) string {
	var words strings.Builder
	for _, f := range facts {
		words.WriteString("; " + strings.TrimSpace(sideWord(f.GetSide())+" "+readable(strings.TrimPrefix(f.GetPath(), "client."))))
		switch f.GetStatus() {
		case v1.FactStatus_UNKNOWN:
			words.WriteString(": " + f.GetWhy())
		case v1.FactStatus_PRESUMED:
			words.WriteString(": " + strings.TrimSpace(readableValue(f)+" (presumed)"))
		default:
			words.WriteString(": " + readableValue(f))
		}
	}
	return words.String()
}

func readableValue(f *v1.Fact) string {
	if f.GetValue() == "" {
		return "none"
	}
	value, more, _ := strings.Cut(f.GetValue(), " ") // "65 or more"
	switch unit := f.GetUnit(); unit {
	case "":
		value = strings.ReplaceAll(value, "_", " ")
	case "deg":
		value += "°"
	case "percent":
		value += " %"
	default:
		value += " " + unit
	}
	return strings.TrimSpace(value + " " + strings.ReplaceAll(more, "_", " "))
}
