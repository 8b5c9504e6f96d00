// Package selection answers the questions: what may be trained, what instead of a lift that hurts, what today,
// and why. Each question has its file. An answer follows from the edition and the request alone: the same two
// give the same answer, in the same order.
//
// It knows no wire, no database and no clock.
package selection

import (
	"drillwright/catalog"
	"drillwright/rules"
)

// Header is what every answer carries.
type Header struct {
	Screening Screening
	// Cautions of the answer as a whole. They are never cut.
	Cautions []Caution
	// Notes say what was not told and how it was taken.
	Notes []string
	// Presumed lists, in words, what was taken without measurement.
	Presumed []string
	// TellFirst is what would change the answer, were it told; nil when nothing would.
	TellFirst *TellFirst
	// MeasureNext are the measures whose normal value would open most drills, the best first.
	MeasureNext []Measurement
	Receipt     Receipt
}

// Caution is one line of the usual cautions.
type Caution struct {
	Rule        string
	Words       string
	NotRuledOut bool
}

// Measurement is something to measure, and how many drills a normal value would open.
type Measurement struct {
	Path  string
	Side  string // LEFT, RIGHT, or empty for a midline measure
	Words string
	How   string
	Opens int
}

// Receipt identifies an answer: what was asked, of which edition, by which engine.
type Receipt struct {
	RequestDigest string
	Revision      string
	Engine        string
}

// Outcomes of screening.
const (
	NoWarningSigns = "NO_WARNING_SIGNS_FOUND"
	SeeSomeone     = "SEE_PROFESSIONAL_FIRST"
	QuestionsFirst = "QUESTIONS_FIRST"
)

// Screening is the outcome, whom to see and how soon, and what is still to be asked.
type Screening struct {
	Outcome   string
	Referrals []Referral
	Questions []Question
	// NoDrills is true when nothing at all may be trained for now.
	NoDrills bool
	// Unloaded lists regions (with side) that may only be moved without load, and why.
	Unloaded []Unloaded
}

// Referral sends the client to a professional.
type Referral struct {
	Rule    string
	Urgency string // EMERGENCY, TODAY, SOON, BEFORE_LOADING
	Scope   string // PERSON, REGION, CLASS
	Region  string
	Side    string
	Words   string
	Source  string
}

// Question is still to be asked.
type Question struct {
	ID      string
	Asks    string
	Urgency string
	Region  string
	// Contradicted is true when it was answered no, which something else told contradicts.
	Contradicted bool
}

// Unloaded is a region that may only be moved without load for now. Region is empty for the whole person.
type Unloaded struct {
	Region string
	Side   string
	Why    string // id of the rule
}

// Reason is a rule that bears on a drill, in words filled in with the client's figures.
type Reason = rules.Reason

// Dose is how much of a drill on one side.
type Dose struct {
	Rule        string
	With        string // the dose of the book on the other side, where it made some variable more cautious
	Sets        int
	RepsLow     int
	RepsHigh    int
	HoldLow     int // seconds
	HoldHigh    int
	Metres      int
	Tempo       string
	RestSeconds int
	EffortLow   int // 10 less the repetitions left
	EffortHigh  int
	PerWeek     int
	PerDay      int
	PainCeiling int
	// LoadKg is nil when no working load is known; LoadWords always says how to find the load.
	LoadKg    *float64
	LoadWords string
	Note      string
	// Seconds is what the drill takes in a session: setting up, and every set with its rest, on every side.
	Seconds int
}

// SideDose is one side of a drill in the order to train.
type SideDose struct {
	Side string // LEFT, RIGHT, or BOTH
	Dose *Dose  // of two sides that work one after the other, the second does no more than a limiting first
	// Words say why this side stands here: limiting side first, the other matches.
	Words string
}

// Part is one part of a score.
type Part struct {
	Name   string // muscles, pattern, provoker, load, favours, or a favour rule's id
	Points int
	Of     int
	Words  string
}

// Tiers of a substitute.
const (
	SameLift    = "SAME_LIFT"
	NearVariant = "NEAR_VARIANT"
	SamePattern = "SAME_PATTERN"
	SameMuscles = "SAME_MUSCLES"
	Treats      = "TREATS" // a condition that was named
	Elsewhere   = "ELSEWHERE"
)

// TestSet is what to do before the working sets.
type TestSet struct {
	RepsLow, RepsHigh int
	HoldSeconds       int
	LoadPercent       int
	LoadKg            *float64 // nil where the load can't be set in kilograms
	PainCeiling       int      // for what hurts, the most with which the set is passed
	Words             string
	// Of a drill that loads what hurts: when the set is passed, what follows when it isn't, and what the next morning decides.
	Passed, Failed, NextMorning string
}

// Choice is one drill in place of a lift.
type Choice struct {
	Drill   *catalog.Drill
	Tier    string
	Verdict string // OPEN, TEST_FIRST
	// Sides in the order to train.
	Sides  []SideDose
	Points int
	Lead   int // points over the next in the list; 0 for the last
	Parts  []Part
	// Keeps: MOST, SOME or LITTLE of the muscles, the pattern and the load.
	KeepsMuscles, KeepsPattern, KeepsLoad string
	// TakesAway says in words what of the provokers is removed or lowered.
	TakesAway []string
	Removed   bool // every provoker removed, not merely lowered
	TestSet   TestSet
	Cautions  []Reason
	Reasons   []Reason
	// Tests names what to measure first, for TEST_FIRST.
	Tests []string
}

// Provoker is what probably sets the complaint off.
type Provoker struct {
	Region   string
	Side     string
	Stressor string // empty when an arc is the provoker
	Motion   string // empty when a stressor is
	Moment   string
	Grade    int
	Words    string
}

// LeftOut is a drill that a reader would expect and that isn't there, with the rule that decides.
type LeftOut struct {
	Drill  string
	Name   string
	Side   string
	Reason Reason
}

// SubstituteAnswer answers "this lift hurts: what instead?".
type SubstituteAnswer struct {
	Header
	Lift      *catalog.Drill
	Provokers []Provoker
	// Spared says that nothing in the lift loads what hurts, where that is so, and whether the lift may be kept.
	Spared string
	// Unclear is true when nothing in the lift explains the complaint; then every stressor of the region counts.
	Unclear     bool
	Substitutes []Choice
	LeftOut     []LeftOut
	// Considered is how many drills stayed after the hard rules, before the limit.
	Considered int
}

// ScreenAnswer answers "may this person train, and what?".
type ScreenAnswer struct {
	Header
}

// Backup stands in for a drill of a session when its station is taken.
type Backup struct {
	ID, Name, Station string
	Points            int
}

// SessionDrill is one place of a session.
type SessionDrill struct {
	Slot     string
	SlotName string
	Purpose  string
	Drill    *catalog.Drill
	Verdict  string
	Sides    []SideDose
	Points   int
	Parts    []Part
	Backups  []Backup
	TestSet  TestSet
	Cautions []Reason
	Reasons  []Reason
}

// LimitState is how a session stands to a limit of its plan.
type LimitState struct {
	ID    string
	Name  string
	Value float64
	Low   *float64
	High  *float64
	Met   bool
}

// SelectAnswer is a session for today.
type SelectAnswer struct {
	Header
	Plan     string
	PlanName string
	Minutes  int
	Seconds  int // what the session takes
	Drills   []SessionDrill
	Points   int
	Limits   []LimitState
	// Empty names slots that no drill could fill, and why.
	Empty   []EmptySlot
	LeftOut []LeftOut
}

// EmptySlot is a place of the plan that stayed empty.
type EmptySlot struct {
	Slot, Name, Words string
}

// Clause is one part of a rule's condition for a drill and side.
type Clause struct {
	Text  string // as the rule's author wrote it
	Holds bool   // it holds, or could
	Known bool
	// Flip says in words what would turn it, when training, kit or a measurement can; else it is empty.
	Flip string
}

// RuleOutcome is one rule that fired, or that is unknown, on a side of a drill.
type RuleOutcome struct {
	Reason  Reason
	Verdict string // for bars: NOT_TODAY or TEST_FIRST
	Clauses []Clause
	// Opens says what would open the drill as far as this rule goes.
	Opens string
}

// Change is one fact of the client that would have to be otherwise.
type Change struct {
	Path   string
	Side   string // LEFT, RIGHT, or empty for a midline fact
	Member string // id of what to have at hand, when the fact is a list
	Today  string // empty when nobody measured it
	To     string // empty for a list
	Unit   string
	// OrMore and OrLess: any larger, any smaller number would do as well.
	OrMore, OrLess bool
	Words          string
}

// SmallestChange is a client nearest to today's for whom a side of a drill would be open.
type SmallestChange struct {
	Changes []Change
	Words   string
}

// SideExplained is the verdict on one side.
type SideExplained struct {
	Side    string
	Verdict string
	Points  int
	Rules   []RuleOutcome
	Dose    *Dose
	// Smallest are the smallest changes that would each open a side that isn't: of range, strength, hold, kit, or a
	// measure that nobody took. Each was judged whole. OpensWords says them, or what decides where there are none.
	Smallest   []SmallestChange
	OpensWords string
}

// ExplainAnswer answers "why (not) this drill?".
type ExplainAnswer struct {
	Header
	Drill *catalog.Drill
	// Verdict on the drill as a whole: the worst side of a two-side drill, the best of a one-side drill.
	Verdict string
	Sides   []SideExplained
}
