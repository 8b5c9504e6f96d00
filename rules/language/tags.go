package language

import (
	"math"
	"slices"
	"sync"

	"drillwright/catalog"
	"drillwright/rules/client"
	"drillwright/rules/predicate"
)

// drillPath is one tag of a drill that a rule may read, and how it is read off a row.
type drillPath struct {
	Name   string
	Kind   client.Kind
	Slot   int
	Region string
	Vocab  string
	Words  []string
	number func(*catalog.Drill, *catalog.Row) float64
	truth  func(*catalog.Drill, *catalog.Row) bool
	words  func(*catalog.Drill, *catalog.Row) []string
}

// ofWorking are the tags that say what the working side does. A side that only bears has none of them: what a rule says of
// pressing with a frozen shoulder is not about a press of the right arm because the client stands on the left leg too.
var ofWorking = map[string]bool{"pattern": true, "kind": true, "direction": true, "push": true, "pull": true, "overhead": true,
	"single_joint": true, "main_region": true, "main_rung": true, "prime": true, "assist": true, "steady": true, "muscle_count": true,
	"contraindications": true, "hand": true, "grip_width": true, "grip_effort": true, "elbow_path": true, "scapula": true, "bench_deg": true}

// drillTable numbers the tags of a drill. It is built from the vocabulary and the ladders.
type Tags struct {
	paths                 []drillPath
	byName                map[string]int
	numbers, bools, words int

	numbered sync.Once
	refs     map[string]*predicate.Ref // see refsOf
}

func (t *Tags) add(p drillPath) {
	counter := map[client.Kind]*int{client.Number: &t.numbers, client.Bool: &t.bools, client.Word: &t.words, client.List: &t.words}[p.Kind]
	p.Slot = *counter
	*counter++
	t.byName[p.Name] = len(t.paths)
	t.paths = append(t.paths, p)
}

func (t *Tags) number(name string, read func(*catalog.Drill, *catalog.Row) float64) {
	t.add(drillPath{Name: name, Kind: client.Number, number: read})
}

func (t *Tags) yesNo(name string, read func(*catalog.Drill, *catalog.Row) bool) {
	t.add(drillPath{Name: name, Kind: client.Bool, truth: read})
}

func (t *Tags) word(name, vocab string, known []string, read func(*catalog.Drill) string) {
	t.add(drillPath{Name: name, Kind: client.Word, Vocab: vocab, Words: known, words: func(d *catalog.Drill, _ *catalog.Row) []string {
		if w := read(d); w != "" {
			return []string{w}
		}
		return nil
	}})
}

func (t *Tags) list(name, vocab string, known []string, read func(*catalog.Drill) []string) {
	t.add(drillPath{Name: name, Kind: client.List, Vocab: vocab, Words: known, words: func(d *catalog.Drill, _ *catalog.Row) []string { return read(d) }})
}

// newDrillTable lists every tag under "drill." (and, for a substitution, under "lift.").
func NewTags(v *catalog.Vocabulary, ladder func(string) *client.Ladder) *Tags {
	t := &Tags{byName: map[string]int{}}
	t.labels(v)
	t.traits()
	for _, m := range v.Motions {
		if m.HasRange() {
			t.arc(m.ID)
		}
	}
	for _, r := range v.Regions {
		t.region(r.ID, ladder(r.ID))
	}
	for _, s := range v.Stressors {
		t.number("stressor."+s.ID, func(_ *catalog.Drill, row *catalog.Row) float64 {
			return statedOr(float64(row.Worst(s.ID)), row.Worst(s.ID) > 0)
		})
	}
	return t
}

func statedOr(v float64, stated bool) float64 {
	if stated {
		return v
	}
	return math.NaN()
}

func (t *Tags) labels(v *catalog.Vocabulary) {
	t.word("id", "drill", nil, func(d *catalog.Drill) string { return d.ID })
	t.word("name", "", nil, func(d *catalog.Drill) string { return d.Name })
	t.word("family", "drill", nil, func(d *catalog.Drill) string { return d.Family })
	t.word("tool", "tool", v.IDs("tool"), func(d *catalog.Drill) string { return d.Tool.ID })
	t.word("load_type", "load_type", v.IDs("load_type"), func(d *catalog.Drill) string { return d.LoadType() })
	t.word("station", "station", v.IDs("station"), func(d *catalog.Drill) string { return d.Station })
	t.word("pattern", "pattern", v.IDs("pattern"), func(d *catalog.Drill) string { return d.Pattern.ID })
	t.word("kind", "", patternWords(v, func(p catalog.Pattern) string { return p.Kind }), func(d *catalog.Drill) string { return d.Pattern.Kind })
	t.word("direction", "", patternWords(v, func(p catalog.Pattern) string { return p.Direction }), func(d *catalog.Drill) string { return d.Pattern.Direction })
	t.word("position", "position", v.IDs("position"), func(d *catalog.Drill) string { return d.Position })
	t.word("purpose", "", []string{"prepare", "train", "finish"}, func(d *catalog.Drill) string { return d.Purpose })
	t.word("unit", "", []string{"reps", "seconds", "metres"}, func(d *catalog.Drill) string { return d.Unit })
	t.word("speed", "", []string{"hold", "slow", "fast", "impact"}, func(d *catalog.Drill) string { return d.Speed })
	t.word("sides", "", []string{"one_side", "two_side", "midline"}, func(d *catalog.Drill) string { return string(d.Sides) })
	t.word("main_region", "region", v.IDs("region"), func(d *catalog.Drill) string { return d.Main.Region })
	t.word("main_rung", "rung", nil, func(d *catalog.Drill) string { return d.Main.Rung })
	t.word("ceiling", "", []string{"light", "medium", "heavy"}, func(d *catalog.Drill) string { return d.Load.Ceiling })
	t.word("hand", "", []string{"pronated", "supinated", "neutral", "mixed", "open", "none"}, func(d *catalog.Drill) string { return d.Grip.Hand })
	t.word("grip_width", "", []string{"narrow", "shoulder", "wide"}, func(d *catalog.Drill) string { return d.Grip.Width })
	t.word("elbow_path", "", []string{"tucked", "middle", "flared"}, func(d *catalog.Drill) string { return d.ElbowPath })
	t.word("scapula", "", []string{"free", "pinned"}, func(d *catalog.Drill) string { return d.Scapula })
	t.word("trunk_support", "", []string{"none", "part", "full"}, func(d *catalog.Drill) string { return d.TrunkSupport })
	t.list("planes", "plane", v.IDs("plane"), func(d *catalog.Drill) []string { return d.Planes })
	t.list("kit", "kit", v.IDs("kit"), func(d *catalog.Drill) []string { return d.Kit })
	t.list("prime", "muscle", v.IDs("muscle"), func(d *catalog.Drill) []string { return d.Muscles.Prime })
	t.list("assist", "muscle", v.IDs("muscle"), func(d *catalog.Drill) []string { return d.Muscles.Assist })
	t.list("steady", "muscle", v.IDs("muscle"), func(d *catalog.Drill) []string { return d.Muscles.Steady })
	t.list("contraindications", "condition", v.IDs("condition"), func(d *catalog.Drill) []string { return d.Contraindications })
	t.list("changes", "", nil, func(d *catalog.Drill) []string { return d.Changes })
	t.list("regions", "region", v.IDs("region"), loadedRegions)
}

func patternWords(v *catalog.Vocabulary, of func(catalog.Pattern) string) []string {
	var words []string
	for _, p := range v.Patterns {
		if w := of(p); w != "" && !slices.Contains(words, w) {
			words = append(words, w)
		}
	}
	return words
}

func loadedRegions(d *catalog.Drill) []string {
	var ids []string
	for i := range d.Rows {
		for region := range d.Rows[i].Asks() {
			if !slices.Contains(ids, region) {
				ids = append(ids, region)
			}
		}
	}
	return ids
}

func (t *Tags) traits() {
	whole := func(read func(*catalog.Drill) bool) func(*catalog.Drill, *catalog.Row) bool {
		return func(d *catalog.Drill, _ *catalog.Row) bool { return read(d) }
	}
	t.yesNo("push", whole(func(d *catalog.Drill) bool { return d.Pattern.Kind == "push" }))
	t.yesNo("pull", whole(func(d *catalog.Drill) bool { return d.Pattern.Kind == "pull" }))
	t.yesNo("overhead", whole(func(d *catalog.Drill) bool { return d.Overhead }))
	t.yesNo("single_joint", whole(func(d *catalog.Drill) bool { return d.Pattern.SingleJoint }))
	t.yesNo("loads", whole(func(d *catalog.Drill) bool { return d.Loads }))
	t.yesNo("easy_to_bail", whole(func(d *catalog.Drill) bool { return d.EasyToBail }))
	t.yesNo("needs_spotter", whole(func(d *catalog.Drill) bool { return d.NeedsSpotter }))
	t.yesNo("alone_ok", whole(func(d *catalog.Drill) bool { return d.AloneOK }))
	t.yesNo("floor_transfer", whole(func(d *catalog.Drill) bool { return d.FloorTransfer }))
	t.yesNo("long_supine", whole(func(d *catalog.Drill) bool { return d.LongSupine }))
	number := func(read func(*catalog.Drill) float64) func(*catalog.Drill, *catalog.Row) float64 {
		return func(d *catalog.Drill, _ *catalog.Row) float64 { return read(d) }
	}
	t.number("floor_kg", number(func(d *catalog.Drill) float64 { return statedOr(d.Load.FloorKg, d.Load.FloorKg > 0) }))
	t.number("step_kg", number(func(d *catalog.Drill) float64 { return statedOr(d.Load.StepKg, d.Load.StepKg > 0) }))
	t.number("body_share", number(func(d *catalog.Drill) float64 { return d.Load.BodyShare }))
	t.number("bench_deg", number(func(d *catalog.Drill) float64 {
		if d.BenchDeg == nil {
			return math.NaN()
		}
		return *d.BenchDeg
	}))
	t.number("grip_effort", number(func(d *catalog.Drill) float64 { return float64(d.Grip.Effort) }))
	t.number("spine.compression", number(func(d *catalog.Drill) float64 { return float64(d.Spine.Compression) }))
	t.number("spine.flexed", number(func(d *catalog.Drill) float64 { return float64(d.Spine.Flexed) }))
	t.number("spine.extended", number(func(d *catalog.Drill) float64 { return float64(d.Spine.Extended) }))
	t.number("spine.twist", number(func(d *catalog.Drill) float64 { return float64(d.Spine.Twist) }))
	t.number("balance", number(func(d *catalog.Drill) float64 { return float64(d.Balance) }))
	t.number("skill", number(func(d *catalog.Drill) float64 { return float64(d.Skill) }))
	t.number("breath_hold", number(func(d *catalog.Drill) float64 { return float64(d.BreathHold) }))
	t.number("fall_risk", number(func(d *catalog.Drill) float64 { return float64(d.FallRisk) }))
	t.number("setup_seconds", number(func(d *catalog.Drill) float64 { return float64(d.SetupSeconds) }))
	t.number("muscle_count", number(func(d *catalog.Drill) float64 { return float64(len(d.Muscles.Prime) + len(d.Muscles.Assist)) }))
}

// arc lists the numbers of one motion; a motion that the row doesn't travel states none.
func (t *Tags) arc(motion string) {
	of := func(read func(*catalog.Arc) *float64) func(*catalog.Drill, *catalog.Row) float64 {
		return func(_ *catalog.Drill, row *catalog.Row) float64 {
			if a := row.Arc(motion); a != nil {
				if v := read(a); v != nil {
					return *v
				}
			}
			return math.NaN()
		}
	}
	t.number("arc."+motion+".from", of(func(a *catalog.Arc) *float64 { return a.From }))
	t.number("arc."+motion+".to", of(func(a *catalog.Arc) *float64 { return &a.To }))
	t.number("arc."+motion+".hardest", of(func(a *catalog.Arc) *float64 { return a.Hardest }))
	t.number("arc."+motion+".loaded.from", of(func(a *catalog.Arc) *float64 {
		if a.Loaded == nil {
			return nil
		}
		return &a.Loaded.From
	}))
	t.number("arc."+motion+".loaded.to", of(func(a *catalog.Arc) *float64 {
		if a.Loaded == nil {
			return nil
		}
		return &a.Loaded.To
	}))
}

func (t *Tags) region(region string, ladder *client.Ladder) {
	t.add(drillPath{Name: "rung." + region, Kind: client.Number, Region: region, number: func(_ *catalog.Drill, row *catalog.Row) float64 {
		if place := ladder.Asked(row, region); place >= 0 {
			return float64(place)
		}
		return math.NaN()
	}})
	t.add(drillPath{Name: "role." + region, Kind: client.Word, Words: []string{"drive", "support", "brace"}, words: func(_ *catalog.Drill, row *catalog.Row) []string {
		if load := row.Load(region); load != nil {
			return []string{load.Role}
		}
		if row.Carries(region) {
			return []string{"brace"}
		}
		return nil
	}})
}

// rows packs every row of every drill, and the row of no lift.
func (t *Tags) Rows(drills []*catalog.Drill) (all [][]*predicate.Row, noLift *predicate.Row) {
	packer, tags := predicate.NewPacker(t.numbers, t.bools, t.words), t.nothing()
	for _, d := range drills {
		rows := make([]*predicate.Row, len(d.Rows))
		for i := range d.Rows {
			t.read(&tags, d, &d.Rows[i])
			rows[i] = packer.Add(tags)
		}
		all = append(all, rows)
	}
	noLift = packer.Add(t.nothing())
	packer.Done()
	return all, noLift
}

// read sets the tags to those of a row.
func (t *Tags) read(out *predicate.Tags, d *catalog.Drill, r *catalog.Row) {
	bears := r.OnlyBears()
	for _, p := range t.paths {
		stated := !bears || !ofWorking[p.Name]
		switch p.Kind {
		case client.Number:
			out.Num[p.Slot] = math.NaN()
			if stated {
				out.Num[p.Slot] = p.number(d, r)
			}
		case client.Bool:
			out.Bool[p.Slot] = stated && p.truth(d, r)
		default:
			out.Set[p.Slot] = nil
			if stated {
				out.Set[p.Slot] = p.words(d, r)
			}
		}
	}
}

// nothing is the row of a lift that isn't there: no number stated, nothing true, no word.
func (t *Tags) nothing() predicate.Tags {
	out := predicate.Tags{Num: make([]float64, t.numbers), Bool: make([]bool, t.bools), Set: make([][]string, t.words)}
	for i := range out.Num {
		out.Num[i] = math.NaN()
	}
	return out
}
