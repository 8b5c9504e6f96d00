package compile

import (
	"iter"
	"math/bits"

	"drillwright/rules/client"
	"drillwright/rules/predicate"
)

// Verdicts is what a book says of every drill for one request, and the room that judging needs. It is used again
// for the next request on the same program, and then allocates nothing. It is for one goroutine.
type Verdicts struct {
	program   *Program
	position  []int32 // of each drill in the sets
	request   *request
	uncovered *request // the facts without what a clearance covers; begun only when there is something

	barred, untested [2]set     // by side, over first rows
	decided          [2][]int32 // where barred: the rule that did it
	untestedSides    []UntestedSide

	open     Rules // whose preconditions hold
	points   [2][]int32
	favoured set    // the drills whose points are known
	fresh    [2]set // by side: those whose points are being worked out

	question  [2]set // by side of the body: rows that no bar has closed yet
	rows      [2]set // by side of the body: rows that the run at hand has left
	can, must [2]set // by side: drills of the possible run, and of the firm one
}

// UntestedSide is a bar on a side of a drill that a test may lift. Rule is an index in the list of rules, Drill one in the
// catalogue.
type UntestedSide struct{ Rule, Drill, Side int }

// NewVerdicts makes room for judging.
func (p *Program) NewVerdicts() *Verdicts {
	l := p.layout
	v := &Verdicts{program: p, position: l.position, request: newRequest(p), uncovered: newRequest(p), favoured: newSet(l.first)}
	for side := range 2 {
		v.barred[side], v.untested[side] = newSet(l.first), newSet(l.first)
		v.can[side], v.must[side], v.fresh[side] = newSet(l.first), newSet(l.first), newSet(l.first)
		v.question[side], v.rows[side] = newSet(l.words), newSet(l.words)
		v.decided[side], v.points[side] = make([]int32, len(l.drill)), make([]int32, len(l.drill))
	}
	return v
}

// Judge runs the bars whose preconditions hold, and keeps the favours for when the points of drills are asked. uncovered are
// the facts without what a clearance covers; nil when it covers nothing.
func (v *Verdicts) Judge(f, uncovered *client.Facts, lift *predicate.Row, open Rules) {
	v.begin(f, uncovered, lift)
	v.open = open
	for _, i := range v.program.bars {
		if f.Request.Abandoned() {
			return // nobody will use it
		}
		if open.Has(int(i)) {
			v.bar(int(i), uncovered != nil)
		}
	}
}

func (v *Verdicts) begin(f, uncovered *client.Facts, lift *predicate.Row) {
	v.request.begin(f, lift)
	if uncovered != nil {
		v.uncovered.begin(uncovered, lift)
	}
	v.untestedSides = v.untestedSides[:0]
	clear(v.favoured)
	for side := range 2 {
		clear(v.barred[side])
		clear(v.untested[side])
		clear(v.points[side])
		copy(v.question[side], v.program.layout.every)
	}
}

// Forget lets go of the facts.
func (v *Verdicts) Forget() {
	v.open = nil
	v.request.forget()
	v.uncovered.forget()
}

// bar runs one bar: what is firm is closed, what is merely possible waits for a test.
func (v *Verdicts) bar(i int, covers bool) {
	r := &v.program.rules[i]
	if !v.run(v.request, r, possible, &v.question) {
		return
	}
	settled := !v.request.unsettled || r.firmIsPossible
	v.fold(&v.can, r)
	covers = covers && r.Coverable
	if covers && !v.cover(r) {
		return
	}
	if settled {
		v.close(i, &v.can)
		return
	}
	if covers { // the run before was of other facts
		v.run(v.request, r, firm, &v.question)
	} else {
		v.run(v.request, r, firm, nil)
	}
	v.fold(&v.must, r)
	v.close(i, &v.must)
	v.markUntested(i)
}

// cover leaves in can what would be barred without the covered predicates too: the rest is a caution now.
func (v *Verdicts) cover(r *rule) bool {
	v.run(v.uncovered, r, possible, &v.question)
	v.fold(&v.must, r)
	left := v.can[0].and(v.must[0])
	return v.can[1].and(v.must[1]) || left
}

// run asks one question of a rule, of some rows by side, and leaves in rows those for which the answer is yes. Without
// such rows it goes on from those that the run before has left, which had no fewer.
func (v *Verdicts) run(q *request, r *rule, run runOf, from *[2]set) bool {
	q.run, q.unsettled = run, false
	words, sides, some := v.program.layout.words, 2, false
	if !r.BothRows {
		words = v.program.layout.first
	}
	if !r.sided {
		sides = 1
	}
	for q.side = 0; q.side < sides; q.side++ {
		rows := v.rows[q.side][:words]
		if !q.ahead(&r.body) {
			clear(rows)
			continue
		}
		if from != nil {
			copy(rows, from[q.side])
			if !r.sided {
				rows.or(from[1][:len(rows)])
			}
		}
		some = q.narrowOpen(&r.body, rows) || some
	}
	if !r.sided {
		copy(v.rows[1][:words], v.rows[0])
	}
	return some
}

// fold turns rows by side of the body into drills by side: a second row loads the other side of the body.
func (v *Verdicts) fold(out *[2]set, r *rule) {
	for side := range out {
		if r.BothRows {
			v.program.layout.fold(out[side], v.rows[side], v.rows[1-side])
		} else {
			copy(out[side], v.rows[side])
		}
	}
}

// close bars drills, and takes their rows out of question for the rules to come.
func (v *Verdicts) close(i int, drills *[2]set) {
	for side, found := range drills {
		own, other := v.question[side], v.question[1-side][v.program.layout.first:]
		for w := range found {
			fresh := found[w] & v.can[side][w] &^ v.barred[side][w]
			if fresh == 0 {
				continue
			}
			v.barred[side][w] |= fresh
			own[w] &^= fresh
			if w < len(other) {
				other[w] &^= fresh
			}
			for ; fresh != 0; fresh &= fresh - 1 {
				v.decided[side][w<<6+bits.TrailingZeros64(fresh)] = int32(i)
			}
		}
	}
}

// markUntested notes the drills that the rule could bar and that are still open otherwise.
func (v *Verdicts) markUntested(i int) {
	for side := range 2 {
		for w, can := range v.can[side] {
			left := can &^ v.must[side][w] &^ v.barred[side][w]
			v.untested[side][w] |= left
			for ; left != 0; left &= left - 1 {
				place := w<<6 + bits.TrailingZeros64(left)
				v.untestedSides = append(v.untestedSides, UntestedSide{i, int(v.program.layout.drill[place]), side})
			}
		}
	}
}

// favour works out the points of drills that no bar has closed, of those that are not known yet.
func (v *Verdicts) favour(of set) {
	some := false
	for w := range v.favoured {
		fresh := of[w] &^ v.favoured[w]
		some = some || fresh != 0
		v.favoured[w] |= fresh
		v.fresh[0][w], v.fresh[1][w] = v.question[0][w]&fresh, v.question[1][w]&fresh
	}
	for _, i := range v.program.favours {
		if some && v.open.Has(int(i)) {
			v.add(&v.program.rules[i])
		}
	}
}

// add adds a rule's points: for a drill only when sure, against it when possible.
func (v *Verdicts) add(r *rule) {
	run := sure
	if r.Points < 0 {
		run = possible
	}
	if !v.run(v.request, r, run, &v.fresh) {
		return
	}
	for side := range 2 {
		points := v.points[side]
		for w := range v.barred[side] {
			for held := v.rows[side][w] &^ v.barred[side][w]; held != 0; held &= held - 1 {
				points[w<<6+bits.TrailingZeros64(held)] += int32(r.Points)
			}
		}
	}
}

// Barred is whether a drill is barred on a side.
func (v *Verdicts) Barred(drill, side int) bool { return v.barred[side].has(int(v.position[drill])) }

// DrillResult is how a drill came out, by side. Untested and Points mean nothing of a side that is barred.
type DrillResult struct {
	Drill            int
	Barred, Untested [2]bool
	Points           [2]int
}

// Of is how one drill came out.
func (v *Verdicts) Of(drill int) DrillResult {
	at := int(v.position[drill])
	v.favourOne(at)
	return v.at(at)
}

// favourOne works out the points of all drills when those of one are asked that aren't known.
func (v *Verdicts) favourOne(at int) {
	if !v.favoured.has(at) {
		v.favour(v.program.layout.every[:v.program.layout.first])
	}
}

func (v *Verdicts) at(at int) DrillResult {
	return DrillResult{Drill: int(v.program.layout.drill[at]), Barred: [2]bool{v.barred[0].has(at), v.barred[1].has(at)},
		Untested: [2]bool{v.untested[0].has(at), v.untested[1].has(at)}, Points: [2]int{int(v.points[0][at]), int(v.points[1][at])}}
}

// Left yields those of some drills that aren't barred on both sides, in no order that means anything.
func (v *Verdicts) Left(of Drills) iter.Seq[DrillResult] {
	return func(yield func(DrillResult) bool) {
		if !of.Empty() {
			v.favour(of.first)
		}
		for w, some := range of.first {
			for left := some &^ (v.barred[0][w] & v.barred[1][w]); left != 0; left &= left - 1 {
				if !yield(v.at(w<<6 + bits.TrailingZeros64(left))) {
					return
				}
			}
		}
	}
}

// CountLeft counts those of some drills that Left yields; of drills that work both sides at once, those that aren't barred
// on either.
func (v *Verdicts) CountLeft(of, oneSide Drills) int {
	n := 0
	for w, some := range of.first {
		left, right := v.barred[0][w], v.barred[1][w]
		n += bits.OnesCount64(some &^ (left&right | (left|right)&^oneSide.first[w]))
	}
	return n
}

// Decider is the rule that first barred a drill on a side; it means nothing where none did.
func (v *Verdicts) Decider(drill, side int) int { return int(v.decided[side][v.position[drill]]) }

// Untested is whether a drill that isn't barred waits for a test on a side.
func (v *Verdicts) Untested(drill, side int) bool {
	return v.untested[side].has(int(v.position[drill]))
}

// Points are the favours of a drill that isn't barred, on a side.
func (v *Verdicts) Points(drill, side int) int {
	at := int(v.position[drill])
	v.favourOne(at)
	return int(v.points[side][at])
}

// AllUntested lists what waits for a test, rule by rule, of drills that no bar closed.
func (v *Verdicts) AllUntested(yield func(UntestedSide) bool) {
	for _, w := range v.untestedSides {
		if !v.Barred(w.Drill, w.Side) && !yield(w) {
			return
		}
	}
}
