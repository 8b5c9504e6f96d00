package client

import "slices"

// reply is what the answers to a question come to, beside its truth.
type reply struct {
	// open: a yes, or an unsure, that nothing settles, of whatever day. It keeps an empty list from counting as none.
	open bool
	// yes is open and no unsure.
	yes bool
	// denied: a no that still counts and that nothing contradicts.
	denied bool
	// against is what contradicts a no; nil when nothing does. It is only a doubt where nobody told how a complaint began.
	against *Contradiction
	doubt   bool
}

// answers works out each screening question. An answer goes before what was said of all others, and the first answer before a
// second. The truth is that of a yes which nothing has settled, and of a no which nothing contradicts.
func (d *deriver) answers() {
	if s := d.p.Screening; s != nil && s.Others == "NO" {
		for _, id := range s.Lists {
			if i := d.Frame.ids.lists.index(id); i >= 0 {
				for _, question := range d.Frame.lookups.asked[i] {
					d.answer(question, &Answer{Is: "NO", Day: s.Day})
				}
			}
		}
	}
	for i := range slices.Backward(d.p.Answers) {
		if place := d.Frame.ids.questions.index(d.p.Answers[i].Question); place >= 0 {
			d.answer(place, &d.p.Answers[i])
		}
	}
}

func (d *deriver) answer(question int, a *Answer) {
	q, r := d.Frame.lookups.questions[question], &d.replies[question]
	settled := a.Is != "NO" && d.settled(q, a)
	*r = reply{open: a.Is != "NO" && !settled, yes: a.Is == "YES" && !settled}
	at, counts := d.Frame.at.answers[question], d.counts(q, a.Day)
	switch {
	case settled:
		d.bothTruth(at, No, Measured)
	case a.Is != "NO" && !counts:
		d.bothTruth(at, Maybe, TooOld)
	case a.Is == "YES" || a.Is == "UNSURE" && q.sameDay():
		d.bothTruth(at, Yes, Measured)
	case a.Is != "NO":
		d.bothTruth(at, Maybe, Unanswered)
	case !counts:
		d.bothTruth(at, Maybe, TooOld)
	default:
		r.against, r.doubt = d.against(q, a)
		if r.denied = r.against == nil; r.denied || d.settled(q, &Answer{}) { // a yes would be settled too
			d.bothTruth(at, No, Measured)
			return
		}
		d.bothTruth(at, Maybe, Unanswered)
	}
}

// counts is true while an answer is young enough for its urgency.
func (d *deriver) counts(q *Question, on Day) bool {
	if q.sameDay() {
		return on == d.Request.AsOf
	}
	return int(d.Request.AsOf-on) <= d.Frame.Measures.ValidDays.Answer
}

// settled is whether something that the question names settles its yes.
func (d *deriver) settled(q *Question, a *Answer) bool {
	by := q.SettledBy
	if by == nil {
		return false
	}
	seen := a.LookedAt != 0 && a.LookedAt <= d.Request.AsOf && int(d.Request.AsOf-a.LookedAt) <= by.LookedAtDays
	return seen || slices.ContainsFunc(by.Told, d.reports) || slices.ContainsFunc(by.Conditions, d.hasCondition)
}

// against is what contradicts a no: the first that does, what was told before what wasn't. A no that was given in view of it, on the
// day, stands.
func (d *deriver) against(q *Question, a *Answer) (by *Contradiction, doubt bool) {
	if a.ComplaintInView && a.Day == d.Request.AsOf {
		return nil, false
	}
	for _, doubt := range []bool{false, true} {
		for i := range q.ContradictedBy {
			if c := &q.ContradictedBy[i]; d.contradicts(c, doubt) {
				return c, doubt
			}
		}
	}
	return nil, false
}

func (d *deriver) contradicts(c *Contradiction, doubt bool) bool {
	switch {
	case len(c.Told) > 0 || len(c.Conditions) > 0:
		return slices.ContainsFunc(c.Told, d.reports) || slices.ContainsFunc(c.Conditions, d.hasCondition)
	case c.WakesAtNight:
		return slices.ContainsFunc(d.p.Pain, func(p Pain) bool {
			young := int(d.Request.AsOf-p.Day) <= d.Frame.Measures.ValidDays.Pain
			return young && p.WakesAtNight != nil && *p.WakesAtNight && anyOr(c.Regions, p.Region)
		})
	}
	return slices.ContainsFunc(d.Request.Complaints, func(k Complaint) bool { return d.contradictory(c, &k, doubt) })
}

// contradictory: how a complaint began, and when, may be anything where it wasn't told.
func (d *deriver) contradictory(c *Contradiction, k *Complaint, doubt bool) bool {
	onset := anyOr(c.Onsets, k.Onset) || doubt && k.Onset == ""
	recent := c.WithinDays == 0 || k.Days <= c.WithinDays && (doubt || k.Days > 0)
	fits := anyOr(c.Regions, k.Region) && onset && anyOr(c.Kinds, k.Kind) && anyOr(c.Moments, k.Moment) && recent
	return fits && !(c.SparedByLift && !d.sparedByLift(k)) && !(c.UnlessLookedAt && d.lookedAt(k))
}

// anyOr is whether a word is one of a list, or the list is empty.
func anyOr(list []string, word string) bool { return len(list) == 0 || slices.Contains(list, word) }

// reports is whether a part of the profile has something in it.
func (d *deriver) reports(part string) bool {
	p := d.p
	switch part {
	case "conditions":
		return len(p.Conditions) > 0
	case "current_conditions":
		return slices.ContainsFunc(p.Conditions, func(c Condition) bool { return c.Status != "PAST" })
	case "surgeries":
		return len(p.Surgeries) > 0
	case "medicines":
		return len(p.Medicines) > 0
	case "pregnancy":
		return p.Pregnancy != nil && (p.Pregnancy.Weeks != nil || p.Pregnancy.PostnatalWeeks != nil)
	case "blood_pressure":
		return p.BloodPressure != nil && int(d.Request.AsOf-p.BloodPressure.Day) <= d.Frame.Measures.ValidDays.BloodPressure
	case "high_reading":
		most := &d.Frame.Measures.PressureWhenDenied
		return p.BloodPressure != nil &&
			(float64(p.BloodPressure.Systolic) > most.Systolic || float64(p.BloodPressure.Diastolic) > most.Diastolic)
	}
	return false
}

// denied is true when a question exists and its no stands.
func (d *deriver) denied(question string) bool {
	place := d.Frame.ids.questions.index(question)
	return place >= 0 && d.replies[place].denied
}

// Open is whether a yes to a question, or an unsure, is settled by nothing, of whatever day it is.
func (f *Facts) Open(question string) bool {
	place := f.Frame.ids.questions.index(question)
	return place >= 0 && f.replies[place].open
}

// Affirmed is whether a yes to a question is settled by nothing, of whatever day it is.
func (f *Facts) Affirmed(question string) bool {
	place := f.Frame.ids.questions.index(question)
	return place >= 0 && f.replies[place].yes
}

// Untold yields, in order, each question whose yes is open and would be settled by what the profile could tell.
func (f *Facts) Untold(yield func(*Question) bool) {
	for i := range f.replies {
		q := f.Frame.lookups.questions[i]
		if f.replies[i].yes && q.SettledBy != nil && len(q.SettledBy.Told)+len(q.SettledBy.Conditions) > 0 && !yield(q) {
			return
		}
	}
}

// Contradicted yields, in order, each question whose no something contradicts, and how it is asked again: in the words of what was told,
// or in its own where it is only a doubt.
func (f *Facts) Contradicted(yield func(q *Question, asks string) bool) {
	for i := range f.replies {
		r, q := &f.replies[i], f.Frame.lookups.questions[i]
		if r.against == nil {
			continue
		}
		asks := r.against.Asks
		if r.doubt {
			asks = q.Asks
		}
		if !yield(q, asks) {
			return
		}
	}
}
