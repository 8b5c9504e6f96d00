package random

import (
	"slices"

	"drillwright/catalog"
	"drillwright/rules/client"
)

// measures tells ranges, forces, holds and painful arcs of every motion, each side apart.
func (c *teller) measures(complaints []client.Complaint) {
	for i := range c.voc.Motions {
		m := &c.voc.Motions[i]
		for _, side := range sides(m.Sided) {
			c.measure(&c.p.StrengthN, m, side, float64(c.between(60, 500)))
			c.measure(&c.p.HoldSeconds, m, side, float64(c.between(5, 90)))
			if !m.HasRange() {
				continue
			}
			c.measure(&c.p.RangeDeg, m, side, c.reach(m))
			c.measure(&c.p.PassiveDeg, m, side, c.reach(m))
			if sore(complaints, m.Region) && c.chance(0.3) {
				to := c.reach(m)
				c.p.PainfulArcs = append(c.p.PainfulArcs, client.PainfulArc{Motion: m.ID, Side: side, From: max(to-float64(5*c.between(2, 8)),
					m.Limits[0]), To: to})
			}
		}
	}
}

func (c *teller) measure(into *[]client.Measure, m *catalog.Motion, side client.Side, value float64) {
	if day := c.day(); day != 0 {
		*into = append(*into, client.Measure{Of: m.ID, Side: side, Value: value, Day: day,
			By: pick(c.dice, []string{"SAME_MEASURER", "SAME_MEASURER", "OTHER", "SELF"})})
	}
}

func sore(complaints []client.Complaint, region string) bool {
	return slices.ContainsFunc(complaints, func(k client.Complaint) bool { return k.Region == region })
}

// since is a day after any complaint began when it was told, and otherwise one that may lie before it, or none.
func (c *teller) since() client.Day {
	switch {
	case c.told():
		return AsOf - client.Day(c.between(0, 6))
	case c.chance(0.5):
		return AsOf - client.Day(c.between(1, 60))
	default:
		return 0
	}
}

// standings tells pain and rung: higher pain and lower rungs where there is a complaint.
func (c *teller) standings(complaints []client.Complaint) {
	for _, r := range c.voc.Regions {
		worst, top := 2, len(rungs)
		if sore(complaints, r.ID) {
			worst, top = 8, 4
		}
		for _, side := range sides(r.Sided) {
			if day := c.day(); day != 0 {
				c.p.Pain = append(c.p.Pain, client.Pain{Region: r.ID, Side: side, Rest: maybe(c, c.halves(0, worst/2)),
					Worst:   maybe(c, c.halves(0, worst)),
					NextDay: maybe(c, c.halves(0, worst)), SettleHours: maybe(c, float64(6*c.between(0, worst))),
					WakesAtNight: maybe(c, c.chance(float64(worst)/20)), Day: day})
			}
			switch {
			case !c.told():
			case c.chance(0.3) || top < len(rungs):
				c.p.Rungs = append(c.p.Rungs, client.Standing{Region: r.ID, Side: side, At: pick(c.dice, rungs[:top]), Since: c.since()})
			default:
				c.p.Rungs = append(c.p.Rungs, client.Standing{Region: r.ID, Side: side, At: rungs[len(rungs)-1], Since: c.since()})
			}
		}
	}
}
