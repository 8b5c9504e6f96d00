package random

import (
	"slices"

	"drillwright/catalog"
)

// everyDegree backs the pointers of arcs: an angle that many drills have is stored once.
var everyDegree = func() (all [721]float64) {
	for i := range all {
		all[i] = float64(i - 360)
	}
	return all
}()

func degrees(v float64) *float64 { return &everyDegree[int(v)+360] }

// rows gives two drills in five a second row, for the side that doesn't work.
func (m *maker) rows(d *catalog.Drill, main string) {
	d.Sides = []catalog.Sides{catalog.OneSide, catalog.OneSide, catalog.TwoSide, catalog.Midline}[m.weighted(40, 10, 35, 15)]
	d.Rows = []catalog.Row{m.row(d, main, "drive", m.between(1, 6))}
	if d.Sides == catalog.OneSide && m.chance(0.8) {
		d.Rows = append(d.Rows, m.row(d, main, pick(m.dice, []string{"support", "brace"}), m.between(0, 3)))
	}
	d.Main = d.Rows[0].Regions[0]
	for i := range d.Rows {
		for _, a := range d.Rows[i].Arcs {
			if over := m.voc.Motion(a.Motion).OverheadAbove; over > 0 && a.To > over {
				d.Overhead = true
			}
		}
		for _, load := range d.Rows[i].Regions {
			d.Loads = d.Loads || load.Rung != "active_motion"
		}
	}
}

// row asks something of one region in a role, and perhaps of others; its arcs and stressors are of those regions.
func (m *maker) row(d *catalog.Drill, main, role string, arcs int) catalog.Row {
	row := catalog.Row{Regions: make([]catalog.RegionLoad, 1, 4)}
	row.Regions[0] = catalog.RegionLoad{Region: main, Rung: m.rungFor(d), Role: role}
	for range m.between(0, 3) {
		if region := pick(m.dice, m.voc.Regions).ID; row.Load(region) == nil {
			row.Regions = append(row.Regions, catalog.RegionLoad{Region: region, Rung: m.rungFor(d),
				Role: pick(m.dice, []string{"drive", "support", "brace"})})
		}
	}
	row.Arcs = make([]catalog.Arc, 0, arcs)
	for range arcs {
		motion := pick(m.dice, m.motions[pick(m.dice, row.Regions).Region])
		if row.Arc(motion.ID) == nil {
			row.Arcs = append(row.Arcs, m.arc(d, motion))
		}
	}
	for range m.weighted(2, 3, 2, 1) {
		m.stress(&row)
	}
	return row
}

func (m *maker) rungFor(d *catalog.Drill) string {
	switch {
	case d.Tool.LoadType == "unloaded":
		return "active_motion"
	case d.Speed == "hold":
		return "isometric"
	case d.Pattern.SingleJoint:
		return "single_joint"
	default:
		return pick(m.dice, rungs[3:])
	}
}

// arc ends well inside what the motion can be, in most drills below what clients are given.
func (m *maker) arc(d *catalog.Drill, motion *catalog.Motion) catalog.Arc {
	arc := catalog.Arc{Motion: motion.ID, To: m.fives(share(motion, 0.4), share(motion, 0.85))}
	if m.chance(0.6) {
		arc.From = degrees(m.fives(motion.Limits[0], arc.To))
	}
	if m.chance(0.4) {
		arc.Hardest = degrees(m.fives(share(motion, 0.35), arc.To))
	}
	if d.Tool.LoadType != "unloaded" && m.chance(0.8) {
		from := min(0, arc.To)
		if arc.From != nil {
			from = *arc.From
		}
		arc.Loaded = &catalog.Loaded{From: from, To: m.fives(from, arc.To)}
	}
	return arc
}

// share is the angle at a share of the way between the limits of a motion.
func share(m *catalog.Motion, of float64) float64 {
	return m.Limits[0] + of*(m.Limits[1]-m.Limits[0])
}

func (m *maker) stress(row *catalog.Row) {
	known := m.stressors[pick(m.dice, row.Regions).Region]
	if len(known) == 0 {
		return
	}
	s := catalog.Stress{Moment: pick(m.dice, catalog.Moments), Stressor: pick(m.dice, known), Grade: m.between(1, 3)}
	if !slices.ContainsFunc(row.Stressors, func(o catalog.Stress) bool { return o.Moment == s.Moment && o.Stressor == s.Stressor }) {
		row.Stressors = append(row.Stressors, s)
	}
}
