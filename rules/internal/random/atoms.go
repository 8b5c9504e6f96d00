package random

import (
	"fmt"
	"strings"

	"drillwright/rules/client"
)

// Tags of a drill and facts of a client that are read by name alone.
var (
	drillBools = []string{"push", "pull", "overhead", "single_joint", "loads", "easy_to_bail", "needs_spotter", "alone_ok", "floor_transfer",
		"long_supine"}
	drillDegrees = []string{"grip_effort", "spine.compression", "spine.flexed", "spine.extended", "spine.twist", "balance", "skill",
		"breath_hold", "fall_risk"}
	drillMuscles = []string{"prime", "assist", "steady"}
	arcParts     = []string{"to", "to", "to", "from", "hardest", "loaded.to", "loaded.from"}
	painParts    = []string{"rest", "worst", "next_day"}
	clientBools  = []string{"painkiller_today", "supervised", "guardian_present", "hypermobile", "pregnancy.section", "pregnancy.agreed"}
)

// drillWords are tags that hold one word: of the vocabulary, or of a fixed list.
func (a *author) drillWord() (path string, words []string) {
	fixed := []struct {
		path  string
		words []string
	}{
		{"tool", a.voc.IDs("tool")}, {"load_type", a.voc.IDs("load_type")}, {"station", a.voc.IDs("station")},
		{"pattern", a.voc.IDs("pattern")}, {"position", a.voc.IDs("position")}, {"main_region", a.regions},
		{"kind", []string{"push", "pull", "isolation", "squat", "hinge", "lunge"}}, {"direction", []string{"horizontal", "vertical", "incline"}},
		{"purpose", []string{"prepare", "train", "finish"}}, {"unit", []string{"reps", "seconds", "metres"}},
		{"speed", []string{"hold", "slow", "fast", "impact"}}, {"sides", []string{"one_side", "two_side", "midline"}},
		{"main_rung", rungs}, {"ceiling", []string{"light", "medium", "heavy"}},
		{"hand", []string{"pronated", "supinated", "neutral", "mixed", "open", "none"}}, {"grip_width", []string{"narrow", "shoulder", "wide"}},
		{"elbow_path", []string{"tucked", "middle", "flared"}}, {"scapula", []string{"free", "pinned"}},
		{"trunk_support", []string{"none", "part", "full"}},
	}
	w := pick(a.dice, fixed)
	return w.path, w.words
}

// ofDrill draws an atom over the drill alone: it can be answered when the book is compiled.
func (a *author) ofDrill() string {
	switch a.weighted(12, 10, 18, 16, 8, 8, 6, 5, 8, 5, 4) {
	case 0:
		return fmt.Sprintf("'%s' in drill.%s", pick(a.dice, a.muscles), pick(a.dice, drillMuscles))
	case 1:
		return "drill." + pick(a.dice, drillBools)
	case 2:
		return fmt.Sprintf("drill.%s %s", pick(a.dice, drillDegrees), pick(a.dice, []string{">= 1", ">= 2", ">= 3", "> 1", "> 2", "< 1", "<= 1",
			"< 3"}))
	case 3:
		path, words := a.drillWord()
		return fmt.Sprintf("drill.%s == '%s'", path, pick(a.dice, words))
	case 4:
		path, words := a.drillWord()
		return fmt.Sprintf("drill.%s in %s", path, quoted(some(a.dice, words, 2, 4)))
	case 5:
		return fmt.Sprintf("drill.role.%s == '%s'", pick(a.dice, a.regions), pick(a.dice, []string{"drive", "support", "brace"}))
	case 6:
		return fmt.Sprintf("drill.rung.%s %s %d", pick(a.dice, a.regions), a.order(), a.between(1, 4))
	case 7:
		return fmt.Sprintf("drill.stressor.%s >= %d", pick(a.dice, a.voc.IDs("stressor")), a.between(1, 3))
	case 8:
		return fmt.Sprintf("drill.arc.%s.%s %s %g", pick(a.dice, a.motions), pick(a.dice, arcParts), a.order(), a.fives(-30, 150))
	case 9:
		return a.drillList()
	default:
		figure := pick(a.dice, []string{"floor_kg > 10", "floor_kg <= 5", "step_kg >= 2.5", "body_share >= 60", "bench_deg >= 30",
			"setup_seconds > 90", "muscle_count >= 4"})
		return "drill." + figure
	}
}

// few draws an atom that few drills fulfil.
func (a *author) few() string {
	switch a.IntN(4) {
	case 0:
		return fmt.Sprintf("'%s' in drill.prime", pick(a.dice, a.muscles))
	case 1:
		kind := pick(a.dice, []string{"pattern", "tool", "station", "position"})
		return fmt.Sprintf("drill.%s == '%s'", kind, pick(a.dice, a.voc.IDs(kind)))
	case 2:
		return fmt.Sprintf("drill.pattern in %s", quoted(some(a.dice, a.voc.IDs("pattern"), 3, 6)))
	default:
		return fmt.Sprintf("drill.role.%s == '%s'", pick(a.dice, a.regions), pick(a.dice, []string{"drive", "support", "brace"}))
	}
}

func (a *author) drillList() string {
	switch a.IntN(6) {
	case 0:
		return fmt.Sprintf("'%s' in drill.regions", pick(a.dice, a.regions))
	case 1:
		return fmt.Sprintf("'%s' in drill.contraindications", pick(a.dice, a.conditions))
	case 2:
		return fmt.Sprintf("'%s' in drill.kit", pick(a.dice, a.voc.IDs("kit")))
	case 3:
		return fmt.Sprintf("'%s' in drill.planes", pick(a.dice, a.voc.IDs("plane")))
	case 4:
		return fmt.Sprintf("any(drill.prime, # in %s)", quoted(some(a.dice, a.muscles, 2, 5)))
	default:
		return fmt.Sprintf("'%s' in drill.changes", pick(a.dice, []string{"load", "grip", "angle", "tempo"}))
	}
}

// ofClient draws an atom over the client and the request alone: it is answered once a request and side.
func (a *author) ofClient() string {
	switch a.weighted(14, 10, 8, 16, 10, 12, 10, 10, 10) {
	case 0:
		return a.clientFigure()
	case 1:
		return fmt.Sprintf("'%s' in client.%s", pick(a.dice, a.conditions),
			pick(a.dice, []string{"conditions", "conditions", "past_conditions", "conditions_by_clinician"}))
	case 2:
		return a.clientWord()
	case 3:
		return a.ofRegion(pick(a.dice, a.regions))
	case 4:
		return "client.answers." + pick(a.dice, questions)
	case 5:
		return a.ofMotion(pick(a.dice, a.motions))
	case 6:
		return a.ofComplaint(pick(a.dice, a.regions))
	case 7:
		return a.clientList()
	default:
		return "client." + pick(a.dice, clientBools)
	}
}

func (a *author) clientFigure() string {
	return pick(a.dice, []string{"client.age_years < 18", "client.age_years >= 65", "client.age_years > 40", "client.body_mass_kg > 100",
		"client.beighton >= 5", "client.confidence <= 4", "client.programme_week <= 2", "client.programme_week > 6",
		"client.pregnancy.weeks >= 12",
		"client.blood_pressure.systolic >= 160", "client.blood_pressure.diastolic >= 100", "request.minutes < 30",
		fmt.Sprintf("client.week_sets.%s >= %d", pick(a.dice, a.voc.IDs("pattern")), a.between(1, 6)),
		fmt.Sprintf("client.best.%s.reps >= %d", pick(a.dice, a.voc.IDs("test")), a.between(5, 20))})
}

func (a *author) clientWord() string {
	return pick(a.dice, []string{"client.training == 'NOVICE'", "client.training == 'ADVANCED'", "client.sex == 'FEMALE'", "side == 'LEFT'",
		"client.dominant_side == 'RIGHT'", "client.training in ['NOVICE', 'INTERMEDIATE']",
		fmt.Sprintf("client.best.%s.form == 'POOR'", pick(a.dice, a.voc.IDs("test")))})
}

// ofRegion reads what a region says, or where it stands.
func (a *author) ofRegion(region string) string {
	switch a.IntN(8) {
	case 0:
		return fmt.Sprintf("client.irritability.%s == '%s'", region, pick(a.dice, client.Irritabilities))
	case 1, 2:
		return fmt.Sprintf("client.pain.%s.%s > %d", region, pick(a.dice, painParts), a.between(1, 6))
	case 3:
		return fmt.Sprintf("client.pain.%s.next_day >= client.pain.%s.rest + 2", region, region)
	case 4:
		return fmt.Sprintf("client.pain.%s.settle_hours > 24", region)
	case 5:
		return fmt.Sprintf("client.%s.%s", pick(a.dice, []string{"in_question", "surgery", "cleared", "limit.no_overhead"}), region)
	case 6:
		return fmt.Sprintf("client.pain.%s.wakes_at_night", region)
	default:
		return fmt.Sprintf("client.rung.%s %s %d", region, a.order(), a.between(1, 4))
	}
}

func (a *author) ofMotion(motion string) string {
	switch a.IntN(5) {
	case 0:
		return fmt.Sprintf("client.range.%s < norm.low.%s - %d", motion, motion, 5*a.between(0, 4))
	case 1:
		return fmt.Sprintf("client.gap.range.%s > %d", motion, 5*a.between(1, 4))
	case 2:
		return fmt.Sprintf("client.hold.%s < %d", motion, 5*a.between(2, 12))
	case 3:
		return fmt.Sprintf("client.gap.strength.%s >= %d", motion, 5*a.between(2, 4))
	default:
		return fmt.Sprintf("client.range.%s %s %g", motion, a.order(), a.fives(0, 120))
	}
}

func (a *author) ofComplaint(region string) string {
	switch a.IntN(5) {
	case 0:
		return fmt.Sprintf("request.complaint.%s.days < %d", region, 7*a.between(1, 6))
	case 1:
		return fmt.Sprintf("'%s' in request.complaint.%s.moments", pick(a.dice, client.ComplaintMoments), region)
	case 2:
		return fmt.Sprintf("'%s' in request.complaint.%s.kinds", pick(a.dice, a.voc.IDs("pain_kind")), region)
	default:
		return fmt.Sprintf("request.complaint.%s.intensity >= %d", region, a.between(1, 7))
	}
}

func (a *author) clientList() string {
	switch a.IntN(5) {
	case 0:
		return fmt.Sprintf("count(client.conditions, # in %s) >= 2", quoted(some(a.dice, a.conditions, 4, 8)))
	case 1:
		return fmt.Sprintf("any(client.conditions_by_clinician, # in %s)", quoted(some(a.dice, a.conditions, 2, 6)))
	case 2:
		return fmt.Sprintf("'%s' in client.kit", pick(a.dice, a.voc.IDs("kit")))
	case 3:
		return fmt.Sprintf("any(client.medicines, # in %s)", quoted(some(a.dice, a.voc.IDs("medicine"), 1, 3)))
	default:
		return fmt.Sprintf("all(client.conditions, # in %s)", quoted(some(a.dice, a.conditions, 8, 16)))
	}
}

func (a *author) order() string { return pick(a.dice, []string{">", ">=", ">=", "<", "<="}) }

// quoted writes a list of words.
func quoted(words []string) string { return "['" + strings.Join(words, "', '") + "']" }
