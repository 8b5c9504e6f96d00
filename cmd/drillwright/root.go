package main

import (
	"github.com/spf13/cobra"
)

func newRoot(sh *shell) *cobra.Command {
	root := group("drillwright", "Corrective-exercise selection: what may be trained, what instead, and why",
		newScreen(sh), newSubstitute(sh), newSelect(sh), newExplain(sh), newCatalog(sh), newBook(sh), newServe(sh), newToken(sh),
		newHealth(), newContract(sh), newVersion(), newCompletion(), newLicences(), newAuthorsWork(sh))
	root.Long = `Drillwright answers a coach's questions about a client: is there a reason to see a professional first,
what to do instead of a lift that hurts, what to train today, and why (not) a drill. It never diagnoses.

A client file holds what is known of a client, the complaints and the day, in YAML.
Commands answer on the edition that is built in, or ask a server with --server.

Exit codes: 0 answered, 1 a problem in a file, an invalid client or an id that names nothing,
2 a command line, or settings, that can't be carried out.`
	root.SilenceErrors, root.SilenceUsage = true, true
	root.CompletionOptions.DisableDefaultCmd = true
	root.SetFlagErrorFunc(func(cmd *cobra.Command, err error) error { return misused(cmd, "%w", err) })
	return root
}
