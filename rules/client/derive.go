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
	d.pain()
	d.questioned()
	d.rungs()
	d.measures()
	d.motions()
	d.best()
	d.log()
	d.request()
	return d.Facts
}

// deriver fills in the facts, in the order of Derive: later steps read what earlier ones have written.
type deriver struct {
	*Facts
	p *Profile
}

// wordsOf is how many words the lists of a request can hold; more would only cost another allocation.
func wordsOf(fr *Frame, q *Request) int {
	p := q.Profile
	return 3 + len(fr.Vocabulary.Kit) + len(p.Medicines) + len(p.Disliked) + len(p.GoalLifts) + len(p.Best) + len(p.Log) +
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

func (d *deriver) complaints() {
	for i := range d.told {
		if d.told[i].complained {
			d.complaint(i, 0)
			d.complaint(i, 1)
		}
	}
}

func (d *deriver) complaint(region, side int) {
	at, id := &d.Frame.at.regions[region], d.Frame.ids.regions.ids[region]
	intensity, days := 0.0, 0.0
	for _, c := range d.Request.Complaints {
		if c.Region == id && c.Side.On(side) {
			intensity, days = max(intensity, c.Intensity), max(days, float64(c.Days))
		}
	}
	d.value(at.intensity, side, intensity)
	d.value(at.days, side, days)
	d.setWords(at.kinds, side, d.ofComplaints(id, side, func(c *Complaint) string { return c.Kind }), Measured)
	d.setWords(at.moments, side, d.ofComplaints(id, side, func(c *Complaint) string { return c.Moment }), Measured)
	d.setWords(at.onsets, side, d.ofComplaints(id, side, func(c *Complaint) string { return c.Onset }), Measured)
}

// ofComplaints lists one word of each complaint of a region on a side.
func (d *deriver) ofComplaints(region string, side int, word func(*Complaint) string) Set {
	from := len(d.words)
	for i := range d.Request.Complaints {
		if c := &d.Request.Complaints[i]; c.Region == region && c.Side.On(side) {
			d.words = append(d.words, word(c))
		}
	}
	return d.exactly(from)
}

// answers settles each screening question that was answered and still counts. An answer goes before what was said
// of all others, and the first answer before a second.
func (d *deriver) answers() {
	if s := d.p.Screening; s != nil && s.Others == "NO" {
		for _, id := range s.Lists {
			if i := d.Frame.ids.lists.place(id); i >= 0 {
				d.othersNo(i, s.Day)
			}
		}
	}
	for i := range slices.Backward(d.p.Answers) {
		a := &d.p.Answers[i]
		if place := d.Frame.ids.questions.place(a.Question); place >= 0 {
			truth, status := d.answer(place, a)
			d.bothTruth(d.Frame.at.answers[place], truth, status)
		}
	}
}

func (d *deriver) othersNo(list int, on Day) {
	for _, place := range d.Frame.things.asked[list] {
		if d.counts(place, on) {
			d.bothTruth(d.Frame.at.answers[place], No, Measured)
		} else {
			d.bothTruth(d.Frame.at.answers[place], Maybe, TooOld)
		}
	}
}

func (d *deriver) answer(question int, a *Answer) (Truth, Status) {
	switch {
	case !d.counts(question, a.Day):
		return Maybe, TooOld
	case a.Is == "NO":
		return No, Measured
	case a.Is == "YES" || d.Frame.things.sameDay[question]:
		return Yes, Measured
	default:
		return Maybe, Unanswered
	}
}

// counts is true while an answer is young enough for its urgency.
func (d *deriver) counts(question int, on Day) bool {
	if d.Frame.things.sameDay[question] {
		return on == d.Request.AsOf
	}
	return int(d.Request.AsOf-on) <= d.Frame.Measures.ValidDays.Answer
}

// denied is true when a question exists and its answer is a standing no.
func (d *deriver) denied(question string) bool {
	place := d.Frame.ids.questions.place(question)
	return place >= 0 && d.Bool[0][d.Frame.at.answers[place].slot] == No
}

func (d *deriver) best() {
	for i := range d.p.Best {
		b := &d.p.Best[i]
		place := d.Frame.ids.tests.place(b.Test)
		if place < 0 || int(d.Request.AsOf-b.Day) > d.Frame.Measures.ValidDays.Best {
			continue
		}
		at := &d.Frame.at.tests[place]
		d.whole(at.sets, b.Sets)
		d.whole(at.reps, b.Reps)
		d.number(at.load, b.LoadKg)
		d.number(at.pain, b.Pain)
		d.word(at.form, b.Form)
	}
}

// log counts this week's sets by pattern, and the drills the client knows.
func (d *deriver) log() {
	var room [16]uint64
	known := room[:] // a bit for each drill, which are in order of id
	if words := (len(d.Frame.Drills.Drills) + 63) / 64; words > len(room) {
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
				continue
			}
			known[drill.Index/64] |= 1 << (drill.Index % 64)
		}
		if int(d.Request.AsOf-s.Day) < d.Frame.Measures.ValidDays.Week {
			n := d.Frame.things.weekOf[drill.Index]
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

func (d *deriver) request() {
	at := &d.Frame.at.request
	d.bothWords(at.kitTaken, d.listed(d.Request.KitTaken...))
	d.bothWords(at.stationsTaken, d.listed(d.Request.StationsTaken...))
	minutes := notStated
	if d.Request.Minutes > 0 {
		minutes = Span{float64(d.Request.Minutes), float64(d.Request.Minutes)}
	}
	d.setNumber(at.minutes, 0, minutes, Measured)
	d.setNumber(at.minutes, 1, minutes, Measured)
}
