package client

import (
	"math/bits"
	"slices"

	"drillwright/catalog"
)

// rungs takes the rung that was set; else the top in a quiet region, else the ladder's entry by irritability. A rung from before a
// complaint is a ceiling, and the lift of a mild one shows what could be done: what lies between the entry and that is to be tested.
func (d *deriver) rungs() {
	lift := d.Frame.Drills.Drill(d.Request.Lift)
	for i := range d.Frame.rungs {
		d.rung(&d.Frame.rungs[i], 0, lift)
		d.rung(&d.Frame.rungs[i], 1, lift)
	}
}

func (d *deriver) rung(e *entries, side int, lift *catalog.Drill) {
	at, s := &d.Frame.at.regions[e.region], &d.told[e.region].sides[side]
	entry := &e.levels[bits.Len(s.levels)-1]
	if s.tendon && e.tendon != nil && bits.Len(s.levels)-1 == levelModerate {
		entry = e.tendon
	}
	d.value(at.entryRung, side, entry.rung)
	since := s.rung > 0 && (!s.complained || s.rungSince != 0 && s.rungSince >= s.flare)
	d.setTruth(at.rungSince, side, truth(since && s.complained), Measured)
	set := float64(s.rung - 1)
	switch {
	case since:
		d.value(at.rung, side, set)
	case s.rung > 0 && set <= entry.rung:
		d.value(at.rung, side, set)
	case s.rung > 0:
		d.setNumber(at.rung, side, Span{entry.rung, set}, BeforeFlare)
	case !s.doubted:
		d.setNumber(at.rung, side, Span{e.top, e.top}, Presumed)
		if d.Bool[side][at.quietSide.slot].Sure {
			d.presume(&e.quiet, side)
		}
	default:
		d.enter(e, entry, side, lift)
	}
}

// enter starts a side at the entry of its ladder, or as far as the lift shows.
func (d *deriver) enter(e *entries, entry *entry, side int, lift *catalog.Drill) {
	at, s := &d.Frame.at.regions[e.region], &d.told[e.region].sides[side]
	if shown := d.shown(e, side, lift); shown > int(entry.rung) {
		d.setNumber(at.rung, side, Span{entry.rung, float64(shown)}, Presumed)
		d.setTruth(at.rungByLift, side, Yes, Measured)
		d.arcsOf(lift, e.region, side)
		d.presume(&e.shown[shown], side)
		return
	}
	d.setNumber(at.rung, side, Span{entry.rung, entry.rung}, Presumed)
	if bits.OnesCount(s.levels) == 1 {
		d.presume(&entry.known, side)
	} else {
		d.presume(&entry.worstCase, side)
	}
}

// shown is the rung that the lift asks of a region whose complaint is mild, and of which nothing else was told; -1 where it shows
// nothing. Pain at a moment of the lift says that it was being done; pain at another time only a logged set of it.
func (d *deriver) shown(e *entries, side int, lift *catalog.Drill) int {
	s, m := &d.told[e.region].sides[side], d.Frame.Measures.Mild
	if lift == nil || !s.mild || s.condition || s.clearance || s.operated {
		return -1
	}
	during := slices.ContainsFunc(d.Request.Complaints, func(c Complaint) bool {
		return c.of(e.ladder.Region, side) && !slices.Contains(AroundTheLift, c.Moment)
	})
	logged := slices.ContainsFunc(d.p.Log, func(l LoggedSet) bool {
		return l.Drill == lift.ID && int(d.Request.AsOf-l.Day) <= m.Lift.LoggedDays
	})
	if !during && !logged || !d.loadedBy(lift, SideNone, e.region, side) {
		return -1
	}
	asked := -1
	for i := range lift.Rows {
		asked = max(asked, e.ladder.Asked(&lift.Rows[i], e.ladder.Region))
	}
	return min(asked, e.ladder.Index(m.Lift.UpTo))
}

// arcsOf notes how far the lift is loaded in each motion of a region: nothing beyond that was shown.
func (d *deriver) arcsOf(lift *catalog.Drill, region, side int) {
	for i := range d.Frame.at.motions {
		at := &d.Frame.at.motions[i]
		if int(at.region) != region || !at.hasRange {
			continue
		}
		furthest := 0.0
		for row := range lift.Rows {
			if arc := lift.Rows[row].Arc(d.Frame.ids.motions.ids[i]); arc != nil && arc.Loaded != nil {
				furthest = max(furthest, arc.Loaded.To)
			}
		}
		d.value(at.shown, side, furthest)
	}
}

// worsened lists for each side the drills of which a logged set made it worse.
func (d *deriver) worsened() {
	m := d.Frame.Measures.Mild
	if m == nil {
		return
	}
	for side := range 2 {
		from := len(d.words)
		for i := range d.p.Log {
			s := &d.p.Log[i]
			for region := range d.told {
				if d.told[region].sides[side].complained && d.madeWorse(s, region, side) {
					d.words = append(d.words, s.Drill)
					break
				}
			}
		}
		d.setWords(d.Frame.at.person.worsened, side, d.exactly(from), Measured)
	}
}
