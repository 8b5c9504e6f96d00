package client

import (
	"slices"
)

// Derive works out the facts of a request that has been checked. What the lift adds (request.allowed) is set
// by Allow, since it depends on the catalogue's tags of the lift.
func Derive(fr *Frame, q *Request) *Facts {
	f := blank(fr, q)
	d := deriver{f, q.Profile}
	d.complaints()
	d.answers()
	d.person()
	d.conditions()
	d.clearances()
	d.pain()
	d.questioned()
	d.rungs()
	for i := range fr.Vocabulary.Motions {
		d.motion(&fr.Vocabulary.Motions[i])
	}
	d.best()
	d.log()
	d.request()
	return f
}

type deriver struct {
	*Facts
	p *Profile
}

func (d *deriver) complaints() {
	for _, r := range d.Frame.Vocabulary.Regions {
		for side := range 2 {
			intensity, days := 0.0, 0.0
			var kinds, moments, onsets []string
			for _, c := range d.Request.Complaints {
				if c.Region != r.ID || !c.Side.On(side) {
					continue
				}
				intensity, days = max(intensity, c.Intensity), max(days, float64(c.Days))
				kinds, moments, onsets = append(kinds, c.Kind), append(moments, c.Moment), append(onsets, c.Onset)
			}
			base := "request.complaint." + r.ID
			d.value(base+".intensity", side, intensity)
			d.value(base+".days", side, days)
			d.setWords(base+".kinds", side, exactly(kinds...), Measured)
			d.setWords(base+".moments", side, exactly(moments...), Measured)
			d.setWords(base+".onsets", side, exactly(onsets...), Measured)
		}
	}
}

// answers settles each screening question that was answered and still counts.
func (d *deriver) answers() {
	for _, list := range d.Frame.Lists {
		for i := range list.Questions {
			q := &list.Questions[i]
			truth, status := d.answer(q)
			d.bothTruth("client.answers."+q.ID, truth, status)
		}
	}
}

func (d *deriver) answer(q *Question) (Truth, Status) {
	for _, a := range d.p.Answers {
		if a.Question != q.ID {
			continue
		}
		if !d.counts(q, a.Day) {
			return Maybe, TooOld
		}
		switch {
		case a.Is == "NO":
			return No, Measured
		case a.Is == "YES" || q.SameDay():
			return Yes, Measured
		default:
			return Maybe, Unanswered
		}
	}
	if s := d.p.Screening; s != nil && s.Others == "NO" && slices.Contains(s.Lists, q.List) {
		if d.counts(q, s.Day) {
			return No, Measured
		}
		return Maybe, TooOld
	}
	return Maybe, Unanswered
}

// counts is true while an answer is young enough for its urgency.
func (d *deriver) counts(q *Question, on Day) bool {
	if q.SameDay() {
		return on == d.Request.AsOf
	}
	return int(d.Request.AsOf-on) <= d.Frame.Measures.ValidDays.Answer
}

// denied is true when a question exists and its answer is a standing no.
func (d *deriver) denied(question string) bool {
	return d.Frame.Question(question) != nil && d.Truth("client.answers."+question, 0) == No
}

func (d *deriver) person() {
	p := d.p
	whole := func(name string, v *int) {
		if v != nil {
			d.both(name, float64(*v))
		}
	}
	whole("client.age_years", p.AgeYears)
	whole("client.beighton", p.Beighton)
	whole("client.confidence", p.Confidence)
	whole("client.programme_week", p.ProgrammeWeek)
	if p.BodyMassKg != nil {
		d.both("client.body_mass_kg", *p.BodyMassKg)
	}
	truth := func(name string, v *bool) {
		if v != nil {
			d.bothTruth(name, Truth{*v, *v}, Measured)
		}
	}
	truth("client.painkiller_today", p.PainkillerToday)
	truth("client.supervised", p.Supervised)
	truth("client.guardian_present", p.GuardianPresent)
	word := func(name, v string) {
		if v != "" {
			d.bothWords(name, exactly(v), Measured)
		}
	}
	word("client.sex", p.Sex)
	word("client.training", p.Training)
	word("client.dominant_side", string(p.DominantSide))
	d.pressure()
	d.pregnancy()
	d.bothTruth("client.hypermobile", d.hypermobile(), Measured)
	d.bothWords("client.kit", exactly(d.kit()...), Measured)
	d.bothWords("client.disliked", exactly(p.Disliked...), Measured)
	d.bothWords("client.goal_lifts", exactly(p.GoalLifts...), Measured)
	var classes []string
	for _, m := range p.Medicines {
		classes = append(classes, m.Class)
	}
	if p.MedicinesTold || d.denied("takes_medicine") {
		d.bothWords("client.medicines", exactly(classes...), Measured)
	}
}

// kit is what is at hand: what was told, what is always there, and what those count as.
func (d *deriver) kit() []string {
	have := map[string]bool{}
	for _, k := range d.Frame.Vocabulary.Kit {
		if k.Always || slices.Contains(d.p.Kit, k.ID) {
			have[k.ID] = true
			for _, c := range k.CountsAs {
				have[c] = true
			}
		}
	}
	var ids []string
	for id := range have {
		ids = append(ids, id)
	}
	return ids // exactly sorts
}

func (d *deriver) request() {
	for _, s := range d.Frame.Vocabulary.Stressors {
		d.both("request.allowed."+s.ID, 3)
	}
	d.bothWords("request.kit_taken", exactly(d.Request.KitTaken...), Measured)
	d.bothWords("request.stations_taken", exactly(d.Request.StationsTaken...), Measured)
	minutes := notStated
	if d.Request.Minutes > 0 {
		minutes = Span{float64(d.Request.Minutes), float64(d.Request.Minutes)}
	}
	for side := range 2 {
		d.setNumber("request.minutes", side, minutes, Measured)
		d.setWords("side", side, exactly(string(Sides[side])), Measured)
	}
}

// Allow sets the highest grade of a stressor that a substitute may have on a side.
func (f *Facts) Allow(stressor string, side int, grade int) {
	f.value("request.allowed."+stressor, side, float64(grade))
}
