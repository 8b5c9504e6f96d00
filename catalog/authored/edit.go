package authored

import (
	"bytes"
	"cmp"
	"slices"
	"strings"
	"unicode/utf8"

	"go.yaml.in/yaml/v3"
)

// Edit is a change that a program can make to a file: what stands from From up to, and without, To becomes New. Both
// places are of one source; Line and Col count from 1, Col in letters (runes). Where From is To, New is put in.
type Edit struct {
	From, To Pos
	New      string
}

// mark of the byte order, with which some editors begin a file. It is no part of the text.
var mark = []byte("\uFEFF")

// Apply makes edits in a text. An edit that overlaps one before it, or stands outside the text, is left out. It
// returns the new text and what was made, in the order of the text.
func Apply(data []byte, edits []Edit) ([]byte, []Edit) {
	body := bytes.TrimPrefix(data, mark)
	starts, ends := breaks(string(body))
	edits = slices.Clone(edits)
	slices.SortStableFunc(edits, func(a, b Edit) int { return cmp.Or(a.From.compare(b.From), a.To.compare(b.To)) })
	out, made, done := slices.Clone(data[:len(data)-len(body)]), []Edit(nil), 0
	for _, e := range edits {
		from, ok := offset(body, starts, ends, e.From)
		to, also := offset(body, starts, ends, e.To)
		taken := len(made) > 0 && (from < done || from == done && made[len(made)-1].From == e.From)
		if !ok || !also || to < from || taken {
			continue
		}
		out = append(append(out, body[done:from]...), e.New...)
		made, done = append(made, e), to
	}
	return append(out, body[done:]...), made
}

// Repaired applies the fixes of problems to the files that these stand in, as far as they don't overlap. Files come back in
// their order; one without a fix is the same.
func (ps Problems) Repaired(files []File) []File {
	out, _ := ps.Repair(files)
	return out
}

// Repair is Mended that also says which edits it made, by file.
func (ps Problems) Repair(files []File) (out []File, made map[string][]Edit) {
	edits := map[string][]Edit{}
	made = map[string][]Edit{}
	for _, p := range ps {
		if p.Fix != nil {
			edits[p.Fix.From.name()] = append(edits[p.Fix.From.name()], *p.Fix)
		}
	}
	out = slices.Clone(files)
	for i, f := range files {
		out[i].Data, made[f.Name] = Apply(f.Data, edits[f.Name])
	}
	return out, made
}

// Before is where a place of a text stood before edits were made, in the order in which Apply returns them. What an edit put
// in stood where the edit begins.
func (p Pos) Before(made []Edit) Pos {
	was, is := Pos{p.Source, 1, 1}, Pos{p.Source, 1, 1} // the same letter, before and after
	for _, e := range made {
		from := e.From.from(was, is)
		if p.compare(from) < 0 {
			break
		}
		added := lines(e.New)
		to := from.After(utf8.RuneCountInString(added[0]))
		if n := len(added) - 1; n > 0 {
			to = Pos{p.Source, from.Line + n, 1 + utf8.RuneCountInString(added[n])}
		}
		if p.compare(to) < 0 {
			return Pos{p.Source, e.From.Line, e.From.Col}
		}
		was, is = Pos{p.Source, e.To.Line, e.To.Col}, to
	}
	return p.from(is, was)
}

// from is the place that stands to the other mark as this one stands to the first.
func (p Pos) from(mark, other Pos) Pos {
	out := Pos{other.Source, p.Line - mark.Line + other.Line, p.Col}
	if p.Line == mark.Line {
		out.Col += other.Col - mark.Col
	}
	return out
}

// offset is the byte at which a place stands.
func offset(text []byte, starts, ends []int, at Pos) (int, bool) {
	if at.Line < 1 || at.Line > len(starts) || at.Col < 1 {
		return 0, false
	}
	i, end := starts[at.Line-1], ends[at.Line-1]
	for range at.Col - 1 {
		if i >= end {
			return 0, false
		}
		_, size := utf8.DecodeRune(text[i:end])
		i += size
	}
	return i, true
}

// breaks finds the lines of a text, and ends one where YAML does: at \n, \r\n, \r, and at the three ends of line of Unicode.
func breaks(text string) (starts, ends []int) {
	starts = []int{0}
	for i, r := range text {
		switch r {
		case '\n':
			if i > 0 && text[i-1] == '\r' {
				starts[len(starts)-1] = i + 1
				continue
			}
			ends, starts = append(ends, i), append(starts, i+1)
		case '\r', '\u0085', '\u2028', '\u2029':
			ends, starts = append(ends, i), append(starts, i+utf8.RuneLen(r))
		}
	}
	return starts, append(ends, len(text))
}

func lines(text string) []string {
	starts, ends := breaks(text)
	out := make([]string, len(starts))
	for i := range starts {
		out[i] = text[starts[i]:ends[i]]
	}
	return out
}

func (p Pos) compare(q Pos) int {
	return cmp.Or(cmp.Compare(p.Line, q.Line), cmp.Compare(p.Col, q.Col))
}

// after is the place some letters on, in the same line.
func (p Pos) After(letters int) Pos { return Pos{p.Source, p.Line, p.Col + letters} }

// rest is what the line says from a place on; nothing when there is no such place.
func (p Pos) Rest() string {
	if p.Source == nil || p.Line < 1 || p.Line > len(p.Source.Lines()) || p.Col < 1 {
		return ""
	}
	runes := []rune(p.Source.Lines()[p.Line-1])
	return string(runes[min(p.Col-1, len(runes)):])
}

// Insert is an edit that puts a key, with a value written on one line, into a mapping: behind the last value that stands on
// one line. It is nil where there is none.
func (d *Decoder) Insert(n *yaml.Node, key, value string) *Edit {
	for i := len(n.Content) - 2; i >= 0 && n.Kind == yaml.MappingNode; i -= 2 {
		name, end := d.At(n.Content[i]), d.end(n.Content[i+1])
		if end.Line != name.Line || n.Content[i+1].Kind == yaml.ScalarNode && n.Content[i+1].Value == "" {
			continue
		}
		if n.Style&yaml.FlowStyle != 0 {
			return &Edit{end, end, ", " + key + ": " + value}
		}
		line := strings.Repeat(" ", name.Col-1) + key + ": " + value
		if next := (Pos{end.Source, end.Line + 1, 1}); next.Line <= len(end.Source.Lines()) {
			return &Edit{next, next, line + "\n"}
		}
		last := Pos{end.Source, end.Line, 1 + utf8.RuneCountInString(end.Source.Lines()[end.Line-1])}
		return &Edit{last, last, "\n" + line}
	}
	return nil
}

// AddItem is an edit that puts an item, written on one line, at the end of a list of lines that begin with a dash; nil where that
// can't be told.
func (d *Decoder) AddItem(n *yaml.Node, item string) *Edit {
	if n.Kind != yaml.SequenceNode || n.Style&yaml.FlowStyle != 0 || len(n.Content) == 0 {
		return nil
	}
	last := d.last(n.Content[len(n.Content)-1])
	dash := strings.Repeat(" ", d.At(n).Col-1) + "- " + item
	if next := (Pos{last.Source, last.Line + 1, 1}); last.Line > 0 && next.Line <= len(last.Source.Lines()) {
		return &Edit{next, next, dash + "\n"}
	} else if last.Line > 0 {
		end := Pos{last.Source, last.Line, 1 + utf8.RuneCountInString(last.Source.Lines()[last.Line-1])}
		return &Edit{end, end, "\n" + dash}
	}
	return nil
}

// last is where a value ends; a place of line 0 where that can't be told.
func (d *Decoder) last(n *yaml.Node) Pos {
	if n.Kind != yaml.ScalarNode && n.Style&yaml.FlowStyle == 0 && len(n.Content) > 0 {
		return d.last(n.Content[len(n.Content)-1])
	}
	return d.end(n)
}

// Rewrite is an edit that writes another value, on one line, in the place of a value; nil where the end of that can't be told.
func (d *Decoder) Rewrite(n *yaml.Node, value string) *Edit {
	from, to := d.At(n), d.last(n)
	if to.Line == 0 {
		return nil
	}
	return &Edit{from, to, value}
}

// Replace is an edit of a word that stands at a place, with or without quotes; nil when it doesn't stand there.
func Replace(at Pos, word, by string) *Edit {
	rest := at.Rest()
	if len(rest) > 1 && (rest[0] == '"' || rest[0] == '\'') && strings.HasPrefix(rest[1:], word+rest[:1]) {
		at, rest = at.After(1), rest[1:]
	}
	if word == "" || !strings.HasPrefix(rest, word) {
		return nil
	}
	return &Edit{at, at.After(utf8.RuneCountInString(word)), by}
}
