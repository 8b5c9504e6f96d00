package catalog

import (
	"math/bits"
)

// MuscleSet is a set of muscles by their places in the vocabulary.
type MuscleSet []uint64

// Meets is whether two sets share a muscle.
func (s MuscleSet) Meets(o MuscleSet) bool { return s.shared(o) > 0 }

func (s MuscleSet) shared(o MuscleSet) int {
	n := 0
	for i := range min(len(s), len(o)) {
		n += bits.OnesCount64(s[i] & o[i])
	}
	return n
}

// Work is the muscles of a drill by how much they do.
type Work struct {
	Prime  MuscleSet
	Moving MuscleSet // prime movers and those that assist
	All    MuscleSet // and those that steady
}

// Shared weighs the work that two drills have in common: for each muscle the lesser of its roles, 3 for a prime mover,
// 2 for one that assists, 1 for one that steadies.
func (w Work) Shared(o Work) int {
	return w.Prime.shared(o.Prime) + w.Moving.shared(o.Moving) + w.All.shared(o.All)
}

func workOf(v *Vocabulary, m Muscles) Work {
	set := func(lists ...[]string) MuscleSet {
		s := make(MuscleSet, (len(v.Muscles)+63)/64)
		for _, list := range lists {
			for _, id := range list {
				if place := v.Place("muscle", id); place >= 0 {
					s[place/64] |= 1 << (place % 64)
				}
			}
		}
		return s
	}
	return Work{Prime: set(m.Prime), Moving: set(m.Prime, m.Assist), All: set(m.Prime, m.Assist, m.Steady)}
}
