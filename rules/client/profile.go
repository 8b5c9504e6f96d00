//go:generate go run ../../server/internal/fieldgen

// Package client is the person: the profile as it was sent, and the facts that follow from it on a day:
// what was measured, what may be presumed, and what is not known.
//
// It knows no wire, no clock and no rule. A day is given by the caller.
package client

import (
	"fmt"
	"time"
)

// Day counts days since 1970-01-01; 0 means that no day was given.
type Day int

// ParseDay reads YYYY-MM-DD.
func ParseDay(s string) (Day, error) {
	if d, ok := DayOf(s); ok {
		return d, nil
	}
	return 0, fmt.Errorf("read day %q: it must be YYYY-MM-DD", s)
}

// DayOf is ParseDay without words about what is no day.
func DayOf(s string) (d Day, ok bool) {
	if len(s) == len(time.DateOnly) && s[4] == '-' && s[7] == '-' {
		year, month, day := digits(s[:4]), digits(s[5:7]), digits(s[8:])
		t := time.Date(year, time.Month(month), day, 0, 0, 0, 0, time.UTC)
		if _, m, d := t.Date(); year >= 0 && month == int(m) && day == d { // it is in the calendar
			return Day(t.Unix() / 86400), true
		}
	}
	return 0, false
}

// digits is -1 where there is anything else.
func digits(s string) int {
	n := 0
	for i := range len(s) {
		if s[i] < '0' || '9' < s[i] {
			return -1
		}
		n = n*10 + int(s[i]-'0')
	}
	return n
}

func (d Day) String() string {
	return time.Unix(int64(d)*86400, 0).UTC().Format(time.DateOnly)
}

// Side is a side of the body.
type Side string

// The sides. None is for midline facts, and for what was not told.
const (
	SideNone  Side = ""
	SideLeft  Side = "LEFT"
	SideRight Side = "RIGHT"
	SideBoth  Side = "BOTH"
)

// Sides in the order of arrays.
var Sides = [2]Side{SideLeft, SideRight}

// On is true when a fact told of s holds on the side at index i; an untold side holds on both.
func (s Side) On(i int) bool {
	from, to := s.indexes()
	return from <= i && i < to
}

// indexes are the sides that a fact told of s holds on: from the first to before the second.
func (s Side) indexes() (from, to int) {
	switch s {
	case SideLeft:
		return 0, 1
	case SideRight:
		return 1, 2
	case SideNone, SideBoth:
		return 0, 2
	default:
		return 0, 0
	}
}

// What follows is the table of what can be reported of a client: a field and its tag are a row. The readers and writers, the paths of
// rules, their limits, the checks, the facts, the digest and the changes that a search makes are generated from it.
//
//	field    the contract's field by its name; a.b is a field of the message in a; a? is whether a was sent; a,b are two fields in one
//	key      what an entry of a map is reported under: the id of a motion, region, test or question, or the side
//	path     how rules read it, after the path of the message that it is in; {} is the id of a motion, region or test
//	unit     of a number
//	range    its limits, both of them allowed
//	words    what a word can be
//	of       the vocabulary of a word, or of the members of a list
//	says     what it is called where it is wrong; score: the same, of a score from 0 to 10
//	day      needed: it must be given; any: it may be after the day of the request
//	need     a word must be given
//	absent   what it means that it isn't reported; where that isn't said, it is unknown
//	measure  what to measure where it is unknown, so that a bar by it is "test first"; {name} is the name of what it is reported under
//	changes  training or kit can change it
//	fact     the method that works it out, or what the fields of a message or list say; without one the fact is what was reported
//	feeds    other facts are worked out from it as well
//	again    it mostly says the same as in the item before, so the digest tells that in one byte
//	order    any: the order of a list means nothing; once: nor does it that an item is there twice; see Canonical
//	first    highest: the items of such a list are ordered by it, from the highest down, before their other fields
//	digest   no: nothing reads it, so the digest doesn't hold it
//
// A list and a word of two fields are known by their type. The order of fields is that of the digest.

// Measure is one measurement of one side.
type Measure struct {
	Of       string  `key:"motion" again:"yes"`
	Side     Side    `key:"side"` // SideNone for a midline motion
	Value    float64 `field:"value"`
	Day      Day     `field:"date" day:"needed"`
	By       string  `field:"by" words:"SAME_MEASURER OTHER SELF" says:"measurer" absent:"OTHER" again:"yes"`
	Position string  `field:"position" absent:"that of the vocabulary" again:"yes"`
}

// Best is the best performance of a test.
type Best struct {
	Test   string   `key:"test"`
	Sets   *int     `field:"sets" path:"sets" range:"0..50" says:"a number of sets" measure:"{name}"`
	Reps   *int     `field:"reps" path:"reps" range:"0..500" says:"a number of repetitions" measure:"{name}"`
	LoadKg *float64 `field:"load_kg" path:"load_kg" unit:"kg" range:"0..500" says:"a load" measure:"{name}"`
	Form   string   `field:"form" path:"form" words:"OK POOR" says:"form" measure:"{name}"`
	Pain   *float64 `field:"pain" path:"pain" range:"0..10" score:"pain" measure:"{name}"`
	Day    Day      `field:"date" day:"needed"`
}

// Pain is what one side of a region says, 0–10, over the last days.
type Pain struct {
	Region       string   `key:"region"`
	Side         Side     `key:"side"`
	Rest         *float64 `field:"rest" path:"rest" range:"0..10" score:"pain"`
	Worst        *float64 `field:"worst" path:"worst" range:"0..10" score:"pain"`
	NextDay      *float64 `field:"next_day" path:"next_day" range:"0..10" score:"pain"`
	SettleHours  *float64 `field:"settle_hours" path:"settle_hours" unit:"h" range:"0..336" says:"the time to settle"`
	WakesAtNight *bool    `field:"wakes_at_night" path:"wakes_at_night"`
	Day          Day      `field:"date" day:"needed"`
}

// Standing is the rung that one side of a region stands on.
type Standing struct {
	Region string `key:"region"`
	Side   Side   `key:"side"`
	At     string `field:"at"`
	Since  Day    `field:"since"`
}

// Condition is what a clinician or the client has told.
type Condition struct {
	ID     string `field:"id"`
	Side   Side   `field:"side" absent:"BOTH"`
	Since  Day    `field:"since"`
	ToldBy string `field:"told_by" words:"CLINICIAN CLIENT" says:"source" absent:"CLIENT"`
	Status string `field:"status" words:"NOW PAST" says:"status" absent:"NOW"`
	Detail string `field:"detail" digest:"no"`
	Region string `field:"region" absent:"any"` // of a condition that can be in any
}

// Limit is the most of a motion that a clinician allows, in degrees.
type Limit struct {
	Motion string  `key:"motion"`
	ToDeg  float64 `key:"value"`
}

// Clearance is a clinician's limits for a region.
type Clearance struct {
	By         string   `field:"by"` // CLINICIAN; anything else clears nothing
	Region     string   `field:"region"`
	Side       Side     `field:"side" absent:"BOTH"`
	Given      Day      `field:"given" day:"needed"`
	Until      Day      `field:"until" day:"any" absent:"no end"`
	RangeDeg   []Limit  `field:"range_deg" absent:"none"`
	LoadKg     *float64 `field:"load_kg" path:"load_kg.{}" unit:"kg" range:"0..1000" says:"a load" absent:"none"`
	NoOverhead bool     `field:"no_overhead" path:"no_overhead.{}" absent:"none"`
	Covers     []string `field:"covers" absent:"none" order:"once"` // conditions whose bars become cautions within these limits
	Surgery    bool     `field:"surgery"`                           // it was given with the operation in mind
}

// Surgery is an operation the client had.
type Surgery struct {
	ID     string `field:"id"` // a procedure of the vocabulary; any other word may be any procedure of the region
	Region string `field:"region"`
	Side   Side   `field:"side" absent:"BOTH"`
	Day    Day    `field:"date"`
	// FullTrainingSince is true when the client has trained without limits for long since.
	FullTrainingSince bool `field:"full_training_since"`
}

// Pregnancy, in weeks; all optional.
type Pregnancy struct {
	Weeks          *int `field:"weeks" path:"weeks" unit:"weeks" range:"0..45" says:"a pregnancy"`
	PostnatalWeeks *int `field:"postnatal_weeks" path:"postnatal_weeks" unit:"weeks" range:"0..520" says:"the time since a birth"`
	Section        bool `field:"section" path:"section"`
	// Agreed is true when a midwife or doctor has agreed to training.
	Agreed *bool `field:"agreed" path:"agreed"`
}

// BloodPressure at rest, in mmHg.
type BloodPressure struct {
	Systolic  int `field:"systolic" path:"systolic" unit:"mmHg" range:"60..260" says:"the upper value"`
	Diastolic int `field:"diastolic" path:"diastolic" unit:"mmHg" range:"30..160" says:"the lower value"`
	Day       Day `field:"date" day:"needed"`
}

// PainfulArc is the part of a motion that hurts, in degrees.
type PainfulArc struct {
	Motion string  `key:"motion"`
	Side   Side    `key:"side"`
	From   float64 `field:"from"`
	To     float64 `field:"to"`
}

// Answer is the answer to a screening question.
type Answer struct {
	Question string `key:"question"`
	Is       string `field:"is" words:"YES NO UNSURE" says:"answer" need:"yes"`
	Day      Day    `field:"date" day:"needed"`
	// ComplaintInView is true when it was asked again after what contradicts a no was told. It counts on its day only.
	ComplaintInView bool `field:"complaint_in_view"`
	LookedAt        Day  `field:"looked_at" absent:"nobody has"` // when a clinician looked at the sign and allowed training
}

// Screening says that all questions of the lists were asked on a day, and those without an answer were no.
type Screening struct {
	Lists  []string `field:"list,also" order:"once"`
	Day    Day      `field:"on" day:"needed"`
	Others string   `field:"others" words:"NO" says:"answer for the others"`
}

// Medicine the client takes or took.
type Medicine struct {
	Class string `field:"class" of:"medicine"`
	Since Day    `field:"since"`
}

// LoggedSet is one set of a training log.
type LoggedSet struct {
	Drill       string   `field:"drill" again:"yes"`
	Day         Day      `field:"day" day:"needed"`
	Side        Side     `field:"side"`
	Reps        int      `field:"reps" range:"0..1000"`
	LoadKg      float64  `field:"load_kg" unit:"kg" range:"0..1000"`
	HoldSeconds int      `field:"hold_seconds" unit:"s" range:"0..3600"`
	Effort      *float64 `field:"effort" range:"0..10" score:"effort" absent:"10"`
	Pain        *float64 `field:"pain" range:"0..10" score:"pain"`
	NextDay     *float64 `field:"next_day" range:"0..10" score:"pain"`
}

// Profile is everything known of a client. Nil or empty means not told; what that means is said field by field.
type Profile struct {
	Ref             string         `field:"ref" digest:"no"`
	AgeYears        *int           `field:"age_years" path:"age_years" unit:"years" range:"0..120" says:"an age" feeds:"yes"`
	Sex             string         `field:"sex" path:"sex" words:"FEMALE MALE" says:"sex" feeds:"yes"`
	Training        string         `field:"training" path:"training" words:"NOVICE INTERMEDIATE ADVANCED" says:"training"`
	BodyMassKg      *float64       `field:"body_mass_kg" path:"body_mass_kg" unit:"kg" range:"20..400" says:"a body mass" measure:"body mass"`
	DominantSide    Side           `field:"dominant_side" path:"dominant_side" words:"LEFT RIGHT" says:"side"`
	Kit             []string       `field:"kit.has" path:"kit" of:"kit" absent:"body weight only" changes:"yes" fact:"kit" order:"once"`
	KitTold         bool           `field:"kit?"`
	Conditions      []Condition    `field:"conditions.known" order:"once"`
	ConditionsTold  bool           `field:"conditions?" absent:"not asked"`
	Clearances      []Clearance    `field:"clearances" path:"limit" fact:"cleared" order:"once"`
	ClearancesTold  bool           `field:"clearances?" absent:"none"`
	RangeDeg        []Measure      `field:"range_deg" path:"range.{}" unit:"deg" measure:"{name}" changes:"yes"`
	PassiveDeg      []Measure      `field:"passive_deg" path:"passive.{}" unit:"deg" measure:"{name}, passive"`
	StrengthN       []Measure      `field:"strength_n" path:"strength.{}" unit:"N" range:"0..3000" measure:"{name} strength" changes:"yes"`
	HoldSeconds     []Measure      `field:"hold_seconds" path:"hold.{}" unit:"s" range:"0..900" measure:"{name} hold" changes:"yes"`
	PainfulArcs     []PainfulArc   `field:"painful_arc_deg" absent:"none"`
	Best            []Best         `field:"best" path:"best.{}"`
	Pain            []Pain         `field:"pain" path:"pain.{}"`
	Rungs           []Standing     `field:"rung"`
	Answers         []Answer       `field:"answers"`
	Screening       *Screening     `field:"screening"`
	Surgeries       []Surgery      `field:"surgeries.known" order:"once"`
	SurgeriesTold   bool           `field:"surgeries?" absent:"not asked"`
	Medicines       []Medicine     `field:"medicines.known" order:"once"`
	MedicinesTold   bool           `field:"medicines?" absent:"not asked"`
	Pregnancy       *Pregnancy     `field:"pregnancy" path:"pregnancy" fact:"pregnancy"`
	BloodPressure   *BloodPressure `field:"blood_pressure" path:"blood_pressure" fact:"pressure"`
	Beighton        *int           `field:"beighton" path:"beighton" range:"0..9" says:"the score" feeds:"yes"`
	PainkillerToday *bool          `field:"painkiller_today" path:"painkiller_today"`
	Supervised      *bool          `field:"supervised" path:"supervised"`
	GuardianPresent *bool          `field:"guardian_present" path:"guardian_present"`
	Confidence      *int           `field:"confidence" path:"confidence" range:"0..10" says:"the score"`
	ProgrammeWeek   *int           `field:"programme_week" path:"programme_week" unit:"weeks" range:"0..520" says:"a week of a programme"`
	Disliked        []string       `field:"disliked" path:"disliked" of:"drill" absent:"none" order:"once"`
	GoalLifts       []string       `field:"goal_lifts" path:"goal_lifts" of:"drill" absent:"none" order:"once"`
	Log             []LoggedSet    `field:"log.sets" order:"any"`
}

// Complaint is what hurts now.
type Complaint struct {
	Region    string  `field:"region"`
	Side      Side    `field:"side" absent:"BOTH"`
	Intensity float64 `field:"intensity" path:"intensity" range:"0..10" score:"pain" absent:"none" first:"highest"`
	Moment    string  `field:"moment" words:"START BOTTOM MIDDLE TOP HOLDING RACKING AFTER NEXT_DAY ALWAYS" says:"moment"`
	Kind      string  `field:"kind" of:"pain_kind" says:"kind of pain"`
	Onset     string  `field:"onset" words:"GRADUAL SUDDEN INJURY" says:"onset"`
	Days      int     `field:"days" path:"days" unit:"days" range:"0..36500" says:"a complaint's age"`
	LookedAt  Day     `field:"looked_at" absent:"nobody has"` // when a clinician last looked at it
}

// Request is a question about a client on a day.
type Request struct {
	AsOf          Day         `field:"as_of" day:"any"`
	Profile       *Profile    `field:"profile" path:"client"`
	Complaints    []Complaint `field:"complaints" path:"request.complaint.{}" fact:"complaint" order:"once"`
	Lift          string      `field:"lift"` // id of the lift that a substitution is about
	KitTaken      []string    `field:"kit_taken" path:"request.kit_taken" of:"kit" absent:"none" order:"once"`
	StationsTaken []string    `field:"stations_taken" path:"request.stations_taken" of:"station" absent:"none" order:"once"`
	Minutes       int         `field:"minutes" path:"request.minutes" unit:"min" range:"0..600" says:"a session" absent:"none"`
	// Done is closed when nobody waits for the answer any more; nil: never. It is no part of what is asked. What is found after
	// that is worth nothing: loops may end early, and whoever asked them looks once more before using what they found.
	Done <-chan struct{} `field:"-"`
}

// Stride is how many items of a long list are taken between two looks at whether somebody still waits.
const Stride = 256

// Abandoned is true once nobody waits for the answer any more, and stays so.
func (q *Request) Abandoned() bool {
	select {
	case <-q.Done:
		return true
	default:
		return false
	}
}
