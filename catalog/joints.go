package catalog

import (
	"cmp"
	"slices"
	"strings"
	"sync"

	"drillwright/catalog/authored"

	"go.yaml.in/yaml/v3"
)

// Which regions a drill loads, whether or not its author names them, follows from two lists of the vocabulary: the joints
// that a muscle crosses, and those that weight or pull goes through in a position.

// activeMotion is the rung of what moves without load.
const activeMotion = "active_motion"

// checkJoints holds the lists of regions of muscles and positions against the regions there are, and against those of the
// terms that are built in: these may be longer, not shorter, or what a sign closes would load what it is about. One that isn't
// there is read as it is built in.
func (v *Vocabulary) checkJoints(r *authored.Report) {
	for i := range v.Muscles {
		m, known := &v.Muscles[i], Muscle{}
		if at := slices.IndexFunc(builtIn().Muscles, func(t Muscle) bool { return t.ID == m.ID }); at >= 0 {
			known = builtIn().Muscles[at]
		}
		if m.Crosses == nil {
			if lacks(r, m.At, "muscle", m.ID, "crosses", v.knows(known.Crosses), []string{keyed("crosses", known.Crosses)}) {
				m.Crosses = known.Crosses
			}
			continue
		}
		v.regionList(r, m.At, m.Crosses)
		least := known.Crosses
		if m.Region != "" && !slices.Contains(least, m.Region) {
			least = append(slices.Clone(least), m.Region)
		}
		for _, region := range v.missing(least, m.Crosses) {
			r.Suggest(m.At, "add "+region+" to crosses", "muscle %q crosses %s", m.ID, region)
		}
	}
	for i := range v.Positions {
		p, known := &v.Positions[i], Position{}
		if at := slices.IndexFunc(builtIn().Positions, func(t Position) bool { return t.ID == p.ID }); at >= 0 {
			known = builtIn().Positions[at]
		}
		if p.Bears == nil {
			lines := []string{keyed("bears", known.Bears)}
			if p.BearsHeld == nil && known.BearsHeld != nil {
				lines = append(lines, keyed("bears_held", known.BearsHeld))
				p.BearsHeld = known.BearsHeld
			}
			if lacks(r, p.At, "position", p.ID, "bears", v.knows(known.Bears) && (p.BearsHeld == nil || v.knows(p.BearsHeld)), lines) {
				p.Bears = known.Bears
			}
			continue
		}
		v.regionList(r, p.At, p.Bears)
		v.regionList(r, p.At, p.BearsHeld)
		for _, region := range v.missing(known.Bears, p.Bears) {
			r.Suggest(p.At, "add "+region+" to bears, or give it an id of its own", "position %q bears through %s", p.ID, region)
		}
		for _, region := range v.missing(known.BearsHeld, slices.Concat(p.Bears, p.BearsHeld)) {
			r.Suggest(p.At, "add "+region+" to bears_held, or give it an id of its own", "position %q bears what is held through %s", p.ID, region)
		}
	}
	for i := range v.LoadTypes {
		v.checkWeight(r, &v.LoadTypes[i])
	}
}

// checkWeight holds what is carried of a load against the words there are, and against what is built in.
func (v *Vocabulary) checkWeight(r *authored.Report, t *LoadType) {
	if t.Weight != "" && !slices.Contains(words["weight"], t.Weight) {
		r.Unknown(t.At, "weight", t.Weight, words["weight"])
		return
	}
	at := slices.IndexFunc(builtIn().LoadTypes, func(k LoadType) bool { return k.ID == t.ID })
	if at < 0 || t.Weight == "" {
		return
	}
	if least := builtIn().LoadTypes[at].Weight; slices.Index(words["weight"], t.Weight) < slices.Index(words["weight"], least) {
		r.Suggest(t.At, "write weight: "+least+", or give it an id of its own", "load type %q is carried as %s", t.ID, least)
	}
}

// missing are the regions of this vocabulary that a list must have and hasn't.
func (v *Vocabulary) missing(least, list []string) []string {
	return slices.DeleteFunc(slices.Clone(least), func(region string) bool {
		return !v.Has("region", region) || slices.Contains(list, region)
	})
}

func (v *Vocabulary) regionList(r *authored.Report, at authored.Pos, list []string) {
	for i, region := range list {
		if !v.Has("region", region) {
			r.Unknown(at, "region", region, v.ids["region"])
		}
		if slices.Contains(list[:i], region) {
			r.Suggest(at, "take one out", "region %q stands twice", region)
		}
	}
}

// knows is whether a list is there, of regions of this vocabulary alone.
func (v *Vocabulary) knows(list []string) bool {
	return list != nil && !slices.ContainsFunc(list, func(region string) bool { return !v.Has("region", region) })
}

func keyed(key string, list []string) string { return key + ": [" + strings.Join(list, ", ") + "]" }

// lacks reports a term without its list of regions. Where it is known, as of a term that is built in, the lines put it in.
func lacks(r *authored.Report, at authored.Pos, kind, id, key string, known bool, lines []string) bool {
	if !known {
		r.Lacks(at, "add "+key+": [the regions], or [] for none", "%s %q has no %s", kind, id, key)
		return false
	}
	r.Fix(at, addKeys(at, "id: "+id, lines), "add "+strings.Join(lines, ", "), "%s %q has no %s", kind, id, key)
	return true
}

// addKeys is an edit that puts keys behind the first of the mapping that begins at a place; nil when that isn't the one.
func addKeys(p authored.Pos, first string, lines []string) *authored.Edit {
	between, rest := "\n"+strings.Repeat(" ", p.Col-1), p.Rest()
	if strings.HasPrefix(rest, "{") {
		between, p, rest = ", ", p.After(1), rest[1:]
	}
	if !strings.HasPrefix(rest, first) || len(rest) > len(first) && !strings.ContainsRune(" ,}", rune(rest[len(first)])) {
		return nil
	}
	at := p.After(len(first))
	return &authored.Edit{From: at, To: at, New: between + strings.Join(lines, between)}
}

// builtIn are the lists of the vocabulary that comes with the program, as its files state them.
var builtIn = sync.OnceValue(func() *Vocabulary {
	d := authored.NewDecoder()
	var docs []*yaml.Node
	for _, f := range EmbeddedFiles() {
		if doc := d.Parse(f); doc != nil {
			docs = append(docs, doc)
		}
	}
	return listsOf(d, docs)
})

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
		if index := r.voc.Index("muscle", id); index >= 0 {
			all = append(all, r.voc.Muscles[index].Crosses...)
		}
	}
	return r.inOrder(all)
}

// borne are the regions that the load goes through in the drill's position.
func (r *drillReader) borne(d *Drill) []string {
	at, kind := r.voc.Index("position", d.Position), r.voc.Index("load_type", d.LoadType())
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
