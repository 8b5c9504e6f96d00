package catalog

import (
	"bytes"
	"cmp"
	"slices"
	"strings"
	"unicode/utf8"
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

// Mended applies the fixes of problems to the files that these stand in, as far as they don't overlap. Files come back in
// their order; one without a fix is the same.
func (ps Problems) Mended(files []File) []File {
	edits := map[string][]Edit{}
	for _, p := range ps {
		if p.Fix != nil {
			edits[p.Fix.From.name()] = append(edits[p.Fix.From.name()], *p.Fix)
		}
	}
	out := slices.Clone(files)
	for i, f := range files {
		out[i].Data, _ = Apply(f.Data, edits[f.Name])
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
func (p Pos) after(letters int) Pos { return Pos{p.Source, p.Line, p.Col + letters} }

// rest is what the line says from a place on; nothing when there is no such place.
func (p Pos) rest() string {
	if p.Source == nil || p.Line < 1 || p.Line > len(p.Source.Lines) || p.Col < 1 {
		return ""
	}
	runes := []rune(p.Source.Lines[p.Line-1])
	return string(runes[min(p.Col-1, len(runes)):])
}

// Replace is an edit of a word that stands at a place, with or without quotes; nil when it doesn't stand there.
func Replace(at Pos, word, by string) *Edit {
	rest := at.rest()
	if len(rest) > 1 && (rest[0] == '"' || rest[0] == '\'') && strings.HasPrefix(rest[1:], word+rest[:1]) {
		at, rest = at.after(1), rest[1:]
	}
	if word == "" || !strings.HasPrefix(rest, word) {
		return nil
	}
	return &Edit{at, at.after(utf8.RuneCountInString(word)), by}
}
