package server

import (
	"drillwright/catalog"
	v1 "drillwright/proto/drillwright/v1"
	"drillwright/rules"
)

// cardTo converts what a client needs to know of a drill, in words.
func cardTo(v *catalog.Vocabulary, d *catalog.Drill) *v1.DrillCard {
	names := func(kind string, ids []string) []string {
		return each(ids, func(id string) string { return v.Name(kind, id) })
	}
	return &v1.DrillCard{Id: d.ID, Name: d.Name, Pattern: d.Pattern.Name, Planes: names("plane", d.Planes), LoadType: v.Name("load_type", d.LoadType()),
		Tool: d.Tool.Name, Station: v.Name("station", d.Station), Kit: names("kit", d.Kit), Prime: names("muscle", d.Muscles.Prime),
		Assist: names("muscle", d.Muscles.Assist), Cues: d.Cues, StopIf: d.StopIf}
}

// drillTo converts a drill with all its tags.
func drillTo(e *rules.Edition, d *catalog.Drill) *v1.Drill {
	return &v1.Drill{
		Id: d.ID, Name: d.Name, VariantOf: d.VariantOf, Family: d.Family, Changes: d.Changes, Sides: string(d.Sides), Pattern: d.Pattern.ID,
		Planes: d.Planes, Tool: d.Tool.ID, LoadType: d.LoadType(), Station: d.Station, Kit: d.Kit, Position: d.Position, Purpose: d.Purpose,
		Unit: d.Unit, Speed: d.Speed, Muscles: &v1.DrillMuscles{Prime: d.Muscles.Prime, Assist: d.Muscles.Assist, Steady: d.Muscles.Steady},
		Rows: each(d.Rows, rowTo), Main: regionTo(d.Main), Contraindications: d.Contraindications,
		Load:     &v1.DrillLoad{FloorKg: d.Load.FloorKg, StepKg: d.Load.StepKg, Ceiling: d.Load.Ceiling, BodyShare: d.Load.BodyShare},
		Grip:     &v1.DrillGrip{Hand: d.Grip.Hand, Width: d.Grip.Width, Effort: int32(d.Grip.Effort)},
		BenchDeg: number(d.BenchDeg), ElbowPath: d.ElbowPath, Scapula: d.Scapula,
		Spine: &v1.DrillSpine{Compression: int32(d.Spine.Compression), Flexed: int32(d.Spine.Flexed),
			Extended: int32(d.Spine.Extended), Twist: int32(d.Spine.Twist)},
		TrunkSupport: d.TrunkSupport, Balance: int32(d.Balance), Skill: int32(d.Skill), BreathHold: int32(d.BreathHold), FallRisk: int32(d.FallRisk),
		EasyToBail: d.EasyToBail, NeedsSpotter: d.NeedsSpotter, AloneOk: d.AloneOK, FloorTransfer: d.FloorTransfer, LongSupine: d.LongSupine,
		SetupSeconds: int32(d.SetupSeconds), SecondsPerRep: int32(d.SecondsPerRep), Cues: d.Cues, StopIf: d.StopIf,
		RegressTo: d.RegressTo, ProgressTo: d.ProgressTo, Overhead: d.Overhead, Loads: d.Loads,
		TagsFrom: &v1.DrillTagsFrom{Kind: d.TagsFrom.Kind, Cite: e.Cited(d.TagsFrom.Cite), Note: d.TagsFrom.Note},
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
		switch index := v.Place(t.Kind, t.ID); t.Kind {
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
