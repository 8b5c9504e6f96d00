package client

import (
	"math"
	"slices"
)

// pressure takes a reading that still counts; a denied question about high pressure rules the high values out.
func (d *deriver) pressure() {
	if b := d.p.BloodPressure; b != nil && int(d.Request.AsOf-b.Day) <= d.Frame.Measures.ValidDays.BloodPressure {
		d.both("client.blood_pressure.systolic", float64(b.Systolic))
		d.both("client.blood_pressure.diastolic", float64(b.Diastolic))
	} else if d.denied("high_blood_pressure") {
		for side := range 2 {
			d.setNumber("client.blood_pressure.systolic", side, Span{60, d.Frame.Measures.PressureWhenDenied.Systolic}, Presumed)
			d.setNumber("client.blood_pressure.diastolic", side, Span{30, d.Frame.Measures.PressureWhenDenied.Diastolic}, Presumed)
		}
	}
}

func (d *deriver) pregnancy() {
	p := d.p.Pregnancy
	spans := [2]Span{d.Number("client.pregnancy.weeks", 0), d.Number("client.pregnancy.postnatal_weeks", 0)}
	status, section, agreed := NeverTaken, Maybe, Maybe
	if p == nil && (d.p.Sex == "MALE" || d.denied("pregnant_or_recent_birth")) {
		p = &Pregnancy{}
	}
	if p != nil {
		spans, status = [2]Span{stated(p.Weeks), stated(p.PostnatalWeeks)}, Measured
		section = Truth{p.Section, p.Section}
		if p.Agreed != nil {
			agreed = Truth{*p.Agreed, *p.Agreed}
		}
	}
	for side := range 2 {
		d.setNumber("client.pregnancy.weeks", side, spans[0], status)
		d.setNumber("client.pregnancy.postnatal_weeks", side, spans[1], status)
		d.setTruth("client.pregnancy.section", side, section, status)
		d.setTruth("client.pregnancy.agreed", side, agreed, status)
	}
}

func stated(v *int) Span {
	if v == nil {
		return notStated
	}
	return Span{float64(*v), float64(*v)}
}

func (d *deriver) hypermobile() Truth {
	if d.p.Beighton == nil {
		has := d.hasCondition("hypermobility")
		return Truth{has, has}
	}
	limit := d.Frame.Measures.Hypermobile.Score
	if d.p.AgeYears != nil && *d.p.AgeYears > d.Frame.Measures.Hypermobile.UpToAge {
		limit = d.Frame.Measures.Hypermobile.After
	}
	loose := *d.p.Beighton >= limit
	return Truth{loose, loose}
}

func (d *deriver) hasCondition(id string) bool {
	return slices.ContainsFunc(d.p.Conditions, func(c Condition) bool { return c.ID == id && c.Status != "PAST" })
}

func (d *deriver) conditions() {
	if !d.p.ConditionsTold && !d.denied("known_condition") {
		return
	}
	for side := range 2 {
		var now, past, told []string
		for _, c := range d.p.Conditions {
			switch {
			case !c.Side.On(side):
			case c.Status == "PAST":
				past = append(past, c.ID)
			default:
				now = append(now, c.ID)
				if c.ToldBy == "CLINICIAN" {
					told = append(told, c.ID)
				}
			}
		}
		d.setWords("client.conditions", side, exactly(now...), Measured)
		d.setWords("client.past_conditions", side, exactly(past...), Measured)
		d.setWords("client.conditions_by_clinician", side, exactly(told...), Measured)
	}
}

// standing is true for a clinician's clearance that counts on the day.
func (d *deriver) standing(c Clearance) bool {
	return c.By == "CLINICIAN" && c.Given <= d.Request.AsOf && (c.Until == 0 || d.Request.AsOf <= c.Until)
}

func (d *deriver) clearances() {
	for _, m := range d.Frame.Vocabulary.Motions {
		if m.HasRange() {
			d.each(func(side int) { d.setNumber("client.limit.range."+m.ID, side, notStated, Measured) })
		}
	}
	for _, r := range d.Frame.Vocabulary.Regions {
		for side := range 2 {
			d.setNumber("client.limit.load_kg."+r.ID, side, notStated, Measured)
			overhead, cleared, operated := No, No, d.operated(r.ID, side)
			for _, c := range d.p.Clearances {
				if c.Region != r.ID || !c.Side.On(side) || !d.standing(c) {
					continue
				}
				d.limits(c, side)
				cleared = Yes
				if c.NoOverhead {
					overhead = Yes
				}
				d.Covered[side] = append(d.Covered[side], d.coveredBy(c, side)...)
			}
			d.setTruth("client.limit.no_overhead."+r.ID, side, overhead, Measured)
			d.setTruth("client.cleared."+r.ID, side, cleared, Measured)
			d.setTruth("client.surgery."+r.ID, side, operated, Measured)
		}
	}
}

func (d *deriver) each(do func(side int)) {
	do(0)
	do(1)
}

// limits takes the tightest of several clearances.
func (d *deriver) limits(c Clearance, side int) {
	tighter := func(name string, v float64) {
		if had := d.Number(name, side); math.IsNaN(had.Lo) || v < had.Lo {
			d.value(name, side, v)
		}
	}
	for _, l := range c.RangeDeg {
		tighter("client.limit.range."+l.Motion, l.ToDeg)
	}
	if c.LoadKg != nil {
		tighter("client.limit.load_kg."+c.Region, *c.LoadKg)
	}
}

// coveredBy lists the conditions a clearance covers, less those that began after it was given.
func (d *deriver) coveredBy(c Clearance, side int) []string {
	var ids []string
	for _, id := range c.Covers {
		newer := slices.ContainsFunc(d.p.Conditions, func(k Condition) bool {
			return k.ID == id && k.Side.On(side) && k.Since > c.Given
		})
		if !newer {
			ids = append(ids, id)
		}
	}
	return ids
}

func (d *deriver) operated(region string, side int) Truth {
	for _, s := range d.p.Surgeries {
		if s.Region == region && s.Side.On(side) {
			return Yes
		}
	}
	if d.p.SurgeriesTold || d.denied("surgery_or_dislocation") {
		return No
	}
	return Maybe
}

func (d *deriver) complained(region string) bool {
	return slices.ContainsFunc(d.Request.Complaints, func(c Complaint) bool { return c.Region == region })
}

func (d *deriver) conditionIn(region string) bool {
	return slices.ContainsFunc(d.p.Conditions, func(c Condition) bool {
		i := d.Frame.Vocabulary.Place("condition", c.ID)
		return c.Status != "PAST" && i >= 0 && slices.Contains(d.Frame.Vocabulary.Conditions[i].Regions, region)
	})
}

func (d *deriver) tendon(region string, side int) bool {
	return slices.ContainsFunc(d.p.Conditions, func(c Condition) bool {
		i := d.Frame.Vocabulary.Place("condition", c.ID)
		return i >= 0 && c.Status != "PAST" && c.Side.On(side) && d.Frame.Vocabulary.Conditions[i].Tendon &&
			slices.Contains(d.Frame.Vocabulary.Conditions[i].Regions, region)
	})
}
