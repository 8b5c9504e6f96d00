package client

import (
	"slices"
	"strings"

	"drillwright/catalog"
)

// Kind is the type of a path.
type Kind string

// The kinds. A word is one of a few texts; a list holds words.
const (
	Number Kind = "number"
	Bool   Kind = "yes or no"
	Word   Kind = "word"
	List   Kind = "list"
)

// Path is one fact that a rule may read, numbered within its kind.
type Path struct {
	Name string
	Kind Kind
	// Slot counts within numbers, within yes-or-nos, and within words and lists together.
	Slot int
	Unit string // deg, kg, N, s, weeks, …; empty for a plain number
	// Lo and Hi are the limits of a number: what it can be when it is unknown.
	Lo, Hi float64
	// Words are the values that a word can have, or the members that a list can have; nil means any drill.
	Words []string
	Sided bool
	// CanChange is true of what training or kit can change; only these may appear in "what would open it".
	CanChange bool
	// TestFirst says that a bar which hangs on this unknown is "test first" rather than "not today".
	TestFirst bool
	// Measure is the readable name of what to measure, for facts that somebody can measure.
	Measure string
}

// Table numbers every path of a client, a request and the norms.
type Table struct {
	Paths                 []Path
	Numbers, Bools, Words int // how many slots of each kind

	byName map[string]int
}

// Path finds a path by its name; nil when there is none.
func (t *Table) Path(name string) *Path {
	if i, ok := t.byName[name]; ok {
		return &t.Paths[i]
	}
	return nil
}

// Index is the place of a path in Paths.
func (t *Table) Index(p *Path) int { return t.byName[p.Name] }

// Names lists all paths in order.
func (t *Table) Names() []string {
	names := make([]string, len(t.Paths))
	for i := range t.Paths {
		names[i] = t.Paths[i].Name
	}
	return names
}

func (t *Table) add(p Path) {
	counter := map[Kind]*int{Number: &t.Numbers, Bool: &t.Bools, Word: &t.Words, List: &t.Words}[p.Kind]
	p.Slot = *counter
	*counter++
	t.byName[p.Name] = len(t.Paths)
	t.Paths = append(t.Paths, p)
}

func (t *Table) number(name, unit string, lo, hi float64, more ...func(*Path)) {
	t.with(Path{Name: name, Kind: Number, Unit: unit, Lo: lo, Hi: hi}, more)
}

func (t *Table) yesNo(name string, more ...func(*Path)) { t.with(Path{Name: name, Kind: Bool}, more) }

func (t *Table) word(name string, words []string, more ...func(*Path)) {
	t.with(Path{Name: name, Kind: Word, Words: words}, more)
}

func (t *Table) list(name string, words []string, more ...func(*Path)) {
	t.with(Path{Name: name, Kind: List, Words: words}, more)
}

func (t *Table) with(p Path, more []func(*Path)) {
	for _, m := range more {
		m(&p)
	}
	t.add(p)
}

// Traits of paths.
func sided(yes bool) func(*Path) { return func(p *Path) { p.Sided = yes } }
func testable(what string) func(*Path) {
	return func(p *Path) { p.TestFirst, p.Measure = true, what }
}
func changes(p *Path) { p.CanChange = true }

// settled marks paths that are never unknown: no bar ever hangs on their absence.
func settled(p *Path) { p.TestFirst = true }

// Irritability levels, low to high.
var Irritabilities = []string{"low", "moderate", "high"}

// Moments of a complaint: those of a movement, and the times around it.
var ComplaintMoments = []string{"START", "BOTTOM", "MIDDLE", "TOP", "HOLDING", "RACKING", "AFTER", "NEXT_DAY", "ALWAYS"}

// Onsets of a complaint.
var Onsets = []string{"GRADUAL", "SUDDEN", "INJURY"}

func newTable(f *Frame) *Table {
	t := &Table{byName: map[string]int{}}
	v := f.Vocabulary
	t.person(f)
	for i := range v.Motions {
		t.motion(&v.Motions[i])
	}
	for _, r := range v.Regions {
		t.region(r, f.Ladder(r.ID))
	}
	for _, test := range v.Tests {
		t.number("client.best."+test.ID+".sets", "", 0, 50, testable(test.Name))
		t.number("client.best."+test.ID+".reps", "", 0, 500, testable(test.Name))
		t.number("client.best."+test.ID+".load_kg", "kg", 0, 500, testable(test.Name))
		t.number("client.best."+test.ID+".pain", "", 0, 10, testable(test.Name))
		t.word("client.best."+test.ID+".form", []string{"OK", "POOR"}, testable(test.Name))
	}
	for _, id := range f.QuestionIDs() {
		t.yesNo("client.answers." + id)
	}
	for _, p := range v.Patterns {
		t.number("client.week_sets."+p.ID, "", 0, 1000, settled)
	}
	for _, s := range v.Stressors {
		t.number("request.allowed."+s.ID, "", 0, 3, sided(true), settled)
	}
	t.list("request.kit_taken", v.IDs("kit"), settled)
	t.list("request.stations_taken", v.IDs("station"), settled)
	t.number("request.minutes", "min", 0, 600, settled)
	t.word("side", []string{"LEFT", "RIGHT"}, sided(true), settled)
	return t
}

func (t *Table) person(f *Frame) {
	v := f.Vocabulary
	t.number("client.age_years", "years", 0, 120)
	t.number("client.body_mass_kg", "kg", 20, 400, testable("body mass"))
	t.number("client.beighton", "", 0, 9)
	t.number("client.confidence", "", 0, 10)
	t.number("client.programme_week", "weeks", 0, 520)
	t.number("client.pregnancy.weeks", "weeks", 0, 45)
	t.number("client.pregnancy.postnatal_weeks", "weeks", 0, 520)
	t.number("client.blood_pressure.systolic", "mmHg", 60, 260)
	t.number("client.blood_pressure.diastolic", "mmHg", 30, 160)
	t.yesNo("client.pregnancy.section")
	t.yesNo("client.pregnancy.agreed")
	t.yesNo("client.hypermobile")
	t.yesNo("client.painkiller_today")
	t.yesNo("client.supervised")
	t.yesNo("client.guardian_present")
	t.word("client.sex", []string{"FEMALE", "MALE"})
	t.word("client.training", []string{"NOVICE", "INTERMEDIATE", "ADVANCED"})
	t.word("client.dominant_side", []string{"LEFT", "RIGHT"})
	t.list("client.conditions", v.IDs("condition"), sided(true))
	t.list("client.past_conditions", v.IDs("condition"), sided(true))
	t.list("client.conditions_by_clinician", v.IDs("condition"), sided(true))
	t.list("client.medicines", v.IDs("medicine"))
	t.list("client.kit", v.IDs("kit"), changes, settled)
	t.list("client.disliked", nil, settled)
	t.list("client.goal_lifts", nil, settled)
	t.list("client.familiar", nil, settled)
}

func (t *Table) motion(m *catalog.Motion) {
	s := sided(m.Sided)
	force := strings.TrimSpace(m.Name)
	t.number("client.strength."+m.ID, "N", 0, 3000, s, changes, testable(force+" strength"))
	t.number("client.hold."+m.ID, "s", 0, 900, s, changes, testable(force+" hold"))
	t.number("client.gap.strength."+m.ID, "percent", -100, 100, s, testable(force+" strength, both sides"))
	t.number("client.gap.hold."+m.ID, "percent", -100, 100, s, testable(force+" hold, both sides"))
	if !m.HasRange() {
		return
	}
	lo, hi := m.Limits[0], m.Limits[1]
	t.number("client.range."+m.ID, "deg", lo, hi, s, changes, testable(m.Name))
	t.number("client.passive."+m.ID, "deg", lo, hi, s, testable(m.Name+", passive"))
	t.number("client.margin."+m.ID, "deg", 0, 60, s, settled)
	t.number("client.gap.range."+m.ID, "deg", lo-hi, hi-lo, s, testable(m.Name+", both sides"))
	t.number("client.painful."+m.ID+".from", "deg", lo, hi, s, settled)
	t.number("client.painful."+m.ID+".to", "deg", lo, hi, s, settled)
	t.number("client.limit.range."+m.ID, "deg", lo, hi, s, settled)
	t.number("norm.low."+m.ID, "deg", lo, hi, settled)
}

func (t *Table) region(r catalog.Region, l *Ladder) {
	s, id := sided(r.Sided), r.ID
	top := 0.0
	if l != nil {
		top = float64(len(l.Rungs) - 1)
	}
	for _, part := range []string{"rest", "worst", "next_day"} {
		t.number("client.pain."+id+"."+part, "", 0, 10, s)
	}
	t.number("client.pain."+id+".settle_hours", "h", 0, 336, s)
	t.yesNo("client.pain."+id+".wakes_at_night", s)
	t.word("client.irritability."+id, Irritabilities, s)
	t.number("client.rung."+id, "rung", 0, top, s, settled)
	t.yesNo("client.in_question."+id, s, settled)
	t.yesNo("client.surgery."+id, s)
	t.yesNo("client.cleared."+id, s, settled)
	t.yesNo("client.limit.no_overhead."+id, s, settled)
	t.number("client.limit.load_kg."+id, "kg", 0, 1000, s, settled)
	t.number("request.complaint."+id+".intensity", "", 0, 10, s, settled)
	t.number("request.complaint."+id+".days", "days", 0, 36500, s, settled)
	t.list("request.complaint."+id+".kinds", nil, s, settled)
	t.list("request.complaint."+id+".moments", ComplaintMoments, s, settled)
	t.list("request.complaint."+id+".onsets", Onsets, s, settled)
}

// Nearest names the known path most like an unknown one: the nearest name at the first level that fails.
func (t *Table) Nearest(name string) string { return NearestPath(name, t.Names()) }

// NearestPath walks the parts of a path; at the first part that no known path has, it suggests the nearest there.
func NearestPath(name string, known []string) string {
	parts := strings.Split(name, ".")
	for depth := range parts {
		prefix := strings.Join(parts[:depth], ".")
		if prefix != "" {
			prefix += "."
		}
		var here []string
		for _, k := range known {
			if rest, ok := strings.CutPrefix(k, prefix); ok {
				if part, _, _ := strings.Cut(rest, "."); !slices.Contains(here, part) {
					here = append(here, part)
				}
			}
		}
		if !slices.Contains(here, parts[depth]) {
			if near := catalog.Nearest(parts[depth], here); near != "" {
				return near
			}
			return ""
		}
	}
	return ""
}
