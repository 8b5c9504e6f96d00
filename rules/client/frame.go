package client

import (
	"slices"
	"strings"
	"sync"

	"drillwright/catalog"
	"drillwright/catalog/authored"
)

// Ladder is the way back of one region: its rungs in order, and where a client enters whose rung nobody set.
type Ladder struct {
	At     authored.Pos
	Region string   `yaml:"region" need:"yes" of:"region" doc:"The region."`
	Rungs  []string `yaml:"rungs" need:"yes" items:"2.." doc:"The rungs, the lowest first."`
	// Names say the rungs as people read them.
	Names map[string]string `yaml:"names" doc:"The rungs as people read them."`
	// Entry names the rung by irritability.
	Entry map[string]string `yaml:"entry" need:"yes" keys:"irritability" doc:"Where a client starts whose rung nobody has set, by irritability."`
	// TendonEntry names the rung at moderate irritability where a clinician has named a tendon of the region.
	TendonEntry string `yaml:"entry_named_tendon" doc:"Where a client starts at moderate irritability, where a clinician has named a tendon of the region; it is as in entry without it."`
	Source      Source `yaml:"source" doc:"Where the ladder comes from."`
}

// Index is the position of a rung on the ladder; -1 when it isn't one.
func (l *Ladder) Index(rung string) int { return slices.Index(l.Rungs, rung) }

// leastLoad is the index of the first rung that loads: the one below it is what moves without load.
const leastLoad = 1

// Asked is the index of the rung that a row of a drill asks of the ladder's region; -1 when it asks nothing. What carries
// the region, unsaid or said to be without load, asks the first rung that loads.
func (l *Ladder) Asked(row *catalog.Row, region string) int {
	if l == nil {
		return -1
	}
	index := -1
	if load := row.Load(region); load != nil {
		index = l.Index(load.Rung)
	}
	if row.Carries(region) {
		return max(index, leastLoad)
	}
	return index
}

// Loads is whether a row of a drill loads the ladder's region.
func (l *Ladder) Loads(row *catalog.Row, region string) bool {
	return l.Asked(row, region) >= leastLoad
}

// RungName is the rung at a place as people read it.
func (l *Ladder) RungName(index int) string {
	if index < 0 || index >= len(l.Rungs) {
		return "no rung"
	}
	if name := l.Names[l.Rungs[index]]; name != "" {
		return name
	}
	return strings.ReplaceAll(l.Rungs[index], "_", " ")
}

// Source says where a ladder or a number comes from.
type Source struct {
	At   authored.Pos
	Kind authored.Text                   `yaml:"kind" of:"source" doc:"Published, common practice, from memory, or judged by the author."`
	Cite authored.Several[authored.Text] `yaml:"cite" doc:"The publication: the id of an entry under sources, or in full; or several."`
	Note string                          `yaml:"note" doc:"What is unsure."`
}

// Question is one screening question.
type Question struct {
	At   authored.Pos
	ID   string `yaml:"id" need:"yes" doc:"The id that rules read the answer by: words in lower case joined by underscores."`
	Asks string `yaml:"asks" doc:"The question, to be answered yes, no or unsure."`
	// emergency, today, soon, before_loading
	Urgency string `yaml:"urgency" of:"urgency" doc:"How soon a yes wants someone seen; with asks, left out only where contradictions are added to a question of the floor."`
	// SettledBy is what settles a yes, beside a later no; without it nothing does.
	SettledBy *Settling `yaml:"settled_by" doc:"What settles a yes, beside a later no; without it nothing does."`
	// ContradictedBy is what makes a no unanswered; each stands alone.
	ContradictedBy []Contradiction `yaml:"contradicted_by" doc:"What makes a no unanswered; each stands alone."`
	List           string
	Region         string
}

// Settling is what settles a yes. Each field that is given does.
type Settling struct {
	At authored.Pos
	// Told are parts of the profile, each with something in it.
	Told []string `yaml:"told" of:"told" doc:"Parts of the profile, of which one has something in it."`
	// Conditions are ids, of which one is told.
	Conditions []string `yaml:"conditions" suggest:"condition" doc:"Conditions, of which one is told."`
	// LookedAtDays is for how long it counts that a clinician looked at the sign and allowed training.
	LookedAtDays int `yaml:"looked_at_days" doc:"For how many days it counts that a clinician looked at the sign and allowed training."`
}

// Contradiction is what makes a no unanswered. All that is given must hold: of one complaint, of one score of pain, or of what was told
// beside.
type Contradiction struct {
	At         authored.Pos
	Regions    []string `yaml:"regions" suggest:"region" doc:"The regions of the complaint or the score; any, where none are named."`
	Onsets     []string `yaml:"onsets" of:"onset" doc:"How it began; an onset that wasn't told may be any."`
	Kinds      []string `yaml:"kinds" suggest:"pain_kind" doc:"How it feels."`
	Moments    []string `yaml:"moments" of:"moment told" doc:"When it hurts."`
	WithinDays int      `yaml:"within_days" doc:"How many days ago it began at most; days that weren't told may be any."`
	// SparedByLift: it hurts in a lift that doesn't load the region.
	SparedByLift bool `yaml:"spared_by_lift" doc:"True where it hurts in a lift that doesn't load the region."`
	// UnlessLookedAt is for questions that ask whether anybody has looked at it.
	UnlessLookedAt bool `yaml:"unless_looked_at" doc:"True where a complaint that a clinician has looked at since it began contradicts nothing."`
	// WakesAtNight is read of the scores of pain.
	WakesAtNight bool `yaml:"wakes_at_night" doc:"True where a score of pain says that it wakes at night."`
	// Told are parts of the profile, each with something in it.
	Told []string `yaml:"told" of:"told" doc:"Parts of the profile, of which one has something in it."`
	// Conditions are ids, of which one is told.
	Conditions []string `yaml:"conditions" suggest:"condition" doc:"Conditions, of which one is told."`
	Asks       string   `yaml:"asks" need:"yes" doc:"The question in the words of the contradiction."`
}

// Parts are those of a profile that can settle or contradict an answer. A high reading is one above what is still possible
// after a no about high pressure, however old.
var Parts = []string{"conditions", "current_conditions", "surgeries", "medicines", "pregnancy", "blood_pressure", "high_reading"}

// sameDay is true for questions whose answer counts on its day only, and whose UNSURE is a YES.
func (q *Question) sameDay() bool { return q.Urgency == "emergency" || q.Urgency == "today" }

// QuestionList is a set of screening questions that are asked together.
type QuestionList struct {
	At        authored.Pos
	ID        string     `yaml:"list" need:"yes" doc:"The id of the list."`
	Name      string     `yaml:"name" doc:"The list as people read it."`
	Region    string     `yaml:"region" of:"region" doc:"The region it is about; none for everyone."`
	Questions []Question `yaml:"questions" doc:"The questions, in order."`
}

// Measures says how far a measurement is trusted, and for how long. Days, degrees, percent.
type Measures struct {
	At     authored.Pos
	Margin struct {
		SameMeasurer float64 `yaml:"same_measurer" doc:"By the same person with the same tool."`
		Other        float64 `yaml:"other" doc:"By another person."`
		Self         float64 `yaml:"self" doc:"By the client."`
	} `yaml:"margin_deg" doc:"The error of a range measurement, in degrees."`
	ValidDays struct {
		Range         int `yaml:"range" need:"yes" doc:"Ranges."`
		Strength      int `yaml:"strength" doc:"Strength."`
		Hold          int `yaml:"hold" doc:"Holds."`
		Pain          int `yaml:"pain" doc:"Pain scores."`
		Best          int `yaml:"best" doc:"Best performances."`
		BloodPressure int `yaml:"blood_pressure" doc:"Blood pressure."`
		Answer        int `yaml:"answer" doc:"Answers to questions that are not same-day."` // of the questions that are not same-day
		Week          int `yaml:"week" doc:"Days of the log that make up this week."`       // of the log: the sets that count as this week's
		Working       int `yaml:"working" doc:"Days of the log from which the working load is taken."`
	} `yaml:"valid_days" need:"yes" doc:"For how many days each kind of measurement counts."`
	Irritability struct {
		HighWorst       float64 `yaml:"high_worst" doc:"Worst pain, of 10, from which it is high."`
		HighRest        float64 `yaml:"high_rest" doc:"Pain at rest, of 10, from which it is high."`
		HighSettleHours float64 `yaml:"high_settle_hours" doc:"Hours to settle from which it is high."`
		ModerateWorst   float64 `yaml:"moderate_worst" doc:"Worst pain, of 10, from which it is moderate."`
	} `yaml:"irritability" doc:"From where a region counts as easily stirred up."`
	// Loads says how a load is worked out from a logged set: the percentage of the most that can be lifted once, by
	// repetitions, and the formula that estimates that most from a set of at most MaxReps.
	Loads struct {
		Percent []RepPercent `yaml:"percent_by_reps" need:"yes" items:"1.." doc:"The share of the most that can be lifted once, by repetitions."`
		Formula string       `yaml:"formula" need:"yes" of:"formula" doc:"The formula that estimates that most."` // epley, brzycki
		MaxReps int          `yaml:"max_reps" doc:"The most repetitions that the formula is used for."`
		Start   LoadStart    `yaml:"start" need:"yes" doc:"What is taken off a logged set before a load is named."`
		Shares  Shares       `yaml:"shares" doc:"Loads worked out from the log of another drill."`
		Source  Source       `yaml:"source" doc:"Where it comes from."`
	} `yaml:"loads" need:"yes" doc:"How a load is worked out from a logged set."`
	// Under18Share is the percentage of the least adult norm that is presumed under 18.
	Under18Share float64 `yaml:"under_18_share" doc:"The share of the least adult norm that is presumed under 18, in percent."`
	// Hypermobile gives the score out of nine from which nothing is presumed, up to an age and after it.
	Hypermobile struct {
		UpToAge int `yaml:"up_to_age" doc:"The age up to which score holds."`
		Score   int `yaml:"score" doc:"The score up to that age."`
		After   int `yaml:"after" doc:"The score after it."`
		Signs   int `yaml:"signs" doc:"How many joints measured at or above loose_from_deg speak for it where no score was told; 0 for none."`
	} `yaml:"hypermobile" doc:"The score of nine from which nothing is presumed."`
	// PainInQuestion: pain at or above this puts a region in question.
	PainInQuestion float64 `yaml:"pain_in_question" doc:"Pain, of 10, from which a region is in question."`
	// PressureWhenDenied is the highest resting pressure that is still possible when the question about a high one
	// was answered no.
	PressureWhenDenied struct {
		Systolic  float64 `yaml:"systolic" doc:"The upper value, in mmHg."`
		Diastolic float64 `yaml:"diastolic" doc:"The lower value, in mmHg."`
	} `yaml:"pressure_when_denied" doc:"The highest resting pressure that is still possible when a high one was denied."`
	// BoneHealsDays is for how long after its beginning a bone counts as not healed, though it is told as past.
	BoneHealsDays int `yaml:"bone_heals_days" doc:"For how many days after it began a broken or overstressed bone counts as not healed, though it is past."`
	// LimitingGap is how much a side is short of the other before it sets the pace.
	LimitingGap struct {
		StrengthPercent float64 `yaml:"strength_percent" doc:"In strength, percent."`
		HoldPercent     float64 `yaml:"hold_percent" doc:"In holds, percent."`
		RangeDeg        float64 `yaml:"range_deg" doc:"In range, degrees."`
	} `yaml:"limiting_gap" doc:"How far a side is short of the other before it sets the pace."`
	Mild   *Mild  `yaml:"mild" doc:"Of which complaints scores are presumed that nobody told, and a rung by the lift; without it of none."`
	Source Source `yaml:"source" doc:"Where it comes from."`
}

// LoadStart says what is taken off a logged set before a load is named.
type LoadStart struct {
	// SorePercent is the most of a set that a sore region starts at, unless the set was done since the complaint began and is known
	// to have been tolerated: pain within the ceiling, and a next morning no more than NextDayAbove over what is usual.
	SorePercent  float64 `yaml:"sore_percent" need:"yes" range:"1..100" doc:"The most of a logged set that a sore region starts at, in percent, and what is left of a set that hurt too much."`
	NextDayAbove float64 `yaml:"next_day_above" range:"0..10" doc:"The most that pain of the next morning may lie over what is usual, of 10, for a set to count as tolerated."`
	// RisePercent is only said: no load is above what was lifted.
	RisePercent float64 `yaml:"rise_percent" range:"0..100" doc:"The most that the load of a sore region rises by at a time, in percent."`
	// Of a drill that nobody has done for more than BreakDays so much is taken off.
	BreakDays       int     `yaml:"break_days" need:"yes" range:"1..1000" doc:"After more days than these without the drill some of its load is taken off."`
	BreakOffPercent float64 `yaml:"break_off_percent" range:"0..99" doc:"How much is then taken off, in percent."`
	// ReserveAtMost is how many repetitions left in hand are believed; of a set whose effort nobody told there are none.
	ReserveAtMost int    `yaml:"reserve_at_most" range:"0..10" doc:"How many repetitions that were left in hand are believed at most."`
	Source        Source `yaml:"source" doc:"Where it comes from."`
}

// Shares are loads worked out from the log of another drill, and for whom none is.
type Shares struct {
	At             authored.Pos
	HandOffPercent float64 `yaml:"hand_off_percent" range:"0..99" doc:"What is taken off half of a total, in percent, for a dumbbell in each hand."`
	NotFor         struct {
		UnderAge   int      `yaml:"under_age" doc:"Who is younger."`
		FromAge    int      `yaml:"from_age" doc:"Who is as old, or older."`
		Training   []string `yaml:"training" doc:"Who has trained for so long only."`
		Pregnant   bool     `yaml:"pregnant" doc:"Who is pregnant."`
		Systolic   float64  `yaml:"systolic" doc:"Whose upper blood pressure is this or more, in mmHg."`
		Diastolic  float64  `yaml:"diastolic" doc:"Whose lower blood pressure is this or more, in mmHg."`
		Conditions []string `yaml:"conditions" suggest:"condition" doc:"Who has one of these, or had."`
	} `yaml:"not_for" doc:"For whom no load is worked out so, unless it is ruled out that they are one of these."`
	Of []Share `yaml:"of" doc:"Each pair of drills that was measured."`
}

// Share is how much of one drill's load another takes at first, as it was measured: both are free weights, and the share is never
// more than the whole.
type Share struct {
	At      authored.Pos
	Drill   string  `yaml:"drill" need:"yes" suggest:"drill" doc:"The drill whose load is worked out."`
	From    string  `yaml:"from" need:"yes" suggest:"drill" doc:"The drill that was logged."`
	Percent float64 `yaml:"percent" need:"yes" range:"1..100" doc:"The share of the logged total, in percent; 100 where it was more."`
	// EachHand: the drill has a weight in each hand, and its kilograms are those of one.
	EachHand bool   `yaml:"each_hand" doc:"True where the drill has a weight in each hand, and its kilograms are those of one."`
	Source   Source `yaml:"source" need:"yes" doc:"Where it was measured."`
}

// RepPercent is one row of the table of loads: so many repetitions can be done with so many percent.
type RepPercent struct {
	Reps    int     `yaml:"reps" doc:"Repetitions."`
	Percent float64 `yaml:"percent" doc:"Percent of the most that can be lifted once."`
}

// Frame is what a profile is read against: the words, the ladders, the screening lists, the trust in
// measures, and the numbered paths that rules may read. It is immutable.
type Frame struct {
	Vocabulary *catalog.Vocabulary
	Drills     *catalog.Snapshot
	Ladders    []Ladder
	Lists      []QuestionList
	Measures   Measures
	Table      *Table

	questions map[string]*Question
	ladders   map[string]*Ladder

	// What is worked out once, so that reading a client is mostly writing.
	at      slots
	ids     lexicon
	lookups lookups
	norms   [][]norm  // by motion
	rungs   []entries // by ladder
	// mildPain is by region.
	mildPain []mildPain
	limits   []Span // by slot of a number
	defaults defaultFacts
	spare    sync.Pool // of *Facts, as blank as untold
}

// NewFrame numbers the paths. The ladders, lists and measures have been checked by their reader, or are about to be
// refused.
func NewFrame(snap *catalog.Snapshot, ladders []Ladder, lists []QuestionList, measures Measures) *Frame {
	f := &Frame{Vocabulary: snap.Vocabulary, Drills: snap, Ladders: ladders, Lists: lists, Measures: measures,
		questions: map[string]*Question{}, ladders: map[string]*Ladder{}}
	for i := range f.Lists {
		for j := range f.Lists[i].Questions {
			q := &f.Lists[i].Questions[j]
			q.List, q.Region = f.Lists[i].ID, f.Lists[i].Region
			f.questions[q.ID] = q
		}
	}
	for i := range f.Ladders {
		f.ladders[f.Ladders[i].Region] = &f.Ladders[i]
	}
	f.ids = newLexicon(f.Vocabulary, f.QuestionIDs(), f.ListIDs(), f.rungIDs())
	f.numberPaths()
	f.lookups = newLookups(f)
	f.norms = f.allNorms()
	f.rungs = f.allEntries()
	f.mildPain = f.allMildPains()
	for i := range f.Table.Paths {
		if p := &f.Table.Paths[i]; p.Kind == Number {
			f.limits = append(f.limits, Span{p.Lo, p.Hi})
		}
	}
	f.defaults = newDefaultFacts(f)
	return f
}

// Question finds a screening question; nil when there is none.
func (f *Frame) Question(id string) *Question { return f.questions[id] }

// Ladder finds the ladder of a region; nil when there is none.
func (f *Frame) Ladder(region string) *Ladder { return f.ladders[region] }

// QuestionIDs lists all questions in order.
func (f *Frame) QuestionIDs() []string {
	var ids []string
	for _, l := range f.Lists {
		for _, q := range l.Questions {
			ids = append(ids, q.ID)
		}
	}
	return ids
}

// ListIDs lists the screening lists in order.
func (f *Frame) ListIDs() []string {
	var ids []string
	for _, l := range f.Lists {
		ids = append(ids, l.ID)
	}
	return ids
}

// rungIDs lists the rungs of all ladders, each once.
func (f *Frame) rungIDs() []string {
	var ids []string
	for i := range f.Ladders {
		ids = append(ids, f.Ladders[i].Rungs...)
	}
	slices.Sort(ids)
	return slices.Compact(ids)
}
