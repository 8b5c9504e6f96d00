package selection

import (
	"drillwright/rules"
	"drillwright/rules/client"
)

var benchEdition, _ = rules.Embedded()
var benchRequest = func() *client.Request {
	e := benchEdition
	day := client.Day(20781)
	age, mass := 44, 71.0
	no := false
	yes := true
	p := &client.Profile{AgeYears: &age, BodyMassKg: &mass, Sex: "FEMALE", Training: "NOVICE", KitTold: true, Kit: e.Frame.Vocabulary.IDs("kit"), ConditionsTold: true, MedicinesTold: true, SurgeriesTold: true, PainkillerToday: &no, Supervised: &yes}
	p.Screening = &client.Screening{Lists: []string{"everyone", "shoulder"}, Day: day, Others: "NO"}
	for _, m := range e.Frame.Vocabulary.Motions {
		if m.HasRange() {
			side := client.SideBoth
			if !m.Sided {
				side = client.SideNone
			}
			sides := []client.Side{side}
			if m.Sided {
				sides = []client.Side{client.SideLeft, client.SideRight}
			}
			for _, s := range sides {
				p.RangeDeg = append(p.RangeDeg, client.Measure{Of: m.ID, Side: s, Value: float64(int(m.Limits[1] * 0.8)), Day: day - 4, By: "SAME_MEASURER"})
			}
		}
	}
	for _, s := range []client.Side{client.SideLeft, client.SideRight} {
		p.Rungs = append(p.Rungs, client.Standing{Region: "shoulder", Side: s, At: "multi_joint_one_side", Since: day - 20})
		p.Pain = append(p.Pain, client.Pain{Region: "shoulder", Side: s, Worst: fp(4), Rest: fp(1), NextDay: fp(2), SettleHours: fp(6), WakesAtNight: &no, Day: day - 2})
	}
	return &client.Request{Profile: p, AsOf: day, Lift: "barbell-overhead-press", Complaints: []client.Complaint{{Region: "shoulder", Side: client.SideLeft, Intensity: 4, Moment: "TOP", Kind: "ACHE", Onset: "GRADUAL", Days: 20}}}
}()

func fp(v float64) *float64 { return &v }
