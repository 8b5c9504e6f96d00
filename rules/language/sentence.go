package language

import (
	"strings"
	"unicode/utf8"

	"github.com/expr-lang/expr/ast"

	"drillwright/catalog/authored"
	"drillwright/rules/predicate"
)

// Sentence is a text with expressions in braces, filled in with the figures of the case at hand.
type Sentence struct {
	Parts []Part
	Whole string // of a text without expressions, as it reads
}

// part is plain text, or a value: one expression, resolved once for each member of the witness's domain.
type Part struct {
	Text    string
	Fixed   string // side, motion, region or stressor
	Numbers []*predicate.Num
	Words   []*predicate.Words
}

// sentence reads a text. domainName is the domain of the rule's unrolled any; "" when it has none.
func (r *resolver) sentence(text authored.Text, domainName string) *Sentence {
	s := &Sentence{}
	rest, offset := text.Value, 0
	for {
		open := strings.IndexByte(rest, '{')
		if open < 0 {
			r.source = &source{report: r.report, text: text, shift: utf8.RuneCountInString(text.Value[:offset])}
			r.strayBrace(rest, 0)
			if len(s.Parts) == 0 {
				s.Whole = Tidy(rest)
			}
			s.Parts = append(s.Parts, Part{Text: rest})
			return s
		}
		length := strings.IndexByte(rest[open:], '}')
		r.source = &source{report: r.report, text: text, shift: utf8.RuneCountInString(text.Value[:offset+open]) + 1}
		if r.strayBrace(rest[:open], -1); length < 0 {
			r.suggest(-1, "close it with } behind the path", "a brace is opened and not closed")
			return s
		}
		s.Parts = append(s.Parts, Part{Text: rest[:open]})
		r.code = rest[open+1 : open+length]
		s.Parts = append(s.Parts, r.value(domainName))
		offset += open + length + 1
		rest = rest[open+length+1:]
	}
}

// value resolves what stands between braces.
func (r *resolver) value(domainName string) Part {
	n := r.parse()
	if n == nil {
		return Part{}
	}
	word := witness[domainName]
	if id, ok := n.(*ast.IdentifierNode); ok {
		if id.Value == "side" || id.Value == word && word != "" {
			return Part{Fixed: id.Value}
		}
		if isWitness(id.Value) {
			if r.lenient {
				return Part{}
			}
			r.suggest(0, "say any("+id.Value+"s, …) in when, or name it", "the text names a %s, and when has none", id.Value)
			return Part{}
		}
	}
	if missing := lacking(n, word); isWitness(missing) {
		if r.lenient {
			return Part{}
		}
		r.suggest(0, "say any("+missing+"s, …) in when, or write the path out", "the text names a %s, and when has none", missing)
		return Part{}
	}
	if !r.allow(n) {
		return Part{}
	}
	members := []string{""}
	if domainName != "" {
		members = r.members(domainName)
	}
	var p Part
	for _, id := range members {
		before := r.report.Count()
		one := n
		if id != "" {
			one = splice(n, word, id)
		}
		if r.isWord(one) {
			p.Words = append(p.Words, r.words(one))
		} else {
			p.Numbers = append(p.Numbers, r.number(one))
		}
		if r.report.Count() > before {
			return Part{}
		}
	}
	for _, m := range p.Numbers {
		m.Seal()
	}
	return p
}

// strayBrace reports a brace that closes nothing in plain text that ends, or begins, at a rune of the source.
func (r *resolver) strayBrace(text string, end int) {
	at := strings.IndexByte(text, '}')
	if at < 0 {
		return
	}
	from := end + utf8.RuneCountInString(text[:at])
	if end < 0 {
		from -= utf8.RuneCountInString(text)
	}
	r.suggest(from, "open it with { before the path, or take it out", "a brace closes nothing")
}

func isWitness(word string) bool { return word == "motion" || word == "region" || word == "stressor" }

// lacking is the witness word that stands in square brackets and that the rule doesn't have; "" when there is none.
func lacking(n ast.Node, word string) string {
	if m, ok := n.(*ast.MemberNode); ok {
		if id, ok := m.Property.(*ast.IdentifierNode); ok && id.Value != word {
			return id.Value
		}
	}
	for _, c := range children(n) {
		if missing := lacking(c, word); missing != "" {
			return missing
		}
	}
	return ""
}

// tidy takes out the double spaces that an empty word leaves, and starts with a capital.
func Tidy(s string) string {
	if strings.Contains(s, "  ") || strings.HasPrefix(s, " ") || strings.HasSuffix(s, " ") || strings.Contains(s, " ,") ||
		strings.Contains(s, " .") {
		s = squeezed(s)
	}
	if s == "" || s[0] < 'a' || s[0] > 'z' {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}

func squeezed(s string) string {
	s = strings.Join(strings.Fields(s), " ")
	return strings.ReplaceAll(strings.ReplaceAll(s, " ,", ","), " .", ".")
}

// reads is whether a text reads anything of a root.
func (s *Sentence) Reads(root predicate.Root) bool {
	found := false
	visit := func(r *predicate.Ref) { found = found || r.Root == root }
	for _, p := range s.Parts {
		for _, m := range p.Numbers {
			m.Refs(visit)
		}
		for _, w := range p.Words {
			if w.Ref != nil {
				visit(w.Ref)
			}
		}
	}
	return found
}

// Key spells a text with what it fills in.
func (s *Sentence) Key() string {
	var b strings.Builder
	for _, p := range s.Parts {
		b.WriteString(p.Text + "{" + p.Fixed)
		for _, n := range p.Numbers {
			b.WriteString(n.Key() + ";")
		}
		for _, w := range p.Words {
			if w.Ref != nil {
				b.WriteString(w.Ref.Name)
			}
			b.WriteString(strings.Join(w.Literal, ",") + ";")
		}
		b.WriteString("}")
	}
	return b.String()
}
