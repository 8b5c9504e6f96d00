package rules

import (
	"sync/atomic"

	"drillwright/catalog"
)

// Alike is how much a drill has of a lift, whoever asks.
type Alike struct {
	Kinship Kinship
	// Muscles and Pattern are what it keeps of the lift's, in percent.
	Muscles, Pattern uint8
}

// Kinship is what kind of substitute for a lift a drill is at best.
type Kinship uint8

// The kinships, from the nearest on. A drill of no kin can only stand in where it trains elsewhere.
const (
	SameLift Kinship = iota
	NearVariant
	SamePattern
	SharesMuscles
	NoKin
	NoSubstitute
)

// alikes are worked out for a lift when it is first asked about, and kept for the lifts asked about of late.
type alikes [64]atomic.Pointer[alikeTo]

type alikeTo struct {
	lift   int
	drills []Alike
}

// Alike compares every drill of the catalogue with a lift.
func (e *Edition) Alike(lift *catalog.Drill) []Alike {
	at := &e.alikes[lift.Index%len(e.alikes)]
	if had := at.Load(); had != nil && had.lift == lift.Index {
		return had.drills
	}
	kin := e.Catalogue.Kin
	own := &kin[lift.Index]
	made := &alikeTo{lift.Index, make([]Alike, len(kin))}
	for i := range kin {
		made.drills[i] = Alike{kinship(&kin[i], own), sharedMuscles(&kin[i], own), sharedPattern(&kin[i], own)}
	}
	at.Store(made)
	return made.drills
}

// kinship: a drill of the same lift's family comes before one of its pattern, that before one of its muscles.
func kinship(d, lift *catalog.Kin) Kinship {
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
	return NoKin
}

// eases is true for unloaded work of the lift's own region and muscles: what is left on the lowest rung.
func eases(d, lift *catalog.Kin) bool { return !d.Loads && d.Main == lift.Main && sameMuscles(d, lift) }

// sameMuscles is true when a prime mover of the drill drives or assists the lift.
func sameMuscles(d, lift *catalog.Kin) bool { return d.Prime.Meets(lift.Moving) }

// sharedMuscles is the percentage of the lift's muscle work that a drill has too.
func sharedMuscles(d, lift *catalog.Kin) uint8 {
	return uint8(d.Shared(lift) * 100 / max(lift.Shared(lift), 1))
}

// sharedPattern: 100 for the same pattern (which says its direction), 50 for the same plane.
func sharedPattern(d, lift *catalog.Kin) uint8 {
	switch {
	case d.Pattern == lift.Pattern:
		return 100
	case d.Planes&lift.Planes != 0:
		return 50
	}
	return 0
}
