package client

import "slices"

// Span is what is known of a number: every value from Lo to Hi is possible. A number that is not stated is
// NaN at both ends, and every comparison with it is false.
type Span struct{ Lo, Hi float64 }

// Known is true for a single value.
func (s Span) Known() bool { return s.Lo == s.Hi }

// End is the low or the high end.
func (s Span) End(low bool) float64 {
	if low {
		return s.Lo
	}
	return s.Hi
}

// Truth is what is known of a yes-or-no.
type Truth struct{ Sure, Possible bool }

// The three truths.
var (
	Yes   = Truth{true, true}
	No    = Truth{false, false}
	Maybe = Truth{false, true}
)

// Set is what is known of a list (members that are sure, members that are possible) or of a word (its possible
// values; sure holds the value when there is only one).
type Set struct{ Sure, Possible []string }

// Status says how a fact came to be known.
type Status uint8

// Measured covers everything that was told or measured and still counts; Presumed follows from a norm or a
// ladder's entry; the others say why a fact is unknown.
const (
	Measured Status = iota
	Presumed
	NeverTaken
	TooOld
	BeforeFlare
	Unanswered
)

// Known is true for facts that stand.
func (s Status) Known() bool { return s == Measured || s == Presumed }

// Why says in words why a fact is unknown.
func (s Status) Why() string {
	switch s {
	case TooOld:
		return "the last measurement is too old"
	case BeforeFlare:
		return "the last measurement is from before this complaint"
	case Unanswered:
		return "not answered"
	default:
		return "not measured"
	}
}

// Facts are all numbered facts of one request, for both sides of the body.
type Facts struct {
	Frame   *Frame
	Request *Request

	Num    [2][]Span
	Bool   [2][]Truth
	Set    [2][]Set
	Status [2][]Status // by index in the table
	// Presumptions lists, in order, what was presumed. They belong to the frame.
	Presumptions []*Presumption
	// LeftOut are the drills of logged sets that the catalogue doesn't have, one a set, in order: nothing is read of these sets.
	LeftOut []string
	// Covered are the conditions whose bars a clearance turns into cautions, by side.
	Covered [2][]string

	told    []regionReport // by region
	replies []reply        // by question
	words   []string       // what the lists are cut from
}

// Presumption is one fact that was taken without measurement.
type Presumption struct {
	Path  string
	Side  Side
	Words string
}

// Number is the span of a path on a side.
func (f *Facts) Number(name string, side int) Span { return f.Num[side][f.must(name).Slot] }

// Truth is the truth of a path on a side.
func (f *Facts) Truth(name string, side int) Truth { return f.Bool[side][f.must(name).Slot] }

// Words is the set of a path on a side.
func (f *Facts) Words(name string, side int) Set { return f.Set[side][f.must(name).Slot] }

// StatusOf is how a path came to be known on a side.
func (f *Facts) StatusOf(name string, side int) Status {
	return f.Status[side][f.Frame.Table.byName[name]]
}

// InQuestion is true when a region is in question on every side that is told.
func (f *Facts) InQuestion(region string, on Side) bool {
	for side, to := on.indexes(); side < to; side++ {
		if !f.Truth("client.in_question."+region, side).Possible {
			return false
		}
	}
	return true
}

func (f *Facts) must(name string) *Path {
	p := f.Frame.Table.Path(name)
	if p == nil {
		panic("no path " + name)
	}
	return p
}

// With is a copy of the facts in which one number is measured as v on a side; one that is of no side, on both.
func (f *Facts) With(name string, side int, v float64) *Facts {
	c, path := *f, f.must(name)
	for s := range 2 {
		if s == side || !path.Sided {
			c.Num[s], c.Status[s] = slices.Clone(f.Num[s]), slices.Clone(f.Status[s])
			c.value(numberAt{int32(path.Slot), int32(f.Frame.Table.byName[name])}, s, v)
		}
	}
	return &c
}

// Try runs something while one number is measured as v on a side, and then puts back what was there.
func (f *Facts) Try(path *Path, side int, v float64, do func()) {
	index := f.Frame.Table.byName[path.Name]
	var numbers [2]Span
	var status [2]Status
	for s := range 2 {
		numbers[s], status[s] = f.Num[s][path.Slot], f.Status[s][index]
		if s == side || !path.Sided {
			f.Num[s][path.Slot], f.Status[s][index] = Span{v, v}, Measured
		}
	}
	do()
	for s := range 2 {
		f.Num[s][path.Slot], f.Status[s][index] = numbers[s], status[s]
	}
}

// Allow sets the highest grade of a stressor that a substitute may have on a side.
func (f *Facts) Allow(stressor string, side int, grade int) {
	f.value(f.Frame.at.allowed[f.Frame.ids.stressors.index(stressor)], side, float64(grade))
}

// AllowAtMost is Allow, by the stressor's index in the vocabulary, where the grade is lower than the one that stands.
func (f *Facts) AllowAtMost(stressor, side, grade int) {
	if at := f.Frame.at.allowed[stressor]; float64(grade) < f.Num[side][at.slot].Lo {
		f.value(at, side, float64(grade))
	}
}
