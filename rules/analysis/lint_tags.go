package analysis

import (
	"fmt"
	"slices"
	"strings"

	"drillwright/catalog"
	"drillwright/rules"
	"drillwright/rules/client"
	"drillwright/rules/predicate"
)

// tags holds the contraindications of drills against the rules on these conditions, for a client who stands and reaches
// freely: a drill is tagged where a rule on the condition bars it, and a tag that no rule bars by is at least warned of.
func (l *linter) tags() {
	speaking := 0 // rules
	for _, r := range slices.Concat(l.e.Book.Of(rules.Bar), l.e.Book.Of(rules.Caution)) {
		if r.ReadsConditions {
			speaking++
		}
	}
	j := l.e.JudgeOne(l.facts, nil)
	defer j.Done()
	for _, c := range l.e.Frame.Vocabulary.Conditions {
		if len(c.Regions) == 0 {
			continue // of the whole person: no drill is tagged for it
		}
		if !l.step(speakingSteps * speaking * len(l.e.Catalogue.Drills)) {
			l.left[missingTag]++
			continue
		}
		q := freeClient(l.e, func(p *client.Profile) { reportCondition(l.e, p, c) })
		f := client.Derive(l.e.Frame, q)
		var untagged, unexplained []*catalog.Drill
		var bars []string // by which the first of the untagged is barred
		for _, d := range l.e.Catalogue.Drills {
			tagged, by := slices.Contains(d.Contraindications, c.ID), l.speaking(j, f, d, rules.Bar)
			switch {
			case len(by) > 0 && !tagged:
				untagged = append(untagged, d)
				if bars == nil {
					bars = by
				}
			case len(by) == 0 && tagged && len(l.speaking(j, f, d, rules.Caution)) == 0:
				unexplained = append(unexplained, d)
			}
		}
		f.Done()
		if len(untagged) > 0 {
			l.find(Finding{Kind: missingTag, At: untagged[0].At, Rules: bars, Drills: drillIDs(untagged),
				Message: fmt.Sprintf("a rule bars with %s, and the tag %s is missing", c.Name, c.ID)})
		}
		if len(unexplained) > 0 {
			l.find(Finding{Kind: unexplainedTag, At: unexplained[0].At, Drills: drillIDs(unexplained),
				Message: fmt.Sprintf("tagged for %s, and no rule on it bars or warns", c.ID)})
		}
	}
}

// speakingSteps is what it costs to ask one rule of a condition about a drill.
const speakingSteps = 3

// reportCondition is a condition that a clinician named long ago, a little painful, on every side.
func reportCondition(e *rules.Edition, p *client.Profile, c catalog.Condition) {
	p.Conditions = []client.Condition{{ID: c.ID, ToldBy: "CLINICIAN", Status: "NOW", Since: someDay - 200}}
	placeOnRung(e, p, len(e.Frame.Ladders))
	for i := range p.Pain {
		if slices.Contains(c.Regions, p.Pain[i].Region) {
			p.Pain[i].Worst, p.Pain[i].NextDay, p.Pain[i].SettleHours = to(3.0), to(1.0), to(3.0)
		}
	}
}

// speaking are the rules of the effect that read conditions and could hold, on either side.
func (l *linter) speaking(j *rules.Judgement, f *client.Facts, d *catalog.Drill, effect rules.Effect) []string {
	var ids []string
	for _, r := range l.e.Book.Of(effect) {
		if r.ReadsConditions && (j.CouldHold(r, d, catalog.Left, f) || j.CouldHold(r, d, catalog.Right, f)) {
			ids = append(ids, r.ID)
		}
	}
	return ids
}

// conditions looks for conditions that no rule names.
func (l *linter) conditions() {
	named := map[string]bool{}
	var visit func(n *predicate.Node)
	visit = func(n *predicate.Node) {
		for _, w := range []*predicate.Words{n.A, n.B, n.List} {
			if w != nil {
				for _, id := range w.Literal {
					named[id] = true
				}
			}
		}
		for _, k := range n.Kids {
			visit(k)
		}
		if n.Body != nil {
			visit(n.Body)
		}
	}
	byTag := false
	for _, r := range slices.Concat(l.e.Book.Rules, l.e.Book.Doses, l.e.Book.Advices) {
		if r.When.Reads(func(ref *predicate.Ref) bool { return ref.Path != nil && ofConditions(ref.Path) }) {
			visit(r.When)
			byTag = byTag || r.When.Reads(func(ref *predicate.Ref) bool {
				return ref.Root == predicate.OfDrill && strings.HasSuffix(ref.Name, ".contraindications")
			})
		}
	}
	for _, c := range l.e.Frame.Vocabulary.Conditions {
		tagged := byTag && slices.ContainsFunc(l.e.Catalogue.Drills, func(d *catalog.Drill) bool {
			return slices.Contains(d.Contraindications,
				c.ID)
		})
		if !named[c.ID] && !tagged && !c.Bone && !l.e.Book.SpeaksByLaxity(&c) { // rules speak of the bones that heal
			l.find(Finding{Kind: conditionWithoutRule, At: c.At, Message: fmt.Sprintf("no rule speaks of %s", c.ID)})
		}
	}
}
