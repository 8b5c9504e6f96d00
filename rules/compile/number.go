package compile

import (
	"math"
	"slices"

	"drillwright/rules/client"
	"drillwright/rules/predicate"
)

// numberIndex sorts the rows of a catalogue by a number: a path of the drill, or a sum over such paths. Rows that
// don't state it are in none of its sets.
type numberIndex struct {
	values []float64 // distinct, rising
	starts []int32   // of each value in rows; the last is their count
	rows   []int32
	// from holds, for every stride-th value, all rows with that value or more.
	from   []set
	stride int
}

// bytesARow is how much an index may take for each row that states its number. In a small catalogue that is a set for
// every distinct value; in a large one there are fewer, and the rows between two sets are added one by one.
const bytesARow = 6

// number finds or makes the index of a number over drill alone.
func (b *builder) number(m *predicate.Num) *numberIndex {
	key := m.Key()
	if x, ok := b.numbers[key]; ok {
		return x
	}
	x := b.before.numberIndex(key)
	if x == nil {
		x = newNumberIndex(b.layout, m)
	}
	b.numbers[key] = x
	return x
}

func newNumberIndex(l *layout, m *predicate.Num) *numberIndex {
	type stated struct {
		value float64
		row   int32
	}
	var list []stated
	r := predicate.Read(nil, 0, nil, nil)
	for at := range l.every.all() {
		r.Drill = l.rows[at]
		if v := r.Value(m).Lo; v == v {
			list = append(list, stated{v, int32(at)})
		}
	}
	slices.SortStableFunc(list, func(a, b stated) int {
		switch {
		case a.value < b.value:
			return -1
		case a.value > b.value:
			return 1
		}
		return 0
	})
	x := &numberIndex{rows: make([]int32, len(list))}
	for i, s := range list {
		x.rows[i] = s.row
		if i == 0 || s.value != list[i-1].value {
			x.values, x.starts = append(x.values, s.value), append(x.starts, int32(i))
		}
	}
	x.starts = append(x.starts, int32(len(list)))
	x.values, x.starts = slices.Clone(x.values), slices.Clone(x.starts)
	sets := max(1, len(x.rows)*bytesARow/(l.words*8))
	x.stride = (len(x.values) + sets - 1) / sets
	x.fill(l.words)
	return x
}

func (x *numberIndex) fill(words int) {
	if len(x.values) == 0 {
		return
	}
	x.from = make([]set, (len(x.values)+x.stride-1)/x.stride)
	bits := newSet(words)
	for v := len(x.values) - 1; v >= 0; v-- {
		for _, row := range x.rows[x.starts[v]:x.starts[v+1]] {
			bits.add(int(row))
		}
		if v%x.stride == 0 {
			x.from[v/x.stride] = slices.Clone(bits)
		}
	}
}

// atLeast and above are the indexes of the first value that is at least, or above, a number.
func (x *numberIndex) atLeast(v float64) int {
	low, high := 0, len(x.values)
	if high == 0 || x.values[high-1] < v {
		return high // most clients reach beyond every drill
	}
	for low < high {
		if middle := (low + high) / 2; x.values[middle] < v {
			low = middle + 1
		} else {
			high = middle
		}
	}
	return low
}

func (x *numberIndex) above(v float64) int {
	i := x.atLeast(v)
	if i < len(x.values) && x.values[i] == v {
		i++
	}
	return i
}

// since is all rows from the value at an index on; spare is written over where no set stands at that place.
func (x *numberIndex) since(place int, spare set) set {
	if place >= len(x.values) {
		return nil
	}
	next := (place + x.stride - 1) / x.stride
	if next*x.stride == place {
		return x.from[next]
	}
	end := len(x.rows)
	if next < len(x.from) {
		copy(spare, x.from[next])
		end = int(x.starts[next*x.stride])
	} else {
		clear(spare)
	}
	for _, row := range x.rows[x.starts[place]:end] {
		spare.add(int(row))
	}
	return spare
}

// numberAtom compares a number of the drill with a number that no drill changes.
type numberAtom struct {
	index *numberIndex
	top   float64    // of the index: -Inf when no row states the number
	cmp   comparison // of the drill's number to the other
	sided bool
	// The other number: one fact, or the sum of two; anything else is right, evaluated by its closure.
	facts    int8
	one, two int32
	right    *predicate.Num
	node     *predicate.Node
}

// isolated is a comparison turned so that the drill's side stands on the left; drill is nil when both sides read the drill,
// or a side of the drill's the client.
func isolated(n *predicate.Node) (drill *predicate.Num, cmp comparison, other *predicate.Num) {
	left, right := reachOf(n.L), reachOf(n.R)
	switch {
	case left.drill && !left.request && !right.drill:
		return n.L, comparisons[n.Cmp], n.R
	case right.drill && !right.request && !left.drill:
		return n.R, comparisons[predicate.Turned[n.Cmp]], n.L
	}
	return nil, 0, nil
}

// numberAtom makes the atom of a comparison; nil when the drill's side can't be isolated.
func (b *builder) numberAtom(n *predicate.Node) *numberAtom {
	drill, cmp, other := isolated(n)
	if drill == nil {
		return nil
	}
	a := add(&b.numberSlab, numberAtom{cmp: cmp, right: other, sided: reachOf(other).sided, node: n})
	a.lookInto(b.number(drill))
	switch {
	case aFact(other):
		a.facts, a.one = 1, int32(other.Ref.Slot)
	case twoFacts(other):
		a.facts, a.one, a.two = 2, int32(other.L.Ref.Slot), int32(other.R.Ref.Slot)
	}
	return a
}

func (a *numberAtom) lookInto(x *numberIndex) {
	a.index, a.top = x, x.top()
}

// top is the greatest value; -Inf when no row states the number.
func (x *numberIndex) top() float64 {
	if len(x.values) == 0 {
		return math.Inf(-1)
	}
	return x.values[len(x.values)-1]
}

func reachOf(m *predicate.Num) reach {
	return joint{atom: &predicate.Node{Op: predicate.Compare, L: m}}.reach()
}

// other is the number that the drill's is compared with.
func (a *numberAtom) other(r *request, side int) client.Span {
	if !a.sided {
		side = 0
	}
	switch a.facts {
	case 1:
		return r.numbers[side][a.one]
	case 2:
		one, two := r.numbers[side][a.one], r.numbers[side][a.two]
		return client.Span{Lo: one.Lo + two.Lo, Hi: one.Hi + two.Hi}
	}
	return r.readings[side].Value(a.right)
}

// beyond is whether no drill can satisfy the comparison, told without looking for the index of the client's number.
func (a *numberAtom) beyond(r *request, upper bool) bool {
	v := a.other(r, r.side)
	if upper {
		return v.Lo != v.Lo || a.under(v.Lo)
	}
	return v.Lo != v.Lo || a.under(v.Hi)
}

// under is whether every drill's number lies below what the comparison asks for: most clients reach beyond every drill.
func (a *numberAtom) under(low float64) bool {
	return a.cmp == above && low >= a.top || a.cmp == atLeast && low > a.top
}

func (a *numberAtom) find(r *request, upper bool, t *term) (known bool) {
	v := a.other(r, r.side)
	*t = term{}
	if v.Lo != v.Lo || v.Hi != v.Hi {
		return true // not stated: no comparison with it holds
	}
	x, low, high := a.index, v.Lo, v.Hi // what the drill's number is compared with where it is a lower, an upper bound
	if !upper {
		low, high = v.Hi, v.Lo
	}
	if a.under(low) {
		return v.Lo == v.Hi
	}
	switch a.cmp {
	case above:
		t.plus = x.since(x.above(low), r.spare[0])
	case atLeast:
		t.plus = x.since(x.atLeast(low), r.spare[0])
	case below:
		t.plus, t.minus = x.since(0, r.spare[0]), x.since(x.atLeast(high), r.spare[1])
	case atMost:
		t.plus, t.minus = x.since(0, r.spare[0]), x.since(x.above(high), r.spare[1])
	default:
		if low <= high { // equal for sure only to a single value
			t.plus, t.minus = x.since(x.atLeast(low), r.spare[0]), x.since(x.above(high), r.spare[1])
		}
	}
	return v.Lo == v.Hi
}
