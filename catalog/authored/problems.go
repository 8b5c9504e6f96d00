package authored

import (
	"bytes"
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"strings"
)

// Source is one file as its author wrote it, kept so that a problem can show the line.
type Source struct {
	Name string

	data  []byte   // of the file; nil for a text that is no file
	lines []string // while it is read; after that they are cut again for who asks

	repairs map[int]Edit // by line: what was read instead, so that reading could go on
}

// Lines are those of the file, without their ends. They are not to be changed.
func (s *Source) Lines() []string {
	if s.lines == nil && s.data != nil {
		return linesOf(s.data)
	}
	return s.lines
}

func linesOf(data []byte) []string {
	return lines(strings.ToValidUTF8(string(bytes.TrimPrefix(data, mark)), "\uFFFD"))
}

// Pos is a place in a source. Line and Col count from 1, Col in letters (runes); Line 0 means that nobody knows the line.
type Pos struct {
	Source *Source
	Line   int
	Col    int
}

func (p Pos) String() string {
	name := "input"
	if p.Source != nil {
		name = p.Source.Name
	}
	if p.Line == 0 {
		return name
	}
	return fmt.Sprintf("%s:%d:%d", name, p.Line, p.Col)
}

// Problem is one mistake of an author, at its place, in words the author can act on.
type Problem struct {
	// At is where it stands. Source is nil only where no file is at fault (none says what the book needs).
	At Pos
	// Message is what is wrong, as a clause without a full stop.
	Message string
	// Suggestion is what would be right, as a clause ("did you mean \"pattern\"?"); it may be empty.
	Suggestion string
	// Fix is the one change that mends it, where no other can be meant; else nil. It stands in the source of At. Fixes of
	// different problems may overlap: see Apply.
	Fix *Edit
	// Of is how many problems it stands for that aren't told; 0 for one that is.
	Of int
}

// Sentence is the message with its suggestion, without the place.
func (p Problem) Sentence() string {
	if p.Suggestion == "" {
		return p.Message
	}
	return p.Message + "; " + p.Suggestion
}

// String shows place, sentence, the line and a caret under the column.
func (p Problem) String() string {
	head := p.At.String() + ": " + p.Sentence()
	if p.At.Source == nil || p.At.Line < 1 || p.At.Line > len(p.At.Source.Lines()) {
		return head
	}
	line := p.At.Source.Lines()[p.At.Line-1]
	number := strconv.Itoa(p.At.Line)
	text, caret := window(line, p.At.Col)
	return fmt.Sprintf("%s\n  %s | %s\n  %s | %s^", head, number, text,
		strings.Repeat(" ", len(number)), strings.Repeat(" ", caret))
}

// window cuts a very long line to 100 runes around the column; it returns the text and the runes before the caret.
func window(line string, col int) (string, int) {
	runes := []rune(strings.ReplaceAll(line, "\t", " "))
	caret := min(max(col-1, 0), len(runes))
	const wide = 100
	if len(runes) <= wide {
		return string(runes), caret
	}
	start := max(0, min(caret-wide/2, len(runes)-wide))
	return string(runes[start : start+wide]), caret - start
}

// Problems is every mistake found in one reading. It is an error whose text shows all of them.
type Problems []Problem

func (ps Problems) Error() string {
	var texts []string
	for _, p := range ps.Told() {
		texts = append(texts, p.String())
	}
	return strings.Join(texts, "\n")
}

const (
	// maxTold is how many problems are told at once: more nobody reads.
	maxTold = 100
	// maxKept is how many are kept, for what mends them; beyond that they are counted.
	maxKept = 10_000
	// maxCompared is how many names are held against those that nobody knows, for a suggestion.
	maxCompared = 1_000_000
)

// Told are the first of the problems and, where there are more than anybody reads, one at the place of the next that says
// how many.
func (ps Problems) Told() Problems {
	if len(ps) <= maxTold {
		return ps
	}
	return append(slices.Clone(ps[:maxTold]), more(ps[maxTold].At, ps[maxTold:].Count()))
}

// Count is how many there are, also of those that were only counted.
func (ps Problems) Count() int {
	n := 0
	for _, p := range ps {
		n += max(p.Of, 1)
	}
	return n
}

func more(at Pos, n int) Problem {
	return Problem{At: at, Message: fmt.Sprintf("%d more problems from here on", n), Of: n,
		Suggestion: "mend those that are told, and check again"}
}

// Report collects problems while reading goes on.
type Report struct {
	problems Problems
	doubtful int
	dropped  int // problems that were not kept
	compared int // names, for suggestions
}

// Add notes a problem with no suggestion.
func (r *Report) Add(at Pos, format string, args ...any) {
	r.Suggest(at, "", format, args...)
}

// Suggest notes a problem and what would be right.
func (r *Report) Suggest(at Pos, suggestion, format string, args ...any) {
	r.Fix(at, nil, suggestion, format, args...)
}

// Fix notes a problem, what would be right, and the change that makes it so; nil when that isn't certain.
func (r *Report) Fix(at Pos, fix *Edit, suggestion, format string, args ...any) {
	if fix == nil {
		r.doubtful++
	}
	if len(r.problems) == maxKept {
		r.dropped++
		return
	}
	r.problems = append(r.problems, Problem{At: at, Message: fmt.Sprintf(format, args...), Suggestion: suggestion, Fix: fix})
}

// Lacks notes that something isn't said which nothing else is read by, and what would be right: reading goes on as if it were
// said to be nothing.
func (r *Report) Lacks(at Pos, suggestion, format string, args ...any) {
	r.Fix(at, nil, suggestion, format, args...)
	r.doubtful--
}

// Count is the number of problems so far.
func (r *Report) Count() int { return len(r.problems) + r.dropped }

// Doubtful is the number of those that have no fix: what they stand in can't be read on as it must be meant.
func (r *Report) Doubtful() int { return r.doubtful }

// Err is nil when nothing was noted, else all problems by file, line and column, each once.
func (r *Report) Err() error {
	if len(r.problems) == 0 {
		return nil
	}
	sorted := slices.Clone(r.problems)
	slices.SortStableFunc(sorted, func(a, b Problem) int {
		return cmp.Or(cmp.Compare(a.At.name(), b.At.name()), cmp.Compare(a.At.Line, b.At.Line),
			cmp.Compare(a.At.Col, b.At.Col), cmp.Compare(a.Message, b.Message))
	})
	sorted = slices.CompactFunc(sorted, func(a, b Problem) bool {
		return a.At == b.At && a.Message == b.Message
	})
	if r.dropped > 0 {
		sorted = append(sorted, more(sorted[len(sorted)-1].At, r.dropped))
	}
	return sorted
}

func (p Pos) name() string {
	if p.Source == nil {
		return ""
	}
	return p.Source.Name
}

// Unknown reports a word that isn't one of the known, with the nearest or the whole short list. Where only one can be
// meant it returns that.
func (r *Report) Unknown(at Pos, what, word string, known []string) string {
	if r.compared += len(known); r.compared > maxCompared {
		r.Suggest(at, "", "unknown %s %q", what, Shortened(word))
		return ""
	}
	sure := Misspelt(word, known)
	if sure == "" {
		r.Suggest(at, DidYouMean(word, known), "unknown %s %q", what, Shortened(word))
		return ""
	}
	r.Fix(at, Replace(at, word, sure), fmt.Sprintf("did you mean %q?", sure), "unknown %s %q", what, Shortened(word))
	return sure
}

// Shortened is what a message repeats of a text that somebody else wrote.
func Shortened(text string) string {
	const most = 60
	runes := 0
	for at := range text {
		if runes++; runes > most {
			return text[:at] + "…"
		}
	}
	return text
}
