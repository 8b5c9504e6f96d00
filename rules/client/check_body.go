package client

import (
	"fmt"
	"slices"
)

// health checks what was told of conditions, operations, medicines, pregnancy and blood pressure.
func (c *checker) health() {
	for i, k := range c.p.Conditions {
		c.condition(item("profile.conditions.known", i), k)
	}
	for i, s := range c.p.Surgeries {
		field := item("profile.surgeries.known", i)
		c.past(field+".date", s.Day)
		if c.term(field+".region", "region", s.Region) {
			c.sideOf(field+".side", c.regionName(s.Region), c.voc.Sided(s.Region), s.Side)
		}
	}
	for i, m := range c.p.Medicines {
		field := item("profile.medicines.known", i)
		c.term(field+".class", "medicine", m.Class)
		c.past(field+".since", m.Since)
	}
	if p := c.p.Pregnancy; p != nil {
		c.whole("profile.pregnancy.weeks", "client.pregnancy.weeks", "a pregnancy", p.Weeks)
		c.whole("profile.pregnancy.postnatal_weeks", "client.pregnancy.postnatal_weeks", "the time since a birth", p.PostnatalWeeks)
	}
	c.pressure()
}

// condition: a side is refused only where none of the condition's regions has one.
func (c *checker) condition(field string, k Condition) {
	c.past(field+".since", k.Since)
	c.told(field+".told_by", "source", k.ToldBy, "CLINICIAN", "CLIENT")
	c.told(field+".status", "status", k.Status, "NOW", "PAST")
	if !c.term(field+".id", "condition", k.ID) {
		return
	}
	known := c.voc.Conditions[c.voc.Place("condition", k.ID)]
	sided := len(known.Regions) == 0
	for _, r := range known.Regions {
		sided = sided || c.voc.Sided(r)
	}
	c.sideOf(field+".side", known.Name, sided, k.Side)
}

func (c *checker) pressure() {
	b := c.p.BloodPressure
	if b == nil {
		return
	}
	c.within("profile.blood_pressure.systolic", "client.blood_pressure.systolic", "the upper value", float64(b.Systolic))
	c.within("profile.blood_pressure.diastolic", "client.blood_pressure.diastolic", "the lower value", float64(b.Diastolic))
	if b.Systolic <= b.Diastolic {
		c.add("profile.blood_pressure.systolic", fmt.Sprintf("the upper value, %d, is not above the lower, %d", b.Systolic, b.Diastolic), "")
	}
	c.day("profile.blood_pressure.date", b.Day)
}

// clearances: a limit that only the client told is refused, not passed over, so that nobody trusts in it.
func (c *checker) clearances() {
	for i, k := range c.p.Clearances {
		field := item("profile.clearances", i)
		if k.By != "CLINICIAN" {
			c.add(field+".by", "only a clinician can give a clearance", "write CLINICIAN if one did, else leave the clearance out")
		}
		if c.term(field+".region", "region", k.Region) {
			c.sideOf(field+".side", c.regionName(k.Region), c.voc.Sided(k.Region), k.Side)
			c.number(field+".load_kg", "client.limit.load_kg."+k.Region, "a load", k.LoadKg)
		}
		c.day(field+".given", k.Given)
		if k.Until != 0 && k.Until < k.Given {
			c.add(field+".until", fmt.Sprintf("it ends on %s, before it was given", k.Until), "")
		}
		for _, l := range k.RangeDeg {
			c.degrees(fmt.Sprintf("%s.range_deg[%q]", field, l.Motion), "", l.Motion, l.ToDeg)
		}
		for j, id := range k.Covers {
			if c.term(item(field+".covers", j), "condition", id) && !c.concerns(id, k.Region) {
				c.add(item(field+".covers", j), fmt.Sprintf("%s is no condition of %s", c.voc.Name("condition", id), c.regionName(k.Region)), "give that region a clearance of its own")
			}
		}
	}
}

// concerns is true when a condition is of a region, or of the whole person.
func (c *checker) concerns(condition, region string) bool {
	regions := c.voc.Conditions[c.voc.Place("condition", condition)].Regions
	return len(regions) == 0 || slices.Contains(regions, region)
}

// degrees checks a motion that must have a range, and a value of it at field+part.
func (c *checker) degrees(field, part, motion string, v float64) bool {
	if !c.term(field, "motion", motion) {
		return false
	}
	m := c.voc.Motion(motion)
	if !m.HasRange() {
		c.add(field, m.Name+" isn't measured in degrees", "write it under strength_n or hold_seconds")
		return false
	}
	c.within(field+part, "client.range."+motion, m.Name, v)
	return true
}

// measured checks every measure of a motion.
func (c *checker) measured() {
	for _, m := range c.p.RangeDeg {
		c.inDegrees(entry("range_deg", m.Of), m)
	}
	for _, m := range c.p.PassiveDeg {
		c.inDegrees(entry("passive_deg", m.Of), m)
	}
	for _, m := range c.p.StrengthN {
		c.inUnits(entry("strength_n", m.Of), "client.strength.", "the strength of ", m)
	}
	for _, m := range c.p.HoldSeconds {
		c.inUnits(entry("hold_seconds", m.Of), "client.hold.", "a hold of ", m)
	}
	for _, a := range c.p.PainfulArcs {
		c.painfulArc(entry("painful_arc_deg", a.Motion), a)
	}
}

func (c *checker) inDegrees(field string, m Measure) {
	side := sideKey(m.Side)
	if c.degrees(field, side+".value", m.Of, m.Value) {
		motion := c.voc.Motion(m.Of)
		c.sideIn(field, motion.Name, motion.Sided, m.Side)
	}
	c.taken(field+side, m)
}

func (c *checker) inUnits(field, path, what string, m Measure) {
	side := sideKey(m.Side)
	if c.term(field, "motion", m.Of) {
		motion := c.voc.Motion(m.Of)
		c.within(field+side+".value", path+m.Of, what+motion.Name, m.Value)
		c.sideIn(field, motion.Name, motion.Sided, m.Side)
	}
	c.taken(field+side, m)
}

func (c *checker) taken(field string, m Measure) {
	c.told(field+".by", "measurer", m.By, "SAME_MEASURER", "OTHER", "SELF")
	c.day(field+".date", m.Day)
}

func (c *checker) painfulArc(field string, a PainfulArc) {
	side := sideKey(a.Side)
	if !c.degrees(field, side+".from", a.Motion, a.From) {
		return
	}
	motion := c.voc.Motion(a.Motion)
	c.within(field+side+".to", "client.range."+a.Motion, motion.Name, a.To)
	c.sideIn(field, motion.Name, motion.Sided, a.Side)
	if a.From >= a.To {
		c.add(field+side+".to", fmt.Sprintf("the arc ends at %s, not beyond its start at %s", figure(a.To, "deg"), figure(a.From, "deg")), "write the smaller angle under from")
	}
}

// standings checks the pain and the rung of each region.
func (c *checker) standings() {
	for _, p := range c.p.Pain {
		c.pain(entry("pain", p.Region), p)
	}
	for _, s := range c.p.Rungs {
		field := entry("rung", s.Region)
		c.past(field+sideKey(s.Side)+".since", s.Since)
		if c.region(field, s.Region, s.Side) {
			c.oneOf(field+sideKey(s.Side)+".at", "rung", s.At, c.frame.Ladder(s.Region).Rungs)
		}
	}
}

func (c *checker) region(field, id string, s Side) bool {
	if !c.term(field, "region", id) {
		return false
	}
	c.sideIn(field, c.regionName(id), c.voc.Sided(id), s)
	return true
}

func (c *checker) pain(field string, p Pain) {
	side := field + sideKey(p.Side)
	if c.region(field, p.Region, p.Side) {
		c.number(side+".settle_hours", "client.pain."+p.Region+".settle_hours", "the time to settle", p.SettleHours)
	}
	c.scored(side+".rest", "pain", p.Rest)
	c.scored(side+".worst", "pain", p.Worst)
	c.scored(side+".next_day", "pain", p.NextDay)
	c.day(side+".date", p.Day)
}
