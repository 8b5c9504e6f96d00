package client

import "slices"

func (d *deriver) person() {
	at := &d.Frame.at.person
	d.profileFacts(&at.profileFields, bothSides, d.p)
	d.pressure()
	d.pregnancy()
	d.hypermobile()
	d.bothWords(at.kit, d.kit())
	if d.medicinesKnown() {
		d.bothWords(at.medicines, d.medicines())
	}
}

// medicinesKnown is whether medicines were asked about; a yes that names none leaves them open.
func (d *deriver) medicinesKnown() bool {
	return (d.p.MedicinesTold || d.denied("takes_medicine")) && !d.Open("takes_medicine")
}

func (d *deriver) medicines() Set {
	from := len(d.words)
	for i := range d.p.Medicines {
		d.words = append(d.words, d.p.Medicines[i].Class)
	}
	return d.exactly(from)
}

// kit is what is at hand: what was told, what is always there, and what those count as.
func (d *deriver) kit() Set {
	kit, things := &d.Frame.ids.kit, &d.Frame.lookups
	have := slices.Clone(things.always)
	last := -1
	for _, id := range d.p.Kit {
		if last = kit.indexAfter(last, id); last >= 0 {
			things.have(have, last)
		}
	}
	from := len(d.words)
	for _, i := range things.inOrder {
		if have[i] {
			d.words = append(d.words, kit.ids[i])
		}
	}
	return d.sorted(from)
}

// pressure takes a reading that still counts; a denied question about high pressure rules the high values out.
func (d *deriver) pressure() {
	at := &d.Frame.at.person
	if b := d.p.BloodPressure; b != nil && int(d.Request.AsOf-b.Day) <= d.Frame.Measures.ValidDays.BloodPressure {
		d.both(at.systolic, float64(b.Systolic))
		d.both(at.diastolic, float64(b.Diastolic))
	} else if d.denied("high_blood_pressure") {
		for side := range 2 {
			d.setNumber(at.systolic, side, Span{bloodPressureSystolic.Lo, d.Frame.Measures.PressureWhenDenied.Systolic}, Presumed)
			d.setNumber(at.diastolic, side, Span{bloodPressureDiastolic.Lo, d.Frame.Measures.PressureWhenDenied.Diastolic}, Presumed)
		}
	}
}

// pregnancy takes what was told; a yes without weeks leaves them open, whatever else was told.
func (d *deriver) pregnancy() {
	p, open := d.p.Pregnancy, d.Open("pregnant_or_recent_birth")
	if p == nil && !open && (d.p.Sex == "MALE" || d.denied("pregnant_or_recent_birth")) {
		p = &Pregnancy{}
	}
	if p == nil || open {
		return
	}
	at, agreed := &d.Frame.at.person, Maybe
	if p.Agreed != nil {
		agreed = truth(*p.Agreed)
	}
	for side := range 2 {
		d.setNumber(at.weeks, side, stated(p.Weeks), Measured)
		d.setNumber(at.postnatalWeeks, side, stated(p.PostnatalWeeks), Measured)
		d.setTruth(at.section, side, truth(p.Section), Measured)
		d.setTruth(at.agreed, side, agreed, Measured)
	}
}

func stated(v *int) Span {
	if v == nil {
		return notStated
	}
	return Span{float64(*v), float64(*v)}
}

// hypermobile: a told condition goes before a score. Without either the client is presumed not to be, and that is listed; but
// it stays unknown where something speaks for it. Where nobody asked about conditions it stays unknown too, and only the
// ranges of quiet joints are presumed as if nothing spoke for it.
func (d *deriver) hypermobile() {
	at := d.Frame.at.person.hypermobile
	switch {
	case d.hasCondition("hypermobility"):
		d.bothTruth(at, Yes, Measured)
	case d.p.Beighton != nil:
		d.bothTruth(at, d.scored(*d.p.Beighton), Measured)
	case d.laxity():
		d.bothTruth(at, Maybe, NeverTaken)
	case !d.conditionsKnown():
		d.bothTruth(at, Maybe, NeverTaken)
		d.presume(&notAsked, 0)
		return
	default:
		d.bothTruth(at, No, Presumed)
		d.presume(&notHypermobile, 0)
	}
	d.loose = d.Bool[0][at.slot].Possible
}

var (
	notHypermobile = newPresumable("client.hypermobile", false,
		"joints that bend no further than usual: no score was told, and nothing speaks for more")
	notAsked = newPresumable("client.hypermobile", false,
		"ranges as of joints that bend no further than usual: no score was told, and nobody asked about conditions")
)

// scored is what a score says; at an age that nobody told it may be enough.
func (d *deriver) scored(score int) Truth {
	limits := &d.Frame.Measures.Hypermobile
	switch age := d.p.AgeYears; {
	case age == nil:
		return Truth{score >= max(limits.Score, limits.After), score >= min(limits.Score, limits.After)}
	case *age > limits.UpToAge:
		return truth(score >= limits.After)
	default:
		return truth(score >= limits.Score)
	}
}

// laxity is whether something speaks for loose joints: a condition now or before, a joint that came out of place or may have,
// or ranges measured, whenever that was, clearly beyond the usual.
func (d *deriver) laxity() bool {
	v := d.Frame.Vocabulary
	if slices.ContainsFunc(d.p.Conditions, func(c Condition) bool {
		index := v.Index("condition", c.ID)
		return index >= 0 && v.Conditions[index].Laxity
	}) {
		return true
	}
	if len(d.p.Surgeries) == 0 && d.Affirmed("surgery_or_dislocation") {
		return true
	}
	signs := 0
	for i := range d.p.RangeDeg {
		m := &d.p.RangeDeg[i]
		if of := v.Motion(m.Of); of != nil && of.LooseFrom != nil && m.Value >= *of.LooseFrom {
			from, to := m.Side.indexes()
			signs += to - from
		}
	}
	return d.Frame.Measures.Hypermobile.Signs > 0 && signs >= d.Frame.Measures.Hypermobile.Signs
}

func (d *deriver) hasCondition(id string) bool {
	return slices.ContainsFunc(d.p.Conditions, func(c Condition) bool { return c.ID == id && c.Status != "PAST" })
}
