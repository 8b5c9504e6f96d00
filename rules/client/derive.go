package client

import (
	"math/bits"
	"slices"

	"drillwright/catalog"
)

// Derive works out the facts of a request that has been checked. What the lift adds (request.allowed) is set
// by Allow, since it depends on the catalogue's tags of the lift.
func Derive(fr *Frame, q *Request) *Facts {
	d := deriver{Facts: fr.blank(q), p: q.Profile}
	d.words = slices.Grow(d.words, wordsOf(fr, q))
	d.gather()
	d.complaints()
	d.answers()
	d.person()
	d.conditions()
	d.clearances()
	d.mildly()
	d.pain()
	d.questioned()
	d.rungs()
	d.measures()
	d.motions()
	d.best()
	d.log()
	d.worsened()
	d.requestFacts(&fr.at.request.requestFields, bothSides, q)
	return d.Facts
}

// deriver fills in the facts, in the order of Derive: later steps read what earlier ones have written.
type deriver struct {
	*Facts
	p     *Profile
	loose bool // the client is hypermobile, or something speaks for it: no range is presumed
}

// wordsOf is how many words the lists of a request can hold; more would only cost another allocation.
func wordsOf(fr *Frame, q *Request) int {
	p := q.Profile
	return 3 + len(fr.Vocabulary.Kit) + len(p.Medicines) + len(p.Disliked) + len(p.GoalLifts) + len(p.Best) + 3*len(p.Log) +
		6*len(q.Complaints) + 4*len(p.Conditions) + len(q.KitTaken) + len(q.StationsTaken)
}

// exactly is the list or word, fully known, of the words that were added from a place on: in order, each once.
func (d *deriver) exactly(from int) Set {
	slices.Sort(d.words[from:])
	d.words = d.words[:from+len(slices.Compact(d.words[from:]))]
	return d.sorted(from)
}

// sorted is exactly for words that are in order already, each once.
func (d *deriver) sorted(from int) Set {
	if from == len(d.words) {
		return Set{}
	}
	list := d.words[from:len(d.words):len(d.words)]
	return Set{Sure: list, Possible: list}
}

func (d *deriver) listed(words ...string) Set {
	from := len(d.words)
	d.words = append(d.words, words...)
	return d.exactly(from)
}

func (d *deriver) best() {
	for i := range d.p.Best {
		b := &d.p.Best[i]
		place := d.Frame.ids.tests.index(b.Test)
		if place < 0 || int(d.Request.AsOf-b.Day) > d.Frame.Measures.ValidDays.Best {
			continue
		}
		d.bestFacts(&d.Frame.at.tests[place], bothSides, b)
	}
}

// log counts this week's sets by pattern, and the drills the client knows.
func (d *deriver) log() {
	var scratch [16]uint64
	known := scratch[:] // a bit for each drill, which are in order of id
	if words := (len(d.Frame.Drills.Drills) + 63) / 64; words > len(scratch) {
		known = make([]uint64, words)
	}
	var drill *catalog.Drill
	for i := range d.p.Log {
		if i%Stride == 0 && d.Request.Abandoned() {
			return
		}
		s := &d.p.Log[i]
		if drill == nil || s.Drill != drill.ID { // the sets of a drill mostly follow each other
			if drill = d.Frame.Drills.Drill(s.Drill); drill == nil {
				d.LeftOut = append(d.LeftOut, s.Drill)
				continue
			}
			known[drill.Index/64] |= 1 << (drill.Index % 64)
		}
		if int(d.Request.AsOf-s.Day) < d.Frame.Measures.ValidDays.Week {
			n := d.Frame.lookups.weekOf[drill.Index]
			d.both(n, d.Num[0][n.slot].Lo+1)
		}
	}
	from := len(d.words)
	for i, some := range known {
		for ; some != 0; some &= some - 1 {
			d.words = append(d.words, d.Frame.Drills.Drills[i*64+bits.TrailingZeros64(some)].ID)
		}
	}
	d.bothWords(d.Frame.at.person.familiar, d.sorted(from))
}
