package random

import (
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"drillwright/catalog"
	"drillwright/catalog/authored"
)

// everyDomain: one rule in so many goes over motions, regions or stressors.
const everyDomain = 40

// fileBytes keeps each file well below what the reader takes.
const fileBytes = authored.MaxFileBytes / 2

// rule is a rule before it is written.
type rule struct {
	id, effect, when, because string
	fields                    string // what belongs to the effect alone
}

// Book writes a rulebook of bars, cautions, favours and adjusts, in as many files as its size asks for. Beside the
// ladders, questions and measures of the embedded edition, and with doses and plans, it is a whole book.
func Book(seed uint64, v *catalog.Vocabulary, rules int) []authored.File {
	a := newAuthor(seed, ofRules, v)
	var files []authored.File
	text := &strings.Builder{}
	flush := func() {
		if text.Len() > 0 {
			files = append(files, authored.File{Name: fmt.Sprintf("gen/rules-%03d.yaml", len(files)+1), Data: []byte("rules:\n" + text.String())})
			text.Reset()
		}
	}
	for i := range rules {
		a.rule(i).write(text)
		if text.Len() > fileBytes {
			flush()
		}
	}
	flush()
	return files
}

// Conditions are the texts of the conditions of Book with the same arguments, in the order of its rules.
func Conditions(seed uint64, v *catalog.Vocabulary, rules int) []string {
	a := newAuthor(seed, ofRules, v)
	texts := make([]string, rules)
	for i := range texts {
		texts[i] = a.rule(i).when
	}
	return texts
}

// rule draws the rule at a place. A quarter of the rules have a not in them.
func (a *author) rule(i int) rule {
	r := rule{id: fmt.Sprintf("g-%04d", i+1), effect: []string{"bar", "caution", "favour", "adjust"}[a.weighted(35, 20, 30, 15)]}
	r.because = "{drill.name} meets rule " + r.id + " on the {side}."
	tree := a.tree(map[string]float64{"bar": 0.04, "caution": 0.06, "favour": 0.08, "adjust": 0.4}[r.effect])
	if r.effect == "bar" || r.effect == "caution" {
		a.aim(tree)
	}
	if a.chance(0.24) {
		a.deny(tree)
	}
	r.when = tree.write(false)
	if i%everyDomain == everyDomain/2 {
		domain, text := a.overDomain(i / everyDomain)
		r.when = a.beside(text)
		if domain != "" {
			r.because = fmt.Sprintf("{drill.name} meets rule %s at {side} {%s}.", r.id, member[domain])
		}
	}
	if r.effect == "bar" && a.chance(0.04) {
		r.when = fmt.Sprintf("(%s) and not measured(client.range.%s)", r.when, pick(a.dice, a.motions))
	}
	r.fields = a.fields(r)
	return r
}

func (a *author) fields(r rule) string {
	switch r.effect {
	case "bar":
		return fmt.Sprintf("    untested: %q\n", "{drill.name} may meet rule "+r.id+"; a measure is missing.")
	case "favour":
		return fmt.Sprintf("    points: %d\n", pick(a.dice, []int{-1, 1, 1})*5*a.between(1, 20))
	case "adjust":
		return fmt.Sprintf("    adjust: {%s}\n", pick(a.dice, []string{"sets: {add: -1}", "sets: {times: 0.5}", "effort: {cap: 6}",
			"load_percent: {times: 0.8}",
			"pain_ceiling: {cap: 2}", "rest_seconds: {add: 30}, effort: {add: 1}", "hold_seconds: {cap: 20}"}))
	}
	return ""
}

// beside leaves a condition over a domain alone, or puts an atom or two beside it.
func (a *author) beside(text string) string {
	switch a.IntN(3) {
	case 0:
		return text
	case 1:
		return text + " and " + a.draw()
	default:
		return text + " and (" + a.draw() + " or " + a.draw() + ")"
	}
}

// write writes the rule in YAML.
func (r rule) write(b *strings.Builder) {
	fmt.Fprintf(b, "  - id: %s\n    effect: %s\n    when: %q\n    because: %q\n", r.id, r.effect, r.when, r.because)
	b.WriteString(r.fields)
	b.WriteString("    source: {kind: judged}\n")
}

// Doses writes a file of n doses, the last of which holds for every drill. With n of 1 it is that one alone.
func Doses(seed uint64, v *catalog.Vocabulary, n int) authored.File {
	a := newAuthor(seed, ofDoses, v)
	b := &strings.Builder{}
	b.WriteString("doses:\n")
	for i := range n {
		when := "true"
		if i < n-1 {
			when = a.tree(0.1).write(false)
		}
		effort := a.between(3, 8)
		fmt.Fprintf(b, "  - id: gd-%03d\n    when: %q\n    because: \"A generated dose.\"\n    source: {kind: judged}\n", i+1, when)
		fmt.Fprintf(b, "    dose: {sets: %d, reps: [%d, %d], rest_seconds: %d, effort: [%d, %d], per_week: 3, pain_ceiling: %d}\n",
			a.between(1, 5), a.between(4, 8), a.between(9, 15), 30*a.between(1, 6), effort, effort+1, a.between(0, 5))
	}
	return authored.File{Name: "gen/doses.yaml", Data: []byte(b.String())}
}

// Cautions is a book of cautions, one for each condition, and the last dose.
func Cautions(conditions []string) []authored.File {
	b := &strings.Builder{}
	b.WriteString("rules:\n")
	for i, when := range conditions {
		fmt.Fprintf(b,
			"  - id: g-%04d\n    effect: caution\n    when: %q\n    because: \"{drill.name} meets a rule.\"\n    source: {kind: judged}\n", i, when)
	}
	return []authored.File{{Name: "gen/rules.yaml", Data: []byte(b.String())}, Doses(1, Vocabulary(), 1)}
}

// Threshold is a number that something is compared with in a condition.
var Threshold = regexp.MustCompile(`when: .* [<>]=? ([0-9]+)`)

// Raised is a book with the threshold of one rule one higher.
func Raised(book []authored.File) []authored.File {
	edited := slices.Clone(book)
	text := book[0].Data
	at := Threshold.FindSubmatchIndex(text)
	if at == nil {
		panic("no rule compares with a number")
	}
	n, _ := strconv.Atoi(string(text[at[2]:at[3]]))
	edited[0].Data = slices.Concat(text[:at[2]], strconv.AppendInt(nil, int64(n+1), 10), text[at[3]:])
	return edited
}
