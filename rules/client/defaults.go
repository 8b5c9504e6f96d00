package client

import (
	"math"
	"slices"
)

// defaultFacts is every fact of a client who told nothing, the left side before the right: unknown, but for what holds until
// something is told. A request starts from a copy.
type defaultFacts struct {
	numbers []Span
	truths  []Truth
	sets    []Set
	status  []Status
}

func newDefaultFacts(fr *Frame) defaultFacts {
	f := Unknown(fr)
	for side := range 2 {
		f.setDefaults(side)
	}
	return defaultFacts{slices.Concat(f.Num[0], f.Num[1]), slices.Concat(f.Bool[0], f.Bool[1]), slices.Concat(f.Set[0], f.Set[1]),
		slices.Concat(f.Status[0], f.Status[1])}
}

// Unknown are facts of which nothing is known, not even what holds while nothing is told.
func Unknown(fr *Frame) *Facts {
	t := fr.Table
	b := defaultFacts{make([]Span, 2*t.numbers), make([]Truth, 2*t.bools), make([]Set, 2*t.words), make([]Status, 2*len(t.Paths))}
	f := b.facts(fr, nil)
	for side := range 2 {
		for i := range t.Paths {
			f.unknown(&t.Paths[i], side)
			f.Status[side][i] = NeverTaken
		}
	}
	return f
}

// blank are the facts of a client who told nothing, for a request: from those given back, if there are any.
func (fr *Frame) blank(q *Request) *Facts {
	if f, ok := fr.spare.Get().(*Facts); ok {
		f.Request = q
		return f
	}
	return fr.defaults.facts(fr, q)
}

// Done gives facts that Derive made back to their frame; neither they nor what With made of them is used afterwards.
// Nothing of the client is kept.
func (f *Facts) Done() {
	b := &f.Frame.defaults
	for side := range 2 {
		copy(f.Num[side], b.numbers[side*len(f.Num[side]):])
		copy(f.Bool[side], b.truths[side*len(f.Bool[side]):])
		copy(f.Set[side], b.sets[side*len(f.Set[side]):])
		copy(f.Status[side], b.status[side*len(f.Status[side]):])
	}
	clear(f.told)
	clear(f.replies)
	clear(f.words)
	clear(f.LeftOut)
	f.Request, f.Presumptions, f.LeftOut, f.Covered, f.words = nil, f.Presumptions[:0], f.LeftOut[:0], [2][]string{}, f.words[:0]
	f.Frame.spare.Put(f)
}

// facts is a copy of the default facts for a request.
func (b *defaultFacts) facts(fr *Frame, q *Request) *Facts {
	return &Facts{Frame: fr, Request: q, Num: halves(slices.Clone(b.numbers)), Bool: halves(slices.Clone(b.truths)),
		Set: halves(slices.Clone(b.sets)), Status: halves(slices.Clone(b.status)), told: make([]regionReport, len(fr.Vocabulary.Regions)),
		replies: make([]reply, len(fr.at.answers))}
}

func halves[T any](both []T) [2][]T {
	n := len(both) / 2
	return [2][]T{both[:n:n], both[n : 2*n : 2*n]}
}

// unknown is the whole span, maybe, every member possible.
func (f *Facts) unknown(p *Path, side int) {
	switch p.Kind {
	case Number:
		f.Num[side][p.Slot] = Span{p.Lo, p.Hi}
	case Bool:
		f.Bool[side][p.Slot] = Maybe
	case Word, List:
		f.Set[side][p.Slot] = Set{Possible: p.Words}
	}
}

var notStated = Span{math.NaN(), math.NaN()}

// setDefaults sets what holds of a client who told nothing: no complaint, no clearance, no painful arc, no log.
func (f *Facts) setDefaults(side int) {
	at := &f.Frame.at
	for i := range at.regions {
		r := &at.regions[i]
		f.value(r.complaint.intensity, side, 0)
		f.value(r.complaint.days, side, 0)
		f.value(r.newestDays, side, 0)
		f.value(r.restTold, side, 0)
		f.setTruth(r.lookedAt, side, No, Measured)
		f.setTruth(r.rungSince, side, No, Measured)
		f.setTruth(r.otherSide, side, No, Measured)
		f.setTruth(r.quietSide, side, No, Measured)
		f.setTruth(r.rungByLift, side, No, Measured)
		f.setTruth(r.surgeryCleared, side, No, Measured)
		f.setTruth(r.trainedSince, side, No, Measured)
		f.setTruth(r.nerveExplained, side, No, Measured)
		f.setTruth(r.tendonNamed, side, No, Measured)
		f.setWords(r.kinds, side, Set{}, Measured)
		f.setWords(r.moments, side, Set{}, Measured)
		f.setWords(r.onsets, side, Set{}, Measured)
		f.setNumber(r.limit.loadKg, side, notStated, Measured)
		f.setNumber(r.clearanceDays, side, notStated, Measured)
		f.setTruth(r.limit.noOverhead, side, No, Measured)
		f.setTruth(r.cleared, side, No, Measured)
	}
	for i := range at.motions {
		m := &at.motions[i]
		if !m.hasRange {
			continue
		}
		f.value(m.margin, side, 0)
		for _, n := range []numberAt{m.limitRange, m.normLow, m.painfulFrom, m.painfulTo, m.shown} {
			f.setNumber(n, side, notStated, Measured)
		}
	}
	for _, a := range at.answers {
		f.setTruth(a, side, Maybe, Unanswered)
	}
	for _, n := range at.weekSets {
		f.value(n, side, 0)
	}
	for _, n := range at.allowed {
		f.value(n, side, 3)
	}
	f.setWords(at.person.worsened, side, Set{}, Measured)
	f.setTruth(at.request.complained, side, No, Measured)
	f.setTruth(at.request.nerveBothSides, side, No, Measured)
	f.setWords(at.request.side, side, Set{Sure: sideWords[side], Possible: sideWords[side]}, Measured)
}

var sideWords = [2][]string{{string(SideLeft)}, {string(SideRight)}}

func (f *Facts) setNumber(n numberAt, side int, span Span, status Status) {
	f.Num[side][n.slot] = span
	f.Status[side][n.path] = status
}

func (f *Facts) value(n numberAt, side int, v float64) { f.setNumber(n, side, Span{v, v}, Measured) }

func (f *Facts) both(n numberAt, v float64) {
	f.value(n, 0, v)
	f.value(n, 1, v)
}

func (f *Facts) setTruth(t truthAt, side int, truth Truth, status Status) {
	f.Bool[side][t.slot] = truth
	f.Status[side][t.path] = status
}

func (f *Facts) bothTruth(t truthAt, truth Truth, status Status) {
	f.setTruth(t, 0, truth, status)
	f.setTruth(t, 1, truth, status)
}

func (f *Facts) setWords(w wordsAt, side int, s Set, status Status) {
	f.Set[side][w.slot] = s
	f.Status[side][w.path] = status
}

func (f *Facts) bothWords(w wordsAt, s Set) {
	f.setWords(w, 0, s, Measured)
	f.setWords(w, 1, s, Measured)
}

func truth(yes bool) Truth { return Truth{yes, yes} }
