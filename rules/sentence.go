package rules

import (
	"math"
	"strconv"
	"strings"
	"unicode/utf8"

	"github.com/expr-lang/expr/ast"

	"drillwright/catalog"
	"drillwright/catalog/authored"
	"drillwright/rules/condition"
)

// Sentence is a text with expressions in braces, filled in with the figures of the case at hand.
type Sentence struct {
	parts []part
	whole string // of a text without expressions, as it reads
}

// part is plain text, or a value: one expression, resolved once for each member of the witness's domain.
type part struct {
	plain string
	fixed string // side, motion, region or stressor
	num   []*condition.Num
	words []*condition.Words
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
			if len(s.parts) == 0 {
				s.whole = tidy(rest)
			}
			s.parts = append(s.parts, part{plain: rest})
			return s
		}
		length := strings.IndexByte(rest[open:], '}')
		r.source = &source{report: r.report, text: text, shift: utf8.RuneCountInString(text.Value[:offset+open]) + 1}
		if r.strayBrace(rest[:open], -1); length < 0 {
			r.suggest(-1, "close it with } behind the path", "a brace is opened and not closed")
			return s
		}
		s.parts = append(s.parts, part{plain: rest[:open]})
		r.code = rest[open+1 : open+length]
		s.parts = append(s.parts, r.value(domainName))
		offset += open + length + 1
		rest = rest[open+length+1:]
	}
}

// value resolves what stands between braces.
func (r *resolver) value(domainName string) part {
	n := r.parse()
	if n == nil {
		return part{}
	}
	word := witness[domainName]
	if id, ok := n.(*ast.IdentifierNode); ok {
		if id.Value == "side" || id.Value == word && word != "" {
			return part{fixed: id.Value}
		}
		if isWitness(id.Value) {
			if r.lenient {
				return part{}
			}
			r.suggest(0, "say any("+id.Value+"s, …) in when, or name it", "the text names a %s, and when has none", id.Value)
			return part{}
		}
	}
	if missing := lacking(n, word); isWitness(missing) {
		if r.lenient {
			return part{}
		}
		r.suggest(0, "say any("+missing+"s, …) in when, or write the path out", "the text names a %s, and when has none", missing)
		return part{}
	}
	if !r.allow(n) {
		return part{}
	}
	members := []string{""}
	if domainName != "" {
		members = r.members(domainName)
	}
	var p part
	for _, id := range members {
		before := r.report.Count()
		one := n
		if id != "" {
			one = splice(n, word, id)
		}
		if r.isWord(one) {
			p.words = append(p.words, r.words(one))
		} else {
			p.num = append(p.num, r.number(one))
		}
		if r.report.Count() > before {
			return part{}
		}
	}
	for _, m := range p.num {
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

// fill writes the sentence for a reading and, if the rule has a witness, for the member id at its place.
func (e *Edition) fill(s *Sentence, rd *condition.Reading, domainName, id string, member int) string {
	if s.whole != "" {
		return s.whole
	}
	var b strings.Builder
	b.Grow(160) // most sentences
	v := e.Frame.Vocabulary
	for _, p := range s.parts {
		switch {
		case p.fixed == "side":
			b.WriteString(sideWord(v, domainName, id, rd.Side))
		case p.fixed != "":
			b.WriteString(v.Name(p.fixed, id))
		case p.num != nil:
			b.WriteString(e.figure(p.num[max(0, min(member, len(p.num)-1))], rd))
		case p.words != nil:
			b.WriteString(e.readable(p.words[max(0, min(member, len(p.words)-1))], rd))
		default:
			b.WriteString(p.plain)
		}
	}
	return tidy(b.String())
}

// figured is whether all that a sentence says of the client is known.
func (e *Edition) figured(s *Sentence, rd *condition.Reading, member int) bool {
	for _, p := range s.parts {
		switch {
		case p.num != nil:
			if v := rd.Value(p.num[max(0, min(member, len(p.num)-1))]); !v.Known() && !math.IsNaN(v.Lo) {
				return false
			}
		case p.words != nil:
			if set := rd.Words(p.words[max(0, min(member, len(p.words)-1))]); len(set.Possible) != len(set.Sure) {
				return false
			}
		}
	}
	return true
}

// sideWord is left or right, and nothing for a midline motion or region.
func sideWord(v *catalog.Vocabulary, domainName, id string, side int) string {
	if m := v.Motion(id); domainName == "motions" && m != nil && !m.Sided || domainName == "regions" && !v.Sided(id) {
		return ""
	}
	return [2]string{"left", "right"}[side]
}

// figure writes a number: whole when it is, else to one place; a rung by its name; "not measured" when unknown.
func (e *Edition) figure(m *condition.Num, rd *condition.Reading) string {
	s := rd.Value(m)
	switch {
	case math.IsNaN(s.Lo):
		return "none"
	case !s.Known() && m.Op == condition.Value && m.Ref.Region != "" && s.Hi < m.Ref.Path.Hi:
		l := e.Frame.Ladder(m.Ref.Region)
		return l.RungName(int(s.Lo)) + ", up to " + l.RungName(int(s.Hi)) + " once tested"
	case !s.Known():
		return "an unmeasured value"
	case m.Op == condition.Value && m.Ref.Region != "":
		return e.Frame.Ladder(m.Ref.Region).RungName(int(s.Lo))
	}
	return Figure(s.Lo)
}

// Figure writes a number as people read it.
func Figure(v float64) string {
	if whole(v) {
		return strconv.FormatInt(int64(v), 10)
	}
	return strconv.FormatFloat(v, 'f', 1, 64)
}

// readable writes words by their names.
func (e *Edition) readable(w *condition.Words, rd *condition.Reading) string {
	set := rd.Words(w)
	if len(set.Possible) != len(set.Sure) {
		return "not known"
	}
	names := make([]string, len(set.Sure))
	for i, id := range set.Sure {
		names[i] = e.wordName(w.Ref, id)
	}
	return strings.Join(names, ", ")
}

func (e *Edition) wordName(ref *condition.Ref, id string) string {
	switch {
	case ref == nil:
		return id
	case ref.Vocab == "drill":
		if d := e.Catalogue.Drill(id); d != nil {
			return d.Name
		}
	case ref.Vocab != "":
		return e.Frame.Vocabulary.Name(ref.Vocab, id)
	case strings.HasSuffix(ref.Name, ".kinds"):
		return e.Frame.Vocabulary.Name("pain_kind", id)
	case strings.HasPrefix(ref.Name, "client.conditions"):
		return e.Frame.Vocabulary.Name("condition", id)
	case ref.Name == "drill.name" || ref.Name == "lift.name":
		return id
	}
	return strings.ToLower(strings.ReplaceAll(id, "_", " "))
}

// tidy takes out the double spaces that an empty word leaves, and starts with a capital.
func tidy(s string) string {
	if strings.Contains(s, "  ") || strings.HasPrefix(s, " ") || strings.HasSuffix(s, " ") || strings.Contains(s, " ,") || strings.Contains(s, " .") {
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
func (s *Sentence) reads(root condition.Root) bool {
	found := false
	visit := func(r *condition.Ref) { found = found || r.Root == root }
	for _, p := range s.parts {
		for _, m := range p.num {
			m.Refs(visit)
		}
		for _, w := range p.words {
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
	for _, p := range s.parts {
		b.WriteString(p.plain + "{" + p.fixed)
		for _, n := range p.num {
			b.WriteString(n.Key() + ";")
		}
		for _, w := range p.words {
			if w.Ref != nil {
				b.WriteString(w.Ref.Name)
			}
			b.WriteString(strings.Join(w.Literal, ",") + ";")
		}
		b.WriteString("}")
	}
	return b.String()
}
