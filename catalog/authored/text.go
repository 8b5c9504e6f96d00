package authored

import (
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"go.yaml.in/yaml/v3"
)

// Text is a string that remembers where and how it was written.
type Text struct {
	Value string
	At    Pos
	// Quoted is true of what stands in quotes or in a block after | or >.
	Quoted bool

	style     yaml.Style
	line, col int // where it was read, which differs from At in a line that was mended
}

// NewText is a text that stands in no file: a question's expression. The name takes the place of the file's.
func NewText(name, value string) Text {
	return Text{Value: value, At: Pos{&Source{Name: name, lines: lines(value)}, 1, 1}, Quoted: true}
}

// WrittenAs implements Written.
func (t *Text) WrittenAs() []any { return []any{""} }

// DecodeNode implements NodeDecoder.
func (t *Text) DecodeNode(d *Decoder, n *yaml.Node) {
	n = d.only(n)
	d.Decode(n, &t.Value)
	t.At, t.style, t.line, t.col = d.At(n), n.Style, n.Line, n.Column
	t.Quoted = n.Style&(yaml.DoubleQuotedStyle|yaml.SingleQuotedStyle|yaml.LiteralStyle|yaml.FoldedStyle) != 0
}

// PosOf is where a rune of the value stands in the file, and at the length of the value where the next would. Where
// that can't be told it is At.
func (t Text) PosOf(rune int) Pos {
	marks := t.marks()
	if len(marks) == 0 || rune < 0 {
		return t.At
	}
	return marks[min(rune, len(marks)-1)].from
}

// Edit changes runes of the value, and writes New as the quotes around it want it. It is nil where their place
// can't be told.
func (t Text) Edit(from, to int, by string) *Edit {
	marks := t.marks()
	if from < 0 || to < from || to >= len(marks) || !t.fits(by) {
		return nil
	}
	switch {
	case t.style&yaml.DoubleQuotedStyle != 0:
		by = strings.ReplaceAll(strings.ReplaceAll(by, `\`, `\\`), `"`, `\"`)
	case t.style&yaml.SingleQuotedStyle != 0:
		by = strings.ReplaceAll(by, `'`, `''`)
	}
	e := &Edit{From: marks[from].from, New: by}
	if e.To = e.From; to > from {
		e.To = marks[to-1].to
	}
	if src := t.At.Source; src.repaired(e.From.Line) || src.repaired(e.To.Line) {
		return nil
	}
	return e
}

// fits is whether a text may stand in a scalar that isn't in quotes.
func (t Text) fits(by string) bool {
	return !strings.ContainsAny(by, "\n\r") && (t.Quoted || !strings.ContainsAny(by, "#:,[]{}\"'"))
}

// Requote writes the whole scalar anew in double quotes, up to the end of its line if cut is set: a scalar without
// quotes ends before " #". It is nil for what goes over several lines.
func (t Text) Requote(cut bool) *Edit {
	line := t.At.Rest()
	value := t.Value
	if cut {
		value = strings.TrimRight(line, " \t")
	}
	if t.Quoted || value == "" || !strings.HasPrefix(line, value) || t.At.Source.repaired(t.At.Line) {
		return nil
	}
	return &Edit{t.At, t.At.After(utf8.RuneCountInString(value)), inQuotes(value)}
}

// ToEndOfLine is the text without quotes with what YAML took for a comment.
func (t Text) ToEndOfLine() Text {
	t.Value = strings.TrimRight(t.At.Rest(), " \t")
	return t
}

func inQuotes(s string) string {
	return `"` + strings.ReplaceAll(strings.ReplaceAll(s, `\`, `\\`), `"`, `\"`) + `"`
}

// runeMark is where what stands for one rune of a value begins and ends.
type runeMark struct{ from, to Pos }

// marks are the places of all runes of the value, and the place after the last. They are worked out from the text of
// the file by the rules of YAML, and held against the value: nil when the two don't agree.
func (t Text) marks() []runeMark {
	if t.At.Source == nil || t.At.Line < 1 {
		return nil
	}
	want := []rune(t.Value)
	s := &scalar{lines: t.At.Source.asRead(), want: len(want)}
	if s.enter(t.At.Line - 1); t.line > 0 {
		s.enter(t.line - 1)
		s.col = t.col - 1
	} else {
		s.col = t.At.Col - 1
	}
	switch {
	case t.style&yaml.DoubleQuotedStyle != 0:
		s.quoted('"')
	case t.style&yaml.SingleQuotedStyle != 0:
		s.quoted('\'')
	case t.style&(yaml.LiteralStyle|yaml.FoldedStyle) != 0:
		s.block(t.style&yaml.FoldedStyle != 0)
	case t.Quoted:
		s.verbatim(want)
	default:
		s.plain()
	}
	if len(s.runes) < len(want) || !slices.Equal(s.runes[:len(want)], want) {
		return nil
	}
	marks := s.marks[:len(want):len(want)]
	end := s.end
	if len(s.runes) > len(want) {
		end = s.marks[len(want)].from
	}
	marks = append(marks, runeMark{end, end})
	for i := range marks {
		marks[i] = runeMark{t.At.Source.written(marks[i].from), t.At.Source.written(marks[i].to)}
	}
	return marks
}

// scalar walks through one scalar of YAML.
type scalar struct {
	lines     []string
	text      []rune // of the line it is in
	line, col int    // from 0
	want      int    // how many runes are looked for
	runes     []rune
	marks     []runeMark
	end       Pos
}

// enter goes to the start of a line.
func (s *scalar) enter(line int) {
	s.line, s.col, s.text = line, 0, nil
	if line < len(s.lines) {
		s.text = []rune(s.lines[line])
	}
}

func (s *scalar) here() Pos { return Pos{Line: s.line + 1, Col: s.col + 1} }

// more is false at the end of the file, and of the line in which the value must have ended.
func (s *scalar) more() bool {
	return s.line < len(s.lines) && (len(s.runes) <= s.want || s.col < len(s.text))
}

// put notes a rune of the value that is written in so many letters.
func (s *scalar) put(r rune, letters int) {
	from := s.here()
	s.col += letters
	s.runes, s.marks = append(s.runes, r), append(s.marks, runeMark{from, s.here()})
}

// fold goes to the next line that isn't blank: one end of line is a space, each more is an end of line.
func (s *scalar) fold(space bool) {
	blank, at := 0, s.here()
	for s.enter(s.line + 1); s.line < len(s.lines); s.enter(s.line + 1) {
		if s.col = count(s.text, " \t"); s.col < len(s.text) {
			break
		}
		blank++
	}
	note := func(r rune) {
		s.runes, s.marks = append(s.runes, r), append(s.marks, runeMark{at, s.here()})
	}
	if blank == 0 && space {
		note(' ')
	}
	for range blank {
		note('\n')
	}
}

// trimmed takes off the white space before an end of line that is folded, but not what was escaped.
func (s *scalar) trimmed(keep int) {
	for n := len(s.runes); n > keep && (s.runes[n-1] == ' ' || s.runes[n-1] == '\t'); n-- {
		s.runes, s.marks = s.runes[:n-1], s.marks[:n-1]
	}
}

func (s *scalar) quoted(quote rune) {
	s.col++
	for keep := 0; s.more(); {
		if s.col >= len(s.text) {
			s.trimmed(keep)
			s.fold(true)
			keep = len(s.runes)
			continue
		}
		switch r := s.text[s.col]; {
		case r == quote && quote == '\'' && s.col+1 < len(s.text) && s.text[s.col+1] == quote:
			s.put(quote, 2)
		case r == quote:
			s.end = s.here()
			return
		case r == '\\' && quote == '"' && s.col+1 == len(s.text):
			s.fold(false)
			keep = len(s.runes)
		case r == '\\' && quote == '"':
			value, letters := escaped(s.text[s.col+1:])
			s.put(value, 1+letters)
			keep = len(s.runes)
		default:
			s.put(r, 1)
		}
	}
	s.end = s.here()
}

// escapes of a double-quoted scalar that are one letter.
var escapes = map[rune]rune{'0': 0, 'a': '\a', 'b': '\b', 't': '\t', '\t': '\t', 'n': '\n', 'v': '\v', 'f': '\f', 'r': '\r', 'e': 0x1b,
	' ': ' ', '"': '"', '\'': '\'', '/': '/', '\\': '\\', 'N': 0x85, '_': 0xa0, 'L': 0x2028, 'P': 0x2029}

// escaped reads what stands after a backslash.
func escaped(rest []rune) (rune, int) {
	digits := map[rune]int{'x': 2, 'u': 4, 'U': 8}[rest[0]]
	if digits == 0 || len(rest) <= digits {
		return escapes[rest[0]], 1
	}
	v, err := strconv.ParseUint(string(rest[1:1+digits]), 16, 32)
	if err != nil {
		return utf8.RuneError, 1
	}
	return rune(v), 1 + digits
}

// plain walks through text without quotes.
func (s *scalar) plain() {
	for s.more() && len(s.runes) <= s.want { // one more than it is looked for, for its end
		switch {
		case s.col < len(s.text):
			s.put(s.text[s.col], 1)
		case len(s.runes) == s.want:
			s.end = s.here()
			return
		default:
			s.trimmed(0)
			s.fold(true)
		}
	}
	s.end = s.here()
}

// verbatim walks through a text that is no scalar of a file.
func (s *scalar) verbatim(want []rune) {
	for i, r := range want {
		if s.col < len(s.text) {
			s.put(s.text[s.col], 1)
			continue
		}
		if s.put(r, 0); r != '\r' || i+1 == len(want) || want[i+1] != '\n' {
			s.enter(s.line + 1)
		}
	}
	s.end = s.here()
}

// block walks through a block after | or >. The first line that isn't blank says how far it is indented.
func (s *scalar) block(folded bool) {
	indent := 0
	for _, line := range s.lines[min(s.line+1, len(s.lines)):] {
		if n := count([]rune(line), " "); n < len([]rune(line)) {
			indent = n
			break
		}
	}
	joins := false // the line before may be joined with this one
	for s.enter(s.line + 1); s.more(); s.enter(s.line + 1) {
		s.col = min(indent, len(s.text))
		blank := len(s.text) <= indent
		deeper := !blank && (s.text[indent] == ' ' || s.text[indent] == '\t')
		if n := len(s.runes); folded && joins && !blank && !deeper && s.runes[n-1] == '\n' {
			if n > 1 && s.runes[n-2] == '\n' {
				s.runes, s.marks = s.runes[:n-1], s.marks[:n-1]
			} else {
				s.runes[n-1] = ' '
			}
		}
		for s.col < len(s.text) {
			s.put(s.text[s.col], 1)
		}
		s.put('\n', 0)
		joins = blank && joins || !blank && !deeper
	}
	s.end = s.here()
}

// count is with how many of some letters a line begins.
func count(line []rune, letters string) int {
	n := 0
	for n < len(line) && strings.ContainsRune(letters, line[n]) {
		n++
	}
	return n
}
