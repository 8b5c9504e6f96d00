package language

import (
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"drillwright/catalog/authored"
	"drillwright/rules/client"
	"drillwright/rules/predicate"
)

// typo is a mistake of the hand, or a sign of another language, that the parser would answer in its own terms or
// read in its own way. The first group of found is what is wrong, and $1 in a message what stands there; the caret goes
// where it begins, or to the group named at.
type typo struct {
	found      *regexp.Regexp
	message    string
	suggestion string
	// by is what must be meant instead of the first group; doubtful where that isn't certain. It may name groups. A unit goes
	// where the path beside the number has that one.
	by string
}

// doubtful: an author has to say what is meant.
const doubtful = "?"

// list and path as they stand in conditions, and a number.
const (
	aPath   = `[a-z]\w*(?:\.\w+|\[#\])+`
	aNumber = `-?[0-9]+(?:\.[0-9]+)?`
)

func typoOf(found, message, suggestion, by string) typo {
	return typo{regexp.MustCompile(found), message, suggestion, by}
}

// typos in the order in which they are looked for: what one has found is hidden from those after it.
var typos = []typo{
	typoOf("([\u2018\u2019\u201a\u201b\u201c\u201d\u201e\u201f])", "a curly quote", "use straight quotes: 'word'", "'"),
	typoOf("([\u2010-\u2015\u2212])", "a long dash", "use the plain minus: -", "-"),
	typoOf(`(°)`, "a degree sign", "write the number alone; the path says the unit", "unit deg"),
	typoOf("([\u00a0\u2007\u202f\u200b])", "a space of another kind", "use a plain space", " "),
	typoOf(`(≥)`, "$1 can't be read", "write >=", ">="),
	typoOf(`(≤)`, "$1 can't be read", "write <=", "<="),
	typoOf(`(≠)`, "$1 can't be read", "write !=", "!="),
	typoOf(`(×)`, "$1 can't be read", "write *", "*"),
	typoOf(`(÷)`, "$1 can't be read", "write /", "/"),
	typoOf(`(//[^\n]*|/\*(?s:.*))`, "a comment stands in an expression", "put it on a line of its own, after #", doubtful),
	typoOf(`(\?\.)`, "$1 is not in the rule language", "every path is there; write a point", "."),
	typoOf(`(\?\?)`, "$1 is not in the rule language", "every path is there", doubtful),
	typoOf(`(\?\s*:)`, "$1 is not in the rule language", "write condition ? number : number", doubtful),
	typoOf(`((`+aPath+`)\s+in\s+(`+aNumber+`)\s*(?P<at>\.\.)\s*(`+aNumber+`))`, "two points in a row", "write path >= 1 and path <= 5",
		"$2 >= $3 and $2 <= $5"),
	typoOf(`(\.\.)`, "two points in a row", "for a range write path >= 1 and path <= 5", doubtful),
	typoOf(`(\*\*|\^)`, "powers are not in the rule language", "write the number out", doubtful),
	typoOf(`[0-9](\s*%)\s*(?:$|[)\]]|and\b|or\b)`, "a percent sign", "write the number alone; the path says the unit", "unit percent"),
	typoOf(`(%)`, "% is not in the rule language", "write the number alone", doubtful),
	typoOf(`(;)`, "; is not in the rule language", "join with and, or make two rules of it", doubtful),
	typoOf(`([{}])`, "a curly bracket", "use round ones: ( )", doubtful),
	typoOf(`(\$[\w]*)`, "$1 is not in the rule language", "begin a path with client, drill, lift, request, norm or side", doubtful),
	typoOf(`(?:^|[^\w.])(let(?:\s+\w+\s*=)?|if|else|then|when)(?:\W|$)`, `"$1" is not in the rule language`, "write the condition out",
		doubtful),
	typoOf(`[^|](\|)\s*\w+\(`, "a single |", "a list goes inside: any(list, …)", doubtful),
	typoOf(`(?:^|[^|\s])(\s*(?P<at>\|)\s*)(?:[^|\s]|$)`, "a single |", "write or", " or "),
	typoOf(`(?:^|[^&\s])(\s*(?P<at>&)\s*)(?:[^&\s]|$)`, "a single &", "write and", " and "),
	typoOf(`(?:^|[^\w.,])([0-9]+,[0-9]{3}(?:,[0-9]{3})*)(?:[^\w.,]|$)`, "a comma between figures", "write 1000 or 1.5", doubtful),
	typoOf(`(?:^|[^\w.,])([0-9]+(?P<at>,)[0-9]+)(?:[^\w.,]|$)`, "a comma between figures", "write a point: 2.5", "decimal"),
	typoOf(`([0-9],[0-9])`, "a comma between figures", "write a point: 2.5", doubtful),
	typoOf(`(?:^|[^\w.])([bB])['"]`, "a letter stands before the quote", "write 'word'", doubtful),
	typoOf(`(?:^|[^\w.])(AND|And)\b`, "$1 in capitals", "write and", "and"),
	typoOf(`(?:^|[^\w.])(OR|Or)\b`, "$1 in capitals", "write or", "or"),
	typoOf(`(?:^|[^\w.])(NOT|Not)\b`, "$1 in capitals", "write not", "not"),
	typoOf(`(?:^|[^\w.])(IN|In)\b`, "$1 in capitals", "write in", "in"),
	typoOf(`(?:^|[^\w.])(ANY|Any)\s*\(`, "$1 in capitals", "write any", "any"),
	typoOf(`(?:^|[^\w.])(ALL|All)\s*\(`, "$1 in capitals", "write all", "all"),
	typoOf(`(?:^|[^\w.])(TRUE|True|YES|Yes|yes)\b`, "$1 can't be read", "write true", "true"),
	typoOf(`(?:^|[^\w.])(FALSE|False|NO|No|no)\b`, "$1 can't be read", "write false", "false"),
	typoOf(`(?:^|[^\w.])(nil|null|NULL|None)\b`, "$1 is not in the rule language", "leave it out, or ask for a measure with measured(path)",
		doubtful),
	typoOf(`(===)`, "$1 can't be read", "compare with ==", "=="),
	typoOf(`(!==|<>|=!)`, "$1 can't be read", "compare with !=", "!="),
	typoOf(`(=>)`, "$1 can't be read", "compare with >=", ">="),
	typoOf(`(=<)`, "$1 can't be read", "compare with <=", "<="),
	typoOf(`(?:^|[^=<>!])(=)(?:$|[^=])`, "a single =", "compare with ==", "=="),
	typoOf(`((`+aPath+`)\s+(?P<at>between)\s+(`+aNumber+`)\s+and\s+(`+aNumber+`))`, "\"$at\" is not in the rule language",
		"write path >= 1 and path <= 5", "$2 >= $4 and $2 <= $5"),
	typoOf(`[\w\])]\s+(between)\s`, "\"$1\" is not in the rule language", "write path >= 1 and path <= 5", doubtful),
	typoOf(`[\w\])'"]\s+((?:is\s+)?(?:greater|more|larger|bigger|higher)\s+than\s+or\s+equal(?:\s+to)?)\b`,
		"\"$1\" is not in the rule language", "write >=", ">="),
	typoOf(`[\w\])'"]\s+((?:is\s+)?(?:less|fewer|smaller|lower)\s+than\s+or\s+equal(?:\s+to)?)\b`, "\"$1\" is not in the rule language",
		"write <=", "<="),
	typoOf(`[\w\])'"]\s+((?:is\s+)?(?:greater|more|larger|bigger|higher|over|above)(?:\s+than)?)\b`, "\"$1\" is not in the rule language",
		"write >", ">"),
	typoOf(`[\w\])'"]\s+((?:is\s+)?(?:less|fewer|smaller|lower|under|below)(?:\s+than)?)\b`, "\"$1\" is not in the rule language", "write <",
		"<"),
	typoOf(`[\w\])'"]\s+((?:is\s+)?at\s+least)\b`, "\"$1\" is not in the rule language", "write >=", ">="),
	typoOf(`[\w\])'"]\s+((?:is\s+)?at\s+most)\b`, "\"$1\" is not in the rule language", "write <=", "<="),
	typoOf(`[\w\])'"]\s+(is\s+not\s+in|isnt\s+in)\s`, "\"$1\" is not in the rule language", "write not in", "not in"),
	typoOf(`[\w\])'"]\s+(is\s+in)\s`, "\"$1\" is not in the rule language", "write in", "in"),
	typoOf(`[\w\])'"]\s+(is\s+not|not\s+equals?(?:\s+to)?)\s`, "\"$1\" is not in the rule language", "compare with !=", "!="),
	typoOf(`[\w\])'"]\s+(is(?:\s+equal(?:\s+to)?)?|equals?(?:\s+to)?|eq)\s`, "\"$1\" is not in the rule language", "compare with ==", "=="),
	typoOf(`((`+aPath+`)\s+(?P<at>not\s+contains?|not\s+includes?|doesnt\s+contain|excludes)\s+('[^']*'|"[^"]*"))`,
		"\"$at\" is not in the rule language", "write 'word' not in list", "$4 not in $2"),
	typoOf(`((`+aPath+`)\s+(?P<at>contains?|includes?|has|have)\s+('[^']*'|"[^"]*"))`, "\"$at\" is not in the rule language",
		"write 'word' in list", "$4 in $2"),
	typoOf(`[\w\])]\s+(has|have|includes?|excludes)\b`, "\"$1\" is not in the rule language", "write 'word' in list", doubtful),
	typoOf(`(?:^|[^\w.])(not\s+('[^']*'|"[^"]*")\s+in)\b`, "not before the word", "write 'word' not in list", "$2 not in"),
	typoOf(`(\[\s*#)\s*(?:[.)<>=!,]|$)`, "the [ that opens here isn't closed", "close it with ]: [#]", "[#]"),
}

var (
	// quoted matches text in quotes, in which typos are no typos.
	quoted = regexp.MustCompile(`'[^']*'|"[^"]*"`)
	// unread are signs that would end the quotes elsewhere than they seem to, or not at all.
	unread = regexp.MustCompile("[\\\\`]")
	// numeral matches everything that begins like a number; plain is how one is written.
	numeral = regexp.MustCompile(`(?:^|[^\w.])(\.?[0-9][\w.]*)`)
	plain   = regexp.MustCompile(`^[0-9]+(\.[0-9]+)?$`)
	// almost is a number that is written in another way: .5, 1_000.
	almost = regexp.MustCompile(`^[0-9_]*\.?[0-9]+$`)
	// united is a number with a unit behind it, and measure the path that it is compared with.
	united  = regexp.MustCompile(`(?:^|[^\w.])([0-9]+(?:\.[0-9]+)?)(\s*(degrees?|degs?|deg|kilograms?|kilos?|kgs?|newtons?|N|lbs?|pounds?|cm|mm|metres?|meters?|m|seconds?|secs?|s|minutes?|mins?|hours?|hrs?|h|days?|weeks?|wks?|months?|years?|yrs?|reps?|percent))(?:[^\w.(\[]|$)`)
	measure = regexp.MustCompile(`(` + aPath + `)[^a-zA-Z']*$`) // with nothing but signs and figures behind it
	// unfinished is a quote whose word goes to the end of the expression.
	unfinished = regexp.MustCompile(`^['"][\w\-]+\s*$`)
)

// faultless matches an expression, its quotes emptied, in which no typo can be: most of them, so that the many patterns need not be
// looked for. It needn't match each such expression.
var faultless = func() *regexp.Regexp {
	words := slices.Concat(AllRoots, domains, []string{"and", "or", "in", "any", "all", "count", "measured", "true", "false", "motion",
		"region", "stressor"})
	word := `(?:` + strings.Join(words, "|") + `)\b`
	return regexp.MustCompile(`^(?:[ \n(\[\]]|[),] ?|\[#\]|# in\b|'x*'|` + word + `|not (?:\(|` + word + `)|\.[a-zA-Z_]\w*|` +
		`[0-9]{1,9}(?:\.[0-9]+)?(?:[ \n)\]]|$)|[=!<>]= |[<>+*/-] )*$`)
}()

// unitsMeant are the units of paths by what people write.
var unitsMeant = map[string]string{"kilogram": "kg", "kilo": "kg", "kg": "kg", "newton": "N", "n": "N", "second": "s", "sec": "s", "s": "s",
	"degree": "deg", "deg": "deg", "percent": "percent", "minute": "min", "min": "min", "hour": "h", "hr": "h", "h": "h", "week": "weeks",
	"wk": "weeks", "year": "years", "yr": "years", "day": "days"}

// repaired reports the typos and mends those that can mean but one thing. It is false when others are left.
func (r *resolver) repaired() bool {
	blanked := blank(r.code)
	if faultless.MatchString(blanked) {
		return true
	}
	return r.findTypos(blanked).sure
}

// findTypos looks for all of them.
func (r *resolver) findTypos(blanked string) *typoFinder {
	f := &typoFinder{resolver: r, rest: []byte(blanked), sure: true}
	for _, s := range typos {
		for _, at := range s.found.FindAllSubmatchIndex(f.rest, maxTypos) {
			f.typo(s, at)
		}
	}
	f.units()
	f.numerals()
	f.openQuote()
	if f.sure && len(f.changes) > 0 {
		slices.SortFunc(f.changes, func(a, b change) int { return a.from - b.from })
		r.repair(f.changes)
	}
	return f
}

// typoFinder looks for typos in what is left of an expression: quotes are emptied, and what was found is hidden, byte
// for byte.
type typoFinder struct {
	*resolver
	rest    []byte
	changes []change
	sure    bool
	count   int
}

func (f *typoFinder) typo(s typo, at []int) {
	caret := at[2]
	if i := s.found.SubexpIndex("at"); i > 0 {
		caret = at[2*i]
	}
	groups := make([]string, len(at)/2)
	for i := range groups {
		if at[2*i] >= 0 {
			groups[i] = f.code[at[2*i]:at[2*i+1]]
		}
	}
	by, sure := f.meant(s, groups, at[2])
	if unit, ok := strings.CutPrefix(s.by, "unit "); ok {
		by, sure, s.suggestion = f.unitGone(unit, at[2])
	}
	if ref := f.lookup(groups[min(2, len(groups)-1)]); strings.HasPrefix(s.by, "$4") && ref != nil && ref.Kind != client.List {
		sure, s.suggestion = false, "words are compared as a whole: == 'word', or in ['a', 'b']"
	}
	message := strings.ReplaceAll(strings.ReplaceAll(s.message, "$1", Short(groups[1])), "$at", Short(group(s, groups, "at")))
	f.found(caret, change{at[2], at[3], by}, sure, s.suggestion, message)
}

func group(s typo, groups []string, name string) string {
	return groups[max(0, s.found.SubexpIndex(name))]
}

// meant is what an author must mean by a typo, and whether that is certain.
func (f *typoFinder) meant(s typo, groups []string, from int) (string, bool) {
	switch s.by {
	case doubtful:
		return "", false
	case "decimal": // in a list a comma stands between two numbers
		before := f.rest[:from]
		return strings.Replace(groups[1], ",", ".", 1), opened(string(before), "[", "]") == 0 && opened(string(before), "(", ")") == 0
	}
	by := s.by
	for i := len(groups) - 1; i > 0; i-- {
		by = strings.ReplaceAll(by, "$"+strconv.Itoa(i), groups[i])
	}
	return by, true
}

// found reports a typo, keeps what mends it, and hides it.
func (f *typoFinder) found(caret int, c change, sure bool, suggestion, message string) {
	overlaps := slices.ContainsFunc(f.changes, func(had change) bool { return c.from < had.to && had.from < c.to })
	var fix *authored.Edit
	if f.count++; sure && !overlaps {
		fix = f.edit(f.offset(c.from), f.offset(c.to), c.by)
		f.changes = append(f.changes, c)
	}
	f.sure = f.sure && fix != nil
	f.report.Fix(f.at(f.offset(caret)), fix, suggestion, "%s", message)
	for i := c.from; i < c.to; i++ {
		f.rest[i] = ' '
	}
}

// units reports units behind numbers.
func (f *typoFinder) units() {
	for _, at := range united.FindAllSubmatchIndex(f.rest, maxTypos) {
		unit := f.code[at[6]:at[7]]
		word := strings.ToLower(unit)
		meant := unitsMeant[strings.TrimSuffix(word, "s")]
		if word == "s" {
			meant = "s"
		}
		by, sure, suggestion := f.unitGone(meant, at[4])
		f.found(at[4]+len(f.code[at[4]:at[5]])-len(unit), change{at[4], at[5], by}, sure, suggestion,
			fmt.Sprintf("a unit, %s, stands behind the number", unit))
	}
}

// unitGone is what stands for a unit behind a number that ends at a place: nothing, and surely so when the path before
// the number has this unit. The suggestion names the unit that it has instead.
func (f *typoFinder) unitGone(unit string, end int) (by string, sure bool, suggestion string) {
	of, known := "", false
	if m := measure.FindSubmatch(f.rest[:end]); m != nil {
		path := strings.Replace(string(m[1]), "[#]", "."+f.frame.Vocabulary.Motions[0].ID, 1) // of all of them the same
		if ref := f.lookup(path); ref != nil && ref.Kind == client.Number {
			of, known = unitOf(ref), true
		}
	}
	switch {
	case known && of == "":
		return "", false, "write the number alone; it has no unit"
	case known && of != unit:
		return "", false, fmt.Sprintf("write the number alone, in %s", unitWord(of))
	}
	return "", known, "write the number alone; the path says the unit"
}

// unitOf is the unit of a number's path. Those of drills have it in their names.
func unitOf(ref *predicate.Ref) string {
	switch {
	case ref.Path != nil:
		return ref.Path.Unit
	case strings.Contains(ref.Name, ".arc.") || strings.HasSuffix(ref.Name, "_deg"):
		return "deg"
	case strings.HasSuffix(ref.Name, "_kg"):
		return "kg"
	case strings.HasSuffix(ref.Name, "_seconds"):
		return "s"
	case strings.HasSuffix(ref.Name, ".body_share"):
		return "percent"
	}
	return ""
}

func unitWord(unit string) string {
	if word, ok := map[string]string{"deg": "degrees", "kg": "kilograms", "N": "newtons", "s": "seconds", "min": "minutes"}[unit]; ok {
		return word
	}
	return unit
}

// numerals reports numbers that aren't written plainly, or are too great.
func (f *typoFinder) numerals() {
	for i, at := range numeral.FindAllSubmatchIndex(f.rest, -1) {
		if i > maxTypos {
			return
		}
		text := f.code[at[2]:at[3]]
		meant := strings.ReplaceAll(text, "_", "")
		if strings.HasPrefix(meant, ".") {
			meant = "0" + meant
		}
		if !plain.MatchString(text) {
			f.found(at[2], change{at[2], at[3], meant}, almost.MatchString(text) && plain.MatchString(meant), "write figures and a point: 1000, 0.5",
				Short(text)+" is no number of the rule language")
		} else if v, err := strconv.ParseFloat(text, 64); err != nil || v > maxNumber {
			f.found(at[2], change{at[2], at[3], ""}, false, fmt.Sprintf("the most is %.0f", maxNumber), Short(text)+" is too great")
		}
	}
}

// openQuote reports a quote that is never closed.
func (f *typoFinder) openQuote() {
	open := strings.IndexAny(quoted.ReplaceAllStringFunc(string(f.rest), spaces), `'"`)
	if open < 0 || f.count > 0 {
		return
	}
	tail := f.code[open:]
	end := open + len(strings.TrimRight(tail, " \t\n"))
	quote := tail[:1]
	f.found(open, change{end, end, quote}, unfinished.MatchString(tail), "close it behind the word: 'word'",
		"a quote is opened and not closed")
}

// blank empties the quotes of an expression and leaves the length as it is.
func blank(code string) string {
	return quoted.ReplaceAllStringFunc(code, func(q string) string { return "'" + strings.Repeat("x", len(q)-2) + "'" })
}

func spaces(s string) string { return strings.Repeat(" ", len(s)) }

// short cuts what a message repeats of an author's text.
func Short(text string) string {
	const most = 60
	if runes := []rune(text); len(runes) > most {
		return string(runes[:most]) + "…"
	}
	return text
}
