package rules

import (
	"regexp"
	"strconv"
	"strings"
	"unicode/utf8"
)

// slip is a mistake of the hand, or a sign of another language, that the parser would answer in its own terms or
// read in its own way. The first group of found is where the caret goes; $1 in a message is what stands there.
type slip struct {
	found      *regexp.Regexp
	message    string
	suggestion string
}

// slips in the order in which they are looked for: what one has found is hidden from those after it.
var slips = []slip{
	{regexp.MustCompile("([\u2018\u2019\u201c\u201d])"), "a curly quote", "use straight quotes: 'word'"},
	{regexp.MustCompile("([\u2013\u2014\u2212])"), "a long dash", "use the plain minus: -"},
	{regexp.MustCompile(`(°)`), "a degree sign", "write the number alone; the path says the unit"},
	{regexp.MustCompile(`(≥)`), "$1 can't be read", "write >="},
	{regexp.MustCompile(`(≤)`), "$1 can't be read", "write <="},
	{regexp.MustCompile(`(≠)`), "$1 can't be read", "write !="},
	{regexp.MustCompile(`(×)`), "$1 can't be read", "write *"},
	{regexp.MustCompile(`(÷)`), "$1 can't be read", "write /"},
	{regexp.MustCompile(`(//[^\n]*|/\*(?s:.*))`), "a comment stands in an expression", "put it on a line of its own, after #"},
	{regexp.MustCompile(`(\?\.|\?\?)`), "$1 is not in the rule language", "every path is there"},
	{regexp.MustCompile(`(\?\s*:)`), "$1 is not in the rule language", "write condition ? number : number"},
	{regexp.MustCompile(`(\.\.)`), "two points in a row", "for a range write path >= 1 and path <= 5"},
	{regexp.MustCompile(`(\*\*|\^)`), "powers are not in the rule language", "write the number out"},
	{regexp.MustCompile(`(%)`), "% is not in the rule language", "write the number alone"},
	{regexp.MustCompile(`(;)`), "; is not in the rule language", "join with and, or make two rules of it"},
	{regexp.MustCompile(`([{}])`), "a curly bracket", "use round ones: ( )"},
	{regexp.MustCompile(`(\$[\w]*)`), "$1 is not in the rule language", "begin a path with client, drill, lift, request, norm or side"},
	{regexp.MustCompile(`(?:^|[^\w.])(let|if|else)\b`), `"$1" is not in the rule language`, "write the condition out"},
	{regexp.MustCompile(`(?:^|[^|])(\|)(?:[^|]|$)`), "a single |", "write or; a list goes inside: any(list, …)"},
	{regexp.MustCompile(`(?:^|[^&])(&)(?:[^&]|$)`), "a single &", "write and"},
	{regexp.MustCompile(`([0-9],[0-9])`), "a comma between figures", "write a point: 2.5"},
	{regexp.MustCompile(`(?:^|[^\w.])([bB])['"]`), "a letter stands before the quote", "write 'word'"},
	{regexp.MustCompile(`\b(AND)\b`), "AND in capitals", "write and"},
	{regexp.MustCompile(`\b(OR)\b`), "OR in capitals", "write or"},
	{regexp.MustCompile(`\b(NOT)\b`), "NOT in capitals", "write not"},
	{regexp.MustCompile(`(?:^|[^\w.])(TRUE|True|YES|Yes|yes)\b`), "$1 can't be read", "write true"},
	{regexp.MustCompile(`(?:^|[^\w.])(FALSE|False|NO|No|no)\b`), "$1 can't be read", "write false"},
	{regexp.MustCompile(`(?:^|[^\w.])(nil|null|NULL|None)\b`), "$1 is not in the rule language", "leave it out, or ask for a measure with measured(path)"},
	{regexp.MustCompile(`(===)`), "$1 can't be read", "compare with =="},
	{regexp.MustCompile(`(!==|<>|=!)`), "$1 can't be read", "compare with !="},
	{regexp.MustCompile(`(=>)`), "$1 can't be read", "compare with >="},
	{regexp.MustCompile(`(=<)`), "$1 can't be read", "compare with <="},
	{regexp.MustCompile(`(?:^|[^=<>!])(=)(?:$|[^=])`), "a single =", "compare with =="},
	{regexp.MustCompile(`[\w\])]\s+(is|equals)\s`), "\"$1\" is not in the rule language", "compare with =="},
	{regexp.MustCompile(`[\w\])]\s+(between)\s`), "\"$1\" is not in the rule language", "write path >= 1 and path <= 5"},
	{regexp.MustCompile(`\b(not)\s+'[^']*'\s+in\b`), "not before the word", "write 'word' not in list"},
}

var (
	// quoted matches text in quotes, in which slips are no slips.
	quoted = regexp.MustCompile(`'[^']*'|"[^"]*"`)
	// unread are signs that would end the quotes elsewhere than they seem to, or not at all.
	unread = regexp.MustCompile("[\\\\`]")
	// numeral matches everything that begins like a number; plain is how one is written.
	numeral = regexp.MustCompile(`(?:^|[^\w.])(\.?[0-9][\w.]*)`)
	plain   = regexp.MustCompile(`^[0-9]+(\.[0-9]+)?$`)
)

// slipped reports the slips, and whether there were any. blanked is the expression with its quotes emptied, byte for
// byte as long.
func (s *source) slipped(blanked string) bool {
	before := s.report.Count()
	rest := []byte(blanked)
	for _, slip := range slips {
		for _, at := range slip.found.FindAllSubmatchIndex(rest, maxSlips) {
			from, to := at[2], at[3]
			s.suggest(s.offset(from), slip.suggestion, "%s", strings.ReplaceAll(slip.message, "$1", short(s.code[from:to])))
			for i := from; i < to; i++ {
				rest[i] = ' '
			}
		}
	}
	s.numerals(rest)
	if open := strings.IndexAny(quoted.ReplaceAllStringFunc(string(rest), spaces), `'"`); open >= 0 && s.report.Count() == before {
		s.add(s.offset(open), "a quote is opened and not closed")
	}
	return s.report.Count() > before
}

// numerals reports numbers that aren't written plainly, or are too great.
func (s *source) numerals(blanked []byte) {
	reported := s.report.Count()
	for _, at := range numeral.FindAllSubmatchIndex(blanked, -1) {
		if s.report.Count() > reported+maxSlips {
			return
		}
		text := s.code[at[2]:at[3]]
		if !plain.MatchString(text) {
			s.suggest(s.offset(at[2]), "write figures and a point: 1000, 0.5", "%s is no number of the rule language", short(text))
		} else if v, err := strconv.ParseFloat(text, 64); err != nil || v > maxNumber {
			s.add(s.offset(at[2]), "%s is too great; the most is %.0f", short(text), maxNumber)
		}
	}
}

// offset turns a place in bytes into one in runes.
func (s *source) offset(at int) int { return utf8.RuneCountInString(s.code[:at]) }

// blank empties the quotes of an expression and leaves the length as it is.
func blank(code string) string {
	return quoted.ReplaceAllStringFunc(code, func(q string) string { return "'" + strings.Repeat("x", len(q)-2) + "'" })
}

func spaces(s string) string { return strings.Repeat(" ", len(s)) }

// short cuts what a message repeats of an author's text.
func short(text string) string {
	const most = 60
	if runes := []rune(text); len(runes) > most {
		return string(runes[:most]) + "…"
	}
	return text
}
