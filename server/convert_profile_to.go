package server

import (
	v1 "drillwright/proto/drillwright/v1"
	"drillwright/rules/client"
)

// profileTo is toProfile the other way.
func profileTo(p *client.Profile) *v1.Profile {
	out := &v1.Profile{
		Ref: p.Ref, AgeYears: narrow(p.AgeYears), Sex: enum[v1.Sex](p.Sex, v1.Sex_value), Training: enum[v1.Training](p.Training, v1.Training_value),
		BodyMassKg: p.BodyMassKg, DominantSide: enum[v1.Side](string(p.DominantSide), v1.Side_value), GoalLifts: p.GoalLifts, Disliked: p.Disliked,
		Beighton: narrow(p.Beighton), Confidence: narrow(p.Confidence), ProgrammeWeek: narrow(p.ProgrammeWeek),
		PainkillerToday: p.PainkillerToday, Supervised: p.Supervised, GuardianPresent: p.GuardianPresent,
		RangeDeg: measuresTo(p.RangeDeg), PassiveDeg: measuresTo(p.PassiveDeg), StrengthN: measuresTo(p.StrengthN), HoldSeconds: measuresTo(p.HoldSeconds),
		Best: map[string]*v1.Best{}, Pain: map[string]*v1.SidedPain{}, Rung: map[string]*v1.SidedRung{}, Answers: map[string]*v1.Answer{},
		PainfulArcDeg: map[string]*v1.SidedArc{},
	}
	if p.KitTold {
		out.Kit = &v1.Kit{Has: p.Kit}
	}
	healthTo(p, out)
	for _, b := range p.Best {
		out.Best[b.Test] = &v1.Best{Sets: narrow(b.Sets), Reps: narrow(b.Reps), LoadKg: b.LoadKg, Form: enum[v1.Form](b.Form, v1.Form_value), Pain: b.Pain, Date: dayTo(b.Day)}
	}
	for _, x := range p.Pain {
		e := entryOf(out.Pain, x.Region)
		put(x.Side, &e.Left, &e.Right, &e.Midline, &v1.Pain{Rest: x.Rest, Worst: x.Worst, NextDay: x.NextDay, SettleHours: x.SettleHours, WakesAtNight: x.WakesAtNight, Date: dayTo(x.Day)})
	}
	for _, x := range p.Rungs {
		e := entryOf(out.Rung, x.Region)
		put(x.Side, &e.Left, &e.Right, &e.Midline, &v1.Standing{At: x.At, Since: dayTo(x.Since)})
	}
	for _, x := range p.PainfulArcs {
		e := entryOf(out.PainfulArcDeg, x.Motion)
		put(x.Side, &e.Left, &e.Right, &e.Midline, &v1.PainfulArc{From: &x.From, To: &x.To})
	}
	for _, a := range p.Answers {
		out.Answers[a.Question] = &v1.Answer{Is: enum[v1.Reply](a.Is, v1.Reply_value), Date: dayTo(a.Day),
			ComplaintInView: a.ComplaintInView, LookedAt: dayTo(a.LookedAt)}
	}
	if s := p.Screening; s != nil {
		out.Screening = &v1.Screening{List: s.Lists[0], Also: s.Lists[1:], On: dayTo(s.Day), Others: enum[v1.Reply](s.Others, v1.Reply_value)}
	}
	if len(p.Log) > 0 {
		out.Log = &v1.TrainingLog{}
	}
	for _, s := range p.Log {
		out.Log.Sets = append(out.Log.Sets, &v1.LoggedSet{Drill: s.Drill, Day: dayTo(s.Day), Side: enum[v1.Side](string(s.Side), v1.Side_value), Reps: int32(s.Reps),
			LoadKg: s.LoadKg, HoldSeconds: int32(s.HoldSeconds), Effort: s.Effort, Pain: s.Pain, NextDay: s.NextDay})
	}
	return out
}

// healthTo is health the other way.
func healthTo(p *client.Profile, out *v1.Profile) {
	if p.ConditionsTold {
		out.Conditions = &v1.Conditions{}
	}
	for _, c := range p.Conditions {
		out.Conditions.Known = append(out.Conditions.Known, &v1.Condition{Id: c.ID, Side: enum[v1.Side](string(c.Side), v1.Side_value), Since: dayTo(c.Since),
			ToldBy: enum[v1.ToldBy](c.ToldBy, v1.ToldBy_value), Status: enum[v1.Status](c.Status, v1.Status_value), Detail: c.Detail,
			Region: c.Region})
	}
	if p.SurgeriesTold {
		out.Surgeries = &v1.Surgeries{}
	}
	for _, s := range p.Surgeries {
		out.Surgeries.Known = append(out.Surgeries.Known, &v1.Surgery{Id: s.ID, Region: s.Region,
			Side: enum[v1.Side](string(s.Side), v1.Side_value), Date: dayTo(s.Day),
			FullTrainingSince: s.FullTrainingSince})
	}
	if p.MedicinesTold {
		out.Medicines = &v1.Medicines{}
	}
	for _, m := range p.Medicines {
		out.Medicines.Known = append(out.Medicines.Known, &v1.Medicine{Class: m.Class, Since: dayTo(m.Since)})
	}
	for _, c := range p.Clearances {
		k := &v1.Clearance{By: enum[v1.ToldBy](c.By, v1.ToldBy_value), Region: c.Region, Side: enum[v1.Side](string(c.Side), v1.Side_value), Given: dayTo(c.Given),
			Until: dayTo(c.Until), LoadKg: c.LoadKg, NoOverhead: c.NoOverhead, Covers: c.Covers, Surgery: c.Surgery, RangeDeg: map[string]float64{}}
		for _, l := range c.RangeDeg {
			k.RangeDeg[l.Motion] = l.ToDeg
		}
		out.Clearances = append(out.Clearances, k)
	}
	if x := p.Pregnancy; x != nil {
		out.Pregnancy = &v1.Pregnancy{Weeks: narrow(x.Weeks), PostnatalWeeks: narrow(x.PostnatalWeeks), Section: x.Section, Agreed: x.Agreed}
	}
	if x := p.BloodPressure; x != nil {
		out.BloodPressure = &v1.BloodPressure{Systolic: int32(x.Systolic), Diastolic: int32(x.Diastolic), Date: dayTo(x.Day)}
	}
}

func complaintTo(c *client.Complaint) *v1.Complaint {
	return &v1.Complaint{Region: c.Region, Side: enum[v1.Side](string(c.Side), v1.Side_value), Intensity: &c.Intensity,
		Moment: enum[v1.Moment](c.Moment, v1.Moment_value), Kind: enum[v1.PainKind](c.Kind, v1.PainKind_value),
		Onset: enum[v1.Onset](c.Onset, v1.Onset_value), Days: int32(c.Days), LookedAt: dayTo(c.LookedAt)}
}

func measuresTo(list []client.Measure) map[string]*v1.SidedMeasure {
	out := map[string]*v1.SidedMeasure{}
	for _, m := range list {
		e := entryOf(out, m.Of)
		put(m.Side, &e.Left, &e.Right, &e.Midline, &v1.Measure{Value: &m.Value, Date: dayTo(m.Day), By: enum[v1.MeasuredBy](m.By, v1.MeasuredBy_value), Position: m.Position})
	}
	return out
}

func entryOf[T any](m map[string]*T, key string) *T {
	if m[key] == nil {
		m[key] = new(T)
	}
	return m[key]
}

func put[T any](s client.Side, left, right, midline **T, x *T) {
	switch s {
	case client.SideLeft:
		*left = x
	case client.SideRight:
		*right = x
	default:
		*midline = x
	}
}

func enum[E ~int32](word string, values map[string]int32) E { return E(values[word]) }

func dayTo(d client.Day) string {
	if d == 0 {
		return ""
	}
	return d.String()
}

func narrow(v *int) *int32 {
	if v == nil {
		return nil
	}
	n := int32(*v)
	return &n
}
