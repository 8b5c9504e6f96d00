package main

import (
	"errors"
	"fmt"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"drillwright/catalog/authored"
	"drillwright/rules"
	"drillwright/rules/analysis"
	"drillwright/server"
)

func newBook(sh *shell) *cobra.Command {
	return group("book", "Work on a rulebook", newBookCopy(sh), newBookCheck(sh), newBookCases(sh), newBookPreview(sh), newBookPublish(sh),
		newBookHistory(sh),
		newBookCompare(sh), newBookRestore(sh), newBookWithdraw(sh), newBookSince(sh), newBookSchema(sh), newBookUpgrade(sh))
}

func newBookCheck(sh *shell) *cobra.Command {
	how, fix, lint := false, false, false
	cmd := &cobra.Command{
		Use:   "check [DIR]",
		Short: "Read a folder of rulebook files and report every mistake at its line",
		Long: `Reads every .yaml file of a folder as a draft and reports every mistake at its line.
Kinds of file that the folder lacks come from the edition that is built in.
Without a folder the built-in edition is checked.

With --fix it first mends in the files what can mean but one thing (AND for and, a curly quote, a name with one wrong
letter), shows each change, checks again and reports what is left. A file is written whole or not at all.

With --how, and no mistakes, it says of each rule that drills are judged by what its parts became:
a bitset, answered once when the book is compiled; a scalar, answered once a request and side;
indexed, looked up by the client's value; or a closure, asked of each drill that is left, the dear kind.

With --lint, and no mistakes, it says what is allowed and hardly meant, with proof: rules that hold for no
client or for every one, that contradict each other or make each other needless, drills nobody can get,
slots that nothing fills. That is advice: it ends with 0.`,
		Example: `  drillwright book check rules/book
  drillwright book check --fix my-book
  drillwright book check --how rules/book`,
		Args: atMost(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			if fix {
				if len(args) == 0 {
					return misused(cmd, "--fix needs a folder: the built-in edition can't be changed")
				}
				if err := fixAll(sh.out, args[0]); err != nil {
					return err
				}
			}
			edition, err := checked(sh, args)
			if err == nil && how {
				err = printHow(sh.out, edition.How())
			}
			if err == nil && lint {
				var found []analysis.Finding
				if found, err = analysis.Lint(cmd.Context(), edition); err == nil {
					err = printFindings(sh.out, found)
				}
			}
			return err
		},
	}
	cmd.Flags().BoolVar(&fix, "fix", false, "mend in the files what can mean but one thing")
	cmd.Flags().BoolVar(&lint, "lint", false, "say what is allowed and hardly meant, with proof")
	cmd.Flags().BoolVar(&how, "how", false, "say how each rule is judged, and which are dear")
	return cmd
}

// check reads a draft, or the built-in edition, and says what it holds. Its error is every mistake and their number.
func check(sh *shell, args []string) error {
	_, err := checked(sh, args)
	return err
}

// checked is check for who goes on with the edition.
func checked(sh *shell, args []string) (*rules.Edition, error) {
	edition, name, err := readBook(args)
	if err != nil {
		return nil, err
	}
	if err := checkCases(edition, args); err != nil {
		return nil, inBook(err, name)
	}
	b := edition.Book
	fmt.Fprintf(sh.out, "No problems in %s: %s, %s, %s, %s.\nRevision %s\n", name, several(len(edition.Catalogue.Drills), "drill"),
		several(len(b.Rules), "rule"), several(len(b.Doses), "dose"), several(len(b.Plans), "plan"), edition.Revision)
	if len(args) == 1 {
		if beside := edition.KindsBeside(within(args[0])); len(beside) > 0 {
			fmt.Fprintf(sh.out, "Not in %s, and so as built in: %s.\n", name, strings.Join(beside, ", "))
		}
	}
	return edition, nil
}

// within is what the names of a folder's files begin with.
func within(folder string) string { return filepath.ToSlash(filepath.Clean(folder)) + "/" }

// readBook reads the draft in a folder, or the built-in edition, and says what to call it. Its revision is the one under
// which it would go live.
func readBook(args []string) (edition *rules.Edition, name string, err error) {
	name, draft := "the built-in edition", rules.EmbeddedFiles()
	if len(args) == 1 {
		name = args[0]
		if draft, err = readFolder(name); err != nil {
			return nil, name, err
		}
	}
	if edition, err = rules.ReadDraft(draft, rules.EmbeddedFiles()); err != nil {
		return nil, name, inBook(err, name)
	}
	if len(args) == 1 {
		edition.Revision = edition.RevisionWithin(within(name))
	}
	return edition, name, nil
}

// checkCases reads the clients of the cases. Cases that come from the built-in edition are left: they speak of its words,
// which a draft may have replaced, and then they fail when they are run.
func checkCases(edition *rules.Edition, args []string) error {
	_, err := server.Cases(edition)
	var problems authored.Problems
	if len(args) == 0 || !errors.As(err, &problems) {
		return err
	}
	own := slices.DeleteFunc(problems, func(p authored.Problem) bool {
		inside, err := filepath.Rel(args[0], p.At.Source.Name)
		return err != nil || !filepath.IsLocal(inside)
	})
	if len(own) == 0 {
		return nil
	}
	return own
}

// inBook counts the problems of an author; other errors are ours.
func inBook(err error, name string) error {
	var problems authored.Problems
	var old *rules.OldFormat
	switch {
	case err == nil:
		return nil
	case errors.As(err, &old):
		return fmt.Errorf("%s\nNothing of it is read before it is upgraded: drillwright book upgrade %s", listing(old), quoted(name))
	case errors.As(err, &problems):
		return fmt.Errorf("%w\n%s in %s", problems, several(problems.Count(), "problem"), name)
	}
	return fmt.Errorf("compile %q: %w", name, err)
}

func several(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}
