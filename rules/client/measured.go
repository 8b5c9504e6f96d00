package client

import (
	"fmt"
	"math"
	"strings"

	"drillwright/catalog"
)

// motion fills what is measured of a motion, and presumes the range of a quiet joint.
func (d *deriver) motion(m *catalog.Motion) {
	days := d.Frame.Measures.ValidDays
	d.measures("client.strength."+m.ID, m, d.p.StrengthN, days.Strength)
	d.measures("client.hold."+m.ID, m, d.p.HoldSeconds, days.Hold)
	d.gap("strength", m.ID, true)
	d.gap("hold", m.ID, true)
	if !m.HasRange() {
		return
	}
	d.each(func(side int) { d.value("client.margin."+m.ID, side, 0) })
	d.measures("client.range."+m.ID, m, d.p.RangeDeg, days.Range)
	d.measures("client.passive."+m.ID, m, d.p.PassiveDeg, days.Range)
	d.gap("range", m.ID, false)
	low, known := d.normLow(m)
	if !known {
		low = math.NaN()
	}
	d.both("norm.low."+m.ID, low)
	for side := range 2 {
		d.setNumber("client.painful."+m.ID+".from", side, notStated, Measured)
		d.setNumber("client.painful."+m.ID+".to", side, notStated, Measured)
		if known && d.quiet(m.Region) && !d.StatusOf("client.range."+m.ID, side).Known() {
			d.presumeRange(m, side, low)
		}
	}
	for _, a := range d.p.PainfulArcs {
		for side := range 2 {
			if a.Motion == m.ID && a.Side.On(side) {
				d.value("client.painful."+m.ID+".from", side, a.From)
				d.value("client.painful."+m.ID+".to", side, a.To)
			}
		}
	}
}

// quiet: asked about, and nothing found; never with hypermobility.
func (d *deriver) quiet(region string) bool {
	return !d.InQuestion(region) && !d.Truth("client.hypermobile", 0).Possible
}

// presumeRange takes the norm's lower bound as the least that is there, to within the margin of a careful
// measurement, as if somebody had measured it: a drill that goes further, or above the height that counts as
// overhead, stays to be tested.
func (d *deriver) presumeRange(m *catalog.Motion, side int, low float64) {
	margin := d.Frame.Measures.Margin.SameMeasurer
	if m.OverheadAbove > 0 {
		low = min(low, m.OverheadAbove-margin)
	}
	d.value("client.margin."+m.ID, side, margin)
	d.setNumber("client.range."+m.ID, side, Span{low, max(low, m.Limits[1])}, Presumed)
	words := fmt.Sprintf("%s of %g° at least", m.Name, low)
	if !m.Sided {
		if side == 1 {
			return
		}
		d.Presumptions = append(d.Presumptions, Presumption{"client.range." + m.ID, SideNone, words})
		return
	}
	d.Presumptions = append(d.Presumptions, Presumption{"client.range." + m.ID, Sides[side], strings.ToLower(string(Sides[side])) + " " + words})
}

// normLow is the least adult mean for the age; under 18 a share of the least adult norm, for the middle of the range only.
func (d *deriver) normLow(m *catalog.Motion) (float64, bool) {
	if d.p.AgeYears == nil {
		return 0, false
	}
	age, youngest := *d.p.AgeYears, -1
	for i, n := range m.Norms {
		if n.Ages[0] <= age && age <= n.Ages[1] {
			return n.LowDeg, true
		}
		if youngest < 0 || n.Ages[0] < m.Norms[youngest].Ages[0] {
			youngest = i
		}
	}
	if age >= 18 || youngest < 0 {
		return 0, false
	}
	return m.Norms[youngest].LowDeg * d.Frame.Measures.Under18Share / 100, true
}

// measures takes the newest measurement of each side that still counts.
func (d *deriver) measures(name string, m *catalog.Motion, list []Measure, validDays int) {
	for side := range 2 {
		for _, x := range list {
			if x.Of != m.ID || !x.Side.On(side) {
				continue
			}
			switch {
			case int(d.Request.AsOf-x.Day) > validDays:
				d.setNumber(name, side, d.Number(name, side), TooOld)
			case d.beforeFlare(m.Region, side, x.Day):
				d.setNumber(name, side, d.Number(name, side), BeforeFlare)
			default:
				d.value(name, side, x.Value)
				if strings.HasPrefix(name, "client.range.") {
					d.value("client.margin."+m.ID, side, d.margin(x.By))
				}
			}
		}
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

func (d *deriver) beforeFlare(region string, side int, on Day) bool {
	for _, c := range d.Request.Complaints {
		if c.Region == region && c.Side.On(side) && on < d.Request.AsOf-Day(c.Days) {
			return true
		}
	}
	return false
}

// gap is how much this side is short of the other: degrees of range, or percent of the stronger side.
func (d *deriver) gap(what, motion string, percent bool) {
	l, r := "client."+what+"."+motion, "client.gap."+what+"."+motion
	if d.StatusOf(l, 0) != Measured || d.StatusOf(l, 1) != Measured {
		return
	}
	for side := range 2 {
		this, other := d.Number(l, side).Lo, d.Number(l, 1-side).Lo
		short := other - this
		if strongest := max(this, other); percent && strongest > 0 {
			short = short / strongest * 100
		}
		d.value(r, side, short)
	}
}

func (d *deriver) best() {
	for _, b := range d.p.Best {
		if int(d.Request.AsOf-b.Day) > d.Frame.Measures.ValidDays.Best {
			continue
		}
		base := "client.best." + b.Test
		whole := func(name string, v *int) {
			if v != nil {
				d.both(name, float64(*v))
			}
		}
		whole(base+".sets", b.Sets)
		whole(base+".reps", b.Reps)
		for side := range 2 {
			d.score(base+".load_kg", side, b.LoadKg)
			d.score(base+".pain", side, b.Pain)
		}
		if b.Form != "" {
			d.bothWords(base+".form", exactly(b.Form), Measured)
		}
	}
}

// log counts this week's sets by pattern, and the drills the client knows.
func (d *deriver) log() {
	sets, known := map[string]float64{}, []string{}
	for _, s := range d.p.Log {
		drill := d.Frame.Drills.Drill(s.Drill)
		known = append(known, s.Drill)
		if drill != nil && int(d.Request.AsOf-s.Day) < d.Frame.Measures.ValidDays.Week {
			sets[drill.Pattern.ID]++
		}
	}
	for _, p := range d.Frame.Vocabulary.Patterns {
		d.both("client.week_sets."+p.ID, sets[p.ID])
	}
	d.bothWords("client.familiar", exactly(known...), Measured)
}
