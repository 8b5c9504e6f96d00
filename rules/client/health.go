package client

import (
	"math"
	"slices"
)

func (d *deriver) conditions() {
	if !d.p.ConditionsTold && !d.denied("known_condition") {
		return
	}
	at := &d.Frame.at.person
	for side := range 2 {
		now := func(c *Condition) bool { return c.Status != "PAST" }
		d.setWords(at.conditions, side, d.conditionsOn(side, now), Measured)
		d.setWords(at.pastConditions, side, d.conditionsOn(side, func(c *Condition) bool { return !now(c) }), Measured)
		d.setWords(at.byClinician, side, d.conditionsOn(side, func(c *Condition) bool { return now(c) && c.ToldBy == "CLINICIAN" }), Measured)
	}
}

// conditionsOn lists the conditions on a side that are such.
func (d *deriver) conditionsOn(side int, such func(*Condition) bool) Set {
	from := len(d.words)
	for i := range d.p.Conditions {
		if c := &d.p.Conditions[i]; c.Side.On(side) && such(c) {
			d.words = append(d.words, c.ID)
		}
	}
	return d.exactly(from)
}

// clearances takes every clearance that stands, region by region, and says where somebody was operated.
func (d *deriver) clearances() {
	for region := range d.told {
		for side := range 2 {
			d.setTruth(d.Frame.at.regions[region].surgery, side, d.operated(region, side), Measured)
			if d.told[region].clearance {
				d.cleared(region, side)
			}
		}
	}
}

func (d *deriver) operated(region, side int) Truth {
	switch {
	case d.told[region].sides[side].operated:
		return Yes
	case d.p.SurgeriesTold || d.denied("surgery_or_dislocation"):
		return No
	default:
		return Maybe
	}
}

func (d *deriver) cleared(region, side int) {
	at := &d.Frame.at.regions[region]
	for i := range d.p.Clearances {
		c := &d.p.Clearances[i]
		if c.Region != d.Frame.ids.regions.ids[region] || !c.Side.On(side) || !c.Stands(d.Request.AsOf) {
			continue
		}
		d.limits(c, at, side)
		d.setTruth(at.cleared, side, Yes, Measured)
		if c.NoOverhead {
			d.setTruth(at.noOverhead, side, Yes, Measured)
		}
		d.cover(c, side)
	}
}

// Stands is true of a clinician's clearance that counts on a day.
func (c *Clearance) Stands(on Day) bool {
	return c.By == "CLINICIAN" && c.Given <= on && (c.Until == 0 || on <= c.Until)
}

// limits takes the tightest of several clearances. One for a single side may limit a motion of the midline: on both.
func (d *deriver) limits(c *Clearance, at *regionAt, side int) {
	for _, l := range c.RangeDeg {
		motion := d.Frame.ids.motions.place(l.Motion)
		if motion < 0 || !d.Frame.at.motions[motion].hasRange {
			continue
		}
		d.tighter(d.Frame.at.motions[motion].limitRange, side, l.ToDeg)
		if !d.Frame.at.motions[motion].sided {
			d.tighter(d.Frame.at.motions[motion].limitRange, 1-side, l.ToDeg)
		}
	}
	if c.LoadKg != nil {
		d.tighter(at.limitLoad, side, *c.LoadKg)
	}
}

func (d *deriver) tighter(n numberAt, side int, v float64) {
	if had := d.Num[side][n.slot].Lo; math.IsNaN(had) || v < had {
		d.value(n, side, v)
	}
}

// cover adds the conditions a clearance covers, less those that began after it was given.
func (d *deriver) cover(c *Clearance, side int) {
	for _, id := range c.Covers {
		newer := slices.ContainsFunc(d.p.Conditions, func(k Condition) bool {
			return k.ID == id && k.Side.On(side) && k.Since > c.Given
		})
		if !newer {
			d.Covered[side] = append(d.Covered[side], id)
		}
	}
}
