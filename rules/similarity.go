package rules

import (
	"cmp"
	"slices"
	"sync/atomic"

	"drillwright/catalog"
)

// Similarity is how much a drill has of a lift, whoever asks.
type Similarity struct {
	Tier Tier
	// Muscles and Pattern are what it keeps of the lift's, in percent.
	Muscles, Pattern uint8
}

// Tier is what kind of substitute for a lift a drill is at best.
type Tier uint8

// The tiers, from the nearest on. A drill that is unlike can only stand in where it trains elsewhere.
const (
	SameLift Tier = iota
	NearVariant
	SamePattern
	SharesMuscles
	Unlike
	NoSubstitute
)

// Similarities is the catalogue beside one lift.
type Similarities struct {
	lift  int
	Drill []Similarity // by place in the catalogue
	// Similar may stand in for the lift's own work, Others only by training elsewhere; the lift is in neither.
	Similar, Others Drills
	// Relatives are those of the lift's family, then those of its pattern, what shares most muscle work first.
	Relatives []*catalog.Drill
}

// similarityCache are worked out for a lift when it is first asked about, and kept for the lifts asked about of late.
type similarityCache [64]atomic.Pointer[Similarities]

// SimilarTo compares every drill of the catalogue with a lift.
func (e *Edition) SimilarTo(lift *catalog.Drill) *Similarities {
	at := &e.similar[lift.Index%len(e.similar)]
	if had := at.Load(); had != nil && had.lift == lift.Index {
		return had
	}
	kin := e.Catalogue.Features
	own := &kin[lift.Index]
	made := &Similarities{lift: lift.Index, Drill: make([]Similarity, len(kin))}
	for i := range kin {
		made.Drill[i] = Similarity{tierOf(&kin[i], own), sharedMuscles(&kin[i], own), sharedPattern(&kin[i], own)}
	}
	made.Similar = e.program.Drills(func(d int) bool { return d != lift.Index && made.Drill[d].Tier < Unlike })
	made.Others = e.program.Drills(func(d int) bool { return d != lift.Index && made.Drill[d].Tier == Unlike })
	made.Relatives = e.relatives(lift)
	at.Store(made)
	return made
}

// Near lists the drills that may stand in for a lift's own work.
func (e *Edition) Near(lift *catalog.Drill) []*catalog.Drill {
	var list []*catalog.Drill
	for i, a := range e.SimilarTo(lift).Drill {
		if i != lift.Index && a.Tier < Unlike {
			list = append(list, e.Catalogue.Drills[i])
		}
	}
	return list
}

func (e *Edition) relatives(lift *catalog.Drill) []*catalog.Drill {
	kin := e.Catalogue.Features
	own := &kin[lift.Index]
	var list []*catalog.Drill
	for i, d := range e.Catalogue.Drills {
		if d != lift && (kin[i].Family == own.Family || kin[i].Pattern == own.Pattern) {
			list = append(list, d)
		}
	}
	slices.SortStableFunc(list, func(x, y *catalog.Drill) int {
		a, b := &kin[x.Index], &kin[y.Index]
		if (a.Family == own.Family) != (b.Family == own.Family) {
			return map[bool]int{true: -1, false: 1}[a.Family == own.Family]
		}
		return cmp.Compare(b.SharedMuscles(own), a.SharedMuscles(own))
	})
	return list
}

// groups are drills of a kind that is asked for in every answer.
type groups struct {
	oneSide Drills
	loading []Drills // by region: those that load it beyond bracing it
}

func (e *Edition) newGroups() groups {
	kin := e.Catalogue.Features
	g := groups{oneSide: e.program.Drills(func(d int) bool { return kin[d].OneSide })}
	for region := range e.Frame.Vocabulary.Regions {
		g.loading = append(g.loading, e.program.Drills(func(d int) bool { return kin[d].Regions>>region&1 != 0 }))
	}
	return g
}

// Loading are the drills that load a region, given by its index, beyond bracing it.
func (e *Edition) Loading(region int) Drills { return e.groups.loading[region] }

// tierOf: a drill of the same lift's family comes before one of its pattern, that before one of its muscles.
func tierOf(d, lift *catalog.Features) Tier {
	switch {
	case !d.Loads || !d.Train:
		if eases(d, lift) {
			return SharesMuscles
		}
		return NoSubstitute
	case d.Family == lift.Family && d.Tool == lift.Tool && d.OneSide == lift.OneSide && d.TwoSide == lift.TwoSide:
		return SameLift
	case d.Family == lift.Family:
		return NearVariant
	case d.Kind == lift.Kind && !d.SingleJoint:
		return SamePattern
	case sameMuscles(d, lift):
		return SharesMuscles
	}
	return Unlike
}

// eases is true for unloaded work of the lift's own region and muscles: what is left on the lowest rung.
func eases(d, lift *catalog.Features) bool {
	return !d.Loads && d.Main == lift.Main && sameMuscles(d, lift)
}

// sameMuscles is true when a prime mover of the drill drives or assists the lift.
func sameMuscles(d, lift *catalog.Features) bool { return d.Prime.Meets(lift.Moving) }

// sharedMuscles is the percentage of the lift's muscle work that a drill has too.
func sharedMuscles(d, lift *catalog.Features) uint8 {
	return uint8(d.SharedMuscles(lift) * 100 / max(lift.SharedMuscles(lift), 1))
}

// sharedPattern: 100 for the same pattern (which says its direction), 50 for the same plane.
func sharedPattern(d, lift *catalog.Features) uint8 {
	switch {
	case d.Pattern == lift.Pattern:
		return 100
	case d.Planes&lift.Planes != 0:
		return 50
	}
	return 0
}
