package client

import (
	"fmt"
	"math"
	"slices"
	"strconv"

	"drillwright/catalog/authored"
)

// Check holds a request against the words, ladders and limits of an edition. The error is *Invalid: every
// violation at once, in the order in which they were found. What a question names beside the request (a lift, a drill, a
// plan) isn't looked at. The check of a request that is abandoned ends early, and may then find less.
func Check(fr *Frame, q *Request) error {
	c := &checker{frame: fr, at: &fr.at, ids: &fr.ids, q: q, p: q.Profile, limits: fr.limits}
	c.request()
	if q.Profile == nil {
		c.add(nil, "profile", "the profile is missing", "")
		return NewInvalid(c.list)
	}
	c.checkProfile(&field{name: "profile"}, q.Profile)
	c.health()
	c.clearances()
	c.measured()
	c.standings()
	c.screened()
	c.trained()
	return NewInvalid(c.list)
}

// checker notes what is wrong. Its methods take the field that holds a value, and the part of it that the value is;
// they make no text of either unless they must.
type checker struct {
	frame *Frame
	at    *slots
	ids   *lexicon
	q     *Request
	p     *Profile
	// limits are those of every number, by slot.
	limits   []Span
	list     []Violation
	searches *searches
	drillIDs []string // once one is unknown
}

func (c *checker) add(f *field, part, message, suggestion string) {
	c.list = append(c.list, Violation{Field: string(append(f.appendTo(nil), part...)), Message: message, Suggestion: suggestion})
}

// term finds the index of an id, or reports that the vocabulary doesn't have it and returns -1.
func (c *checker) term(f *field, part string, known *terms, id string) int {
	place := known.index(id)
	if place < 0 {
		c.unknown(f, part, known.kind, id, known.ids)
	}
	return place
}

func (c *checker) unknown(f *field, part, what, id string, known []string) {
	if id == "" {
		c.add(f, part, "the "+what+" is missing", "")
	} else {
		if c.searches == nil {
			c.searches = &searches{}
		}
		c.add(f, part, fmt.Sprintf("unknown %s %q", what, authored.Shortened(id)), "")
		c.list[len(c.list)-1].unknown = c.searches.of(id, known)
	}
}

func (c *checker) oneOf(f *field, part, what, word string, known []string) {
	if !slices.Contains(known, word) {
		c.unknown(f, part, what, word, known)
	}
}

// maybeOneOf is oneOf for words that may be left out.
func (c *checker) maybeOneOf(f *field, part, what, word string, known []string) {
	if word != "" {
		c.oneOf(f, part, what, word, known)
	}
}

// day reports a day that is missing, or after the day of the request.
func (c *checker) day(f *field, part string, d Day) {
	if d == 0 || d > c.q.AsOf {
		c.wrongDay(f, part, d)
	}
}

func (c *checker) wrongDay(f *field, part string, d Day) {
	if d == 0 {
		c.add(f, part, "the day is missing", "write YYYY-MM-DD")
	}
	c.past(f, part, d)
}

func (c *checker) past(f *field, part string, d Day) {
	if d > c.q.AsOf && c.q.AsOf != 0 {
		c.add(f, part, fmt.Sprintf("%s is after the day of the request, %s", d, c.q.AsOf), "")
	}
}

// within reports a number outside the limits of a path; what names it in the sentence.
func (c *checker) within(f *field, part string, p *Path, what string, v float64) {
	if !(v >= p.Lo && v <= p.Hi) { // what is not a number is not within either
		c.outside(f, part, p, what, v)
	}
}

// can is within of where a number is kept, small enough to be inlined.
func (c *checker) can(at numberAt, v float64) bool {
	return v >= c.limits[at.slot].Lo && v <= c.limits[at.slot].Hi
}

func (c *checker) outside(f *field, part string, p *Path, what string, v float64) {
	switch {
	case math.IsNaN(v) || math.IsInf(v, 0):
		c.add(f, part, "this is not a number", "")
	case v > p.Hi:
		c.add(f, part, fmt.Sprintf("%s is more than %s can be", figure(v, p.Unit), what), "at most "+figure(p.Hi, p.Unit))
	default:
		c.add(f, part, fmt.Sprintf("%s is less than %s can be", figure(v, p.Unit), what), "at least "+figure(p.Lo, p.Unit))
	}
}

// path is that of where a number is kept.
func (c *checker) path(at numberAt) *Path { return &c.frame.Table.Paths[at.path] }

func (c *checker) number(f *field, part string, p *Path, what string, v *float64) {
	if v != nil {
		c.within(f, part, p, what, *v)
	}
}

func (c *checker) whole(f *field, part string, p *Path, what string, v *int) {
	if v != nil {
		c.within(f, part, p, what, float64(*v))
	}
}

// score reports a number outside 0 to 10.
func (c *checker) score(f *field, part, what string, v float64) {
	if !(v >= 0 && v <= 10) {
		c.add(f, part, figure(v, "")+" is no "+what+" score", "it goes from 0 to 10")
	}
}

func (c *checker) scored(f *field, part, what string, v *float64) {
	if v != nil {
		c.score(f, part, what, *v)
	}
}

func figure(v float64, unit string) string {
	text := strconv.FormatFloat(v, 'f', -1, 64)
	switch unit {
	case "":
		return text
	case "deg":
		return text + "°"
	default:
		return text + " " + unit
	}
}

// sideOf reports a side of something that has none; where a side is optional, none stands for both.
func (c *checker) sideOf(f *field, part, what string, sided bool, s Side) {
	if !sided && s != SideNone {
		c.add(f, part, what+" has no left and right", "leave the side out")
	}
}

// sideIn reports an entry under left or right of what is midline, or under midline of what has two sides.
func (c *checker) sideIn(f *field, what string, sided bool, s Side) {
	switch {
	case sided == (s == SideLeft || s == SideRight) && (sided || s == SideNone):
	case sided:
		c.add(f, sideKey(s), what+" has a left and a right", "write it under left or right")
	default:
		c.add(f, sideKey(s), what+" has no left and right", "write it under midline, once")
	}
}

// regionOf finds a region that is told with an optional side; -1 when it is unknown.
func (c *checker) regionOf(f *field, id string, s Side) int {
	index := c.term(f, ".region", &c.ids.regions, id)
	if index >= 0 {
		c.sideOf(f, ".side", c.at.regions[index].spoken, c.frame.Vocabulary.Regions[index].Sided, s)
	}
	return index
}
