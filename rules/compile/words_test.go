package compile

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"drillwright/rules/client"
	"drillwright/rules/predicate"
)

// The words of a tag: w-0 is on every second row, the last ones on a single row each.
func wordOn(i int) string { return fmt.Sprintf("w-%d", i) }

const (
	rowsOfWords  = 700
	wordsOfOneOf = 40
)

// wordy is a catalogue of drills with a list in slot 0, and its first word alone in slot 1.
func wordy(dice *rand.Rand) *layout {
	var rows [][]*predicate.Row
	for i := range rowsOfWords {
		var list []string
		for w := range 12 {
			if dice.IntN(2<<w) == 0 {
				list = append(list, wordOn(w))
			}
		}
		if i < wordsOfOneOf {
			list = append(list, wordOn(100+i))
		}
		row := predicate.Pack(predicate.Tags{Set: [][]string{list, list[:min(1, len(list))]}})
		rows = append(rows, []*predicate.Row{row})
	}
	return newLayout(rows)
}

// TestWordIndex: rare words are lists, common ones sets, and both hold the rows that have the word.
func TestWordIndex(t *testing.T) {
	l := wordy(rand.New(rand.NewPCG(1, 1)))
	x := newWordIndex(l, 0)
	rare, common := 0, 0
	for word, id := range x.ids {
		listed := int(x.starts[id+1] - x.starts[id])
		if x.common[id] != nil {
			common++
			require.Zero(t, listed)
		} else {
			rare++
			require.LessOrEqual(t, listed, l.words)
		}
		got := newSet(l.words)
		x.addTo(got, id)
		for at := range l.every.all() {
			require.Equal(t, slices.Contains(l.rows[at].Words(0), word), got.has(at), word)
		}
	}
	require.GreaterOrEqual(t, rare, wordsOfOneOf)
	require.GreaterOrEqual(t, common, 4)
}

func refOf(root predicate.Root, name string, kind client.Kind, slot int) *predicate.Words {
	ref := &predicate.Ref{Root: root, Name: name, Kind: kind, Slot: slot}
	if root == predicate.OfFacts {
		ref.Path = &client.Path{Name: name}
	}
	return &predicate.Words{Ref: ref}
}

// TestWordAtoms holds words of the drill against words of the client, in every form, against the closures.
func TestWordAtoms(t *testing.T) {
	drillList, drillWord := refOf(predicate.OfDrill, "drill.list", client.List, 0), refOf(predicate.OfDrill, "drill.word", client.Word, 1)
	clientList, clientWord := refOf(predicate.OfFacts, "client.list", client.List, 0), refOf(predicate.OfFacts, "client.word", client.Word, 1)
	literal := &predicate.Words{Literal: []string{wordOn(0), wordOn(3), wordOn(101), "never"}}
	element := &predicate.Words{Element: true}
	in := func(a, b *predicate.Words) *predicate.Node { return &predicate.Node{Op: predicate.Within, A: a, B: b} }
	not := func(n *predicate.Node) *predicate.Node {
		return &predicate.Node{Op: predicate.Not, Kids: []*predicate.Node{n}}
	}
	both := func(a, b *predicate.Node) *predicate.Node {
		return &predicate.Node{Op: predicate.And, Kids: []*predicate.Node{a, b}}
	}
	has := func(quant string, list *predicate.Words, body *predicate.Node) *predicate.Node {
		return &predicate.Node{Op: predicate.Has, Quant: quant, List: list, Body: body, Least: 1}
	}
	atoms := []*predicate.Node{in(drillWord, clientList), in(drillWord, clientWord), in(clientWord, drillList), in(clientWord, drillWord)}
	for _, quant := range []string{"any", "all"} {
		atoms = append(atoms,
			has(quant, drillList, in(element, clientList)), has(quant, drillList, not(in(element, clientList))),
			has(quant, drillList, in(element, clientWord)), has(quant, drillList, both(in(element, clientList), in(element, literal))),
			has(quant, clientList, in(element, drillList)), has(quant, clientList, not(in(element, drillList))))
	}
	dice := rand.New(rand.NewPCG(2, 2))
	l := wordy(dice)
	for _, n := range atoms {
		wordsHoldAlike(t, l, n.Seal(), toldWords(dice))
	}
}

// toldWords draws what is known of a list and of a word of the client: all, some or nothing, and words that no drill has.
func toldWords(dice *rand.Rand) []*client.Facts {
	var out []*client.Facts
	for i := range 60 {
		var list client.Set
		for w := range 110 {
			if dice.IntN(4) == 0 && (w < 12 || dice.IntN(20) == 0) {
				list.Possible = append(list.Possible, wordOn(w))
				if i%3 == 0 || i%3 == 1 && dice.IntN(2) == 0 {
					list.Sure = append(list.Sure, wordOn(w))
				}
			}
		}
		word := client.Set{Possible: []string{wordOn(dice.IntN(6))}}
		word.Sure = word.Possible
		switch i % 4 {
		case 1:
			word = client.Set{Possible: []string{wordOn(0), wordOn(2), "never"}}
		case 2:
			word = client.Set{}
		}
		f := &client.Facts{}
		for side := range 2 {
			f.Set[side] = []client.Set{list, word}
		}
		out = append(out, f)
	}
	return out
}

func wordsHoldAlike(t *testing.T, l *layout, n *predicate.Node, reported []*client.Facts) {
	t.Helper()
	b := &builder{layout: l, tags: map[string]*wordIndex{}}
	s := b.mixed(positive(n, false), reach{drill: true, request: true})
	require.Contains(t, []kind{words, list}, s.kind, "%s is looked up", n.Key())
	r := newRequest(&Program{layout: l})
	for _, f := range reported {
		r.begin(f, nil)
		for _, run := range []runOf{possible, sure} {
			r.run, r.unsettled = run, false
			got := slices.Clone(l.every)
			got.keep(r.find(&s))
			for at := range l.every.all() {
				reading := predicate.Read(f, 0, l.rows[at], nil)
				truth := reading.Eval(n)
				want := truth.Sure || run == possible && truth.Possible
				if want != got.has(at) || truth.Sure != truth.Possible && !r.unsettled {
					t.Fatalf("%s, with %v of %v: %v, unsettled %v", n.Key(), l.rows[at].Tags().Set, f.Set[0], got.has(at), r.unsettled)
				}
			}
		}
	}
}
