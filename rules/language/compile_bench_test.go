package language_test

import (
	"slices"
	"strings"
	"testing"

	"github.com/expr-lang/expr"
	"github.com/expr-lang/expr/conf"
	"github.com/expr-lang/expr/types"
	"github.com/stretchr/testify/require"

	"drillwright/catalog/authored"
	"drillwright/rules"
	"drillwright/rules/internal/random"
	"drillwright/rules/language"
)

// What is measured: a book of so many rules on a catalogue of so many drills.
const drills, ruleCount = 10_000, 1000

// bookFiles are those of the built-in book: what a generated one lacks.
func bookFiles() []authored.File {
	return slices.DeleteFunc(rules.EmbeddedFiles(), func(f authored.File) bool { return !strings.HasPrefix(f.Name, "rules/book/") })
}

// BenchmarkCompile: expr compiles the conditions of 1000 rules, checked against typed paths, for one drill at a time.
// It does so in the way of its own documentation, which turns the paths into its types anew for each condition; in
// expr_once they are turned once. book reads the same rules from YAML and compiles them for a catalogue of 10,000 drills;
// edit does so over the edition before, in which one number of one rule was another.
func BenchmarkCompile(b *testing.B) {
	v := random.Vocabulary()
	snap, draft := random.Catalogue(1, drills), append(random.Book(1, v, ruleCount), random.Doses(1, v, 1))
	compiled := func(b *testing.B, options func(types.Map) []expr.Option) {
		e, err := rules.ReadOn(random.Catalogue(1, 60), draft, bookFiles())
		require.NoError(b, err)
		tags, texts := tagsOf(e), random.Conditions(1, v, ruleCount)
		for i := range texts {
			texts[i], err = language.AsExpr(e.Frame, tags, texts[i])
			require.NoError(b, err)
		}
		with := options(language.TypesOf(e.Frame, tags))
		b.ReportAllocs()
		for b.Loop() {
			for _, text := range texts {
				if _, err := expr.Compile(text, with...); err != nil {
					b.Fatal(err)
				}
			}
		}
	}
	b.Run("expr", func(b *testing.B) {
		compiled(b, func(paths types.Map) []expr.Option { return []expr.Option{expr.Env(paths), expr.AsBool()} })
	})
	b.Run("expr_once", func(b *testing.B) {
		compiled(b, func(paths types.Map) []expr.Option {
			ready := conf.CreateNew()
			expr.Env(paths)(ready)
			expr.AsBool()(ready)
			return []expr.Option{func(c *conf.Config) { *c = *ready }}
		})
	})
	b.Run("book", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			_, err := rules.ReadOn(snap, draft, bookFiles())
			require.NoError(b, err)
		}
	})
	b.Run("edit", func(b *testing.B) {
		e, err := rules.ReadOn(snap, draft, bookFiles())
		require.NoError(b, err)
		drafts := [][]authored.File{random.Raised(draft), draft}
		b.ReportAllocs()
		for i := 0; b.Loop(); i++ {
			e, err = e.Redraft(drafts[i%2])
			require.NoError(b, err)
		}
	})
}
