package rules

import (
	"slices"
	"strings"

	"drillwright/rules/compile"
	"drillwright/rules/language"
)

// Effect is what a rule does when it holds.
type Effect string

// The effects.
const (
	Refer   Effect = "refer"
	Bar     Effect = "bar"
	Caution Effect = "caution"
	Favour  Effect = "favour"
	Dosing  Effect = "dose"
	Adjust  Effect = "adjust"
	Advise  Effect = "advise" // a caution of the answer as a whole
)

// trait is what an effect is like. What it does stands where answers are made.
type trait struct {
	effect Effect
	// listed: a rule says so under effect. Doses and advice stand in lists of their own.
	listed bool
	// aboutDrills: it is judged on each drill, as judged says, and its predicate may read them.
	aboutDrills bool
	judged      compile.Effect
	// tightens: what is merely possible sets it off.
	tightens bool
	// oneRow: of a one-side drill only the working side counts.
	oneRow bool
	// cites: its source must be an entry of sources.
	cites bool
	// keys are those of a rule that belong to this effect alone.
	keys []ownKey
}

// ownKey is a key that belongs to one effect.
type ownKey struct {
	key string
	// wanted is what it could say, of one that a rule can't be without; "" of one that may be left out.
	wanted string
}

// traits, a row an effect, in the order in which people are told of them.
var traits = []trait{
	{effect: Refer, listed: true, tightens: true, cites: true, keys: []ownKey{{"urgency", strings.Join(Urgencies, ", ")},
		{"scope", "person, region or class"}, {"region", ""}, {"drills", ""}}},
	{effect: Bar, listed: true, aboutDrills: true, judged: compile.Bars, tightens: true},
	{effect: Caution, listed: true, aboutDrills: true, judged: compile.Others, tightens: true},
	{effect: Favour, listed: true, aboutDrills: true, judged: compile.Favours, oneRow: true,
		keys: []ownKey{{"points", "and a number from -100 to 100"}, {"treats", ""}}},
	{effect: Dosing, aboutDrills: true, judged: compile.Others, oneRow: true},
	{effect: Adjust, listed: true, aboutDrills: true, judged: compile.Others,
		keys: []ownKey{{"adjust", "{sets: {add: -1}}, or another variable"}}},
	{effect: Advise, tightens: true},
}

// index is the index of an effect in traits; -1 of a word that is none.
func (e Effect) index() int {
	for i := range traits {
		if traits[i].effect == e {
			return i
		}
	}
	return -1
}

// trait is what an effect is like; nil of a word that is none.
func (e Effect) trait() *trait {
	if i := e.index(); i >= 0 {
		return &traits[i]
	}
	return nil
}

// cites is whether a rule must name an entry of sources.
func (e Effect) cites() bool { t := e.trait(); return t != nil && t.cites }

// roots are what the predicate of an effect may read.
func (t *trait) roots() []string {
	if t.aboutDrills {
		return slices.DeleteFunc(slices.Clone(language.AllRoots), func(r string) bool { return r == "dose" })
	}
	return []string{"client", "request", "side"}
}

// listedEffects are those that a rule can say under effect.
func listedEffects() []string {
	var list []string
	for _, t := range traits {
		if t.listed {
			list = append(list, string(t.effect))
		}
	}
	return list
}

// Effects are all there are.
func Effects() []Effect {
	list := make([]Effect, len(traits))
	for i := range traits {
		list[i] = traits[i].effect
	}
	return list
}
