package main

import (
	"context"
	"fmt"
	"math"
	"strconv"

	"github.com/spf13/cobra"

	v1 "drillwright/proto/drillwright/v1"
	"drillwright/server/text"
)

func newBookHistory(sh *shell) *cobra.Command {
	e, most := &editing{}, 20
	cmd := &cobra.Command{
		Use:     "history",
		Short:   "List what was published, the latest first",
		Example: "  drillwright book history --server 127.0.0.1:7410",
		Args:    exactly(),
		RunE: func(cmd *cobra.Command, args []string) error {
			if most < 1 {
				return misused(cmd, "--most %d: it must be 1 or more", most)
			}
			c, stop, err := e.open(cmd)
			if err != nil {
				return err
			}
			defer stop()
			r, err := revisions(cmd.Context(), c, most)
			if err != nil {
				return e.explained(err)
			}
			return e.print(sh, r, func(p *text.Page) { p.History(r.GetRevisions()) })
		},
	}
	cmd.Flags().IntVar(&most, "most", most, "list `N` at most")
	return e.flags(cmd)
}

// revisionOf is the revision that a person means: by its id, or by the number of its publication, as book history tells both.
func revisionOf(ctx context.Context, c v1.RulebookServiceClient, what string) (string, error) {
	number, err := strconv.ParseInt(what, 10, 64) // an id is too long to be one
	if err != nil {
		return what, nil
	}
	all, err := revisions(ctx, c, math.MaxInt)
	if err != nil {
		return "", err
	}
	for _, r := range all.GetRevisions() {
		if r.GetNumber() == number {
			return r.GetRevision(), nil
		}
	}
	return "", fmt.Errorf("there is no publication %d: book history lists them", number)
}

// revisions walks the pages.
func revisions(ctx context.Context, c v1.RulebookServiceClient, most int) (*v1.ListRevisionsResponse, error) {
	all, page := &v1.ListRevisionsResponse{}, &v1.ListRevisionsRequest{}
	for {
		page.PageSize = int32(min(most-len(all.Revisions), 200))
		r, err := c.ListRevisions(ctx, page)
		if err != nil {
			return nil, err
		}
		all.Revisions = append(all.Revisions, r.GetRevisions()...)
		page.PageToken = r.GetNextPageToken()
		if page.PageToken == "" || len(all.Revisions) >= most {
			return all, nil
		}
	}
}
