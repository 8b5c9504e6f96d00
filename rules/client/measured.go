package client

// measures takes every measurement that still counts; of several of one side, the last of the list.
func (d *deriver) measures() {
	days := &d.Frame.Measures.ValidDays
	d.take(d.p.StrengthN, strength, days.Strength)
	d.take(d.p.HoldSeconds, hold, days.Hold)
	d.take(d.p.RangeDeg, active, days.Range)
	d.take(d.p.PassiveDeg, passive, days.Range)
}

// take sets the numbers of a list; a measurement that doesn't count leaves what was there, and says why.
func (d *deriver) take(list []Measure, what quantity, validDays int) {
	known, motions, motion := &d.Frame.ids.motions, d.Frame.at.motions, -1
	for i := range list {
		m := &list[i]
		if motion = known.indexAfter(motion, m.Of); motion < 0 {
			continue
		}
		at := &motions[motion]
		n, has := at.number(what)
		if !has {
			continue
		}
		for side, to := m.Side.indexes(); side < to; side++ {
			s := d.whether(m, &d.told[at.region].sides[side], validDays)
			d.Status[side][n.path] = s
			if s != Measured {
				continue
			}
			d.Num[side][n.slot] = Span{m.Value, m.Value}
			if what == active {
				d.value(at.margin, side, d.margin(m.By))
			}
		}
	}
}

func (d *deriver) whether(m *Measure, t *sideReport, validDays int) Status {
	switch {
	case int(d.Request.AsOf-m.Day) > validDays:
		return TooOld
	case t.complained && m.Day < t.flare:
		return BeforeFlare
	default:
		return Measured
	}
}

func (d *deriver) margin(by string) float64 {
	switch by {
	case "SAME_MEASURER":
		return d.Frame.Measures.Margin.SameMeasurer
	case "SELF":
		return d.Frame.Measures.Margin.Self
	default:
		return d.Frame.Measures.Margin.Other
	}
}

// motions compares the sides, and presumes the range of a quiet joint.
func (d *deriver) motions() {
	for i := range d.Frame.at.motions {
		at := &d.Frame.at.motions[i]
		d.gap(at.strength, at.gapStrength, true)
		d.gap(at.hold, at.gapHold, true)
		if at.hasRange {
			d.gap(at.active, at.gapRange, false)
			d.normal(i)
		}
	}
	for i := range d.p.PainfulArcs {
		d.painfulArc(&d.p.PainfulArcs[i])
	}
}

// gap is how much this side is short of the other: degrees of range, or percent of the stronger side.
func (d *deriver) gap(of, gap numberAt, percent bool) {
	if d.Status[0][of.path] != Measured || d.Status[1][of.path] != Measured {
		return
	}
	for side := range 2 {
		this, other := d.Num[side][of.slot].Lo, d.Num[1-side][of.slot].Lo
		short := other - this
		if strongest := max(this, other); percent && strongest > 0 {
			short = short / strongest * 100
		}
		d.value(gap, side, short)
	}
}

// normal tells the norm for the client's age, and presumes it where nothing was measured and nothing speaks against
// it: the region was asked about, nothing was found, and nothing speaks for loose joints.
func (d *deriver) normal(motion int) {
	if d.p.AgeYears == nil {
		return
	}
	norm := d.Frame.normFor(motion, *d.p.AgeYears)
	if norm == nil {
		return
	}
	at := &d.Frame.at.motions[motion]
	d.both(at.normLow, norm.low)
	for side := range 2 {
		if d.told[at.region].sides[side].doubted || d.loose {
			continue
		}
		if !d.Status[side][at.active.path].Known() {
			d.value(at.margin, side, d.Frame.Measures.Margin.SameMeasurer)
			d.setNumber(at.active, side, norm.presumed, Presumed)
			d.presume(norm.words, side)
		}
	}
}

func (d *deriver) painfulArc(a *PainfulArc) {
	motion := d.Frame.ids.motions.index(a.Motion)
	if motion < 0 || !d.Frame.at.motions[motion].hasRange {
		return
	}
	at := &d.Frame.at.motions[motion]
	for side := range 2 {
		if a.Side.On(side) {
			d.value(at.painfulFrom, side, a.From)
			d.value(at.painfulTo, side, a.To)
		}
	}
}
