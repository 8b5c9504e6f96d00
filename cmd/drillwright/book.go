package main

import (
	"errors"
	"fmt"

	"github.com/spf13/cobra"

	"drillwright/catalog"
	"drillwright/rules"
)

func newBook(sh *shell) *cobra.Command {
	return group("book", "Work on a rulebook", newBookCheck(sh))
}

func newBookCheck(sh *shell) *cobra.Command {
	how, fix := false, false
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
indexed, looked up by the client's value; or a closure, asked of each drill that is left, the dear kind.`,
		Example: `  drillwright book check rules/book
  drillwright book check --fix my-book
  drillwright book check --how rules/book`,
		Args: atMost(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			if fix {
				if len(args) == 0 {
					return misused(cmd, "--fix needs a folder: the built-in edition can't be changed")
				}
				if err := mend(sh.out, args[0]); err != nil {
					return err
				}
			}
			if !how {
				return check(sh, args)
			}
			edition, err := checked(sh, args)
			if err != nil {
				return err
			}
			return printHow(sh.out, edition.How())
		},
	}
	cmd.Flags().BoolVar(&fix, "fix", false, "mend in the files what can mean but one thing")
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
	name, draft := "the built-in edition", rules.EmbeddedFiles()
	if len(args) == 1 {
		folder, err := readFolder(args[0])
		if err != nil {
			return nil, err
		}
		name, draft = args[0], folder
	}
	edition, err := rules.ReadDraft(draft, rules.EmbeddedFiles())
	var problems catalog.Problems
	if errors.As(err, &problems) {
		return nil, fmt.Errorf("%w\n%s in %s", problems, several(len(problems), "problem"), name)
	}
	if err != nil {
		return nil, fmt.Errorf("compile %q: %w", name, err)
	}
	b := edition.Book
	fmt.Fprintf(sh.out, "No problems in %s: %s, %s, %s, %s.\nRevision %s\n", name, several(len(edition.Catalogue.Drills), "drill"),
		several(len(b.Rules), "rule"), several(len(b.Doses), "dose"), several(len(b.Plans), "plan"), edition.Revision)
	return edition, nil
}

func several(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}
