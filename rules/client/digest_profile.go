package client

func (c *canonical) conditions(b []byte, p *Profile) []byte {
	b = appendLen(b, len(p.Conditions))
	for i := range p.Conditions {
		k := &p.Conditions[i]
		b = appendText(b, k.ID)
		b = appendSide(b, k.Side)
		b = c.day(b, k.Since)
		b = appendText(b, k.ToldBy)
		b = appendText(b, k.Status)
		b = appendText(b, k.Detail)
		b = appendText(b, k.Region)
	}
	b = appendBool(b, p.ConditionsTold)
	return b
}

func (c *canonical) clearances(b []byte, p *Profile) []byte {
	b = appendLen(b, len(p.Clearances))
	for i := range p.Clearances {
		k := &p.Clearances[i]
		b = appendText(b, k.By)
		b = appendText(b, k.Region)
		b = appendSide(b, k.Side)
		b = c.day(b, k.Given)
		b = c.day(b, k.Until)
		b = appendLen(b, len(k.RangeDeg))
		for _, l := range k.RangeDeg {
			b = appendText(b, l.Motion)
			b = appendNumber(b, l.ToDeg)
		}
		b = appendMaybeNumber(b, k.LoadKg)
		b = appendBool(b, k.NoOverhead)
		b = appendTexts(b, k.Covers)
		b = appendBool(b, k.Surgery)
	}
	b = appendBool(b, p.ClearancesTold)
	return b
}

func (c *canonical) measures(b []byte, list []Measure) []byte {
	b = appendLen(b, len(list))
	before := &Measure{}
	for i := range list {
		m := &list[i]
		b = appendAgain(b, before.Of, m.Of)
		b = appendSide(b, m.Side)
		b = appendNumber(b, m.Value)
		b = c.day(b, m.Day)
		b = appendAgain(b, before.By, m.By)
		b = appendAgain(b, before.Position, m.Position)
		before = m
		b = c.passed(b)
	}
	return b
}

func (c *canonical) painfulArcs(b []byte, list []PainfulArc) []byte {
	b = appendLen(b, len(list))
	for i := range list {
		a := &list[i]
		b = appendText(b, a.Motion)
		b = appendSide(b, a.Side)
		b = appendNumber(b, a.From)
		b = appendNumber(b, a.To)
	}
	return b
}

func (c *canonical) best(b []byte, list []Best) []byte {
	b = appendLen(b, len(list))
	for i := range list {
		x := &list[i]
		b = appendText(b, x.Test)
		b = appendMaybeInt(b, x.Sets)
		b = appendMaybeInt(b, x.Reps)
		b = appendMaybeNumber(b, x.LoadKg)
		b = appendText(b, x.Form)
		b = appendMaybeNumber(b, x.Pain)
		b = c.day(b, x.Day)
	}
	return b
}

func (c *canonical) pain(b []byte, list []Pain) []byte {
	b = appendLen(b, len(list))
	for i := range list {
		p := &list[i]
		b = appendText(b, p.Region)
		b = appendSide(b, p.Side)
		b = appendMaybeNumber(b, p.Rest)
		b = appendMaybeNumber(b, p.Worst)
		b = appendMaybeNumber(b, p.NextDay)
		b = appendMaybeNumber(b, p.SettleHours)
		b = appendMaybeBool(b, p.WakesAtNight)
		b = c.passed(c.day(b, p.Day))
	}
	return b
}

func (c *canonical) rungs(b []byte, list []Standing) []byte {
	b = appendLen(b, len(list))
	for i := range list {
		s := &list[i]
		b = appendText(b, s.Region)
		b = appendSide(b, s.Side)
		b = appendText(b, s.At)
		b = c.passed(c.day(b, s.Since))
	}
	return b
}

func (c *canonical) screening(b []byte, p *Profile) []byte {
	b = appendLen(b, len(p.Answers))
	for i := range p.Answers {
		a := &p.Answers[i]
		b = appendText(b, a.Question)
		b = appendText(b, a.Is)
		b = c.day(b, a.Day)
		b = appendBool(b, a.ComplaintInView)
		b = c.day(b, a.LookedAt)
	}
	if b = appendBool(b, p.Screening != nil); p.Screening != nil {
		b = appendTexts(b, p.Screening.Lists)
		b = c.day(b, p.Screening.Day)
		b = appendText(b, p.Screening.Others)
	}
	return b
}

// treated is operations, medicines, pregnancy and blood pressure.
func (c *canonical) treated(b []byte, p *Profile) []byte {
	b = appendLen(b, len(p.Surgeries))
	for i := range p.Surgeries {
		s := &p.Surgeries[i]
		b = appendText(b, s.ID)
		b = appendText(b, s.Region)
		b = appendSide(b, s.Side)
		b = c.day(b, s.Day)
		b = appendBool(b, s.FullTrainingSince)
	}
	b = appendBool(b, p.SurgeriesTold)
	b = appendLen(b, len(p.Medicines))
	for i := range p.Medicines {
		b = appendText(b, p.Medicines[i].Class)
		b = c.day(b, p.Medicines[i].Since)
	}
	b = appendBool(b, p.MedicinesTold)
	if g := p.Pregnancy; g != nil {
		b = appendBool(b, true)
		b = appendMaybeInt(b, g.Weeks)
		b = appendMaybeInt(b, g.PostnatalWeeks)
		b = appendBool(b, g.Section)
		b = appendMaybeBool(b, g.Agreed)
	} else {
		b = appendBool(b, false)
	}
	if r := p.BloodPressure; r != nil {
		b = appendBool(b, true)
		b = appendInt(b, r.Systolic)
		b = appendInt(b, r.Diastolic)
		b = c.day(b, r.Day)
	} else {
		b = appendBool(b, false)
	}
	return b
}

func (c *canonical) log(b []byte, list []LoggedSet) []byte {
	b = appendLen(b, len(list))
	before := ""
	for i := range list {
		s := &list[i]
		b = appendAgain(b, before, s.Drill)
		b = c.day(b, s.Day)
		b = appendSide(b, s.Side)
		b = appendInt(b, s.Reps)
		b = appendNumber(b, s.LoadKg)
		b = appendInt(b, s.HoldSeconds)
		b = appendMaybeNumber(b, s.Effort)
		b = appendMaybeNumber(b, s.Pain)
		b = appendMaybeNumber(b, s.NextDay)
		before = s.Drill
		b = c.passed(b)
	}
	return b
}
