package client

import (
	"strings"

	"drillwright/catalog"
)

// numberPaths makes the table, and notes where each fact is kept.
func (f *Frame) numberPaths() {
	t, v := &Table{byName: map[string]int{}}, f.Vocabulary
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
		m.region = int32(v.Place("region", v.Motions[i].Region))
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
	f.at.request = requestAt{
		kitTaken:       t.list("request.kit_taken", v.IDs("kit"), settled),
		stationsTaken:  t.list("request.stations_taken", v.IDs("station"), settled),
		complained:     t.yesNo("request.complained", settled),
		nerveBothSides: t.yesNo("request.nerve_signs_both_sides", settled),
		minutes:        t.number("request.minutes", "min", 0, 600, settled),
		side:           t.word("side", []string{"LEFT", "RIGHT"}, sided(true), settled),
	}
}

// The fields of a literal are numbered in the order in which they stand.

func (t *Table) person(v *catalog.Vocabulary) personAt {
	return personAt{
		age:            t.number("client.age_years", "years", 0, 120),
		mass:           t.number("client.body_mass_kg", "kg", 20, 400, testable("body mass")),
		beighton:       t.number("client.beighton", "", 0, 9),
		confidence:     t.number("client.confidence", "", 0, 10),
		programmeWeek:  t.number("client.programme_week", "weeks", 0, 520),
		weeks:          t.number("client.pregnancy.weeks", "weeks", 0, 45),
		postnatalWeeks: t.number("client.pregnancy.postnatal_weeks", "weeks", 0, 520),
		systolic:       t.number("client.blood_pressure.systolic", "mmHg", 60, 260),
		diastolic:      t.number("client.blood_pressure.diastolic", "mmHg", 30, 160),
		section:        t.yesNo("client.pregnancy.section"),
		agreed:         t.yesNo("client.pregnancy.agreed"),
		hypermobile:    t.yesNo("client.hypermobile"),
		painkiller:     t.yesNo("client.painkiller_today"),
		supervised:     t.yesNo("client.supervised"),
		guardian:       t.yesNo("client.guardian_present"),
		sex:            t.word("client.sex", []string{"FEMALE", "MALE"}),
		training:       t.word("client.training", []string{"NOVICE", "INTERMEDIATE", "ADVANCED"}),
		dominantSide:   t.word("client.dominant_side", []string{"LEFT", "RIGHT"}),
		conditions:     t.list("client.conditions", v.IDs("condition"), sided(true)),
		pastConditions: t.list("client.past_conditions", v.IDs("condition"), sided(true)),
		byClinician:    t.list("client.conditions_by_clinician", v.IDs("condition"), sided(true)),
		operations:     t.list("client.operations", v.IDs("procedure"), sided(true)),
		medicines:      t.list("client.medicines", v.IDs("medicine")),
		kit:            t.list("client.kit", v.IDs("kit"), changes, settled),
		disliked:       t.list("client.disliked", nil, settled),
		goalLifts:      t.list("client.goal_lifts", nil, settled),
		familiar:       t.list("client.familiar", nil, settled),
		worsened:       t.list("client.made_worse_by", nil, sided(true), settled),
	}
}

func (t *Table) motion(m *catalog.Motion) motionAt {
	s := sided(m.Sided)
	force := strings.TrimSpace(m.Name)
	w := motionAt{
		strength:    t.number("client.strength."+m.ID, "N", 0, 3000, s, changes, testable(force+" strength")),
		hold:        t.number("client.hold."+m.ID, "s", 0, 900, s, changes, testable(force+" hold")),
		gapStrength: t.number("client.gap.strength."+m.ID, "percent", -100, 100, s, testable(force+" strength, both sides")),
		gapHold:     t.number("client.gap.hold."+m.ID, "percent", -100, 100, s, testable(force+" hold, both sides")),
		sided:       m.Sided,
		name:        m.Name,
	}
	if !m.HasRange() {
		return w
	}
	lo, hi := m.Limits[0], m.Limits[1]
	w.hasRange = true
	w.active = t.number("client.range."+m.ID, "deg", lo, hi, s, changes, testable(m.Name))
	w.passive = t.number("client.passive."+m.ID, "deg", lo, hi, s, testable(m.Name+", passive"))
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
	s, pain, complaint := sided(r.Sided), "client.pain."+r.ID, "request.complaint."+r.ID
	top := 0.0
	if l != nil {
		top = float64(len(l.Rungs) - 1)
	}
	return regionAt{
		rest:           t.number(pain+".rest", "", 0, 10, s),
		worst:          t.number(pain+".worst", "", 0, 10, s),
		nextDay:        t.number(pain+".next_day", "", 0, 10, s),
		settleHours:    t.number(pain+".settle_hours", "h", 0, 336, s),
		restTold:       t.number(pain+".rest_told", "", 0, 10, s, settled),
		wakes:          t.yesNo(pain+".wakes_at_night", s),
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
		noOverhead:     t.yesNo("client.limit.no_overhead."+r.ID, s, settled),
		clearanceDays:  t.number("client.clearance_days."+r.ID, "days", 0, daysLimit, s, settled),
		limitLoad:      t.number("client.limit.load_kg."+r.ID, "kg", 0, 1000, s, settled),
		intensity:      t.number(complaint+".intensity", "", 0, 10, s, settled),
		days:           t.number(complaint+".days", "days", 0, daysLimit, s),
		newestDays:     t.number(complaint+".newest_days", "days", 0, daysLimit, s),
		lookedAt:       t.yesNo(complaint+".looked_at", s, settled),
		kinds:          t.list(complaint+".kinds", nil, s, settled),
		moments:        t.list(complaint+".moments", ComplaintMoments, s, settled),
		onsets:         t.list(complaint+".onsets", Onsets, s),
		spoken:         "the " + r.Name,
	}
}

func (t *Table) test(test catalog.Test) testAt {
	best := "client.best." + test.ID
	return testAt{
		sets: t.number(best+".sets", "", 0, 50, testable(test.Name)),
		reps: t.number(best+".reps", "", 0, 500, testable(test.Name)),
		load: t.number(best+".load_kg", "kg", 0, 500, testable(test.Name)),
		pain: t.number(best+".pain", "", 0, 10, testable(test.Name)),
		form: t.word(best+".form", []string{"OK", "POOR"}, testable(test.Name)),
	}
}
