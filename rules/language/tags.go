package language

import (
	"fmt"
	"math"
	"slices"
	"sync"

	"drillwright/catalog"
	"drillwright/rules/client"
	"drillwright/rules/predicate"
)

// drillPath is one tag of a drill that a rule may read, and how it is read off a row.
type drillPath struct {
	name   string
	kind   client.Kind
	slot   int
	region string
	vocab  string
	known  []string
	number func(*catalog.Drill, *catalog.Row) float64
	truth  func(*catalog.Drill, *catalog.Row) bool
	words  func(*catalog.Drill, *catalog.Row) []string
}

// ofWorking are the tags that say what the working side does. A side that only bears has none of them: what a rule says of
// pressing with a frozen shoulder is not about a press of the right arm because the client stands on the left leg too.
var ofWorking = map[string]bool{"pattern": true, "kind": true, "direction": true, "push": true, "pull": true, "overhead": true,
	"single_joint": true, "main_region": true, "main_rung": true, "prime": true, "assist": true, "steady": true, "muscle_count": true,
	"contraindications": true, "hand": true, "grip_width": true, "grip_effort": true, "elbow_path": true, "scapula": true, "bench_deg": true}

// Tags numbers the tags of a drill. It is built from the vocabulary and the ladders.
type Tags struct {
	paths                 []drillPath
	byName                map[string]int
	numbers, bools, words int

	numbered sync.Once
	refs     map[string]*predicate.Ref // see refsOf
}

func (t *Tags) add(p drillPath) {
	counter := map[client.Kind]*int{client.Number: &t.numbers, client.Bool: &t.bools, client.Word: &t.words, client.List: &t.words}[p.kind]
	p.slot = *counter
	*counter++
	t.byName[p.name] = len(t.paths)
	t.paths = append(t.paths, p)
}

func (t *Tags) number(name string, read func(*catalog.Drill, *catalog.Row) float64) {
	t.add(drillPath{name: name, kind: client.Number, number: read})
}

func (t *Tags) yesNo(name string, read func(*catalog.Drill, *catalog.Row) bool) {
	t.add(drillPath{name: name, kind: client.Bool, truth: read})
}

func (t *Tags) word(name, vocab string, known []string, read func(*catalog.Drill) string) {
	t.add(drillPath{name: name, kind: client.Word, vocab: vocab, known: known, words: func(d *catalog.Drill, _ *catalog.Row) []string {
		if w := read(d); w != "" {
			return []string{w}
		}
		return nil
	}})
}

func (t *Tags) list(name, vocab string, known []string, read func(*catalog.Drill) []string) {
	t.add(drillPath{name: name, kind: client.List, vocab: vocab, known: known,
		words: func(d *catalog.Drill, _ *catalog.Row) []string { return read(d) }})
}

// fields adds those that rules call as files do.
func (t *Tags) fields(v *catalog.Vocabulary, keys ...string) {
	for _, key := range keys {
		t.field(v, key, key)
	}
}

// field adds a field that drills have as it was written, under a name of the rules' own.
func (t *Tags) field(v *catalog.Vocabulary, name, key string) {
	f, vocab := catalog.FieldOf(key), ""
	if catalog.IsKind(f.Of) {
		vocab = f.Of
	}
	switch f.In(&catalog.Drill{}).(type) {
	case *string:
		t.word(name, vocab, v.Words(f.Of), func(d *catalog.Drill) string { return *f.In(d).(*string) })
	case *catalog.Sides:
		t.word(name, vocab, v.Words(f.Of), func(d *catalog.Drill) string { return string(*f.In(d).(*catalog.Sides)) })
	case *[]string:
		t.list(name, vocab, v.Words(f.Of), func(d *catalog.Drill) []string { return *f.In(d).(*[]string) })
	case *bool:
		t.yesNo(name, func(d *catalog.Drill, _ *catalog.Row) bool { return *f.In(d).(*bool) })
	case *int:
		t.number(name, func(d *catalog.Drill, _ *catalog.Row) float64 { return float64(*f.In(d).(*int)) })
	case *float64:
		t.number(name, func(d *catalog.Drill, _ *catalog.Row) float64 { return *f.In(d).(*float64) })
	case **float64:
		t.number(name, func(d *catalog.Drill, _ *catalog.Row) float64 {
			if v := *f.In(d).(**float64); v != nil {
				return *v
			}
			return math.NaN()
		})
	default:
		panic(fmt.Sprintf("rules can't read %s of a drill", key))
	}
}

// NewTags lists every tag under "drill." (and, for a substitution, under "lift.").
func NewTags(v *catalog.Vocabulary, ladder func(string) *client.Ladder) *Tags {
	t := &Tags{byName: map[string]int{}}
	t.labels(v)
	t.traits(v)
	for _, m := range v.Motions {
		if m.HasRange() {
			t.arc(m.ID)
		}
	}
	for _, r := range v.Regions {
		t.region(v, r.ID, ladder(r.ID))
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

// labels are words and lists. The order of all tags is that in which a mistake is answered with what there is.
func (t *Tags) labels(v *catalog.Vocabulary) {
	t.word("id", "drill", nil, func(d *catalog.Drill) string { return d.ID })
	t.fields(v, "name")
	t.word("family", "drill", nil, func(d *catalog.Drill) string { return d.Family })
	t.word("tool", "tool", v.IDs("tool"), func(d *catalog.Drill) string { return d.Tool.ID })
	t.word("load_type", "load_type", v.IDs("load_type"), func(d *catalog.Drill) string { return d.LoadType() })
	t.fields(v, "station")
	t.word("pattern", "pattern", v.IDs("pattern"), func(d *catalog.Drill) string { return d.Pattern.ID })
	t.word("kind", "", patternWords(v, func(p catalog.Pattern) string { return p.Kind }),
		func(d *catalog.Drill) string { return d.Pattern.Kind })
	t.word("direction", "", patternWords(v, func(p catalog.Pattern) string { return p.Direction }),
		func(d *catalog.Drill) string { return d.Pattern.Direction })
	t.fields(v, "position", "purpose", "unit")
	t.word("speed", "", []string{"hold", "slow", "fast", "impact"}, func(d *catalog.Drill) string { return d.Speed }) // from still to fast
	t.fields(v, "sides")
	t.word("main_region", "region", v.IDs("region"), func(d *catalog.Drill) string { return d.Main.Region })
	t.word("main_rung", "rung", nil, func(d *catalog.Drill) string { return d.Main.Rung })
	t.field(v, "ceiling", "load.ceiling")
	t.field(v, "hand", "grip.hand")
	t.field(v, "grip_width", "grip.width")
	t.fields(v, "elbow_path", "scapula", "trunk_support", "planes", "kit")
	t.field(v, "prime", "muscles.prime")
	t.field(v, "assist", "muscles.assist")
	t.field(v, "steady", "muscles.steady")
	t.fields(v, "contraindications")
	t.list("changes", "", nil, func(d *catalog.Drill) []string { return d.Changes }) // compared with any word
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

// traits are yes-or-nos and numbers.
func (t *Tags) traits(v *catalog.Vocabulary) {
	whole := func(read func(*catalog.Drill) bool) func(*catalog.Drill, *catalog.Row) bool {
		return func(d *catalog.Drill, _ *catalog.Row) bool { return read(d) }
	}
	t.yesNo("push", whole(func(d *catalog.Drill) bool { return d.Pattern.Kind == "push" }))
	t.yesNo("pull", whole(func(d *catalog.Drill) bool { return d.Pattern.Kind == "pull" }))
	t.yesNo("overhead", whole(func(d *catalog.Drill) bool { return d.Overhead }))
	t.yesNo("single_joint", whole(func(d *catalog.Drill) bool { return d.Pattern.SingleJoint }))
	t.yesNo("loads", whole(func(d *catalog.Drill) bool { return d.Loads }))
	t.fields(v, "easy_to_bail", "needs_spotter", "alone_ok", "floor_transfer", "long_supine")
	number := func(read func(*catalog.Drill) float64) func(*catalog.Drill, *catalog.Row) float64 {
		return func(d *catalog.Drill, _ *catalog.Row) float64 { return read(d) }
	}
	t.number("floor_kg", number(func(d *catalog.Drill) float64 { return statedOr(d.Load.FloorKg, d.Load.FloorKg > 0) }))
	t.number("step_kg", number(func(d *catalog.Drill) float64 { return statedOr(d.Load.StepKg, d.Load.StepKg > 0) }))
	t.field(v, "body_share", "load.body_share")
	t.fields(v, "bench_deg")
	t.field(v, "grip_effort", "grip.effort")
	t.fields(v, "spine.compression", "spine.flexed", "spine.extended", "spine.twist")
	t.fields(v, "balance", "skill", "breath_hold", "fall_risk", "setup_seconds")
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

func (t *Tags) region(v *catalog.Vocabulary, region string, ladder *client.Ladder) {
	t.add(drillPath{name: "rung." + region, kind: client.Number, region: region, number: func(_ *catalog.Drill, row *catalog.Row) float64 {
		if index := ladder.Asked(row, region); index >= 0 {
			return float64(index)
		}
		return math.NaN()
	}})
	role := func(_ *catalog.Drill, row *catalog.Row) []string {
		if load := row.Load(region); load != nil {
			return []string{load.Role}
		}
		if row.Carries(region) {
			return []string{"brace"}
		}
		return nil
	}
	t.add(drillPath{name: "role." + region, kind: client.Word, known: v.Words("role"), words: role})
}

// Rows packs every row of every drill, and the row of no lift.
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
		stated := !bears || !ofWorking[p.name]
		switch p.kind {
		case client.Number:
			out.Num[p.slot] = math.NaN()
			if stated {
				out.Num[p.slot] = p.number(d, r)
			}
		case client.Bool:
			out.Bool[p.slot] = stated && p.truth(d, r)
		default:
			out.Set[p.slot] = nil
			if stated {
				out.Set[p.slot] = p.words(d, r)
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
