package client

import "strings"

// row is what the table of fields says of the path of a field, {} and {name} standing for what it is reported of.
type row struct {
	Path
	of string // the vocabulary of its words; drills are no part of it
}

// subject is what a path is about: a motion, a region or a test; nothing where it is about the person as a whole.
type subject struct {
	id, name string
	sided    bool
	limits   *Span // of a row that has none of its own
}

// reported is where a field is kept. Its path is numbered when it is met first.
func (t *Table) reported(r *row, of subject) kept {
	p := r.Path
	p.Name, p.Measure, p.Sided = strings.Replace(p.Name, "{}", of.id, 1), strings.Replace(p.Measure, "{name}", of.name, 1), of.sided
	if i, ok := t.byName[p.Name]; ok {
		return kept{int32(t.Paths[i].Slot), int32(i)}
	}
	if of.limits != nil && p.Lo == p.Hi {
		p.Lo, p.Hi = of.limits.Lo, of.limits.Hi
	}
	if r.of != "" && r.of != "drill" {
		p.Words = t.vocabulary.IDs(r.of)
	}
	return t.add(p, nil)
}

// inOrder numbers fields ahead of the others of their message.
func (t *Table) inOrder(of subject, rows ...*row) {
	for _, r := range rows {
		t.reported(r, of)
	}
}

// sides of the body, from the first to before the second.
type sides struct{ from, to int }

var bothSides = sides{0, 2}

// Each of these takes a field over as a fact. What was not reported stays as it is.

func (d *deriver) whole(n numberAt, on sides, v *int) {
	if v != nil {
		d.values(n, on, float64(*v))
	}
}

func (d *deriver) number(n numberAt, on sides, v *float64) {
	if v != nil {
		d.values(n, on, *v)
	}
}

func (d *deriver) values(n numberAt, on sides, v float64) {
	for side := on.from; side < on.to; side++ {
		d.value(n, side, v)
	}
}

// count is a whole number of which 0 says that there is none.
func (d *deriver) count(n numberAt, on sides, v int) {
	span := notStated
	if v > 0 {
		span = Span{float64(v), float64(v)}
	}
	for side := on.from; side < on.to; side++ {
		d.setNumber(n, side, span, Measured)
	}
}

func (d *deriver) yesNo(t truthAt, on sides, v *bool) {
	for side := on.from; side < on.to && v != nil; side++ {
		d.setTruth(t, side, truth(*v), Measured)
	}
}

func (d *deriver) word(w wordsAt, on sides, v string) {
	if v != "" {
		d.list(w, on, []string{v})
	}
}

// list is known as a whole: of an empty one, that there is none.
func (d *deriver) list(w wordsAt, on sides, words []string) {
	set := d.listed(words...)
	for side := on.from; side < on.to; side++ {
		d.setWords(w, side, set, Measured)
	}
}

// Report is how a fact is reported in a request that is the caller's own: by the one of its functions that is there.
type Report struct {
	Path  string // {} stands for the id of a motion
	Whole bool   // counted, not measured
	Feeds bool   // other facts are worked out from it as well
	None  bool   // that there is none can be reported, as 0

	Number   func(q *Request, v float64)
	Truth    func(q *Request, yes bool)
	Word     func(q *Request, word string)
	List     func(q *Request) *[]string
	Measures func(q *Request) *[]Measure
}
