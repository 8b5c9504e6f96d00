package server

import (
	"context"
	"errors"
	"fmt"
	"slices"

	"drillwright/catalog/authored"
	v1 "drillwright/proto/drillwright/v1"
	"drillwright/rules"
	"drillwright/server/sqlstore"
)

// drafted reads a draft over its base, as reviewed by whoever reviews it; nil for nobody. The error is *badDraft.
func drafted(base *rules.Edition, d *v1.Draft, by *rules.Review) (draft *rules.Edition, err error) {
	var problems authored.Report
	names := map[string]bool{}
	for _, f := range d.GetFiles() {
		if names[f.GetName()] {
			problems.Add(authored.Pos{Source: &authored.Source{Name: f.GetName()}}, "two files of the draft have this name")
		}
		names[f.GetName()] = true
	}
	if err = problems.Err(); err == nil {
		draft, err = base.RedraftReviewed(filesFrom(d.GetFiles()), by)
	}
	if err == nil {
		err = casesOf(draft, names)
	}
	return draft, ofDraft(err)
}

// casesOf is what is wrong with the cases in some files. The draft may have taken away what cases of its base speak of; then
// those fail.
func casesOf(draft *rules.Edition, files map[string]bool) error {
	_, err := Cases(draft)
	var problems authored.Problems
	if !errors.As(err, &problems) {
		return err
	}
	own := slices.DeleteFunc(problems, func(p authored.Problem) bool { return !files[p.At.Source.Name] })
	if len(own) == 0 {
		return nil
	}
	return own
}

// badDraft is every mistake of a draft.
type badDraft struct{ authored.Problems }

func ofDraft(err error) error {
	var problems authored.Problems
	if errors.As(err, &problems) {
		return &badDraft{problems}
	}
	return err
}

// compiled compiles an edition, unless it is kept ready. The error is *unreadable.
func (s *Server) compiled(e editionFiles) (*rules.Edition, error) {
	now := s.cache.Load()
	if kept, err := now.pinned(e.revision); err == nil {
		return kept.Edition, nil
	}
	return readRevision(now.live.Edition, e.revision, e.files)
}

// files are those of an edition by its revision, whether or not this program can read it; "" is what is live. Errors: those of ready and of
// sqlstore.Store.Files, *unknownRevision.
func (s *Server) files(ctx context.Context, id string) (editionFiles, error) {
	now, err := s.ready()
	if err != nil {
		return editionFiles{}, err
	}
	if id == "" {
		return editionFiles{now.live.Revision, now.live.Files()}, nil
	}
	if kept, err := now.pinned(id); err == nil {
		return editionFiles{id, kept.Files()}, nil
	}
	if s.config.Store == nil {
		return editionFiles{}, &unknownRevision{id}
	}
	files, err := s.config.Store.Files(ctx, id)
	if errors.Is(err, sqlstore.ErrUnknownRevision) {
		return editionFiles{}, &unknownRevision{id}
	}
	return editionFiles{id, files}, ofStore(err)
}

// published is the latest publication of a revision. Errors: *unknownRevision, storeFault.
func (s *Server) published(ctx context.Context, id string) (sqlstore.Publication, error) {
	p, err := s.config.Store.Publication(ctx, id)
	if errors.Is(err, sqlstore.ErrUnknownRevision) {
		return p, &unknownRevision{id}
	}
	return p, ofStore(err)
}

// readRevision compiles a whole edition out of the store. What it shares with another isn't read again. The error is
// *unreadable.
func readRevision(like *rules.Edition, id string, files []authored.File) (*rules.Edition, error) {
	var e *rules.Edition
	var err error
	if like != nil {
		e, err = like.Reread(files)
	} else {
		e, err = rules.ReadPublished(files)
	}
	switch {
	case err != nil:
		return nil, &unreadable{id, err}
	case e.Revision != id:
		return nil, &unreadable{id, fmt.Errorf("its files have the digest %s", e.Revision)}
	}
	return e, nil
}
