package main

import (
	"crypto/rand"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"

	"github.com/spf13/cobra"

	v1 "drillwright/proto/drillwright/v1"
	"drillwright/rules"
)

// editing is what the commands share that work on what a server serves.
type editing struct {
	target
	format
}

func (e *editing) flags(cmd *cobra.Command) *cobra.Command {
	e.target.flags(cmd)
	e.format.flags(cmd)
	return cmd
}

// open connects to the rulebook service.
func (e *editing) open(cmd *cobra.Command) (v1.RulebookServiceClient, func(), error) {
	conn, stop, err := e.connect(cmd)
	if err != nil {
		return nil, nil, err
	}
	return v1.NewRulebookServiceClient(conn), stop, nil
}

// signed is what the commands share that change what is live.
type signed struct {
	editing
	base, author, note string
}

func (s *signed) flags(cmd *cobra.Command) *cobra.Command {
	cmd.Flags().StringVar(&s.base, "base", "", "the `REVISION` that is live, as far as you know (required)")
	cmd.Flags().StringVar(&s.author, "author", "", "your `NAME`, for the history (required)")
	cmd.Flags().StringVar(&s.note, "note", "", "why, in a `SENTENCE`, for the history")
	return s.editing.flags(cmd)
}

func (s *signed) check(cmd *cobra.Command) error {
	switch {
	case s.address == "":
		return misused(cmd, "--server ADDR is missing: what is live stands in the store of a server")
	case s.base == "":
		return misused(cmd, "--base REVISION is missing: it is what is live, as book preview and book history tell it")
	case s.author == "":
		return misused(cmd, "--author NAME is missing")
	}
	return nil
}

// newRequestID names one run of a command, so that a server which is asked twice does it once.
func newRequestID() string { return rand.Text() }

// seen is what publishing and restoring share: the preview that was looked at.
type seen struct {
	signed
	drafting
	digest      string
	acceptChurn bool
	only        bool
}

func (s *seen) flags(cmd *cobra.Command) *cobra.Command {
	cmd.Flags().StringVar(&s.digest, "preview", "", "the `DIGEST` of the preview that you have seen (required)")
	cmd.Flags().BoolVar(&s.acceptChurn, "accept-churn", false, "go on although more answers change than the book's budget allows")
	cmd.Flags().BoolVar(&s.only, "only-check", false, "go through every check and publish nothing")
	s.drafting.flags(cmd)
	return s.signed.flags(cmd)
}

func (s *seen) check(cmd *cobra.Command) error {
	if s.digest == "" {
		return misused(cmd, "--preview DIGEST is missing: book preview prints it")
	}
	return s.signed.check(cmd)
}

// draftOf are the files of an edition but for who has reviewed it, which no draft says.
func draftOf(files []*v1.RulebookFile) []*v1.RulebookFile {
	return slices.DeleteFunc(slices.Clone(files), func(f *v1.RulebookFile) bool { return f.GetName() == rules.ReviewFile })
}

// writeDraft writes the files of an edition into a folder that is empty or not there yet.
func writeDraft(dir string, files []*v1.RulebookFile) error {
	if had, err := os.ReadDir(dir); err == nil && len(had) > 0 {
		return fmt.Errorf("write into %q: it isn't empty", dir)
	} else if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return fmt.Errorf("write into %q: %w", dir, cause(err))
	}
	for _, f := range files {
		if !filepath.IsLocal(filepath.FromSlash(f.GetName())) {
			return fmt.Errorf("write %q: the name leads out of the folder", f.GetName())
		}
		path := filepath.Join(dir, filepath.FromSlash(f.GetName()))
		if err := os.MkdirAll(filepath.Dir(path), 0o777); err != nil {
			return fmt.Errorf("make folder %q: %w", filepath.Dir(path), cause(err))
		}
		if err := os.WriteFile(path, []byte(f.GetText()), 0o666); err != nil {
			return fmt.Errorf("write %q: %w", path, cause(err))
		}
	}
	return nil
}
