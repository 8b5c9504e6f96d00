package text

import (
	"fmt"
	"strings"

	v1 "drillwright/proto/drillwright/v1"
)

// Drills lists drills, a line each.
func (p *Page) Drills(list []*v1.Drill) {
	wide := 0
	for _, d := range list {
		wide = max(wide, runes(d.GetId()))
	}
	for _, d := range list {
		head := d.GetId() + spaces(wide-runes(d.GetId())+2)
		p.write(head, spaces(wide+2), d.GetName(), "")
	}
	p.line(0, count(int32(len(list)), "drill")+".")
}

// Drill shows all tags of a drill. Words are ids, as files and rules write them.
func (p *Page) Drill(d *v1.Drill, revision string) {
	p.title(d.GetName())
	p.field(2, "id", d.GetId())
	p.field(2, "variant of", variant(d))
	p.field(2, "pattern", strings.Join([]string{d.GetPattern(), d.GetSides(), strings.Join(d.GetPlanes(), " and ")}, ", "))
	p.field(2, "tool", d.GetTool()+" ("+d.GetLoadType()+"), at "+d.GetStation())
	p.field(2, "kit", strings.Join(d.GetKit(), ", "))
	p.field(2, "position", d.GetPosition())
	p.field(2, "for", strings.Join([]string{d.GetMain().GetRegion(), d.GetPurpose(), "counted in " + d.GetUnit(), d.GetSpeed()}, ", "))
	p.field(2, "prime", strings.Join(d.GetMuscles().GetPrime(), ", "))
	p.field(2, "assist", strings.Join(d.GetMuscles().GetAssist(), ", "))
	p.field(2, "steady", strings.Join(d.GetMuscles().GetSteady(), ", "))
	p.field(2, "load", load(d))
	p.field(2, "asks", asks(d))
	p.rows(d)
	p.field(2, "not with", strings.Join(d.GetContraindications(), ", "))
	p.field(2, "how", sentences(d.GetCues()...))
	p.field(2, "stop if", sentence(d.GetStopIf()))
	p.field(2, "easier", strings.Join(d.GetRegressTo(), ", "))
	p.field(2, "harder", strings.Join(d.GetProgressTo(), ", "))
	p.field(2, "tags from", tagsFrom(d.GetTagsFrom()))
	p.field(2, "revision", revision)
}

func variant(d *v1.Drill) string {
	if d.GetVariantOf() == "" {
		return ""
	}
	return d.GetVariantOf() + ", changes " + strings.Join(d.GetChanges(), ", ")
}

func load(d *v1.Drill) string {
	l := d.GetLoad()
	var parts []string
	if l.GetStepKg() > 0 {
		parts = append(parts, fmt.Sprintf("from %s kg by %s kg", figure(l.GetFloorKg()), figure(l.GetStepKg())))
	}
	if l.GetBodyShare() > 0 {
		parts = append(parts, figure(l.GetBodyShare())+" % of body mass")
	}
	if l.GetCeiling() != "" {
		parts = append(parts, "up to "+l.GetCeiling())
	}
	return strings.Join(parts, ", ")
}

// asks lists what a drill demands beside range and load, each 0 to 3, the zeros left out.
func asks(d *v1.Drill) string {
	var parts []string
	for _, a := range []struct {
		name  string
		grade int32
	}{
		{"balance", d.GetBalance()}, {"skill", d.GetSkill()}, {"breath hold", d.GetBreathHold()}, {"fall risk", d.GetFallRisk()},
		{"grip", d.GetGrip().GetEffort()}, {"spine compression", d.GetSpine().GetCompression()}, {"spine flexed", d.GetSpine().GetFlexed()},
		{"spine extended", d.GetSpine().GetExtended()}, {"spine twist", d.GetSpine().GetTwist()},
	} {
		if a.grade > 0 {
			parts = append(parts, fmt.Sprintf("%s %d", a.name, a.grade))
		}
	}
	for _, y := range []struct {
		name string
		yes  bool
	}{
		{"overhead", d.GetOverhead()}, {"a spotter", d.GetNeedsSpotter()}, {"down to the floor and up", d.GetFloorTransfer()},
		{"lying long on the back", d.GetLongSupine()},
	} {
		if y.yes {
			parts = append(parts, y.name)
		}
	}
	return strings.Join(parts, ", ")
}

// rows writes what each side of the body is asked for.
func (p *Page) rows(d *v1.Drill) {
	for i, row := range d.GetRows() {
		if len(d.GetRows()) > 1 {
			p.line(2, []string{"working side", "other side"}[min(i, 1)])
		}
		for n, r := range row.GetRegions() {
			p.field(2, repeated("regions", n), r.GetRegion()+" "+r.GetRung()+" "+r.GetRole())
		}
		p.field(2, "crossed", strings.Join(row.GetCrossed(), ", "))
		p.field(2, "borne", strings.Join(row.GetBorne(), ", "))
		for n, a := range row.GetArcs() {
			p.field(2, repeated("arcs", n), arc(a))
		}
		for n, s := range row.GetStressors() {
			p.field(2, repeated("stressors", n), fmt.Sprintf("%s %d at %s", s.GetStressor(), s.GetGrade(), s.GetMoment()))
		}
	}
}

func arc(a *v1.DrillArc) string {
	words := a.GetMotion() + " to " + figure(a.GetTo()) + "°"
	if a.From != nil {
		words = a.GetMotion() + " " + figure(a.GetFrom()) + "° to " + figure(a.GetTo()) + "°"
	}
	if a.Hardest != nil {
		words += ", hardest at " + figure(a.GetHardest()) + "°"
	}
	if l := a.GetLoaded(); l != nil {
		return words + ", loaded " + figure(l.GetFrom()) + "° to " + figure(l.GetTo()) + "°"
	}
	return words + ", unloaded"
}

func tagsFrom(t *v1.DrillTagsFrom) string {
	words := readable(t.GetKind())
	for _, more := range []string{t.GetCite(), t.GetNote()} {
		if more != "" {
			words += "; " + more
		}
	}
	return words
}

// Terms lists the vocabulary, kind by kind.
func (p *Page) Terms(list []*v1.Term) {
	kind := ""
	for _, t := range list {
		if t.GetKind() != kind {
			if kind != "" {
				p.out.WriteByte('\n')
			}
			kind = t.GetKind()
			p.title(readable(kind))
		}
		p.term(t)
	}
}

const termWidth = 42

func (p *Page) term(t *v1.Term) {
	id := t.GetId()
	if t.GetKind() == "rung" {
		id = t.GetWithin() + ": " + id
	}
	head := "  " + id + spaces(max(2, termWidth-2-runes(id)))
	p.write(head, spaces(termWidth), t.GetName()+termDetail(t), "")
	if t.GetSource() != nil {
		p.source(t.GetSource())
	}
}

// source writes what stands behind a short citation.
func (p *Page) source(s *v1.Source) {
	for _, f := range []struct{ name, value string }{
		{"authors", strings.Join(s.GetAuthors(), ", ")}, {"title", s.GetTitle()}, {"published in", s.GetPublishedIn()},
		{"identifier", s.GetIdentifier()},
		{"says", s.GetSays()}, {"from memory", s.GetUnsure()}, {"cited by", strings.Join(s.GetCitedBy(), ", ")},
	} {
		p.field(4, f.name, f.value)
	}
}

func termDetail(t *v1.Term) string {
	var parts []string
	if t.GetWithin() != "" && t.GetKind() != "rung" {
		parts = append(parts, "list "+t.GetWithin())
	}
	if t.GetUrgency() != "" {
		parts = append(parts, t.GetUrgency())
	}
	if len(t.GetRegions()) > 0 {
		parts = append(parts, strings.Join(t.GetRegions(), ", "))
	}
	if t.Sided != nil {
		parts = append(parts, map[bool]string{true: "left and right", false: "midline"}[t.GetSided()])
	}
	if t.LeastDeg != nil {
		parts = append(parts, figure(t.GetLeastDeg())+"° to "+figure(t.GetGreatestDeg())+"°")
	}
	if t.GetIcd10() != "" {
		parts = append(parts, "ICD-10 "+t.GetIcd10())
	}
	if len(parts) == 0 {
		return ""
	}
	return " (" + strings.Join(parts, "; ") + ")"
}
