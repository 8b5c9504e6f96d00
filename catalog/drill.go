package catalog

import "go.yaml.in/yaml/v3"

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
	FloorKg   float64 `yaml:"floor_kg"`
	StepKg    float64 `yaml:"step_kg"`
	Ceiling   string  `yaml:"ceiling"` // light, medium, heavy
	BodyShare float64 `yaml:"body_share"`
}

// Grip is how the hand holds.
type Grip struct {
	Hand   string `yaml:"hand"`
	Width  string `yaml:"width"`
	Effort int    `yaml:"effort"` // 0–3
}

// Spine is what the drill asks of the back, each 0–3.
type Spine struct {
	Compression int `yaml:"compression"`
	Flexed      int `yaml:"flexed"`
	Extended    int `yaml:"extended"`
	Twist       int `yaml:"twist"`
}

// Muscles by role.
type Muscles struct {
	Prime  []string `yaml:"prime"`
	Assist []string `yaml:"assist"`
	Steady []string `yaml:"steady"`
}

// TagsFrom says where the tags of a drill come from.
type TagsFrom struct {
	Kind string `yaml:"kind"` // study, common_practice, judged
	Cite string `yaml:"cite"`
	Note string `yaml:"note"`
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
	At                Pos
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

// rawDrill is a drill as its author writes it, after inheritance.
type rawDrill struct {
	At                Pos
	written           *yaml.Node
	ID                Text                                 `yaml:"id"`
	Name              string                               `yaml:"name"`
	Use               []Text                               `yaml:"use"`
	VariantOf         Text                                 `yaml:"variant_of"`
	Changes           []Text                               `yaml:"changes"`
	Sides             Text                                 `yaml:"sides"`
	Pattern           Text                                 `yaml:"pattern"`
	Planes            []Text                               `yaml:"planes"`
	Tool              Text                                 `yaml:"tool"`
	Station           Text                                 `yaml:"station"`
	Kit               []Text                               `yaml:"kit"`
	Position          Text                                 `yaml:"position"`
	Purpose           Text                                 `yaml:"purpose"`
	Unit              Text                                 `yaml:"unit"`
	Speed             Text                                 `yaml:"speed"`
	Muscles           rawMuscles                           `yaml:"muscles"`
	Regions           Entries[Several[rawRegion]]          `yaml:"regions"`
	Arcs              Entries[Several[rawArc]]             `yaml:"arcs"`
	Stressors         Entries[Entries[Several[rawStress]]] `yaml:"stressors"`
	Contraindications []Text                               `yaml:"contraindications"`
	Load              rawLoad                              `yaml:"load"`
	Grip              rawGrip                              `yaml:"grip"`
	BenchDeg          *float64                             `yaml:"bench_deg"`
	ElbowPath         Text                                 `yaml:"elbow_path"`
	Scapula           Text                                 `yaml:"scapula"`
	Spine             Spine                                `yaml:"spine"`
	TrunkSupport      Text                                 `yaml:"trunk_support"`
	Balance           int                                  `yaml:"balance"`
	Skill             int                                  `yaml:"skill"`
	BreathHold        int                                  `yaml:"breath_hold"`
	FallRisk          int                                  `yaml:"fall_risk"`
	EasyToBail        *bool                                `yaml:"easy_to_bail"`
	NeedsSpotter      bool                                 `yaml:"needs_spotter"`
	AloneOK           *bool                                `yaml:"alone_ok"`
	FloorTransfer     bool                                 `yaml:"floor_transfer"`
	LongSupine        bool                                 `yaml:"long_supine"`
	SetupSeconds      int                                  `yaml:"setup_seconds"`
	SecondsPerRep     int                                  `yaml:"seconds_per_rep"`
	Cues              []string                             `yaml:"cues"`
	StopIf            string                               `yaml:"stop_if"`
	RegressTo         []Text                               `yaml:"regress_to"`
	ProgressTo        []Text                               `yaml:"progress_to"`
	TagsFrom          rawTags                              `yaml:"tags_from"`
}

type rawMuscles struct {
	Prime  []Text `yaml:"prime"`
	Assist []Text `yaml:"assist"`
	Steady []Text `yaml:"steady"`
}

type rawRegion struct {
	At   Pos
	Rung Text `yaml:"rung"`
	Role Text `yaml:"role"`
	On   Text `yaml:"on"`
}

type rawLoad struct {
	At        Pos
	FloorKg   float64 `yaml:"floor_kg"`
	StepKg    float64 `yaml:"step_kg"`
	Ceiling   Text    `yaml:"ceiling"`
	BodyShare float64 `yaml:"body_share"`
}

type rawGrip struct {
	At     Pos
	Hand   Text `yaml:"hand"`
	Width  Text `yaml:"width"`
	Effort int  `yaml:"effort"`
}

type rawTags struct {
	At   Pos
	Kind Text   `yaml:"kind"`
	Cite string `yaml:"cite"`
	Note string `yaml:"note"`
}
