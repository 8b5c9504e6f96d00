package client

import (
	"fmt"
	"math"
	"strings"

	"drillwright/catalog"
)

// presumable is what is presumed when nothing was measured, with its words for either side. What is midline has them
// for the first side only.
type presumable [2]Presumption

func newPresumable(path string, sided bool, words string) presumable {
	if !sided {
		return presumable{{path, SideNone, words}, {}}
	}
	p := presumable{}
	for i, s := range Sides {
		p[i] = Presumption{path, s, strings.ToLower(string(s)) + " " + words}
	}
	return p
}

func (d *deriver) presume(p *presumable, side int) {
	if p[side].Path == "" {
		return
	}
	if d.Presumptions == nil {
		d.Presumptions = make([]*Presumption, 0, 2*(len(d.Frame.Ladders)+len(d.Frame.norms)))
	}
	d.Presumptions = append(d.Presumptions, &p[side])
}

// norm is the least range of a motion in an age band, and what a quiet joint is presumed to have by it.
type norm struct {
	ages     [2]int
	low      float64
	presumed Span
	words    *presumable
}

func (f *Frame) allNorms() [][]norm {
	all := make([][]norm, len(f.Vocabulary.Motions))
	for i := range f.Vocabulary.Motions {
		if m := &f.Vocabulary.Motions[i]; m.HasRange() {
			all[i] = f.normsOf(m)
		}
	}
	return all
}

// normsOf lists the least adult means by age, and last, for those under 18 without one, a share of the youngest band's.
func (f *Frame) normsOf(m *catalog.Motion) []norm {
	var norms []norm
	youngest := -1
	for i, n := range m.Norms {
		norms = append(norms, f.newNorm(m, n.Ages, n.LowDeg))
		if youngest < 0 || n.Ages[0] < m.Norms[youngest].Ages[0] {
			youngest = i
		}
	}
	if youngest >= 0 {
		norms = append(norms, f.newNorm(m, [2]int{math.MinInt, 17}, m.Norms[youngest].LowDeg*f.Measures.Under18Share/100))
	}
	return norms
}

// newNorm: the norm's lower bound is the least that is there, to within the margin of a careful measurement, as if
// somebody had measured it: a drill that goes further, or above the height that counts as overhead, stays to be tested.
func (f *Frame) newNorm(m *catalog.Motion, ages [2]int, low float64) norm {
	least := low
	if m.OverheadAbove > 0 {
		least = min(least, m.OverheadAbove-f.Measures.Margin.SameMeasurer)
	}
	words := newPresumable("client.range."+m.ID, m.Sided, fmt.Sprintf("%s of %g° at least", m.Name, least))
	return norm{ages, low, Span{least, max(least, m.Limits[1])}, &words}
}

// normFor is the norm of a motion at an age; nil when there is none.
func (f *Frame) normFor(motion, age int) *norm {
	norms := f.norms[motion]
	for i := range norms {
		if n := &norms[i]; n.ages[0] <= age && age <= n.ages[1] {
			return n
		}
	}
	return nil
}

// entries are where a client enters the ladder of a region, by level of irritability.
type entries struct {
	region int // -1 for a ladder of no region
	ladder *Ladder
	levels []entry
	tendon *entry // at moderate irritability, where a clinician named a tendon; nil where it makes no difference
	top    float64
	quiet  presumable   // the side nobody complained of
	shown  []presumable // by the rung that a lift shows
}

// entry is a rung; the words differ when the level is known and when it is only the worst that is possible.
type entry struct {
	rung      float64
	known     presumable
	worstCase presumable
}

func (f *Frame) allEntries() []entries {
	var all []entries
	for i := range f.Ladders {
		l := &f.Ladders[i]
		e := entries{region: f.ids.regions.index(l.Region), ladder: l, top: float64(len(l.Rungs) - 1)}
		e.quiet = f.newRungPresumable(l, len(l.Rungs)-1, "nobody complained of this side")
		for place := range l.Rungs {
			e.shown = append(e.shown, f.newRungPresumable(l, place, "at most, and to be tested first: the lift was being done"))
		}
		for _, level := range Irritabilities {
			e.levels = append(e.levels, f.newEntry(l, l.Entry[level], level))
		}
		if l.TendonEntry != "" {
			e.tendon = new(f.newEntry(l, l.TendonEntry, "moderate"))
		}
		all = append(all, e)
	}
	return all
}

func (f *Frame) newEntry(l *Ladder, rung, level string) entry {
	index := l.Index(rung)
	return entry{float64(index), f.newRungPresumable(l, index, level+" irritability"),
		f.newRungPresumable(l, index, "irritability not known, taken as "+level)}
}

func (f *Frame) newRungPresumable(l *Ladder, index int, why string) presumable {
	name := f.Vocabulary.Name("region", l.Region)
	return newPresumable("client.rung."+l.Region, f.Vocabulary.Sided(l.Region),
		fmt.Sprintf("%s: rung %s (%s)", name, l.RungName(index), why))
}

// mildPain is what is presumed of the scores of a region whose complaint is mild.
type mildPain struct{ rest, worst, settles, wakes presumable }

func (f *Frame) allMildPains() []mildPain {
	var all []mildPain
	for _, r := range f.Vocabulary.Regions {
		of := func(part, words string, args ...any) presumable {
			return newPresumable("client.pain."+r.ID+"."+part, r.Sided, r.Name+": "+fmt.Sprintf(words, args...))
		}
		p := mildPain{wakes: of("wakes_at_night", "not woken at night by a mild complaint")}
		if m := f.Measures.Mild; m != nil {
			p.rest = of("rest", "pain at rest no higher than told, and than %g", m.Presumed.Rest)
			p.worst = of("worst", "pain at its worst no higher than %g", m.Presumed.Worst)
			p.settles = of("settle_hours", "settled within %g hours", m.Presumed.SettleHours)
		}
		all = append(all, p)
	}
	return all
}

var noPainkiller = newPresumable("client.painkiller_today", false, "no painkiller taken today, which nobody told")
