package rules

import (
	"maps"
	"slices"
	"strings"

	"go.yaml.in/yaml/v3"

	"drillwright/catalog"
	"drillwright/catalog/authored"
	"drillwright/rules/client"
)

// readFrame reads ladders, screening lists and the trust in measures.
func readFrame(d *authored.Decoder, snap *catalog.Snapshot, docs []*yaml.Node) *client.Frame {
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
		d.Add(authored.Pos{}, "no file says measures: how long a measurement counts, and its margins")
	}
	if len(measures.Loads.Percent) == 0 || !slices.Contains(words["formula"], measures.Loads.Formula) {
		d.Add(measures.At, "measures need loads: percent_by_reps, and formula epley or brzycki")
	}
	needs(d.Report, measures.At, "start: of loads:", map[string]float64{
		"sore_percent": measures.Loads.Start.SorePercent, "break_days": float64(measures.Loads.Start.BreakDays)})
	checkSource(d.Report, measures.Source)
	checkSource(d.Report, measures.Loads.Source)
	checkSource(d.Report, measures.Loads.Start.Source)
	checkShares(d.Report, &measures.Loads.Shares)
	checkLadders(d.Report, snap.Vocabulary, ladders)
	checkMild(d.Report, snap.Vocabulary, lists, measures.Mild)
	checkQuestions(d.Report, snap.Vocabulary, lists)
	return client.NewFrame(snap, ladders, lists, measures)
}

// needs reports the numbers that a part must give and lacks; none of them may be 0.
func needs(r *authored.Report, at authored.Pos, part string, numbers map[string]float64) {
	var lacks []string
	for _, name := range slices.Sorted(maps.Keys(numbers)) {
		if numbers[name] == 0 {
			lacks = append(lacks, name)
		}
	}
	if len(lacks) > 0 {
		r.Suggest(at, "give each a number above 0", "%s lacks %s", part, strings.Join(lacks, ", "))
	}
}

// checkShares: what each share needs. Whether its drills are there is checked where they are the author's own.
func checkShares(r *authored.Report, shares *client.Shares) {
	for i := range shares.Of {
		s := &shares.Of[i]
		checkSource(r, s.Source)
		switch {
		case s.Drill == "" || s.From == "" || s.Percent == 0:
			r.Suggest(s.At, "write drill, from and percent", "a share says which drill takes how much of which other")
		case s.Source.Kind.Value == "":
			r.Suggest(s.At, "add source: and where it was measured", "the share of %s doesn't say where it comes from", s.Drill)
		case s.Drill == s.From:
			r.Add(s.At, "%s has a share of itself", s.Drill)
		}
	}
}

// checkShares holds the shares of the draft's author against the drills: both are free weights, for what a machine, a cable or a band
// is set to compares with nothing else.
func (r *editionReader) checkShares(e *Edition, draft []authored.File) {
	for _, s := range e.Frame.Measures.Loads.Shares.Of {
		if !slices.ContainsFunc(draft, func(f authored.File) bool { return s.At.Source != nil && f.Name == s.At.Source.Name }) {
			continue
		}
		for _, id := range []string{s.Drill, s.From} {
			switch d := e.Catalogue.Drill(id); {
			case d == nil:
				r.Unknown(s.At, "drill", id, e.Catalogue.DrillIDs())
			case !d.FreeWeight():
				r.Suggest(s.At, "leave it out",
					"a share of %s: loads compare between free weights alone, and it is done with: %s", d.ID, d.Tool.Name)
			}
		}
	}
}

// joinLists adds questions to a list that another file began: the floor asks some, the book more. A question that gives nothing but
// contradictions adds them to the one of that id before it.
func joinLists(lists, more []client.QuestionList) []client.QuestionList {
	for _, l := range more {
		i := slices.IndexFunc(lists, func(have client.QuestionList) bool { return have.ID == l.ID })
		if i < 0 {
			lists = append(lists, l)
		} else {
			joinQuestions(&lists[i], l.Questions)
		}
	}
	return lists
}

func joinQuestions(list *client.QuestionList, more []client.Question) {
	for _, q := range more {
		i := slices.IndexFunc(list.Questions, func(have client.Question) bool { return have.ID == q.ID })
		if i >= 0 && q.Asks == "" && q.Urgency == "" && q.SettledBy == nil && len(q.ContradictedBy) > 0 {
			list.Questions[i].ContradictedBy = slices.Concat(list.Questions[i].ContradictedBy, q.ContradictedBy)
			continue
		}
		list.Questions = append(list.Questions, q)
	}
}

// checkSource: a ladder or a table may leave its source out, but not make up a kind.
func checkSource(r *authored.Report, s client.Source) {
	if s.Kind.Value != "" && !slices.Contains(words["source"], s.Kind.Value) {
		r.Unknown(s.Kind.At, "kind of source", s.Kind.Value, words["source"])
	}
}

func checkLadders(r *authored.Report, v *catalog.Vocabulary, ladders []client.Ladder) {
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
		if l.TendonEntry != "" && l.Index(l.TendonEntry) < 0 {
			r.Unknown(l.At, "entry_named_tendon:", l.TendonEntry, l.Rungs)
		}
		for _, level := range client.Irritabilities {
			if l.Index(l.Entry[level]) < 0 {
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
		at := authored.Pos{}
		if len(ladders) > 0 {
			at = ladders[0].At
		}
		r.Suggest(at, "add one for each", "these regions have no ladder: %s", strings.Join(without, ", "))
	}
}

// checkMild holds the words of what counts as a mild complaint against those that there are. A ladder without the rung up to which a lift
// shows anything shows nothing.
func checkMild(r *authored.Report, v *catalog.Vocabulary, lists []client.QuestionList, m *client.Mild) {
	if m == nil {
		return
	}
	var asked []string
	for _, l := range lists {
		asked = append(asked, l.ID)
	}
	regions := slices.Concat(slices.Sorted(maps.Keys(m.IntensityOf)), m.Loose, m.Frail)
	for _, a := range m.Apart {
		regions = append(append(regions, a.Region), a.From...)
	}
	checkWords(r, m.At, "region", regions, v.IDs("region"))
	checkWords(r, m.At, "kind of pain", m.Kinds, v.IDs("pain_kind"))
	checkWords(r, m.At, "moment", slices.Concat(m.Moments, m.MomentsSettling), client.ComplaintMoments)
	checkWords(r, m.At, "condition", slices.Concat(m.Conditions, m.FrailBones), v.IDs("condition"))
	checkWords(r, m.At, "list of questions", m.Lists, asked)
	for _, k := range m.Medicines {
		checkWords(r, m.At, "medicine", []string{k.ID}, v.IDs("medicine"))
	}
	checkSource(r, m.Source)
}

func checkQuestions(r *authored.Report, v *catalog.Vocabulary, lists []client.QuestionList) {
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
			checkSettling(r, v, q)
			for _, c := range q.ContradictedBy {
				checkContradiction(r, v, q.ID, c)
			}
		}
	}
}

func checkSettling(r *authored.Report, v *catalog.Vocabulary, q client.Question) {
	by := q.SettledBy
	if by == nil {
		return
	}
	checkWords(r, by.At, "part of the profile", by.Told, client.Parts)
	checkWords(r, by.At, "condition", by.Conditions, v.IDs("condition"))
	if len(by.Told)+len(by.Conditions) == 0 && by.LookedAtDays < 1 {
		r.Suggest(by.At, "write told, conditions or looked_at_days, or leave settled_by out", "what settles question %q names nothing", q.ID)
	}
}

func checkContradiction(r *authored.Report, v *catalog.Vocabulary, question string, c client.Contradiction) {
	checkWords(r, c.At, "region", c.Regions, v.IDs("region"))
	checkWords(r, c.At, "onset", c.Onsets, client.Onsets)
	checkWords(r, c.At, "kind of pain", c.Kinds, v.IDs("pain_kind"))
	checkWords(r, c.At, "moment", c.Moments, client.ComplaintMoments)
	checkWords(r, c.At, "part of the profile", c.Told, client.Parts)
	checkWords(r, c.At, "condition", c.Conditions, v.IDs("condition"))
	ofComplaint := len(c.Onsets)+len(c.Kinds)+len(c.Moments)+c.WithinDays > 0 || c.SparedByLift
	groups := 0
	for _, given := range []bool{ofComplaint, c.WakesAtNight, len(c.Told)+len(c.Conditions) > 0} {
		if given {
			groups++
		}
	}
	if groups != 1 {
		r.Suggest(c.At, "write one of them, each in an item of its own",
			"what contradicts question %q is a complaint, a score that wakes at night, or what was told", question)
	}
	if c.Asks == "" {
		r.Suggest(c.At, "add asks: and the question in the words of the contradiction", "what contradicts question %q asks nothing", question)
	}
}

// checkWords reports the words of a list that aren't known.
func checkWords(r *authored.Report, at authored.Pos, what string, list, known []string) {
	for _, word := range list {
		if !slices.Contains(known, word) {
			r.Unknown(at, what, word, known)
		}
	}
}
