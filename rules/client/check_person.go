package client

import "fmt"

// request checks what stands beside the profile.
func (c *checker) request() {
	if c.q.AsOf == 0 {
		c.add(nil, "as_of", "the day of the request is missing", "write YYYY-MM-DD")
	}
	c.terms("kit_taken", &c.ids.kit, c.q.KitTaken)
	c.terms("stations_taken", &c.ids.stations, c.q.StationsTaken)
	c.within(nil, "minutes", c.at.request.minutes, "a session", float64(c.q.Minutes))
	f := itemsOf("complaints")
	for i := range c.q.Complaints {
		f.index = i
		c.complaint(&f, &c.q.Complaints[i])
	}
}

func (c *checker) terms(list string, known *terms, ids []string) {
	f, last := itemsOf(list), -1
	for i, id := range ids {
		f.index = i
		last = c.entry(&f, known, last, id)
	}
}

func (c *checker) complaint(f *field, k *Complaint) {
	if region := c.regionOf(f, k.Region, k.Side); region >= 0 {
		c.within(f, ".days", c.at.regions[region].days, "a complaint's age", float64(k.Days))
	}
	c.score(f, ".intensity", "pain", k.Intensity)
	c.told(f, ".moment", "moment", k.Moment, ComplaintMoments)
	c.told(f, ".kind", "kind of pain", k.Kind, c.frame.Vocabulary.IDs("pain_kind"))
	c.told(f, ".onset", "onset", k.Onset, Onsets)
	c.past(f, ".looked_at", k.LookedAt)
}

// person checks the facts about the person as a whole.
func (c *checker) person() {
	p, at := c.p, &c.at.person
	c.whole(nil, "profile.age_years", at.age, "an age", p.AgeYears)
	c.told(nil, "profile.sex", "sex", p.Sex, sexes)
	c.told(nil, "profile.training", "training", p.Training, trainings)
	c.told(nil, "profile.dominant_side", "side", string(p.DominantSide), dominant)
	c.number(nil, "profile.body_mass_kg", at.mass, "a body mass", p.BodyMassKg)
	c.whole(nil, "profile.beighton", at.beighton, "the score", p.Beighton)
	c.whole(nil, "profile.confidence", at.confidence, "the score", p.Confidence)
	c.whole(nil, "profile.programme_week", at.programmeWeek, "a week of a programme", p.ProgrammeWeek)
	c.terms("profile.kit.has", &c.ids.kit, p.Kit)
	c.drills("profile.disliked", p.Disliked)
	c.drills("profile.goal_lifts", p.GoalLifts)
}

func (c *checker) drills(list string, ids []string) {
	f := itemsOf(list)
	for i, id := range ids {
		f.index = i
		c.drill(&f, "", id)
	}
}

// drill returns the id of a drill that is known, or reports it and returns "".
func (c *checker) drill(f *field, part, id string) string {
	if c.frame.Drills.Drill(id) == nil {
		if c.drillIDs == nil {
			c.drillIDs = c.frame.Drills.DrillIDs()
		}
		c.unknown(f, part, "drill", id, c.drillIDs)
		return ""
	}
	return id
}

// health checks what was told of conditions, operations, medicines, pregnancy and blood pressure.
func (c *checker) health() {
	f := itemsOf("profile.conditions.known")
	for i := range c.p.Conditions {
		f.index = i
		c.condition(&f, &c.p.Conditions[i])
	}
	f = itemsOf("profile.surgeries.known")
	for i := range c.p.Surgeries {
		f.index = i
		s := &c.p.Surgeries[i]
		c.past(&f, ".date", s.Day)
		c.regionOf(&f, s.Region, s.Side)
	}
	f = itemsOf("profile.medicines.known")
	for i := range c.p.Medicines {
		f.index = i
		m := &c.p.Medicines[i]
		c.term(&f, ".class", &c.ids.medicines, m.Class)
		c.past(&f, ".since", m.Since)
	}
	if p := c.p.Pregnancy; p != nil {
		c.whole(nil, "profile.pregnancy.weeks", c.at.person.weeks, "a pregnancy", p.Weeks)
		c.whole(nil, "profile.pregnancy.postnatal_weeks", c.at.person.postnatalWeeks, "the time since a birth", p.PostnatalWeeks)
	}
	c.pressure()
}

// condition: a side is refused only where none of the condition's regions has one.
func (c *checker) condition(f *field, k *Condition) {
	c.past(f, ".since", k.Since)
	c.told(f, ".told_by", "source", k.ToldBy, tellers)
	c.told(f, ".status", "status", k.Status, statuses)
	place := c.term(f, ".id", &c.ids.conditions, k.ID)
	if place < 0 {
		return
	}
	regions := c.frame.things.regionsOf[place]
	sided := len(regions) == 0
	for _, r := range regions {
		sided = sided || c.frame.Vocabulary.Regions[r].Sided
	}
	c.sideOf(f, ".side", c.frame.Vocabulary.Conditions[place].Name, sided, k.Side)
	if k.Region != "" {
		c.placed(f, place, k)
	}
}

// placed checks the region of a condition: only a bone may be in any.
func (c *checker) placed(f *field, condition int, k *Condition) {
	if known := &c.frame.Vocabulary.Conditions[condition]; !known.Bone {
		c.add(f, ".region", known.Name+" is in a region of its own", "leave the region out")
		return
	}
	if place := c.term(f, ".region", &c.ids.regions, k.Region); place >= 0 {
		c.sideOf(f, ".side", c.at.regions[place].spoken, c.frame.Vocabulary.Regions[place].Sided, k.Side)
	}
}

func (c *checker) pressure() {
	b := c.p.BloodPressure
	if b == nil {
		return
	}
	c.within(nil, "profile.blood_pressure.systolic", c.at.person.systolic, "the upper value", float64(b.Systolic))
	c.within(nil, "profile.blood_pressure.diastolic", c.at.person.diastolic, "the lower value", float64(b.Diastolic))
	if b.Systolic <= b.Diastolic {
		c.add(nil, "profile.blood_pressure.systolic", fmt.Sprintf("the upper value, %d, is not above the lower, %d", b.Systolic, b.Diastolic), "")
	}
	c.day(nil, "profile.blood_pressure.date", b.Day)
}

// screened checks the answers to questions, and the lists that were asked.
func (c *checker) screened() {
	f := entriesOf("profile.answers")
	for i := range c.p.Answers {
		a := &c.p.Answers[i]
		f.key = a.Question
		c.term(&f, "", &c.ids.questions, a.Question)
		c.oneOf(&f, ".is", "answer", a.Is, answers)
		c.day(&f, ".date", a.Day)
		c.past(&f, ".looked_at", a.LookedAt)
	}
	s := c.p.Screening
	if s == nil {
		return
	}
	if len(s.Lists) > 0 {
		c.term(nil, "profile.screening.list", &c.ids.lists, s.Lists[0])
		c.terms("profile.screening.also", &c.ids.lists, s.Lists[1:])
	}
	c.told(nil, "profile.screening.others", "answer for the others", s.Others, onlyNo)
	c.day(nil, "profile.screening.on", s.Day)
}
