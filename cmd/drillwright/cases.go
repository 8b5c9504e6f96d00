package main

import (
	"encoding/xml"
	"errors"
	"fmt"
	"os"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"drillwright/catalog/authored"
	"drillwright/rules"
	"drillwright/rules/analysis"
	"drillwright/rules/selection"
	"drillwright/server"
)

func newBookCases(sh *shell) *cobra.Command {
	junit, coverage, propose, only := "", false, false, []string{}
	cmd := &cobra.Command{
		Use:   "cases [DIR]",
		Short: "Run the cases of a rulebook: what must be picked, what must not, and by which rule",
		Long: `Runs the cases of a folder of rulebook files. Kinds of file that the folder lacks, cases too, come from the
edition that is built in. Without a folder the built-in edition runs its own.

Of a case that fails it says what was wanted, what came out, and the reasons. A book whose cases fail
can't be published.

With --coverage it says which rules no case makes hold, and which clauses of the others decide in none:
the rule would have held without them.

With --propose it prints a file of cases: for each of these a client, as near as can be to a plain healthy one, for
whom the rule holds and the clause decides. Read each before you keep it. What no client on any drill can exercise
stands at the end with its proof, and so does what was not decided. --rule keeps both to rules of yours.`,
		Example: `  drillwright book cases rules/book
  drillwright book cases --coverage rules/book
  drillwright book cases --propose --rule sore-back-no-loaded-hinge my-club > proposed.yaml
  drillwright book cases --junit cases.xml rules/book`,
		Args: atMost(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			if len(only) > 0 && !coverage && !propose {
				return misused(cmd, "--rule goes with --coverage or --propose")
			}
			edition, name, err := readBook(args)
			if err != nil {
				return err
			}
			cases, err := server.Cases(edition)
			if err != nil {
				return inBook(err, name)
			}
			if err := haveRules(cmd, edition, only); err != nil {
				return err
			}
			var covers *analysis.Coverage
			if coverage || propose {
				covers = analysis.NewCoverage(edition)
				covers.Only(only...)
			}
			outcomes, err := selection.RunCases(cmd.Context(), edition, cases, covers)
			if err != nil {
				return err
			}
			if junit != "" {
				if err := writeJUnit(junit, outcomes); err != nil {
					return err
				}
			}
			if propose {
				proposed, err := selection.Propose(cmd.Context(), edition, cases, covers)
				if err != nil {
					return err
				}
				fmt.Fprint(sh.out, server.ProposedCases(proposed))
				return failures(name, outcomes)
			}
			if coverage {
				printCoverage(sh, covers)
			}
			return result(sh, name, outcomes)
		},
	}
	cmd.Flags().StringVar(&junit, "junit", "", "write the outcomes to `FILE` as JUnit XML")
	cmd.Flags().BoolVar(&coverage, "coverage", false, "say which rules and clauses the cases don't exercise")
	cmd.Flags().BoolVar(&propose, "propose", false, "print cases for what the cases don't exercise")
	cmd.Flags().StringSliceVar(&only, "rule", nil, "with --coverage or --propose: of the rule `ID` alone; several are joined by commas")
	cmd.MarkFlagsMutuallyExclusive("coverage", "propose")
	return cmd
}

// haveRules refuses ids that no rule of the edition has.
func haveRules(cmd *cobra.Command, e *rules.Edition, ids []string) error {
	var known []string
	for _, r := range slices.Concat(e.Book.Rules, e.Book.Doses, e.Book.Advices) {
		known = append(known, r.ID)
	}
	for _, id := range ids {
		if slices.Contains(known, id) {
			continue
		}
		if near := authored.DidYouMean(id, known); near != "" {
			return misused(cmd, "there is no rule %q; %s", id, near)
		}
		return misused(cmd, "there is no rule %q", id)
	}
	return nil
}

// result says how the cases came out; those that fail are its error.
func result(sh *shell, name string, outcomes []selection.Outcome) error {
	switch err := failures(name, outcomes); {
	case err != nil:
		return err
	case len(outcomes) == 0:
		fmt.Fprintf(sh.out, "There are no cases in %s.\n", name)
	default:
		fmt.Fprintf(sh.out, "%s in %s, all pass.\n", several(len(outcomes), "case"), name)
	}
	return nil
}

// failures are the cases that fail, as an error.
func failures(name string, outcomes []selection.Outcome) error {
	b, failed := &strings.Builder{}, 0
	for _, o := range outcomes {
		if len(o.Faults) == 0 {
			continue
		}
		failed++
		for _, f := range o.Faults {
			fmt.Fprintf(b, "%s: case %s\n%s", f.At, o.Case.ID.Value, faultText(f))
		}
	}
	if failed == 0 {
		return nil
	}
	fmt.Fprintf(b, "%d of %s fail in %s", failed, several(len(outcomes), "case"), name)
	return errors.New(b.String())
}

func faultText(f selection.Fault) string {
	b := &strings.Builder{}
	fmt.Fprintf(b, "  wanted  %s\n  got     %s\n", f.Wanted, f.Got)
	for _, reason := range f.Reasons {
		fmt.Fprintf(b, "  reason  %s\n", reason)
	}
	return b.String()
}

func printCoverage(sh *shell, c *analysis.Coverage) {
	n := c.Count()
	fmt.Fprintf(sh.out, "Rules covered: %d of %d. Clauses covered: %d of %d.\n", n.Rules, n.OfRules, n.Clauses, n.OfClauses)
	for _, u := range c.Uncovered() {
		what := "holds in no case: "
		if u.Clause != nil {
			what = "decides in no case: "
		}
		fmt.Fprintf(sh.out, "  %s: %s %s%s\n", u.At, u.Rule.ID, what, strings.Join(strings.Fields(u.Text), " "))
	}
}

// The parts of JUnit's XML that programs read: no times, so that the same book gives the same file.
type (
	junitSuite struct {
		XMLName  xml.Name    `xml:"testsuite"`
		Name     string      `xml:"name,attr"`
		Tests    int         `xml:"tests,attr"`
		Failures int         `xml:"failures,attr"`
		Cases    []junitCase `xml:"testcase"`
	}
	junitCase struct {
		File     string         `xml:"classname,attr"`
		Name     string         `xml:"name,attr"`
		Failures []junitFailure `xml:"failure"`
	}
	junitFailure struct {
		Message string `xml:"message,attr"`
		Text    string `xml:",cdata"`
	}
)

func writeJUnit(file string, outcomes []selection.Outcome) error {
	suite := junitSuite{Name: "drillwright book cases", Tests: len(outcomes)}
	for _, o := range outcomes {
		c := junitCase{File: o.Case.At.Source.Name, Name: o.Case.ID.Value}
		for _, f := range o.Faults {
			c.Failures = append(c.Failures, junitFailure{Message: "wanted " + f.Wanted + "; got " + f.Got, Text: f.At.String() + "\n" +
				faultText(f)})
		}
		if len(c.Failures) > 0 {
			suite.Failures++
		}
		suite.Cases = append(suite.Cases, c)
	}
	text, err := xml.MarshalIndent(suite, "", "  ")
	if err == nil {
		err = os.WriteFile(file, append([]byte(xml.Header), append(text, '\n')...), 0o644)
	}
	if err != nil {
		return fmt.Errorf("write %q: %w", file, cause(err))
	}
	return nil
}
