package client

import "fmt"

// agree reports the items of a list that tell what an earlier one tells, and otherwise. How is which part two items differ in; "" where
// they agree, or aren't about the same.
func agree[T any](c *checker, name, about, right string, list []T, how func(a, b *T) string) {
	f := itemsOf(name)
	for i := range list {
		for j := range i {
			if part := how(&list[j], &list[i]); part != "" {
				f.index = i
				c.add(&f, "."+part, fmt.Sprintf("%s[%d] has another %s for the same %s", name, j, part, about), right)
				break
			}
		}
	}
}

func (c *checker) complaintsAgree() {
	agree(c, "complaints", "region, side, moment, kind and onset", "send it once; two pains differ in one of these",
		c.q.Complaints, (*Complaint).contradicts)
}

func (c *checker) conditionsAgree() {
	agree(c, "profile.conditions.known", "condition and side",
		"send it once; if it came back, each time has a since of its own and all but the last are PAST", c.p.Conditions, (*Condition).contradicts)
}

func (c *checker) surgeriesAgree() {
	agree(c, "profile.surgeries.known", "operation, side and date", "send it once; two operations have dates of their own",
		c.p.Surgeries, (*Surgery).contradicts)
}

// contradicts: of one pain there is one strength and one age. Pain of another kind, at another moment or from another onset is another
// one, and the strictest of both counts.
func (k *Complaint) contradicts(o *Complaint) string {
	switch {
	case k.Region != o.Region || !k.Side.meets(o.Side) || k.Moment != o.Moment || k.Kind != o.Kind || k.Onset != o.Onset:
		return ""
	case k.Intensity != o.Intensity:
		return "intensity"
	case k.Days != o.Days:
		return "days"
	case k.LookedAt != o.LookedAt:
		return "looked_at"
	}
	return ""
}

// contradicts: a condition is there or not, and was told by somebody. It may have come back: that loosens nothing, since both times count.
func (k *Condition) contradicts(o *Condition) string {
	switch {
	case k.ID != o.ID || k.Region != o.Region || !k.Side.meets(o.Side) || k.wasBefore(o) || o.wasBefore(k):
		return ""
	case (k.Status == "PAST") != (o.Status == "PAST"):
		return "status"
	case k.Since != o.Since:
		return "since"
	case (k.ToldBy == "CLINICIAN") != (o.ToldBy == "CLINICIAN"):
		return "told_by"
	}
	return ""
}

// wasBefore is whether a condition is past and began before another did.
func (k *Condition) wasBefore(o *Condition) bool {
	return k.Status == "PAST" && k.Since != 0 && k.Since < o.Since
}

func (k *Surgery) contradicts(o *Surgery) string {
	if k.ID == o.ID && k.Region == o.Region && k.Side.meets(o.Side) && k.Day == o.Day && k.FullTrainingSince != o.FullTrainingSince {
		return "full_training_since"
	}
	return ""
}

// meets is whether there is a side that both are of.
func (s Side) meets(o Side) bool { return s.On(0) && o.On(0) || s.On(1) && o.On(1) }
