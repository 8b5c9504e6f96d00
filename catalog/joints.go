package catalog

import (
	"cmp"
	"slices"
	"strings"
	"sync"

	"go.yaml.in/yaml/v3"
)

// Which regions a drill loads, whether or not its author names them, follows from two lists of the vocabulary: the joints
// that a muscle crosses, and those that weight or pull goes through in a position.

// activeMotion is the rung of what moves without load.
const activeMotion = "active_motion"

// checkJoints holds the lists of regions of muscles and positions against the regions there are.
func (v *Vocabulary) checkJoints(r *Report) {
	for i := range v.Muscles {
		m := &v.Muscles[i]
		if m.Crosses == nil {
			if known := builtInTerm(builtIn().Muscles, func(t Muscle) bool { return t.ID == m.ID }); known != nil {
				m.Crosses = v.only(known.Crosses)
			}
			r.lacks(m.At, "muscle", m.ID, keyed("crosses", m.Crosses))
			continue
		}
		v.regionList(r, m.At, m.Crosses)
		if m.Region != "" && !slices.Contains(m.Crosses, m.Region) {
			r.Suggest(m.At, "add "+m.Region+" to crosses", "muscle %q doesn't cross its own region", m.ID)
		}
	}
	for i := range v.Positions {
		p := &v.Positions[i]
		if p.Bears == nil {
			lines := keyed("bears", nil)
			if known := builtInTerm(builtIn().Positions, func(t Position) bool { return t.ID == p.ID }); known != nil {
				p.Bears = v.only(known.Bears)
				lines = keyed("bears", p.Bears)
				if p.BearsHeld == nil && len(known.BearsHeld) > 0 {
					p.BearsHeld = v.only(known.BearsHeld)
					lines = append(lines, keyed("bears_held", p.BearsHeld)...)
				}
			}
			r.lacks(p.At, "position", p.ID, lines)
			continue
		}
		v.regionList(r, p.At, p.Bears)
		v.regionList(r, p.At, p.BearsHeld)
	}
}

func (v *Vocabulary) regionList(r *Report, at Pos, list []string) {
	for i, region := range list {
		if !v.Has("region", region) {
			r.Unknown(at, "region", region, v.ids["region"])
		}
		if slices.Contains(list[:i], region) {
			r.Suggest(at, "take one out", "region %q stands twice", region)
		}
	}
}

// only are those of a list that are regions of this vocabulary; never nil.
func (v *Vocabulary) only(list []string) []string {
	out := []string{}
	for _, region := range list {
		if v.Has("region", region) {
			out = append(out, region)
		}
	}
	return out
}

// keyed is a list under its key; the key alone where the list is nil.
func keyed(key string, list []string) []string {
	if list == nil {
		return []string{key}
	}
	return []string{key + ": [" + strings.Join(list, ", ") + "]"}
}

// lacks reports a term without its list of regions. Where the lines are known, as of a term that is built in, they are put in.
func (r *Report) lacks(at Pos, kind, id string, lines []string) {
	key, _, known := strings.Cut(lines[0], ":")
	if !known {
		r.Lacks(at, "add "+key+": [the regions], or [] for none", "%s %q has no %s", kind, id, key)
		return
	}
	r.Fix(at, at.addKeys(lines), "add "+strings.Join(lines, ", "), "%s %q has no %s", kind, id, key)
}

// addKeys is an edit that puts keys ahead of the others of the mapping that begins at a place; nil when none is seen there.
func (p Pos) addKeys(lines []string) *Edit {
	switch rest := p.rest(); {
	case rest == "":
		return nil
	case rest[0] == '{':
		at := p.after(1)
		return &Edit{at, at, strings.Join(lines, ", ") + ", "}
	default:
		between := "\n" + strings.Repeat(" ", p.Col-1)
		return &Edit{p, p, strings.Join(lines, between) + between}
	}
}

// builtIn are the lists of the vocabulary that comes with the program, as its files state them.
var builtIn = sync.OnceValue(func() *Vocabulary {
	d := NewDecoder()
	var docs []*yaml.Node
	for _, f := range EmbeddedFiles() {
		if doc := d.Parse(f); doc != nil {
			docs = append(docs, doc)
		}
	}
	return d.listsOf(docs)
})

func builtInTerm[T any](list []T, is func(T) bool) *T {
	if i := slices.IndexFunc(list, is); i >= 0 {
		return &list[i]
	}
	return nil
}

// carry notes the regions that a drill loads through the muscles that cross them and through its position.
func (r *drillReader) carry(d *Drill) {
	if !d.Loads {
		return
	}
	working := &d.Rows[0]
	if slices.ContainsFunc(working.Regions, func(l RegionLoad) bool { return l.Role == "drive" && l.Rung != activeMotion }) {
		working.Crossed = r.crossed(d.Muscles)
	}
	if d.BearsOn == "none" {
		return
	}
	borne := r.borne(d)
	sided := slices.DeleteFunc(slices.Clone(borne), func(region string) bool { return !r.voc.Sided(region) })
	working.Borne = borne
	if d.BearsOn == "other" {
		working.Borne = slices.DeleteFunc(borne, r.voc.Sided)
	}
	if d.Sides != OneSide || d.BearsOn == "same" || len(sided) == 0 {
		return
	}
	if len(d.Rows) == 1 {
		d.Rows = append(d.Rows, Row{})
	}
	d.Rows[1].Borne = sided
}

// crossed are the regions that the muscles which do the work cross.
func (r *drillReader) crossed(m Muscles) []string {
	var all []string
	for _, id := range slices.Concat(m.Prime, m.Assist) {
		if place := r.voc.Place("muscle", id); place >= 0 {
			all = append(all, r.voc.Muscles[place].Crosses...)
		}
	}
	return r.inOrder(all)
}

// borne are the regions that the load goes through in the drill's position.
func (r *drillReader) borne(d *Drill) []string {
	at, kind := r.voc.Place("position", d.Position), r.voc.Place("load_type", d.LoadType())
	if at < 0 || kind < 0 {
		return nil
	}
	position, weight := r.voc.Positions[at], cmp.Or(r.voc.LoadTypes[kind].Weight, "held")
	if weight == "none" {
		return nil
	}
	all := slices.Clone(position.Bears)
	if weight == "held" && d.TrunkSupport != "full" || d.Spine.Compression > 0 {
		all = append(all, position.BearsHeld...)
	}
	return r.inOrder(all)
}

// inOrder are regions in the order of the vocabulary, each once.
func (r *drillReader) inOrder(list []string) []string {
	var out []string
	for _, region := range r.voc.IDs("region") {
		if slices.Contains(list, region) {
			out = append(out, region)
		}
	}
	return out
}
