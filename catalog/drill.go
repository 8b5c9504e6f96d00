package catalog

import (
	"iter"
	"slices"

	"drillwright/catalog/authored"

	"go.yaml.in/yaml/v3"
)

// Sides says how a drill uses the two sides of the body.
type Sides string

// The three kinds.
const (
	OneSide Sides = "one_side"
	TwoSide Sides = "two_side"
	Midline Sides = "midline"
)

// Place of a side of the body in arrays.
const (
	Left  = 0
	Right = 1
)

// Load says how heavy a drill can be made. Kilograms; share in percent of body mass.
type Load struct {
	FloorKg   float64
	StepKg    float64
	Ceiling   string // light, medium, heavy
	BodyShare float64
}

// Grip is how the hand holds.
type Grip struct {
	Hand   string
	Width  string
	Effort int // 0–3
}

// Spine is what the drill asks of the back, each 0–3.
type Spine struct {
	Compression int `yaml:"compression" range:"0..3" doc:"Pressure along the spine, 0 to 3."`
	Flexed      int `yaml:"flexed" range:"0..3" doc:"Load on a bent back, 0 to 3."`
	Extended    int `yaml:"extended" range:"0..3" doc:"Load on an arched back, 0 to 3."`
	Twist       int `yaml:"twist" range:"0..3" doc:"Load on a turned back, 0 to 3."`
}

// Muscles by role.
type Muscles struct {
	Prime  []string
	Assist []string
	Steady []string
}

// TagsFrom says where the tags of a drill come from.
type TagsFrom struct {
	Kind string // study, common_practice, judged
	// Cite are the studies as they were written: ids of an edition's sources, or in words.
	Cite []authored.Text
	Note string
}

// RegionLoad is what a drill asks of one region: the rung by what that region does, and its role.
type RegionLoad struct {
	Region string
	Rung   string
	Role   string // drive, support, brace
}

// Arc is the part of a motion that a drill travels, in degrees.
type Arc struct {
	Motion  string
	From    *float64 // nil when that end makes no demand
	To      float64
	Hardest *float64
	// Loaded is nil when the arc is travelled without load.
	Loaded *Loaded
}

// Loaded is the part of an arc that is under load.
type Loaded struct{ From, To float64 }

// Stress is a stressor at a moment of the drill, graded 1–3.
type Stress struct {
	Moment   string
	Stressor string
	Grade    int
}

// Row is what a drill asks of one side of the body. A one-side drill has a first row for the working side and,
// where it asks something of the other, a second; any other drill has one row that holds on both sides.
type Row struct {
	Regions   []RegionLoad
	Arcs      []Arc
	Stressors []Stress
	// Crossed are the regions whose joints its prime and assisting muscles cross, and Borne those that weight or pull
	// goes through, whether or not its author named them: it loads them. Both are empty where it loads nothing.
	Crossed, Borne []string
}

// OnlyBears is whether the row asks nothing of its side but to bear.
func (r *Row) OnlyBears() bool {
	return len(r.Regions)+len(r.Arcs)+len(r.Stressors)+len(r.Crossed) == 0 && len(r.Borne) > 0
}

// Asks lists the regions that the row asks something of, each once: those its author names, then those it carries.
func (r *Row) Asks() iter.Seq[string] {
	return func(yield func(string) bool) {
		for _, load := range r.Regions {
			if !yield(load.Region) {
				return
			}
		}
		for _, region := range r.Crossed {
			if r.Load(region) == nil && !yield(region) {
				return
			}
		}
		for _, region := range r.Borne {
			if r.Load(region) == nil && !slices.Contains(r.Crossed, region) && !yield(region) {
				return
			}
		}
	}
}

// Carries is whether a region is loaded by the muscles that cross it or by what goes through it.
func (r *Row) Carries(region string) bool {
	return slices.Contains(r.Crossed, region) || slices.Contains(r.Borne, region)
}

// Worst is the highest grade of a stressor over the moments of the row; 0 when it has none.
func (r *Row) Worst(stressor string) int {
	worst := 0
	for _, s := range r.Stressors {
		if s.Stressor == stressor {
			worst = max(worst, s.Grade)
		}
	}
	return worst
}

// Arc finds the arc of a motion; nil when the row has none.
func (r *Row) Arc(motion string) *Arc {
	for i := range r.Arcs {
		if r.Arcs[i].Motion == motion {
			return &r.Arcs[i]
		}
	}
	return nil
}

// Load finds what the row asks of a region; nil when it asks nothing.
func (r *Row) Load(region string) *RegionLoad {
	for i := range r.Regions {
		if r.Regions[i].Region == region {
			return &r.Regions[i]
		}
	}
	return nil
}

// Drill is one exercise. All ids are of the vocabulary.
type Drill struct {
	Index             int // place in the catalogue, in order of id
	At                authored.Pos
	ID                string
	Name              string
	VariantOf         string
	Family            string // id of the root of its variants
	Changes           []string
	Sides             Sides
	Pattern           *Pattern
	Planes            []string
	Tool              *Tool
	Station           string
	Kit               []string
	Position          string
	BearsOn           string // the side that bears in the position: same, other or both; or none
	Purpose           string // prepare, train, finish
	Unit              string // reps, seconds, metres
	Speed             string // hold, slow, fast, impact
	Muscles           Muscles
	Rows              []Row
	Main              RegionLoad // the first region it drives: what the drill is for
	Drives            []int      // places of the regions that the first row drives, in their order
	Contraindications []string
	Load              Load
	Grip              Grip
	BenchDeg          *float64
	ElbowPath         string
	Scapula           string
	Spine             Spine
	TrunkSupport      string
	Balance           int
	Skill             int
	BreathHold        int
	FallRisk          int
	EasyToBail        bool
	NeedsSpotter      bool
	AloneOK           bool
	FloorTransfer     bool
	LongSupine        bool
	SetupSeconds      int
	SecondsPerRep     int
	Cues              []string
	StopIf            string
	RegressTo         []string
	ProgressTo        []string
	TagsFrom          TagsFrom
	Overhead          bool // an arc goes above overhead_above of its motion
	Loads             bool // something is lifted, held or carried: not mere motion
}

// LoadType is the load type of the drill's tool.
func (d *Drill) LoadType() string { return d.Tool.LoadType }

// Lifted is true when the drill's load can be set in kilograms.
func (d *Drill) Lifted() bool { return d.Load.StepKg > 0 && d.Load.FloorKg > 0 }

// FreeWeight is true when the drill's load is a weight in kilograms that says the same wherever it is lifted: that of a bar or a dumbbell,
// not what a machine, a cable or a band is set to.
func (d *Drill) FreeWeight() bool { return d.Lifted() && d.Tool.LoadType == "free_weight" }

// rawDrill is a drill as its author writes it, after inheritance.
type rawDrill struct {
	At        authored.Pos
	written   *yaml.Node
	ID        authored.Text   `yaml:"id" need:"yes" id:"kebab" doc:"The id that rules and client files use: words in lower case joined by hyphens."`
	Name      string          `yaml:"name" doc:"The name as people read it."`
	Use       []authored.Text `yaml:"use" doc:"Blocks whose fields the drill takes over, in their order."`
	VariantOf authored.Text   `yaml:"variant_of" suggest:"drill" doc:"The drill that this one changes: it takes over all fields but id, name and changes."`
	Changes   []authored.Text `yaml:"changes" of:"change" doc:"What a variant changes of the drill it comes from."`

	Sides    authored.Text   `yaml:"sides" of:"sides" doc:"Works one side, both at once, or the midline."`
	Pattern  authored.Text   `yaml:"pattern" of:"pattern" doc:"What the drill does as a whole."`
	Planes   []authored.Text `yaml:"planes" of:"plane" items:"1.." doc:"The planes of the movement."`
	Tool     authored.Text   `yaml:"tool" of:"tool" doc:"What carries the load."`
	Station  authored.Text   `yaml:"station" of:"station" doc:"Where in the gym it is done."`
	Kit      []authored.Text `yaml:"kit" of:"kit" doc:"What must be at hand."`
	Position authored.Text   `yaml:"position" of:"position" doc:"The position of the body."`
	BearsOn  authored.Text   `yaml:"bears_on" of:"bearing side" default:"both" doc:"Of a one-side drill: the side that bears in its position; both unless stated. Of any: none where it adds nothing to standing or sitting still."`
	Purpose  authored.Text   `yaml:"purpose" of:"purpose" default:"train" doc:"What it is for in a session; train unless stated."`
	Unit     authored.Text   `yaml:"unit" of:"unit" default:"reps" doc:"What is counted; reps unless stated."`
	Speed    authored.Text   `yaml:"speed" of:"speed" default:"slow" doc:"How fast it moves; slow unless stated."`
	Muscles  rawMuscles      `yaml:"muscles" doc:"Muscles by their role. Each has one."`

	Regions   authored.Entries[authored.Several[rawRegion]]                   `yaml:"regions" keys:"region" doc:"What each region does: its rung on the ladder and its role. The first that drives is what the drill is for."`
	Arcs      authored.Entries[authored.Several[rawArc]]                      `yaml:"arcs" keys:"motion" doc:"The part of each motion that is travelled, in degrees signed from the anatomical zero."`
	Stressors authored.Entries[authored.Entries[authored.Several[rawStress]]] `yaml:"stressors" keys:"moment stressor" range:"0..3" doc:"Positions and actions known to provoke, by moment, each graded: 1 mild, 2 clear, 3 as much as the position allows."`

	Contraindications []authored.Text `yaml:"contraindications" of:"condition" doc:"Conditions that rule it out. A test holds them against the rules on that condition."`

	Load         rawLoad       `yaml:"load" doc:"How heavy it can be made."`
	Grip         rawGrip       `yaml:"grip" doc:"How the hand holds."`
	BenchDeg     *float64      `yaml:"bench_deg" doc:"Angle of the bench in degrees from flat."`
	ElbowPath    authored.Text `yaml:"elbow_path" of:"elbow path" doc:"How far the elbows go out."`
	Scapula      authored.Text `yaml:"scapula" of:"scapula" doc:"Whether the shoulder blade is free to move."`
	Spine        Spine         `yaml:"spine" doc:"What it asks of the back."`
	TrunkSupport authored.Text `yaml:"trunk_support" of:"trunk support" default:"none" doc:"How much of the trunk is supported; none unless stated."`

	Balance       int   `yaml:"balance" range:"0..3" doc:"How hard it is to keep balance, 0 to 3."`
	Skill         int   `yaml:"skill" range:"0..3" doc:"How much skill it takes, 0 to 3."`
	BreathHold    int   `yaml:"breath_hold" range:"0..3" doc:"How much it tempts to hold the breath, 0 to 3."`
	FallRisk      int   `yaml:"fall_risk" range:"0..3" doc:"How likely and how far a fall is, 0 to 3."`
	EasyToBail    *bool `yaml:"easy_to_bail" default:"true" doc:"Whether the load can be dropped or left at once; true unless stated."`
	NeedsSpotter  bool  `yaml:"needs_spotter" doc:"Whether someone must stand by."`
	AloneOK       *bool `yaml:"alone_ok" default:"true" doc:"Whether it may be done without anyone watching; true unless stated."`
	FloorTransfer bool  `yaml:"floor_transfer" doc:"Whether one must get down to the floor and up again."`
	LongSupine    bool  `yaml:"long_supine" doc:"Whether one lies on the back for long."`
	SetupSeconds  int   `yaml:"setup_seconds" doc:"Seconds to set up."`
	SecondsPerRep int   `yaml:"seconds_per_rep" default:"4" doc:"Seconds of a repetition; 4 unless stated."`

	Cues       []string        `yaml:"cues" items:"1..3" doc:"What the coach says: one to three short sentences."`
	StopIf     string          `yaml:"stop_if" doc:"When this drill must end, beyond the usual stop rules."`
	RegressTo  []authored.Text `yaml:"regress_to" suggest:"drill" doc:"Easier drills."`
	ProgressTo []authored.Text `yaml:"progress_to" suggest:"drill" doc:"Harder drills."`
	TagsFrom   rawTags         `yaml:"tags_from" doc:"Where these tags come from."`
}

type rawMuscles struct {
	Prime  []authored.Text `yaml:"prime" of:"muscle" doc:"Prime movers."`
	Assist []authored.Text `yaml:"assist" of:"muscle" doc:"Muscles that help."`
	Steady []authored.Text `yaml:"steady" of:"muscle" doc:"Muscles that hold still."`
}

type rawRegion struct {
	At   authored.Pos
	Rung authored.Text `yaml:"rung" need:"yes" of:"rung" doc:"The rung of the region's ladder that this work stands on."`
	Role authored.Text `yaml:"role" of:"role" doc:"Drives the movement, supports it, or braces."`
	On   authored.Text `yaml:"on" of:"on" doc:"Of a one-side drill: the working side, the other, or both; the working side unless stated."`
}

type rawLoad struct {
	At        authored.Pos
	FloorKg   float64       `yaml:"floor_kg" doc:"The least load in kilograms; of a pair of dumbbells, that of one."`
	StepKg    float64       `yaml:"step_kg" doc:"The least step between two loads, in kilograms."`
	Ceiling   authored.Text `yaml:"ceiling" of:"load ceiling" doc:"How heavy it can get."`
	BodyShare float64       `yaml:"body_share" range:"0..110" doc:"The share of body mass that is moved, in percent."`
}

type rawGrip struct {
	At     authored.Pos
	Hand   authored.Text `yaml:"hand" of:"hand" doc:"How the hand is turned."`
	Width  authored.Text `yaml:"width" of:"grip width" doc:"How far apart the hands are."`
	Effort int           `yaml:"effort" range:"0..3" doc:"How hard it is to hold on, 0 to 3."`
}

type rawTags struct {
	At   authored.Pos
	Kind authored.Text                   `yaml:"kind" of:"kind of source" doc:"A study, common practice, or judged by the author."`
	Cite authored.Several[authored.Text] `yaml:"cite" doc:"The study: the id of an entry under sources, or in words; or several."`
	Note string                          `yaml:"note" doc:"What is unsure."`
}
