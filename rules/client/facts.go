package client

import (
	"math"
	"slices"
)

// Span is what is known of a number: every value from Lo to Hi is possible. A number that is not stated is
// NaN at both ends, and every comparison with it is false.
type Span struct{ Lo, Hi float64 }

// Known is true for a single value.
func (s Span) Known() bool { return s.Lo == s.Hi }

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
	Status [2][]Status // by place in the table
	// Presumptions lists, in order, what was presumed.
	Presumptions []Presumption
	// Covered are the conditions whose bars a clearance turns into cautions, by side.
	Covered [2][]string
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

// InQuestion is true when either side of a region is in question.
func (f *Facts) InQuestion(region string) bool {
	return f.Truth("client.in_question."+region, 0).Possible || f.Truth("client.in_question."+region, 1).Possible
}

func (f *Facts) must(name string) *Path {
	p := f.Frame.Table.Path(name)
	if p == nil {
		panic("no path " + name)
	}
	return p
}

func (f *Facts) setNumber(name string, side int, span Span, status Status) {
	f.Num[side][f.must(name).Slot] = span
	f.Status[side][f.Frame.Table.byName[name]] = status
}

func (f *Facts) value(name string, side int, v float64) {
	f.setNumber(name, side, Span{v, v}, Measured)
}

func (f *Facts) both(name string, v float64) {
	f.value(name, 0, v)
	f.value(name, 1, v)
}

func (f *Facts) setTruth(name string, side int, t Truth, status Status) {
	f.Bool[side][f.must(name).Slot] = t
	f.Status[side][f.Frame.Table.byName[name]] = status
}

func (f *Facts) bothTruth(name string, t Truth, status Status) {
	f.setTruth(name, 0, t, status)
	f.setTruth(name, 1, t, status)
}

func (f *Facts) setWords(name string, side int, s Set, status Status) {
	f.Set[side][f.must(name).Slot] = s
	f.Status[side][f.Frame.Table.byName[name]] = status
}

func (f *Facts) bothWords(name string, s Set, status Status) {
	f.setWords(name, 0, s, status)
	f.setWords(name, 1, s, status)
}

// exactly is a list or word that is fully known.
func exactly(words ...string) Set {
	slices.Sort(words)
	words = slices.Compact(words)
	return Set{Sure: words, Possible: words}
}

var notStated = Span{math.NaN(), math.NaN()}

// blank fills every fact with "unknown": the whole span, maybe, every member possible.
func blank(fr *Frame, q *Request) *Facts {
	f := &Facts{Frame: fr, Request: q}
	t := fr.Table
	for side := range 2 {
		f.Num[side], f.Bool[side] = make([]Span, t.Numbers), make([]Truth, t.Bools)
		f.Set[side], f.Status[side] = make([]Set, t.Words), make([]Status, len(t.Paths))
		for i, p := range t.Paths {
			f.Status[side][i] = NeverTaken
			switch p.Kind {
			case Number:
				f.Num[side][p.Slot] = Span{p.Lo, p.Hi}
			case Bool:
				f.Bool[side][p.Slot] = Maybe
			case Word, List:
				f.Set[side][p.Slot] = Set{Possible: p.Words}
			}
		}
	}
	return f
}

// With is a copy of the facts in which one number is measured as v on a side; one that is of no side, on both.
func (f *Facts) With(name string, side int, v float64) *Facts {
	c := *f
	for s := range 2 {
		if s == side || !f.must(name).Sided {
			c.Num[s], c.Status[s] = slices.Clone(f.Num[s]), slices.Clone(f.Status[s])
			c.value(name, s, v)
		}
	}
	return &c
}
