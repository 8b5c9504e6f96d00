package selection

import (
	"cmp"
	"iter"
	"math"
	"slices"

	"drillwright/catalog"
	"drillwright/rules/client"
)

// soreReason says why a sore region starts with less than was lifted.
type soreReason uint8

const (
	tolerated       soreReason = iota // or nothing is sore
	beforeComplaint                   // the set was done before it began
	beganUntold                       // nobody told when
	painUntold
	morningUntold
	otherDrill
)

// soreness is what a drill loads of what hurts, while a side works.
type soreness struct {
	sore    bool
	untold  bool       // nobody told since when one of the complaints is there
	began   client.Day // of the newest complaint; 0 where only pain was scored
	usual   float64    // pain at rest, of 10, as far as it was scored
	morning client.Day // when the next morning was last scored, and found no worse than usual; 0: it wasn't
}

// soreOn is the soreness of the regions that a drill loads while a side works.
func (a *asked) soreOn(d *catalog.Drill, side int) soreness {
	out := soreness{usual: 10, morning: a.q.AsOf + 1}
	for region, on := range a.soreRegions(d, side) {
		out.sore = true
		rest, next := a.facts.Number("client.pain."+region+".rest", on), a.facts.Number("client.pain."+region+".next_day", on)
		if !rest.Known() {
			rest.Lo = 0
		}
		out.usual = min(out.usual, rest.Lo)
		if !next.Known() || next.Lo > rest.Lo+a.start().NextDayAbove {
			out.morning = 0
		}
		out.morning = min(out.morning, a.scoredOn(region, on))
		began, untold := a.began(region, on)
		out.began, out.untold = max(out.began, began), out.untold || untold
	}
	return out
}

// scoredOn is when the pain of a side of a region was last scored; 0: it wasn't.
func (a *asked) scoredOn(region string, on int) (last client.Day) {
	for i := range a.q.Profile.Pain {
		p := &a.q.Profile.Pain[i]
		if p.Region == region && p.NextDay != nil && (p.Side.On(on) || !a.e.Frame.Vocabulary.Sided(region)) {
			last = max(last, p.Day)
		}
	}
	return last
}

// soreRegions are the regions that hurt and that a drill loads while a side works, each with its side of the body.
func (a *asked) soreRegions(d *catalog.Drill, side int) iter.Seq2[string, int] {
	return func(yield func(string, int) bool) {
		for i := range d.Rows {
			row := &d.Rows[i]
			for region := range row.Asks() {
				sore := a.facts.Truth("client.sore."+region, side^i).Possible
				if sore && a.e.Frame.Ladder(region).Loads(row, region) && !yield(region, side^i) {
					return
				}
			}
		}
	}
}

// began is the day when the newest complaint of a side of a region began; untold, where nobody told of one of them. Both are nothing
// where there is no complaint.
func (a *asked) began(region string, on int) (newest client.Day, untold bool) {
	for i := range a.q.Complaints {
		c := &a.q.Complaints[i]
		if c.Region == region && (c.Side.On(on) || !a.e.Frame.Vocabulary.Sided(region)) {
			newest, untold = max(newest, a.q.AsOf-client.Day(c.Days)), untold || c.Days == 0
		}
	}
	return newest, untold
}

// since is whether a set was done since all of it hurts, as far as anybody told.
func (s *soreness) since(set *client.LoggedSet) bool { return !s.untold && set.Day > s.began }

// source is a drill of the log that a load may come from, on a side.
type source struct {
	drill *catalog.Drill
	share *client.Share // of the drill that is dosed; nil for that drill itself
	soreness
	ceiling float64
	rested  int // days without it
}

// fromLog works out the load of a drill by the log of itself, or where it isn't in the log, of another that it has a share of: the most
// that a set of it allows, and no more than is left of one that hurt since.
func (a *asked) fromLog(d *catalog.Drill, percent float64, own *sideDose) {
	if len(a.setsOf(d.Index)) == 0 && !a.logsRelative(d) {
		return
	}
	sore := a.soreOn(d, own.side)
	itself := source{drill: d, soreness: sore, ceiling: float64(own.PainCeiling)}
	if a.by(d, own, itself, percent, sore.sore) || !a.logsRelative(d) || a.noShares() {
		return
	}
	shares := a.e.Frame.Measures.Loads.Shares.Of
	for i := range shares {
		if from := a.e.Catalogue.Drill(shares[i].From); shares[i].Drill == d.ID && from != nil {
			of := source{drill: from, share: &shares[i], soreness: a.soreOn(from, own.side), ceiling: float64(own.PainCeiling)}
			a.by(d, own, of, min(percent, 100), sore.sore)
		}
	}
}

// logsRelative is whether a drill has a share of one that is in the log.
func (a *asked) logsRelative(d *catalog.Drill) bool { return slices.Contains(a.relatives, d.Index) }

// shows is whether a set shows what a side lifts. Of a drill for one side that takes the side that was told.
func (of *source) shows(s *client.LoggedSet, side int) bool {
	return of.drill.Sides != catalog.OneSide || s.Side != client.SideNone && s.Side.On(side)
}

// by takes what the sets of one drill allow; false where the log has none. Of a relative only what is known not to have
// hurt counts.
func (a *asked) by(d *catalog.Drill, own *sideDose, of source, percent float64, sore bool) bool {
	sets := a.setsOf(of.drill.Index)
	newest := client.Day(math.MinInt)
	for _, l := range sets {
		if of.shows(l.set, own.side) {
			newest = max(newest, l.set.Day)
		}
	}
	if len(sets) == 0 {
		return false
	}
	if days := int(a.q.AsOf - newest); days > a.start().BreakDays {
		of.rested = days // read only where a set shows something
	}
	for _, l := range sets {
		if !of.shows(l.set, own.side) || a.hurtBy(&of, l.set) {
			continue
		}
		if of.share != nil && a.mayHaveHurt(&of, l.set) {
			continue
		}
		if one, ok := a.bySet(d, own, &of, l.set, percent, sore); ok && (own.set == nil || one.better(&own.load)) {
			own.load = one
		}
	}
	if own.set == nil && of.share == nil {
		a.boundByHurt(own, &of, client.Day(math.MinInt), sets, &own.load)
	}
	return true
}

// better orders what two sets allow; of the same the newer is told.
func (l *load) better(o *load) bool {
	return cmp.Or(cmp.Compare(l.most, o.most), cmp.Compare(l.set.Day, o.set.Day),
		cmp.Compare(l.set.LoadKg, o.set.LoadKg), cmp.Compare(l.set.Reps, o.set.Reps)) > 0
}

// bySet is what one set that didn't hurt allows; false where it was of a relative that hurt since.
func (a *asked) bySet(d *catalog.Drill, own *sideDose, of *source, s *client.LoggedSet, percent float64, sore bool) (load, bool) {
	start := a.start()
	l := load{set: s, share: of.share, kg: s.LoadKg, percent: percent, rested: of.rested}
	if most := a.target(s, &own.Dose); most < l.kg {
		l.kg, l.worked, l.reps, l.effort = most, true, own.RepsHigh, own.EffortHigh
	}
	if of.share != nil {
		l.kg *= of.share.Percent / 100
		if of.share.EachHand {
			l.kg *= (1 - a.e.Frame.Measures.Loads.Shares.HandOffPercent/100) / 2
		}
	}
	if sore {
		if l.why = a.whySore(of, s); l.why != tolerated {
			l.percent = min(l.percent, start.SorePercent)
		}
		l.percent = min(l.percent, 100+start.RisePercent)
	}
	l.most = l.kg * l.percent / 100
	if l.rested > 0 {
		l.most *= 1 - start.BreakOffPercent/100
	}
	return l, a.boundByHurt(own, of, s.Day, a.setsOf(of.drill.Index), &l)
}

// whySore is why a set doesn't show what a sore region tolerates.
func (a *asked) whySore(of *source, s *client.LoggedSet) soreReason {
	switch {
	case of.share != nil:
		return otherDrill
	case of.untold:
		return beganUntold
	case !of.since(s):
		return beforeComplaint
	case s.Pain == nil:
		return painUntold
	case s.NextDay == nil && s.Day >= of.morning:
		return morningUntold
	}
	return tolerated
}

// hurtBy is whether a set is known to have hurt too much: above the ceiling, or in a sore region the next morning.
func (a *asked) hurtBy(of *source, s *client.LoggedSet) bool {
	return s.Pain != nil && *s.Pain > of.ceiling || of.sore && s.NextDay != nil && *s.NextDay > of.usual+a.start().NextDayAbove
}

// mayHaveHurt is whether nobody told the pain of a set that may have been done since a region it loads became sore.
func (a *asked) mayHaveHurt(of *source, s *client.LoggedSet) bool {
	return of.sore && s.Pain == nil && (of.untold || of.since(s))
}

// boundByHurt bounds a load by what is left of the sets that hurt on a day or after it. A load from a relative isn't bounded: it is false,
// and there is none.
func (a *asked) boundByHurt(own *sideDose, of *source, since client.Day, sets []lifts, l *load) bool {
	for _, hurt := range sets {
		if hurt.set.Day < since || of.drill.Sides == catalog.OneSide && !hurt.set.Side.On(own.side) || !a.hurtBy(of, hurt.set) {
			continue
		}
		if of.share != nil {
			return false
		}
		left := hurt.set.LoadKg * a.start().SorePercent / 100
		if left < l.most || left == l.most && l.hurt != nil && hurt.set.Day > l.hurt.Day {
			l.most, l.bound, l.hurt = left, byHurt, hurt.set
		}
	}
	return true
}

// target is the load for a dose by a set: the most that it lets estimate, times what the table gives for the repetitions of the
// dose and those left in hand. A set that can't be estimated from sets no limit.
func (a *asked) target(s *client.LoggedSet, dose *Dose) float64 {
	loads := &a.e.Frame.Measures.Loads
	if s.Reps < 1 || s.Reps > loads.MaxReps || dose.RepsHigh == 0 {
		return math.Inf(1)
	}
	reps := s.Reps
	if s.Effort != nil { // nobody told: nothing was left
		reps += min(int(10-*s.Effort), loads.Start.ReserveAtMost)
	}
	return EstimateMax(loads.Formula, s.LoadKg, min(reps, loads.MaxReps)) * Percent(loads.Percent, dose.RepsHigh+10-dose.EffortHigh) / 100
}

// noShares is whether the client may be one of those for whom no load is worked out from another drill.
func (a *asked) noShares() bool {
	not := &a.e.Frame.Measures.Loads.Shares.NotFor
	age, weeks := a.facts.Number("client.age_years", 0), a.facts.Number("client.pregnancy.weeks", 0)
	systolic, diastolic := a.facts.Number("client.blood_pressure.systolic", 0), a.facts.Number("client.blood_pressure.diastolic", 0)
	one := func(list, of []string) bool {
		return slices.ContainsFunc(list, func(id string) bool { return slices.Contains(of, id) })
	}
	has := func(path string) bool {
		return one(not.Conditions, a.facts.Words(path, 0).Possible) || one(not.Conditions, a.facts.Words(path, 1).Possible)
	}
	return not.UnderAge > 0 && age.Lo < float64(not.UnderAge) || not.FromAge > 0 && age.Hi >= float64(not.FromAge) ||
		not.Pregnant && weeks.Hi >= 0 || not.Systolic > 0 && systolic.Hi >= not.Systolic ||
		not.Diastolic > 0 && diastolic.Hi >= not.Diastolic ||
		one(not.Training, a.facts.Words("client.training", 0).Possible) || has("client.conditions") || has("client.past_conditions")
}
