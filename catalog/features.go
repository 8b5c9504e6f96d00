package catalog

import (
	"math/bits"
)

// Terms is a set of terms of one kind by their indexes in the vocabulary. A vocabulary has at most MostTerms of a kind
// that stands in such sets.
type Terms [mostTerms / 64]uint64

// mostTerms is the most muscles or stressors of a vocabulary; of regions and planes there are at most half as many.
const mostTerms = 128

// SetOf makes a set of terms; ids that the vocabulary doesn't have are left out.
func (v *Vocabulary) SetOf(kind string, lists ...[]string) Terms {
	var s Terms
	for _, list := range lists {
		for _, id := range list {
			if index := v.Index(kind, id); index >= 0 && index < mostTerms {
				s[index/64] |= 1 << (index % 64)
			}
		}
	}
	return s
}

// Meets is whether two sets share a term.
func (s Terms) Meets(o Terms) bool { return s[0]&o[0]|s[1]&o[1] != 0 }

func (s Terms) shared(o Terms) int {
	return bits.OnesCount64(s[0]&o[0]) + bits.OnesCount64(s[1]&o[1])
}

// Features is what drills are compared by, numbered and side by side in memory: comparing one drill with all others is
// a walk over the catalogue.
type Features struct {
	// Harsh are the stressors that the drill has above grade 1, Stressing those that it has at all, in any row at any moment.
	Harsh     Terms
	Stressing Terms
	Regions   uint64 // those that it loads beyond bracing them
	BodyShare float64

	Pattern, Tool, Kind int16 // places; Kind is the first pattern of the same kind
	Family              int32 // place of the root of its variants
	Main                int16 // region
	Ceiling             Ceiling

	OneSide, TwoSide, SingleJoint, Loads, Train, Lifted bool

	// Muscles: Prime movers, Moving with those that assist, All with those that steady.
	Prime, Moving, All Terms
	Planes             uint64 // those that it moves in
}

// Ceiling is how heavy a drill can be made; none is zero.
type Ceiling uint8

// The ceilings.
const (
	NoCeiling Ceiling = iota
	Light
	Medium
	Heavy
)

var ceilings = map[string]Ceiling{"light": Light, "medium": Medium, "heavy": Heavy}

// SharedMuscles weighs the muscle work that two drills have in common: for each muscle the lesser of its roles, 3 for a prime
// mover, 2 for one that assists, 1 for one that steadies.
func (k *Features) SharedMuscles(o *Features) int {
	return k.Prime.shared(o.Prime) + k.Moving.shared(o.Moving) + k.All.shared(o.All)
}

func (s *Snapshot) featuresOf(d *Drill) Features {
	v, m := s.Vocabulary, d.Muscles
	k := Features{Prime: v.SetOf("muscle", m.Prime), Moving: v.SetOf("muscle", m.Prime, m.Assist), All: v.SetOf("muscle", m.Prime, m.Assist,
		m.Steady),
		Planes: v.SetOf("plane", d.Planes)[0], Pattern: -1, Tool: -1, Kind: -1, Main: int16(v.Index("region", d.Main.Region)),
		BodyShare: d.Load.BodyShare, Ceiling: ceilings[d.Load.Ceiling], OneSide: d.Sides == OneSide, TwoSide: d.Sides == TwoSide, Loads: d.Loads,
		Train: d.Purpose == "train"}
	if root := s.byID[d.Family]; root != nil {
		k.Family = int32(root.Index)
	}
	if d.Tool != nil {
		k.Tool, k.Lifted = int16(v.Index("tool", d.Tool.ID)), d.Lifted()
	}
	if d.Pattern != nil {
		k.Pattern, k.SingleJoint = int16(v.Index("pattern", d.Pattern.ID)), d.Pattern.SingleJoint
		for i := range v.Patterns {
			if v.Patterns[i].Kind == d.Pattern.Kind {
				k.Kind = int16(i)
				break
			}
		}
	}
	var regions, harsh, all []string
	for _, row := range d.Rows {
		for _, load := range row.Regions {
			if load.Role != "brace" {
				regions = append(regions, load.Region)
			}
		}
		for _, stress := range row.Stressors {
			all = append(all, stress.Stressor)
			if stress.Grade > 1 {
				harsh = append(harsh, stress.Stressor)
			}
		}
	}
	k.Regions, k.Harsh, k.Stressing = v.SetOf("region", regions)[0], v.SetOf("stressor", harsh), v.SetOf("stressor", all)
	return k
}

// drives are the places of the regions that a drill's first row drives, in their order.
func (v *Vocabulary) drives(d *Drill) []int {
	var places []int
	if len(d.Rows) == 0 {
		return nil
	}
	for _, load := range d.Rows[0].Regions {
		if index := v.Index("region", load.Region); load.Role == "drive" && index >= 0 {
			places = append(places, index)
		}
	}
	return places
}
