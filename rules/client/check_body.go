package client

import (
	"fmt"
	"slices"
)

// clearances checks each of them.
func (c *checker) clearances() {
	f := itemsOf("profile.clearances")
	for i := range c.p.Clearances {
		f.index = i
		c.clearance(&f, &c.p.Clearances[i])
	}
}

// clearance: a limit that only the client told is refused, not passed over, so that nobody trusts in it.
func (c *checker) clearance(f *field, k *Clearance) {
	if k.By != "CLINICIAN" {
		c.add(f, ".by", "only a clinician can give a clearance", "write CLINICIAN if one did, else leave the clearance out")
	}
	region := c.regionOf(f, k.Region, k.Side)
	c.checkClearance(f, k)
	if k.Until != 0 && k.Until < k.Given {
		c.add(f, ".until", fmt.Sprintf("it ends on %s, before it was given", k.Until), "")
	}
	limit := field{in: f, name: ".range_deg", form: keyed}
	for _, l := range k.RangeDeg {
		limit.key = l.Motion
		if motion := c.term(&limit, "", &c.ids.motions, l.Motion); motion >= 0 {
			c.degrees(&limit, &limit, "", motion, l.ToDeg)
		}
	}
	c.covers(f, k, region)
}

func (c *checker) covers(f *field, k *Clearance, region int) {
	covered := field{in: f, name: ".covers", form: numbered}
	for i, id := range k.Covers {
		covered.index = i
		place := c.term(&covered, "", &c.ids.conditions, id)
		if place < 0 || c.concerns(place, region) {
			continue
		}
		spoken := "the " + k.Region
		if region >= 0 {
			spoken = c.at.regions[region].spoken
		}
		c.add(&covered, "", fmt.Sprintf("%s is no condition of %s", c.frame.Vocabulary.Conditions[place].Name, spoken),
			"give that region a clearance of its own")
	}
}

// concerns is true when a condition is of a region, or of the whole person.
func (c *checker) concerns(condition, region int) bool {
	regions := c.frame.lookups.regionsOf[condition]
	return len(regions) == 0 || slices.Contains(regions, region)
}

// degrees checks a value of a motion that must have a range; entry is the field that names the motion. It is false when
// the motion has none.
func (c *checker) degrees(entry, f *field, part string, motion int, v float64) bool {
	m := &c.at.motions[motion]
	if !m.hasRange {
		c.add(entry, "", m.name+" isn't measured in degrees", "write it under strength_n or hold_seconds")
		return false
	}
	c.within(f, part, c.path(m.active), m.name, v)
	return true
}

// measured checks every measure of a motion.
func (c *checker) measured() {
	c.inDegrees("profile.range_deg", c.p.RangeDeg)
	c.inDegrees("profile.passive_deg", c.p.PassiveDeg)
	c.inUnits("profile.strength_n", c.p.StrengthN, false)
	c.inUnits("profile.hold_seconds", c.p.HoldSeconds, true)
	f := entriesOf("profile.painful_arc_deg")
	for i := range c.p.PainfulArcs {
		a := &c.p.PainfulArcs[i]
		f.key = a.Motion
		c.painfulArc(&f, a)
	}
}

func (c *checker) inDegrees(name string, list []Measure) {
	f, motion := entriesOf(name), -1
	side := field{in: &f}
	for i := range list {
		m := &list[i]
		f.key, side.name = m.Of, sideKey(m.Side)
		if motion = c.entry(&f, &c.ids.motions, motion, m.Of); motion >= 0 && c.degrees(&f, &side, ".value", motion, m.Value) {
			c.sideOfMotion(&f, motion, m.Side)
		}
		c.checkMeasure(&side, m)
	}
}

func (c *checker) inUnits(name string, list []Measure, held bool) {
	f, motion := entriesOf(name), -1
	side := field{in: &f}
	for i := range list {
		m := &list[i]
		f.key, side.name = m.Of, sideKey(m.Side)
		if motion = c.entry(&f, &c.ids.motions, motion, m.Of); motion >= 0 {
			at := &c.at.motions[motion]
			number := at.strength
			if held {
				number = at.hold
			}
			if !c.can(number, m.Value) {
				c.outside(&side, ".value", c.path(number), at.spoken(held), m.Value)
			}
			c.sideOfMotion(&f, motion, m.Side)
		}
		c.checkMeasure(&side, m)
	}
}

// entry finds the id of an entry or an item that follows another; -1 when it is unknown.
func (c *checker) entry(f *field, known *terms, last int, id string) int {
	index := known.indexAfter(last, id)
	if index < 0 {
		c.unknown(f, "", known.kind, id, known.ids)
	}
	return index
}

func (c *checker) sideOfMotion(f *field, motion int, s Side) {
	m := &c.at.motions[motion]
	c.sideIn(f, m.name, m.sided, s)
}

func (c *checker) painfulArc(f *field, a *PainfulArc) {
	motion := c.term(f, "", &c.ids.motions, a.Motion)
	side := field{in: f, name: sideKey(a.Side)}
	if motion < 0 || !c.degrees(f, &side, ".from", motion, a.From) {
		return
	}
	c.within(&side, ".to", c.path(c.at.motions[motion].active), c.at.motions[motion].name, a.To)
	c.sideOfMotion(f, motion, a.Side)
	if a.From >= a.To {
		c.add(&side, ".to", fmt.Sprintf("the arc ends at %s, not beyond its start at %s", figure(a.To, "deg"), figure(a.From, "deg")),
			"write the smaller angle under from")
	}
}

// standings checks the pain and the rung of each region.
func (c *checker) standings() {
	f, region := entriesOf("profile.pain"), -1
	for i := range c.p.Pain {
		p := &c.p.Pain[i]
		f.key = p.Region
		region = c.region(&f, region, p.Region, p.Side)
		c.checkPain(&field{in: &f, name: sideKey(p.Side)}, p)
	}
	f, region = entriesOf("profile.rung"), -1
	rung := -1
	for i := range c.p.Rungs {
		s := &c.p.Rungs[i]
		f.key = s.Region
		region, rung = c.region(&f, region, s.Region, s.Side), c.ids.rungs.indexAfter(rung, s.At)
		c.rung(&f, region, rung, s)
	}
}

// region finds the region of an entry that follows the entry of another; -1 when it is unknown.
func (c *checker) region(f *field, last int, id string, s Side) int {
	index := c.entry(f, &c.ids.regions, last, id)
	if index >= 0 {
		c.sideIn(f, c.at.regions[index].spoken, c.frame.Vocabulary.Regions[index].Sided, s)
	}
	return index
}

func (c *checker) rung(f *field, region, rung int, s *Standing) {
	side := field{in: f, name: sideKey(s.Side)}
	c.checkStanding(&side, s)
	if region >= 0 && (rung < 0 || c.frame.lookups.rungAt[region][rung] < 0) {
		c.unknown(&side, ".at", "rung", s.At, c.frame.Ladder(s.Region).Rungs)
	}
}

// trained checks best performances and the log.
func (c *checker) trained() {
	f := entriesOf("profile.best")
	for i := range c.p.Best {
		b := &c.p.Best[i]
		f.key = b.Test
		c.term(&f, "", &c.ids.tests, b.Test)
		c.checkBest(&f, b)
	}
	f = itemsOf("profile.log.sets") // whose drills the catalogue needn't have: see Facts.LeftOut
	for i := range c.p.Log {
		if i%Stride == 0 && c.q.Abandoned() {
			return
		}
		s := &c.p.Log[i]
		f.index = i
		if s.Drill == "" {
			c.unknown(&f, ".drill", "drill", "", nil)
		}
		c.checkLoggedSet(&f, s)
	}
}
