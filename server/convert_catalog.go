package server

import (
	"fmt"
	"strings"

	"google.golang.org/protobuf/reflect/protoreflect"

	"drillwright/catalog"
	"drillwright/catalog/authored"
	v1 "drillwright/proto/drillwright/v1"
	"drillwright/rules"
)

// cardTo converts what a client needs to know of a drill, in words.
func cardTo(v *catalog.Vocabulary, d *catalog.Drill) *v1.DrillCard {
	names := func(kind string, ids []string) []string {
		return each(ids, func(id string) string { return v.Name(kind, id) })
	}
	return &v1.DrillCard{Id: d.ID, Name: d.Name, Pattern: d.Pattern.Name, Planes: names("plane", d.Planes),
		LoadType: v.Name("load_type", d.LoadType()), Tool: d.Tool.Name, Station: v.Name("station", d.Station), Kit: names("kit", d.Kit),
		Prime: names("muscle", d.Muscles.Prime), Assist: names("muscle", d.Muscles.Assist), Cues: d.Cues, StopIf: d.StopIf}
}

// drillTo converts a drill with all its tags: the fields that it has as they were written, then what was worked out.
func drillTo(e *rules.Edition, d *catalog.Drill) *v1.Drill {
	out := &v1.Drill{Pattern: d.Pattern.ID, Tool: d.Tool.ID, Family: d.Family, LoadType: d.LoadType(), Rows: each(d.Rows, rowTo),
		Main: regionTo(d.Main), Overhead: d.Overhead, Loads: d.Loads}
	for i := range drillFields {
		drillFields[i].convert(e, d, out.ProtoReflect())
	}
	return out
}

// drillField is a field of a drill with that of the contract which has the same name.
type drillField struct {
	catalog.Field
	within []protoreflect.FieldDescriptor // the messages that it stands in, from the outermost
	to     protoreflect.FieldDescriptor
}

var drillFields = each(catalog.Fields(), func(f catalog.Field) drillField {
	out, in := drillField{Field: f}, (&v1.Drill{}).ProtoReflect().Descriptor()
	for _, key := range strings.Split(f.Key, ".") {
		if out.to != nil {
			out.within, in = append(out.within, out.to), out.to.Message()
		}
		if out.to = in.Fields().ByName(protoreflect.Name(key)); out.to == nil {
			panic(fmt.Sprintf("the contract's %s has no %s", in.Name(), key))
		}
	}
	return out
})

func (f *drillField) convert(e *rules.Edition, d *catalog.Drill, out protoreflect.Message) {
	for _, message := range f.within {
		out = out.Mutable(message).Message()
	}
	switch v := f.In(d).(type) {
	case *string:
		out.Set(f.to, protoreflect.ValueOf(*v))
	case *catalog.Sides:
		out.Set(f.to, protoreflect.ValueOf(string(*v)))
	case *bool:
		out.Set(f.to, protoreflect.ValueOf(*v))
	case *int:
		out.Set(f.to, protoreflect.ValueOf(int32(*v)))
	case *float64:
		out.Set(f.to, protoreflect.ValueOf(fold(*v)))
	case **float64:
		if *v != nil {
			out.Set(f.to, protoreflect.ValueOf(fold(**v)))
		}
	case *[]string:
		for _, s := range *v {
			out.Mutable(f.to).List().Append(protoreflect.ValueOf(s))
		}
	case *[]authored.Text:
		out.Set(f.to, protoreflect.ValueOf(e.Cited(*v)))
	default:
		panic(fmt.Sprintf("%s has a type that the contract doesn't", f.Key))
	}
}

func rowTo(r catalog.Row) *v1.DrillRow {
	return &v1.DrillRow{
		Regions: each(r.Regions, regionTo),
		Arcs:    each(r.Arcs, arcTo),
		Crossed: r.Crossed,
		Borne:   r.Borne,
		Stressors: each(r.Stressors, func(s catalog.Stress) *v1.DrillStressor {
			return &v1.DrillStressor{Moment: s.Moment, Stressor: s.Stressor, Grade: int32(s.Grade)}
		}),
	}
}

func regionTo(l catalog.RegionLoad) *v1.DrillRegion {
	return &v1.DrillRegion{Region: l.Region, Rung: l.Rung, Role: l.Role}
}

func arcTo(a catalog.Arc) *v1.DrillArc {
	out := &v1.DrillArc{Motion: a.Motion, From: number(a.From), To: fold(a.To), Hardest: number(a.Hardest)}
	if a.Loaded != nil {
		out.Loaded = &v1.LoadedArc{From: fold(a.Loaded.From), To: fold(a.Loaded.To)}
	}
	return out
}

// termTo converts a term with what its kind adds.
func termTo(v *catalog.Vocabulary) func(catalog.Term) *v1.Term {
	return func(t catalog.Term) *v1.Term {
		out := &v1.Term{Kind: t.Kind, Id: t.ID, Name: t.Name, Regions: t.Regions}
		switch index := v.Index(t.Kind, t.ID); t.Kind {
		case "region":
			out.Sided = &v.Regions[index].Sided
		case "motion":
			motionTo(&v.Motions[index], out)
		case "test":
			out.How = v.Tests[index].How
		case "condition":
			out.Icd10 = v.Conditions[index].ICD10
		case "kit":
			out.Always = v.Kit[index].Always
		}
		return out
	}
}

func motionTo(m *catalog.Motion, out *v1.Term) {
	out.Sided, out.How = &m.Sided, m.Position
	if m.HasRange() {
		least, greatest := fold(m.Limits[0]), fold(m.Limits[1])
		out.LeastDeg, out.GreatestDeg = &least, &greatest
	}
}
