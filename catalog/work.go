package catalog

import (
	"math/bits"
)

// TermSet is a set of terms of one kind by their places in the vocabulary.
type TermSet []uint64

// Set makes a set of terms; ids that the vocabulary doesn't have are left out.
func (v *Vocabulary) Set(kind string, lists ...[]string) TermSet {
	s := make(TermSet, (len(v.ids[kind])+63)/64)
	for _, list := range lists {
		for _, id := range list {
			if place := v.Place(kind, id); place >= 0 {
				s[place/64] |= 1 << (place % 64)
			}
		}
	}
	return s
}

// Meets is whether two sets share a term.
func (s TermSet) Meets(o TermSet) bool { return s.shared(o) > 0 }

func (s TermSet) shared(o TermSet) int {
	n := 0
	for i := range min(len(s), len(o)) {
		n += bits.OnesCount64(s[i] & o[i])
	}
	return n
}

// Work is what a drill works, as sets.
type Work struct {
	Prime  TermSet // muscles
	Moving TermSet // prime movers and those that assist
	All    TermSet // and those that steady
	// Regions are those that it loads beyond bracing them.
	Regions TermSet
}

// Shared weighs the muscle work that two drills have in common: for each muscle the lesser of its roles, 3 for a prime
// mover, 2 for one that assists, 1 for one that steadies.
func (w Work) Shared(o Work) int {
	return w.Prime.shared(o.Prime) + w.Moving.shared(o.Moving) + w.All.shared(o.All)
}

func (v *Vocabulary) work(d *Drill) Work {
	var regions []string
	for _, row := range d.Rows {
		for _, load := range row.Regions {
			if load.Role != "brace" {
				regions = append(regions, load.Region)
			}
		}
	}
	m := d.Muscles
	return Work{Prime: v.Set("muscle", m.Prime), Moving: v.Set("muscle", m.Prime, m.Assist), All: v.Set("muscle", m.Prime, m.Assist, m.Steady),
		Regions: v.Set("region", regions)}
}
