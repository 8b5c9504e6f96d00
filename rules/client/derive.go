package client

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"drillwright/catalog"
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

// pressure takes a reading that still counts; a denied question about high pressure rules the high values out.
func (d *deriver) pressure() {
	if b := d.p.BloodPressure; b != nil && int(d.Request.AsOf-b.Day) <= d.Frame.Measures.ValidDays.BloodPressure {
		d.both("client.blood_pressure.systolic", float64(b.Systolic))
		d.both("client.blood_pressure.diastolic", float64(b.Diastolic))
	} else if d.denied("high_blood_pressure") {
		for side := range 2 {
			d.setNumber("client.blood_pressure.systolic", side, Span{60, 159}, Presumed)
			d.setNumber("client.blood_pressure.diastolic", side, Span{30, 99}, Presumed)
		}
	}
}

func (d *deriver) pregnancy() {
	p := d.p.Pregnancy
	spans := [2]Span{d.Number("client.pregnancy.weeks", 0), d.Number("client.pregnancy.postnatal_weeks", 0)}
	status, section, agreed := NeverTaken, Maybe, Maybe
	if p == nil && (d.p.Sex == "MALE" || d.denied("pregnant_or_recent_birth")) {
		p = &Pregnancy{}
	}
	if p != nil {
		spans, status = [2]Span{stated(p.Weeks), stated(p.PostnatalWeeks)}, Measured
		section = Truth{p.Section, p.Section}
		if p.Agreed != nil {
			agreed = Truth{*p.Agreed, *p.Agreed}
		}
	}
	for side := range 2 {
		d.setNumber("client.pregnancy.weeks", side, spans[0], status)
		d.setNumber("client.pregnancy.postnatal_weeks", side, spans[1], status)
		d.setTruth("client.pregnancy.section", side, section, status)
		d.setTruth("client.pregnancy.agreed", side, agreed, status)
	}
}

func stated(v *int) Span {
	if v == nil {
		return notStated
	}
	return Span{float64(*v), float64(*v)}
}

func (d *deriver) hypermobile() Truth {
	if d.p.Beighton == nil {
		has := d.hasCondition("hypermobility")
		return Truth{has, has}
	}
	limit := d.Frame.Measures.Hypermobile.Score
	if d.p.AgeYears != nil && *d.p.AgeYears > d.Frame.Measures.Hypermobile.UpToAge {
		limit = d.Frame.Measures.Hypermobile.After
	}
	loose := *d.p.Beighton >= limit
	return Truth{loose, loose}
}

func (d *deriver) hasCondition(id string) bool {
	return slices.ContainsFunc(d.p.Conditions, func(c Condition) bool { return c.ID == id && c.Status != "PAST" })
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

func (d *deriver) conditions() {
	if !d.p.ConditionsTold && !d.denied("known_condition") {
		return
	}
	for side := range 2 {
		var now, past, told []string
		for _, c := range d.p.Conditions {
			switch {
			case !c.Side.On(side):
			case c.Status == "PAST":
				past = append(past, c.ID)
			default:
				now = append(now, c.ID)
				if c.ToldBy == "CLINICIAN" {
					told = append(told, c.ID)
				}
			}
		}
		d.setWords("client.conditions", side, exactly(now...), Measured)
		d.setWords("client.past_conditions", side, exactly(past...), Measured)
		d.setWords("client.conditions_by_clinician", side, exactly(told...), Measured)
	}
}

// standing is true for a clinician's clearance that counts on the day.
func (d *deriver) standing(c Clearance) bool {
	return c.By == "CLINICIAN" && c.Given <= d.Request.AsOf && (c.Until == 0 || d.Request.AsOf <= c.Until)
}

func (d *deriver) clearances() {
	for _, m := range d.Frame.Vocabulary.Motions {
		if m.HasRange() {
			d.each(func(side int) { d.setNumber("client.limit.range."+m.ID, side, notStated, Measured) })
		}
	}
	for _, r := range d.Frame.Vocabulary.Regions {
		for side := range 2 {
			d.setNumber("client.limit.load_kg."+r.ID, side, notStated, Measured)
			overhead, cleared, operated := No, No, d.operated(r.ID, side)
			for _, c := range d.p.Clearances {
				if c.Region != r.ID || !c.Side.On(side) || !d.standing(c) {
					continue
				}
				d.limits(c, side)
				cleared = Yes
				if c.NoOverhead {
					overhead = Yes
				}
				d.Covered[side] = append(d.Covered[side], d.coveredBy(c, side)...)
			}
			d.setTruth("client.limit.no_overhead."+r.ID, side, overhead, Measured)
			d.setTruth("client.cleared."+r.ID, side, cleared, Measured)
			d.setTruth("client.surgery."+r.ID, side, operated, Measured)
		}
	}
}

func (d *deriver) each(do func(side int)) {
	do(0)
	do(1)
}

// limits takes the tightest of several clearances.
func (d *deriver) limits(c Clearance, side int) {
	tighter := func(name string, v float64) {
		if had := d.Number(name, side); math.IsNaN(had.Lo) || v < had.Lo {
			d.value(name, side, v)
		}
	}
	for _, l := range c.RangeDeg {
		tighter("client.limit.range."+l.Motion, l.ToDeg)
	}
	if c.LoadKg != nil {
		tighter("client.limit.load_kg."+c.Region, *c.LoadKg)
	}
}

// coveredBy lists the conditions a clearance covers, less those that began after it was given.
func (d *deriver) coveredBy(c Clearance, side int) []string {
	var ids []string
	for _, id := range c.Covers {
		newer := slices.ContainsFunc(d.p.Conditions, func(k Condition) bool {
			return k.ID == id && k.Side.On(side) && k.Since > c.Given
		})
		if !newer {
			ids = append(ids, id)
		}
	}
	return ids
}

func (d *deriver) operated(region string, side int) Truth {
	for _, s := range d.p.Surgeries {
		if s.Region == region && s.Side.On(side) {
			return Yes
		}
	}
	if d.p.SurgeriesTold || d.denied("surgery_or_dislocation") {
		return No
	}
	return Maybe
}

// pain takes the scores that are young enough, and reads irritability from them.
func (d *deriver) pain() {
	for _, r := range d.Frame.Vocabulary.Regions {
		for side := range 2 {
			base := "client.pain." + r.ID
			var told *Pain
			for i := range d.p.Pain {
				p := &d.p.Pain[i]
				if p.Region == r.ID && p.Side.On(side) && int(d.Request.AsOf-p.Day) <= d.Frame.Measures.ValidDays.Pain {
					told = p
				}
			}
			if told != nil {
				d.score(base+".rest", side, told.Rest)
				d.score(base+".worst", side, told.Worst)
				d.score(base+".next_day", side, told.NextDay)
				d.score(base+".settle_hours", side, told.SettleHours)
				if told.WakesAtNight != nil {
					d.setTruth(base+".wakes_at_night", side, Truth{*told.WakesAtNight, *told.WakesAtNight}, Measured)
				}
			} else if !d.soreOn(r.ID, side) {
				d.quietPain(base, side)
			}
			d.setWords("client.irritability."+r.ID, side, d.irritability(r.ID, side), Measured)
		}
	}
}

func (d *deriver) score(name string, side int, v *float64) {
	if v != nil {
		d.value(name, side, *v)
	}
}

// soreOn is true when a complaint or a condition of a region falls on a side.
func (d *deriver) soreOn(region string, side int) bool {
	return slices.ContainsFunc(d.Request.Complaints, func(c Complaint) bool { return c.Region == region && c.Side.On(side) }) ||
		slices.ContainsFunc(d.p.Conditions, func(c Condition) bool {
			i := d.Frame.Vocabulary.Place("condition", c.ID)
			return c.Status != "PAST" && c.Side.On(side) && i >= 0 && slices.Contains(d.Frame.Vocabulary.Conditions[i].Regions, region)
		})
}

// quietPain: a side that was asked about and has no complaint and no condition has no pain.
func (d *deriver) quietPain(base string, side int) {
	for _, part := range []string{".rest", ".worst", ".next_day", ".settle_hours"} {
		d.setNumber(base+part, side, Span{0, 0}, Presumed)
	}
	d.setTruth(base+".wakes_at_night", side, No, Presumed)
}

func (d *deriver) complained(region string) bool {
	return slices.ContainsFunc(d.Request.Complaints, func(c Complaint) bool { return c.Region == region })
}

func (d *deriver) conditionIn(region string) bool {
	return slices.ContainsFunc(d.p.Conditions, func(c Condition) bool {
		i := d.Frame.Vocabulary.Place("condition", c.ID)
		return c.Status != "PAST" && i >= 0 && slices.Contains(d.Frame.Vocabulary.Conditions[i].Regions, region)
	})
}

// irritability reads rest, worst, hours to settle and night, not the pain of a provoking test. A tendon
// condition is high only by night pain or by the hours to settle.
func (d *deriver) irritability(region string, side int) Set {
	m, base := d.Frame.Measures.Irritability, "client.pain."+region
	high := or(d.Truth(base+".wakes_at_night", side), above(d.Number(base+".settle_hours", side), m.HighSettleHours))
	if !d.tendon(region, side) {
		high = or(high, or(atLeast(d.Number(base+".worst", side), m.HighWorst), atLeast(d.Number(base+".rest", side), m.HighRest)))
	}
	moderate := atLeast(d.Number(base+".worst", side), m.ModerateWorst)
	var possible []string
	if !high.Sure && !moderate.Sure {
		possible = append(possible, "low")
	}
	if !high.Sure && moderate.Possible {
		possible = append(possible, "moderate")
	}
	if high.Possible {
		possible = append(possible, "high")
	}
	if len(possible) == 1 {
		return Set{possible, possible}
	}
	return Set{Possible: possible}
}

func or(a, b Truth) Truth { return Truth{a.Sure || b.Sure, a.Possible || b.Possible} }
func atLeast(s Span, v float64) Truth {
	return Truth{s.Lo >= v, s.Hi >= v}
}
func above(s Span, v float64) Truth { return Truth{s.Lo > v, s.Hi > v} }

func (d *deriver) tendon(region string, side int) bool {
	return slices.ContainsFunc(d.p.Conditions, func(c Condition) bool {
		i := d.Frame.Vocabulary.Place("condition", c.ID)
		return i >= 0 && c.Status != "PAST" && c.Side.On(side) && d.Frame.Vocabulary.Conditions[i].Tendon &&
			slices.Contains(d.Frame.Vocabulary.Conditions[i].Regions, region)
	})
}

// questioned marks the regions in question: a complaint, pain, a condition, a clearance, an operation, a
// warning sign, or a rung below the top, on either side.
func (d *deriver) questioned() {
	for _, r := range d.Frame.Vocabulary.Regions {
		truth := No
		if d.complained(r.ID) || d.conditionIn(r.ID) || d.belowTop(r.ID) || d.flagged(r.ID) ||
			slices.ContainsFunc(d.p.Clearances, func(c Clearance) bool { return c.Region == r.ID }) {
			truth = Yes
		}
		for side := range 2 {
			worst := d.Number("client.pain."+r.ID+".worst", side)
			rest := d.Number("client.pain."+r.ID+".rest", side)
			limit := d.Frame.Measures.PainInQuestion
			truth = or(truth, Truth{worst.Lo >= limit || rest.Lo >= limit || d.operated(r.ID, side).Sure, false})
		}
		truth.Possible = truth.Sure
		d.bothTruth("client.in_question."+r.ID, truth, Measured)
	}
}

func (d *deriver) belowTop(region string) bool {
	ladder := d.Frame.Ladder(region)
	return slices.ContainsFunc(d.p.Rungs, func(s Standing) bool {
		return s.Region == region && ladder != nil && ladder.Place(s.At) < len(ladder.Rungs)-1
	})
}

func (d *deriver) flagged(region string) bool {
	for _, l := range d.Frame.Lists {
		if l.Region != region {
			continue
		}
		for _, q := range l.Questions {
			if d.Truth("client.answers."+q.ID, 0).Sure {
				return true
			}
		}
	}
	return false
}

// rungs takes the rung that was set; else the top in a quiet region, else the ladder's entry by irritability.
func (d *deriver) rungs() {
	for i := range d.Frame.Ladders {
		l := &d.Frame.Ladders[i]
		for side := range 2 {
			name := "client.rung." + l.Region
			if at := d.standingOn(l, side); at >= 0 {
				d.value(name, side, float64(at))
				continue
			}
			rung, why := l.Rungs[len(l.Rungs)-1], "nothing told against it"
			if d.InQuestion(l.Region) {
				level := d.Words("client.irritability."+l.Region, side).Possible
				rung, why = l.Entry[level[len(level)-1]], level[len(level)-1]+" irritability"
				if len(level) > 1 {
					why = "irritability not known, taken as " + level[len(level)-1]
				}
				d.presume(name, side, l.Region, "rung "+strings.ReplaceAll(rung, "_", " ")+" ("+why+")")
			}
			place := float64(l.Place(rung))
			d.setNumber(name, side, Span{place, place}, Presumed)
		}
	}
}

func (d *deriver) standingOn(l *Ladder, side int) int {
	for _, s := range d.p.Rungs {
		if s.Region == l.Region && s.Side.On(side) {
			return l.Place(s.At)
		}
	}
	return -1
}

func (d *deriver) presume(path string, side int, region, words string) {
	s := Sides[side]
	if !d.Frame.Vocabulary.Sided(region) {
		if side == 1 {
			return
		}
		s = SideNone
	}
	text := d.Frame.Vocabulary.Name("region", region) + ": " + words
	if s != SideNone {
		text = strings.ToLower(string(s)) + " " + text
	}
	d.Presumptions = append(d.Presumptions, Presumption{path, s, text})
}

// motion fills what is measured of a motion, and presumes the range of a quiet joint.
func (d *deriver) motion(m *catalog.Motion) {
	days := d.Frame.Measures.ValidDays
	d.measures("client.strength."+m.ID, m, d.p.StrengthN, days.Strength)
	d.measures("client.hold."+m.ID, m, d.p.HoldSeconds, days.Hold)
	d.gap("strength", m.ID, true)
	d.gap("hold", m.ID, true)
	if !m.HasRange() {
		return
	}
	d.each(func(side int) { d.value("client.margin."+m.ID, side, 0) })
	d.measures("client.range."+m.ID, m, d.p.RangeDeg, days.Range)
	d.measures("client.passive."+m.ID, m, d.p.PassiveDeg, days.Range)
	d.gap("range", m.ID, false)
	low, known := d.normLow(m)
	if !known {
		low = math.NaN()
	}
	d.both("norm.low."+m.ID, low)
	for side := range 2 {
		d.setNumber("client.painful."+m.ID+".from", side, notStated, Measured)
		d.setNumber("client.painful."+m.ID+".to", side, notStated, Measured)
		if known && d.quiet(m.Region) && !d.StatusOf("client.range."+m.ID, side).Known() {
			d.presumeRange(m, side, low)
		}
	}
	for _, a := range d.p.PainfulArcs {
		for side := range 2 {
			if a.Motion == m.ID && a.Side.On(side) {
				d.value("client.painful."+m.ID+".from", side, a.From)
				d.value("client.painful."+m.ID+".to", side, a.To)
			}
		}
	}
}

// quiet: asked about, and nothing found; never with hypermobility.
func (d *deriver) quiet(region string) bool {
	return !d.InQuestion(region) && !d.Truth("client.hypermobile", 0).Possible
}

// presumeRange takes the norm's lower bound as the least that is there, to within the margin of a careful
// measurement, as if somebody had measured it: a drill that goes further, or above the height that counts as
// overhead, stays to be tested.
func (d *deriver) presumeRange(m *catalog.Motion, side int, low float64) {
	margin := d.Frame.Measures.Margin.SameMeasurer
	if m.OverheadAbove > 0 {
		low = min(low, m.OverheadAbove-margin)
	}
	d.value("client.margin."+m.ID, side, margin)
	d.setNumber("client.range."+m.ID, side, Span{low, max(low, m.Limits[1])}, Presumed)
	words := fmt.Sprintf("%s of %g° at least", m.Name, low)
	if !m.Sided {
		if side == 1 {
			return
		}
		d.Presumptions = append(d.Presumptions, Presumption{"client.range." + m.ID, SideNone, words})
		return
	}
	d.Presumptions = append(d.Presumptions, Presumption{"client.range." + m.ID, Sides[side], strings.ToLower(string(Sides[side])) + " " + words})
}

// normLow is the least adult mean for the age; under 18 a share of the least adult norm, for the middle of the range only.
func (d *deriver) normLow(m *catalog.Motion) (float64, bool) {
	if d.p.AgeYears == nil {
		return 0, false
	}
	age, youngest := *d.p.AgeYears, -1
	for i, n := range m.Norms {
		if n.Ages[0] <= age && age <= n.Ages[1] {
			return n.LowDeg, true
		}
		if youngest < 0 || n.Ages[0] < m.Norms[youngest].Ages[0] {
			youngest = i
		}
	}
	if age >= 18 || youngest < 0 {
		return 0, false
	}
	return m.Norms[youngest].LowDeg * d.Frame.Measures.Under18Share / 100, true
}

// measures takes the newest measurement of each side that still counts.
func (d *deriver) measures(name string, m *catalog.Motion, list []Measure, validDays int) {
	for side := range 2 {
		for _, x := range list {
			if x.Of != m.ID || !x.Side.On(side) {
				continue
			}
			switch {
			case int(d.Request.AsOf-x.Day) > validDays:
				d.setNumber(name, side, d.Number(name, side), TooOld)
			case d.beforeFlare(m.Region, side, x.Day):
				d.setNumber(name, side, d.Number(name, side), BeforeFlare)
			default:
				d.value(name, side, x.Value)
				if strings.HasPrefix(name, "client.range.") {
					d.value("client.margin."+m.ID, side, d.margin(x.By))
				}
			}
		}
	}
}

func (d *deriver) margin(by string) float64 {
	switch by {
	case "SAME_MEASURER":
		return d.Frame.Measures.Margin.SameMeasurer
	case "SELF":
		return d.Frame.Measures.Margin.Self
	default:
		return d.Frame.Measures.Margin.Other
	}
}

func (d *deriver) beforeFlare(region string, side int, on Day) bool {
	for _, c := range d.Request.Complaints {
		if c.Region == region && c.Side.On(side) && on < d.Request.AsOf-Day(c.Days) {
			return true
		}
	}
	return false
}

// gap is how much this side is short of the other: degrees of range, or percent of the stronger side.
func (d *deriver) gap(what, motion string, percent bool) {
	l, r := "client."+what+"."+motion, "client.gap."+what+"."+motion
	if d.StatusOf(l, 0) != Measured || d.StatusOf(l, 1) != Measured {
		return
	}
	for side := range 2 {
		this, other := d.Number(l, side).Lo, d.Number(l, 1-side).Lo
		short := other - this
		if strongest := max(this, other); percent && strongest > 0 {
			short = short / strongest * 100
		}
		d.value(r, side, short)
	}
}

func (d *deriver) best() {
	for _, b := range d.p.Best {
		if int(d.Request.AsOf-b.Day) > d.Frame.Measures.ValidDays.Best {
			continue
		}
		base := "client.best." + b.Test
		whole := func(name string, v *int) {
			if v != nil {
				d.both(name, float64(*v))
			}
		}
		whole(base+".sets", b.Sets)
		whole(base+".reps", b.Reps)
		for side := range 2 {
			d.score(base+".load_kg", side, b.LoadKg)
			d.score(base+".pain", side, b.Pain)
		}
		if b.Form != "" {
			d.bothWords(base+".form", exactly(b.Form), Measured)
		}
	}
}

// log counts this week's sets by pattern, and the drills the client knows.
func (d *deriver) log() {
	sets, known := map[string]float64{}, []string{}
	for _, s := range d.p.Log {
		drill := d.Frame.Drills.Drill(s.Drill)
		known = append(known, s.Drill)
		if drill != nil && int(d.Request.AsOf-s.Day) < d.Frame.Measures.ValidDays.Week {
			sets[drill.Pattern.ID]++
		}
	}
	for _, p := range d.Frame.Vocabulary.Patterns {
		d.both("client.week_sets."+p.ID, sets[p.ID])
	}
	d.bothWords("client.familiar", exactly(known...), Measured)
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
