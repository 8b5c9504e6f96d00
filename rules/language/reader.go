package language

import (
	"regexp"
	"strings"
	"unicode/utf8"
	"unique"

	"github.com/expr-lang/expr/conf"

	"drillwright/catalog/authored"
	"drillwright/rules/client"
	"drillwright/rules/predicate"
)

// texts are the conditions and sentences of a book that were read without a mistake. Once they are sealed nothing in them
// changes, so that editions with the same frame and tags share them.
type Texts struct {
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
	*predicate.Node
	parts int
}

func newTexts() Texts {
	return Texts{conditions: map[wording]sealed{}, sentences: map[saying]*Sentence{}}
}

// Reader reads the texts of one book: conditions, numbers and sentences.
type Reader struct {
	report *authored.Report
	frame  *client.Frame
	tags   *Tags
	config *conf.Config
	parts  int   // of all expressions together
	stop   bool  // no more expressions are read
	had    Texts // of the same frame and tags, from an edition before; may be empty
	texts  Texts
}

// NewReader starts to read texts over the facts of a frame and the tags of drills. What had has, read of the same frame and tags before,
// isn't read again.
func NewReader(report *authored.Report, frame *client.Frame, tags *Tags, had Texts) *Reader {
	config := conf.CreateNew()
	config.Env = scope{frame: frame, drill: tags}.typesOf().Nature()
	config.Strict = true
	return &Reader{report: report, frame: frame, tags: tags, config: config, had: had, texts: newTexts()}
}

// Texts are those that were read without a mistake.
func (r *Reader) Texts() Texts { return r.texts }

// expression is what reads an expression, which must stand in quotes.
func (r *Reader) expression(t authored.Text, roots []string) (*resolver, bool) {
	if r.Stopped(t.At) {
		return nil, false
	}
	if !t.Quoted && t.Value != "" && !r.unquoted(&t) {
		return nil, false
	}
	return &resolver{scope: scope{r.frame, r.tags, roots}, source: &source{report: r.report, text: t, code: t.Value}}, true
}

// unquoted reports an expression without quotes, and is true where it is certain how far it goes.
func (r *Reader) unquoted(t *authored.Text) bool {
	cut := opened(blank(t.Value), "(", ")") > 0 || opened(blank(t.Value), "[", "]") > 0
	fix := t.Requote(cut)
	if inner, curly := uncurled(t.Value); curly && !cut && fix != nil {
		fix.New = `"` + inner + `"`
	} else if cut && fix != nil {
		*t = t.ToEndOfLine()
	}
	r.report.Fix(t.At, fix, "put the expression in double quotes", "an expression stands without quotes")
	return fix != nil && !strings.ContainsAny(t.Value, "\u201c\u201d\u201e")
}

// uncurled is what stands between two curly quotes.
func uncurled(s string) (string, bool) {
	runes := []rune(s)
	if len(runes) < 2 || !strings.ContainsRune("\u201c\u201d\u201e\u2018", runes[0]) || !strings.ContainsRune("\u201c\u201d\u2019",
		runes[len(runes)-1]) {
		return s, false
	}
	inner := string(runes[1 : len(runes)-1])
	return inner, !strings.ContainsAny(inner, "\"\\\u201c\u201d\u201e")
}

// Predicate reads an expression that must be true or false: allow-list, unrolling and paths, then expr's checker. It is
// nil when it can't be read, and what must be meant where all that is wrong with it is certain.
func (r *Reader) Predicate(t authored.Text, roots []string) *predicate.Node {
	before, doubts := r.report.Count(), r.report.Doubtful()
	e, ok := r.expression(t, roots)
	if !ok {
		return nil
	}
	as := worded(t, roots)
	if had, ok := r.had.conditions[as]; ok && r.report.Count() == before {
		r.parts += had.parts
		r.texts.conditions[as] = had
		return had.Node
	}
	n := e.parse()
	if n == nil || !e.allow(n) {
		return nil
	}
	out := e.predicate(n)
	r.parts += e.parts
	if r.report.Count() == before {
		e.typeCheck(n, r.config)
	}
	if r.report.Doubtful() > doubts {
		return nil
	}
	out.Seal()
	if r.report.Count() == before {
		r.texts.conditions[as] = sealed{out, e.parts}
	}
	return out
}

// Number reads an expression that must be a number; nil where there is none, or it can't be read.
func (r *Reader) Number(t authored.Text, roots []string) *predicate.Num {
	if t.Value == "" {
		return nil
	}
	if !t.Quoted {
		if f, ok := plainNumber(t.Value); ok {
			return (&predicate.Num{Op: predicate.Const, K: f}).Seal()
		}
		if figure, ok := r.figure(t); ok {
			return figure
		}
	}
	doubts := r.report.Doubtful()
	e, ok := r.expression(t, roots)
	if !ok {
		return nil
	}
	n := e.parse()
	if n == nil || !e.allow(n) {
		return nil
	}
	out := e.number(n)
	e.bounded(n, out)
	r.parts += e.parts
	if r.report.Doubtful() > doubts {
		return nil
	}
	return out.Seal()
}

// figure reads a number that stands without quotes and isn't written plainly; false when it is no number at all.
func (r *Reader) figure(t authored.Text) (*predicate.Num, bool) {
	if !figure.MatchString(t.Value) {
		return nil, false
	}
	e := &resolver{scope: scope{r.frame, r.tags, nil}, source: &source{report: r.report, text: t, code: t.Value}}
	if e.repaired() {
		if f, ok := plainNumber(e.code); ok {
			return (&predicate.Num{Op: predicate.Const, K: f}).Seal(), true
		}
	}
	return nil, true
}

// figure begins like a number and isn't more than one.
var figure = regexp.MustCompile(`^[-\x{2010}-\x{2015}\x{2212}]?[.0-9][\w.,]*\s*[\pL°%]*$`)

// Sentence reads a text. Where when couldn't be read, lenient leaves unsaid that the text names what only when could have.
func (r *Reader) Sentence(t authored.Text, roots []string, domain string, lenient bool) *Sentence {
	if r.Stopped(t.At) || !r.fits(t) {
		return nil
	}
	as := saying{worded(t, roots), domain}
	if had, ok := r.had.sentences[as]; ok {
		r.texts.sentences[as] = had
		return had
	}
	before := r.report.Count()
	e := &resolver{scope: scope{r.frame, r.tags, roots}, source: &source{report: r.report, text: t}, witness: witness[domain],
		lenient: lenient}
	s := e.sentence(t, domain)
	if r.report.Count() == before {
		r.texts.sentences[as] = s
	}
	return s
}

// Stopped is true once reading more expressions of this book makes no sense, and says why the first time.
func (r *Reader) Stopped(at authored.Pos) bool {
	switch {
	case r.stop:
	case r.report.Count() >= maxProblems:
		r.stop = true
		r.report.Add(at, "%d mistakes so far; what follows is read once they are mended", r.report.Count())
	case r.parts > maxBookParts:
		r.stop = true
		r.report.Suggest(at, "any and all over a domain count once a member", "the expressions of the book have more than %d parts together",
			maxBookParts)
	}
	return r.stop
}

// fits is whether a text is short enough and fills in few enough values.
func (r *Reader) fits(t authored.Text) bool {
	letters, braces := utf8.RuneCountInString(t.Value), strings.Count(t.Value, "{")
	switch {
	case letters > MaxText:
		r.report.Suggest(t.At, "say it in fewer words", "the text has %d letters; the most is %d", letters, MaxText)
	case braces > maxBraces:
		r.report.Suggest(t.At, "say it with fewer figures", "the text fills in %d values; the most is %d", braces, maxBraces)
	default:
		return true
	}
	return false
}
