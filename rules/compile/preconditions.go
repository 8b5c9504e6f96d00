package compile

import (
	"drillwright/rules/predicate"
)

// Preconditions are what rules ask of the client alone, packed. Most rules end there, so asking all of them is one walk from front
// to back. They ask what can hold only, so an unknown test holds, denied or not.
type Preconditions struct {
	tests
	first []int32 // of each precondition: where it begins
	same  []int32 // of each precondition: the first that asks the same, most often itself
	sided Rules   // preconditions that read what may differ between the sides
}

// NewPreconditions packs predicates that no drill changes, one for each rule by its index; nil is of a rule that asks nothing.
func NewPreconditions(conditions []*predicate.Node) *Preconditions {
	g := &Preconditions{sided: NewRules(len(conditions))}
	asks := map[string]int32{}
	p := newPacker()
	for i, n := range conditions {
		g.same = append(g.same, int32(i))
		if n == nil || n.Op == predicate.Always {
			g.first = append(g.first, holding)
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
		j := positive(n, false)
		g.first = append(g.first, p.add(j))
		if j.reach().sided {
			g.sided.Add(i)
		}
	}
	g.tests = p.done()
	return g
}

// Holds is whether the precondition of a rule can hold, on each side of the body.
func (g *Preconditions) Holds(rule int, of *Asked) (left, right bool) {
	left = g.hold(g.first[rule], of, 0)
	if g.sided.Has(rule) {
		return left, g.hold(g.first[rule], of, 1)
	}
	return left, left
}

// Satisfied says whose preconditions hold for a client.
type Satisfied struct {
	On     [2]Rules // by side of the body
	Either Rules
}

// Ask asks every precondition, on the sides of the body.
func (g *Preconditions) Ask(of *Asked, out *Satisfied) {
	if out.Either == nil {
		out.On, out.Either = [2]Rules{NewRules(len(g.first)), NewRules(len(g.first))}, NewRules(len(g.first))
	}
	clear(out.On[0])
	clear(out.On[1])
	for i, same := range g.same {
		left, right := out.On[0].Has(int(same)), out.On[1].Has(int(same))
		if int(same) == i {
			left, right = g.Holds(i, of)
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

// Rules is a set of rules by their indexes.
type Rules []uint64

// NewRules makes room for a number of rules.
func NewRules(n int) Rules { return make(Rules, (n+63)/64) }

// Add adds a rule.
func (s Rules) Add(i int) { s[i>>6] |= 1 << (i & 63) }

// Has is whether a rule is among them.
func (s Rules) Has(i int) bool { return s[i>>6]>>(i&63)&1 != 0 }
