package rules

import (
	"math/rand/v2"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/rogpeppe/go-internal/txtar"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"drillwright/catalog/authored"
	"drillwright/rules/condition"
)

// reading reads expressions of a bar as if each stood alone in a file.
type reading struct{ *bookReader }

func newReading(e *Edition) reading {
	return reading{newBookReader(authored.NewDecoder(), e.Frame, e.tags)}
}

func (r reading) text(code string) authored.Text {
	return authored.NewText("bar", code)
}

// messages are the mistakes of one expression; none when it is read.
func (r reading) messages(t *testing.T, code string) []string {
	n := r.condition(r.text(code), rootsOf[Bar])
	problems, _ := r.Err().(authored.Problems)
	require.True(t, n != nil || len(problems) > 0, "%s", code)
	var out []string
	for _, p := range problems {
		out = append(out, p.Message)
	}
	return out
}

// TestLimitsOfAnExpression holds each limit at its edge: the most is read, one more is not.
func TestLimitsOfAnExpression(t *testing.T) {
	e := embeddedEdition(t)
	repeat := strings.Repeat
	comparisons := func(n int) string { return "drill.skill>1" + repeat(" or drill.skill>1", n-1) }
	words := func(n int) string { return "drill.name in ['a'" + repeat(",'a'", n-1) + "]" }
	choices := func(n int) string {
		return repeat("(drill.skill > 1 ? 1 : ", n) + "2" + repeat(")", n) + " > drill.skill"
	}
	unrolled := func(n int) string {
		return "any(motions, drill.arc[#].to > 1" + repeat(" or drill.arc[#].to > 1", n-1) + ")"
	}
	for _, c := range []struct {
		what       string
		most, over string
		message    string
	}{
		{"bytes", "drill.loads" + repeat(" ", MaxExpression-11), "drill.loads" + repeat(" ", MaxExpression-10), "the expression has 4097 bytes; the most is 4096"},
		{"nodes", comparisons(166) + " or drill.loads", comparisons(168), "the expression has 1007 names, numbers and signs; the most is 1000"},
		{"brackets", repeat("(", 30) + "drill.loads" + repeat(")", 30), repeat("(", 31) + "drill.loads" + repeat(")", 31), "brackets stand more than 30 deep within each other"},
		{"depth", repeat("not ", 28) + "drill.loads", repeat("not ", 29) + "drill.loads", "parts stand more than 30 deep within each other"},
		{"choices", choices(4), choices(5), "? : stands more than 4 deep within another"},
		{"listed", words(100), words(101), "the list has 101 words; the most is 100"},
		{"word", "drill.name == '" + repeat("ä", 80) + "'", "drill.name == '" + repeat("ä", 81) + "'", "a word has 81 letters; the most is 80"},
		{"unrolled", unrolled(30), unrolled(31), "with every member of any and all written out this has more than 5000 parts"},
		{"number", "drill.skill < 1000000000", "drill.skill < 1000000000.5", "1000000000.5 is too great"},
		{"result", "client.age_years * 1000000000 * 8000 > 1", "client.age_years * 1000000000 * 9000 > 1", "this can come to more than 1000000000000000"},
	} {
		t.Run(c.what, func(t *testing.T) {
			assert.Empty(t, newReading(e).messages(t, c.most))
			assert.Equal(t, []string{c.message}, newReading(e).messages(t, c.over))
		})
	}
}

// TestLimitsOfABook: what comes after the most that a book may hold is not read, and the reader says so once.
func TestLimitsOfABook(t *testing.T) {
	e := embeddedEdition(t)
	r := newReading(e)
	at := r.text("").At
	assert.False(t, r.full(at, maxRules-1, maxRules, "rules"))
	assert.True(t, r.full(at, maxRules, maxRules, "rules"))
	assert.ErrorContains(t, r.Err(), "a book has at most 10000 rules")

	r = newReading(e)
	r.parts = maxBookParts + 1
	for range 3 {
		assert.Nil(t, r.condition(r.text("drill.loads"), rootsOf[Bar]))
	}
	assert.Equal(t, 1, r.Count())
	assert.ErrorContains(t, r.Err(), "the expressions of the book have more than 500000 parts together")

	r = newReading(e)
	for i := range maxProblems {
		r.Add(authored.Pos{Line: i}, "a mistake")
	}
	for range 3 {
		assert.Nil(t, r.condition(r.text("drill.lods"), rootsOf[Bar]))
		assert.Nil(t, r.sentence(r.text("{drill.nam}"), rootsOf[Bar], "", false))
	}
	assert.Equal(t, maxProblems+1, r.Count())
	assert.ErrorContains(t, r.Err(), "500 mistakes so far")
}

// parserSpeak is what a coach can't be expected to know.
var parserSpeak = regexp.MustCompile(`(?i)\btoken|literal|operator|identifier|\[\][a-z]|interface \{|strconv|unexpected|EOF|node|compilation`)

// TestNoTextHoldsReadingUp mutates the bad files: cut, doubled, swapped. None may make reading panic, make more of a
// text than its limits say, or get an answer in the parser's words.
func TestNoTextHoldsReadingUp(t *testing.T) {
	e := embeddedEdition(t)
	paths, err := filepath.Glob("../testdata/bad/*.txtar")
	require.NoError(t, err)
	dice := rand.New(rand.NewPCG(7, 412))
	for _, path := range paths {
		archive, err := txtar.ParseFile(path)
		require.NoError(t, err)
		for _, f := range archive.Files {
			if f.Name == "want" {
				continue
			}
			for i := range 8 {
				r := newReader(nil, []authored.File{{Name: f.Name, Data: mutated(dice, f.Data, i)}})
				r.floor = nil
				readBook(r.Decoder, e.Catalogue, e.Frame, e.tags, texts{}, r.tops(ofBook))
			}
			for _, code := range expressions(f.Data) {
				for i := range 12 {
					holdsUp(t, e, string(mutated(dice, []byte(code), i)))
				}
			}
		}
	}
}

var whens = regexp.MustCompile(`(?m)^ *when: "(.*)"$`)

func expressions(file []byte) []string {
	var codes []string
	for _, m := range whens.FindAllSubmatch(file, -1) {
		codes = append(codes, string(m[1]))
	}
	return codes
}

// mutated changes a text once for every time that it has been round.
func mutated(dice *rand.Rand, text []byte, times int) []byte {
	text = append([]byte(nil), text...)
	for range times {
		if len(text) < 2 {
			return text
		}
		from := dice.IntN(len(text) - 1)
		to := from + 1 + dice.IntN(min(len(text)-from-1, 1+dice.IntN(40)))
		switch dice.IntN(4) {
		case 0: // cut out
			text = append(text[:from], text[to:]...)
		case 1: // doubled, and more than doubled
			text = []byte(string(text[:to]) + strings.Repeat(string(text[from:to]), 1+dice.IntN(3)*dice.IntN(40)) + string(text[to:]))
		case 2: // swapped
			text[from], text[to] = text[to], text[from]
		default: // one byte
			text[from] = " ()[]'\"#.,;?:!=<>+-*/%|&{}0123456789aeinot_\n\x00\xff"[dice.IntN(46)]
		}
	}
	return text
}

func holdsUp(t *testing.T, e *Edition, code string) {
	r := newReading(e)
	n := r.condition(r.text(code), rootsOf[Bar])
	problems, _ := r.Err().(authored.Problems)
	require.True(t, n != nil || len(problems) > 0, "%q", code)
	require.LessOrEqual(t, r.parts, maxParts+maxNodes, "%q", code)
	require.LessOrEqual(t, len(problems), maxNodes, "%q", code)
	for _, p := range problems {
		require.LessOrEqual(t, len(p.Sentence()), 400, "%q", code)
		require.NotRegexp(t, parserSpeak, quoted.ReplaceAllString(p.Message, ""), "%q", code)
		require.NotContains(t, p.Message, "don't fit together", "%q", code)
	}
	if len(problems) == 0 {
		for _, q := range []condition.Question{condition.Possible, condition.Sure, condition.Firm} {
			_, err := condition.Program(n, q)
			require.NoError(t, err, "%q", code)
		}
	}
}
