package rules

import (
	"strings"
	"unique"

	"drillwright/catalog"
	"drillwright/rules/condition"
)

// texts are the conditions and sentences of a book that were read without a mistake. Once they are sealed nothing in them
// changes, so that editions with the same frame and tags share them.
type texts struct {
	conditions map[wording]sealed
	sentences  map[saying]*Sentence
}

// wording is everything else that decides what a text comes to; a sentence has a domain too, or none.
type wording struct {
	roots unique.Handle[string]
	text  string
}

type saying struct {
	wording
	domain string
}

func worded(t catalog.Text, roots []string) wording {
	return wording{unique.Make(strings.Join(roots, " ")), t.Value}
}

// sealed is a condition, and how many parts it has with every member written out.
type sealed struct {
	*condition.Node
	parts int
}

func newTexts() texts {
	return texts{conditions: map[wording]sealed{}, sentences: map[saying]*Sentence{}}
}

// expression parses a quoted expression and runs the passes that need no type.
func (b *bookReader) expression(t catalog.Text, roots []string) (*resolver, bool) {
	s := &source{report: b.Report, text: t, code: t.Value}
	r := &resolver{scope: scope{b.frame, b.drill, roots}, source: s}
	switch {
	case b.stopped(t.At):
		return r, false
	case !t.Quoted && t.Value != "":
		b.Suggest(t.At, "put the expression in double quotes", "an expression stands without quotes")
		return r, false
	case t.Broken:
		b.Suggest(t.At, "write it on one line in quotes, or as a literal block after |", "an expression goes over several lines")
		return r, false
	}
	return r, true
}

// condition reads an expression that must be true or false: allow-list, unrolling and paths, then expr's checker.
func (b *bookReader) condition(t catalog.Text, roots []string) *condition.Node {
	r, ok := b.expression(t, roots)
	if !ok {
		return nil
	}
	as := worded(t, roots)
	if had, ok := b.had.conditions[as]; ok {
		b.parts += had.parts
		b.texts.conditions[as] = had
		return had.Node
	}
	before := b.Count()
	n := r.parse()
	if n == nil || !r.allow(n) {
		return nil
	}
	out := r.condition(n)
	b.parts += r.parts
	if b.Count() == before {
		r.typeCheck(n, b.config)
	}
	if b.Count() > before {
		return nil
	}
	b.texts.conditions[as] = sealed{out.Seal(), r.parts}
	return out
}

func (b *bookReader) number(t catalog.Text, roots []string) *condition.Num {
	if t.Value == "" {
		return nil
	}
	if !t.Quoted {
		if f, ok := plainNumber(t.Value); ok {
			return (&condition.Num{Op: condition.Const, K: f}).Seal()
		}
		s := &source{report: b.Report, text: t, code: t.Value}
		if numeral.MatchString(t.Value) && s.slipped(t.Value) {
			return nil
		}
	}
	r, ok := b.expression(t, roots)
	if !ok {
		return nil
	}
	before := b.Count()
	n := r.parse()
	if n == nil || !r.allow(n) {
		return nil
	}
	out := r.number(n)
	r.bounded(n, out)
	b.parts += r.parts
	if b.Count() > before {
		return nil
	}
	return out.Seal()
}

func (b *bookReader) sentence(t catalog.Text, roots []string, domainNode *condition.Node) *Sentence {
	if b.stopped(t.At) || !b.fits(t) {
		return nil
	}
	as := saying{wording: worded(t, roots)}
	if domainNode != nil {
		as.domain = domainNode.Domain
	}
	if had, ok := b.had.sentences[as]; ok {
		b.texts.sentences[as] = had
		return had
	}
	before := b.Count()
	r := &resolver{scope: scope{b.frame, b.drill, roots}, source: &source{report: b.Report, text: t}}
	s := r.sentence(t, as.domain)
	if b.Count() == before {
		b.texts.sentences[as] = s
	}
	return s
}
