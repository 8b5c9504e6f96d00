package rules

import (
	"slices"
	"strings"

	"drillwright/catalog"
	"drillwright/rules/client"
	"drillwright/rules/condition"
)

// Effect is what a rule does when it holds.
type Effect string

// The effects. Dose rules stand in a list of their own.
const (
	Refer   Effect = "refer"
	Bar     Effect = "bar"
	Caution Effect = "caution"
	Favour  Effect = "favour"
	Dosing  Effect = "dose"
	Adjust  Effect = "adjust"
	Advise  Effect = "advise" // a caution of the answer as a whole
)

// PainCeiling is the most pain, of 10, that any dose may allow. It stands outside the book.
const PainCeiling = 5

// Urgencies of a referral, the most urgent first.
var Urgencies = []string{"emergency", "today", "soon", "before_loading"}

// Variables are what an adjust rule may change.
var Variables = []string{"sets", "reps", "hold_seconds", "rest_seconds", "effort", "load_percent", "pain_ceiling", "per_week"}

// Change is what an adjust rule does to one variable.
type Change struct {
	Times *float64 `yaml:"times" limits:"0,10"`
	Add   *float64 `yaml:"add" limits:"-1000,1000"`
	Set   *float64 `yaml:"set" limits:"0,1000"`
	Cap   *float64 `yaml:"cap" limits:"0,1000"`
}

// Dose is how much of a drill. Ranges are low and high; a hold takes the place of repetitions.
type Dose struct {
	Sets        int    `yaml:"sets" limits:"1,20"`
	Reps        []int  `yaml:"reps" limits:"1,200"`
	HoldSeconds []int  `yaml:"hold_seconds" limits:"1,1800"`
	Metres      int    `yaml:"metres" limits:"1,1000"`
	Tempo       string `yaml:"tempo"` // seconds down, held, up
	RestSeconds int    `yaml:"rest_seconds" limits:"0,900"`
	Effort      []int  `yaml:"effort" limits:"0,10"` // 10 less the repetitions left
	PerWeek     int    `yaml:"per_week" limits:"0,14"`
	PerDay      int    `yaml:"per_day" limits:"0,10"`
	PainCeiling int    `yaml:"pain_ceiling" limits:"0,5"` // see PainCeiling
	Note        string `yaml:"note"`
}

// Rule is one editable decision.
type Rule struct {
	At      catalog.Pos
	ID      string
	Effect  Effect
	When    *condition.Node
	Because *Sentence
	// Untested is said instead when a measure that the rule needs was not taken.
	Untested *Sentence
	Source   client.Source

	Urgency string          // of refer
	Scope   string          // of refer: person, region, class
	Region  string          // of refer: the region, when when names none
	Class   *condition.Node // of refer: the drills of the class
	Points  int             // of favour
	Adjust  []catalog.Entry[Change]
	Dose    Dose
	// Floor marks rules that stand outside the book.
	Floor bool
	// CodeText is when as its author wrote it.
	CodeText string

	domain     *condition.Node    // the unrolled any that names a witness; nil when there is none
	conditions bool               // reads client.conditions: a clearance may cover it
	kit        bool               // reads what is at hand
	sided      bool               // reads what may differ between the sides
	gate       *condition.Node    // what it asks of the client alone; nil when nothing
	place      int                // among the judged rules
	oneRow     bool               // only the working side of a drill counts
	ofClient   bool               // its texts say nothing of the drill
	told       [][]*condition.Ref // see tells
	constant   *Reason            // of what is always there and always says the same
}

// prepare works out what judging asks of a rule again and again. The rule was read without a mistake.
func (r *Rule) prepare() {
	r.oneRow = r.Effect == Favour || r.Effect == Dosing
	r.conditions, r.kit = readsConditions(r.When), readsKit(r.When)
	r.sided = r.When.Reads(func(ref *condition.Ref) bool { return ref.Path != nil && ref.Path.Sided })
	r.gate, r.told = r.When.WithoutDrill(), r.tells()
	if r.Effect == Advise && r.When.Op == condition.Always && r.Because.whole != "" {
		r.constant = &Reason{Rule: r.ID, Effect: strings.ToUpper(string(r.Effect)), Source: r.Source.Text(), Standing: Holds, Words: r.Because.whole}
	}
	r.ofClient = !r.Because.reads(condition.OfDrill) && (r.Untested == nil || !r.Untested.reads(condition.OfDrill))
}

// Tightens is true for effects that the merely possible sets off.
func (r *Rule) Tightens() bool {
	return r.Effect == Refer || r.Effect == Bar || r.Effect == Caution || r.Effect == Advise
}

type rawRule struct {
	At       catalog.Pos
	ID       catalog.Text            `yaml:"id"`
	Effect   catalog.Text            `yaml:"effect"`
	When     catalog.Text            `yaml:"when"`
	Because  catalog.Text            `yaml:"because"`
	Untested catalog.Text            `yaml:"untested"`
	Source   rawSource               `yaml:"source"`
	Urgency  catalog.Text            `yaml:"urgency"`
	Scope    catalog.Text            `yaml:"scope"`
	Region   catalog.Text            `yaml:"region"`
	Drills   catalog.Text            `yaml:"drills"`
	Points   *int                    `yaml:"points" limits:"-100,100"` // a hundred is more than all parts of a substitute together
	Adjust   catalog.Entries[Change] `yaml:"adjust"`
}

type rawDose struct {
	At      catalog.Pos
	ID      catalog.Text `yaml:"id"`
	When    catalog.Text `yaml:"when"`
	Because catalog.Text `yaml:"because"`
	Source  rawSource    `yaml:"source"`
	Dose    Dose         `yaml:"dose"`
}

type rawSource struct {
	At   catalog.Pos
	Kind catalog.Text `yaml:"kind"`
	Cite string       `yaml:"cite"`
	Note string       `yaml:"note"`
}

// Slot is one place, or several alike, of a session plan.
type Slot struct {
	At      catalog.Pos
	ID      string       `yaml:"id"`
	Name    string       `yaml:"name"`
	Purpose string       `yaml:"purpose"` // prepare, train, finish
	Count   int          `yaml:"count" limits:"1,10"`
	Where   catalog.Text `yaml:"where"`
	// Optional slots may stay empty.
	Optional bool `yaml:"optional"`

	Condition *condition.Node
}

// PlanLimit is a sum over the drills of a session that must stay within bounds.
type PlanLimit struct {
	At      catalog.Pos
	ID      string       `yaml:"id"`
	Name    string       `yaml:"name"`
	Total   catalog.Text `yaml:"total"`
	AtLeast catalog.Text `yaml:"at_least"`
	AtMost  catalog.Text `yaml:"at_most"`

	Sum, Low, High *condition.Num // Low and High may be nil
}

// Plan is the shape of a session.
type Plan struct {
	At      catalog.Pos
	ID      string `yaml:"id"`
	Name    string `yaml:"name"`
	Minutes int    `yaml:"minutes" limits:"1,600"`
	// Regions are those whose complaint makes this the plan where none is asked for; a plan without any is for everyone.
	Regions []catalog.Text `yaml:"regions"`
	Slots   []Slot         `yaml:"slots"`
	Limits  []PlanLimit    `yaml:"limits"`
	Source  rawSource      `yaml:"source"`
}

// Serves is true when a complaint of the region makes this the usual plan.
func (p *Plan) Serves(region string) bool {
	return slices.ContainsFunc(p.Regions, func(t catalog.Text) bool { return t.Value == region })
}

// Substitution holds the numbers by which substitutes are ranked.
type Substitution struct {
	At      catalog.Pos
	Weights struct {
		Muscles  int `yaml:"muscles" limits:"0,1000"`
		Pattern  int `yaml:"pattern" limits:"0,1000"`
		Provoker int `yaml:"provoker" limits:"0,1000"`
		Load     int `yaml:"load" limits:"0,1000"`
	} `yaml:"weights"`
	// RemovedFrom is the intensity from which a provoker must go down to grade 1; below it one grade is enough.
	RemovedFrom float64 `yaml:"removed_from_intensity"`
	KeepsMost   int     `yaml:"keeps_most" limits:"0,100"`
	KeepsSome   int     `yaml:"keeps_some" limits:"0,100"`
	PerFamily   int     `yaml:"per_family" limits:"0,100"`
	// BodySharePercent is how much of the lift's share of body mass a drill must move to count as heavy as it.
	BodySharePercent float64 `yaml:"body_share_percent"`
	// GoodSideOnly is what a drill loses in a session when the limiting side can't do it today.
	GoodSideOnly int `yaml:"good_side_only" limits:"0,1000"`
	Limit        int `yaml:"limit" limits:"1,100"`
	// CeilingKg is the working load, in kilograms, that each load ceiling reaches.
	CeilingKg struct {
		Light  float64 `yaml:"light"`
		Medium float64 `yaml:"medium"`
	} `yaml:"ceiling_kg"`
	TestSet struct {
		Reps        []int `yaml:"reps"`
		LoadPercent int   `yaml:"load_percent"`
	} `yaml:"test_set"`
	Source rawSource `yaml:"source"`
}

// Advice is a caution of the answer as a whole: always there, or when its condition may hold.
type rawAdvice struct {
	At     catalog.Pos
	ID     catalog.Text `yaml:"id"`
	When   catalog.Text `yaml:"when"`
	Text   catalog.Text `yaml:"text"`
	Source rawSource    `yaml:"source"`
}

// About names who answers for an edition.
type About struct {
	Name       string `yaml:"name"`
	ReviewedBy string `yaml:"reviewed_by"`
}

// Book is the rulebook after reading.
type Book struct {
	About   About
	Rules   []*Rule // floor rules first, then by id
	Doses   []*Rule // in their order
	Advices []*Rule
	Plans   []*Plan
	Substitution

	of map[Effect][]*Rule
}

// Of lists the rules of one effect in the order of the book.
func (b *Book) Of(effect Effect) []*Rule { return b.of[effect] }

// Dose finds a dose rule; nil when there is none.
func (b *Book) Dose(id string) *Rule {
	for _, r := range b.Doses {
		if r.ID == id {
			return r
		}
	}
	return nil
}
