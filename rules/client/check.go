package client

import (
	"fmt"
	"math"
	"slices"
	"strconv"

	"drillwright/catalog"
)

// Check holds a request against the words, ladders and limits of an edition. The error is *Invalid: every
// violation at once. The lift isn't looked at: whoever needs it says what is near.
func Check(fr *Frame, q *Request) error {
	c := &checker{frame: fr, voc: fr.Vocabulary, q: q, p: q.Profile}
	c.request()
	if q.Profile == nil {
		c.add("profile", "the profile is missing", "")
		return NewInvalid(c.list)
	}
	c.person()
	c.health()
	c.clearances()
	c.measured()
	c.standings()
	c.screened()
	c.trained()
	return NewInvalid(c.list)
}

type checker struct {
	frame *Frame
	voc   *catalog.Vocabulary
	q     *Request
	p     *Profile
	list  []Violation
}

func (c *checker) add(field, message, suggestion string) {
	c.list = append(c.list, Violation{field, message, suggestion})
}

// term reports an id that the vocabulary doesn't have.
func (c *checker) term(field, kind, id string) bool {
	return c.oneOf(field, kind, id, c.voc.IDs(kind))
}

func (c *checker) oneOf(field, what, id string, known []string) bool {
	if slices.Contains(known, id) {
		return true
	}
	if id == "" {
		c.add(field, "the "+what+" is missing", "")
	} else {
		c.add(field, fmt.Sprintf("unknown %s %q", what, id), catalog.DidYouMean(id, known))
	}
	return false
}

// told is oneOf for words that may be left out.
func (c *checker) told(field, what, word string, known ...string) {
	if word != "" {
		c.oneOf(field, what, word, known)
	}
}

// day reports a day that is missing, or after the day of the request.
func (c *checker) day(field string, d Day) {
	if d == 0 {
		c.add(field, "the day is missing", "write YYYY-MM-DD")
	}
	c.past(field, d)
}

func (c *checker) past(field string, d Day) {
	if d > c.q.AsOf && c.q.AsOf != 0 {
		c.add(field, fmt.Sprintf("%s is after the day of the request, %s", d, c.q.AsOf), "")
	}
}

// within reports a number outside the limits of its path; what names it in the sentence.
func (c *checker) within(field, path, what string, v float64) {
	p := c.frame.Table.Path(path)
	switch {
	case math.IsNaN(v) || math.IsInf(v, 0):
		c.add(field, "this is not a number", "")
	case v > p.Hi:
		c.add(field, fmt.Sprintf("%s is more than %s can be", figure(v, p.Unit), what), "at most "+figure(p.Hi, p.Unit))
	case v < p.Lo:
		c.add(field, fmt.Sprintf("%s is less than %s can be", figure(v, p.Unit), what), "at least "+figure(p.Lo, p.Unit))
	}
}

func (c *checker) number(field, path, what string, v *float64) {
	if v != nil {
		c.within(field, path, what, *v)
	}
}

func (c *checker) whole(field, path, what string, v *int) {
	if v != nil {
		c.within(field, path, what, float64(*v))
	}
}

// score reports a number outside 0 to 10.
func (c *checker) score(field, what string, v float64) {
	if !(v >= 0 && v <= 10) {
		c.add(field, figure(v, "")+" is no "+what+" score", "it goes from 0 to 10")
	}
}

func (c *checker) scored(field, what string, v *float64) {
	if v != nil {
		c.score(field, what, *v)
	}
}

func figure(v float64, unit string) string {
	text := strconv.FormatFloat(v, 'f', -1, 64)
	switch unit {
	case "":
		return text
	case "deg":
		return text + "°"
	default:
		return text + " " + unit
	}
}

// sideOf reports a side of something that has none; where a side is optional, none stands for both.
func (c *checker) sideOf(field, what string, sided bool, s Side) {
	if !sided && s != SideNone {
		c.add(field, what+" has no left and right", "leave the side out")
	}
}

// sideIn reports an entry under left or right of what is midline, or under midline of what has two sides.
func (c *checker) sideIn(field, what string, sided bool, s Side) {
	switch {
	case sided && s != SideLeft && s != SideRight:
		c.add(field+sideKey(s), what+" has a left and a right", "write it under left or right")
	case !sided && s != SideNone:
		c.add(field+sideKey(s), what+" has no left and right", "write it under midline, once")
	}
}

func (c *checker) regionName(id string) string { return "the " + c.voc.Name("region", id) }

// request checks what stands beside the profile.
func (c *checker) request() {
	if c.q.AsOf == 0 {
		c.add("as_of", "the day of the request is missing", "write YYYY-MM-DD")
	}
	for i, k := range c.q.KitTaken {
		c.term(item("kit_taken", i), "kit", k)
	}
	for i, s := range c.q.StationsTaken {
		c.term(item("stations_taken", i), "station", s)
	}
	c.within("minutes", "request.minutes", "a session", float64(c.q.Minutes))
	for i, k := range c.q.Complaints {
		c.complaint(item("complaints", i), k)
	}
}

func (c *checker) complaint(field string, k Complaint) {
	if c.term(field+".region", "region", k.Region) {
		c.sideOf(field+".side", c.regionName(k.Region), c.voc.Sided(k.Region), k.Side)
		c.within(field+".days", "request.complaint."+k.Region+".days", "a complaint's age", float64(k.Days))
	}
	c.score(field+".intensity", "pain", k.Intensity)
	c.told(field+".moment", "moment", k.Moment, ComplaintMoments...)
	c.told(field+".kind", "kind of pain", k.Kind, c.voc.IDs("pain_kind")...)
	c.told(field+".onset", "onset", k.Onset, Onsets...)
}

// person checks the facts about the person as a whole.
func (c *checker) person() {
	p := c.p
	c.whole("profile.age_years", "client.age_years", "an age", p.AgeYears)
	c.told("profile.sex", "sex", p.Sex, "FEMALE", "MALE")
	c.told("profile.training", "training", p.Training, "NOVICE", "INTERMEDIATE", "ADVANCED")
	c.told("profile.dominant_side", "side", string(p.DominantSide), "LEFT", "RIGHT")
	c.number("profile.body_mass_kg", "client.body_mass_kg", "a body mass", p.BodyMassKg)
	c.whole("profile.beighton", "client.beighton", "the score", p.Beighton)
	c.whole("profile.confidence", "client.confidence", "the score", p.Confidence)
	c.whole("profile.programme_week", "client.programme_week", "a week of a programme", p.ProgrammeWeek)
	for i, k := range p.Kit {
		c.term(item("profile.kit.has", i), "kit", k)
	}
	for i, id := range p.Disliked {
		c.drill(item("profile.disliked", i), id)
	}
	for i, id := range p.GoalLifts {
		c.drill(item("profile.goal_lifts", i), id)
	}
}

func (c *checker) drill(field, id string) {
	if c.frame.Drills.Drill(id) == nil {
		c.oneOf(field, "drill", id, c.frame.Drills.DrillIDs())
	}
}

// screened checks the answers to questions, and the lists that were asked.
func (c *checker) screened() {
	for _, a := range c.p.Answers {
		field := entry("answers", a.Question)
		c.oneOf(field, "question", a.Question, c.frame.QuestionIDs())
		c.oneOf(field+".is", "answer", a.Is, []string{"YES", "NO", "UNSURE"})
		c.day(field+".date", a.Day)
	}
	s := c.p.Screening
	if s == nil {
		return
	}
	for i, id := range s.Lists {
		field := "profile.screening.list"
		if i > 0 {
			field = item("profile.screening.also", i-1)
		}
		c.oneOf(field, "list of questions", id, c.frame.ListIDs())
	}
	c.told("profile.screening.others", "answer for the others", s.Others, "NO")
	c.day("profile.screening.on", s.Day)
}

// trained checks best performances and the log.
func (c *checker) trained() {
	for _, b := range c.p.Best {
		field, path := entry("best", b.Test), "client.best."+b.Test
		c.day(field+".date", b.Day)
		if !c.term(field, "test", b.Test) {
			continue
		}
		c.whole(field+".sets", path+".sets", "a number of sets", b.Sets)
		c.whole(field+".reps", path+".reps", "a number of repetitions", b.Reps)
		c.number(field+".load_kg", path+".load_kg", "a load", b.LoadKg)
		c.told(field+".form", "form", b.Form, "OK", "POOR")
		c.scored(field+".pain", "pain", b.Pain)
	}
	for i, s := range c.p.Log {
		field := item("profile.log.sets", i)
		c.drill(field+".drill", s.Drill)
		c.day(field+".day", s.Day)
		c.scored(field+".effort", "effort", s.Effort)
		c.scored(field+".pain", "pain", s.Pain)
		c.scored(field+".next_day", "pain", s.NextDay)
	}
}
