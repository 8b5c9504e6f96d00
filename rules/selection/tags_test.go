package selection_test

import (
	"slices"
	"testing"

	"drillwright/catalog"
	"drillwright/rules"
	"drillwright/rules/client"
)

// TestContraindicationsAgreeWithTheRules: a drill is tagged for a condition of a region when a rule on that condition
// bars it, for a client who stands and reaches freely; and a tag that no rule bars by is at least warned of.
func TestContraindicationsAgreeWithTheRules(t *testing.T) {
	e := edition(t)
	j := e.JudgeOne(derived(t, someone(t)), nil)
	for _, c := range e.Frame.Vocabulary.Conditions {
		if len(c.Regions) == 0 {
			continue // of the whole person: no drill is tagged for it
		}
		q := someone(t)
		q.Profile.Conditions = []client.Condition{{ID: c.ID, ToldBy: "CLINICIAN", Status: "NOW", Since: q.AsOf - 200}}
		for _, region := range c.Regions {
			scores(t, q, region, 3)
			stands(t, q, region, "unrestricted")
			reaches(t, q, region)
		}
		f := derived(t, q)
		for _, d := range e.Catalogue.Drills {
			tagged := slices.Contains(d.Contraindications, c.ID)
			if barred := speaksOfConditions(e, j, f, d, rules.Bar); barred && !tagged {
				t.Errorf("%s is barred with %s and not tagged", d.ID, c.ID)
			} else if tagged && !barred && !speaksOfConditions(e, j, f, d, rules.Caution) {
				t.Errorf("%s is tagged for %s, and no rule bars it or warns", d.ID, c.ID)
			}
		}
	}
}

// speaksOfConditions is whether some rule of the effect that reads conditions holds, on either side.
func speaksOfConditions(e *rules.Edition, j *rules.Judgement, f *client.Facts, d *catalog.Drill, effect rules.Effect) bool {
	return slices.ContainsFunc(e.Book.Rules, func(r *rules.Rule) bool {
		return r.Effect == effect && r.ReadsConditions() && (j.CouldHold(r, d, catalog.Left, f) || j.CouldHold(r, d, catalog.Right, f))
	})
}
