package rules

import (
	"regexp"
	"strings"
	"unique"

	"drillwright/catalog/authored"
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

func worded(t authored.Text, roots []string) wording {
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

// expression is what reads an expression, which must stand in quotes.
func (b *bookReader) expression(t authored.Text, roots []string) (*resolver, bool) {
	if b.stopped(t.At) {
		return nil, false
	}
	if !t.Quoted && t.Value != "" && !b.unquoted(&t) {
		return nil, false
	}
	return &resolver{scope: scope{b.frame, b.drill, roots}, source: &source{report: b.Report, text: t, code: t.Value}}, true
}

// unquoted reports an expression without quotes, and is true where it is certain how far it goes.
func (b *bookReader) unquoted(t *authored.Text) bool {
	cut := opened(blank(t.Value), "(", ")") > 0 || opened(blank(t.Value), "[", "]") > 0
	fix := t.Requote(cut)
	if inner, curly := uncurled(t.Value); curly && !cut && fix != nil {
		fix.New = `"` + inner + `"`
	} else if cut && fix != nil {
		*t = t.ToEndOfLine()
	}
	b.Fix(t.At, fix, "put the expression in double quotes", "an expression stands without quotes")
	return fix != nil && !strings.ContainsAny(t.Value, "\u201c\u201d\u201e")
}

// uncurled is what stands between two curly quotes.
func uncurled(s string) (string, bool) {
	runes := []rune(s)
	if len(runes) < 2 || !strings.ContainsRune("\u201c\u201d\u201e\u2018", runes[0]) || !strings.ContainsRune("\u201c\u201d\u2019", runes[len(runes)-1]) {
		return s, false
	}
	inner := string(runes[1 : len(runes)-1])
	return inner, !strings.ContainsAny(inner, "\"\\\u201c\u201d\u201e")
}

// condition reads an expression that must be true or false: allow-list, unrolling and paths, then expr's checker. It is
// nil when it can't be read, and what must be meant where all that is wrong with it is certain.
func (b *bookReader) condition(t authored.Text, roots []string) *condition.Node {
	before, doubts := b.Count(), b.Doubtful()
	r, ok := b.expression(t, roots)
	if !ok {
		return nil
	}
	as := worded(t, roots)
	if had, ok := b.had.conditions[as]; ok && b.Count() == before {
		b.parts += had.parts
		b.texts.conditions[as] = had
		return had.Node
	}
	n := r.parse()
	if n == nil || !r.allow(n) {
		return nil
	}
	out := r.condition(n)
	b.parts += r.parts
	if b.Count() == before {
		r.typeCheck(n, b.config)
	}
	if b.Doubtful() > doubts {
		return nil
	}
	out.Seal()
	if b.Count() == before {
		b.texts.conditions[as] = sealed{out, r.parts}
	}
	return out
}

func (b *bookReader) number(t authored.Text, roots []string) *condition.Num {
	if t.Value == "" {
		return nil
	}
	if !t.Quoted {
		if f, ok := plainNumber(t.Value); ok {
			return (&condition.Num{Op: condition.Const, K: f}).Seal()
		}
		if figure, ok := b.figure(t); ok {
			return figure
		}
	}
	doubts := b.Doubtful()
	r, ok := b.expression(t, roots)
	if !ok {
		return nil
	}
	n := r.parse()
	if n == nil || !r.allow(n) {
		return nil
	}
	out := r.number(n)
	r.bounded(n, out)
	b.parts += r.parts
	if b.Doubtful() > doubts {
		return nil
	}
	return out.Seal()
}

// figure reads a number that stands without quotes and isn't written plainly; false when it is no number at all.
func (b *bookReader) figure(t authored.Text) (*condition.Num, bool) {
	if !figure.MatchString(t.Value) {
		return nil, false
	}
	r := &resolver{scope: scope{b.frame, b.drill, nil}, source: &source{report: b.Report, text: t, code: t.Value}}
	if r.unslipped() {
		if f, ok := plainNumber(r.code); ok {
			return (&condition.Num{Op: condition.Const, K: f}).Seal(), true
		}
	}
	return nil, true
}

// figure begins like a number and isn't more than one.
var figure = regexp.MustCompile(`^[-\x{2010}-\x{2015}\x{2212}]?[.0-9][\w.,]*\s*[\pL°%]*$`)

// sentence reads a text. Where when couldn't be read, lenient leaves unsaid that the text names what only when could have.
func (b *bookReader) sentence(t authored.Text, roots []string, domain string, lenient bool) *Sentence {
	if b.stopped(t.At) || !b.fits(t) {
		return nil
	}
	as := saying{worded(t, roots), domain}
	if had, ok := b.had.sentences[as]; ok {
		b.texts.sentences[as] = had
		return had
	}
	before := b.Count()
	r := &resolver{scope: scope{b.frame, b.drill, roots}, source: &source{report: b.Report, text: t}, witness: witness[domain], lenient: lenient}
	s := r.sentence(t, domain)
	if b.Count() == before {
		b.texts.sentences[as] = s
	}
	return s
}
