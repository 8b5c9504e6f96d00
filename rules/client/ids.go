package client

import (
	"slices"

	"drillwright/catalog"
)

// terms are the ids of one kind, with the index of each.
type terms struct {
	kind    string // as a sentence calls it
	ids     []string
	sorted  []string
	indexes map[string]int
	next    []int // the index of the id that follows each in alphabetical order, the last followed by the first
}

func newTerms(kind string, ids []string) terms {
	t := terms{kind, ids, slices.Sorted(slices.Values(ids)), make(map[string]int, len(ids)), make([]int, len(ids))}
	for i, id := range ids {
		t.indexes[id] = i
	}
	for i, id := range t.sorted {
		t.next[t.indexes[id]] = t.indexes[t.sorted[(i+1)%len(ids)]]
	}
	return t
}

// index is the position of an id; -1 when it is unknown.
func (t *terms) index(id string) int {
	if i, ok := t.indexes[id]; ok {
		return i
	}
	return -1
}

// indexAfter is index for an id in a list, after the id at the last index (-1 for none): mostly it is the same again, for
// the other side, or the next, in alphabetical order or in that of the vocabulary.
func (t *terms) indexAfter(last int, id string) int {
	if last >= 0 {
		if t.ids[last] == id {
			return last
		}
		if next := t.next[last]; t.ids[next] == id {
			return next
		}
		if next := last + 1; next < len(t.ids) && t.ids[next] == id {
			return next
		}
	}
	return t.index(id)
}

// lexicon finds the words of a request.
type lexicon struct {
	regions, motions, kit, stations, conditions, tests, medicines, stressors, questions, lists, rungs terms
}

func newLexicon(v *catalog.Vocabulary, questions, lists, rungs []string) lexicon {
	known := func(kind string) terms { return newTerms(kind, v.IDs(kind)) }
	return lexicon{
		regions: known("region"), motions: known("motion"), kit: known("kit"), stations: known("station"),
		conditions: known("condition"), tests: known("test"), medicines: known("medicine"), stressors: known("stressor"),
		questions: newTerms("question", questions), lists: newTerms("list of questions", lists), rungs: newTerms("rung", rungs),
	}
}
