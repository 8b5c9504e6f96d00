package client

import (
	"slices"
	"strings"
)

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
				d.presume(name, side, l.Region, "rung "+l.RungName(l.Place(rung))+" ("+why+")")
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
