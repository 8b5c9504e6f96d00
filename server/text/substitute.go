package text

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	v1 "drillwright/proto/drillwright/v1"
)

// Substitute writes what to do instead of a lift.
func (p *Page) Substitute(r *v1.SubstituteResponse) {
	h := r.GetHeader()
	p.heading("Instead of: "+r.GetLift().GetName(), h)
	p.screening(h)
	if r.GetSpared() != "" {
		p.section("The lift")
		p.line(2, r.GetSpared())
	}
	p.provokers(r)
	if !h.GetScreening().GetNoDrills() {
		p.substitutes(r)
	}
	p.leftOut(r.GetLeftOut())
	p.closing(h)
}

func (p *Page) provokers(r *v1.SubstituteResponse) {
	if len(r.GetProvokers()) == 0 && (!r.GetUnclear() || r.GetSpared() != "") {
		return
	}
	p.section("What probably sets it off")
	switch {
	case r.GetUnclear() && len(r.GetProvokers()) == 0:
		p.line(2, "It isn't plain from what was said, and nothing in this lift is known to provoke the region.")
	case r.GetUnclear():
		p.line(2, "It isn't plain from what was said; every stressor of the region in this lift counts:")
	}
	for _, s := range r.GetProvokers() {
		p.item(2, "-", sentence(position(s.GetSide(), s.GetRegion())+": "+s.GetWords()))
	}
}

func (p *Page) substitutes(r *v1.SubstituteResponse) {
	list := r.GetSubstitutes()
	p.section(fmt.Sprintf("Instead (%d of %d that fit)", len(list), r.GetConsidered()))
	if len(list) == 0 {
		p.line(2, "Nothing in the catalogue fits today; see below why, and what to measure.")
	}
	var all [][]*v1.Reason
	for _, s := range list {
		all = append(all, slices.Concat(s.GetCautions(), s.GetReasons()))
	}
	shared := p.forAll(all)
	for i, s := range list {
		if i > 0 {
			p.out.WriteByte('\n')
		}
		p.substitute(i, s, without(all[i], shared))
		p.field(4, "Points", points(s, i == len(list)-1))
	}
}

func (p *Page) substitute(i int, s *v1.Substitute, reasons []*v1.Reason) {
	d := s.GetDrill()
	p.write(fmt.Sprintf("%2d. ", i+1), "    ", d.GetName(), bold)
	p.line(4, strings.Join([]string{tiers[s.GetTier()], d.GetStation(), verdicts[s.GetVerdict()]}, " · "))
	if len(s.GetTests()) > 0 {
		p.field(4, "Measure first", sentence(strings.Join(s.GetTests(), "; ")))
	}
	p.field(4, "Keeps", fmt.Sprintf("%s of the muscles, %s of the pattern, %s of the load.",
		keeps[s.GetKeepsMuscles()], keeps[s.GetKeepsPattern()], keeps[s.GetKeepsLoad()]))
	p.field(4, "Takes away", sentence(strings.Join(s.GetTakesAway(), "; ")))
	p.sides(s.GetSides())
	p.drillLines(d, s.GetTestSet())
	p.reasons(reasons)
}

// points says what the score is made of and how far it is ahead: "83: muscles 25 of 25, …; 4 ahead of the next".
func points(s *v1.Substitute, last bool) string {
	var parts []string
	for _, part := range s.GetParts() {
		of := signed(part.GetPoints())
		if part.GetOf() > 0 {
			of = fmt.Sprintf("%d of %d", part.GetPoints(), part.GetOf())
		}
		parts = append(parts, part.GetName()+" "+of)
	}
	words := strconv.Itoa(int(s.GetPoints()))
	if len(parts) > 0 {
		words += ": " + strings.Join(parts, ", ")
	}
	switch lead := s.GetLead(); {
	case last:
	case lead > 0:
		words += "; " + strconv.Itoa(int(lead)) + " ahead of the next"
	case lead == 0:
		words += "; level with the next"
	default:
		words += "; " + strconv.Itoa(int(-lead)) + " fewer than the next, which comes after it for another reason"
	}
	return words + "."
}

func (p *Page) leftOut(list []*v1.LeftOut) {
	if len(list) == 0 {
		return
	}
	p.section("Not today, because")
	for _, l := range list {
		words := reason(l.GetReason())
		if !strings.HasPrefix(words, l.GetName()) {
			words = l.GetName() + ": " + words
		}
		p.item(2, "-", words)
	}
}
