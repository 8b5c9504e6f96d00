package server

import (
	"maps"
	"slices"
	"strings"

	v1 "drillwright/proto/drillwright/v1"
	"drillwright/rules/client"
)

// profile converts a profile. Maps become lists in order of key, so that equal profiles are equal.
func (r *dayReader) profile(p *v1.Profile) *client.Profile {
	out := &client.Profile{
		Ref: p.GetRef(), AgeYears: whole(p.AgeYears), Sex: word(p.GetSex()), Training: word(p.GetTraining()),
		BodyMassKg: number(p.BodyMassKg), DominantSide: side(p.GetDominantSide()),
		Kit: p.GetKit().GetHas(), KitTold: p.Kit != nil,
		ConditionsTold: p.Conditions != nil, ClearancesTold: len(p.GetClearances()) > 0,
		SurgeriesTold: p.Surgeries != nil, MedicinesTold: p.Medicines != nil,
		RangeDeg: r.measures("range_deg", p.GetRangeDeg()), PassiveDeg: r.measures("passive_deg", p.GetPassiveDeg()),
		StrengthN: r.measures("strength_n", p.GetStrengthN()), HoldSeconds: r.measures("hold_seconds", p.GetHoldSeconds()),
		PainfulArcs: painfulArcs(p.GetPainfulArcDeg()), Best: r.best(p.GetBest()), Pain: r.pain(p.GetPain()), Rungs: r.rungs(p.GetRung()),
		Answers: r.answers(p.GetAnswers()), Screening: r.screening(p.GetScreening()),
		Pregnancy: pregnancy(p.GetPregnancy()), BloodPressure: r.pressure(p.GetBloodPressure()),
		Beighton: whole(p.Beighton), PainkillerToday: p.PainkillerToday, Supervised: p.Supervised, GuardianPresent: p.GuardianPresent,
		Confidence: whole(p.Confidence), ProgrammeWeek: whole(p.ProgrammeWeek), Disliked: p.GetDisliked(), GoalLifts: p.GetGoalLifts(),
	}
	r.health(p, out)
	for i, s := range p.GetLog().GetSets() {
		out.Log = append(out.Log, client.LoggedSet{Drill: s.GetDrill(), Day: r.day(s.GetDay(), "profile.log.sets[%d].day", i), Side: side(s.GetSide()),
			Reps: int(s.GetReps()), LoadKg: fold(s.GetLoadKg()), HoldSeconds: int(s.GetHoldSeconds()),
			Effort: number(s.Effort), Pain: number(s.Pain), NextDay: number(s.NextDay)})
	}
	return out
}

// health converts what was told of conditions, operations, medicines and clearances.
func (r *dayReader) health(p *v1.Profile, out *client.Profile) {
	for i, c := range p.GetConditions().GetKnown() {
		out.Conditions = append(out.Conditions, client.Condition{ID: c.GetId(), Side: side(c.GetSide()), ToldBy: word(c.GetToldBy()),
			Since: r.day(c.GetSince(), "profile.conditions.known[%d].since", i), Status: word(c.GetStatus()), Detail: c.GetDetail()})
	}
	for i, s := range p.GetSurgeries().GetKnown() {
		out.Surgeries = append(out.Surgeries, client.Surgery{ID: s.GetId(), Region: s.GetRegion(), Side: side(s.GetSide()),
			Day: r.day(s.GetDate(), "profile.surgeries.known[%d].date", i)})
	}
	for i, m := range p.GetMedicines().GetKnown() {
		out.Medicines = append(out.Medicines, client.Medicine{Class: m.GetClass(),
			Since: r.day(m.GetSince(), "profile.medicines.known[%d].since", i)})
	}
	for i, c := range p.GetClearances() {
		clearance := client.Clearance{By: word(c.GetBy()), Region: c.GetRegion(), Side: side(c.GetSide()),
			Given: r.day(c.GetGiven(), "profile.clearances[%d].given", i), Until: r.day(c.GetUntil(), "profile.clearances[%d].until", i),
			LoadKg: number(c.LoadKg), NoOverhead: c.GetNoOverhead(), Covers: c.GetCovers(), Surgery: c.GetSurgery()}
		for _, motion := range keys(c.GetRangeDeg()) {
			clearance.RangeDeg = append(clearance.RangeDeg, client.Limit{Motion: motion, ToDeg: fold(c.GetRangeDeg()[motion])})
		}
		out.Clearances = append(out.Clearances, clearance)
	}
}

func (r *dayReader) measures(field string, m map[string]*v1.SidedMeasure) []client.Measure {
	if len(m) == 0 {
		return nil
	}
	out := make([]client.Measure, 0, 2*len(m))
	for _, e := range sorted(m) {
		of, sides := e.key, e.value
		eachSide(sides.GetLeft(), sides.GetRight(), sides.GetMidline(), func(key string, s client.Side, x *v1.Measure) {
			day, known := r.same(x.GetDate())
			if !known {
				day = r.day(x.GetDate(), "profile.%s[%q]%s.date", field, of, key)
			}
			out = append(out, client.Measure{Of: of, Side: s, Value: fold(x.GetValue()), By: by(x.GetBy()), Position: x.GetPosition(), Day: day})
		})
	}
	return out
}

// by is word for who measured, which a profile says a hundred times.
func by(who v1.MeasuredBy) string {
	if who == v1.MeasuredBy_MEASURED_BY_UNSPECIFIED {
		return ""
	}
	return v1.MeasuredBy_name[int32(who)]
}

func painfulArcs(m map[string]*v1.SidedArc) []client.PainfulArc {
	var out []client.PainfulArc
	for _, of := range keys(m) {
		eachSide(m[of].GetLeft(), m[of].GetRight(), m[of].GetMidline(), func(_ string, s client.Side, x *v1.PainfulArc) {
			out = append(out, client.PainfulArc{Motion: of, Side: s, From: fold(x.GetFrom()), To: fold(x.GetTo())})
		})
	}
	return out
}

func (r *dayReader) best(m map[string]*v1.Best) []client.Best {
	var out []client.Best
	for _, test := range keys(m) {
		b := m[test]
		out = append(out, client.Best{Test: test, Sets: whole(b.Sets), Reps: whole(b.Reps), LoadKg: number(b.LoadKg), Form: word(b.GetForm()),
			Pain: number(b.Pain), Day: r.day(b.GetDate(), "profile.best[%q].date", test)})
	}
	return out
}

func (r *dayReader) pain(m map[string]*v1.SidedPain) []client.Pain {
	var out []client.Pain
	for _, region := range keys(m) {
		eachSide(m[region].GetLeft(), m[region].GetRight(), m[region].GetMidline(), func(key string, s client.Side, x *v1.Pain) {
			out = append(out, client.Pain{Region: region, Side: s, Rest: number(x.Rest), Worst: number(x.Worst), NextDay: number(x.NextDay),
				SettleHours: number(x.SettleHours), WakesAtNight: x.WakesAtNight, Day: r.day(x.GetDate(), "profile.pain[%q]%s.date", region, key)})
		})
	}
	return out
}

func (r *dayReader) rungs(m map[string]*v1.SidedRung) []client.Standing {
	var out []client.Standing
	for _, region := range keys(m) {
		eachSide(m[region].GetLeft(), m[region].GetRight(), m[region].GetMidline(), func(key string, s client.Side, x *v1.Standing) {
			out = append(out, client.Standing{Region: region, Side: s, At: x.GetAt(), Since: r.day(x.GetSince(), "profile.rung[%q]%s.since", region, key)})
		})
	}
	return out
}

func (r *dayReader) answers(m map[string]*v1.Answer) []client.Answer {
	var out []client.Answer
	for _, q := range keys(m) {
		out = append(out, client.Answer{Question: q, Is: word(m[q].GetIs()), Day: r.day(m[q].GetDate(), "profile.answers[%q].date", q)})
	}
	return out
}

func (r *dayReader) screening(s *v1.Screening) *client.Screening {
	if s == nil {
		return nil
	}
	return &client.Screening{Lists: append([]string{s.GetList()}, s.GetAlso()...), Day: r.day(s.GetOn(), "profile.screening.on"), Others: word(s.GetOthers())}
}

func pregnancy(p *v1.Pregnancy) *client.Pregnancy {
	if p == nil {
		return nil
	}
	return &client.Pregnancy{Weeks: whole(p.Weeks), PostnatalWeeks: whole(p.PostnatalWeeks), Section: p.GetSection(), Agreed: p.Agreed}
}

func (r *dayReader) pressure(b *v1.BloodPressure) *client.BloodPressure {
	if b == nil {
		return nil
	}
	return &client.BloodPressure{Systolic: int(b.GetSystolic()), Diastolic: int(b.GetDiastolic()), Day: r.day(b.GetDate(), "profile.blood_pressure.date")}
}

func complaintFrom(c *v1.Complaint) client.Complaint {
	return client.Complaint{Region: c.GetRegion(), Side: side(c.GetSide()), Intensity: fold(c.GetIntensity()), Moment: word(c.GetMoment()),
		Kind: word(c.GetKind()), Onset: word(c.GetOnset()), Days: int(c.GetDays())}
}

// eachSide visits the sides of an entry that are there.
func eachSide[T any](left, right, midline *T, do func(key string, s client.Side, x *T)) {
	if left != nil {
		do(".left", client.SideLeft, left)
	}
	if right != nil {
		do(".right", client.SideRight, right)
	}
	if midline != nil {
		do(".midline", client.SideNone, midline)
	}
}

// entry is one of a map.
type entry[V any] struct {
	key   string
	value V
}

// sorted are the entries of a map in order of their keys.
func sorted[V any](m map[string]V) []entry[V] {
	list := make([]entry[V], 0, len(m))
	for k, v := range m {
		list = append(list, entry[V]{k, v})
	}
	slices.SortFunc(list, func(a, b entry[V]) int { return strings.Compare(a.key, b.key) })
	return list
}

func keys[V any](m map[string]V) []string {
	list := slices.AppendSeq(make([]string, 0, len(m)), maps.Keys(m))
	slices.Sort(list)
	return list
}

// word is the name of an enum's value; the zero value is no word.
func word[E interface {
	~int32
	String() string
}](e E) string {
	if e == 0 {
		return ""
	}
	return e.String()
}

func side(s v1.Side) client.Side { return client.Side(word(s)) }

func whole(v *int32) *int {
	if v == nil {
		return nil
	}
	n := int(*v)
	return &n
}

func number(v *float64) *float64 {
	if v == nil {
		return nil
	}
	n := fold(*v)
	return &n
}

// fold makes −0 a plain 0, so that equal requests are equal to the byte.
func fold(v float64) float64 {
	if v == 0 {
		return 0
	}
	return v
}
