package language_test

import (
	"math/rand/v2"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"drillwright/catalog/authored"
	"drillwright/catalog/authored/authoredtest"
	"drillwright/rules"
	"drillwright/rules/language"
	"drillwright/rules/predicate"
)

// TestLimitsOfAnExpression holds each limit at its edge: the most is read, one more is not.
func TestLimitsOfAnExpression(t *testing.T) {
	e := embeddedEdition(t)
	tags := tagsOf(e)
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
		{"bytes", "drill.loads" + repeat(" ", language.MaxExpression-11), "drill.loads" + repeat(" ", language.MaxExpression-10),
			"the expression has 4097 bytes; the most is 4096"},
		{"nodes", comparisons(166) + " or drill.loads", comparisons(168), "the expression has 1007 names, numbers and signs; the most is 1000"},
		{"brackets", repeat("(", 30) + "drill.loads" + repeat(")", 30), repeat("(", 31) + "drill.loads" + repeat(")", 31),
			"brackets stand more than 30 deep within each other"},
		{"depth", repeat("not ", 28) + "drill.loads", repeat("not ", 29) + "drill.loads", "parts stand more than 30 deep within each other"},
		{"choices", choices(4), choices(5), "? : stands more than 4 deep within another"},
		{"listed", words(100), words(101), "the list has 101 words; the most is 100"},
		{"word", "drill.name == '" + repeat("ä", 80) + "'", "drill.name == '" + repeat("ä", 81) + "'", "a word has 81 letters; the most is 80"},
		{"unrolled", unrolled(30), unrolled(31), "with every member of any and all written out this has more than 5000 parts"},
		{"number", "drill.skill < 1000000000", "drill.skill < 1000000000.5", "1000000000.5 is too great"},
		{"result", "client.age_years * 1000000000 * 8000 > 1", "client.age_years * 1000000000 * 9000 > 1",
			"this can come to more than 1000000000000000"},
	} {
		t.Run(c.what, func(t *testing.T) {
			assert.Empty(t, newReading(e, tags).messages(t, c.most))
			assert.Equal(t, []string{c.message}, newReading(e, tags).messages(t, c.over))
		})
	}
}

// TestLimitsOfABook: once the expressions are too many, or the mistakes, no more are read, and the reader says so once.
func TestLimitsOfABook(t *testing.T) {
	e := embeddedEdition(t)
	tags := tagsOf(e)
	r := newReading(e, tags)
	r.Fill(language.MaxBookParts + 1)
	for range 3 {
		assert.Nil(t, r.Predicate(text("drill.loads"), ofBar))
	}
	assert.Equal(t, 1, r.Count())
	assert.ErrorContains(t, r.Err(), "the expressions of the book have more than 500000 parts together")

	r = newReading(e, tags)
	for i := range language.MaxProblems {
		r.Add(authored.Pos{Line: i}, "a mistake")
	}
	for range 3 {
		assert.Nil(t, r.Predicate(text("drill.lods"), ofBar))
		assert.Nil(t, r.Sentence(text("{drill.nam}"), ofBar, "", false))
	}
	assert.Equal(t, language.MaxProblems+1, r.Count())
	var problems authored.Problems
	require.ErrorAs(t, r.Err(), &problems)
	assert.True(t, slices.ContainsFunc(problems, func(p authored.Problem) bool { return strings.Contains(p.Message, "500 mistakes so far") }))
}

// parserSpeak is what a coach can't be expected to know.
var parserSpeak = regexp.MustCompile(`(?i)\btoken|literal|operator|identifier|\[\][a-z]|interface \{|strconv|unexpected|EOF|node|compilation`)

// TestNoTextHoldsReadingUp mutates the conditions of the bad files: cut, doubled, swapped. None may make reading panic, make more of a
// text than its limits say, or get an answer in the parser's words.
func TestNoTextHoldsReadingUp(t *testing.T) {
	if testing.Short() {
		t.Skip("reads thousands of texts")
	}
	e := embeddedEdition(t)
	tags, dice := tagsOf(e), rand.New(rand.NewPCG(7, 412))
	for _, f := range authoredtest.Drafts(t, "../../testdata/bad") {
		for _, code := range expressions(f.Data) {
			for i := range 12 {
				holdsUp(t, e, tags, string(authoredtest.Mutated(dice, []byte(code), i)))
			}
		}
	}
}

// holdsUp reads one expression, which may be anything.
func holdsUp(t *testing.T, e *rules.Edition, tags *language.Tags, code string) {
	r := newReading(e, tags)
	n := r.Predicate(text(code), ofBar)
	problems, _ := r.Err().(authored.Problems)
	require.True(t, n != nil || len(problems) > 0, "%q", code)
	require.LessOrEqual(t, r.Parts(), language.MaxParts+language.MaxNodes, "%q", code)
	require.LessOrEqual(t, len(problems), language.MaxNodes, "%q", code)
	for _, p := range problems {
		require.LessOrEqual(t, len(p.Sentence()), 400, "%q", code)
		require.NotRegexp(t, parserSpeak, language.Quoted.ReplaceAllString(p.Message, ""), "%q", code)
		require.NotContains(t, p.Message, "don't fit together", "%q", code)
	}
	if len(problems) == 0 {
		for _, q := range []predicate.Question{predicate.Possible, predicate.Sure, predicate.Firm} {
			_, err := predicate.Program(n, q)
			require.NoError(t, err, "%q", code)
		}
	}
}
