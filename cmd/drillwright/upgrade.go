package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net/url"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"drillwright/catalog/authored"
	v1 "drillwright/proto/drillwright/v1"
	"drillwright/rules"
	"drillwright/rules/selection"
	"drillwright/server"
	"drillwright/server/sqlstore"
	"drillwright/server/text"
)

// upgrading is what the upgrade command is told.
type upgrading struct {
	store, out                 string
	base, digest, author, note string
	acceptChurn                bool
}

func newBookUpgrade(sh *shell) *cobra.Command {
	u := &upgrading{}
	cmd := &cobra.Command{
		Use:   "upgrade [DIR]",
		Short: "Bring a folder, or what is live in a store, to the format that this program reads",
		Long: `An edition says under about: format: by which format it was written. A later program reads more strictly, and takes no
edition that leaves unsaid what it asks for. This command adds what can be derived: what parts lack that come with
the program under the same id. Comments, order and layout stay. What can't be derived it names at its line, for
somebody to decide.

Of a folder it writes the files in their places when nothing is left to decide, and nothing otherwise: half an
upgrade would be neither the old edition nor the new. With --out it writes what can be derived into a new folder, to
be finished there.

With --store it upgrades what is live there, as a publication of its own, which needs no running server: none serves
an edition of an older format. A SQLite file must not be in use; a PostgreSQL store may be, its servers follow. What
nobody has edited since it came with an earlier program is then as it comes with this one. The first run shows
everything and prints the command that publishes it. Where something is left to decide, write it with --out, finish
it there, and give that folder as DIR beside --store.`,
		Example: `  drillwright book upgrade my-club
  drillwright book upgrade my-club --out my-club-2
  drillwright book upgrade --store rulebook.db`,
		Args: atMost(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			switch {
			case u.store != "":
				return u.inStore(cmd, sh, args)
			case len(args) == 0:
				return misused(cmd, "DIR or --store is missing: the built-in edition is of this program's format")
			case u.base != "" || u.digest != "" || u.acceptChurn || u.author != "" || u.note != "":
				return misused(cmd, "--base, --preview, --accept-churn, --author and --note go with --store: a folder is published by book publish")
			}
			return u.folder(cmd.Context(), sh, args[0])
		},
	}
	cmd.Flags().StringVar(&u.store, "store", "", "upgrade what is live in this store, `PATH|URL`")
	cmd.Flags().StringVar(&u.out, "out", "", "write into the new folder `NEW`, with what is left to decide still wrong")
	cmd.Flags().StringVar(&u.base, "base", "", "the `REVISION` that is live, as the first run tells it")
	cmd.Flags().StringVar(&u.digest, "preview", "", "the `DIGEST` of the upgrade that you have seen")
	cmd.Flags().BoolVar(&u.acceptChurn, "accept-churn", false, "go on although nobody can say whose answers change")
	cmd.Flags().StringVar(&u.author, "author", "", "your `NAME`, for the history")
	cmd.Flags().StringVar(&u.note, "note", "", "why, in a `SENTENCE`, for the history")
	return cmd
}

// folder upgrades the files of a folder.
func (u *upgrading) folder(ctx context.Context, sh *shell, dir string) error {
	draft, err := readFolder(dir)
	if err != nil {
		return err
	}
	old, err := rules.UpgradeDraft(draft, rules.EmbeddedFiles())
	if err != nil {
		return inBook(err, dir)
	}
	if old == nil {
		fmt.Fprintf(sh.out, "%s is of format %d already: nothing to upgrade.\n", dir, rules.Format)
		return nil
	}
	own, added := ownOf(old, draft)
	derived, left := old.Counts()
	switch {
	case u.out != "":
		if err := writeDraft(u.out, relative(slices.Concat(own, added), dir)); err != nil {
			return err
		}
		fmt.Fprintf(sh.out, "%s in %s, with %s derived.\n", several(len(own)+len(added), "file"), u.out, several(derived, "thing"))
		dir = u.out
	case left > 0:
		return fmt.Errorf("%s\nNothing was written. To write what can be derived and finish it there: drillwright book upgrade %s --out NEW",
			listing(old), quoted(dir))
	case derived == 0:
		fmt.Fprintf(sh.out, "%s lacks nothing that format %d asks for: nothing to upgrade.\n", dir, rules.Format)
		return nil
	default:
		fmt.Fprintf(sh.out, "%s was of format %d.\n", dir, old.Format)
		if err := writeNew(sh.out, added); err != nil {
			return err
		}
		if err := showFixed(sh.out, draft, own); err != nil {
			return err
		}
	}
	edition, err := checked(sh, []string{dir})
	if err != nil {
		return err
	}
	return failingIn(ctx, sh.out, edition, dir)
}

// ownOf are the files of a draft after its upgrade, in their order, and those that it adds. Files of its base are left.
func ownOf(old *rules.OldFormat, draft []authored.File) (own, added []authored.File) {
	for _, f := range old.Upgraded {
		switch {
		case slices.Contains(old.Added, f.Name):
			added = append(added, f)
		case slices.ContainsFunc(draft, func(d authored.File) bool { return d.Name == f.Name }):
			own = append(own, f)
		}
	}
	return own, added
}

// writeNew writes files that aren't there yet.
func writeNew(out io.Writer, files []authored.File) error {
	for _, f := range files {
		file, err := os.OpenFile(f.Name, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o666)
		if err != nil {
			return fmt.Errorf("write %q: %w", f.Name, cause(err))
		}
		_, err = file.Write(f.Data)
		if err := errors.Join(err, file.Close()); err != nil {
			return fmt.Errorf("write %q: %w", f.Name, cause(err))
		}
		fmt.Fprintf(out, "Added %s.\n", f.Name)
	}
	return nil
}

// relative are files under their paths in a folder.
func relative(files []authored.File, dir string) []*v1.RulebookFile {
	var out []*v1.RulebookFile
	for _, f := range files {
		name := f.Name
		if inside, err := filepath.Rel(dir, name); err == nil && dir != "" {
			name = filepath.ToSlash(inside)
		}
		out = append(out, &v1.RulebookFile{Name: name, Text: string(f.Data)})
	}
	return out
}

// failingIn says how many cases fail: while one does, the folder can't be published.
func failingIn(ctx context.Context, out io.Writer, edition *rules.Edition, dir string) error {
	cases, err := server.Cases(edition)
	if err != nil {
		return inBook(err, dir)
	}
	outcomes, err := selection.RunCases(ctx, edition, cases, nil)
	if err != nil {
		return err
	}
	failed := slices.DeleteFunc(outcomes, func(o selection.Outcome) bool { return len(o.Faults) == 0 })
	if len(failed) > 0 {
		fmt.Fprintf(out, "%d of %s fail, and while one does it can't be published: drillwright book cases %s\n",
			len(failed), several(len(cases), "case"), quoted(dir))
	}
	return nil
}

// listing says what an edition of an older format lacks: what is derived in a line each, and what somebody must decide in full.
func listing(old *rules.OldFormat) string {
	var b strings.Builder
	fmt.Fprintf(&b, "It is of format %d, and this program reads format %d.\n", old.Format, rules.Format)
	if len(old.Renewed) > 0 {
		fmt.Fprintf(&b, "Nobody has edited what came with an earlier program; in these files book upgrade writes what comes with this one:\n")
		for _, name := range old.Renewed {
			fmt.Fprintf(&b, "  %s\n", name)
		}
	}
	derived, left := old.Counts()
	if derived > 0 {
		b.WriteString("book upgrade adds by itself:\n")
	}
	for _, p := range old.Missing {
		if p.Fix != nil {
			fmt.Fprintf(&b, "  %s: %s\n", p.At, p.Sentence())
		}
	}
	if left == 0 {
		b.WriteString("Nothing is left to decide.")
		return b.String()
	}
	fmt.Fprintf(&b, "Somebody must decide (%d):", left)
	for _, p := range old.Missing {
		if p.Fix == nil {
			fmt.Fprintf(&b, "\n%s", p)
		}
	}
	return b.String()
}

// open opens the store that is upgraded.
func (u *upgrading) open(ctx context.Context) (*sqlstore.Store, error) {
	store, err := sqlstore.Open(ctx, sqlstore.Config{URL: u.store, MustExist: true})
	if err != nil {
		return nil, fmt.Errorf("open the store: %w", err)
	}
	return store, nil
}

// inStore shows what the live edition of a store becomes, or publishes that.
func (u *upgrading) inStore(cmd *cobra.Command, sh *shell, args []string) error {
	publish := u.digest != ""
	switch {
	case publish && u.base == "":
		return misused(cmd, "--base REVISION is missing: it is what is live, as the first run tells it")
	case publish && u.author == "":
		return misused(cmd, "--author NAME is missing")
	case publish && !u.acceptChurn:
		return misused(cmd, "--accept-churn is missing: nobody can say whose answers change, for the old edition can't be asked any more")
	case publish && u.out != "":
		return misused(cmd, "--out writes, and --preview publishes: give one of them")
	}
	decided, err := decidedIn(args)
	if err != nil {
		return err
	}
	store, err := u.open(cmd.Context())
	if err != nil {
		return err
	}
	defer store.Close()
	plan, err := server.PlanUpgrade(cmd.Context(), store, decided)
	switch {
	case errors.Is(err, server.ErrNothingToUpgrade):
		fmt.Fprintf(sh.out, "%v.\n", err)
		return nil
	case err != nil:
		return inBook(err, strings.Join(args, ""))
	case publish:
		return u.publish(cmd.Context(), sh, store, plan)
	case u.out != "":
		if err := writeDraft(u.out, relative(plan.Old.Upgraded, "")); err != nil {
			return err
		}
		fmt.Fprintf(sh.out, "%s in %s.\nThen: drillwright book upgrade %s --store %s\n",
			several(len(plan.Old.Upgraded), "file"), u.out, quoted(u.out), quoted(withoutPassword(u.store)))
		return check(sh, []string{u.out})
	}
	return u.show(sh, plan, args)
}

// decidedIn are the files of a folder under their paths in it; nil without one.
func decidedIn(args []string) ([]authored.File, error) {
	if len(args) == 0 {
		return nil, nil
	}
	files, err := readFolder(args[0])
	for i, f := range relative(files, args[0]) {
		files[i].Name = f.Name
	}
	return files, err
}

func (u *upgrading) publish(ctx context.Context, sh *shell, store *sqlstore.Store, plan *server.StoreUpgrade) error {
	by := server.Signed{Base: u.base, Digest: u.digest, Author: u.author, Note: u.note, RequestID: newRequestID()}
	r, err := plan.Publish(ctx, store, by)
	if err != nil {
		return err
	}
	p := &text.Page{Colour: sh.colour()}
	p.Published(r, false)
	_, err = fmt.Fprint(sh.out, p)
	return err
}

// show says what is live, what it becomes, and how that is published.
func (u *upgrading) show(sh *shell, plan *server.StoreUpgrade, args []string) error {
	folder := ""
	if len(args) == 1 {
		folder = " " + quoted(args[0])
	}
	store := quoted(withoutPassword(u.store))
	fmt.Fprintln(sh.out, liveIn(plan, u.store))
	if plan.Next == nil {
		return fmt.Errorf("%s\nTo write what can be derived and finish it there: drillwright book upgrade --store %s --out NEW",
			listing(plan.Old), store)
	}
	if len(args) == 0 {
		fmt.Fprintln(sh.out, listing(plan.Old))
	}
	p := &text.Page{Colour: sh.colour()}
	p.CompareRevisions(&v1.CompareRevisionsResponse{From: plan.Live.Revision, To: plan.Next.Revision, Parts: plan.Parts})
	fmt.Fprintf(sh.out, "\n%s", p)
	if len(plan.Failed) > 0 {
		var b strings.Builder
		for _, f := range plan.Failed {
			fmt.Fprintf(&b, "%s:%d: case %q fails\n  %s\n", f.GetFile(), f.GetLine(), f.GetCase(), strings.Join(f.GetLines(), "\n  "))
		}
		fmt.Fprintf(&b, "%d of %d cases fail, and while one does it can't be published. ", len(plan.Failed), plan.Cases)
		fmt.Fprintf(&b, "To mend them: drillwright book upgrade --store %s --out NEW", store)
		return errors.New(b.String())
	}
	fmt.Fprintf(sh.out, `
Of %s none fails. What the old edition answers can't be asked any more, so nobody can say whose answers change: read what
was edited, and say so with --accept-churn. To publish it:
drillwright book upgrade%s --store %s --base %s --preview %s --accept-churn --author NAME --note TEXT
`, several(int(plan.Cases), "case"), folder, store, plan.Live.Revision, plan.Digest)
	return nil
}

func liveIn(plan *server.StoreUpgrade, store string) string {
	return fmt.Sprintf("Revision %s is live in %s, published by %s at %s.",
		plan.Live.Revision, withoutPassword(store), plan.Live.Author, plan.Live.At.Format(time.RFC3339))
}

// outdated is what serve says of a store whose live edition is of an older format; err where it isn't that.
func outdated(ctx context.Context, err error, store *sqlstore.Store, name string) error {
	var old *rules.OldFormat
	if store == nil || !errors.As(err, &old) {
		return err
	}
	plan, failed := server.PlanUpgrade(ctx, store, nil)
	if failed != nil {
		return err
	}
	return fmt.Errorf("%s\n%s\nNothing is served before it is upgraded: drillwright book upgrade --store %s",
		liveIn(plan, name), listing(plan.Old), quoted(withoutPassword(name)))
}

// withoutPassword is a store as it may be shown.
func withoutPassword(store string) string {
	u, err := url.Parse(store)
	if err != nil || !strings.HasPrefix(u.Scheme, "postgres") {
		return store
	}
	if q := u.Query(); q.Has("password") {
		q.Set("password", "xxxxx")
		u.RawQuery = q.Encode()
	}
	return u.Redacted()
}
