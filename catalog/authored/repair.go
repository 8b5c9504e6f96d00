package authored

import (
	"errors"
	"fmt"
	"regexp"
	"strconv"
	"strings"
	"unicode/utf8"

	"go.yaml.in/yaml/v3"
)

// What YAML's own parser says of a broken file names a line that is often not the one to mend, in words for programmers.
// So a broken line is looked for by what people get wrong, and each guess is tried: it stands if the file can be read
// with the line mended, or at least further than before. Reading goes on with the mended lines.

const (
	// maxRepairs is how many broken lines of one file are looked for.
	maxRepairs = 20
	// maxTried is how much text is parsed for that.
	maxTried = 64 * MaxFileBytes / 16
)

// repair is a guess at what is wrong with a line: from, to and by are the edit, in runes from 0.
type repair struct {
	col        int // where it is seen, from 0
	message    string
	suggestion string
	from, to   int
	by         string
}

// repair reports what is wrong with a file that can't be parsed, and returns its document as far as it is certain how it
// was meant; else nil.
func (d *Decoder) repair(src *Source, err error) *yaml.Node {
	read := append([]string(nil), src.Lines()...)
	src.repairs = map[int]Edit{}
	for tried := 0; err != nil && len(src.repairs) < maxRepairs; {
		if errors.Is(err, errSecond) {
			d.second(src)
			return nil
		}
		if strings.Contains(err.Error(), "block sequence entries") {
			break // no one line would mend it
		}
		line, m, next := repairOf(read, src.repairs, err, &tried)
		if m == nil {
			break
		}
		at := Pos{src, line + 1, m.col + 1}
		fix := Edit{Pos{src, line + 1, m.from + 1}, Pos{src, line + 1, m.to + 1}, m.by}
		d.Fix(at, &fix, m.suggestion, "%s", m.message)
		read[line], src.repairs[line+1], err = m.applied(read[line]), fix, next
	}
	if err != nil {
		if len(src.repairs) == 0 {
			d.unread(src, err)
		}
		return nil
	}
	doc, _ := document(strings.Join(read, "\n"))
	return doc
}

func (m *repair) applied(line string) string {
	runes := []rune(line)
	return string(runes[:m.from]) + m.by + string(runes[m.to:])
}

// repairOf looks for the line that is broken, from where the parser stopped, and what mends it. The error is what
// the parser then says.
func repairOf(read []string, had map[int]Edit, err error, tried *int) (int, *repair, error) {
	size := 1
	for _, l := range read {
		size += len(l) + 1
	}
	stopped := lineOf(err)
	start := max(0, min(stopped-2, len(read)-1))
	var further, perhaps *repair // what mends a line by itself, and what only moves the error
	var at, maybe int
	var then, thence error
	for i := start; i < len(read); i++ {
		if _, ok := had[i+1]; ok {
			continue
		}
		for _, m := range guesses(read, i) {
			if *tried += size; *tried > maxTried {
				break
			}
			was := read[i]
			read[i] = m.applied(was)
			_, next := document(strings.Join(read, "\n"))
			read[i] = was
			if next == nil {
				return i, m, nil
			}
			switch {
			case errors.Is(next, errSecond):
			case further == nil && lineOf(next) >= stopped && alone(was) != nil && alone(m.applied(was)) == nil:
				at, further, then = i, m, next
			case perhaps == nil && lineOf(next) > max(stopped, i):
				maybe, perhaps, thence = i, m, next
			}
		}
		if *tried > maxTried || further != nil && i > at+1 {
			break
		}
	}
	if further == nil {
		return maybe, perhaps, thence
	}
	return at, further, then
}

// alone is what the parser says of a line by itself.
func alone(line string) error {
	_, err := document(strings.TrimLeft(line, " -"))
	return err
}

// lineOf is the line that an error of the parser names; 1 when it names none. Those of what it calls the parser, other
// than those of its scanner, count from 0.
func lineOf(err error) int {
	if rest, ok := strings.CutPrefix(err.Error(), "yaml: line "); ok {
		number, message, _ := strings.Cut(rest, ": ")
		if n, err := strconv.Atoi(number); err == nil {
			if parserSaid.MatchString(message) {
				n++
			}
			return n
		}
	}
	return 1
}

var parserSaid = regexp.MustCompile(`^did not find expected (key|'-'|',' or|<|node)`)

// entry takes a line apart: its indent, the dashes of a list, a key, and what stands behind it.
var (
	entry   = regexp.MustCompile(`^( *(?:- +)*)([\w.\-]+)( *: +)(\S.*?) *$`)
	item    = regexp.MustCompile(`^( *(?:- +)+)(\S.*?) *$`)
	noColon = regexp.MustCompile(`^( *(?:- +)*)([a-z_]+)( +)(["'\[{\w].*)$`)
	noSpace = regexp.MustCompile(`^( *(?:- +)*)([a-z_]+) *:(["'\[{\w].*)$`)
	noGap   = regexp.MustCompile(`^( *-)([a-z_]+: .*)$`)
)

// guesses are what may be wrong with a line, the likeliest first.
func guesses(read []string, i int) []*repair {
	line := read[i]
	if strings.TrimSpace(line) == "" || strings.HasPrefix(strings.TrimSpace(line), "#") {
		return nil
	}
	var all []*repair
	add := func(m *repair) {
		if m != nil {
			all = append(all, m)
		}
	}
	add(tabbed(read, i))
	start, value := "", ""
	if m := entry.FindStringSubmatch(line); m != nil {
		start, value = m[1]+m[2]+m[3], m[4]
	} else if m := item.FindStringSubmatch(line); m != nil {
		start, value = m[1], m[2]
	}
	if value != "" {
		col := utf8.RuneCountInString(start)
		add(quotes(col, value))
		add(bareText(col, value))
		add(flow(col, value))
	}
	if m := noColon.FindStringSubmatch(line); m != nil {
		end := utf8.RuneCountInString(m[1] + m[2])
		add(&repair{end, "a colon is missing after " + m[2], "write " + m[2] + ": and the value", end, end, ":"})
	}
	if m := noSpace.FindStringSubmatch(line); m != nil {
		end := len(line) - len(m[3])
		end = utf8.RuneCountInString(line[:end])
		add(&repair{end, "a space is missing after the colon", "write " + m[2] + ": and the value", end, end, " "})
	}
	if m := noGap.FindStringSubmatch(line); m != nil {
		add(&repair{len(m[1]), "a space is missing after the dash", "write - and a space", len(m[1]), len(m[1]), " "})
	}
	return append(all, indented(read, i)...)
}

// tabbed: a tab can't indent. The line is taken to stand beside the one above, or below its dash.
func tabbed(read []string, i int) *repair {
	line := read[i]
	indent := line[:len(line)-len(strings.TrimLeft(line, " \t"))]
	tab := strings.IndexByte(indent, '\t')
	if tab < 0 {
		return nil
	}
	by := strings.Repeat(" ", besides(read, i)[0])
	return &repair{tab, "a tab can't be used to indent", "indent with spaces", 0, len(indent), by}
}

// besides are the columns, from 0, where a line may begin: that of the key above, deeper if that holds more, and those of the lines
// around.
func besides(read []string, i int) []int {
	spaces := func(l string) int { return len(l) - len(strings.TrimLeft(l, " ")) }
	var cols []int
	for above := i - 1; above >= 0; above-- {
		line := strings.TrimRight(strings.ReplaceAll(read[above], "\t", "  "), " ")
		if line == "" || strings.HasPrefix(strings.TrimSpace(line), "#") {
			continue
		}
		key := len(line) - len(strings.TrimLeft(line, " -"))
		if strings.HasSuffix(line, ":") {
			cols = append(cols, key+2)
		}
		if strings.HasPrefix(strings.TrimSpace(read[i]), "- ") {
			for ; above >= 0; above-- {
				if strings.HasPrefix(strings.TrimSpace(read[above]), "- ") {
					return append(cols, spaces(read[above]))
				}
			}
		}
		cols = append(cols, key)
		break
	}
	for below := i + 1; below < len(read); below++ {
		if t := strings.TrimSpace(read[below]); t != "" && !strings.HasPrefix(t, "-") && !strings.Contains(read[below], "\t") {
			cols = append(cols, spaces(read[below]))
			break
		}
	}
	return append(cols, 2)
}

// indented: a line that begins left or right of those beside it.
func indented(read []string, i int) []*repair {
	line := read[i]
	has := len(line) - len(strings.TrimLeft(line, " "))
	var all []*repair
	for _, col := range besides(read, i) {
		if col != has && len(all) < 3 {
			all = append(all, &repair{has, "this line doesn't begin where those beside it do", fmt.Sprintf("begin it in column %d", col+1), 0, has,
				strings.Repeat(" ", col)})
		}
	}
	return all
}

// quotes: one that is never closed, or closed too early by one inside.
func quotes(col int, value string) *repair {
	quote := value[:1]
	if quote != `"` && quote != "'" {
		return nil
	}
	letters := utf8.RuneCountInString
	body := value[1:]
	last := strings.LastIndex(body, quote)
	if last < 0 {
		tail := closers.FindString(body)
		end := col + letters(value) - letters(tail)
		return &repair{col, "the quote that opens here isn't closed", "close it at the end of the text", end, end, quote}
	}
	inside, tail := body[:last], body[last+1:]
	first := strings.Index(inside, quote)
	switch {
	case quote == `"` && first < 0 && wrongEscape.MatchString(inside):
		at := col + 1 + letters(inside[:wrongEscape.FindStringIndex(inside)[0]])
		return &repair{at, `\ means something else in double quotes`, `write \\`, at, at, `\`}
	case first < 0 || strings.Trim(tail, " }]),") != "" && !strings.HasPrefix(strings.TrimSpace(tail), "#"):
		return nil
	case quote == `"` && !strings.ContainsAny(inside, `'\`):
		from := col + 1 + letters(inside[:first])
		to := col + 1 + letters(inside[:strings.LastIndex(inside, quote)]) + 1
		by := string([]rune(value)[from-col : to-col])
		return &repair{from, "a double quote stands inside double quotes", "inside use single quotes: 'word'", from, to,
			strings.ReplaceAll(by, `"`, "'")}
	case quote == "'" && !strings.ContainsAny(inside, `"\`):
		return &repair{col + 1 + letters(inside[:first]), "a single quote stands inside single quotes", "put the whole in double quotes", col,
			col + letters(value) - letters(tail),
			`"` + strings.ReplaceAll(inside, "''", "'") + `"`}
	}
	return nil
}

var (
	closers     = regexp.MustCompile(`[ }\]]*$`)
	wrongEscape = regexp.MustCompile(`\\[^0abtnvfre "/\\N_LPxuU\t]`)
)

// bareText: a text without quotes that can't be one, for its first letter or a colon.
func bareText(col int, value string) *repair {
	letters := utf8.RuneCountInString(value)
	first := value[:1]
	switch {
	case strings.ContainsAny(first, "\"'[{|>"):
		return nil
	case strings.ContainsAny(first, "@`%*&!,?]}"):
		return &repair{col, first + " can't begin a text without quotes", "put the text in double quotes", col, col + letters, inQuotes(value)}
	}
	if at := strings.Index(value, ": "); at >= 0 {
		return &repair{col + utf8.RuneCountInString(value[:at]), "a colon stands in a text without quotes", "put the text in double quotes", col,
			col + letters, inQuotes(value)}
	}
	return nil
}

// flow: square or curly brackets that don't close on their line, or don't match.
func flow(col int, value string) *repair {
	runes := []rune(value)
	if runes[0] != '[' && runes[0] != '{' {
		return nil
	}
	pair := map[rune]rune{'[': ']', '{': '}'}
	var open []int
	var quote rune
	for i, r := range runes {
		switch {
		case quote != 0:
			if r == quote && (quote == '\'' || runes[i-1] != '\\') {
				quote = 0
			}
		case (r == '"' || r == '\'') && (i == 0 || strings.ContainsRune(" [{,:", runes[i-1])):
			quote = r
		case pair[r] != 0:
			open = append(open, i)
		case r == ']' || r == '}':
			if len(open) == 0 {
				return &repair{col + i, fmt.Sprintf("%c closes nothing", r), "take it out", col + i, col + i + 1, ""}
			}
			if last := open[len(open)-1]; pair[runes[last]] != r {
				return &repair{col + last, fmt.Sprintf("%c is closed by %c", runes[last], r), fmt.Sprintf("close it with %c", pair[runes[last]]),
					col + i, col + i + 1, string(pair[runes[last]])}
			}
			if open = open[:len(open)-1]; len(open) == 0 && runes[0] == '{' && strings.Trim(string(runes[i+1:]), " ") != "" &&
				!strings.HasPrefix(string(runes[i+1:]), " #") {
				return &repair{col, "a { begins keys with values, not a text", "put the text in double quotes", col, col + len(runes), inQuotes(value)}
			}
		}
	}
	if len(open) == 0 || quote != 0 {
		return nil
	}
	missing := ""
	for _, at := range open {
		missing = string(pair[runes[at]]) + missing
	}
	last := open[len(open)-1]
	return &repair{col + last, fmt.Sprintf("the %c that opens here isn't closed", runes[last]), "close it with " + string(pair[runes[last]]),
		col + len(runes), col + len(runes), missing}
}

// second reports where a second document begins.
func (d *Decoder) second(src *Source) {
	begun := false
	for i, line := range src.Lines() {
		marks := strings.HasPrefix(line, "---") || strings.HasPrefix(line, "...")
		if marks && begun {
			d.Suggest(Pos{src, i + 1, 1}, "put what follows in a file of its own, or take the line out",
				"a second document begins here; a file holds one")
			return
		}
		text := strings.TrimSpace(line)
		begun = begun || text != "" && !strings.HasPrefix(text, "#") && !strings.HasPrefix(text, "%")
	}
	d.Add(Pos{src, 1, 1}, "the file holds a second document; it may hold one")
}

// spoken is what the parser says, and what it means to an author.
var spoken = []struct{ of, message, suggestion string }{
	{"cannot start any token", "a text without quotes can't begin like this", "put it in double quotes"},
	{"tab character", "a tab can't be used to indent", "indent with spaces"},
	{"mapping values are not allowed", "a colon stands where none can",
		"put the text in double quotes, or begin the line where those beside it do"},
	{"block sequence entries are not allowed", "a dash begins a list in the middle of a line", "begin the list on a line of its own"},
	{"block mapping entries", "keys stand where none can", "begin the line where those beside it do"},
	{"unknown escape", `\ means something else in double quotes`, `write \\`},
	{"did not find expected hexdecimal", `\ means something else in double quotes`, `write \\`},
	{"unexpected end of stream", "a quote is opened and not closed", "close it at the end of the text"},
	{"unexpected document indicator", "a quote is opened and not closed", "close it at the end of the text"},
	{"',' or ']'", "a [ is opened and not closed", "close it with ]; between two items stands a comma"},
	{"',' or '}'", "a { is opened and not closed", "close it with }; between two keys stands a comma"},
	{"expected ':'", "a colon is missing", "write a key, a colon and the value"},
	{"expected key", "this doesn't go on as it began", "begin each line where those beside it do, and close each quote"},
	{"'-' indicator", "this doesn't go on as the list began", "begin each item with a dash, all in the same column"},
	{"depth", "brackets stand too deep within each other", "a book needs a few"},
	{"indentation", "this line isn't indented as it must be", "begin it where those beside it do"},
	{"<document start>", "this doesn't go on as the file began", "begin each top key in the first column"},
	{"tag", "! can't begin a text without quotes", "put the text in double quotes"},
	{"anchor", "& or * can't begin a text without quotes", "put the text in double quotes"},
	{"directive", "% can't begin a line", "put the text in double quotes"},
}

// unread reports in plain words what the parser said.
func (d *Decoder) unread(src *Source, err error) {
	at := Pos{src, min(max(lineOf(err), 1), len(src.Lines())), 1}
	for at.Line < len(src.Lines()) && strings.TrimSpace(src.Lines()[at.Line-1]) == "" {
		at.Line++
	}
	line := []rune(src.Lines()[at.Line-1])
	if at.Col = count(line, " \t-") + 1; at.Col > len(line) {
		at.Col = 1
	}
	for _, s := range spoken {
		if strings.Contains(err.Error(), s.of) {
			d.Suggest(at, s.suggestion, "%s", s.message)
			return
		}
	}
	d.Suggest(at, "compare it with the lines beside it", "this can't be read")
}

// repaired is whether something else was read instead of a line.
func (s *Source) repaired(line int) bool {
	if s == nil {
		return false
	}
	_, ok := s.repairs[line]
	return ok
}

// asRead are the lines as they were read.
func (s *Source) asRead() []string {
	if len(s.repairs) == 0 {
		return s.Lines()
	}
	read := append([]string(nil), s.Lines()...)
	for line, e := range s.repairs {
		m := repair{from: e.From.Col - 1, to: e.To.Col - 1, by: e.New}
		read[line-1] = m.applied(read[line-1])
	}
	return read
}

// written turns a place in the lines as they were read into one in the file.
func (s *Source) written(p Pos) Pos {
	p.Source = s
	if !s.repaired(p.Line) {
		return p
	}
	e := s.repairs[p.Line]
	from, to, long := e.From.Col, e.To.Col, utf8.RuneCountInString(e.New)
	switch {
	case p.Col >= from+long:
		p.Col += to - from - long
	case p.Col > from:
		old := string([]rune(s.Lines()[p.Line-1])[from-1 : to-1])
		p.Col = min(max(from, p.Col-utf8.RuneCountInString(e.New[:max(0, strings.Index(e.New, old))])), to)
	}
	return p
}
