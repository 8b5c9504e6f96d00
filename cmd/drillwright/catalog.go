package main

import (
	"context"
	"strings"

	"github.com/spf13/cobra"
	"google.golang.org/protobuf/proto"

	v1 "drillwright/proto/drillwright/v1"
	"drillwright/server/text"
)

func newCatalog(sh *shell) *cobra.Command {
	return group("catalog", "Look at the drills and the vocabulary",
		newCatalogList(sh), newCatalogShow(sh), newCatalogTerms(sh), newCatalogCheck(sh))
}

// lookup is what the commands that read the catalogue share.
type lookup struct {
	target
	format
}

func (l *lookup) flags(cmd *cobra.Command) *cobra.Command {
	l.target.flags(cmd)
	l.target.draftFlag(cmd)
	l.format.flags(cmd)
	return cmd
}

// ask connects, asks, and prints the answer.
func (l *lookup) ask(sh *shell, cmd *cobra.Command, ask func(v1.CatalogServiceClient) (proto.Message, func(*text.Page), error)) error {
	conn, stop, err := l.connect(cmd)
	if err != nil {
		return err
	}
	defer stop()
	m, render, err := ask(v1.NewCatalogServiceClient(conn))
	if err != nil {
		return l.explained(err)
	}
	return l.print(sh, m, render)
}

func newCatalogList(sh *shell) *cobra.Command {
	l, filter := &lookup{}, ""
	cmd := &cobra.Command{
		Use:   "list",
		Short: "List the drills, all or those that a condition lets through",
		Example: `  drillwright catalog list
  drillwright catalog list --filter "drill.overhead and 'band' in drill.kit"`,
		Args: exactly(),
		RunE: func(cmd *cobra.Command, args []string) error {
			return l.ask(sh, cmd, func(c v1.CatalogServiceClient) (proto.Message, func(*text.Page), error) {
				all, err := allDrills(cmd.Context(), c, filter)
				return all, func(p *text.Page) { p.Drills(all.GetDrills()) }, err
			})
		},
	}
	cmd.Flags().StringVar(&filter, "filter", "", "only drills for which `EXPR` holds, a condition over drill in the language of the rules")
	return l.flags(cmd)
}

// allDrills walks the pages; the pages of one walk are of one revision, or the server refuses the token.
func allDrills(ctx context.Context, c v1.CatalogServiceClient, filter string) (*v1.ListDrillsResponse, error) {
	all, page := &v1.ListDrillsResponse{}, &v1.ListDrillsRequest{PageSize: 200, Filter: filter}
	for {
		r, err := c.ListDrills(ctx, page)
		if err != nil {
			return nil, err
		}
		all.Drills = append(all.Drills, r.GetDrills()...)
		if page.PageToken = r.GetNextPageToken(); page.PageToken == "" {
			return all, nil
		}
	}
}

func newCatalogShow(sh *shell) *cobra.Command {
	l := &lookup{}
	return l.flags(&cobra.Command{
		Use:     "show DRILL",
		Short:   "Show all tags of a drill",
		Example: "  drillwright catalog show push-up",
		Args:    exactly("DRILL"),
		RunE: func(cmd *cobra.Command, args []string) error {
			return l.ask(sh, cmd, func(c v1.CatalogServiceClient) (proto.Message, func(*text.Page), error) {
				r, err := c.GetDrill(cmd.Context(), &v1.GetDrillRequest{Id: args[0]})
				return r, func(p *text.Page) { p.Drill(r.GetDrill(), r.GetRevision()) }, err
			})
		},
	})
}

func newCatalogTerms(sh *shell) *cobra.Command {
	l := &lookup{}
	return l.flags(&cobra.Command{
		Use:   "terms [KIND]",
		Short: "List the vocabulary: the words that client files and rules use",
		Example: `  drillwright catalog terms
  drillwright catalog terms motion
  drillwright catalog terms source`,
		Args: atMost(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			return l.ask(sh, cmd, func(c v1.CatalogServiceClient) (proto.Message, func(*text.Page), error) {
				all, err := allTerms(cmd.Context(), c, strings.Join(args, ""))
				return all, func(p *text.Page) { p.Terms(all.GetTerms()) }, err
			})
		},
	})
}

func allTerms(ctx context.Context, c v1.CatalogServiceClient, kind string) (*v1.ListTermsResponse, error) {
	all, page := &v1.ListTermsResponse{}, &v1.ListTermsRequest{PageSize: 1000, Kind: kind}
	for {
		r, err := c.ListTerms(ctx, page)
		if err != nil {
			return nil, err
		}
		all.Terms = append(all.Terms, r.GetTerms()...)
		if page.PageToken = r.GetNextPageToken(); page.PageToken == "" {
			return all, nil
		}
	}
}

func newCatalogCheck(sh *shell) *cobra.Command {
	return &cobra.Command{
		Use:   "check [DIR]",
		Short: "Read a folder of catalogue files and report every mistake at its line",
		Long: `Reads every .yaml file of a folder as a draft catalogue and reports every mistake at its line.
Kinds of file that the folder lacks come from the edition that is built in.
Without a folder the built-in edition is checked.`,
		Example: "  drillwright catalog check catalog/data",
		Args:    atMost(1),
		RunE:    func(cmd *cobra.Command, args []string) error { return check(sh, args) },
	}
}
