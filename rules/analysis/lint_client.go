package analysis

import (
	"drillwright/rules"
	"drillwright/rules/client"
)

// freeClient is a grown-up of whom all is known that rules usually ask, all of it good: strength, reach to the limits, nothing that
// hurts, all kit. change, which may be nil, changes that before it is used.
func freeClient(e *rules.Edition, change func(*client.Profile)) *client.Request {
	v := e.Frame.Vocabulary
	p := &client.Profile{AgeYears: to(35), Sex: "MALE", Training: "ADVANCED", BodyMassKg: to(75.0), Beighton: to(0), Confidence: to(10),
		KitTold: true, Kit: v.IDs("kit"), ConditionsTold: true, SurgeriesTold: true, MedicinesTold: true,
		Supervised: to(true), GuardianPresent: to(true), PainkillerToday: to(false),
		BloodPressure: &client.BloodPressure{Systolic: 115, Diastolic: 75, Day: someDay},
		Screening:     &client.Screening{Lists: e.Frame.ListIDs(), Day: someDay, Others: "NO"}}
	for i := range v.Motions {
		m := &v.Motions[i]
		for _, side := range sidesOf(m.Sided) {
			strong := client.Measure{Of: m.ID, Side: side, Value: 500, Day: someDay, By: "SAME_MEASURER"}
			p.StrengthN, p.HoldSeconds = append(p.StrengthN, strong), append(p.HoldSeconds, strong)
			if m.HasRange() {
				p.RangeDeg = append(p.RangeDeg, client.Measure{Of: m.ID, Side: side, Value: m.Limits[1], Day: someDay, By: "SAME_MEASURER"})
			}
		}
	}
	for _, r := range v.Regions {
		for _, side := range sidesOf(r.Sided) {
			p.Pain = append(p.Pain, client.Pain{Region: r.ID, Side: side, Rest: to(0.0), Worst: to(0.0), NextDay: to(0.0), SettleHours: to(0.0),
				WakesAtNight: to(false), Day: someDay})
		}
	}
	for _, t := range v.Tests {
		p.Best = append(p.Best, client.Best{Test: t.ID, Sets: to(3), Reps: to(30), Form: "OK", Pain: to(0.0), Day: someDay})
	}
	if change != nil {
		change(p)
	}
	return &client.Request{Profile: p, AsOf: someDay}
}

// placeOnRung puts every region on a place of its ladder, or on the top of a shorter one.
func placeOnRung(e *rules.Edition, p *client.Profile, index int) {
	for _, r := range e.Frame.Vocabulary.Regions {
		ladder := e.Frame.Ladder(r.ID)
		if ladder == nil {
			continue
		}
		for _, side := range sidesOf(r.Sided) {
			p.Rungs = append(p.Rungs, client.Standing{Region: r.ID, Side: side, At: ladder.Rungs[min(index, len(ladder.Rungs)-1)], Since: someDay})
		}
	}
}

// sidesOf are the sides that a fact is told of.
func sidesOf(sided bool) []client.Side {
	if sided {
		return client.Sides[:]
	}
	return []client.Side{client.SideNone}
}

func to[T any](v T) *T { return &v }
