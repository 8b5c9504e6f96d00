package selection

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"drillwright/catalog"
	"drillwright/rules"
	"drillwright/rules/client"
)

// provoke finds what in the lift probably sets the complaints off, and sets what a substitute may have of it.
func (a *asked) provoke(lift *catalog.Drill) (provokers []Provoker, unclear bool) {
	for _, c := range a.q.Complaints {
		found := append(a.stressors(lift, c), a.arcs(lift, c)...)
		if len(found) == 0 {
			unclear = true
			found = a.everyStressor(lift, c)
		}
		a.allow(lift, c, found)
		if atAnyMoment(c) { // no milder than at any one of them
			a.allow(lift, c, a.everyStressor(lift, c))
		}
		provokers = append(provokers, found...)
	}
	return provokers, unclear
}

// atAnyMoment is true of a complaint that isn't felt at one moment of the lift.
func atAnyMoment(c client.Complaint) bool {
	return slices.Contains([]string{"ALWAYS", "AFTER", "NEXT_DAY", ""}, c.Moment)
}

// stressors are those of the complaint's region at its moment, the highest grade only. What is held is held
// through every moment of the movement.
func (a *asked) stressors(lift *catalog.Drill, c client.Complaint) []Provoker {
	anyMoment := atAnyMoment(c)
	moving := slices.Contains([]string{"START", "BOTTOM", "MIDDLE", "TOP"}, c.Moment)
	var found []Provoker
	top := 0
	for _, row := range lift.Rows {
		for _, s := range row.Stressors {
			thatMoment := anyMoment || strings.EqualFold(s.Moment, c.Moment) || moving && s.Moment == "holding"
			if !thatMoment || !a.inRegion(s.Stressor, c.Region) {
				continue
			}
			top = max(top, s.Grade)
			found = append(found, a.provoker(c, s))
		}
	}
	found = slices.DeleteFunc(found, func(p Provoker) bool { return p.Grade < top })
	slices.SortFunc(found, func(x, y Provoker) int {
		return cmp.Or(cmp.Compare(x.Stressor, y.Stressor), cmp.Compare(slices.Index(catalog.Moments, x.Moment),
			slices.Index(catalog.Moments, y.Moment)))
	})
	return slices.CompactFunc(found, func(x, y Provoker) bool { return x.Stressor == y.Stressor })
}

func (a *asked) inRegion(stressor, region string) bool {
	v := a.e.Frame.Vocabulary
	i := v.Index("stressor", stressor)
	return i >= 0 && slices.Contains(v.Stressors[i].Regions, region)
}

func (a *asked) provoker(c client.Complaint, s catalog.Stress) Provoker {
	p := Provoker{Region: c.Region, Side: string(c.Side), Stressor: s.Stressor, Moment: strings.ToUpper(s.Moment), Grade: s.Grade}
	p.Words = a.e.Frame.Vocabulary.Name("stressor", s.Stressor) + ", " + momentWords[s.Moment] + " (grade " + strconv.Itoa(s.Grade) + " of 3)"
	return p
}

var momentWords = map[string]string{"start": "at the start", "bottom": "at the bottom", "middle": "in the middle", "top": "at the top",
	"holding": "all the way through", "racking": "when racking"}

// arcs are the ends of the lift's arcs that lie beyond the range free of pain, or cross the painful arc.
func (a *asked) arcs(lift *catalog.Drill, c client.Complaint) []Provoker {
	type excess struct {
		p  Provoker
		by float64
	}
	var found []excess
	for _, row := range lift.Rows {
		for _, arc := range row.Arcs {
			m := a.e.Frame.Vocabulary.Motion(arc.Motion)
			if m.Region != c.Region {
				continue
			}
			for side := range 2 {
				if !c.Side.On(side) || !m.Sided && side == 1 {
					continue
				}
				if p, by := a.arcProvoker(m, arc, c, side); by > 0 {
					found = append(found, excess{p, by})
				}
			}
		}
	}
	slices.SortFunc(found, func(x, y excess) int { return cmp.Or(cmp.Compare(y.by, x.by), cmp.Compare(x.p.Motion, y.p.Motion)) })
	var out []Provoker
	for _, f := range found {
		out = append(out, f.p)
	}
	return out
}

func (a *asked) arcProvoker(m *catalog.Motion, arc catalog.Arc, c client.Complaint, side int) (Provoker, float64) {
	f := a.facts
	p := Provoker{Region: c.Region, Side: string(client.Sides[side]), Motion: m.ID}
	if !m.Sided {
		p.Side = ""
	}
	if f.StatusOf("client.range."+m.ID, side) == client.Measured {
		if reach := f.Number("client.range."+m.ID, side).Lo; arc.To > reach {
			p.Words = fmt.Sprintf("%s to %s°, beyond the %s° that are free of pain", m.Name, rules.Figure(arc.To), rules.Figure(reach))
			return p, arc.To - reach
		}
	}
	from, to := f.Number("client.painful."+m.ID+".from", side), f.Number("client.painful."+m.ID+".to", side)
	if arc.Loaded != nil && arc.Loaded.To > from.Lo && arc.Loaded.From < to.Lo {
		p.Words = fmt.Sprintf("%s under load through the painful arc of %s° to %s°", m.Name, rules.Figure(from.Lo), rules.Figure(to.Lo))
		return p, min(arc.Loaded.To, to.Lo) - max(arc.Loaded.From, from.Lo)
	}
	return p, 0
}

// everyStressor stands in when nothing at that moment explains the complaint: each stressor of the region counts.
func (a *asked) everyStressor(lift *catalog.Drill, c client.Complaint) []Provoker {
	var found []Provoker
	for _, s := range a.e.Frame.Vocabulary.Stressors {
		if !slices.Contains(s.Regions, c.Region) {
			continue
		}
		for _, row := range lift.Rows {
			for _, own := range row.Stressors {
				if own.Stressor == s.ID && own.Grade == row.Worst(s.ID) &&
					!slices.ContainsFunc(found, func(p Provoker) bool { return p.Stressor == s.ID }) {
					found = append(found, a.provoker(c, own))
				}
			}
		}
	}
	return found
}

// allow sets request.allowed on the sides of a complaint: a provoker goes down to grade 1 where it hurts much and by one grade, but
// no further than to grade 1, where it hurts little; any other stressor of the region goes up to the lift's own grade; one that
// the lift doesn't have stays below the grade removed, or at grade 1. Of several complaints the lowest counts.
func (a *asked) allow(lift *catalog.Drill, c client.Complaint, found []Provoker) {
	much := c.Intensity >= a.e.Book.RemovedFrom
	top := 0 // of the stressors among them
	for i := range found {
		if found[i].Stressor != "" {
			top = max(top, found[i].Grade)
		}
	}
	switch {
	case top > 0:
	case much:
		top = 2 // only an arc provokes, or nothing known does
	default:
		top = 3
	}
	for i := range a.e.Frame.Vocabulary.Stressors {
		s := &a.e.Frame.Vocabulary.Stressors[i]
		if !slices.Contains(s.Regions, c.Region) {
			continue
		}
		grade, own := 0, liftGrade(lift, s.ID)
		allowed := own
		for i := range found {
			if found[i].Stressor == s.ID {
				grade = max(grade, found[i].Grade)
			}
		}
		switch {
		case grade > 0 && much:
			allowed = 1
		case grade > 0:
			allowed = max(1, grade-1)
		case own == 0:
			allowed = max(1, top-1)
		}
		a.lower(i, c, allowed)
	}
}

// spare sets what a drill may have where no lift explains a complaint: every stressor of the sore region counts. A
// tendon that a clinician has named trains on under the pain rule, up to its ceiling.
func (a *asked) spare() {
	for _, c := range a.q.Complaints {
		if c.Intensity <= rules.PainCeiling && a.namedTendon(c) {
			continue
		}
		allowed := 2
		if c.Intensity >= a.e.Book.RemovedFrom {
			allowed = 1
		}
		for i, s := range a.e.Frame.Vocabulary.Stressors {
			if slices.Contains(s.Regions, c.Region) {
				a.lower(i, c, allowed)
			}
		}
	}
}

// namedTendon is true when a clinician has named a tendon wherever a complaint is.
func (a *asked) namedTendon(c client.Complaint) bool {
	for side := range 2 {
		if c.Side.On(side) && !a.facts.Truth("client.tendon_named."+c.Region, side).Sure {
			return false
		}
	}
	return true
}

// lower sets request.allowed on the sides of a complaint; of several complaints the lowest counts.
func (a *asked) lower(stressor int, c client.Complaint, allowed int) {
	for side := range 2 {
		if c.Side.On(side) || !a.e.Frame.Vocabulary.Sided(c.Region) {
			a.facts.AllowAtMost(stressor, side, allowed)
		}
	}
}

func liftGrade(d *catalog.Drill, stressor string) int {
	worst := 0
	for i := range d.Rows {
		worst = max(worst, d.Rows[i].Worst(stressor))
	}
	return worst
}
