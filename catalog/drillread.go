package catalog

import (
	"fmt"
	"reflect"
	"slices"
	"strings"

	"drillwright/catalog/authored"

	"go.yaml.in/yaml/v3"
)

// rawArc is one arc; `loaded: none` says that it is travelled without load.
type rawArc struct {
	At      authored.Pos
	From    *float64      `yaml:"from" doc:"Where the arc begins; it also asks for as much of the opposite motion. Left out where that end asks nothing."`
	To      *float64      `yaml:"to" need:"yes" doc:"Where the arc ends."`
	Hardest *float64      `yaml:"hardest" doc:"Where the load is felt most."`
	Loaded  *rawLoaded    `yaml:"loaded" of:"loaded" doc:"The part under load, or none. Unless stated the whole arc of a drill with a load."`
	On      authored.Text `yaml:"on" of:"on" doc:"Of a one-side drill: the working side, the other, or both; the working side unless stated."`
}

type rawLoaded struct {
	None     bool
	From, To *float64
}

type rawEnds struct {
	From *float64 `yaml:"from" need:"yes" doc:"Where the load begins, in degrees."`
	To   *float64 `yaml:"to" need:"yes" doc:"Where the load ends, in degrees."`
}

// WrittenAs implements Written.
func (l *rawLoaded) WrittenAs() []any { return []any{"", rawEnds{}} }

// DecodeNode implements NodeDecoder.
func (l *rawLoaded) DecodeNode(d *authored.Decoder, n *yaml.Node) {
	if n.Kind == yaml.ScalarNode {
		if l.None = slices.Contains(words["loaded"], n.Value); !l.None {
			d.Suggest(d.At(n), "write none, or {from: …, to: …}", "loaded is %q", n.Value)
		}
		return
	}
	var ends rawEnds
	d.Decode(n, &ends)
	l.From, l.To = ends.From, ends.To
	if ends.From == nil || ends.To == nil {
		d.Suggest(d.At(n), "write loaded: {from: …, to: …}", "a loaded part needs both ends")
	}
}

// rawStress is a grade, written alone or with the side it falls on.
type rawStress struct {
	At    authored.Pos
	Grade int
	On    authored.Text
}

type rawGrade struct {
	Grade int           `yaml:"grade" range:"0..3" doc:"1 mild, 2 clear, 3 as much as the position allows; 0 takes an inherited one away."`
	On    authored.Text `yaml:"on" of:"on" doc:"Of a one-side drill: the side it falls on."`
}

// WrittenAs implements Written.
func (s *rawStress) WrittenAs() []any { return []any{0, rawGrade{}} }

// DecodeNode implements NodeDecoder.
func (s *rawStress) DecodeNode(d *authored.Decoder, n *yaml.Node) {
	s.At = d.At(n)
	if n.Kind == yaml.ScalarNode {
		d.Decode(n, &s.Grade)
	} else {
		var full rawGrade
		d.Decode(n, &full)
		s.Grade, s.On = full.Grade, full.On
	}
	if s.Grade < 0 || s.Grade > 3 {
		d.Suggest(s.At, "1 mild, 2 clear, 3 as much as the position allows", "grade %d", s.Grade)
	}
}

// drillReader turns merged nodes into drills, checking each word against the vocabulary.
type drillReader struct {
	*authored.Decoder
	voc    *Vocabulary
	partly map[*yaml.Node]bool // what these lack stands elsewhere, so nobody is told to add it
}

// keyed is a term that stands as a key of a mapping. What must be meant by it may stand there too.
func (r *drillReader) keyed(key string, at authored.Pos, kind string, mapping *yaml.Node) string {
	if r.voc.Has(kind, key) {
		return key
	}
	if sure := authored.Misspelt(key, r.voc.IDs(kind)); sure != "" && child(mapping, sure) != nil {
		r.Suggest(at, sure+" stands here too", "unknown %s %q", kind, authored.Shortened(key))
		return key
	}
	return r.word(authored.Text{Value: key, At: at}, kind)
}

// drill reads one merged node.
func (r *drillReader) drill(n *yaml.Node) *Drill {
	raw := rawDrill{At: r.At(n), written: n}
	r.Decode(n, &raw)
	r.required(&raw)
	d := &Drill{At: raw.At}
	from, to := reflect.ValueOf(&raw).Elem(), reflect.ValueOf(d).Elem()
	for _, f := range fields {
		r.field(f, from, to)
	}
	if i := r.voc.Index("pattern", r.word(raw.Pattern, "pattern")); i >= 0 {
		d.Pattern = &r.voc.Patterns[i]
	}
	if i := r.voc.Index("tool", r.word(raw.Tool, "tool")); i >= 0 {
		d.Tool = &r.voc.Tools[i]
	}
	r.muscleRoles(d)
	r.rows(d, &raw)
	return d
}

// cites are the citations that say something.
func cites(all []authored.Text) []authored.Text {
	return slices.DeleteFunc(all, func(t authored.Text) bool { return t.Value == "" })
}

func (r *drillReader) required(raw *rawDrill) {
	if !authored.KebabID.MatchString(raw.ID.Value) {
		r.Suggest(raw.At, "ids are words in lower case joined by -", "drill id %q is not an id", raw.ID.Value)
	}
	for what, missing := range map[string]bool{
		"name": raw.Name == "", "sides": raw.Sides.Value == "", "pattern": raw.Pattern.Value == "", "planes": len(raw.Planes) == 0,
		"tool": raw.Tool.Value == "", "station": raw.Station.Value == "", "position": raw.Position.Value == "",
		"muscles.prime": len(raw.Muscles.Prime) == 0, "regions": len(raw.Regions) == 0, "cues": len(raw.Cues) == 0,
		"tags_from": raw.TagsFrom.Kind.Value == "",
	} {
		if missing && !r.partly[raw.written] && !stands(raw.written, what) {
			r.Suggest(raw.At, "add "+what+":", "drill %q has no %s", raw.ID.Value, what)
		}
	}
	if len(raw.Cues) > 3 {
		r.Suggest(raw.At, "a client keeps three at most", "drill %q has %d cues", raw.ID.Value, len(raw.Cues))
	}
	if raw.VariantOf.Value != "" && len(raw.Changes) == 0 {
		r.Suggest(raw.At, "add changes: [load, joint_range, grip, angle, tempo or support]",
			"variant %q doesn't say what it changes", raw.ID.Value)
	}
	if raw.TagsFrom.Kind.Value == "study" && len(cites(raw.TagsFrom.Cite)) == 0 {
		r.Suggest(raw.TagsFrom.At, "add cite: with author and year", "tags from a study need its cite")
	}
}

// stands is whether something is written at a path of keys, even if it can't be read.
func stands(n *yaml.Node, path string) bool {
	for _, key := range strings.Split(path, ".") {
		n = child(n, key)
	}
	return n != nil && (n.Value != "" || len(n.Content) > 0)
}

func (r *drillReader) muscleRoles(d *Drill) {
	seen := map[string]string{}
	for role, list := range map[string][]string{"prime": d.Muscles.Prime, "assist": d.Muscles.Assist, "steady": d.Muscles.Steady} {
		for _, m := range list {
			if other, ok := seen[m]; ok && other != role {
				r.Suggest(d.At, "name it once, in prime, assist or steady", "drill %q gives muscle %q two roles", d.ID, m)
			}
			seen[m] = role
		}
	}
}

// rows spreads regions, arcs and stressors over the sides they fall on.
func (r *drillReader) rows(d *Drill, raw *rawDrill) {
	rows := [2]Row{}
	put := func(on authored.Text, add func(*Row)) {
		switch where := r.word(on, "on"); {
		case d.Sides != OneSide && where != "":
			r.Suggest(on.At, "take it out, or write sides: one_side", "only a one-side drill says on which side; %q is %s", d.ID, d.Sides)
		case where == "other":
			add(&rows[1])
		case where == "both":
			add(&rows[0])
			add(&rows[1])
		default:
			add(&rows[0])
		}
	}
	for _, e := range raw.Regions {
		region := r.keyed(e.Key, e.At, "region", child(raw.written, "regions"))
		for _, v := range e.Value {
			load := RegionLoad{region, v.Rung.Value, r.word(v.Role, "role")}
			if load.Rung == "" || load.Role == "" {
				r.Suggest(v.At, "write {rung: …, role: …}", "region %q needs a rung and a role", e.Key)
			}
			put(v.On, func(row *Row) { row.Regions = append(row.Regions, load) })
		}
	}
	for _, e := range raw.Arcs {
		id := r.keyed(e.Key, e.At, "motion", child(raw.written, "arcs"))
		motion := r.arcMotion(id, e.At)
		for _, v := range e.Value {
			arc := r.arc(motion, id, v, d)
			put(v.On, func(row *Row) { row.Arcs = append(row.Arcs, arc) })
		}
	}
	for _, moment := range raw.Stressors {
		when := moment.Key
		if sure := authored.Misspelt(when, Moments); sure != when && sure != "" && child(child(raw.written, "stressors"), sure) != nil {
			r.Suggest(moment.At, sure+" stands here too", "unknown moment %q", authored.Shortened(when))
		} else {
			when = r.word(authored.Text{Value: when, At: moment.At}, "moment")
		}
		for _, s := range moment.Value {
			stressor := r.keyed(s.Key, s.At, "stressor", child(child(raw.written, "stressors"), moment.Key))
			for _, v := range s.Value {
				if v.Grade > 0 {
					put(v.On, func(row *Row) { row.Stressors = append(row.Stressors, Stress{when, stressor, v.Grade}) })
				}
			}
		}
	}
	d.Rows = rows[:1]
	if len(rows[1].Regions)+len(rows[1].Arcs)+len(rows[1].Stressors) > 0 {
		d.Rows = rows[:]
	}
	if d.Sides != OneSide && raw.BearsOn.Value != "" && d.BearsOn != "none" {
		r.Suggest(raw.BearsOn.At, "take it out, or write sides: one_side", "only a one-side drill says on which side; %q is %s", d.ID, d.Sides)
	}
	r.derive(d)
}

func (r *drillReader) arcMotion(id string, at authored.Pos) *Motion {
	m := r.voc.Motion(id)
	if m != nil && !m.HasRange() {
		r.Suggest(at, "take the arc out", "motion %q has no range in degrees", id)
		return nil
	}
	return m
}

func (r *drillReader) arc(m *Motion, id string, v rawArc, d *Drill) Arc {
	arc := Arc{Motion: id, From: v.From, Hardest: v.Hardest}
	if v.To == nil {
		r.Suggest(v.At, "write to: and degrees", "the arc of %q doesn't say how far it goes", id)
		return arc
	}
	arc.To = *v.To
	if m != nil && len(m.Limits) == 2 {
		for _, end := range []*float64{v.From, v.To, v.Hardest} {
			if end != nil && (*end < -m.opposite(r.voc) || *end > m.Limits[1]) {
				r.Suggest(v.At, fmt.Sprintf("it goes from %g° to %g°", -m.opposite(r.voc), m.Limits[1]),
					"%g° lies outside what %s can be", *end, m.Name)
			}
		}
	}
	if v.From != nil && *v.From > arc.To {
		r.Suggest(v.At, "write the smaller first", "the arc of %q goes from %g° down to %g°", id, *v.From, arc.To)
	}
	switch {
	case v.Loaded != nil && v.Loaded.None:
	case v.Loaded != nil && v.Loaded.From != nil && v.Loaded.To != nil:
		arc.Loaded = &Loaded{*v.Loaded.From, *v.Loaded.To}
	case d.Tool != nil && d.Tool.LoadType != "unloaded":
		from := min(0, arc.To)
		if v.From != nil {
			from = *v.From
		}
		arc.Loaded = &Loaded{from, arc.To}
	}
	return arc
}

// opposite is how far the joint can go the other way: the end of the opposite motion, or this motion's own least.
func (m *Motion) opposite(v *Vocabulary) float64 {
	if o := v.Motion(m.Opposite); o != nil && len(o.Limits) == 2 {
		return o.Limits[1]
	}
	return -m.Limits[0]
}

// derive fills what follows from the rest.
func (r *drillReader) derive(d *Drill) {
	if d.Pattern == nil || d.Tool == nil {
		return
	}
	for _, load := range d.Rows[0].Regions {
		if load.Role == "drive" {
			d.Main = load
			break
		}
	}
	if d.Main.Region == "" {
		r.Suggest(d.At, "give the region it is for role: drive", "drill %q drives no region", d.ID)
	}
	for i := range d.Rows {
		for _, a := range d.Rows[i].Arcs {
			if m := r.voc.Motion(a.Motion); m != nil && m.OverheadAbove > 0 && a.To > m.OverheadAbove {
				d.Overhead = true
			}
		}
		for _, load := range d.Rows[i].Regions {
			d.Loads = d.Loads || load.Rung != activeMotion
		}
		r.demandOpposites(&d.Rows[i])
	}
	r.carry(d)
}

// demandOpposites adds, for every arc that starts somewhere, what that start asks of the opposite motion.
func (r *drillReader) demandOpposites(row *Row) {
	for _, a := range slices.Clone(row.Arcs) {
		m := r.voc.Motion(a.Motion)
		if a.From == nil || m == nil || m.Opposite == "" {
			continue
		}
		o := r.voc.Motion(m.Opposite)
		if o == nil || !o.HasRange() || len(o.Limits) != 2 {
			continue
		}
		need := 0 - *a.From
		if own := row.Arc(m.Opposite); own != nil {
			own.To = max(own.To, need)
		} else if need >= o.Limits[0] {
			row.Arcs = append(row.Arcs, Arc{Motion: m.Opposite, To: need})
		}
	}
}

// DrillsAsWritten is what drills: is read into, for the schema.
func DrillsAsWritten() any { return []rawDrill(nil) }

// BlocksAsWritten is what blocks: is read into: drills of which only the id must be there.
func BlocksAsWritten() any { return []rawBlock(nil) }

type rawBlock rawDrill

// Shape implements Shaped: what a drill must say itself unless a parent or a block says it.
func (rawDrill) Shape(s *authored.Schema) {
	whole := []string{"sides", "pattern", "planes", "tool", "station", "position", "muscles", "regions", "cues", "tags_from"}
	s.With(authored.HasNone("use", "variant_of"), authored.Has(append(whole, "name")...))
	s.With(&authored.Schema{Required: []string{"variant_of"}, Not: authored.Has("use")}, authored.Has("name", "changes"))
}
