package client

import "slices"

func (d *deriver) person() {
	at, p := &d.Frame.at.person, d.p
	d.whole(at.age, p.AgeYears)
	d.whole(at.beighton, p.Beighton)
	d.whole(at.confidence, p.Confidence)
	d.whole(at.programmeWeek, p.ProgrammeWeek)
	d.number(at.mass, p.BodyMassKg)
	d.yesNo(at.painkiller, p.PainkillerToday)
	d.yesNo(at.supervised, p.Supervised)
	d.yesNo(at.guardian, p.GuardianPresent)
	d.word(at.sex, p.Sex)
	d.word(at.training, p.Training)
	d.word(at.dominantSide, string(p.DominantSide))
	d.pressure()
	d.pregnancy()
	d.bothTruth(at.hypermobile, truth(d.hypermobile()), Measured)
	d.bothWords(at.kit, d.kit())
	d.bothWords(at.disliked, d.listed(p.Disliked...))
	d.bothWords(at.goalLifts, d.listed(p.GoalLifts...))
	if d.medicinesKnown() {
		d.bothWords(at.medicines, d.medicines())
	}
}

// What was not told stays as it is.

func (d *deriver) whole(n numberAt, v *int) {
	if v != nil {
		d.both(n, float64(*v))
	}
}

func (d *deriver) number(n numberAt, v *float64) {
	if v != nil {
		d.both(n, *v)
	}
}

func (d *deriver) yesNo(t truthAt, v *bool) {
	if v != nil {
		d.bothTruth(t, truth(*v), Measured)
	}
}

func (d *deriver) word(w wordsAt, v string) {
	if v != "" {
		d.bothWords(w, d.listed(v))
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
	kit, things := &d.Frame.ids.kit, &d.Frame.things
	have := slices.Clone(things.always)
	last := -1
	for _, id := range d.p.Kit {
		if last = kit.placeAfter(last, id); last >= 0 {
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
			d.setNumber(at.systolic, side, Span{60, d.Frame.Measures.PressureWhenDenied.Systolic}, Presumed)
			d.setNumber(at.diastolic, side, Span{30, d.Frame.Measures.PressureWhenDenied.Diastolic}, Presumed)
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

func (d *deriver) hypermobile() bool {
	if d.p.Beighton == nil {
		return d.hasCondition("hypermobility")
	}
	limit := d.Frame.Measures.Hypermobile.Score
	if d.p.AgeYears != nil && *d.p.AgeYears > d.Frame.Measures.Hypermobile.UpToAge {
		limit = d.Frame.Measures.Hypermobile.After
	}
	return *d.p.Beighton >= limit
}

func (d *deriver) hasCondition(id string) bool {
	return slices.ContainsFunc(d.p.Conditions, func(c Condition) bool { return c.ID == id && c.Status != "PAST" })
}
