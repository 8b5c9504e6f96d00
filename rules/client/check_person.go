package client

import "fmt"

// request checks what stands beside the profile.
func (c *checker) request() {
	if c.q.AsOf == 0 {
		c.add(nil, "as_of", "the day of the request is missing", "write YYYY-MM-DD")
	}
	c.checkRequest(nil, c.q)
	f := itemsOf("complaints")
	for i := range c.q.Complaints {
		f.index = i
		c.complaint(&f, &c.q.Complaints[i])
	}
	c.complaintsAgree()
}

func (c *checker) terms(in *field, list string, known *terms, ids []string) {
	f, last := field{in: in, name: list, form: numbered}, -1
	for i, id := range ids {
		f.index = i
		last = c.entry(&f, known, last, id)
	}
}

func (c *checker) complaint(f *field, k *Complaint) {
	c.regionOf(f, k.Region, k.Side)
	c.checkComplaint(f, k)
}

func (c *checker) drills(in *field, list string, ids []string) {
	f := field{in: in, name: list, form: numbered}
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
	c.conditionsAgree()
	f = itemsOf("profile.surgeries.known")
	for i := range c.p.Surgeries {
		f.index = i
		s := &c.p.Surgeries[i]
		c.checkSurgery(&f, s)
		c.regionOf(&f, s.Region, s.Side)
	}
	c.surgeriesAgree()
	f = itemsOf("profile.medicines.known")
	for i := range c.p.Medicines {
		f.index = i
		c.checkMedicine(&f, &c.p.Medicines[i])
	}
	if b := c.p.BloodPressure; b != nil && b.Systolic <= b.Diastolic {
		c.add(nil, "profile.blood_pressure.systolic", fmt.Sprintf("the upper value, %d, is not above the lower, %d", b.Systolic, b.Diastolic), "")
	}
}

// condition: a side is refused only where none of the condition's regions has one.
func (c *checker) condition(f *field, k *Condition) {
	c.checkCondition(f, k)
	index := c.term(f, ".id", &c.ids.conditions, k.ID)
	if index < 0 {
		return
	}
	regions := c.frame.lookups.regionsOf[index]
	sided := len(regions) == 0
	for _, r := range regions {
		sided = sided || c.frame.Vocabulary.Regions[r].Sided
	}
	c.sideOf(f, ".side", c.frame.Vocabulary.Conditions[index].Name, sided, k.Side)
	if k.Region != "" {
		c.regionOfBone(f, index, k)
	}
}

// regionOfBone checks the region of a condition: only a bone may be in any.
func (c *checker) regionOfBone(f *field, condition int, k *Condition) {
	if known := &c.frame.Vocabulary.Conditions[condition]; !known.Bone {
		c.add(f, ".region", known.Name+" is in a region of its own", "leave the region out")
		return
	}
	if index := c.term(f, ".region", &c.ids.regions, k.Region); index >= 0 {
		c.sideOf(f, ".side", c.at.regions[index].spoken, c.frame.Vocabulary.Regions[index].Sided, k.Side)
	}
}

// screened checks the answers to questions, and the lists that were asked.
func (c *checker) screened() {
	f := entriesOf("profile.answers")
	for i := range c.p.Answers {
		a := &c.p.Answers[i]
		f.key = a.Question
		c.term(&f, "", &c.ids.questions, a.Question)
		c.checkAnswer(&f, a)
	}
	if s := c.p.Screening; s != nil && len(s.Lists) > 0 {
		c.term(nil, "profile.screening.list", &c.ids.lists, s.Lists[0])
		c.terms(nil, "profile.screening.also", &c.ids.lists, s.Lists[1:])
	}
}
