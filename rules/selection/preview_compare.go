package selection

import (
	"cmp"
	"maps"
	"reflect"
	"slices"

	"drillwright/catalog"
	"drillwright/rules"
)

// comparison holds what the answers of two editions are compared by.
type comparison struct {
	base, draft *rules.Edition
	rules       [2]map[string]*rules.Rule // of base and draft, by id
	drills      [][2]*catalog.Drill       // of base and draft, in order of id; nil in the draft where it was taken out
	added       []NewDrill                // that the base doesn't have
}

func newComparison(base, draft *rules.Edition) *comparison {
	c := &comparison{base: base, draft: draft}
	for i, e := range []*rules.Edition{base, draft} {
		c.rules[i] = map[string]*rules.Rule{}
		for _, r := range slices.Concat(e.Book.Rules, e.Book.Doses) {
			c.rules[i][r.ID] = r
		}
	}
	ids := append(base.Catalogue.DrillIDs(), draft.Catalogue.DrillIDs()...)
	slices.Sort(ids)
	for _, id := range slices.Compact(ids) {
		was, is := base.Catalogue.Drill(id), draft.Catalogue.Drill(id)
		if was == nil {
			c.added = append(c.added, NewDrill{Drill: id})
		} else {
			c.drills = append(c.drills, [2]*catalog.Drill{was, is})
		}
	}
	return c
}

// ofClient compares the answers to a sample's questions; nil stands for an answer that doesn't change. Questions that
// neither edition can answer are left out.
func (c *comparison) ofClient(s Sample) []*AnswerChange {
	var answers []*AnswerChange
	compare := func(ask func(*rules.Edition) *posed) {
		before, after := ask(c.base), ask(c.draft)
		defer before.done()
		defer after.done()
		before.rules, after.rules = c.rules[0], c.rules[1]
		if before.fault != "" && after.fault != "" {
			return
		}
		c.meet(after)
		a := c.compare(before, after)
		if a != nil {
			a.Client = s.Name
		}
		answers = append(answers, a)
	}
	compare(func(e *rules.Edition) *posed { return begin(e, s.Request, "screen") })
	for _, lift := range s.goals() {
		compare(func(e *rules.Edition) *posed { return posedSubstitute(e, s.Request, lift) })
	}
	compare(func(e *rules.Edition) *posed { return posedSession(e, s.Request) })
	return answers
}

// meet counts what becomes of the added drills in an answer that judges drills: of one that works one side at a time, on its
// better side.
func (c *comparison) meet(after *posed) {
	if after.j == nil {
		return
	}
	for i := range c.added {
		n := &c.added[i]
		d := c.draft.Catalogue.Drill(n.Drill)
		best := rules.NotToday
		for _, side := range sidesOf(d) {
			if v := after.verdict(d, side); worse(best, v) {
				best = v
			}
		}
		switch best {
		case rules.Open:
			n.Open++
		case rules.TestFirst:
			n.TestFirst++
		default:
			n.NotToday++
		}
		if slices.Contains(after.picks, d) {
			n.Picked++
		}
	}
}

// compare is nil when nothing changes.
func (c *comparison) compare(before, after *posed) *AnswerChange {
	a := &AnswerChange{Question: named(before, after)}
	if before.fault != "" {
		a.Fault = "it couldn't be answered before: " + before.fault
		a.FirstPick = picked(nil, after.picks)
		return a
	}
	if after.fault != "" {
		a.Fault = "it can't be answered any more: " + after.fault
		a.FirstPick, a.LosesFirstPick = picked(before.picks, nil), len(before.picks) > 0
		return a
	}
	if a.Question == "screen" {
		a.Screening = screened(before, after)
	}
	if before.j != nil && after.j != nil {
		a.Verdicts = c.verdicts(before, after)
	}
	lost := c.lost(before, after)
	a.LosesFirstPick = len(lost) > 0 || len(before.picks) > 0 && len(after.picks) == 0
	if a.FirstPick = picked(before.picks, after.picks); a.FirstPick != nil {
		a.FirstPick.Rules = c.movers(before, after, lost)
	}
	if a.Screening == nil && a.Verdicts == nil && a.FirstPick == nil {
		return nil
	}
	return a
}

// named is the question; a session whose usual plan changes names both.
func named(before, after *posed) string {
	switch {
	case before.fault != "":
		return after.named
	case after.fault != "" || after.named == before.named:
		return before.named
	}
	return after.named + " instead of " + before.named
}

// verdicts that change. A drill that the draft doesn't have can't be trained: that is no news of one that is barred.
func (c *comparison) verdicts(before, after *posed) []VerdictChange {
	var list []VerdictChange
	for _, pair := range c.drills {
		was, is := pair[0], pair[1]
		for _, side := range sidesOf(cmp.Or(is, was)) {
			v := VerdictChange{Drill: was.ID, Side: verdictSides[side], Before: before.verdict(was, side)}
			if is != nil {
				v.After = after.verdict(is, side)
			}
			if v.Before != cmp.Or(v.After, rules.NotToday) {
				v.Rules = deciding(before, after, pair, side)
				list = append(list, v)
			}
		}
	}
	return list
}

// deciding are the deciders, before and after, that come out differently.
func deciding(before, after *posed, pair [2]*catalog.Drill, side int) []string {
	was, is := pair[0], pair[1]
	all := before.deciders(was, side)
	if is == nil {
		return all
	}
	all = append(all, after.deciders(is, side)...)
	slices.Sort(all)
	var changed []string
	for _, id := range slices.Compact(all) {
		if before.bars(id, was, side) != after.bars(id, is, side) {
			changed = append(changed, id)
		}
	}
	return changed
}

// picked is nil when the picks stay the same.
func picked(before, after []*catalog.Drill) *PickChange {
	p := &PickChange{Before: drillIDs(before), After: drillIDs(after)}
	if slices.Equal(p.Before, p.After) {
		return nil
	}
	return p
}

func drillIDs(drills []*catalog.Drill) []string {
	var ids []string
	for _, d := range drills {
		ids = append(ids, d.ID)
	}
	return ids
}

// lost are the picks that can't be trained any more, or not before a test, on a side on which they could.
func (c *comparison) lost(before, after *posed) [][2]*catalog.Drill {
	var list [][2]*catalog.Drill
	for _, was := range before.picks {
		is := c.draft.Catalogue.Drill(was.ID)
		loses := func(side int) bool { return worse(after.verdict(is, side), before.verdict(was, side)) }
		if is == nil || slices.ContainsFunc(sidesOf(was), loses) {
			list = append(list, [2]*catalog.Drill{was, is})
		}
	}
	return list
}

// movers are the rules that move the picks: those that close what was picked; else those that bar, or favour, a drill
// that comes or goes in one edition and not, or otherwise, in the other; else those that dose it.
func (c *comparison) movers(before, after *posed, lost [][2]*catalog.Drill) []string {
	if before.j == nil || after.j == nil {
		return advisedOtherwise(before, after)
	}
	found := map[string]bool{}
	for _, pair := range lost {
		for _, side := range sidesOf(pair[0]) {
			for _, id := range deciding(before, after, pair, side) {
				found[id] = true
			}
		}
	}
	for _, effects := range [][]rules.Effect{{rules.Bar, rules.Favour}, {rules.Adjust, rules.Dosing}} {
		if len(found) > 0 {
			break
		}
		for _, pair := range c.comeOrGo(before, after) {
			c.otherwise(before, after, pair, effects, found)
		}
	}
	return slices.Sorted(maps.Keys(found))
}

// comeOrGo are the picks of one edition that the other doesn't pick and has; all, when only the order changes.
func (c *comparison) comeOrGo(before, after *posed) [][2]*catalog.Drill {
	was, is := drillIDs(before.picks), drillIDs(after.picks)
	var some, all [][2]*catalog.Drill
	for _, pair := range c.drills {
		if pair[1] == nil {
			continue
		}
		id := pair[0].ID
		if inBoth := slices.Contains(was, id) && slices.Contains(is, id); inBoth {
			all = append(all, pair)
		} else if slices.Contains(was, id) || slices.Contains(is, id) {
			some = append(some, pair)
		}
	}
	if len(some) == 0 {
		return all
	}
	return some
}

// otherwise finds the rules of some effects that do something else to a drill after than before.
func (c *comparison) otherwise(before, after *posed, pair [2]*catalog.Drill, effects []rules.Effect, found map[string]bool) {
	for _, effect := range effects {
		was, is := before.does(effect, pair[0]), after.does(effect, pair[1])
		for id := range was {
			found[id] = found[id] || !reflect.DeepEqual(was[id], is[id])
		}
		for id := range is {
			found[id] = found[id] || !reflect.DeepEqual(was[id], is[id])
		}
	}
	maps.DeleteFunc(found, func(_ string, differs bool) bool { return !differs })
}

// deed is what a rule does to a drill on a side.
type deed struct {
	held    rules.Held
	verdict rules.Verdict
	points  int
	change  map[int]rules.Change
	dose    rules.Dose
}

// does lists what the rules of an effect do to a drill, by rule; those that do nothing aren't there.
func (p *posed) does(effect rules.Effect, d *catalog.Drill) map[string][2]deed {
	out := map[string][2]deed{}
	for r := range p.j.Applicable(effect, d) {
		var sides [2]deed
		for side := range sides {
			sides[side] = p.deed(r, d, side)
		}
		if !reflect.DeepEqual(sides, [2]deed{}) {
			out[r.ID] = sides
		}
	}
	return out
}

func (p *posed) deed(r *rules.Rule, d *catalog.Drill, side int) deed {
	switch r.Effect {
	case rules.Bar:
		if v := p.j.Barred(r, d, side); v != rules.Open {
			return deed{verdict: v}
		}
	case rules.Favour:
		if p.j.Favoured(r, d, side) {
			return deed{points: r.Points}
		}
	default:
		if held := p.j.Held(r, d, side); held&rules.Possible != 0 {
			change := map[int]rules.Change{}
			for _, c := range r.Adjust {
				change[c.Variable] = c.Change
			}
			return deed{held: held, change: change, dose: r.Dose}
		}
	}
	return deed{}
}

// screened is nil when screening says the same. The words in which it asks and refers are no part of that.
func screened(before, after *posed) *OutcomeChange {
	was, is := before.head.Screening, after.head.Screening
	if reflect.DeepEqual(wordless(was), wordless(is)) {
		return nil
	}
	return &OutcomeChange{Before: was.Outcome, After: is.Outcome, NoDrillsBefore: was.NoDrills, NoDrillsAfter: is.NoDrills,
		Rules: advisedOtherwise(before, after)}
}

func wordless(s Screening) Screening {
	s.Referrals, s.Questions = slices.Clone(s.Referrals), slices.Clone(s.Questions)
	for i := range s.Referrals {
		s.Referrals[i].Words, s.Referrals[i].Source = "", ""
	}
	for i := range s.Questions {
		s.Questions[i].Asks = ""
	}
	return s
}

// advisedOtherwise are the refer rules that hold, or could, in one edition and not, or otherwise, in the other.
func advisedOtherwise(before, after *posed) []string {
	was, is := before.raised(), after.raised()
	ids := slices.Concat(slices.Collect(maps.Keys(was)), slices.Collect(maps.Keys(is)))
	slices.Sort(ids)
	return slices.DeleteFunc(slices.Compact(ids), func(id string) bool { return slices.Equal(was[id], is[id]) })
}

// raised lists the refer rules that hold, or could: how urgent, of what, on which side, and whether sure.
func (p *posed) raised() map[string][]string {
	out := map[string][]string{}
	for _, r := range p.permitted.advisories {
		sure := "possible"
		if r.Sure {
			sure = "sure"
		}
		out[r.Rule.ID] = append(out[r.Rule.ID], r.Rule.Urgency, r.Rule.Scope, region(r), r.Reason.Side, sure)
	}
	return out
}
