package rules

import (
	"reflect"
	"slices"

	"drillwright/catalog"
	"drillwright/catalog/authored"
	"drillwright/rules/client"
)

// words are the short lists of a rulebook that belong to the code, by the name that tags give them.
var words = map[string][]string{
	"effect":       listedEffects(),
	"urgency":      Urgencies,
	"scope":        {"person", "region", "class"},
	"variable":     Variables,
	"source":       {"published", "common_practice", "memory", "judged"},
	"formula":      {"epley", "brzycki"},
	"irritability": client.Irritabilities,
	"told":         client.Parts,
	"in emergency": {"also", "only"},
	"outcome":      caseOutcomes,
	"one side":     {"LEFT", "RIGHT"},
	"onset":        client.Onsets,
	"moment told":  client.ComplaintMoments,
}

// shape is what stands under a top key: a value of the type that it is read into, and what an editor says of it.
type shape struct {
	as  any
	doc string
}

// shapes has every kind of file.
var shapes = map[string]shape{
	"vocabulary": {catalog.Vocabulary{}, "The words that files, rules and clients use. A list stands in one file."},
	"blocks":     {catalog.BlocksAsWritten(), "Parts of drills, to be taken over with use."},
	"drills":     {catalog.DrillsAsWritten(), "The drills."},
	"screening":  {[]client.QuestionList{}, "The screening questions beyond those that always stand."},
	"ladders":    {[]client.Ladder{}, "The way back, region by region."},
	"measures":   {client.Measures{}, "How far a measurement is trusted, and for how long."},
	"sources":    {[]SourceEntry{}, "Publications that rules cite, each once."},
	"rules":      {[]rawRule{}, "The rules, in any order."},
	"doses":      {[]rawDose{}, "How much, in order: the first that is sure ends the list."},
	"cautions":   {[]rawAdvice{}, "Cautions of an answer as a whole."},
	"plans":      {[]Plan{}, "Session plans."},
	"substitute": {Substitution{}, "The numbers by which substitutes are ranked."},
	"cases":      {[]Case{}, "Clients, questions, and what must come out."},
	"about":      {About{}, "What the edition is. It may stand beside another key."},
	"review":     {Review{}, "Who has reviewed the edition. A server writes it, and nobody else."},
}

// Kinds are the top keys by which the files of an edition are told apart.
func Kinds() []string { return slices.Clone(kinds) }

// Schema is the JSON Schema of a file of the edition: of a file with one of Kinds, or for "" of any. Its words are the
// edition's own.
func (e *Edition) Schema(kind string) *authored.Schema {
	w := &authored.Shapes{Words: e.Words, Defs: map[string]*authored.Schema{}}
	file := &authored.Schema{Dialect: authored.Dialect, Title: "A file of a Drillwright edition",
		Description: "Words are those of revision " + e.Revision + ".",
		Types:       authored.Types{"object"}, Properties: map[string]*authored.Schema{}, Others: false, Defs: w.Defs}
	for _, key := range kinds {
		if kind != "" && key != kind && key != "about" {
			continue
		}
		s := &authored.Schema{} // anything, of a kind that shapes lacks; a test says so
		if of, ok := shapes[key]; ok {
			s = w.Of(reflect.TypeOf(of.as), "")
			s.Description = of.doc
		}
		file.Properties[key] = s
	}
	if kind != "" {
		file.Title, file.Required = "A file of "+kind, []string{kind}
	}
	return file
}

// Words is a list by its name: of the vocabulary, of the code, or of the edition ("drill", "rung", "question").
func (e *Edition) Words(name string) []string {
	switch name {
	case "drill":
		return e.Catalogue.DrillIDs()
	case "question":
		return e.Frame.QuestionIDs()
	case "list":
		return e.Frame.ListIDs()
	case "rung":
		var rungs []string
		for _, l := range e.Frame.Ladders {
			for _, r := range l.Rungs {
				if !slices.Contains(rungs, r) {
					rungs = append(rungs, r)
				}
			}
		}
		return rungs
	}
	if list := words[name]; list != nil {
		return list
	}
	return e.Catalogue.Vocabulary.Words(name)
}

// Shape implements authored.Shaped: what belongs to one effect stands in rules of that effect alone.
func (rawRule) Shape(s *authored.Schema) {
	for _, effect := range listedEffects() {
		var foreign, needed []string
		for _, t := range traits {
			for _, own := range t.keys {
				switch {
				case string(t.effect) != effect:
					foreign = append(foreign, own.key)
				case own.wanted != "":
					needed = append(needed, own.key)
				}
			}
		}
		then := authored.HasNone(foreign...)
		then.Required = needed
		s.With(&authored.Schema{Required: []string{"effect"}, Properties: map[string]*authored.Schema{"effect": {Const: effect}}}, then)
	}
}

// Shape implements authored.Shaped: a change is made in one way.
func (Change) Shape(s *authored.Schema) {
	one := 1
	s.MinKeys, s.MaxKeys = &one, &one
}

// Shape implements authored.Shaped.
func (PlanLimit) Shape(s *authored.Schema) {
	s.AnyOf = []*authored.Schema{authored.Has("at_least"), authored.Has("at_most")}
}
