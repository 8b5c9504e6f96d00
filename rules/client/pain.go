package client

import "slices"

// pain takes the scores that are young enough, and reads irritability from them.
func (d *deriver) pain() {
	for region := range d.told {
		at := &d.Frame.at.regions[region]
		for side := range 2 {
			t := &d.told[region].sides[side]
			switch {
			case t.pain != nil:
				on := sides{side, side + 1}
				d.painFacts(&at.painFields, on, t.pain)
				d.number(at.restTold, on, t.pain.Rest)
			case !t.complained && !t.condition:
				d.quietPain(at, side)
			}
			if t.mild {
				d.mildPain(region, side)
			}
			d.irritability(at, side, t)
		}
	}
}

// quietPain: a side that was asked about and has no complaint and no condition has no pain.
func (d *deriver) quietPain(at *regionAt, side int) {
	d.setNumber(at.rest, side, Span{0, 0}, Presumed)
	d.setNumber(at.worst, side, Span{0, 0}, Presumed)
	d.setNumber(at.nextDay, side, Span{0, 0}, Presumed)
	d.setNumber(at.settleHours, side, Span{0, 0}, Presumed)
	d.setTruth(at.wakesAtNight, side, No, Presumed)
}

// mildPain presumes the scores of a mild complaint that weren't told, all together; a score that was told takes its place. The next
// day is never presumed.
func (d *deriver) mildPain(region, side int) {
	at, most := &d.Frame.at.regions[region], &d.Frame.Measures.Mild.Presumed
	words := &d.Frame.mildPain[region]
	presume := func(n numberAt, hi float64, words *presumable) {
		if d.Status[side][n.path] != Measured {
			d.setNumber(n, side, Span{0, hi}, Presumed)
			d.presume(words, side)
		}
	}
	presume(at.rest, min(most.Rest, d.Num[side][at.complaint.intensity.slot].Hi), &words.rest)
	presume(at.worst, most.Worst, &words.worst)
	presume(at.settleHours, most.SettleHours, &words.settles)
	if d.Status[side][at.wakesAtNight.path] != Measured {
		d.setTruth(at.wakesAtNight, side, No, Presumed)
		d.presume(&words.wakes, side)
	}
	if d.p.PainkillerToday == nil && !slices.Contains(d.Presumptions, &noPainkiller[0]) {
		d.presume(&noPainkiller, 0)
	}
}

// irritability reads rest, worst, hours to settle and night, not the pain of a provoking test. A tendon
// condition is high only by night pain or by the hours to settle.
func (d *deriver) irritability(at *regionAt, side int, t *sideReport) {
	m, numbers := &d.Frame.Measures.Irritability, d.Num[side]
	high := or(d.Bool[side][at.wakesAtNight.slot], above(numbers[at.settleHours.slot], m.HighSettleHours))
	if !t.tendon {
		high = or(high, or(atLeast(numbers[at.worst.slot], m.HighWorst), atLeast(numbers[at.rest.slot], m.HighRest)))
	}
	moderate := atLeast(numbers[at.worst.slot], m.ModerateWorst)
	t.levels = 0
	if !high.Sure && !moderate.Sure {
		t.levels |= 1 << levelLow
	}
	if !high.Sure && moderate.Possible {
		t.levels |= 1 << levelModerate
	}
	if high.Possible {
		t.levels |= 1 << levelHigh
	}
	d.setWords(at.irritability, side, irritable[t.levels], Measured)
}

// Places of the levels among Irritabilities.
const levelLow, levelModerate, levelHigh = 0, 1, 2

// irritable has the word for every set of levels, each level a bit. All levels together are the words of the path.
var irritable = func() (sets [1 << 3]Set) {
	for levels := range sets {
		var possible []string
		for i, word := range Irritabilities {
			if levels&(1<<i) != 0 {
				possible = append(possible, word)
			}
		}
		sets[levels] = Set{Possible: possible}
		if len(possible) == 1 {
			sets[levels].Sure = possible
		}
	}
	sets[1<<3-1].Possible = Irritabilities
	return sets
}()

func or(a, b Truth) Truth { return Truth{a.Sure || b.Sure, a.Possible || b.Possible} }

func and(a, b Truth) Truth { return Truth{a.Sure && b.Sure, a.Possible && b.Possible} }

func atLeast(s Span, v float64) Truth { return Truth{s.Lo >= v, s.Hi >= v} }

func above(s Span, v float64) Truth { return Truth{s.Lo > v, s.Hi > v} }

// questioned marks the regions in question, side by side: a complaint, pain, a condition, a clearance, an operation, a warning sign, or a
// rung below the top. What was told of no side counts for both; so does what is on one side of joints that bend further than usual.
func (d *deriver) questioned() {
	for region := range d.told {
		t := &d.told[region]
		flagged, sided := d.flagged(region), d.Frame.Vocabulary.Regions[region].Sided
		var own [2]bool
		for side := range 2 {
			s := &t.sides[side]
			sore := s.complained || d.hurtsOn(region, side)
			own[side] = sore || s.condition || s.clearance || s.operated || s.belowTop || flagged || d.healsHere(region, side)
			d.setTruth(d.Frame.at.regions[region].sore, side, truth(sore), Measured)
		}
		elsewhere, either := d.feltElsewhere(region), own[0] || own[1]
		for side := range 2 {
			s := &t.sides[side]
			s.inQuestion = own[side] || either && (!sided || d.loose)
			s.doubted = s.inQuestion || d.healsOn(region, side)
			other := sided && own[1-side]
			d.question(region, side, Truth{s.inQuestion, s.inQuestion || elsewhere}, other, other && !own[side] && s.rung == 0)
		}
	}
}

// question notes whether a side of a region is in question, whether the other is, and whether nothing was told of this one beside it.
func (d *deriver) question(region, side int, is Truth, other, quiet bool) {
	at := &d.Frame.at.regions[region]
	d.setTruth(at.inQuestion, side, is, Measured)
	d.setTruth(at.otherSide, side, truth(other), Measured)
	d.setTruth(at.quietSide, side, truth(quiet), Measured)
}

// hurtsOn is true when pain was scored on a side of a region.
func (d *deriver) hurtsOn(region, side int) bool {
	at, limit := &d.Frame.at.regions[region], d.Frame.Measures.PainInQuestion
	return d.Num[side][at.worst.slot].Lo >= limit || d.Num[side][at.rest.slot].Lo >= limit
}

// feltElsewhere is true when something hurts in a lift that doesn't load it, and may come from a region: its questions then count.
func (d *deriver) feltElsewhere(region int) bool {
	for i := range d.Request.Complaints {
		c := &d.Request.Complaints[i]
		if slices.Contains(d.Frame.Vocabulary.Regions[region].FeltIn, c.Region) && d.sparedByLift(c) {
			return true
		}
	}
	return false
}

func (d *deriver) healsOn(region, side int) bool {
	return d.Bool[side][d.Frame.at.regions[region].healingBone.slot].Sure
}

// healsHere is true when a bone is told to heal on a side of a region; one that may be anywhere puts no region in question by itself.
func (d *deriver) healsHere(region, side int) bool {
	for i := range d.p.Conditions {
		if c := &d.p.Conditions[i]; c.Region != "" && d.heals(c, region, side) {
			return true
		}
	}
	return false
}

// flagged is true when a question of a region was answered yes, or unsure, on whatever day, and nothing settles it.
func (d *deriver) flagged(region int) bool {
	return slices.ContainsFunc(d.Frame.lookups.flags[region], func(question int) bool { return d.replies[question].open })
}
