package random

import (
	"strings"

	"drillwright/catalog"
)

// node is a condition before it is written: a join of others, or an atom.
type node struct {
	join string // and, or; empty for an atom
	kids []*node
	atom string
	not  bool
	// aimed atoms say which drills are meant; denied, they would mean nearly all.
	aimed bool
}

// author draws conditions.
type author struct {
	*dice
	voc *catalog.Vocabulary
	// motions with a range, regions and so on, by id.
	motions, regions, muscles, conditions []string
}

func newAuthor(seed, stream uint64, v *catalog.Vocabulary) *author {
	a := &author{dice: roll(seed, stream), voc: v, regions: v.IDs("region"), muscles: v.IDs("muscle"), conditions: v.IDs("condition")}
	for _, m := range ranged(v) {
		a.motions = append(a.motions, m.ID)
	}
	return a
}

// tree draws a condition of 2 to 8 atoms in 1 to 4 levels. Most conditions are conjunctions, as in a book that people
// write: one that is either this or that holds so often that, in a bar, it would leave no drill open.
func (a *author) tree(either float64) *node {
	atoms := 2 + a.weighted(20, 28, 22, 13, 8, 5, 4)
	join := "and"
	if a.chance(either) {
		join = "or"
	}
	return a.joined(join, atoms, 1+a.weighted(35, 35, 20, 10))
}

// joined spreads atoms over the levels that are left, as far as they go; and and or take turns.
func (a *author) joined(join string, atoms, levels int) *node {
	n := &node{join: join}
	other := map[string]string{"and": "or", "or": "and"}[join]
	deep := 0
	if levels > 1 && atoms > 2 {
		deep = a.between(min(levels, atoms-1), atoms-1)
		n.kids = append(n.kids, a.joined(other, deep, levels-1))
	}
	for range atoms - deep {
		n.kids = append(n.kids, &node{atom: a.draw()})
	}
	a.Shuffle(len(n.kids), func(i, j int) { n.kids[i], n.kids[j] = n.kids[j], n.kids[i] })
	return n
}

// aim makes one part of a conjunction say which drills are meant, so that it doesn't fall on all of them at once.
func (a *author) aim(root *node) {
	for _, k := range root.kids {
		if root.join == "and" && k.join == "" {
			k.atom, k.aimed = a.few(), true
			return
		}
	}
}

// draw draws an atom: about a third read the drill alone, a quarter the client alone, the others both.
func (a *author) draw() string {
	switch a.weighted(34, 26, 18, 11, 8, 3) {
	case 0:
		return a.ofDrill()
	case 1:
		return a.ofClient()
	case 2:
		return a.figures()
	case 3:
		return a.overlap()
	case 4:
		return a.ofLift()
	default:
		return a.entangled()
	}
}

// deny puts a not somewhere below the top, and now and then a second one.
func (a *author) deny(root *node) {
	var all []*node
	var collect func(*node)
	collect = func(n *node) {
		if n != root && !n.aimed {
			all = append(all, n)
		}
		for _, k := range n.kids {
			collect(k)
		}
	}
	collect(root)
	pick(a.dice, all).not = true
	if a.chance(0.2) {
		pick(a.dice, all).not = true
	}
}

// write writes a condition; inside is true where a join needs brackets.
func (n *node) write(inside bool) string {
	if n.join == "" {
		if n.not {
			return denied(n.atom)
		}
		return n.atom
	}
	kids := make([]string, len(n.kids))
	for i, k := range n.kids {
		kids[i] = k.write(true)
	}
	text := strings.Join(kids, " "+n.join+" ")
	switch {
	case n.not:
		return "not (" + text + ")"
	case inside && len(kids) > 1:
		return "(" + text + ")"
	}
	return text
}

// denied writes not in the way a person would.
func denied(atom string) string {
	call := strings.HasPrefix(atom, "any(") || strings.HasPrefix(atom, "all(") || strings.HasPrefix(atom, "count(")
	switch {
	case !strings.Contains(atom, " "), call && strings.HasSuffix(atom, ")"):
		return "not " + atom
	case !call && strings.Contains(atom, " in "):
		return strings.Replace(atom, " in ", " not in ", 1)
	case !call && strings.HasSuffix(atom, "'"):
		return strings.Replace(atom, " == ", " != ", 1)
	}
	return "not (" + atom + ")"
}
