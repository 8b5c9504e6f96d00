package compile

import (
	"math"
	"slices"

	"drillwright/rules/client"
	"drillwright/rules/predicate"
)

// tests are what predicates ask of the client alone, packed: their literals side by side in memory, each with where to go
// on when it can hold and when it can't. Most predicates end at their first literal, so asking it is all they cost: a
// quarter of a line of the cache. They ask what can hold only, so an unknown literal holds, denied or not.
type tests struct {
	list      []test
	constants []float64 // that numbers are compared with, each once
	sums      []sum
	words     []marked
	spelt     []lookFor // of each of words
	nodes     []*predicate.Node
}

// test is a literal. What is asked most is looked up where it stands; the rest is evaluated by closures.
type test struct {
	form     testForm
	denied   bool
	low      bool   // the low end of the number decides
	yes, no  int16  // how many tests on; or the end
	slot     uint32 // of the fact, or of the lift's tag; of sums, words and closures the place among them
	constant uint32
}

// Where a predicate ends, or begins that asks nothing.
const (
	holding int32 = -1
	failing int32 = -2
)

// testForm says what is asked. "At least" is above the next number below, so that two comparisons do.
type testForm uint8

const (
	aboveConstant testForm = iota
	belowConstant
	sumBelow // the sum of two facts
	aYesNo
	someWord
	liftAbove
	liftBelow
	liftYes
	byClosure
)

// sum is of two facts.
type sum struct {
	one, two uint32
	constant float64
}

// marked is words of which one is to be in a list of the client's, given by its slot: mostly their marks tell that none is.
type marked struct {
	marks uint64
	list  uint32
	among bool // one of the words is among all that the list can have
}

// lookFor is the words themselves.
type lookFor struct {
	words []string
	all   []string // all that the list can have, which is what it has when nothing is known of it
}

// Asked is a client before the tests: what each side of the body reads, and the marks of the words in its lists.
type Asked struct {
	readings *[2]predicate.Reading
	numbers  [2][]client.Span // the facts themselves
	yesNos   [2][]client.Truth
	sets     [2][]client.Set
	lift     *predicate.Row
	marks    [2][markedLists]uint64 // of each list by its slot; 0: not looked at yet
}

// markedLists is how many lists of a vocabulary are looked at by their marks: those beyond are always read.
const markedLists = 64

// Begin has a client asked, by readings of no drill of both sides of the body.
func (a *Asked) Begin(client *[2]predicate.Reading) {
	a.readings, a.lift = client, client[0].Lift
	for side := range client {
		f := client[side].Facts
		a.numbers[side], a.yesNos[side], a.sets[side] = f.Num[side], f.Bool[side], f.Set[side]
		clear(a.marks[side][:])
	}
}

// Forget lets go of the client.
func (a *Asked) Forget() {
	a.readings, a.lift = nil, nil
	for side := range a.numbers {
		a.numbers[side], a.yesNos[side], a.sets[side] = nil, nil, nil
	}
}

// hold is whether a predicate can hold, given where it begins.
func (t *tests) hold(at int32, a *Asked, side int) bool {
	return at == holding || t.next(at, math.MaxInt32, a, side) >= 0
}

// next walks predicates that stand one after the other, from a place to an end, to the first that can hold: it is the place
// of the test that said so. It is negative when none can.
func (t *tests) next(at, end int32, a *Asked, side int) int32 {
	list, numbers, constants := t.list, a.numbers[side], t.constants
	for at < end {
		x := &list[at]
		is := x.denied
		switch x.form {
		case aboveConstant:
			if numbers[x.slot].End(x.low) > constants[x.constant] {
				is = !is
			}
		case belowConstant:
			if numbers[x.slot].End(x.low) < constants[x.constant] {
				is = !is
			}
		default:
			is = t.holds(x, a, side)
		}
		on := x.no
		if is {
			on = x.yes
		}
		switch {
		case on > 0:
			at += int32(on)
		case int32(on) == holding:
			return at
		default:
			return failing
		}
	}
	return failing
}

// holds is for what is asked less.
func (t *tests) holds(x *test, a *Asked, side int) bool {
	switch x.form {
	case sumBelow:
		s := &t.sums[x.slot]
		return a.numbers[side][s.one].Lo+a.numbers[side][s.two].Lo < s.constant
	case aYesNo:
		if x.denied {
			return !a.yesNos[side][x.slot].Sure
		}
		return a.yesNos[side][x.slot].Possible
	case someWord:
		w := &t.words[x.slot]
		return a.marksOf(w.list, side)&w.marks != 0 && t.spelt[x.slot].in(a.sets[side][w.list].Possible, w)
	case liftAbove:
		return a.lift.Number(int(x.slot)) > t.constants[x.constant] != x.denied
	case liftBelow:
		return a.lift.Number(int(x.slot)) < t.constants[x.constant] != x.denied
	case liftYes:
		return a.lift.Yes(int(x.slot)) != x.denied
	}
	is := a.readings[side].Eval(t.nodes[x.slot])
	if x.denied {
		return !is.Sure
	}
	return is.Possible
}

// marksOf are those of all words that a list can have.
func (a *Asked) marksOf(list uint32, side int) uint64 {
	if list >= markedLists {
		return math.MaxUint64
	}
	m := &a.marks[side][list]
	if *m == 0 {
		for _, word := range a.sets[side][list].Possible {
			*m |= markOf(word)
		}
	}
	return *m
}

// in is whether one of the words is in a list.
func (w *lookFor) in(list []string, m *marked) bool {
	if len(list) == len(w.all) && len(list) > 0 && &list[0] == &w.all[0] {
		return m.among
	}
	return w.someIn(list, m.marks)
}

func (w *lookFor) someIn(list []string, marks uint64) bool {
	for _, id := range list {
		if marks&markOf(id) != 0 && slices.Contains(w.words, id) {
			return true
		}
	}
	return false
}

// markOf tells most words apart by a bit.
func markOf(word string) uint64 {
	if word == "" {
		return 1
	}
	return 1 << ((len(word)*7 + int(word[0]) + int(word[len(word)-1])*3) & 63)
}
