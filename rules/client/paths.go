package client

import "drillwright/catalog"

// numberPaths makes the table, and notes where each fact is kept. The order of paths is that in which changes are told, and must stay.
func (f *Frame) numberPaths() {
	v := f.Vocabulary
	t := &Table{byName: map[string]int{}, vocabulary: v}
	f.Table, f.at.person = t, t.person(v)
	for _, id := range v.IDs("condition") {
		f.at.person.conditionDays = append(f.at.person.conditionDays,
			t.number("client.condition_days."+id, "days", 0, daysLimit, sided(true)))
	}
	for _, id := range v.IDs("procedure") {
		f.at.person.operationWeeks = append(f.at.person.operationWeeks,
			t.number("client.operation_weeks."+id, "weeks", 0, weeksLimit, sided(true)))
	}
	for i := range v.Motions {
		m := t.motion(&v.Motions[i])
		m.region = int32(v.Index("region", v.Motions[i].Region))
		f.at.motions = append(f.at.motions, m)
	}
	for _, r := range v.Regions {
		f.at.regions = append(f.at.regions, t.region(r, f.Ladder(r.ID)))
	}
	for _, test := range v.Tests {
		f.at.tests = append(f.at.tests, t.test(test))
	}
	for _, id := range f.QuestionIDs() {
		f.at.answers = append(f.at.answers, t.yesNo("client.answers."+id))
	}
	for _, p := range v.Patterns {
		f.at.weekSets = append(f.at.weekSets, t.number("client.week_sets."+p.ID, "", 0, 1000, settled))
	}
	for _, s := range v.Stressors {
		f.at.allowed = append(f.at.allowed, t.number("request.allowed."+s.ID, "", 0, 3, sided(true), settled))
	}
	f.at.request = t.request()
}

// The fields of a literal are numbered in the order in which they stand.

func (t *Table) request() requestAt {
	t.inOrder(subject{}, &requestKitTaken, &requestStationsTaken)
	return requestAt{
		complained:     t.yesNo("request.complained", settled),
		nerveBothSides: t.yesNo("request.nerve_signs_both_sides", settled),
		requestFields:  t.requestFields(subject{}),
		side:           t.word("side", []string{"LEFT", "RIGHT"}, sided(true), settled),
	}
}

func (t *Table) person(v *catalog.Vocabulary) (at personAt) {
	t.inOrder(subject{}, &profileAgeYears, &profileBodyMassKg, &profileBeighton, &profileConfidence, &profileProgrammeWeek, &pregnancyWeeks,
		&pregnancyPostnatalWeeks)
	at.bloodPressureFields = t.bloodPressureFields(subject{})
	at.pregnancyFields = t.pregnancyFields(subject{})
	at.hypermobile = t.yesNo("client.hypermobile")
	t.inOrder(subject{}, &profilePainkillerToday, &profileSupervised, &profileGuardianPresent, &profileSex, &profileTraining,
		&profileDominantSide)
	at.conditions = t.list("client.conditions", v.IDs("condition"), sided(true))
	at.pastConditions = t.list("client.past_conditions", v.IDs("condition"), sided(true))
	at.byClinician = t.list("client.conditions_by_clinician", v.IDs("condition"), sided(true))
	at.operations = t.list("client.operations", v.IDs("procedure"), sided(true))
	at.medicines = t.list("client.medicines", v.IDs("medicine"))
	at.profileFields = t.profileFields(subject{})
	at.familiar = t.list("client.familiar", nil, settled)
	at.worsened = t.list("client.made_worse_by", nil, sided(true), settled)
	return at
}

func (t *Table) motion(m *catalog.Motion) motionAt {
	s, of := sided(m.Sided), subject{id: m.ID, name: m.Name, sided: m.Sided}
	w := motionAt{
		strength:    numberAt(t.reported(&profileStrengthN, of)),
		hold:        numberAt(t.reported(&profileHoldSeconds, of)),
		gapStrength: t.number("client.gap.strength."+m.ID, "percent", -100, 100, s, testable(m.Name+" strength, both sides")),
		gapHold:     t.number("client.gap.hold."+m.ID, "percent", -100, 100, s, testable(m.Name+" hold, both sides")),
		sided:       m.Sided,
		name:        m.Name,
	}
	if !m.HasRange() {
		return w
	}
	lo, hi := m.Limits[0], m.Limits[1]
	w.hasRange, of.limits = true, &Span{lo, hi}
	w.active = numberAt(t.reported(&profileRangeDeg, of))
	w.passive = numberAt(t.reported(&profilePassiveDeg, of))
	w.margin = t.number("client.margin."+m.ID, "deg", 0, 60, s, settled)
	w.gapRange = t.number("client.gap.range."+m.ID, "deg", lo-hi, hi-lo, s, testable(m.Name+", both sides"))
	w.painfulFrom = t.number("client.painful."+m.ID+".from", "deg", lo, hi, s, settled)
	w.painfulTo = t.number("client.painful."+m.ID+".to", "deg", lo, hi, s, settled)
	w.shown = t.number("client.shown."+m.ID, "deg", min(0, lo), max(0, hi), s, settled)
	w.limitRange = t.number("client.limit.range."+m.ID, "deg", lo, hi, s, settled)
	w.normLow = t.number("norm.low."+m.ID, "deg", lo, hi, settled)
	return w
}

func (t *Table) region(r catalog.Region, l *Ladder) regionAt {
	s, of, complaint := sided(r.Sided), subject{id: r.ID, name: r.Name, sided: r.Sided}, "request.complaint."+r.ID
	top := 0.0
	if l != nil {
		top = float64(len(l.Rungs) - 1)
	}
	t.inOrder(of, &painRest, &painWorst, &painNextDay, &painSettleHours)
	at := regionAt{
		restTold:       t.number("client.pain."+r.ID+".rest_told", "", 0, 10, s, settled),
		painFields:     t.painFields(of),
		irritability:   t.word("client.irritability."+r.ID, Irritabilities, s),
		rung:           t.number("client.rung."+r.ID, "rung", 0, top, s, settled),
		inQuestion:     t.yesNo("client.in_question."+r.ID, s, settled),
		surgery:        t.yesNo("client.surgery."+r.ID, s),
		cleared:        t.yesNo("client.cleared."+r.ID, s, settled),
		surgeryCleared: t.yesNo("client.surgery_cleared."+r.ID, s, settled),
		surgeryWeeks:   t.number("client.surgery_weeks."+r.ID, "weeks", 0, weeksLimit, s),
		trainedSince:   t.yesNo("client.trained_since_surgery."+r.ID, s),
		healingBone:    t.yesNo("client.healing_bone."+r.ID, s),
		sore:           t.yesNo("client.sore."+r.ID, s, settled),
		nerveExplained: t.yesNo("client.nerve_explained."+r.ID, s, settled),
		tendonNamed:    t.yesNo("client.tendon_named."+r.ID, s, settled),
		otherSide:      t.yesNo("client.other_side_in_question."+r.ID, s, settled),
		quietSide:      t.yesNo("client.quiet_side."+r.ID, s, settled),
		rungByLift:     t.yesNo("client.rung_by_lift."+r.ID, s, settled),
		entryRung:      t.number("client.entry_rung."+r.ID, "rung", 0, top, s, settled),
		rungSince:      t.yesNo("client.rung_since_complaint."+r.ID, s, settled),
		spoken:         "the " + r.Name,
	}
	t.inOrder(of, &clearanceNoOverhead)
	at.clearanceDays = t.number("client.clearance_days."+r.ID, "days", 0, daysLimit, s, settled)
	at.limit = t.clearanceFields(of)
	at.complaint = t.complaintFields(of)
	at.newestDays = t.number(complaint+".newest_days", "days", 0, daysLimit, s)
	at.lookedAt = t.yesNo(complaint+".looked_at", s, settled)
	at.kinds = t.list(complaint+".kinds", nil, s, settled)
	at.moments = t.list(complaint+".moments", complaintMomentWords, s, settled)
	at.onsets = t.list(complaint+".onsets", complaintOnsetWords, s)
	return at
}

func (t *Table) test(test catalog.Test) bestFields {
	of := subject{id: test.ID, name: test.Name}
	t.inOrder(of, &bestSets, &bestReps, &bestLoadKg, &bestPain)
	return t.bestFields(of)
}
