package rules

import (
	"iter"
	"math/bits"
	"slices"
	"sync/atomic"

	"drillwright/catalog"
	"drillwright/rules/client"
	"drillwright/rules/compile"
	"drillwright/rules/predicate"
)

// applicability are the rules that could hold for a drill, for some client: most rules are about other drills. They are
// found by the closures, on a client of whom nothing is known, when a drill is first looked at on its own.
type applicability struct {
	byDrill []atomic.Pointer[compile.Rules]
	unknown *client.Facts // nothing told, nothing measured
	always  compile.Rules

	ofEffect []compile.Rules // all of the book, in the order of traits; empty of effects that aren't about drills
}

// of are all rules of an effect.
func (r *applicability) of(effect Effect) compile.Rules { return r.ofEffect[effect.index()] }

func (e *Edition) newApplicability() *applicability {
	n := len(e.judged)
	r := &applicability{byDrill: make([]atomic.Pointer[compile.Rules], len(e.Catalogue.Drills)), unknown: client.Unknown(e.Frame),
		always: compile.NewRules(n)}
	for range traits {
		r.ofEffect = append(r.ofEffect, compile.NewRules(n))
	}
	for i, rule := range e.judged {
		r.of(rule.Effect).Add(i)
		if BeyondUnknown(rule.When, false) {
			r.always.Add(i)
		}
	}
	return r
}

// BeyondUnknown is true of conditions for which a client of whom nothing is known doesn't stand for every client: they
// read the lift, ask what was measured, look into lists whose possible members nobody knows, or deny a comparison, which a
// number that isn't stated would make true.
func BeyondUnknown(n *predicate.Node, under bool) bool {
	ofClient := func(r *predicate.Ref) bool { return r.Root == predicate.OfFacts }
	open := func(r *predicate.Ref) bool {
		return r.Root == predicate.OfLift || ofClient(r) && (r.Kind == client.Word || r.Kind == client.List) && r.Path.Words == nil
	}
	switch n.Op {
	case predicate.And, predicate.Or, predicate.Not:
		return slices.ContainsFunc(n.Kids, func(k *predicate.Node) bool { return BeyondUnknown(k, under != (n.Op == predicate.Not)) })
	case predicate.Measured:
		return true
	case predicate.Compare:
		return under && n.Reads(ofClient) || n.Reads(open)
	case predicate.Has:
		return n.Reads(open) || BeyondUnknown(n.Body, false) || BeyondUnknown(n.Body, true)
	}
	return n.Reads(open)
}

// Applicable yields the rules of an effect that could hold for a drill and, but for bars, for this client, in the order of
// the book.
func (j *Judgement) Applicable(effect Effect, d *catalog.Drill) iter.Seq[*Rule] {
	return func(yield func(*Rule) bool) { j.eachApplicable(effect, d, yield) }
}

func (j *Judgement) eachApplicable(effect Effect, d *catalog.Drill, yield func(*Rule) bool) {
	e := j.Edition
	switch {
	case e.reference != nil: // the reference passes over nothing
		slices.Values(e.Book.Of(effect))(yield)
	case effect == Bar: // see alone.open
		e.eachBar(d, yield)
	default:
		e.each(e.rulesFor(d), e.applicable.of(effect), j.single.open().Either, yield)
	}
}

// relevantBars yields the bars that could hold for a drill, for some client.
func (e *Edition) BarsFor(d *catalog.Drill) iter.Seq[*Rule] {
	return func(yield func(*Rule) bool) { e.eachBar(d, yield) }
}

func (e *Edition) eachBar(d *catalog.Drill, yield func(*Rule) bool) {
	bars := e.applicable.of(Bar)
	e.each(e.rulesFor(d), bars, bars, yield)
}

// each yields the rules that are in all of three sets, in the order of the book.
func (e *Edition) each(a, b, c compile.Rules, yield func(*Rule) bool) {
	for w := range a {
		for left := a[w] & b[w] & c[w]; left != 0; left &= left - 1 {
			if !yield(e.judged[w<<6+bits.TrailingZeros64(left)]) {
				return
			}
		}
	}
}

// rulesFor are the rules that could hold for a drill.
func (e *Edition) rulesFor(d *catalog.Drill) compile.Rules {
	at := &e.applicable.byDrill[d.Index]
	found := at.Load()
	if found == nil {
		found = e.findRulesFor(d)
		at.Store(found)
	}
	return *found
}

func (e *Edition) findRulesFor(d *catalog.Drill) *compile.Rules {
	found := compile.NewRules(len(e.judged))
	for i, r := range e.judged {
		if e.applicable.always.Has(i) || e.PossibleOn(r.When, e.RowsReadBy(r, d), nil) {
			found.Add(i)
		}
	}
	return &found
}

// AppliesTo is whether a judged rule could hold for a drill, for some client.
func (e *Edition) AppliesTo(r *Rule, d *catalog.Drill) bool { return e.rulesFor(d).Has(r.index) }

// PossibleOn is whether a condition could hold on any of some rows, on either side, for a client of whom nothing is known.
func (e *Edition) PossibleOn(when *predicate.Node, rows []*predicate.Row, lift *catalog.Drill) bool {
	for _, row := range rows {
		for side := range 2 {
			if rd := predicate.Read(e.applicable.unknown, side, row, e.LiftRow(lift)); rd.Eval(when).Possible {
				return true
			}
		}
	}
	return false
}
