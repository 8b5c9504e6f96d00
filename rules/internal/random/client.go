package random

import (
	"slices"

	"drillwright/catalog"
	"drillwright/rules/client"
)

// AsOf is the day of every generated request.
const AsOf = client.Day(20000)

// ClientDrills is how many drills a catalogue of this package needs for a client's log and likes to name drills of it.
const ClientDrills = 60

// Client makes a request: one or two complaints, and a profile in which each measure, score, answer and list is
// left out, or given too long ago to count, with the probability unknown. With 0 everything is known that a rule
// of Book reads. It names drills by DrillID.
func Client(seed uint64, v *catalog.Vocabulary, unknown float64) *client.Request {
	c := &teller{roll(seed, ofClient), v, unknown, &client.Profile{Ref: "m-0412"}}
	q := &client.Request{Profile: c.p, AsOf: AsOf, Minutes: 15 * c.between(1, 6),
		KitTaken: some(c.dice, v.IDs("kit"), 0, 4), StationsTaken: some(c.dice, v.IDs("station"), 0, 4)}
	q.Complaints = c.complaints()
	c.person()
	c.health()
	c.clearances()
	c.measures(q.Complaints)
	c.standings(q.Complaints)
	c.training()
	return q
}

// Facts derives the facts of a request, and allows less than the highest grade of some stressors, as a lift that
// hurts would.
func Facts(seed uint64, frame *client.Frame, q *client.Request) *client.Facts {
	d, f := roll(seed, ofFacts), client.Derive(frame, q)
	for _, s := range some(d, frame.Vocabulary.IDs("stressor"), 5, 20) {
		f.Allow(s, d.IntN(2), d.between(0, 2))
	}
	return f
}

// teller fills a profile.
type teller struct {
	*dice
	voc     *catalog.Vocabulary
	unknown float64
	p       *client.Profile
}

func (c *teller) told() bool { return !c.chance(c.unknown) }

// day is one that still counts when it was told, and otherwise, half of the time, one too long ago; 0 leaves the fact out.
func (c *teller) day() client.Day {
	switch {
	case c.told():
		return AsOf - client.Day(c.between(0, 3))
	case c.chance(0.5):
		return AsOf - client.Day(c.between(100, 300))
	}
	return 0
}

func maybe[T any](c *teller, v T) *T {
	if c.told() {
		return &v
	}
	return nil
}

// sides are those that a region or a motion is told of, one at a time.
func sides(sided bool) []client.Side {
	if sided {
		return client.Sides[:]
	}
	return []client.Side{client.SideNone}
}

// side draws one of them, or both together.
func (c *teller) side(sided bool) client.Side {
	if !sided {
		return client.SideNone
	}
	return pick(c.dice, []client.Side{client.SideLeft, client.SideRight, client.SideBoth})
}

func (c *teller) complaints() []client.Complaint {
	var all []client.Complaint
	for _, r := range some(c.dice, c.voc.Regions, 1, 2) {
		all = append(all, client.Complaint{Region: r.ID, Side: c.side(r.Sided), Intensity: float64(c.between(1, 8)),
			Moment: pick(c.dice, client.ComplaintMoments), Kind: pick(c.dice, c.voc.PainKinds).ID, Onset: pick(c.dice, client.Onsets),
			Days: c.between(7, 60)})
	}
	return all
}

func (c *teller) person() {
	p := c.p
	p.AgeYears, p.BodyMassKg = maybe(c, c.between(13, 85)), maybe(c, float64(c.between(45, 120)))
	p.Beighton, p.Confidence, p.ProgrammeWeek = maybe(c, c.between(0, 9)), maybe(c, c.between(0, 10)), maybe(c, c.between(1, 12))
	p.PainkillerToday, p.Supervised, p.GuardianPresent = maybe(c, c.chance(0.2)), maybe(c, c.chance(0.5)), maybe(c, c.chance(0.5))
	if c.told() {
		p.Sex = pick(c.dice, []string{"FEMALE", "MALE"})
	}
	if c.told() {
		p.Training = pick(c.dice, []string{"NOVICE", "INTERMEDIATE", "ADVANCED"})
	}
	if c.told() {
		p.DominantSide = pick(c.dice, client.Sides[:])
	}
	if p.KitTold = c.told(); p.KitTold {
		p.Kit = some(c.dice, c.voc.IDs("kit"), 5, 35)
	}
}

func (c *teller) health() {
	p := c.p
	if p.ConditionsTold = c.told(); p.ConditionsTold {
		for _, k := range some(c.dice, c.voc.Conditions, 1, 4) {
			p.Conditions = append(p.Conditions, client.Condition{ID: k.ID, Side: c.side(c.sided(k)), Since: AsOf - client.Day(c.between(10, 900)),
				ToldBy: pick(c.dice, []string{"CLINICIAN", "CLIENT"}), Status: pick(c.dice, []string{"NOW", "NOW", "NOW", "PAST"})})
		}
	}
	if p.SurgeriesTold = c.told(); p.SurgeriesTold && c.chance(0.2) {
		r := pick(c.dice, c.voc.Regions)
		p.Surgeries = []client.Surgery{{ID: "repair", Region: r.ID, Side: c.side(r.Sided), Day: AsOf - client.Day(c.between(100, 2000))}}
	}
	if p.MedicinesTold = c.told(); p.MedicinesTold {
		for _, m := range some(c.dice, c.voc.Medicines, 0, 2) {
			p.Medicines = append(p.Medicines, client.Medicine{Class: m.ID, Since: AsOf - client.Day(c.between(1, 400))})
		}
	}
	if c.told() {
		p.Pregnancy = &client.Pregnancy{Section: c.chance(0.3), Agreed: maybe(c, c.chance(0.5))}
		if c.chance(0.2) {
			weeks := c.between(4, 38)
			p.Pregnancy.Weeks = &weeks
		}
	}
	if day := c.day(); day != 0 {
		p.BloodPressure = &client.BloodPressure{Systolic: c.between(105, 185), Diastolic: c.between(60, 104), Day: day}
	}
	for _, id := range questions {
		switch {
		case c.told():
			p.Answers = append(p.Answers, client.Answer{Question: id, Is: pick(c.dice, []string{"YES", "NO", "NO", "NO"}), Day: AsOf,
				ComplaintInView: true})
		case c.chance(0.3):
			p.Answers = append(p.Answers, client.Answer{Question: id, Is: "UNSURE", Day: AsOf})
		}
	}
}

func (c *teller) sided(k catalog.Condition) bool {
	return len(k.Regions) == 0 || slices.ContainsFunc(k.Regions, c.voc.Sided)
}

// clearances gives limits for the region of some conditions, and covers most of these.
func (c *teller) clearances() {
	c.p.ClearancesTold = true
	for _, k := range c.p.Conditions {
		if !c.chance(0.5) {
			continue
		}
		regions := c.voc.Conditions[c.voc.Index("condition", k.ID)].Regions
		if len(regions) == 0 {
			regions = c.voc.IDs("region")
		}
		region := pick(c.dice, regions)
		given := client.Clearance{By: "CLINICIAN", Region: region, Side: c.side(c.voc.Sided(region)), Given: AsOf - client.Day(c.between(0, 9)),
			NoOverhead: c.chance(0.3)}
		if c.chance(0.7) {
			given.Covers = []string{k.ID}
		}
		if c.chance(0.5) {
			load := float64(5 * c.between(1, 12))
			given.LoadKg = &load
		}
		for _, m := range some(c.dice, c.motionsOf(region), 0, 2) {
			given.RangeDeg = append(given.RangeDeg, client.Limit{Motion: m.ID, ToDeg: c.reach(m)})
		}
		c.p.Clearances = append(c.p.Clearances, given)
	}
}

func (c *teller) motionsOf(region string) []*catalog.Motion {
	return slices.DeleteFunc(ranged(c.voc), func(m *catalog.Motion) bool { return m.Region != region })
}

// reach draws how far a joint goes; drills end a little lower.
func (c *teller) reach(m *catalog.Motion) float64 { return c.fives(share(m, 0.65), m.Limits[1]) }

// training tells of tests, drills that were done and drills that are liked or not.
func (c *teller) training() {
	for _, t := range c.voc.Tests {
		if day := c.day(); day != 0 {
			b := client.Best{Test: t.ID, Sets: maybe(c, c.between(1, 4)), Reps: maybe(c, c.between(1, 25)), LoadKg: maybe(c, c.fives(5, 60)),
				Pain: maybe(c, float64(c.between(0, 5))), Day: day}
			if c.told() {
				b.Form = pick(c.dice, []string{"OK", "POOR"})
			}
			c.p.Best = append(c.p.Best, b)
		}
	}
	drill := func() string { return DrillID(c.IntN(ClientDrills)) }
	for range c.between(0, 4) {
		c.p.Disliked = append(c.p.Disliked, drill())
		c.p.GoalLifts = append(c.p.GoalLifts, DrillID(familySize*c.IntN(ClientDrills/familySize)))
	}
	if !c.told() {
		return
	}
	for range c.between(5, 40) {
		c.p.Log = append(c.p.Log, client.LoggedSet{Drill: drill(), Day: AsOf - client.Day(c.between(0, 20)), Side: c.side(true),
			Reps:   c.between(5, 12),
			LoadKg: c.fives(5, 60), Effort: maybe(c, float64(c.between(3, 9))), Pain: maybe(c, float64(c.between(0, 4)))})
	}
}
