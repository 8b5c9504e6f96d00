package client

// regionReport is what a request says about one region, gathered once from its lists.
type regionReport struct {
	sides [2]sideReport
}

type sideReport struct {
	complained, condition, tendon, operated, clearance, belowTop bool

	inQuestion bool  // worked out from all the rest
	doubted    bool  // in question, or a bone heals that may be there: nothing is presumed
	mild       bool  // all that is complained of there is mild
	flare      Day   // what was measured earlier is from before a complaint
	pain       *Pain // nil when none is young enough
	rung       int   // its index on the ladder, from 1; 0 when none was set
	rungSince  Day   // 0: nobody said since when
	levels     uint  // the irritabilities that are possible, each a bit
}

// gather sorts what was told by region. An id that no region has was refused by Check, and is passed over here.
func (d *deriver) gather() {
	for i := range d.Request.Complaints {
		d.gatherComplaint(&d.Request.Complaints[i])
	}
	for i := range d.p.Conditions {
		if c := &d.p.Conditions[i]; c.Status != "PAST" {
			d.gatherCondition(c)
		}
	}
	for i := range d.p.Clearances {
		c := &d.p.Clearances[i]
		if t := d.reportOf(c.Region); t != nil {
			for side, to := c.Side.indexes(); side < to; side++ {
				t.sides[side].clearance = true
			}
		}
	}
	for i := range d.p.Surgeries {
		d.gatherSurgery(&d.p.Surgeries[i])
	}
	region, rung := -1, -1
	for i := range d.p.Pain {
		if region = d.Frame.ids.regions.indexAfter(region, d.p.Pain[i].Region); region >= 0 {
			d.gatherPain(&d.told[region], &d.p.Pain[i])
		}
	}
	region = -1
	for i := range d.p.Rungs {
		k := &d.p.Rungs[i]
		region, rung = d.Frame.ids.regions.indexAfter(region, k.Region), d.Frame.ids.rungs.indexAfter(rung, k.At)
		if region >= 0 && rung >= 0 {
			d.gatherStanding(region, d.Frame.lookups.rungAt[region][rung], k)
		}
	}
}

func (d *deriver) reportOf(region string) *regionReport {
	if i := d.Frame.ids.regions.index(region); i >= 0 {
		return &d.told[i]
	}
	return nil
}

func (d *deriver) gatherComplaint(c *Complaint) {
	t := d.reportOf(c.Region)
	if t == nil {
		return
	}
	for side := range 2 {
		if s := &t.sides[side]; c.Side.On(side) {
			began := d.Request.AsOf - Day(c.Days)
			if !s.complained || began > s.flare {
				s.flare = began
			}
			s.complained = true
		}
	}
}

func (d *deriver) gatherCondition(c *Condition) {
	place := d.Frame.ids.conditions.index(c.ID)
	if place < 0 {
		return
	}
	for _, region := range d.Frame.lookups.regionsOf[place] {
		midline := !d.Frame.Vocabulary.Regions[region].Sided // a condition of hip and lower back has a side at the hip alone
		for side := range 2 {
			if s := &d.told[region].sides[side]; c.Side.On(side) || midline {
				s.condition = true
				onThisSide := c.Side != SideNone || midline
				if d.Frame.Vocabulary.Conditions[place].Tendon && onThisSide && c.ToldBy == "CLINICIAN" { // a milder reading wants it told
					s.tendon = true
					d.setTruth(d.Frame.at.regions[region].tendonNamed, side, Yes, Measured)
				}
			}
		}
	}
}

func (d *deriver) gatherSurgery(k *Surgery) {
	t := d.reportOf(k.Region)
	for side := range 2 {
		if t != nil && k.Side.On(side) {
			t.sides[side].operated = true
		}
	}
}

// gatherPain keeps the last scores that are young enough.
func (d *deriver) gatherPain(t *regionReport, p *Pain) {
	if int(d.Request.AsOf-p.Day) > d.Frame.Measures.ValidDays.Pain {
		return
	}
	for side := range 2 {
		if p.Side.On(side) {
			t.sides[side].pain = p
		}
	}
}

// gatherStanding keeps the first rung of each side.
func (d *deriver) gatherStanding(region, rung int, k *Standing) {
	for side, to := k.Side.indexes(); side < to; side++ {
		s := &d.told[region].sides[side]
		s.belowTop = s.belowTop || rung < d.Frame.lookups.tops[region]
		if s.rung == 0 {
			s.rung, s.rungSince = rung+1, k.Since
		}
	}
}
