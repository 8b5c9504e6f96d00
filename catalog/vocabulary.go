package catalog

import (
	"fmt"
	"slices"
	"strings"

	"drillwright/catalog/authored"

	"go.yaml.in/yaml/v3"
)

// Term is what every word of the vocabulary has: an id that files and rules use, and a name that people read.
type Term struct {
	ID   string
	Name string
	// Kind is the list that the term stands in, in the singular: "motion", "muscle".
	Kind string
	// Regions are the body regions it belongs to, if any.
	Regions []string
	At      authored.Pos
}

// Region is a part of the body that is trained, measured and laddered as one.
type Region struct {
	At    authored.Pos
	ID    string `yaml:"id" need:"yes" id:"snake" doc:"The id that files and rules use: words in lower case joined by underscores."`
	Name  string `yaml:"name" need:"yes" doc:"The region as people read it."`
	Sided bool   `yaml:"sided" doc:"Whether there is a left and a right."`
	// FeltIn are the regions in which what comes from this one may be felt.
	FeltIn []string `yaml:"felt_in" suggest:"region" doc:"The regions in which what comes from this one may be felt."`
}

// Norm is the least range, in degrees, that is presumed of a quiet joint in an age band.
type Norm struct {
	Ages   [2]int
	LowDeg float64
	// Row names the row of the reference table; it is empty for a judged value without one.
	Row string
	// Cite are the publications as they were written: ids of an edition's sources, or in words.
	Cite   []authored.Text
	Judged bool
	Note   string
}

type rawNorm struct {
	At     authored.Pos
	Ages   []int                           `yaml:"ages" need:"yes" items:"2..2" doc:"The first and the last year of the band."`
	LowDeg float64                         `yaml:"low_deg" doc:"The least range presumed of a quiet joint, in degrees."`
	Row    string                          `yaml:"row" doc:"The row of the reference table it comes from."`
	Cite   authored.Several[authored.Text] `yaml:"cite" doc:"The publication: the id of an entry under sources, or in words; or several."`
	Judged bool                            `yaml:"judged" doc:"True where no row gives it; say why in the note."`
	Note   string                          `yaml:"note" doc:"What is unsure."`
}

// WrittenAs implements Written.
func (n *Norm) WrittenAs() []any { return []any{rawNorm{}} }

// DecodeNode implements NodeDecoder.
func (n *Norm) DecodeNode(d *authored.Decoder, node *yaml.Node) {
	var raw rawNorm
	d.Decode(node, &raw)
	if len(raw.Ages) != 2 || raw.Ages[0] > raw.Ages[1] {
		d.Suggest(d.At(node), "write ages: [18, 64]", "ages must be the first and the last year of a band")
		return
	}
	if raw.Row == "" && !raw.Judged {
		d.Suggest(d.At(node), "name the row, or write judged: true with a note", "a norm without a source")
	}
	*n = Norm{Ages: [2]int{raw.Ages[0], raw.Ages[1]}, LowDeg: raw.LowDeg, Row: raw.Row, Cite: cites(raw.Cite),
		Judged: raw.Judged, Note: raw.Note}
}

// Motion is a motion of one joint as it is measured. Range is in degrees, signed from the anatomical zero.
type Motion struct {
	At       authored.Pos
	ID       string `yaml:"id" need:"yes" id:"snake" doc:"The id that files and rules use: words in lower case joined by underscores."`
	Name     string `yaml:"name" need:"yes" doc:"The motion as people read it."`
	Region   string `yaml:"region" need:"yes" suggest:"region" doc:"The region it belongs to."`
	Sided    bool   `yaml:"sided" doc:"Whether it is measured left and right."`
	Opposite string `yaml:"opposite" suggest:"motion" doc:"The motion that goes the other way."`
	// Limits are the least and the greatest value that a measurement can have; nil when the motion has no range
	// (strength and holds only).
	Limits   []float64 `yaml:"limits_deg" items:"2..2" doc:"The least and the greatest value a measurement can have, in degrees."`
	Range    *bool     `yaml:"range" doc:"False where only strength and holds are measured."`
	Position string    `yaml:"position" doc:"The position in which it is measured."`
	Note     string    `yaml:"note" doc:"Anything an author should know."`
	// OverheadAbove is the angle above which a drill counts as overhead and nothing is presumed; 0 means none.
	OverheadAbove float64 `yaml:"overhead_above" doc:"The angle above which a drill counts as overhead and nothing is presumed, in degrees."`
	Norms         []Norm  `yaml:"norms" doc:"What is presumed of a quiet joint, by age."`
	// LooseFrom is the range from which a joint bends clearly further than usual; nil where none is told.
	LooseFrom *float64 `yaml:"loose_from_deg" doc:"The range from which a joint bends clearly further than usual, in degrees."`
}

// HasRange is false for motions of which only strength and holds are measured.
func (m *Motion) HasRange() bool { return m.Range == nil || *m.Range }

// Pattern is what a drill does as a whole.
type Pattern struct {
	At          authored.Pos
	ID          string `yaml:"id" need:"yes" id:"snake" doc:"The id that files and rules use: words in lower case joined by underscores."`
	Name        string `yaml:"name" need:"yes" doc:"The pattern as people read it."`
	Kind        string `yaml:"kind" doc:"Patterns of one kind may stand in for each other."`
	Direction   string `yaml:"direction" doc:"Which way it goes."`
	SingleJoint bool   `yaml:"single_joint" doc:"Whether one joint does the work."`
}

// Tool is what carries the load of a drill.
type Tool struct {
	At       authored.Pos
	ID       string  `yaml:"id" need:"yes" id:"snake" doc:"The id that files and rules use: words in lower case joined by underscores."`
	Name     string  `yaml:"name" need:"yes" doc:"The tool as people read it."`
	LoadType string  `yaml:"load_type" need:"yes" suggest:"load_type" doc:"What kind of load it gives."`
	StepKg   float64 `yaml:"step_kg" doc:"The least step between two loads, in kilograms."`
	Source   string  `yaml:"source" doc:"Where the step comes from."`
}

// Kit is a thing a drill needs.
type Kit struct {
	At       authored.Pos
	ID       string   `yaml:"id" need:"yes" id:"snake" doc:"The id that files and rules use: words in lower case joined by underscores."`
	Name     string   `yaml:"name" need:"yes" doc:"The thing as people read it."`
	Always   bool     `yaml:"always" doc:"True for what is there everywhere."`
	CountsAs []string `yaml:"counts_as" suggest:"kit" doc:"Kit that it may stand in for."`
}

// SimpleTerm is a term with nothing but its name.
type SimpleTerm struct {
	At   authored.Pos
	ID   string `yaml:"id" need:"yes" id:"snake" doc:"The id that files and rules use: words in lower case joined by underscores."`
	Name string `yaml:"name" need:"yes" doc:"The term as people read it."`
	Note string `yaml:"note" doc:"Anything an author should know."`
}

// LoadType is a kind of load.
type LoadType struct {
	At     authored.Pos
	ID     string `yaml:"id" need:"yes" id:"snake" doc:"The id that files and rules use: words in lower case joined by underscores."`
	Name   string `yaml:"name" need:"yes" doc:"The term as people read it."`
	Weight string `yaml:"weight" of:"weight" doc:"What of it the body carries: none where its forces stay within the body, pull where it is anchored or is the body itself, held where it hangs from the body; held unless stated."`
	Note   string `yaml:"note" doc:"Anything an author should know."`
}

// Position is a position of the body, with the regions that a load goes through in it.
type Position struct {
	At    authored.Pos
	ID    string   `yaml:"id" need:"yes" id:"snake" doc:"The id that files and rules use: words in lower case joined by underscores."`
	Name  string   `yaml:"name" need:"yes" doc:"The term as people read it."`
	Bears []string `yaml:"bears" need:"yes" suggest:"region" doc:"The regions that weight or pull goes through in it; [] for none."`
	// BearsHeld spares a trunk that is wholly supported.
	BearsHeld []string `yaml:"bears_held" suggest:"region" doc:"The regions that also bear a weight which hangs from the body, unless the whole trunk is supported."`
	Note      string   `yaml:"note" doc:"Anything an author should know."`
}

// Muscle is a muscle or a part of one.
type Muscle struct {
	At      authored.Pos
	ID      string   `yaml:"id" need:"yes" id:"snake" doc:"The id that files and rules use: words in lower case joined by underscores."`
	Name    string   `yaml:"name" need:"yes" doc:"The muscle as people read it."`
	Region  string   `yaml:"region" suggest:"region" doc:"The region it belongs to."`
	Crosses []string `yaml:"crosses" need:"yes" suggest:"region" doc:"The regions whose joints it crosses, its own among them: its work loads them."`
	Latin   string   `yaml:"latin" doc:"The anatomical name."`
}

// Stressor is a position or action known to provoke.
type Stressor struct {
	At      authored.Pos
	ID      string   `yaml:"id" need:"yes" id:"snake" doc:"The id that files and rules use: words in lower case joined by underscores."`
	Name    string   `yaml:"name" need:"yes" doc:"The stressor as people read it."`
	Regions []string `yaml:"regions" suggest:"region" doc:"The regions it stresses."`
}

// Condition is what a clinician or the client may have told us. The ICD-10 code is a cross-reference only.
type Condition struct {
	At             authored.Pos
	ID             string   `yaml:"id" need:"yes" id:"snake" doc:"The id that files and rules use: words in lower case joined by underscores."`
	Name           string   `yaml:"name" need:"yes" doc:"The condition as people read it."`
	Regions        []string `yaml:"regions" suggest:"region" doc:"The regions it is in; none for the person as a whole."`
	ICD10          string   `yaml:"icd10" doc:"ICD-10 code, a cross-reference only."`
	ICD10Confirmed bool     `yaml:"icd10_confirmed" doc:"True when the code was looked up."`
	Tendon         bool     `yaml:"tendon" doc:"True for a tendon that trains on under the pain rule."`
	Laxity         bool     `yaml:"laxity" doc:"True for what speaks for joints that are loose throughout: without a score they are then not presumed to be firm."`
	// ExplainsNerve are the regions in which it explains what is felt of a nerve, when a clinician has told it.
	ExplainsNerve []string `yaml:"explains_nerve" suggest:"region" doc:"The regions in which it explains what is felt of a nerve."`
	// Bone is true of a broken or overstressed bone, which heals over months and may lie in any region. Where nobody says in
	// which, it may be in any of Unplaced.
	Bone     bool     `yaml:"bone" doc:"True for a broken or overstressed bone, which may lie in any region."`
	Unplaced []string `yaml:"unplaced" suggest:"region" doc:"Of a bone: the regions it may lie in when nobody says which."`
	Note     string   `yaml:"note" doc:"Anything an author should know."`
}

// Procedure is an operation that has limits of its own.
type Procedure struct {
	At      authored.Pos
	ID      string   `yaml:"id" need:"yes" id:"snake" doc:"The id that files and rules use: words in lower case joined by underscores."`
	Name    string   `yaml:"name" need:"yes" doc:"The operation as people read it."`
	Regions []string `yaml:"regions" need:"yes" suggest:"region" doc:"The regions it is done in."`
	// NeedsClearance is true where only a surgeon's limits open the region, however long ago it was.
	NeedsClearance bool   `yaml:"needs_clearance" doc:"True where only a surgeon's limits open the region, however long ago it was."`
	Note           string `yaml:"note" doc:"Anything an author should know."`
}

// Test is a performance that a client's best is kept of.
type Test struct {
	At     authored.Pos
	ID     string `yaml:"id" need:"yes" id:"snake" doc:"The id that files and rules use: words in lower case joined by underscores."`
	Name   string `yaml:"name" need:"yes" doc:"The test as people read it."`
	Region string `yaml:"region" need:"yes" suggest:"region" doc:"The region it loads."`
	How    string `yaml:"how" doc:"How it is done."`
}

// PainKind is how a complaint feels.
type PainKind struct {
	At    authored.Pos
	ID    string `yaml:"id" need:"yes" doc:"The word of the contract."`
	Name  string `yaml:"name" need:"yes" doc:"The word as people read it."`
	Nerve bool   `yaml:"nerve" doc:"True where a nerve may be involved."`
	// NerveSign is true where it points to a nerve by itself, wherever it is felt.
	NerveSign bool   `yaml:"nerve_sign" doc:"True where it points to a nerve by itself."`
	Unstable  bool   `yaml:"unstable" doc:"True where a joint may give way."`
	Stop      bool   `yaml:"stop" doc:"True where it ends a drill at any number."`
	Note      string `yaml:"note" doc:"Anything an author should know."`
}

// Vocabulary is every word that files, rules and requests may use.
type Vocabulary struct {
	Regions    []Region     `yaml:"regions" doc:"Regions of the body."`
	Motions    []Motion     `yaml:"motions" doc:"Motions of the joints."`
	Planes     []SimpleTerm `yaml:"planes" doc:"Planes of movement."`
	Patterns   []Pattern    `yaml:"patterns" doc:"What a drill does as a whole."`
	LoadTypes  []LoadType   `yaml:"load_types" doc:"Kinds of load."`
	Tools      []Tool       `yaml:"tools" doc:"What carries a load."`
	Kit        []Kit        `yaml:"kit" doc:"What a drill needs."`
	Stations   []SimpleTerm `yaml:"stations" doc:"Places in the gym."`
	Positions  []Position   `yaml:"positions" doc:"Positions of the body."`
	Muscles    []Muscle     `yaml:"muscles" doc:"Muscles and their parts."`
	Stressors  []Stressor   `yaml:"stressors" doc:"What is known to provoke."`
	Conditions []Condition  `yaml:"conditions" doc:"What a clinician or the client may have told."`
	Procedures []Procedure  `yaml:"procedures" doc:"Operations that have limits of their own."`
	Tests      []Test       `yaml:"tests" doc:"Tests of which the best is kept."`
	Medicines  []SimpleTerm `yaml:"medicines" doc:"Classes of medicine that bear on training."`
	PainKinds  []PainKind   `yaml:"pain_kinds" doc:"How a complaint feels."`

	terms []Term
	index map[string]map[string]int
	names map[string]map[string]string // kind → id → place in its list
	ids   map[string][]string          // kind → ids in order
}

// Moments of a movement, in their order. The last three belong to complaints only.
var Moments = []string{"start", "bottom", "middle", "top", "holding", "racking"}

// words are the short lists that belong to the code and not to the vocabulary.
var words = map[string][]string{
	"sides":          {"one_side", "two_side", "midline"},
	"change":         {"load", "joint_range", "grip", "angle", "tempo", "support"},
	"on":             {"same", "other", "both"},
	"bearing side":   {"same", "other", "both", "none"},
	"role":           {"drive", "support", "brace"},
	"moment":         Moments,
	"loaded":         {"none"},
	"purpose":        {"prepare", "train", "finish"},
	"unit":           {"reps", "seconds", "metres"},
	"speed":          {"slow", "hold", "fast", "impact"},
	"load ceiling":   {"light", "medium", "heavy"},
	"hand":           {"pronated", "supinated", "neutral", "mixed", "open", "none"},
	"grip width":     {"narrow", "shoulder", "wide"},
	"elbow path":     {"tucked", "middle", "flared"},
	"scapula":        {"free", "pinned"},
	"trunk support":  {"none", "part", "full"},
	"weight":         {"none", "pull", "held"},
	"kind of source": {"study", "common_practice", "judged"},
}

// Words is a list by its name: the ids of a kind of term, or one of the short lists of the code; nil when there is none.
func (v *Vocabulary) Words(name string) []string {
	if ids := v.ids[name]; ids != nil {
		return ids
	}
	return words[name]
}

// Terms lists the whole vocabulary in the order of its files.
func (v *Vocabulary) Terms() []Term { return v.terms }

// IDs lists the ids of one kind ("region", "motion", "plane", …) in order.
func (v *Vocabulary) IDs(kind string) []string { return v.ids[kind] }

// Kinds lists the kinds of term in a fixed order.
func (v *Vocabulary) Kinds() []string {
	return []string{"region", "motion", "plane", "pattern", "load_type", "tool", "kit", "station", "position",
		"muscle", "stressor", "condition", "procedure", "test", "medicine", "pain_kind"}
}

// IsKind is whether a list is of terms, and not one of the short ones of the code.
func IsKind(list string) bool { return list != "" && words[list] == nil }

// Has is true when the kind has the id.
func (v *Vocabulary) Has(kind, id string) bool { _, ok := v.index[kind][id]; return ok }

// Index is the position of an id in its list; -1 when it is unknown.
func (v *Vocabulary) Index(kind, id string) int {
	if i, ok := v.index[kind][id]; ok {
		return i
	}
	return -1
}

// Name is the readable name of an id, or the id itself.
func (v *Vocabulary) Name(kind, id string) string {
	if name, ok := v.names[kind][id]; ok {
		return name
	}
	return id
}

// Motion finds a motion; nil when there is none.
func (v *Vocabulary) Motion(id string) *Motion {
	if i := v.Index("motion", id); i >= 0 {
		return &v.Motions[i]
	}
	return nil
}

// IsBone is true of a condition that is a broken or overstressed bone.
func (v *Vocabulary) IsBone(condition string) bool {
	i := v.Index("condition", condition)
	return i >= 0 && v.Conditions[i].Bone
}

// Sided is true when the region has a left and a right.
func (v *Vocabulary) Sided(region string) bool {
	i := v.Index("region", region)
	return i >= 0 && v.Regions[i].Sided
}

// add files one term, refusing bad ids and doubles.
func (v *Vocabulary) add(r *authored.Report, at authored.Pos, kind, id, name string, regions ...string) {
	place := len(v.ids[kind])
	switch {
	case id == "":
		r.Suggest(at, "add id: and words in lower case joined by _", "a %s without an id", kind)
	case !authored.SnakeID.MatchString(id) && kind != "pain_kind":
		r.Suggest(at, "ids are words in lower case joined by _", "%s id %q is not an id", kind, id)
	case v.Has(kind, id):
		r.Suggest(at, "take one out, or give it another id", "%s %q stands twice", kind, id)
	}
	if name == "" {
		r.Suggest(at, "add name: as people read it", "%s %q has no name", kind, id)
	}
	if v.index[kind] == nil {
		v.index[kind], v.names[kind] = map[string]int{}, map[string]string{}
	}
	if !v.Has(kind, id) {
		v.index[kind][id], v.names[kind][id] = place, name
	}
	v.ids[kind] = append(v.ids[kind], id)
	v.terms = append(v.terms, Term{ID: id, Name: name, Kind: kind, At: at, Regions: slices.DeleteFunc(slices.Clone(regions),
		func(s string) bool { return s == "" })})
}

// finish numbers the terms and checks that every reference between them holds.
func (v *Vocabulary) finish(r *authored.Report) {
	v.index, v.names, v.ids = map[string]map[string]int{}, map[string]map[string]string{}, map[string][]string{}
	for _, t := range v.Regions {
		v.add(r, t.At, "region", t.ID, t.Name)
	}
	for _, t := range v.Motions {
		v.add(r, t.At, "motion", t.ID, t.Name, t.Region)
	}
	for kind, list := range map[string][]SimpleTerm{"plane": v.Planes, "station": v.Stations, "medicine": v.Medicines} {
		for _, t := range list {
			v.add(r, t.At, kind, t.ID, t.Name)
		}
	}
	for _, t := range v.LoadTypes {
		v.add(r, t.At, "load_type", t.ID, t.Name)
	}
	for _, t := range v.Positions {
		v.add(r, t.At, "position", t.ID, t.Name, slices.Concat(t.Bears, t.BearsHeld)...)
	}
	for _, t := range v.Patterns {
		v.add(r, t.At, "pattern", t.ID, t.Name)
	}
	for _, t := range v.Tools {
		v.add(r, t.At, "tool", t.ID, t.Name)
	}
	for _, t := range v.Kit {
		v.add(r, t.At, "kit", t.ID, t.Name)
	}
	for _, t := range v.Muscles {
		v.add(r, t.At, "muscle", t.ID, t.Name, t.Crosses...)
	}
	for _, t := range v.Stressors {
		v.add(r, t.At, "stressor", t.ID, t.Name, t.Regions...)
	}
	for _, t := range v.Conditions {
		v.add(r, t.At, "condition", t.ID, t.Name, t.Regions...)
	}
	for _, t := range v.Procedures {
		v.add(r, t.At, "procedure", t.ID, t.Name, t.Regions...)
	}
	for _, t := range v.Tests {
		v.add(r, t.At, "test", t.ID, t.Name, t.Region)
	}
	for _, t := range v.PainKinds {
		v.add(r, t.At, "pain_kind", t.ID, t.Name)
	}
	for kind, most := range map[string]int{"muscle": mostTerms, "stressor": mostTerms, "region": mostTerms / 2, "plane": mostTerms / 2} {
		if n := len(v.ids[kind]); n > most {
			r.Add(authored.Pos{}, "the vocabulary has %d terms of the kind %s; the most is %d", n, kind, most)
		}
	}
	v.orderTerms()
	v.checkReferences(r)
	v.checkJoints(r)
}

// orderTerms puts the terms in the order of Kinds, each kind in the order of its file.
func (v *Vocabulary) orderTerms() {
	kinds := v.Kinds()
	slices.SortStableFunc(v.terms, func(a, b Term) int {
		return slices.Index(kinds, a.Kind) - slices.Index(kinds, b.Kind)
	})
}

func (v *Vocabulary) checkReferences(r *authored.Report) {
	need := func(at authored.Pos, kind, id string) {
		if !v.Has(kind, id) {
			r.Unknown(at, kind, id, v.ids[kind])
		}
	}
	for i := range v.Motions {
		m := &v.Motions[i]
		need(m.At, "region", m.Region)
		if m.Opposite != "" {
			need(m.At, "motion", m.Opposite)
		}
		v.checkRange(r, m)
	}
	for _, t := range v.Tools {
		need(t.At, "load_type", t.LoadType)
	}
	for _, t := range v.Kit {
		for _, c := range t.CountsAs {
			need(t.At, "kit", c)
		}
	}
	for _, t := range v.Regions {
		for _, region := range t.FeltIn {
			need(t.At, "region", region)
		}
	}
	for _, t := range v.Stressors {
		for _, region := range t.Regions {
			need(t.At, "region", region)
		}
	}
	for _, t := range v.Conditions {
		for _, region := range slices.Concat(t.Regions, t.Unplaced, t.ExplainsNerve) {
			need(t.At, "region", region)
		}
		if t.Bone != (len(t.Unplaced) > 0) {
			r.Suggest(t.At, "write bone: true and unplaced: with the regions, or neither", "condition %q must say both bone and unplaced", t.ID)
		}
	}
	for _, t := range v.Procedures {
		for _, region := range t.Regions {
			need(t.At, "region", region)
		}
	}
	for _, t := range v.Tests {
		need(t.At, "region", t.Region)
	}
}

func (v *Vocabulary) checkRange(r *authored.Report, m *Motion) {
	if !m.HasRange() {
		if len(m.Limits) > 0 || len(m.Norms) > 0 {
			r.Suggest(m.At, "take these out, or range: false", "motion %q has range: false and yet limits or norms", m.ID)
		}
		return
	}
	if len(m.Limits) != 2 || m.Limits[0] >= m.Limits[1] {
		r.Suggest(m.At, "write limits_deg: [least, greatest]", "motion %q needs two limits", m.ID)
		return
	}
	if !strings.Contains(m.ID, ".") {
		r.Suggest(m.At, "write joint.motion", "motion id %q names no joint", m.ID)
	}
	for i, n := range m.Norms {
		if n.LowDeg < m.Limits[0] || n.LowDeg > m.Limits[1] {
			r.Suggest(m.At, fmt.Sprintf("the limits are %g° and %g°", m.Limits[0], m.Limits[1]), "motion %q: norm %g° lies outside the limits", m.ID,
				n.LowDeg)
		}
		for _, o := range m.Norms[:i] {
			if n.Ages[0] <= o.Ages[1] && o.Ages[0] <= n.Ages[1] {
				r.Suggest(m.At, "begin each a year after the one before ends", "motion %q: the age bands %v and %v overlap", m.ID, o.Ages, n.Ages)
			}
		}
	}
}
