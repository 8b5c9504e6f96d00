package selection

import (
	"slices"
	"strings"

	"drillwright/catalog"
	"drillwright/rules"
	"drillwright/rules/client"
)

// posed is a question that was put to one edition, as far as a preview looks at the answer: nothing is worded. It holds on
// to the judgement, so that nothing is judged a second time, until done.
type posed struct {
	*asked                  // nil with a fault
	fault  string           // why there is no answer
	named  string           // the question
	j      *rules.Judgement // nil for screening, and where screening leaves no drills
	picks  []*catalog.Drill
	rules  map[string]*rules.Rule
}

// begin asks, and fails as the question itself would.
func begin(e *rules.Edition, q *client.Request, question string, named ...Named) *posed {
	p := &posed{named: question}
	var err error
	if p.asked, err = ask(e, q, named, "PREVIEW"); err != nil {
		p.fault = strings.ReplaceAll(err.Error(), "\n", "; ")
	}
	return p
}

func (p *posed) done() {
	if p.j != nil {
		p.j.Done()
	}
	if p.asked != nil {
		p.asked.done()
	}
}

// posedSubstitute is Substitute up to the first of the list.
func posedSubstitute(e *rules.Edition, q *client.Request, lift string) *posed {
	of := *q
	of.Lift = lift
	p := begin(e, &of, "substitute "+lift, Named{"lift", "drill", lift})
	if p.fault != "" {
		return p
	}
	d := e.Catalogue.Drill(lift)
	provokers, _ := p.provoke(d)
	if p.permitted.none {
		return p
	}
	p.j = e.Judge(p.facts, d)
	in := p.inPlaceOf(d, provokers)
	for _, c := range p.keep(p.j, p.ranked(p.j, in), in, 1) {
		p.picks = append(p.picks, c.drill)
	}
	return p
}

// posedSession is Select up to the drills of the session.
func posedSession(e *rules.Edition, q *client.Request) *posed {
	p := begin(e, q, "select")
	if p.fault != "" {
		return p
	}
	plan := p.usualPlan()
	p.named += " " + plan.ID
	if p.permitted.none {
		return p
	}
	if q.Minutes == 0 {
		p.setMinutes(plan.Minutes)
	}
	p.spare()
	p.j = e.Judge(p.facts, nil)
	for _, c := range p.session(p.j, plan).best {
		if c != nil {
			p.picks = append(p.picks, c.drill)
		}
	}
	return p
}

// both is the side of a drill that works both at once.
const both = 2

var verdictSides = [3]string{string(client.SideLeft), string(client.SideRight), string(client.SideBoth)}

// sidesOf are the sides on which a drill has a verdict of its own.
func sidesOf(d *catalog.Drill) []int {
	if d.Sides == catalog.OneSide {
		return []int{0, 1}
	}
	return []int{both}
}

// bodySides are the sides of the body whose verdicts make that of a drill on a side.
func bodySides(d *catalog.Drill, side int) []int {
	if side == both || d.Sides != catalog.OneSide {
		return []int{0, 1}
	}
	return []int{side}
}

// verdict is what screening and the bars leave of a drill on a side.
func (p *posed) verdict(d *catalog.Drill, side int) rules.Verdict {
	if side != both && d.Sides == catalog.OneSide {
		return p.bodyVerdict(d, side)
	}
	return rules.Together(p.bodyVerdict(d, 0), p.bodyVerdict(d, 1))
}

func (p *posed) bodyVerdict(d *catalog.Drill, side int) rules.Verdict {
	if p.j == nil {
		return rules.NotToday
	}
	if p.permitted.closes() {
		if _, open := p.permitted.allows(p.e, d, side); !open {
			return rules.NotToday
		}
	}
	return p.j.Verdict(d, side)
}

// worse is whether a verdict leaves less than another.
func worse(v, than rules.Verdict) bool { return v != than && rules.Together(v, than) == v }

// deciders are the rules that make the verdict on a drill and a side: what screening closes it by, the first bar, or the
// bars that wait for a test.
func (p *posed) deciders(d *catalog.Drill, side int) []string {
	v := p.verdict(d, side)
	var ids []string
	for _, s := range bodySides(d, side) {
		if v == rules.Open || p.bodyVerdict(d, s) != v {
			continue
		}
		if by, open := p.permitted.allows(p.e, d, s); !open {
			ids = append(ids, by)
		} else if r := p.j.Decider(d, s); r != nil {
			ids = append(ids, r.ID)
		} else {
			for r := range p.j.Applicable(rules.Bar, d) {
				if p.j.Barred(r, d, s) == rules.TestFirst {
					ids = append(ids, r.ID)
				}
			}
		}
	}
	slices.Sort(ids)
	return slices.Compact(ids)
}

// bars is what one rule makes of a drill on a side; one that the edition lacks makes nothing of it.
func (p *posed) bars(id string, d *catalog.Drill, side int) rules.Verdict {
	r := p.rules[id]
	if r == nil {
		return rules.Open
	}
	v := rules.Open
	for _, s := range bodySides(d, side) {
		one := p.j.Barred(r, d, s)
		if by, open := p.permitted.allows(p.e, d, s); !open && by == id {
			one = rules.NotToday
		}
		v = rules.Together(v, one)
	}
	return v
}
