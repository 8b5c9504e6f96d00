package main

import (
	"context"
	"errors"
	"fmt"
	"regexp"
	"strconv"
	"strings"
	"text/tabwriter"
	"time"

	"github.com/spf13/cobra"

	"drillwright/server/sqlstore"
	"drillwright/server/token"
)

func newToken(sh *shell) *cobra.Command {
	return group("token", "Make, list and revoke the tokens of those who call a server", newTokenCreate(sh), newTokenList(sh),
		newTokenRevoke(sh))
}

// keeping is where tokens are kept.
type keeping struct{ file, store string }

func (k *keeping) flags(cmd *cobra.Command) *cobra.Command {
	cmd.Flags().StringVar(&k.file, "tokens", "", "those of `FILE`, which serve --tokens FILE reads; create makes it")
	cmd.Flags().StringVar(&k.store, "store", "", "those in a PostgreSQL store, `URL`, which serve --tokens store reads")
	cmd.MarkFlagsMutuallyExclusive("tokens", "store")
	return cmd
}

func (k *keeping) check(cmd *cobra.Command) error {
	switch {
	case k.file == "" && k.store == "":
		return misused(cmd, "--tokens FILE or --store URL is missing: where the server reads them")
	case k.store != "" && !postgres(k.store):
		return misused(cmd, "--store wants a postgres:// URL: a SQLite file is locked by the server that has it; keep its tokens in a file, "+
			"with --tokens FILE here and there")
	}
	return nil
}

// open is the store; nil where the tokens are kept in a file.
func (k *keeping) open(ctx context.Context) (*sqlstore.Store, func(), error) {
	if k.store == "" {
		return nil, func() {}, nil
	}
	store, err := sqlstore.Open(ctx, sqlstore.Config{URL: k.store})
	if err != nil {
		return nil, nil, err
	}
	return store, func() { store.Close() }, nil
}

func newTokenCreate(sh *shell) *cobra.Command {
	k, t := &keeping{}, token.Token{}
	var roles []string
	expires := lifetime(90 * day)
	cmd := &cobra.Command{
		Use:   "create NAME",
		Short: "Make a token, and print it: it is shown this once",
		Long: `Makes a token and prints it, alone, on standard output. Nobody can show it again: what is kept is its SHA-256. A running
server knows it within two seconds. To renew one, make another under a new name, give it to its caller, and revoke the first.

Roles, of which a token has any number, none within another:
  ask      screen, substitute, select, explain; the catalogue; the rulebook that is live
  edit     revisions and what differs; check and preview drafts
  publish  publish, restore and withdraw
  review   what is published with this token is reviewed: its reviewer's name and licence go into the edition, and it may loosen
           the floor. Give it to a licensed professional, and to nobody for whom you haven't looked at the licence.`,
		Example: `  drillwright token create gym-platform --role ask --tokens tokens
  drillwright token create dr-sculler --role edit,publish,review --reviewer "Dr A. Sculler" --licence RC-0413 --expires 30d --tokens tokens`,
		Args: exactly("NAME"),
		RunE: func(cmd *cobra.Command, args []string) error {
			if err := k.check(cmd); err != nil {
				return err
			}
			t.Name, t.Created = args[0], time.Now().UTC().Truncate(time.Second)
			t.Expires = t.Created.Add(time.Duration(expires))
			for _, r := range roles {
				t.Roles = append(t.Roles, token.Role(r))
			}
			secret, kept, err := token.New(t)
			if err != nil {
				return misused(cmd, "make token: %w", err)
			}
			if err := k.add(cmd.Context(), kept); err != nil {
				return err
			}
			fmt.Fprintf(sh.err, "%s may %s until %s. The token is shown this once:\n", kept.Name, strings.Join(roles, ", "),
				kept.Expires.Format(time.RFC3339))
			_, err = fmt.Fprintln(sh.out, secret)
			return err
		},
	}
	cmd.Flags().StringSliceVar(&roles, "role", nil, "what it allows: `ROLE`[,ROLE...] of ask, edit, publish, review (required)")
	cmd.Flags().Var(&expires, "expires", "it ends after `TIME`, such as 90d or 12h")
	cmd.Flags().StringVar(&t.Reviewer, "reviewer", "", "with the role review: the registered `NAME` of the licensed professional")
	cmd.Flags().StringVar(&t.Licence, "licence", "", "with the role review: the `NUMBER` of the licence")
	return k.flags(cmd)
}

func (k *keeping) add(ctx context.Context, t token.Token) error {
	store, done, err := k.open(ctx)
	if err != nil {
		return err
	}
	defer done()
	if store != nil {
		return store.AddToken(ctx, t)
	}
	return token.EditFile(k.file, func(had []token.Token) ([]token.Token, error) { return token.Add(had, t) })
}

func newTokenRevoke(sh *shell) *cobra.Command {
	k := &keeping{}
	cmd := &cobra.Command{
		Use:     "revoke NAME",
		Short:   "Take a token back for good",
		Long:    "Takes a token back. A running server refuses it within two seconds. Its name is never given again.",
		Example: "  drillwright token revoke gym-platform --tokens tokens",
		Args:    exactly("NAME"),
		RunE: func(cmd *cobra.Command, args []string) error {
			if err := k.check(cmd); err != nil {
				return err
			}
			store, done, err := k.open(cmd.Context())
			if err != nil {
				return err
			}
			defer done()
			if store != nil {
				err = store.RevokeToken(cmd.Context(), args[0], time.Now())
			} else {
				err = token.EditFile(k.file, func(had []token.Token) ([]token.Token, error) { return token.Revoke(had, args[0], time.Now()) })
			}
			if err == nil {
				_, err = fmt.Fprintf(sh.out, "%s is revoked.\n", args[0])
			}
			return err
		},
	}
	return k.flags(cmd)
}

func newTokenList(sh *shell) *cobra.Command {
	k := &keeping{}
	cmd := &cobra.Command{
		Use:     "list",
		Short:   "List the tokens, those that have ended included",
		Example: "  drillwright token list --tokens tokens",
		Args:    exactly(),
		RunE: func(cmd *cobra.Command, args []string) error {
			if err := k.check(cmd); err != nil {
				return err
			}
			list, err := k.list(cmd.Context())
			if err != nil {
				return err
			}
			w := tabwriter.NewWriter(sh.out, 0, 0, 2, ' ', 0)
			fmt.Fprintln(w, "NAME\tROLES\tEXPIRES\tIS\tREVIEWER")
			for _, t := range list {
				roles := make([]string, len(t.Roles))
				for i, r := range t.Roles {
					roles[i] = string(r)
				}
				is, reviewer := t.Ended(time.Now()), ""
				if is == "" {
					is = "valid"
				}
				if t.Reviewer != "" {
					reviewer = fmt.Sprintf("%s (licence %s)", t.Reviewer, t.Licence)
				}
				fmt.Fprintln(w, strings.TrimRight(strings.Join([]string{t.Name, strings.Join(roles, ","), t.Expires.Format(time.RFC3339), is,
					reviewer}, "\t"), "\t"))
			}
			return w.Flush()
		},
	}
	return k.flags(cmd)
}

func (k *keeping) list(ctx context.Context) ([]token.Token, error) {
	store, done, err := k.open(ctx)
	if err != nil {
		return nil, err
	}
	defer done()
	if store != nil {
		return store.Tokens(ctx)
	}
	file, err := token.OpenFile(k.file)
	if err != nil {
		return nil, err
	}
	return file.Read()
}

const day = 24 * time.Hour

// lifetime is a flag that takes days (90d) or a time (12h).
type lifetime time.Duration

var inDays = regexp.MustCompile(`^([0-9]{1,5})d$`)

func (l *lifetime) String() string { return fmt.Sprintf("%gd", time.Duration(*l).Hours()/24) }

// Type implements pflag.Value.
func (l *lifetime) Type() string { return "time" }

// Set implements pflag.Value.
func (l *lifetime) Set(text string) error {
	var lasts time.Duration
	var err error
	if m := inDays.FindStringSubmatch(text); m != nil {
		days, _ := strconv.Atoi(m[1])
		lasts = time.Duration(days) * day
	} else {
		lasts, err = time.ParseDuration(text)
	}
	if err != nil || lasts < time.Second || lasts > 3650*day {
		return errors.New("it must be a time such as 90d or 12h, from 1s to 3650d")
	}
	*l = lifetime(lasts)
	return nil
}
