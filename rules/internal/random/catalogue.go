package random

import (
	"fmt"

	"drillwright/catalog"
)

// DrillID is the id of the drill at a place; ids don't depend on the seed, and are in order up to a million.
func DrillID(i int) string { return fmt.Sprintf("d-%06d", i) }

// familySize is how many drills in a row are variants of the first of them.
const familySize = 5

// Catalogue makes a catalogue over the embedded vocabulary. Lists that few drills would have alone are shared
// between drills: nobody may change them.
func Catalogue(seed uint64, drills int) *catalog.Snapshot {
	m := newMaker(seed)
	list := make([]*catalog.Drill, drills)
	for i := range list {
		list[i] = m.drill(i)
	}
	return catalog.NewSnapshot(m.voc, list)
}

// maker makes drills.
type maker struct {
	*dice
	voc *catalog.Vocabulary
	pools
}

// pools are what drills share.
type pools struct {
	motions   map[string][]*catalog.Motion // by region
	stressors map[string][]string          // by region
	muscles   map[string][]catalog.Muscles // by region
	planes    [][]string
	kit       [][]string
	against   [][]string // contraindications
	changes   [][]string
	cues      []string
}

func newMaker(seed uint64) *maker {
	v := Vocabulary()
	d := roll(seed, ofPools)
	p := pools{motions: map[string][]*catalog.Motion{}, stressors: map[string][]string{}, muscles: map[string][]catalog.Muscles{},
		cues: []string{"Slowly, and without a jerk."}}
	for _, m := range ranged(v) {
		p.motions[m.Region] = append(p.motions[m.Region], m)
	}
	for _, s := range v.Stressors {
		for _, region := range s.Regions {
			p.stressors[region] = append(p.stressors[region], s.ID)
		}
	}
	for _, r := range v.Regions {
		for range 40 {
			p.muscles[r.ID] = append(p.muscles[r.ID], d.muscleGroup(v, r.ID))
		}
	}
	for range 12 {
		p.planes = append(p.planes, some(d, v.IDs("plane"), 1, 2))
	}
	for range 200 {
		p.kit = append(p.kit, some(d, v.IDs("kit"), 0, 3))
		p.against = append(p.against, some(d, v.IDs("condition"), 0, 4))
	}
	for range 10 {
		p.changes = append(p.changes, some(d, []string{"load", "joint_range", "grip", "angle", "tempo", "support"}, 1, 2))
	}
	return &maker{roll(seed, ofDrills), v, p}
}

// muscleGroup draws muscles of a region, and now and then of others, each with one role.
func (d *dice) muscleGroup(v *catalog.Vocabulary, region string) catalog.Muscles {
	var own, others []string
	for _, m := range v.Muscles {
		if m.Region == region {
			own = append(own, m.ID)
		} else {
			others = append(others, m.ID)
		}
	}
	if len(own) == 0 { // a region may have no muscle of its own
		own, others = others, nil
	}
	d.Shuffle(len(own), func(i, j int) { own[i], own[j] = own[j], own[i] })
	prime := min(d.between(1, 3), len(own))
	assist := min(d.between(0, 2), len(own)-prime)
	return catalog.Muscles{Prime: own[:prime:prime], Assist: own[prime : prime+assist : prime+assist], Steady: some(d, others, 0, 3)}
}

func (m *maker) drill(i int) *catalog.Drill {
	main := pick(m.dice, m.voc.Regions).ID
	pattern := &m.voc.Patterns[m.IntN(len(m.voc.Patterns))]
	tool := &m.voc.Tools[m.IntN(len(m.voc.Tools))]
	d := &catalog.Drill{
		ID: DrillID(i), Name: fmt.Sprintf("generated drill %d", i),
		Pattern: pattern, Tool: tool,
		Planes: pick(m.dice, m.planes), Kit: pick(m.dice, m.kit), Muscles: pick(m.dice, m.muscles[main]),
		Contraindications: pick(m.dice, m.against),
		Station:           pick(m.dice, m.voc.Stations).ID, Position: pick(m.dice, m.voc.Positions).ID,
		Purpose: pick(m.dice, []string{"prepare", "train", "train", "train", "finish"}),
		Unit:    pick(m.dice, []string{"reps", "reps", "reps", "seconds", "metres"}),
		Speed:   pick(m.dice, []string{"slow", "slow", "slow", "hold", "fast", "impact"}),
		Cues:    m.cues, StopIf: "It hurts more than it did before.",
		TagsFrom: catalog.TagsFrom{Kind: "judged"},
	}
	if first := i - i%familySize; i != first {
		d.VariantOf, d.Changes = DrillID(first), pick(m.dice, m.changes)
		d.RegressTo = []string{DrillID(i - 1)}
	}
	m.traits(d)
	m.rows(d, main)
	return d
}

// traits draws the numbers and labels that a drill has as a whole; most may be absent.
func (m *maker) traits(d *catalog.Drill) {
	d.Load = catalog.Load{Ceiling: pick(m.dice, []string{"", "light", "medium", "heavy"})}
	if d.Tool.StepKg > 0 {
		d.Load.StepKg, d.Load.FloorKg = d.Tool.StepKg, d.Tool.StepKg*float64(m.between(1, 8))
	} else if m.chance(0.5) {
		d.Load.BodyShare = m.fives(5, 100)
	}
	d.Grip = catalog.Grip{Hand: pick(m.dice, []string{"", "pronated", "supinated", "neutral", "mixed", "open", "none"}),
		Width: pick(m.dice, []string{"", "", "narrow", "shoulder", "wide"}), Effort: m.degree()}
	d.ElbowPath = pick(m.dice, []string{"", "", "tucked", "middle", "flared"})
	d.Scapula = pick(m.dice, []string{"", "free", "pinned"})
	d.TrunkSupport = pick(m.dice, []string{"none", "none", "part", "full"})
	if m.chance(0.2) {
		d.BenchDeg = degrees(m.fives(-15, 90))
	}
	d.Spine = catalog.Spine{Compression: m.degree(), Flexed: m.degree(), Extended: m.degree(), Twist: m.degree()}
	d.Balance, d.Skill, d.BreathHold, d.FallRisk = m.degree(), m.degree(), m.degree(), m.degree()
	d.EasyToBail, d.NeedsSpotter, d.AloneOK = m.chance(0.8), m.chance(0.1), m.chance(0.9)
	d.FloorTransfer, d.LongSupine = m.chance(0.3), m.chance(0.15)
	d.SetupSeconds, d.SecondsPerRep = 15*m.between(0, 12), m.between(2, 6)
}

// degree draws 0 to 3, low ones more often.
func (m *maker) degree() int { return m.weighted(8, 6, 4, 2) }

// Changed are copies of all drills of a catalogue, each changed.
func Changed(snap *catalog.Snapshot, change func(*catalog.Drill)) []*catalog.Drill {
	var out []*catalog.Drill
	for _, d := range snap.Drills {
		c := *d
		change(&c)
		out = append(out, &c)
	}
	return out
}
