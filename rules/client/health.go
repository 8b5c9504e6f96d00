package client

import (
	"math"
	"slices"

	"drillwright/catalog"
)

func (d *deriver) conditions() {
	d.explained()
	if !d.conditionsKnown() {
		return
	}
	d.bones()
	at := &d.Frame.at.person
	for side := range 2 {
		now := func(c *Condition) bool { return c.Status != "PAST" }
		d.setWords(at.conditions, side, d.conditionsOn(side, now), Measured)
		d.setWords(at.pastConditions, side, d.conditionsOn(side, func(c *Condition) bool { return !now(c) }), Measured)
		d.setWords(at.byClinician, side, d.conditionsOn(side, func(c *Condition) bool { return now(c) && c.ToldBy == "CLINICIAN" }), Measured)
		d.conditionDays(side)
	}
}

// conditionDays counts the days since each condition that is there now; of two with one id, since the newer. Nobody knows since when: any
// number of days.
func (d *deriver) conditionDays(side int) {
	at := d.Frame.at.person.conditionDays
	for _, n := range at {
		d.setNumber(n, side, notStated, Measured)
	}
	for i := range d.p.Conditions {
		c := &d.p.Conditions[i]
		if place := d.Frame.ids.conditions.index(c.ID); place >= 0 && c.Status != "PAST" && c.Side.On(side) {
			d.newer(at[place], side, since(d.Request.AsOf, c.Since, 1, daysLimit))
		}
	}
}

// since is how much time has passed since a day, in whole units of so many days; any time up to the most where the day is unknown.
func since(now, day Day, unit int, most float64) Span {
	if day == 0 {
		return Span{0, most}
	}
	whole := min(float64(int(now-day)/unit), most)
	return Span{whole, whole}
}

// newer takes the shorter of the time that stands there and another.
func (d *deriver) newer(n numberAt, side int, passed Span) {
	if had := d.Num[side][n.slot]; !math.IsNaN(had.Lo) {
		passed = Span{min(had.Lo, passed.Lo), min(had.Hi, passed.Hi)}
	}
	d.setNumber(n, side, passed, Measured)
}

// conditionsKnown is whether conditions were asked about: those told are all there are, or the question was denied. A yes that names
// none leaves them open.
func (d *deriver) conditionsKnown() bool {
	return (d.p.ConditionsTold || d.denied("known_condition")) && !d.Open("known_condition")
}

// bones says where a bone heals.
func (d *deriver) bones() {
	for region := range d.told {
		for side := range 2 {
			heals := slices.ContainsFunc(d.p.Conditions, func(c Condition) bool { return d.heals(&c, region, side) })
			d.setTruth(d.Frame.at.regions[region].healingBone, side, truth(heals), Measured)
		}
	}
}

// explained says where a clinician has told of a condition that explains what is felt of a nerve.
func (d *deriver) explained() {
	for i := range d.p.Conditions {
		c := &d.p.Conditions[i]
		place := d.Frame.ids.conditions.index(c.ID)
		if place < 0 || c.Status == "PAST" || c.ToldBy != "CLINICIAN" {
			continue
		}
		for _, region := range indexesOf(&d.Frame.ids.regions, d.Frame.Vocabulary.Conditions[place].ExplainsNerve) {
			for side := range 2 {
				if c.Side.On(side) || !d.Frame.Vocabulary.Regions[region].Sided {
					d.setTruth(d.Frame.at.regions[region].nerveExplained, side, Yes, Measured)
				}
			}
		}
	}
}

// heals is whether a condition is a bone that heals in a region on a side, without a clinician's word on it: it is there now, or past for
// less than the days of the book, or since nobody knows when. Where no region is told it may be any it can be in.
func (d *deriver) heals(c *Condition, region, side int) bool {
	place := d.Frame.ids.conditions.index(c.ID)
	onSide := c.Side.On(side) || c.Region == "" || !d.Frame.Vocabulary.Regions[region].Sided
	if place < 0 || !d.Frame.Vocabulary.Conditions[place].Bone || !onSide {
		return false
	}
	healed := c.Status == "PAST" && c.Since != 0 && int(d.Request.AsOf-c.Since) > d.Frame.Measures.BoneHealsDays
	id := d.Frame.ids.regions.ids[region]
	here := c.Region == id || c.Region == "" && slices.Contains(d.Frame.Vocabulary.Conditions[place].Unplaced, id)
	return here && !healed && !slices.ContainsFunc(d.p.Clearances, func(k Clearance) bool {
		return k.Region == id && k.Side.On(side) && k.Stands(d.Request.AsOf) &&
			(c.Since != 0 && k.Given >= c.Since || slices.Contains(k.Covers, c.ID))
	})
}

// conditionsOn lists the conditions on a side that are such.
func (d *deriver) conditionsOn(side int, such func(*Condition) bool) Set {
	from := len(d.words)
	for i := range d.p.Conditions {
		if c := &d.p.Conditions[i]; c.Side.On(side) && such(c) {
			d.words = append(d.words, c.ID)
		}
	}
	return d.exactly(from)
}

// clearances takes every clearance that stands, region by region, and says where somebody was operated.
func (d *deriver) clearances() {
	d.operations()
	for region := range d.told {
		for side := range 2 {
			d.operation(region, side)
			if d.told[region].sides[side].clearance {
				d.cleared(region, side)
			}
		}
	}
}

// operation says whether a region was operated on a side, how long ago at least, and whether it has limits or full training since.
func (d *deriver) operation(region, side int) {
	at := &d.Frame.at.regions[region]
	if !d.told[region].sides[side].operated {
		if d.surgeriesKnown() {
			d.setTruth(at.surgery, side, No, Measured)
			d.setNumber(at.surgeryWeeks, side, notStated, Measured)
		}
		return
	}
	weeks, trained, cleared := Span{weeksLimit, weeksLimit}, Yes, true
	for i := range d.p.Surgeries {
		k := &d.p.Surgeries[i]
		if k.Region != d.Frame.ids.regions.ids[region] || !k.Side.On(side) {
			continue
		}
		passed := since(d.Request.AsOf, k.Day, 7, weeksLimit)
		weeks = Span{min(weeks.Lo, passed.Lo), min(weeks.Hi, passed.Hi)}
		trained, cleared = and(trained, d.trainedSince(k)), cleared && d.clearedAfter(k, side)
	}
	d.setTruth(at.surgery, side, Yes, Measured)
	d.setNumber(at.surgeryWeeks, side, weeks, Measured)
	d.setTruth(at.trainedSince, side, trained, Measured)
	d.setTruth(at.surgeryCleared, side, truth(cleared), Measured)
}

// trainedSince is whether full training since an operation lets it grow old: never where the surgeon's limits are needed however long ago
// it was, and open where nobody says what was done.
func (d *deriver) trainedSince(k *Surgery) Truth {
	index := d.Frame.Vocabulary.Index("procedure", k.ID)
	switch {
	case !k.FullTrainingSince || index >= 0 && d.Frame.Vocabulary.Procedures[index].NeedsClearance:
		return No
	case index < 0 && slices.ContainsFunc(d.Frame.Vocabulary.Procedures, func(p catalog.Procedure) bool {
		return p.NeedsClearance && slices.Contains(p.Regions, k.Region)
	}):
		return Maybe
	}
	return Yes
}

// surgeriesKnown is whether operations were asked about; a yes that names none leaves them open.
func (d *deriver) surgeriesKnown() bool {
	return (d.p.SurgeriesTold || d.denied("surgery_or_dislocation")) && !d.Open("surgery_or_dislocation") && !d.Open("operation_last_12_weeks")
}

// clearedAfter is whether a clinician has given limits for an operation: since it, or, where nobody says when it was, with it in mind.
func (d *deriver) clearedAfter(k *Surgery, side int) bool {
	return slices.ContainsFunc(d.p.Clearances, func(c Clearance) bool {
		return c.Region == k.Region && c.Side.On(side) && c.Stands(d.Request.AsOf) && (k.Day != 0 && c.Given >= k.Day || k.Day == 0 && c.Surgery)
	})
}

// operations lists the procedures done on a side. What isn't one of the vocabulary's may be any of its region.
func (d *deriver) operations() {
	if !d.surgeriesKnown() {
		return
	}
	for side := range 2 {
		from := len(d.words)
		for i := range d.p.Surgeries {
			if k := &d.p.Surgeries[i]; k.Side.On(side) && d.Frame.Vocabulary.Has("procedure", k.ID) {
				d.words = append(d.words, k.ID)
			}
		}
		sure := d.exactly(from)
		from = len(d.words)
		d.words = append(d.words, sure.Sure...)
		for i := range d.p.Surgeries {
			if k := &d.p.Surgeries[i]; k.Side.On(side) && !d.Frame.Vocabulary.Has("procedure", k.ID) {
				d.words = append(d.words, d.Frame.proceduresOf(k.Region)...)
			}
		}
		d.setWords(d.Frame.at.person.operations, side, Set{Sure: sure.Sure, Possible: d.exactly(from).Possible}, Measured)
		d.operationWeeks(side)
	}
}

// weeksLimit is the longest ago that an operation can be, in weeks.
const weeksLimit = 5200

// operationWeeks counts the weeks since each procedure; of two, since the later. An operation in other words may be any procedure of its
// region, or none of them: its weeks are possible, not sure.
func (d *deriver) operationWeeks(side int) {
	at, v := d.Frame.at.person.operationWeeks, d.Frame.Vocabulary
	for _, n := range at {
		d.setNumber(n, side, notStated, Measured)
	}
	for i := range d.p.Surgeries {
		k := &d.p.Surgeries[i]
		if !k.Side.On(side) {
			continue
		}
		passed := since(d.Request.AsOf, k.Day, 7, weeksLimit)
		if index := v.Index("procedure", k.ID); index >= 0 {
			d.newer(at[index], side, passed)
			continue
		}
		for index := range v.Procedures {
			if slices.Contains(v.Procedures[index].Regions, k.Region) {
				d.newer(at[index], side, Span{passed.Lo, weeksLimit})
			}
		}
	}
}

func (d *deriver) cleared(region, side int) {
	at := &d.Frame.at.regions[region]
	for i := range d.p.Clearances {
		c := &d.p.Clearances[i]
		if c.Region != d.Frame.ids.regions.ids[region] || !c.Side.On(side) || !c.Stands(d.Request.AsOf) {
			continue
		}
		d.limits(c, at, side)
		d.setTruth(at.cleared, side, Yes, Measured)
		d.tighter(at.clearanceDays, side, float64(d.Request.AsOf-c.Given))
		if c.NoOverhead {
			d.setTruth(at.limit.noOverhead, side, Yes, Measured)
		}
		d.cover(c, side)
	}
}

// Stands is true of a clinician's clearance that counts on a day.
func (c *Clearance) Stands(on Day) bool {
	return c.By == "CLINICIAN" && c.Given <= on && (c.Until == 0 || on <= c.Until)
}

// limits takes the tightest of several clearances. One for a single side may limit a motion of the midline: on both.
func (d *deriver) limits(c *Clearance, at *regionAt, side int) {
	for _, l := range c.RangeDeg {
		motion := d.Frame.ids.motions.index(l.Motion)
		if motion < 0 || !d.Frame.at.motions[motion].hasRange {
			continue
		}
		d.tighter(d.Frame.at.motions[motion].limitRange, side, l.ToDeg)
		if !d.Frame.at.motions[motion].sided {
			d.tighter(d.Frame.at.motions[motion].limitRange, 1-side, l.ToDeg)
		}
	}
	if c.LoadKg != nil {
		d.tighter(at.limit.loadKg, side, *c.LoadKg)
	}
}

func (d *deriver) tighter(n numberAt, side int, v float64) {
	if had := d.Num[side][n.slot].Lo; math.IsNaN(had) || v < had {
		d.value(n, side, v)
	}
}

// cover adds the conditions a clearance covers, less those that began after it was given, or nobody knows when, and bones
// of another region.
func (d *deriver) cover(c *Clearance, side int) {
	for _, id := range c.Covers {
		elsewhere := slices.ContainsFunc(d.p.Conditions, func(k Condition) bool {
			bone := d.Frame.Vocabulary.IsBone(id) && k.Region != c.Region
			return k.ID == id && k.Side.On(side) && (k.Since == 0 || k.Since > c.Given || bone)
		})
		if !elsewhere {
			d.Covered[side] = append(d.Covered[side], id)
		}
	}
}

// proceduresOf lists the procedures that are done in a region.
func (f *Frame) proceduresOf(region string) []string {
	var ids []string
	for i := range f.Vocabulary.Procedures {
		if p := &f.Vocabulary.Procedures[i]; slices.Contains(p.Regions, region) {
			ids = append(ids, p.ID)
		}
	}
	return ids
}
