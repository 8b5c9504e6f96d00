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

// On is true when a fact told of s holds on the side at place i; an untold side holds on both.
func (s Side) On(i int) bool {
	from, to := s.places()
	return from <= i && i < to
}

// places are the sides that a fact told of s holds on: from the first place to before the second.
func (s Side) places() (from, to int) {
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

// Measure is one measurement of one side.
type Measure struct {
	Of       string // motion
	Side     Side   // SideNone for a midline motion
	Value    float64
	Day      Day
	By       string // SAME_MEASURER, OTHER, SELF
	Position string
}

// Best is the best performance of a test.
type Best struct {
	Test   string
	Sets   *int
	Reps   *int
	LoadKg *float64
	Form   string // OK, POOR
	Pain   *float64
	Day    Day
}

// Pain is what one side of a region says, 0–10, over the last days.
type Pain struct {
	Region       string
	Side         Side
	Rest         *float64
	Worst        *float64
	NextDay      *float64
	SettleHours  *float64
	WakesAtNight *bool
	Day          Day
}

// Standing is the rung that one side of a region stands on.
type Standing struct {
	Region string
	Side   Side
	At     string
	Since  Day
}

// Condition is what a clinician or the client has told.
type Condition struct {
	ID     string
	Side   Side
	Since  Day
	ToldBy string // CLINICIAN, CLIENT
	Status string // NOW, PAST
	Detail string
	Region string // of a condition that can be in any; "" there: any
}

// Limit is the most of a motion that a clinician allows, in degrees.
type Limit struct {
	Motion string
	ToDeg  float64
}

// Clearance is a clinician's limits for a region.
type Clearance struct {
	By         string // CLINICIAN; anything else clears nothing
	Region     string
	Side       Side
	Given      Day
	Until      Day
	RangeDeg   []Limit
	LoadKg     *float64
	NoOverhead bool
	Covers     []string // conditions whose bars become cautions within these limits
	// Surgery is true when the clearance was given with the operation in mind.
	Surgery bool
}

// Surgery is an operation the client had.
type Surgery struct {
	ID     string // a procedure of the vocabulary; any other word may be any procedure of the region
	Region string
	Side   Side
	Day    Day
	// FullTrainingSince is true when the client has trained without limits for long since.
	FullTrainingSince bool
}

// Pregnancy, in weeks; all optional.
type Pregnancy struct {
	Weeks          *int
	PostnatalWeeks *int
	Section        bool
	// Agreed is true when a midwife or doctor has agreed to training.
	Agreed *bool
}

// BloodPressure at rest, in mmHg.
type BloodPressure struct {
	Systolic  int
	Diastolic int
	Day       Day
}

// PainfulArc is the part of a motion that hurts, in degrees.
type PainfulArc struct {
	Motion   string
	Side     Side
	From, To float64
}

// Answer is the answer to a screening question.
type Answer struct {
	Question string
	Is       string // YES, NO, UNSURE
	Day      Day
	// ComplaintInView is true when it was asked again after what contradicts a no was told. It counts on its day only.
	ComplaintInView bool
	LookedAt        Day // when a clinician looked at the sign and allowed training; 0: nobody has
}

// Screening says that all questions of the lists were asked on a day, and those without an answer were no.
type Screening struct {
	Lists  []string
	Day    Day
	Others string // NO
}

// Medicine the client takes or took.
type Medicine struct {
	Class string
	Since Day
}

// LoggedSet is one set of a training log.
type LoggedSet struct {
	Drill       string
	Day         Day
	Side        Side
	Reps        int
	LoadKg      float64
	HoldSeconds int
	Effort      *float64
	Pain        *float64
	NextDay     *float64
}

// Profile is everything known of a client. Nil or empty means not told; what that means is said field by field.
type Profile struct {
	Ref             string
	AgeYears        *int
	Sex             string // FEMALE, MALE
	Training        string // NOVICE, INTERMEDIATE, ADVANCED
	BodyMassKg      *float64
	DominantSide    Side
	Kit             []string
	KitTold         bool // false: body weight only
	Conditions      []Condition
	ConditionsTold  bool // false: not asked
	Clearances      []Clearance
	ClearancesTold  bool // false: none told
	RangeDeg        []Measure
	PassiveDeg      []Measure
	StrengthN       []Measure
	HoldSeconds     []Measure
	PainfulArcs     []PainfulArc
	Best            []Best
	Pain            []Pain
	Rungs           []Standing
	Answers         []Answer
	Screening       *Screening
	Surgeries       []Surgery
	SurgeriesTold   bool
	Medicines       []Medicine
	MedicinesTold   bool
	Pregnancy       *Pregnancy
	BloodPressure   *BloodPressure
	Beighton        *int
	PainkillerToday *bool
	Supervised      *bool
	GuardianPresent *bool
	Confidence      *int
	ProgrammeWeek   *int
	Disliked        []string
	GoalLifts       []string
	Log             []LoggedSet
}

// Complaint is what hurts now.
type Complaint struct {
	Region    string
	Side      Side
	Intensity float64 // 0–10
	Moment    string  // START … RACKING, AFTER, NEXT_DAY, ALWAYS
	Kind      string
	Onset     string // GRADUAL, SUDDEN, INJURY
	Days      int    // 0: not told
	LookedAt  Day    // when a clinician last looked at it; 0: nobody has
}

// Request is a question about a client on a day.
type Request struct {
	Profile       *Profile
	Complaints    []Complaint
	AsOf          Day
	Lift          string // id of the lift that a substitution is about; "" otherwise
	KitTaken      []string
	StationsTaken []string
	Minutes       int
	// Done is closed when nobody waits for the answer any more; nil: never. It is no part of what is asked. What is found after
	// that is worth nothing: loops may end early, and whoever asked them looks once more before using what they found.
	Done <-chan struct{}
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
