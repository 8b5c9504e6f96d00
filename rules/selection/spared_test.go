package selection_test

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"drillwright/catalog"
	"drillwright/rules"
	"drillwright/rules/client"
	"drillwright/rules/selection"
)

// loadedOn is the plain account of what a drill, done on a side, loads: the sides of the body on which it loads a region,
// by what its author states, the muscles that cross the region, and the weight that goes through it.
func loadedOn(v *catalog.Vocabulary, d *catalog.Drill, done int, region string) [2]bool {
	const unloaded = "active_motion"
	loads, moves, stated := false, false, [2]bool{}
	for i, row := range d.Rows {
		for _, l := range row.Regions {
			loads = loads || l.Rung != unloaded
			moves = moves || i == 0 && l.Role == "drive" && l.Rung != unloaded
			stated[i] = stated[i] || l.Region == region && l.Rung != unloaded
		}
	}
	crossed := moves && slices.ContainsFunc(v.Muscles, func(m catalog.Muscle) bool {
		return slices.Contains(m.Crosses, region) && (slices.Contains(d.Muscles.Prime, m.ID) || slices.Contains(d.Muscles.Assist, m.ID))
	})
	weight := ""
	for _, l := range v.LoadTypes {
		if l.ID == d.Tool.LoadType {
			weight = l.Weight
		}
	}
	borne := false
	for _, p := range v.Positions {
		if p.ID == d.Position && loads && weight != "none" && d.BearsOn != "none" {
			held := weight == "held" && d.TrunkSupport != "full" || d.Spine.Compression > 0
			borne = slices.Contains(p.Bears, region) || held && slices.Contains(p.BearsHeld, region)
		}
	}
	working, other := stated[0] || crossed, stated[1]
	if borne {
		working = working || d.BearsOn != "other" || !v.Sided(region)
		other = other || d.Sides == catalog.OneSide && d.BearsOn != "same"
	}
	switch {
	case !v.Sided(region):
		return [2]bool{working || other, working || other}
	case d.Sides != catalog.OneSide:
		return [2]bool{working, working}
	case done == catalog.Left:
		return [2]bool{working, other}
	default:
		return [2]bool{other, working}
	}
}

// placesOf are the places of a side; both for a midline region.
func placesOf(side client.Side) []int {
	switch side {
	case client.SideLeft:
		return []int{catalog.Left}
	case client.SideRight:
		return []int{catalog.Right}
	default:
		return []int{catalog.Left, catalog.Right}
	}
}

// TestWhatIsReferredIsSpared: what a referral closes a region for is each drill that loads it there, and no other.
func TestWhatIsReferredIsSpared(t *testing.T) {
	if testing.Short() {
		t.Skip("judges the whole catalogue many times over")
	}
	e := edition(t)
	v := e.Catalogue.Vocabulary
	for _, region := range v.IDs("region") {
		for _, side := range sidesOf(t, region) {
			q := someone(t)
			q.Profile.Surgeries = []client.Surgery{{ID: "repair", Region: region, Side: side, Day: q.AsOf - 100}}
			for _, d := range e.Catalogue.Drills {
				a, err := selection.Explain(e, q, d.ID)
				require.NoError(t, err)
				for done, reported := range a.Sides {
					on := loadedOn(v, d, done, region)
					wanted := slices.ContainsFunc(placesOf(side), func(index int) bool {
						return on[index] && (done == index || d.Sides == catalog.OneSide)
					})
					named := slices.ContainsFunc(reported.Rules,
						func(r selection.RuleOutcome) bool { return r.Reason.Rule == "floor-surgery-without-clearance" })
					assert.Equal(t, wanted, named, "%s of %s referred: %s on side %d", side, region, d.ID, done)
					if wanted {
						assert.Equal(t, string(rules.NotToday), reported.Verdict, "%s of %s referred: %s on side %d", side, region, d.ID, done)
					}
				}
			}
		}
	}
}

// TestBarsReadWhatIsLoaded: on the rung that only moves, each drill that loads the region is above it; one rung up, a region
// that is merely crossed or borne through keeps nobody from a drill.
func TestBarsReadWhatIsLoaded(t *testing.T) {
	e := edition(t)
	v, bar := e.Catalogue.Vocabulary, rule(t, "rung-above-today")
	for _, region := range v.IDs("region") {
		moves, holds := someone(t), someone(t)
		stands(t, moves, region, e.Frame.Ladder(region).Rungs[0])
		stands(t, holds, region, e.Frame.Ladder(region).Rungs[1])
		low, up := e.JudgeOne(derived(t, moves), nil), e.JudgeOne(derived(t, holds), nil)
		for _, d := range e.Catalogue.Drills {
			for side := range 2 {
				on := loadedOn(v, d, side, region)
				wanted := rules.Open
				if on[side] || d.Sides == catalog.OneSide && on[1-side] {
					wanted = rules.NotToday
				}
				assert.Equal(t, wanted, low.Barred(bar, d, side), "%s only moves: %s on side %d", region, d.ID, side)
				if !slices.ContainsFunc(d.Rows, func(r catalog.Row) bool { return r.Load(region) != nil }) {
					assert.Equal(t, rules.Open, up.Barred(bar, d, side), "%s holds: %s on side %d", region, d.ID, side)
				}
			}
		}
	}
}

// TestSparedSides: the drills that were returned with a hip referred, and the like on every region.
func TestSparedSides(t *testing.T) {
	v := edition(t).Catalogue.Vocabulary
	for _, c := range []struct {
		drill, region string
		done          int
		want          [2]bool
	}{
		{"cable-leg-curl", "hip", catalog.Left, [2]bool{true, true}},    // the hamstrings cross it, the other leg stands
		{"cable-leg-curl", "ankle", catalog.Right, [2]bool{true, true}}, // gastrocnemius; the other leg stands
		{"goblet-carry", "hip", catalog.Left, [2]bool{true, true}},      // carries
		{"goblet-carry", "thoracic", catalog.Left, [2]bool{true, true}}, // held at the chest
		{"single-leg-squat", "hip", catalog.Left, [2]bool{true, false}}, // the other leg is free
		{"heel-raise-one-leg", "knee", catalog.Left, [2]bool{true, false}},
		{"one-arm-dumbbell-curl-seated", "hip", catalog.Left, [2]bool{}}, // sits
		{"one-arm-dumbbell-curl-seated", "low_back", catalog.Left, [2]bool{true, true}},
		{"machine-chest-press", "low_back", catalog.Left, [2]bool{}}, // the back lies on the pad
		{"pull-up", "elbow", catalog.Left, [2]bool{true, true}},
		{"dumbbell-lateral-raise", "neck", catalog.Left, [2]bool{true, true}}, // the upper trapezius helps
		{"barbell-bench-press", "hip", catalog.Left, [2]bool{}},
	} {
		d := drill(t, c.drill)
		assert.Equal(t, c.want, loadedOn(v, d, c.done, c.region), "%s, %s", c.drill, c.region)
	}
}
