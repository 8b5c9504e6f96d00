package analysis

import (
	"math"
	"slices"
	"strings"

	"drillwright/rules/client"
	"drillwright/rules/predicate"
)

// values are what a lever may be told instead of what it says: one for each cell in which the atoms can't tell two values
// apart, the nearest to today's.
func (n *nearest) values(index int, f *client.Facts) []Value {
	k := n.levers[index]
	var out []Value
	switch {
	case k.path == "client.conditions":
		out = []Value{{}, {Yes: true, Word: "CLIENT"}, {Yes: true, Word: "CLINICIAN"}, {Yes: true, Word: "PAST"}}
	case k.of.Kind == client.Number:
		out = n.numbers(k, f)
	case k.of.Kind == client.Word:
		for _, w := range k.of.Words {
			out = append(out, Value{Word: w})
		}
	default:
		out = []Value{{Yes: true}, {}}
	}
	out = slices.DeleteFunc(out, func(v Value) bool { return k.reports(v, f) || n.rising && k.known && k.falls(v) })
	if k.sole {
		return n.helpful(k, f, out)
	}
	return out
}

// helpful leaves the values that meet an atom which isn't met: of a fact that stands alone, others only take a change.
func (n *nearest) helpful(k *lever, f *client.Facts, values []Value) []Value {
	var unmet []*constraint
	for _, b := range k.atoms {
		if !n.met(b.constraint) {
			unmet = append(unmet, b.constraint)
		}
	}
	return slices.DeleteFunc(values, func(v Value) bool {
		back := n.write(k, f, v)
		defer back()
		return !slices.ContainsFunc(unmet, n.met)
	})
}

// falls is true of less than what is known: a smaller number, a list without a member.
func (k *lever) falls(v Value) bool {
	switch k.of.Kind {
	case client.Number:
		return v.None || v.Number < k.was.Number
	case client.List:
		return !v.Yes
	}
	return false
}

// numbers cuts what a number spans at every threshold. Each cut is a cell, and each stretch between two.
func (n *nearest) numbers(k *lever, f *client.Facts) []Value {
	cuts := n.cuts(k, f)
	ends := append(append([]float64{k.of.Lo - 1}, cuts...), k.of.Hi+1)
	var tries []float64
	for i, cut := range ends {
		if i > 0 && i < len(ends)-1 {
			tries = append(tries, cut)
		}
		if i+1 < len(ends) {
			tries = append(tries, k.between(cut, ends[i+1])...)
		}
	}
	if len(k.joint) > 1 {
		n.inexact = true
	}
	var out []Value
	slices.Sort(tries)
	for _, v := range slices.Compact(tries) {
		if whole := v == math.Trunc(v) || !k.how.whole && !n.rising; whole && v >= k.of.Lo && v <= k.of.Hi {
			out = append(out, Value{Number: v})
		}
	}
	if k.how.canNone {
		out = append(out, Value{None: true})
	}
	return out
}

// between are the values of the open stretch from a to b: the nearest to today's, whole where there is a whole one; at
// both ends where other numbers decide with it.
func (k *lever) between(a, b float64) []float64 {
	low, high := math.Floor(a)+1, math.Ceil(b)-1
	if low > high {
		low = (a + b) / 2 // no whole number lies between
		high = low
	}
	switch {
	case len(k.joint) > 0:
		return []float64{low, high, min(max(k.from, low), high)}
	case k.from > a && k.from < b:
		return []float64{k.from}
	case k.from <= a:
		return []float64{low}
	}
	return []float64{high}
}

// cuts are the thresholds of a number, in order: where an atom that reads it turns while all other facts stay.
func (n *nearest) cuts(k *lever, f *client.Facts) []float64 {
	cuts := n.fixedCuts(k)
	for _, b := range k.atoms {
		rd := &n.readings[b.constraint.reading]
		for _, c := range comparisonsOf(b.constraint.atom) {
			if !n.step(solvingSteps) {
				return nil
			}
			if strings.HasPrefix(b.ref.Name, "client.gap.strength.") || strings.HasPrefix(b.ref.Name, "client.gap.hold.") {
				for _, gap := range thresholds(c, rd, func(v float64) func() { return posed(f, b.ref, rd.Side, v) }) {
					cuts = append(cuts, k.shortBy(gap, f)...)
				}
			} else {
				cuts = append(cuts, thresholds(c, rd, func(v float64) func() { return n.probe(k, f, v) })...)
			}
		}
	}
	cuts = slices.DeleteFunc(cuts, func(v float64) bool { return !(v >= k.of.Lo && v <= k.of.Hi) })
	slices.Sort(cuts)
	return slices.Compact(cuts)
}

func comparisonsOf(c *predicate.Node) []*predicate.Node {
	var out []*predicate.Node
	if c.Op == predicate.Compare {
		out = append(out, c)
	}
	for _, k := range c.Kids {
		out = append(out, comparisonsOf(k)...)
	}
	if c.Body != nil {
		out = append(out, comparisonsOf(c.Body)...)
	}
	return out
}

// thresholds solves a comparison for one number, which put sets: where it turns sure, and where it turns possible.
func thresholds(c *predicate.Node, rd *predicate.Reading, put func(v float64) (back func())) []float64 {
	at := func(v float64) (sure, possible float64) {
		back := put(v)
		defer back()
		l, r := rd.Value(c.L), rd.Value(c.R)
		return l.Lo - r.Hi, l.Hi - r.Lo
	}
	sure0, possible0 := at(0)
	sure1, possible1 := at(1)
	var out []float64
	for _, line := range [][2]float64{{sure0, sure1 - sure0}, {possible0, possible1 - possible0}} {
		if t := -line[0] / line[1]; !math.IsNaN(t) && !math.IsInf(t, 0) {
			out = append(out, t+0)
		}
	}
	return out
}

// posed sets a number of the facts on a side.
func posed(f *client.Facts, r *predicate.Ref, side int, v float64) (back func()) {
	was := [2]client.Span{f.Num[0][r.Slot], f.Num[1][r.Slot]}
	for s := range 2 {
		if s == side || !r.Path.Sided {
			f.Num[s][r.Slot] = client.Span{Lo: v, Hi: v}
		}
	}
	return func() { f.Num[0][r.Slot], f.Num[1][r.Slot] = was[0], was[1] }
}

// probe sets a number as telling it would: a range with the margin of whoever measures it, and with what it is short of
// the other side.
func (n *nearest) probe(k *lever, f *client.Facts, v float64) (back func()) {
	backs := []func(){n.setPath(f, k.path, k.side, v)}
	if motion, ok := strings.CutPrefix(k.path, "client.range."); ok {
		backs = append(backs, n.setPath(f, "client.margin."+motion, k.side, n.marginOf(n.measurer(motion, k.side))))
		if other := f.Number(k.path, 1-k.side); k.of.Sided && f.StatusOf(k.path, 1-k.side) == client.Measured {
			backs = append(backs, n.setPath(f, "client.gap.range."+motion, k.side, other.Lo-v), n.setPath(f, "client.gap.range."+motion, 1-k.side,
				v-other.Lo))
		}
	}
	return func() {
		for _, b := range slices.Backward(backs) {
			b()
		}
	}
}

func (n *nearest) setPath(f *client.Facts, path string, side int, v float64) (back func()) {
	p := n.e.Frame.Table.Path(path)
	return posed(f, &predicate.Ref{Slot: p.Slot, Path: p}, side, v)
}

// measurer is who measured a range on a side last: whoever measures it again is taken to be as careful.
func (n *nearest) measurer(motion string, side int) string {
	by := "SAME_MEASURER"
	for _, m := range n.Request.Profile.RangeDeg {
		if m.Of == motion && m.Side.On(side) {
			by = m.By
		}
	}
	return by
}

func (n *nearest) marginOf(by string) float64 {
	m := &n.e.Frame.Measures.Margin
	switch by {
	case "SAME_MEASURER":
		return m.SameMeasurer
	case "SELF":
		return m.Self
	}
	return m.Other
}

// shortBy are the values at which this side, or the other, is short by so many percent of the stronger.
func (k *lever) shortBy(percent float64, f *client.Facts) []float64 {
	if f.StatusOf(k.path, 1-k.side) != client.Measured {
		return nil
	}
	other, share := f.Number(k.path, 1-k.side).Lo, percent/100
	var out []float64
	for _, v := range []float64{other * (1 - share), other / (1 + share), other * (1 + share), other / (1 - share)} {
		if !math.IsNaN(v) && !math.IsInf(v, 0) {
			out = append(out, v)
		}
	}
	return out
}

// fixedCuts are where a number changes what follows from it, where that is read.
func (n *nearest) fixedCuts(k *lever) []float64 {
	m := &n.e.Frame.Measures
	switch {
	case !slices.ContainsFunc(k.atoms, func(b occurrence) bool { return b.ref.Name != k.path }):
		return nil
	case k.path == "client.age_years":
		cuts := []float64{float64(m.Hypermobile.UpToAge)}
		for i := range n.e.Frame.Vocabulary.Motions {
			for _, norm := range n.e.Frame.Vocabulary.Motions[i].Norms {
				cuts = append(cuts, float64(norm.Ages[0]), float64(norm.Ages[1]))
			}
		}
		return cuts
	case k.path == "client.beighton":
		return []float64{float64(m.Hypermobile.Score), float64(m.Hypermobile.After)}
	case strings.HasPrefix(k.path, "client.pain.") && strings.HasSuffix(k.path, ".worst"):
		return []float64{m.PainInQuestion, m.Irritability.ModerateWorst, m.Irritability.HighWorst}
	case strings.HasPrefix(k.path, "client.pain.") && strings.HasSuffix(k.path, ".rest"):
		return []float64{m.PainInQuestion, m.Irritability.HighRest}
	case strings.HasPrefix(k.path, "client.pain.") && strings.HasSuffix(k.path, ".settle_hours"):
		return []float64{m.Irritability.HighSettleHours}
	case strings.HasPrefix(k.path, "client.rung."):
		return []float64{k.of.Hi}
	case strings.HasPrefix(k.path, "request.complaint."):
		return []float64{0}
	}
	return nil
}
