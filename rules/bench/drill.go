package bench

import (
	"math"
	"slices"
	"strings"

	"drillwright/catalog"
	"drillwright/rules/client"
)

// The tags of a drill that generated conditions read, by name. What a row has is read by its prefix.
var (
	drillTruths = map[string]func(*catalog.Drill) bool{
		"push":           func(d *catalog.Drill) bool { return d.Pattern.Kind == "push" },
		"pull":           func(d *catalog.Drill) bool { return d.Pattern.Kind == "pull" },
		"overhead":       func(d *catalog.Drill) bool { return d.Overhead },
		"single_joint":   func(d *catalog.Drill) bool { return d.Pattern.SingleJoint },
		"loads":          func(d *catalog.Drill) bool { return d.Loads },
		"easy_to_bail":   func(d *catalog.Drill) bool { return d.EasyToBail },
		"needs_spotter":  func(d *catalog.Drill) bool { return d.NeedsSpotter },
		"alone_ok":       func(d *catalog.Drill) bool { return d.AloneOK },
		"floor_transfer": func(d *catalog.Drill) bool { return d.FloorTransfer },
		"long_supine":    func(d *catalog.Drill) bool { return d.LongSupine },
	}
	drillWords = map[string]func(*catalog.Drill) string{
		"id":            func(d *catalog.Drill) string { return d.ID },
		"family":        func(d *catalog.Drill) string { return d.Family },
		"tool":          func(d *catalog.Drill) string { return d.Tool.ID },
		"load_type":     func(d *catalog.Drill) string { return d.Tool.LoadType },
		"station":       func(d *catalog.Drill) string { return d.Station },
		"pattern":       func(d *catalog.Drill) string { return d.Pattern.ID },
		"kind":          func(d *catalog.Drill) string { return d.Pattern.Kind },
		"direction":     func(d *catalog.Drill) string { return d.Pattern.Direction },
		"position":      func(d *catalog.Drill) string { return d.Position },
		"purpose":       func(d *catalog.Drill) string { return d.Purpose },
		"unit":          func(d *catalog.Drill) string { return d.Unit },
		"speed":         func(d *catalog.Drill) string { return d.Speed },
		"sides":         func(d *catalog.Drill) string { return string(d.Sides) },
		"main_region":   func(d *catalog.Drill) string { return d.Main.Region },
		"main_rung":     func(d *catalog.Drill) string { return d.Main.Rung },
		"ceiling":       func(d *catalog.Drill) string { return d.Load.Ceiling },
		"hand":          func(d *catalog.Drill) string { return d.Grip.Hand },
		"grip_width":    func(d *catalog.Drill) string { return d.Grip.Width },
		"elbow_path":    func(d *catalog.Drill) string { return d.ElbowPath },
		"scapula":       func(d *catalog.Drill) string { return d.Scapula },
		"trunk_support": func(d *catalog.Drill) string { return d.TrunkSupport },
	}
	drillLists = map[string]func(*catalog.Drill) []string{
		"planes":            func(d *catalog.Drill) []string { return d.Planes },
		"kit":               func(d *catalog.Drill) []string { return d.Kit },
		"prime":             func(d *catalog.Drill) []string { return d.Muscles.Prime },
		"assist":            func(d *catalog.Drill) []string { return d.Muscles.Assist },
		"steady":            func(d *catalog.Drill) []string { return d.Muscles.Steady },
		"contraindications": func(d *catalog.Drill) []string { return d.Contraindications },
		"changes":           func(d *catalog.Drill) []string { return d.Changes },
		"regions":           regions,
	}
	drillNumbers = map[string]func(*catalog.Drill) float64{
		"floor_kg":          func(d *catalog.Drill) float64 { return positive(d.Load.FloorKg) },
		"step_kg":           func(d *catalog.Drill) float64 { return positive(d.Load.StepKg) },
		"body_share":        func(d *catalog.Drill) float64 { return d.Load.BodyShare },
		"bench_deg":         func(d *catalog.Drill) float64 { return stated(d.BenchDeg) },
		"grip_effort":       func(d *catalog.Drill) float64 { return float64(d.Grip.Effort) },
		"spine.compression": func(d *catalog.Drill) float64 { return float64(d.Spine.Compression) },
		"spine.flexed":      func(d *catalog.Drill) float64 { return float64(d.Spine.Flexed) },
		"spine.extended":    func(d *catalog.Drill) float64 { return float64(d.Spine.Extended) },
		"spine.twist":       func(d *catalog.Drill) float64 { return float64(d.Spine.Twist) },
		"balance":           func(d *catalog.Drill) float64 { return float64(d.Balance) },
		"skill":             func(d *catalog.Drill) float64 { return float64(d.Skill) },
		"breath_hold":       func(d *catalog.Drill) float64 { return float64(d.BreathHold) },
		"fall_risk":         func(d *catalog.Drill) float64 { return float64(d.FallRisk) },
		"setup_seconds":     func(d *catalog.Drill) float64 { return float64(d.SetupSeconds) },
		"muscle_count":      func(d *catalog.Drill) float64 { return float64(len(d.Muscles.Prime) + len(d.Muscles.Assist)) },
	}
)

func kindOf(tag string) client.Kind {
	switch {
	case drillTruths[tag] != nil:
		return client.Bool
	case drillWords[tag] != nil || strings.HasPrefix(tag, "role."):
		return client.Word
	case drillLists[tag] != nil:
		return client.List
	}
	return client.Number
}

func regions(d *catalog.Drill) []string {
	var ids []string
	for i := range d.Rows {
		ids = slices.AppendSeq(ids, d.Rows[i].Asks())
	}
	return ids
}

// word reads a tag that holds one word; empty when the drill has none.
func word(tag string, d *catalog.Drill, row *catalog.Row) string {
	if region, ok := strings.CutPrefix(tag, "role."); ok {
		if load := row.Load(region); load != nil {
			return load.Role
		}
		if row.Carries(region) {
			return "brace"
		}
		return ""
	}
	return drillWords[tag](d)
}

// figure reads a number of a drill; NaN when it isn't stated.
func figure(tag string, frame *client.Frame, d *catalog.Drill, row *catalog.Row) float64 {
	if read := drillNumbers[tag]; read != nil {
		return read(d)
	}
	head, id, _ := strings.Cut(tag, ".")
	switch head {
	case "rung":
		if place := frame.Ladder(id).Asked(row, id); place >= 0 {
			return float64(place)
		}
		return math.NaN()
	case "stressor":
		return positive(float64(row.Worst(id)))
	}
	joint, rest, _ := strings.Cut(id, ".")
	motion, part, _ := strings.Cut(rest, ".")
	arc := row.Arc(joint + "." + motion)
	switch {
	case arc == nil || strings.HasPrefix(part, "loaded") && arc.Loaded == nil:
		return math.NaN()
	case part == "to":
		return arc.To
	case part == "from":
		return stated(arc.From)
	case part == "hardest":
		return stated(arc.Hardest)
	case part == "loaded.from":
		return arc.Loaded.From
	}
	return arc.Loaded.To
}

func stated(v *float64) float64 {
	if v == nil {
		return math.NaN()
	}
	return *v
}

func positive(v float64) float64 {
	if v > 0 {
		return v
	}
	return math.NaN()
}
