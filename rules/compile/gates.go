package compile

import (
	"slices"

	"drillwright/rules/client"
	"drillwright/rules/condition"
)

// Gates are what rules ask of the client alone, packed: tests side by side in memory, each with where to go on when it
// holds and when it doesn't. Most rules end there, so asking all of them is one walk from front to back. They ask what
// can hold only, so an unknown test holds, denied or not.
type Gates struct {
	tests []test
	first []int32 // of each gate: a place in tests, or open
	same  []int32 // of each gate: the first that asks the same, most often itself
	sided Rules   // gates that read what may differ between the sides
	words []lookFor
	nodes []*condition.Node
}

// Where a gate ends.
const (
	open int32 = -1
	shut int32 = -2
)

// test is a literal of a gate. A number against one that is written out, a yes-or-no and words in a list of the client's
// are looked up where they stand; the others are evaluated by their closures.
type test struct {
	form    testForm
	cmp     comparison
	denied  bool
	slot    int32 // of the fact, or of the lift
	what    int32 // place in words or nodes
	yes, no int32 // the next test, or the end
	k       float64
}

type testForm uint8

const (
	byClosure testForm = iota
	aNumber
	aYesNo
	someWord
	liftNumber
	liftYes
)

// lookFor is words of which one is to be in a list of the client's.
type lookFor struct {
	words []string
	marks uint64   // of the words: what leaves none of them isn't among them
	all   []string // all that the list can have, which is what it has when nothing is known of it
	among bool     // one of the words is among all
}

// NewGates packs conditions that no drill changes, one for each rule by its place; nil is of a rule that asks nothing.
func NewGates(conditions []*condition.Node) *Gates {
	g := &Gates{sided: NewRules(len(conditions))}
	asks := map[string]int32{}
	for i, n := range conditions {
		g.same = append(g.same, int32(i))
		if n == nil || n.Op == condition.Always {
			g.first = append(g.first, open)
			continue
		}
		if had, ok := asks[n.Key()]; ok {
			g.first, g.same[i] = append(g.first, g.first[had]), had
			if g.sided.Has(int(had)) {
				g.sided.Add(i)
			}
			continue
		}
		asks[n.Key()] = int32(i)
		j := positive(n, false).gathered()
		g.first = append(g.first, int32(len(g.tests)))
		g.add(j, open, shut)
		if j.reach().sided {
			g.sided.Add(i)
		}
	}
	g.tests, g.words, g.nodes = slices.Clone(g.tests), slices.Clone(g.words), slices.Clone(g.nodes) // no longer than needed
	return g
}

// add appends the tests of a joint; yes and no are where to go on after it.
func (g *Gates) add(j joint, yes, no int32) {
	if j.op != condition.And && j.op != condition.Or {
		g.tests = append(g.tests, g.test(j.atom, j.denied, yes, no))
		return
	}
	for i, k := range j.kids {
		next := int32(len(g.tests) + k.literals())
		switch {
		case i == len(j.kids)-1:
			g.add(k, yes, no)
		case j.op == condition.And:
			g.add(k, next, no)
		default:
			g.add(k, yes, next)
		}
	}
}

// gathered joins the literals of an or that look for words in the same list: one of all the words is looked for.
func (j joint) gathered() joint {
	var kids []joint
	at := map[string]int{} // place in kids, by list
	for _, k := range j.kids {
		k = k.gathered()
		if words, list := k.someWord(); list != nil && j.op == condition.Or {
			if i, ok := at[list.Name]; ok {
				had, _ := kids[i].someWord()
				k.atom = someOf(list, slices.Concat(had, words))
				kids[i] = k
				continue
			}
			at[list.Name] = len(kids)
		}
		kids = append(kids, k)
	}
	j.kids = kids
	return j
}

// someOf is that some word of a list is one of those.
func someOf(list *condition.Ref, words []string) *condition.Node {
	among := &condition.Node{Op: condition.Within, A: &condition.Words{Element: true}, B: &condition.Words{Literal: words}}
	return &condition.Node{Op: condition.Has, Quant: "any", Least: 1, List: &condition.Words{Ref: list}, Body: among}
}

// someWord is what a literal looks for, if that can be looked up.
func (j joint) someWord() ([]string, *condition.Ref) {
	if j.atom == nil || j.denied {
		return nil, nil
	}
	return someWordOf(j.atom)
}

// literals is how many a joint has.
func (j joint) literals() int {
	if j.op != condition.And && j.op != condition.Or {
		return 1
	}
	n := 0
	for _, k := range j.kids {
		n += k.literals()
	}
	return n
}

func (g *Gates) test(n *condition.Node, denied bool, yes, no int32) test {
	t := test{denied: denied, yes: yes, no: no}
	s := scalar{}
	s.shorten(n)
	words, list := joint{atom: n, literal: literal{denied: denied}}.someWord()
	switch {
	case s.form == factAgainst:
		t.form, t.slot, t.cmp, t.k = aNumber, s.slot, s.cmp, s.k
	case s.form == yesNo:
		t.form, t.slot = aYesNo, s.slot
	case s.form == liftAgainst:
		t.form, t.slot, t.cmp, t.k = liftNumber, s.slot, s.cmp, s.k
	case n.Op == condition.Is && n.Ref.Root == condition.OfLift:
		t.form, t.slot = liftYes, int32(n.Ref.Slot)
	case list != nil:
		t.form, t.slot, t.what = someWord, int32(list.Slot), int32(len(g.words))
		w := lookFor{words: words, all: list.Path.Words}
		for _, id := range words {
			w.marks |= markOf(id)
		}
		w.among = w.someIn(w.all)
		g.words = append(g.words, w)
	default:
		t.what = int32(len(g.nodes))
		g.nodes = append(g.nodes, n)
	}
	return t
}

// someWordOf recognises conditions that can hold when one of some words can be in a list of the client's: a word in it,
// its own word in a list written out, some word of it in one.
func someWordOf(n *condition.Node) (words []string, list *condition.Ref) {
	ofClient := func(w *condition.Words) bool { return w.Ref != nil && w.Ref.Root == condition.OfFacts }
	writtenOut := func(w *condition.Words) bool { return w.Ref == nil && !w.Element }
	switch {
	case n.Op == condition.Within && len(n.A.Literal) == 1 && ofClient(n.B):
		return n.A.Literal, n.B.Ref
	case n.Op == condition.Within && ofClient(n.A) && writtenOut(n.B):
		return n.B.Literal, n.A.Ref
	case n.Op == condition.Has && n.Quant == "any" && n.Least == 1 && ofClient(n.List) && n.Body.Op == condition.Within && n.Body.A.Element && writtenOut(n.Body.B):
		return n.Body.B.Literal, n.List.Ref
	}
	return nil, nil
}

// Open is whether the gate of a rule can hold, on each side of the body.
func (g *Gates) Open(rule int, client *[2]condition.Reading) (left, right bool) {
	left = g.open(rule, &client[0])
	if g.sided.Has(rule) {
		return left, g.open(rule, &client[1])
	}
	return left, left
}

func (g *Gates) open(rule int, r *condition.Reading) bool {
	at := g.first[rule]
	for at >= 0 {
		if t := &g.tests[at]; g.holds(t, r) {
			at = t.yes
		} else {
			at = t.no
		}
	}
	return at == open
}

func (g *Gates) holds(t *test, r *condition.Reading) bool {
	var is client.Truth
	switch t.form {
	case aNumber:
		is = t.cmp.holds(r.Facts.Num[r.Side][t.slot], t.k)
	case aYesNo:
		is = r.Facts.Bool[r.Side][t.slot]
	case someWord:
		return g.words[t.what].in(r.Facts.Set[r.Side][t.slot].Possible)
	case liftNumber:
		v := r.Lift.Number(int(t.slot))
		is = t.cmp.holds(client.Span{Lo: v, Hi: v}, t.k)
	case liftYes:
		return r.Lift.Yes(int(t.slot)) != t.denied
	default:
		is = r.Eval(g.nodes[t.what])
	}
	if t.denied {
		return !is.Sure
	}
	return is.Possible
}

func (w *lookFor) in(list []string) bool {
	if len(list) == len(w.all) && len(list) > 0 && &list[0] == &w.all[0] {
		return w.among
	}
	return w.someIn(list)
}

func (w *lookFor) someIn(list []string) bool {
	for _, id := range list {
		if w.marks&markOf(id) != 0 && slices.Contains(w.words, id) {
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

// Opened says whose gates are open for a client.
type Opened struct {
	On     [2]Rules // by side of the body
	Either Rules
}

// Ask asks every gate, on the sides of the body.
func (g *Gates) Ask(client *[2]condition.Reading, out *Opened) {
	if out.Either == nil {
		out.On, out.Either = [2]Rules{NewRules(len(g.first)), NewRules(len(g.first))}, NewRules(len(g.first))
	}
	clear(out.On[0])
	clear(out.On[1])
	for i, same := range g.same {
		left, right := out.On[0].Has(int(same)), out.On[1].Has(int(same))
		if int(same) == i {
			left, right = g.Open(i, client)
		}
		if left {
			out.On[0].Add(i)
		}
		if right {
			out.On[1].Add(i)
		}
	}
	for w := range out.Either {
		out.Either[w] = out.On[0][w] | out.On[1][w]
	}
}

// Rules is a set of rules by their places.
type Rules []uint64

// NewRules makes room for a number of rules.
func NewRules(n int) Rules { return make(Rules, (n+63)/64) }

// Add adds a rule.
func (s Rules) Add(i int) { s[i>>6] |= 1 << (i & 63) }

// Has is whether a rule is among them.
func (s Rules) Has(i int) bool { return s[i>>6]>>(i&63)&1 != 0 }
