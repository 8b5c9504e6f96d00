package selection

import (
	"slices"
	"strings"

	"drillwright/catalog"
	"drillwright/rules"
	"drillwright/rules/analysis"
	"drillwright/rules/client"
)

// allowed sets what a drill may have of what provokes: by the lift, or where there is none by what is sore.
func (a *asked) allowed(lift *catalog.Drill) {
	if lift != nil {
		a.provoke(lift)
	} else {
		a.spare()
	}
}

// opens says of a side that isn't open what would open it. Every change is judged whole: what it does to screening, to
// what provokes, and to every bar.
func (a *asked) opens(j *rules.Judgement, d *catalog.Drill, side int, out *SideExplained) {
	if _, ok := a.permitted.allows(a.e, d, side); !ok {
		out.OpensWords = screenedOpens
		return
	}
	switch {
	case out.Verdict == string(rules.Open):
		return
	case out.Verdict == string(rules.NotToday) && j.Verdict(d, side) != rules.NotToday:
		out.OpensWords = tooLightOpens
		return
	}
	o := analysis.FindOpening(j, d, side, func(q *client.Request) *client.Facts {
		again := &asked{e: a.e, q: q, facts: client.Derive(a.e.Frame, q)}
		again.allowed(j.Lift)
		return again.facts
	})
	tooLight := false
	for _, s := range o.Found.Sets {
		switch {
		case !a.screenedOpen(s.Request, d, side):
		case !a.heavyEnough(s.Request, j.Lift, d, side):
			tooLight = true
		default:
			out.Smallest = append(out.Smallest, a.smallest(s))
		}
	}
	switch {
	case len(out.Smallest) > 0:
		var words []string
		measured := false
		for _, s := range out.Smallest {
			words = append(words, s.Words)
			measured = measured || slices.ContainsFunc(s.Changes, func(c Change) bool { return c.Member == "" })
		}
		out.OpensWords = "The smallest change that would open it: " + strings.Join(words, "; or ")
		if measured {
			out.OpensWords += "; to be measured, never guessed"
		}
	case tooLight:
		out.OpensWords = tooLightOpens
	case len(o.Deciders) > 0:
		out.OpensWords = "No training and no measurement alone opens it: " + strings.Join(o.Deciders, "; ")
	case o.Found.Existence == analysis.TooFar:
		out.OpensWords = "More would have to change at once than is worth naming"
	default:
		out.OpensWords = "What would open it was not settled: the rules say what speaks against it"
	}
}

// screenedOpen is whether screening leaves a drill open for a client.
func (a *asked) screenedOpen(q *client.Request, d *catalog.Drill, side int) bool {
	f := client.Derive(a.e.Frame, q)
	defer f.Done()
	_, gate := screen(a.e, f)
	_, ok := gate.allows(a.e, d, side)
	return ok
}

// heavyEnough is whether a client may lift what a drill starts at.
func (a *asked) heavyEnough(q *client.Request, lift, d *catalog.Drill, side int) bool {
	if !a.loadsBound() || !a.loadMayFall(d.Index) {
		return true
	}
	again := &asked{e: a.e, q: q, facts: client.Derive(a.e.Frame, q)}
	defer again.facts.Done()
	again.readLog()
	again.allowed(lift)
	j := a.e.JudgeOne(again.facts, lift)
	defer j.Done()
	_, enough := again.doseOn(j, d, side)
	return enough
}

func (a *asked) smallest(set analysis.ChangeSet) SmallestChange {
	var out SmallestChange
	var words []string
	for _, e := range set.Edits {
		c := a.change(e)
		out.Changes, words = append(out.Changes, c), append(words, c.Words)
	}
	out.Words = enumerated(words)
	return out
}

func (a *asked) change(e analysis.Edit) Change {
	c := Change{Path: e.Path.Name, Side: string(e.Side), Member: e.Word, Unit: e.Path.Unit}
	name := strings.TrimSpace(strings.ToLower(string(e.Side)) + " " + e.Path.Measure)
	if i := strings.LastIndexByte(e.Path.Name, '.'); strings.HasPrefix(e.Path.Name, "client.best.") {
		name += ", " + strings.TrimSuffix(strings.ReplaceAll(e.Path.Name[i+1:], "_", " "), " kg")
	}
	switch e.Path.Kind {
	case client.List:
		c.Words = a.e.Frame.Vocabulary.Name("kit", e.Word) + " at hand"
		return c
	case client.Number:
		low, high := e.Least == e.Path.Lo, e.Most == e.Path.Hi
		c.OrMore, c.OrLess = high, low && !high
		if c.To = rules.Figure(e.Least); c.OrLess {
			c.To = rules.Figure(e.Most)
		}
		if !e.Was.Unknown && !e.Was.None {
			c.Today = rules.Figure(e.Was.Number)
		}
	default:
		c.To = e.To.Word
	}
	c.Words = name + " of " + rules.WithUnit(c.To, c.Unit)
	switch {
	case c.OrMore:
		c.Words += " or more"
	case c.OrLess:
		c.Words += " or less"
	case e.Path.Kind == client.Number && e.Least < e.Most:
		c.Words += " to " + rules.WithUnit(rules.Figure(e.Most), c.Unit)
	}
	if c.Today != "" {
		c.Words += " (today " + rules.WithUnit(c.Today, c.Unit) + ")"
	} else {
		c.Words += " (not measured yet)"
	}
	return c
}

// enumerated joins words: one, two and three.
func enumerated(words []string) string {
	if len(words) < 2 {
		return strings.Join(words, "")
	}
	last := len(words) - 1
	return strings.Join(slices.Clone(words[:last]), ", ") + " and " + words[last]
}
