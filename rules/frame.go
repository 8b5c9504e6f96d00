package rules

import (
	"slices"
	"strings"

	"go.yaml.in/yaml/v3"

	"drillwright/catalog"
	"drillwright/rules/client"
)

// readFrame reads ladders, screening lists and the trust in measures.
func readFrame(d *catalog.Decoder, snap *catalog.Snapshot, docs []*yaml.Node) *client.Frame {
	var ladders []client.Ladder
	var lists []client.QuestionList
	var measures client.Measures
	each(docs, ofFrame, func(key string, n *yaml.Node) {
		switch key {
		case "ladders":
			var more []client.Ladder
			d.Decode(n, &more)
			ladders = append(ladders, more...)
		case "screening":
			var more []client.QuestionList
			d.Decode(n, &more)
			lists = joinLists(lists, more)
		case "measures":
			d.Decode(n, &measures)
		}
	})
	if measures.ValidDays.Range == 0 {
		d.Add(catalog.Pos{}, "no file says measures: how long a measurement counts, and its margins")
	}
	if len(measures.Loads.Percent) == 0 || !slices.Contains(words["formula"], measures.Loads.Formula) {
		d.Add(measures.At, "measures need loads: percent_by_reps, and formula epley or brzycki")
	}
	checkSource(d.Report, measures.Source)
	checkSource(d.Report, measures.Loads.Source)
	checkLadders(d.Report, snap.Vocabulary, ladders)
	checkQuestions(d.Report, snap.Vocabulary, lists)
	return client.NewFrame(snap, ladders, lists, measures)
}

// joinLists adds questions to a list that another file began: the floor asks some, the book more.
func joinLists(lists, more []client.QuestionList) []client.QuestionList {
	for _, l := range more {
		i := slices.IndexFunc(lists, func(have client.QuestionList) bool { return have.ID == l.ID })
		if i < 0 {
			lists = append(lists, l)
		} else {
			lists[i].Questions = append(lists[i].Questions, l.Questions...)
		}
	}
	return lists
}

// checkSource: a ladder or a table may leave its source out, but not make up a kind.
func checkSource(r *catalog.Report, s client.Source) {
	if s.Kind.Value != "" && !slices.Contains(words["source"], s.Kind.Value) {
		r.Unknown(s.Kind.At, "kind of source", s.Kind.Value, words["source"])
	}
}

func checkLadders(r *catalog.Report, v *catalog.Vocabulary, ladders []client.Ladder) {
	seen := map[string]bool{}
	for _, l := range ladders {
		if !v.Has("region", l.Region) {
			r.Unknown(l.At, "region", l.Region, v.IDs("region"))
		}
		if seen[l.Region] {
			r.Add(l.At, "region %q has two ladders", l.Region)
		}
		seen[l.Region] = true
		if len(l.Rungs) < 2 {
			r.Add(l.At, "the ladder of %q needs two rungs at least", l.Region)
		}
		checkSource(r, l.Source)
		for level := range l.Entry {
			if !slices.Contains(client.Irritabilities, level) {
				r.Unknown(l.At, "irritability", level, client.Irritabilities)
			}
		}
		for _, level := range client.Irritabilities {
			if l.Place(l.Entry[level]) < 0 {
				r.Unknown(l.At, "entry for "+level+" irritability:", l.Entry[level], l.Rungs)
			}
		}
	}
	var without []string
	for _, region := range v.IDs("region") {
		if !seen[region] {
			without = append(without, region)
		}
	}
	if len(without) > 0 {
		at := catalog.Pos{}
		if len(ladders) > 0 {
			at = ladders[0].At
		}
		r.Suggest(at, "add one for each", "these regions have no ladder: %s", strings.Join(without, ", "))
	}
}

func checkQuestions(r *catalog.Report, v *catalog.Vocabulary, lists []client.QuestionList) {
	seen := map[string]bool{}
	for _, l := range lists {
		if l.Region != "" && !v.Has("region", l.Region) {
			r.Unknown(l.At, "region", l.Region, v.IDs("region"))
		}
		if l.ID == "" {
			r.Suggest(l.At, "add list: and an id", "a list of questions without an id")
		}
		for _, q := range l.Questions {
			if q.ID == "" {
				r.Add(q.At, "a question without an id")
			}
			if seen[q.ID] {
				r.Add(q.At, "question %q stands twice", q.ID)
			}
			seen[q.ID] = true
			if !slices.Contains(Urgencies, q.Urgency) {
				r.Unknown(q.At, "urgency", q.Urgency, Urgencies)
			}
			if q.Asks == "" {
				r.Add(q.At, "question %q asks nothing", q.ID)
			}
		}
	}
}
