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

// draft reads a draft over its base, which is what is live where the draft names none. Errors: *badDraft, and those of
// revision.
func (s *Server) draft(ctx context.Context, d *v1.Draft) (base, draft *rules.Edition, err error) {
	if base, err = s.revision(ctx, d.GetBaseRevision()); err != nil {
		return nil, nil, err
	}
	var files []authored.File
	var problems authored.Report
	names := map[string]bool{}
	for _, f := range d.GetFiles() {
		if names[f.GetName()] {
			problems.Add(authored.Pos{Source: &authored.Source{Name: f.GetName()}}, "two files of the draft have this name")
		}
		names[f.GetName()] = true
		files = append(files, authored.File{Name: f.GetName(), Data: []byte(f.GetText())})
	}
	if err = problems.Err(); err == nil {
		draft, err = base.Redraft(files)
	}
	if err == nil {
		err = casesOf(draft, names)
	}
	return base, draft, ofDraft(err)
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

// revision is an edition by its revision; "" is what is live. One that isn't kept ready is compiled. Errors: those of
// files, *unreadable.
func (s *Server) revision(ctx context.Context, id string) (*rules.Edition, error) {
	now, err := s.ready()
	if err != nil {
		return nil, err
	}
	if id == "" {
		return now.live.Edition, nil
	}
	if kept, err := now.pinned(id); err == nil {
		return kept.Edition, nil
	}
	_, files, err := s.files(ctx, id)
	if err != nil {
		return nil, err
	}
	return readRevision(now.live.Edition, id, files)
}

// files are those of an edition by its revision, whether or not this program can read it; "" is what is live. Errors: those of
// ready and of sqlstore.Store.Files, *unknownRevision.
func (s *Server) files(ctx context.Context, id string) (revision string, files []authored.File, err error) {
	now, err := s.ready()
	if err != nil {
		return "", nil, err
	}
	if id == "" {
		return now.live.Revision, now.live.Files(), nil
	}
	if kept, err := now.pinned(id); err == nil {
		return id, kept.Files(), nil
	}
	if s.config.Store == nil {
		return "", nil, &unknownRevision{id}
	}
	files, err = s.config.Store.Files(ctx, id)
	if errors.Is(err, sqlstore.ErrUnknownRevision) {
		return "", nil, &unknownRevision{id}
	}
	return id, files, ofStore(err)
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
		e, err = rules.Read(files)
	}
	switch {
	case err != nil:
		return nil, &unreadable{id, err}
	case e.Revision != id:
		return nil, &unreadable{id, fmt.Errorf("its files have the digest %s", e.Revision)}
	}
	return e, nil
}
