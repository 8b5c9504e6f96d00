package server

import (
	"slices"

	v1 "drillwright/proto/drillwright/v1"
	"drillwright/rules/client"
)

// toProfile converts a profile. Maps become lists in order of key, so that equal profiles are equal.
func (r *reader) toProfile(p *v1.Profile) {
	room := r.profile
	r.profile = client.Profile{
		Ref: p.GetRef(), AgeYears: r.whole(p.AgeYears), Sex: word(p.GetSex()), Training: word(p.GetTraining()),
		BodyMassKg: number(p.BodyMassKg), DominantSide: side(p.GetDominantSide()),
		Kit: p.GetKit().GetHas(), KitTold: p.Kit != nil,
		ConditionsTold: p.Conditions != nil, ClearancesTold: len(p.GetClearances()) > 0,
		SurgeriesTold: p.Surgeries != nil, MedicinesTold: p.Medicines != nil,
		PainfulArcs: r.painfulArcs(p.GetPainfulArcDeg()), Best: r.best(room.Best, p.GetBest()),
		Pain: r.pain(room.Pain, p.GetPain()), Rungs: r.rungs(room.Rungs, p.GetRung()),
		Answers: r.answers(room.Answers, p.GetAnswers()), Screening: r.screening(p.GetScreening()),
		Pregnancy: r.pregnancy(p.GetPregnancy()), BloodPressure: r.pressure(p.GetBloodPressure()),
		Beighton: r.whole(p.Beighton), PainkillerToday: p.PainkillerToday, Supervised: p.Supervised, GuardianPresent: p.GuardianPresent,
		Confidence: r.whole(p.Confidence), ProgrammeWeek: r.whole(p.ProgrammeWeek), Disliked: p.GetDisliked(), GoalLifts: p.GetGoalLifts(),
		Log: r.log(room.Log, p.GetLog().GetSets()),
	}
	r.health(p, &r.profile)
	r.measured(p, &r.profile)
}

// health converts what was told of conditions, operations, medicines and clearances.
func (r *reader) health(p *v1.Profile, out *client.Profile) {
	for i, c := range p.GetConditions().GetKnown() {
		out.Conditions = append(out.Conditions, client.Condition{ID: c.GetId(), Side: side(c.GetSide()), ToldBy: word(c.GetToldBy()),
			Since: r.dayOf(c.GetSince(), "profile.conditions.known", i, ".since"), Status: word(c.GetStatus()), Detail: c.GetDetail(),
			Region: c.GetRegion()})
	}
	for i, s := range p.GetSurgeries().GetKnown() {
		out.Surgeries = append(out.Surgeries, client.Surgery{ID: s.GetId(), Region: s.GetRegion(), Side: side(s.GetSide()),
			Day: r.dayOf(s.GetDate(), "profile.surgeries.known", i, ".date"), FullTrainingSince: s.GetFullTrainingSince()})
	}
	for i, m := range p.GetMedicines().GetKnown() {
		out.Medicines = append(out.Medicines, client.Medicine{Class: m.GetClass(),
			Since: r.dayOf(m.GetSince(), "profile.medicines.known", i, ".since")})
	}
	for i, c := range p.GetClearances() {
		clearance := client.Clearance{By: word(c.GetBy()), Region: c.GetRegion(), Side: side(c.GetSide()),
			Given: r.dayOf(c.GetGiven(), "profile.clearances", i, ".given"), Until: r.dayOf(c.GetUntil(), "profile.clearances", i, ".until"),
			LoadKg: number(c.LoadKg), NoOverhead: c.GetNoOverhead(), Covers: c.GetCovers(), Surgery: c.GetSurgery()}
		for motion, deg := range inOrder(c.GetRangeDeg(), r.keys.Motions) {
			clearance.RangeDeg = append(clearance.RangeDeg, client.Limit{Motion: motion, ToDeg: fold(deg)})
		}
		out.Clearances = append(out.Clearances, clearance)
	}
}

// measured converts the four maps of measures, into one array.
func (r *reader) measured(p *v1.Profile, out *client.Profile) {
	most := len(entries) * (len(p.GetRangeDeg()) + len(p.GetPassiveDeg()) + len(p.GetStrengthN()) + len(p.GetHoldSeconds()))
	r.measures = slices.Grow(r.measures, most)
	out.RangeDeg = r.measuresOf("profile.range_deg", p.GetRangeDeg())
	out.PassiveDeg = r.measuresOf("profile.passive_deg", p.GetPassiveDeg())
	out.StrengthN = r.measuresOf("profile.strength_n", p.GetStrengthN())
	out.HoldSeconds = r.measuresOf("profile.hold_seconds", p.GetHoldSeconds())
}

func (r *reader) measuresOf(field string, m map[string]*v1.SidedMeasure) []client.Measure {
	from := len(r.measures)
	for of, e := range inOrder(m, r.keys.Motions) {
		for i, x := range [...]*v1.Measure{e.GetLeft(), e.GetRight(), e.GetMidline()} {
			if x != nil {
				r.measures = r.measures[:len(r.measures)+1]
				m := &r.measures[len(r.measures)-1] // written in place: a profile has hundreds
				m.Of, m.Side, m.Value, m.By, m.Position = of, entries[i].side, fold(x.GetValue()), by(x.GetBy()), x.GetPosition()
				m.Day = r.dayUnder(x.GetDate(), field, of, entries[i].key, ".date")
			}
		}
	}
	return slices.Clip(r.measures[from:])
}

// by is word for who measured, which a profile says a hundred times.
func by(who v1.MeasuredBy) string {
	switch who {
	case v1.MeasuredBy_SAME_MEASURER:
		return "SAME_MEASURER"
	case v1.MeasuredBy_OTHER:
		return "OTHER"
	case v1.MeasuredBy_SELF:
		return "SELF"
	default:
		return ""
	}
}

func (r *reader) painfulArcs(m map[string]*v1.SidedArc) []client.PainfulArc {
	var out []client.PainfulArc
	for of, e := range inOrder(m, r.keys.Motions) {
		for i, x := range [...]*v1.PainfulArc{e.GetLeft(), e.GetRight(), e.GetMidline()} {
			if x != nil {
				out = append(out, client.PainfulArc{Motion: of, Side: entries[i].side, From: fold(x.GetFrom()), To: fold(x.GetTo())})
			}
		}
	}
	return out
}

func (r *reader) best(out []client.Best, m map[string]*v1.Best) []client.Best {
	for test, b := range inOrder(m, r.keys.Tests) {
		out = append(out, client.Best{Test: test, Sets: r.whole(b.Sets), Reps: r.whole(b.Reps), LoadKg: number(b.LoadKg), Form: word(b.GetForm()),
			Pain: number(b.Pain), Day: r.dayUnder(b.GetDate(), "profile.best", test, "", ".date")})
	}
	return out
}

func (r *reader) pain(out []client.Pain, m map[string]*v1.SidedPain) []client.Pain {
	for region, e := range inOrder(m, r.keys.Regions) {
		for i, x := range [...]*v1.Pain{e.GetLeft(), e.GetRight(), e.GetMidline()} {
			if x != nil {
				out = append(out, client.Pain{Region: region, Side: entries[i].side, Rest: number(x.Rest), Worst: number(x.Worst), NextDay: number(x.NextDay),
					SettleHours: number(x.SettleHours), WakesAtNight: x.WakesAtNight, Day: r.dayUnder(x.GetDate(), "profile.pain", region, entries[i].key, ".date")})
			}
		}
	}
	return out
}

func (r *reader) rungs(out []client.Standing, m map[string]*v1.SidedRung) []client.Standing {
	for region, e := range inOrder(m, r.keys.Regions) {
		for i, x := range [...]*v1.Standing{e.GetLeft(), e.GetRight(), e.GetMidline()} {
			if x != nil {
				out = append(out, client.Standing{Region: region, Side: entries[i].side, At: x.GetAt(),
					Since: r.dayUnder(x.GetSince(), "profile.rung", region, entries[i].key, ".since")})
			}
		}
	}
	return out
}

func (r *reader) answers(out []client.Answer, m map[string]*v1.Answer) []client.Answer {
	for q, a := range inOrder(m, r.keys.Questions) {
		out = append(out, client.Answer{Question: q, Is: word(a.GetIs()), Day: r.dayUnder(a.GetDate(), "profile.answers", q, "", ".date"),
			ComplaintInView: a.GetComplaintInView(), LookedAt: r.dayUnder(a.GetLookedAt(), "profile.answers", q, "", ".looked_at")})
	}
	return out
}

func (r *reader) screening(s *v1.Screening) *client.Screening {
	if s == nil {
		return nil
	}
	return &client.Screening{Lists: append([]string{s.GetList()}, s.GetAlso()...), Day: r.day(s.GetOn(), "profile.screening.on"), Others: word(s.GetOthers())}
}

func (r *reader) pregnancy(p *v1.Pregnancy) *client.Pregnancy {
	if p == nil {
		return nil
	}
	return &client.Pregnancy{Weeks: r.whole(p.Weeks), PostnatalWeeks: r.whole(p.PostnatalWeeks), Section: p.GetSection(), Agreed: p.Agreed}
}

func (r *reader) pressure(b *v1.BloodPressure) *client.BloodPressure {
	if b == nil {
		return nil
	}
	return &client.BloodPressure{Systolic: int(b.GetSystolic()), Diastolic: int(b.GetDiastolic()), Day: r.day(b.GetDate(), "profile.blood_pressure.date")}
}

func (r *reader) complaints(list []*v1.Complaint) []client.Complaint {
	var out []client.Complaint
	for i, c := range list {
		out = append(out, client.Complaint{Region: c.GetRegion(), Side: side(c.GetSide()), Intensity: fold(c.GetIntensity()),
			Moment: word(c.GetMoment()), Kind: word(c.GetKind()), Onset: word(c.GetOnset()), Days: int(c.GetDays()),
			LookedAt: r.dayOf(c.GetLookedAt(), "complaints", i, ".looked_at")})
	}
	return out
}

func (r *reader) log(out []client.LoggedSet, sets []*v1.LoggedSet) []client.LoggedSet {
	for i, s := range sets {
		out = append(out, client.LoggedSet{Drill: s.GetDrill(), Day: r.dayOf(s.GetDay(), "profile.log.sets", i, ".day"), Side: side(s.GetSide()),
			Reps: int(s.GetReps()), LoadKg: fold(s.GetLoadKg()), HoldSeconds: int(s.GetHoldSeconds()),
			Effort: number(s.Effort), Pain: number(s.Pain), NextDay: number(s.NextDay)})
	}
	return out
}
