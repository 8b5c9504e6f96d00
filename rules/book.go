package rules

import (
	"reflect"
	"slices"
	"strings"

	"drillwright/catalog/authored"
	"drillwright/rules/language"
	"drillwright/rules/predicate"
)

// PainCeiling is the most pain, of 10, that any dose may allow. It stands outside the book.
const PainCeiling = 5

// Urgencies of a referral, the most urgent first.
var Urgencies = []string{"emergency", "today", "soon", "before_loading"}

// Variables are what an adjust rule may change.
var Variables = []string{"sets", "reps", "hold_seconds", "rest_seconds", "effort", "load_percent", "pain_ceiling", "per_week"}

// Change is what an adjust rule does to one variable.
type Change struct {
	Times *float64 `yaml:"times" range:"0..10" doc:"Multiply by this."`
	Add   *float64 `yaml:"add" range:"-1000..1000" doc:"Add this; less than 0 takes away."`
	Set   *float64 `yaml:"set" range:"0..1000" doc:"Set to this."`
	Cap   *float64 `yaml:"cap" range:"0..1000" doc:"No more than this."`
}

// Adjustment is a change of one variable, by its index in Variables.
type Adjustment struct {
	Variable int
	Change
}

// Dose is how much of a drill. Ranges are low and high; a hold takes the index of repetitions.
type Dose struct {
	Sets        int    `yaml:"sets" need:"yes" range:"1..20" doc:"Sets."`
	Reps        []int  `yaml:"reps" items:"2..2" range:"1..200" doc:"Repetitions: the least and the most."`
	HoldSeconds []int  `yaml:"hold_seconds" items:"2..2" range:"1..1800" doc:"Seconds held: the least and the most."`
	Metres      int    `yaml:"metres" range:"1..1000" doc:"Metres, of a carry."`
	Tempo       string `yaml:"tempo" doc:"Seconds down, held, up, as 2-1-2."` // seconds down, held, up
	RestSeconds int    `yaml:"rest_seconds" range:"0..900" doc:"Seconds of rest between sets."`
	// 10 less the repetitions left
	Effort      []int  `yaml:"effort" need:"yes" items:"2..2" range:"0..10" doc:"10 less the repetitions left: the least and the most."`
	PerWeek     int    `yaml:"per_week" range:"0..14" doc:"Days a week."`
	PerDay      int    `yaml:"per_day" range:"0..10" doc:"Times a day."`
	PainCeiling int    `yaml:"pain_ceiling" range:"0..5" doc:"The most pain, of 10, that is let pass; never above 5."`
	Note        string `yaml:"note" doc:"What is said with the dose."`
}

// Rule is one editable decision.
type Rule struct {
	// What judging reads of every rule stands in one line of the cache.
	When            *predicate.Node
	Effect          Effect
	Points          int             // of favour
	index           int             // among the judged rules, or those that are raised
	Domain          *predicate.Node // the unrolled any that names a witness; nil when there is none
	ReadsConditions bool            // reads client.conditions: a clearance may cover it
	kit             bool            // reads what is at hand
	Sided           bool            // reads what may differ between the sides
	oneRow          bool            // only the working side of a drill counts
	ofClient        bool            // its texts say nothing of the drill

	At      authored.Pos
	ID      string
	Because *language.Sentence
	// Untested is said instead when a measure that the rule needs was not taken.
	Untested *language.Sentence
	Source   Source

	Urgency string          // of refer
	Scope   string          // of refer: person, region, class
	Region  string          // of refer: the region, when when names none
	class   *predicate.Node // of refer: the drills of the class
	Adjust  []Adjustment
	Dose    Dose
	// Emergency, of a caution of the answer: also, only, or empty for none in an emergency.
	Emergency string
	// Treats, of favour: what it favours treats a condition that was named.
	Treats bool
	// Floor marks rules that stand outside the book.
	Floor bool
	// CodeText is when as its author wrote it.
	CodeText string

	// WhoDecides says what stands behind a bar that neither training nor kit opens.
	WhoDecides string

	written  authored.Text      // when, as it stands in the file
	cited    [][]*predicate.Ref // see tells
	constant *Reason            // of what is always there and always says the same
}

// prepare works out what judging asks of a rule again and again. The rule was read without a mistake.
func (r *Rule) prepare() {
	r.oneRow = r.Effect.trait().oneRow
	r.ReadsConditions, r.kit = readsConditions(r.When), readsKit(r.When)
	r.Sided = r.When.Reads(func(ref *predicate.Ref) bool { return ref.Path != nil && ref.Path.Sided })
	r.cited = r.citedRefs()
	if r.Effect == Bar {
		r.WhoDecides = r.whoDecides()
	}
	if r.Effect == Advise && r.When.Op == predicate.Always && r.Because.Whole != "" {
		r.constant = &Reason{Rule: r.ID, Effect: strings.ToUpper(string(r.Effect)), Source: r.Source.Text, Standing: Holds,
			Words: r.Because.Whole}
	}
	r.ofClient = !r.Because.Reads(predicate.OfDrill) && (r.Untested == nil || !r.Untested.Reads(predicate.OfDrill))
}

// Tightens is true for effects that the merely possible sets off.
func (r *Rule) Tightens() bool { t := r.Effect.trait(); return t != nil && t.tightens }

// AboutDrills is true for effects that are judged on every drill; the others are about the person.
func (r *Rule) AboutDrills() bool { t := r.Effect.trait(); return t != nil && t.aboutDrills }

// WhenAt is where a letter of the condition stands in its author's file.
func (r *Rule) WhenAt(letter int) authored.Pos {
	if r.written.Value != "" {
		return r.written.PosOf(letter)
	}
	return r.At
}

type rawRule struct {
	At       authored.Pos
	ID       authored.Text            `yaml:"id" need:"yes" id:"kebab" doc:"Words in lower case joined by hyphens, given once in the book."`
	Effect   authored.Text            `yaml:"effect" need:"yes" of:"effect" doc:"What the rule does when it holds."`
	When     authored.Text            `yaml:"when" need:"yes" type:"string" doc:"The condition, in the language of the rules."`
	Because  authored.Text            `yaml:"because" need:"yes" doc:"A sentence that says why, with the figures in braces."`
	Untested authored.Text            `yaml:"untested" doc:"What is said instead while a measure that the rule needs was not taken."`
	Source   rawSource                `yaml:"source" need:"yes" doc:"Where the rule comes from."`
	Urgency  authored.Text            `yaml:"urgency" of:"urgency" doc:"Of a refer rule: how soon someone should be seen."`
	Scope    authored.Text            `yaml:"scope" of:"scope" doc:"Of a refer rule: the person, a region, or a class of drills."`
	Region   authored.Text            `yaml:"region" of:"region" doc:"Of a refer rule: the region, where when names none."`
	Drills   authored.Text            `yaml:"drills" type:"string" doc:"Of a refer rule: the class, a condition over drill."`
	Points   *int                     `yaml:"points" range:"-100..100" doc:"Of a favour rule: how many points it gives or takes."`
	Treats   *bool                    `yaml:"treats" doc:"Of a favour rule: true where what it favours treats a named condition; a substitution then shows some of it."`
	Adjust   authored.Entries[Change] `yaml:"adjust" keys:"variable" doc:"Of an adjust rule: what it does to each variable of the dose."`
}

// has is whether a rule says something under a key.
func (r *rawRule) has(key string) bool {
	v := reflect.ValueOf(r).Elem()
	for i := range v.NumField() {
		if v.Type().Field(i).Tag.Get("yaml") == key {
			if text, ok := v.Field(i).Interface().(authored.Text); ok {
				return text.Value != ""
			}
			return v.Field(i).Kind() == reflect.Slice && v.Field(i).Len() > 0 || v.Field(i).Kind() == reflect.Pointer && !v.Field(i).IsNil()
		}
	}
	return false
}

type rawDose struct {
	At      authored.Pos
	ID      authored.Text `yaml:"id" need:"yes" id:"kebab" doc:"Words in lower case joined by hyphens, given once in the book."`
	When    authored.Text `yaml:"when" need:"yes" type:"string" doc:"The condition. The first that is sure ends the list."`
	Because authored.Text `yaml:"because" need:"yes" doc:"A sentence that says why."`
	Source  rawSource     `yaml:"source" need:"yes" doc:"Where the dose comes from."`
	Dose    Dose          `yaml:"dose" need:"yes" doc:"How much."`
}

type rawSource struct {
	At   authored.Pos
	Kind authored.Text                   `yaml:"kind" need:"yes" of:"source" doc:"Published, common practice, from memory, or judged by the author."`
	Cite authored.Several[authored.Text] `yaml:"cite" doc:"The publication: the id of an entry under sources, or several. Where nobody is referred it may be written out."`
	Note string                          `yaml:"note" doc:"What is unsure."`
}

// Slot is one place, or several alike, of a session plan.
type Slot struct {
	At      authored.Pos
	ID      string        `yaml:"id" doc:"The id of the slot."`
	Name    string        `yaml:"name" doc:"The slot as people read it."`
	Purpose string        `yaml:"purpose" need:"yes" of:"purpose" doc:"The part of the session it belongs to."` // prepare, train, finish
	Count   int           `yaml:"count" range:"1..10" doc:"How many drills it takes; 1 unless stated."`
	Where   authored.Text `yaml:"where" need:"yes" type:"string" doc:"Which drills may stand here: a condition over drill."`
	// Optional slots may stay empty.
	Optional bool `yaml:"optional" doc:"True when it may stay empty."`

	Predicate *predicate.Node
}

// PlanLimit is a sum over the drills of a session that must stay within bounds.
type PlanLimit struct {
	At      authored.Pos
	ID      string        `yaml:"id" doc:"The id of the limit."`
	Name    string        `yaml:"name" doc:"The limit as people read it."`
	Total   authored.Text `yaml:"total" type:"string number" doc:"What each drill adds: an expression over drill and dose."`
	AtLeast authored.Text `yaml:"at_least" type:"string number" doc:"The least that the sum may be: a number, or an expression over request."`
	AtMost  authored.Text `yaml:"at_most" type:"string number" doc:"The most that the sum may be: a number, or an expression over request."`

	Sum, Low, High *predicate.Num // Low and High may be nil
}

// Plan is the shape of a session.
type Plan struct {
	At      authored.Pos
	ID      string `yaml:"id" need:"yes" id:"kebab" doc:"Words in lower case joined by hyphens."`
	Name    string `yaml:"name" doc:"The plan as people read it."`
	Minutes int    `yaml:"minutes" need:"yes" range:"1..600" doc:"How long the session is unless the request says."`
	// Regions are those whose complaint makes this the plan where none is asked for; a plan without any is for everyone.
	Regions []authored.Text `yaml:"regions" of:"region" doc:"Regions whose complaint makes this the plan where none is asked for; none: for everyone."`
	// OnRequest keeps it from being taken where none is asked for.
	OnRequest bool        `yaml:"on_request" doc:"True for a plan that is taken only where it is asked for by its id."`
	Slots     []Slot      `yaml:"slots" need:"yes" items:"1.." doc:"The places of the session, in order."`
	Limits    []PlanLimit `yaml:"limits" items:"..8" doc:"Sums over the session that must stay within bounds."`
	Source    rawSource   `yaml:"source" need:"yes" doc:"Where the plan comes from."`
}

// Serves is true when a complaint of the region makes this the usual plan.
func (p *Plan) Serves(region string) bool {
	return !p.OnRequest && slices.ContainsFunc(p.Regions, func(t authored.Text) bool { return t.Value == region })
}

// Substitution holds the numbers by which substitutes are ranked.
type Substitution struct {
	At      authored.Pos
	Weights struct {
		Muscles  int `yaml:"muscles" range:"0..1000" doc:"For the same muscles."`
		Pattern  int `yaml:"pattern" range:"0..1000" doc:"For the same pattern."`
		Provoker int `yaml:"provoker" range:"0..1000" doc:"For taking away what provokes."`
		Load     int `yaml:"load" range:"0..1000" doc:"For reaching the working load."`
	} `yaml:"weights" doc:"The most points for what a drill keeps and takes away."`
	// RemovedFrom is the intensity from which a provoker must go down to grade 1; below it one grade is enough.
	RemovedFrom float64 `yaml:"removed_from_intensity" doc:"From this intensity what provokes must go down to grade 1; below it one grade is enough."`
	KeepsMost   int     `yaml:"keeps_most" range:"0..100" doc:"From this share, in percent, a drill keeps most."`
	KeepsSome   int     `yaml:"keeps_some" range:"0..100" doc:"From this share, in percent, a drill keeps some."`
	PerFamily   int     `yaml:"per_family" range:"0..100" doc:"How many drills of one family a tier may hold."`
	// WaitingCosts is what a drill loses that waits for a test, OpenAtLeast how many of those shown are open while any is.
	WaitingCosts int `yaml:"waiting_costs" range:"0..1000" doc:"Points lost by what waits for a test."`
	OpenAtLeast  int `yaml:"open_at_least" range:"0..100" doc:"How many of those shown are open today, while any that is near the lift and unlike the others is."`
	// TreatsAtLeast is how many of those shown treat a condition that was named, while any does.
	TreatsAtLeast int `yaml:"treats_at_least" range:"0..100" doc:"How many of those shown treat a named condition, while any may be trained."`
	// NearEnough is how many near the lift leave no room for training elsewhere, ElsewhereAtMost how much of that is shown: 3 and 2 where a
	// book says neither.
	NearEnough      int `yaml:"near_enough" range:"0..100" doc:"From how many near the lift nothing elsewhere is shown; 3 where neither this nor elsewhere_at_most is given."`
	ElsewhereAtMost int `yaml:"elsewhere_at_most" range:"0..100" doc:"How many that train elsewhere are shown; 2 where neither this nor near_enough is given."`
	// BodySharePercent is how much of the lift's share of body mass a drill must move to count as heavy as it.
	BodySharePercent float64 `yaml:"body_share_percent" doc:"From this part of the lift's share of body mass, in percent, a drill counts as heavy as it."`
	// GoodSideOnly is what a drill loses in a session when the limiting side can't do it today.
	GoodSideOnly int `yaml:"good_side_only" range:"0..1000" doc:"Points lost in a session when the limiting side can't do it today."`
	Limit        int `yaml:"limit" need:"yes" range:"1..100" doc:"How many substitutes are given unless the request says."`
	// CeilingKg is the working load, in kilograms, that each load ceiling reaches.
	CeilingKg struct {
		Light  float64 `yaml:"light" doc:"A light drill's."`
		Medium float64 `yaml:"medium" doc:"A medium drill's."`
	} `yaml:"ceiling_kg" doc:"The working load that each load ceiling reaches, in kilograms."`
	TestSet struct {
		Reps        []int `yaml:"reps" doc:"Repetitions: the least and the most."`
		LoadPercent int   `yaml:"load_percent" doc:"Its load, in percent of the dose's."`
		Heavy       struct {
			FromPercent float64 `yaml:"from_percent" need:"yes" range:"1..100" doc:"The least load of the drill, in percent of the dose's, above which few repetitions are done."`
			Reps        int     `yaml:"reps" need:"yes" range:"1..100" doc:"How many."`
		} `yaml:"heavy" need:"yes" doc:"Where the lightest that there is is heavy."`
		Sore SoreTest `yaml:"sore" need:"yes" doc:"Of a drill that loads a sore region: when the set is passed, and what follows."`
	} `yaml:"test_set" doc:"The set that is done first."`
	Source rawSource `yaml:"source" need:"yes" doc:"Where the numbers come from."`
}

// SoreTest says when the test set of a drill that loads a sore region is passed, and what follows.
type SoreTest struct {
	PainLess          int `yaml:"pain_less" range:"0..10" doc:"How much less than the pain that was told it must hurt."`
	PainLeast         int `yaml:"pain_least" range:"0..10" doc:"Pain that is allowed however little was told, if the ceiling of the dose is no lower."`
	GoneWithinMinutes int `yaml:"gone_within_minutes" need:"yes" range:"1..60" doc:"Within how many minutes it must have gone back."`
	Fails             int `yaml:"fails" need:"yes" range:"1..10" doc:"After how many sets that fail nothing more is done for the region that day."`
	NewDrills         int `yaml:"new_drills" need:"yes" range:"1..10" doc:"How many new drills for the region a session has at most."`
	Sets              int `yaml:"sets" need:"yes" range:"1..10" doc:"Working sets of a new drill, at most."`
	Effort            int `yaml:"effort" need:"yes" range:"1..10" doc:"Their effort, at most."`
	RestDays          int `yaml:"rest_days" need:"yes" range:"1..30" doc:"Days between, until the next morning is scored."`
	NextDayAbove      int `yaml:"next_day_above" need:"yes" range:"1..10" doc:"Pain of the next morning, so far above usual, that ends the drill."`
	SettleHours       int `yaml:"settle_hours" need:"yes" range:"1..336" doc:"Hours to settle above which the drill ends."`
}

// Advice is a caution of the answer as a whole: always there, or when its condition may hold.
type rawAdvice struct {
	At   authored.Pos
	ID   authored.Text `yaml:"id" need:"yes" id:"kebab" doc:"Words in lower case joined by hyphens, given once in the book."`
	When authored.Text `yaml:"when" need:"yes" type:"string" doc:"When it is shown: \"true\" is always."`
	Text authored.Text `yaml:"text" need:"yes" doc:"What is said."`
	// An emergency leaves no room for advice on training.
	Emergency authored.Text `yaml:"emergency" of:"in emergency" doc:"also: said in an emergency too; only: said in nothing else. Left out: not in an emergency."`
	Source    rawSource     `yaml:"source" need:"yes" doc:"Where the caution comes from."`
}

// About names who answers for an edition.
type About struct {
	Name string `yaml:"name" doc:"The name of the edition."`
	// Format is the number of the format that the edition is written in; see rules.Format.
	Format int `yaml:"format" range:"1.." doc:"The number of the format that the edition is written in; left out: 1."`
	// Loosens lists the parts of the floor that the edition does without. It takes a reviewer.
	Loosens []Loosened `yaml:"loosens" doc:"Parts of the floor that the edition does without; it takes a token with the role review to publish, and every answer says so."`
	// ChurnBudget is the percent of a preview's answers that an edit may change before publishing it needs an explicit yes;
	// nil: any.
	ChurnBudget *float64 `yaml:"churn_budget_percent" doc:"Percent of a preview's answers that an edit may change before publishing needs an explicit yes, 0 to 100; left out: any."`
}

// Book is the rulebook after reading.
type Book struct {
	About   About
	Review  *Review // nil: nobody has reviewed it, and answers say so
	Rules   []*Rule // floor rules first, then by id
	Doses   []*Rule // in their order
	Advices []*Rule
	Plans   []*Plan
	Sources []*SourceEntry // by id
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
