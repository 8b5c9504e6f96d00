package client

// measures takes every measurement that still counts; of several of one side, the last of the list.
func (d *deriver) measures() {
	days := &d.Frame.Measures.ValidDays
	d.eachMeasure(d.p.StrengthN, days.Strength, func(at *motionAt, side int, m *Measure, s Status) { d.take(at.strength, side, m.Value, s) })
	d.eachMeasure(d.p.HoldSeconds, days.Hold, func(at *motionAt, side int, m *Measure, s Status) { d.take(at.hold, side, m.Value, s) })
	d.eachMeasure(d.p.RangeDeg, days.Range, func(at *motionAt, side int, m *Measure, s Status) {
		if at.hasRange {
			d.take(at.active, side, m.Value, s)
			d.trust(at.margin, side, m.By, s)
		}
	})
	d.eachMeasure(d.p.PassiveDeg, days.Range, func(at *motionAt, side int, m *Measure, s Status) {
		if at.hasRange {
			d.take(at.passive, side, m.Value, s)
		}
	})
}

// eachMeasure calls take for every side that a measurement is of, with Measured or the reason why it doesn't count.
func (d *deriver) eachMeasure(list []Measure, validDays int, take func(*motionAt, int, *Measure, Status)) {
	motion := -1
	for i := range list {
		m := &list[i]
		if motion = d.Frame.ids.motions.placeAfter(motion, m.Of); motion < 0 {
			continue
		}
		for side := range 2 {
			if m.Side.On(side) {
				take(&d.Frame.at.motions[motion], side, m, d.whether(m, motion, side, validDays))
			}
		}
	}
}

func (d *deriver) whether(m *Measure, motion, side, validDays int) Status {
	t := &d.told[d.Frame.things.regionOf[motion]].sides[side]
	switch {
	case int(d.Request.AsOf-m.Day) > validDays:
		return TooOld
	case t.complained && m.Day < t.flare:
		return BeforeFlare
	default:
		return Measured
	}
}

// take sets a number; one that doesn't count leaves what was there, and says why.
func (d *deriver) take(n numberAt, side int, v float64, s Status) {
	if s == Measured {
		d.Num[side][n.slot] = Span{v, v}
	}
	d.Status[side][n.path] = s
}

// trust sets the margin of a range that counts.
func (d *deriver) trust(margin numberAt, side int, by string, s Status) {
	if s == Measured {
		d.value(margin, side, d.margin(by))
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
// it: the region was asked about, nothing was found, and the client isn't hypermobile.
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
	if d.told[d.Frame.things.regionOf[motion]].inQuestion || d.Bool[0][d.Frame.at.person.hypermobile.slot].Possible {
		return
	}
	for side := range 2 {
		if !d.Status[side][at.active.path].Known() {
			d.value(at.margin, side, d.Frame.Measures.Margin.SameMeasurer)
			d.setNumber(at.active, side, norm.presumed, Presumed)
			d.presume(&norm.words, side)
		}
	}
}

func (d *deriver) painfulArc(a *PainfulArc) {
	motion := d.Frame.ids.motions.place(a.Motion)
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
