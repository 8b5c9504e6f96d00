package server

import (
	"fmt"
	"math"
	"sync"

	"drillwright/catalog/authored"
	"drillwright/rules/client"
)

// reader converts one request, and notes the days that aren't in the calendar. What it makes is much of what a call
// takes, so its room is used again.
type reader struct {
	request client.Request
	profile client.Profile
	wholes  []int // the whole numbers that may be absent
	entries profileEntries
	room    room
	list    []client.Violation
	last    struct {
		text string
		day  client.Day
	}
}

var readers = sync.Pool{New: func() any { return &reader{} }}

// done gives the reader back; its request isn't used afterwards.
func (r *reader) done() {
	r.empty()
	readers.Put(r)
}

// empty keeps nothing but room.
func (r *reader) empty() {
	r.entries.empty()
	r.room.empty()
	*r = reader{wholes: emptied(r.wholes), profile: emptyProfile(&r.profile), entries: r.entries, room: r.room}
}

func emptied[T any](list []T) []T {
	clear(list)
	return list[:0]
}

// day reads one; field names it.
func (r *reader) day(text, field string) client.Day {
	d, ok := r.read(text)
	if !ok {
		r.wrong(text, field)
	}
	return d
}

// dayOf reads the day of an item: profile.log.sets[2].day.
func (r *reader) dayOf(text, list string, index int, part string) client.Day {
	d, ok := r.read(text)
	if !ok {
		r.wrong(text, fmt.Sprintf("%s[%d]%s", list, index, part))
	}
	return d
}

// dayUnder reads the day of an entry: profile.pain["shoulder"].left.date.
func (r *reader) dayUnder(text, entries, key, side, part string) client.Day {
	d, ok := r.read(text)
	if !ok {
		r.wrong(text, fmt.Sprintf("%s[%q]%s%s", entries, key, side, part))
	}
	return d
}

// read remembers the last day: most of a profile is of one. No text is no day, and not wrong.
func (r *reader) read(text string) (client.Day, bool) {
	if text == r.last.text {
		return r.last.day, true
	}
	if text == "" {
		return 0, true
	}
	d, ok := client.DayOf(text)
	if !ok {
		return 0, false
	}
	r.last.text, r.last.day = text, d
	return d, true
}

func (r *reader) wrong(text, field string) {
	r.list = append(r.list, client.Violation{Field: field, Message: fmt.Sprintf("%q is not a day", authored.Shortened(text)),
		Suggestion: "write YYYY-MM-DD"})
}

// whole is a whole number that may be absent.
func (r *reader) whole(v *int32) *int {
	if v == nil {
		return nil
	}
	if len(r.wholes) == cap(r.wholes) {
		r.wholes = make([]int, 0, 16)
	}
	r.wholes = append(r.wholes, int(*v))
	return &r.wholes[len(r.wholes)-1]
}

// entries are the sides under which a profile has something, in the order in which they are read, and their keys.
var entries = [...]struct {
	side client.Side
	key  string
}{{client.SideLeft, ".left"}, {client.SideRight, ".right"}, {client.SideNone, ".midline"}}

// number is a number that may be absent. It isn't copied: nobody writes to a message that was sent.
func number(v *float64) *float64 {
	if v != nil && *v == 0 && math.Signbit(*v) {
		return new(float64)
	}
	return v
}

// fold makes −0 a plain 0, so that equal requests are equal to the byte.
func fold(v float64) float64 {
	if v == 0 {
		return 0
	}
	return v
}
