// Package random makes catalogues, rulebooks and clients by chance, for benchmarks and property tests of the rule
// compiler. Everything is a function of its seed: the same arguments give the same bytes.
//
// Its drills and clients are plausible, not sensible: the words are those of the embedded vocabulary and the
// figures lie within its limits, but nothing says that a drill could be done, or that a rule is good advice.
package random

import (
	"math"
	"math/rand/v2"
	"sync"

	"drillwright/catalog"
)

// Vocabulary is that of the catalogue that comes with the program.
var Vocabulary = sync.OnceValue(func() *catalog.Vocabulary {
	snap, err := catalog.Read(catalog.EmbeddedFiles())
	if err != nil {
		panic(err) // a test of its own holds that the embedded files read
	}
	return snap.Vocabulary
})

// rungs are those of every ladder of the embedded book: ladders belong to a book, not to the vocabulary.
var rungs = []string{"active_motion", "isometric", "single_joint", "multi_joint_one_side", "multi_joint_two_side", "unrestricted"}

// questions are some of those that floor and embedded book ask, same-day ones and others.
var questions = []string{"recent_trauma", "known_condition", "night_pain", "weight_loss", "inactive", "low_energy",
	"clumsy_unsteady_or_falls",
	"injury_signs", "high_blood_pressure", "numb_or_weak_arm", "numb_or_weak_leg", "weak_since_injury"}

// dice is a source of chance. Each kind of thing has a stream of its own, so that asking for more of one kind
// changes no other.
type dice struct{ *rand.Rand }

func roll(seed, stream uint64) *dice { return &dice{rand.New(rand.NewPCG(seed, stream))} }

// Streams.
const (
	ofDrills uint64 = iota + 1
	ofPools
	ofRules
	ofDoses
	ofClient
	ofFacts
)

func (d *dice) chance(p float64) bool { return d.Float64() < p }

// between draws a whole number, both ends included.
func (d *dice) between(least, most int) int { return least + d.IntN(most-least+1) }

// halves is between with the halves as well.
func (d *dice) halves(least, most int) float64 { return float64(d.between(2*least, 2*most)) / 2 }

// fives draws a multiple of 5 within limits.
func (d *dice) fives(least, most float64) float64 {
	return 5 * float64(d.between(int(math.Ceil(least/5)), int(math.Floor(most/5))))
}

func pick[T any](d *dice, list []T) T { return list[d.IntN(len(list))] }

// some draws a few different members, in the order of the list.
func some[T any](d *dice, list []T, least, most int) []T {
	n := min(d.between(least, most), len(list))
	var out []T
	for i, v := range list {
		if d.IntN(len(list)-i) < n-len(out) {
			out = append(out, v)
		}
	}
	return out
}

// weighted draws a place in proportion to the weights.
func (d *dice) weighted(weights ...int) int {
	total := 0
	for _, w := range weights {
		total += w
	}
	left := d.IntN(total)
	for i, w := range weights {
		if left -= w; left < 0 {
			return i
		}
	}
	return len(weights) - 1
}

// ranged are the motions that are measured in degrees.
func ranged(v *catalog.Vocabulary) []*catalog.Motion {
	var motions []*catalog.Motion
	for i := range v.Motions {
		if v.Motions[i].HasRange() {
			motions = append(motions, &v.Motions[i])
		}
	}
	return motions
}
