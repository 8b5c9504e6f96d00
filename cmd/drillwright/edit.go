package main

import (
	"crypto/rand"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"
	"google.golang.org/grpc/status"

	v1 "drillwright/proto/drillwright/v1"
	"drillwright/server"
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
		return misused(cmd, "--base REVISION is missing: book preview names it")
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
	sampled
	digest      string
	acceptChurn bool
	only        bool
}

func (s *seen) flags(cmd *cobra.Command) *cobra.Command {
	cmd.Flags().StringVar(&s.digest, "preview", "", "the `DIGEST` of the preview that you have seen (required)")
	cmd.Flags().BoolVar(&s.acceptChurn, "accept-churn", false, "go on although more answers change than the book's budget allows")
	cmd.Flags().BoolVar(&s.only, "only-check", false, "go through every check and publish nothing")
	s.sampled.flags(cmd)
	return s.signed.flags(cmd)
}

func (s *seen) check(cmd *cobra.Command) error {
	if s.digest == "" {
		return misused(cmd, "--preview DIGEST is missing: book preview prints it")
	}
	return s.signed.check(cmd)
}

// readDraft reads the files of a folder and of those in it. Their names are their paths within the folder: a draft is the
// same wherever it lies.
func readDraft(dir string) ([]*v1.RulebookFile, error) {
	var files []*v1.RulebookFile
	err := filepath.WalkDir(dir, func(path string, entry fs.DirEntry, err error) error {
		switch {
		case err != nil:
			return fmt.Errorf("read folder %q: %w", path, cause(err))
		case entry.IsDir() && path != dir && strings.HasPrefix(entry.Name(), "."):
			return filepath.SkipDir
		case entry.IsDir() || filepath.Ext(path) != ".yaml":
			return nil
		}
		file, err := readFile(path)
		if err != nil {
			return err
		}
		name, err := filepath.Rel(dir, path)
		if err != nil {
			return fmt.Errorf("name %q within %q: %w", path, dir, err)
		}
		files = append(files, &v1.RulebookFile{Name: filepath.ToSlash(name), Text: string(file.Data)})
		return nil
	})
	if err == nil && len(files) == 0 {
		err = fmt.Errorf("read folder %q: it holds no .yaml file", dir)
	}
	return files, err
}

// toldOf is told for a call about a draft: its problems are shown at their places in the folder.
func (e *editing) toldOf(dir string, err error) error {
	for _, d := range status.Convert(err).Details() {
		if p, ok := d.(*v1.RulebookProblems); ok {
			problems := server.Problems(p.GetProblems(), func(name string) string { return filepath.Join(dir, filepath.FromSlash(name)) })
			return fmt.Errorf("%w\n%s in %s", problems, several(len(problems), "problem"), dir)
		}
	}
	return e.told(err)
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

type sampled struct {
	folder string
	only   bool
}

func (s *sampled) flags(cmd *cobra.Command) {}

func (s *sampled) samples() (*v1.Samples, error) { return nil, nil }
