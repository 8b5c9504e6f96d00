package rules

import (
	"slices"
	"strings"

	"drillwright/catalog"
	"drillwright/catalog/authored"
)

// checkUse is the other direction of strict reading: every use is a term, and every term is used by a drill, by a
// rule that names it, or by another term. What a client may tell needs no other use: how a pain feels, an operation, a bone that
// heals, and the strength of an action that has no range.
func (e *Edition) checkUse(r *authored.Report, files []authored.File) {
	own := slices.DeleteFunc(slices.Clone(e.Catalogue.Vocabulary.Terms()), func(t catalog.Term) bool {
		return !slices.ContainsFunc(files, func(f authored.File) bool { return f.Name == t.At.Source.Name })
	})
	if len(own) == 0 {
		return
	}
	used := e.usedByDrills()
	for _, t := range e.Catalogue.Vocabulary.Tools {
		used["load_type "+t.LoadType] = true
	}
	for _, k := range e.Catalogue.Vocabulary.Kit {
		for _, c := range k.CountsAs {
			used["kit "+c] = true
		}
	}
	code := e.Book.code()
	for _, c := range e.Catalogue.Vocabulary.Conditions {
		used["condition "+c.ID] = used["condition "+c.ID] || e.Book.SpeaksByLaxity(&c)
	}
	for _, t := range own {
		named := strings.Contains(code, "'"+t.ID+"'") || strings.Contains(code, "."+t.ID)
		reported := t.Kind == "pain_kind" || t.Kind == "procedure" || t.Kind == "condition" && e.Catalogue.Vocabulary.IsBone(t.ID) ||
			t.Kind == "motion" && !e.Catalogue.Vocabulary.Motion(t.ID).HasRange()
		if !reported && !used[t.Kind+" "+t.ID] && !named {
			r.Suggest(t.At, "use it or take it out", "%s %q is used by no drill and no rule", strings.ReplaceAll(t.Kind, "_", " "), t.ID)
		}
	}
}

// speaksByLaxity is whether a rule on loose joints speaks of a condition.
func (b *Book) SpeaksByLaxity(c *catalog.Condition) bool {
	return c.Laxity && strings.Contains(b.code(), "client.hypermobile")
}

// code is every condition of the book, as written.
func (b *Book) code() string {
	var all []string
	for _, r := range slices.Concat(b.Rules, b.Doses, b.Advices) {
		all = append(all, r.CodeText)
	}
	for _, p := range b.Plans {
		for _, s := range p.Slots {
			all = append(all, s.Where.Value)
		}
	}
	return strings.Join(all, "\n")
}

func (e *Edition) usedByDrills() map[string]bool {
	used := map[string]bool{}
	mark := func(kind string, ids ...string) {
		for _, id := range ids {
			used[kind+" "+id] = true
		}
	}
	for _, d := range e.Catalogue.Drills {
		mark("pattern", d.Pattern.ID)
		mark("tool", d.Tool.ID)
		mark("station", d.Station)
		mark("position", d.Position)
		mark("plane", d.Planes...)
		mark("kit", d.Kit...)
		mark("muscle", slices.Concat(d.Muscles.Prime, d.Muscles.Assist, d.Muscles.Steady)...)
		mark("condition", d.Contraindications...)
		for i, row := range d.Rows {
			mark("region", slices.Collect(d.Rows[i].Asks())...)
			for _, a := range row.Arcs {
				mark("motion", a.Motion)
			}
			for _, s := range row.Stressors {
				mark("stressor", s.Stressor)
			}
		}
	}
	return used
}
