package text

import (
	"strings"
	"unicode/utf8"
)

// width is the number of columns that no line goes beyond, unless one word alone is longer.
const width = 100

// Page is an answer while it is written: sections with a title, each line wrapped under its own indent.
type Page struct {
	// Colour marks titles, referrals and figures with ANSI escapes. Leave it false when the reader is no terminal.
	Colour bool

	out strings.Builder
	// What was last written of a test set that fails, and of the morning after one.
	failed, nextMorning string
}

func (p *Page) String() string { return p.out.String() }

// ANSI escapes: colour says nothing that the words don't say.
const (
	bold = "\x1b[1m"
	dim  = "\x1b[2m"
	red  = "\x1b[1;31m"
	end  = "\x1b[0m"
)

func (p *Page) ink(escape, s string) string {
	if !p.Colour || escape == "" || s == "" {
		return s
	}
	return escape + s + end
}

// title is the first line of the page.
func (p *Page) title(words string) { p.write("", "", words, bold) }

// section begins a part of the page.
func (p *Page) section(name string) {
	p.out.WriteByte('\n')
	p.write("", "", name, bold)
}

// line writes one sentence or more, indented.
func (p *Page) line(indent int, words string) { p.write(spaces(indent), spaces(indent), words, "") }

// quiet is a line of less weight.
func (p *Page) quiet(indent int, words string) { p.write(spaces(indent), spaces(indent), words, dim) }

// alarm is a line that must not be missed.
func (p *Page) alarm(indent int, words string) { p.write(spaces(indent), spaces(indent), words, red) }

// item is a line under a mark, such as "-" or "3.".
func (p *Page) item(indent int, mark, words string) {
	head := spaces(indent) + mark + " "
	p.write(head, spaces(runes(head)), words, "")
}

// labelWidth holds the longest label and a space.
const labelWidth = 15

// field is a label and what it says; an empty text writes nothing.
func (p *Page) field(indent int, label, words string) {
	if words == "" {
		return
	}
	head := spaces(indent) + label + spaces(max(1, labelWidth-runes(label)))
	p.write(head, spaces(indent+labelWidth), words, "")
}

// write wraps words: the first line after head, the others after rest.
func (p *Page) write(head, rest, words, escape string) {
	for i, line := range wrap(words, width-runes(head), width-runes(rest)) {
		before := rest
		if i == 0 {
			before = head
		}
		p.out.WriteString(strings.TrimRight(before+p.ink(escape, line), " "))
		p.out.WriteByte('\n')
	}
}

// wrap breaks words at spaces into lines, the first of at most first runes, the others of at most others.
func wrap(words string, first, others int) []string {
	var lines []string
	line, scratch := "", first
	for _, word := range strings.Fields(words) {
		if line != "" && runes(line)+1+runes(word) > scratch {
			lines, line, scratch = append(lines, line), "", others
		}
		if line != "" {
			line += " "
		}
		line += word
	}
	return append(lines, line)
}

func runes(s string) int { return utf8.RuneCountInString(s) }

func spaces(n int) string { return strings.Repeat(" ", n) }
