package client

import (
	"cmp"
	"slices"
)

// lookups is how the words of the vocabulary hang together, by their indexes.
type lookups struct {
	// regionsOf are the regions of each condition.
	regionsOf [][]int
	// tops are the indexes of the highest rung of each region's ladder, and rungAt those of every rung there is, by
	// region; -1 when the ladder hasn't got it.
	tops   []int
	rungAt [][]int
	// asked are the questions of each list, and flags those about each region, as indexes among all questions.
	asked, flags [][]int
	questions    []*Question
	// gives is what each piece of kit counts as, itself included; always is what is there in any case; inOrder are
	// the indexes of the kit in order of id.
	gives   [][]int
	always  []bool
	inOrder []int
	// weekOf is the count that a set of each drill adds to.
	weekOf []numberAt
}

func newLookups(f *Frame) lookups {
	t := lookups{flags: make([][]int, len(f.Vocabulary.Regions)), always: make([]bool, len(f.Vocabulary.Kit))}
	for _, c := range f.Vocabulary.Conditions {
		t.regionsOf = append(t.regionsOf, indexesOf(&f.ids.regions, c.Regions))
	}
	for _, id := range f.ids.regions.ids {
		l := f.Ladder(id)
		if l == nil { // such an edition is refused
			l = &Ladder{}
		}
		t.tops = append(t.tops, len(l.Rungs)-1)
		var places []int
		for _, rung := range f.ids.rungs.ids {
			places = append(places, l.Index(rung))
		}
		t.rungAt = append(t.rungAt, places)
	}
	t.questioned(f)
	t.kit(f)
	patterns := newTerms("pattern", f.Vocabulary.IDs("pattern"))
	for _, d := range f.Drills.Drills {
		t.weekOf = append(t.weekOf, f.at.weekSets[patterns.index(d.Pattern.ID)])
	}
	return t
}

func indexesOf(t *terms, ids []string) []int {
	var places []int
	for _, id := range ids {
		if i := t.index(id); i >= 0 {
			places = append(places, i)
		}
	}
	return places
}

func (t *lookups) questioned(f *Frame) {
	next := 0
	for _, l := range f.Lists {
		var places []int
		for i := range l.Questions {
			places = append(places, next)
			t.questions = append(t.questions, &l.Questions[i])
			next++
		}
		t.asked = append(t.asked, places)
		if r := f.ids.regions.index(l.Region); r >= 0 {
			t.flags[r] = append(t.flags[r], places...)
		}
	}
}

func (t *lookups) kit(f *Frame) {
	for i, k := range f.Vocabulary.Kit {
		t.gives = append(t.gives, append(indexesOf(&f.ids.kit, k.CountsAs), i))
		t.inOrder = append(t.inOrder, i)
	}
	slices.SortFunc(t.inOrder, func(a, b int) int { return cmp.Compare(f.ids.kit.ids[a], f.ids.kit.ids[b]) })
	for i, k := range f.Vocabulary.Kit {
		if k.Always {
			t.have(t.always, i)
		}
	}
}

// have marks a piece of kit and what it counts as.
func (t *lookups) have(at []bool, kit int) {
	for _, i := range t.gives[kit] {
		at[i] = true
	}
}
