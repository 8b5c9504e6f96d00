package sqlstore

import (
	"cmp"
	"context"
	"database/sql"
	"errors"
	"fmt"
	"math"
	"slices"
	"time"

	"drillwright/catalog/authored"
)

// Publish asks for a revision to go live.
type Publish struct {
	// Base is the revision that the author believes is live; empty when nothing is.
	Base     string
	Revision string // required
	// Files are the edition, in order; required, except with Restore.
	Files []authored.File
	// Restore goes back to a revision that was published before. It takes no Files.
	Restore bool
	// UpgradedFrom is the format of the base, where the files are what an upgrade has made of it; else 0.
	UpgradedFrom int
	Author       string // required
	Note         string
	// RequestID is the caller's own for this request, the same when it is sent again; RequestDigest is the digest of what is asked.
	RequestID, RequestDigest string // required
	PreviewDigest            string
	ReviewedBy               string
}

func (p *Publish) check() error {
	var wrong Invalid
	wrong.required("revision", p.Revision)
	wrong.required("author", p.Author)
	wrong.required("request_id", p.RequestID)
	wrong.required("request_digest", p.RequestDigest)
	wrong.text("base", p.Base)
	wrong.text("note", p.Note)
	wrong.text("preview_digest", p.PreviewDigest)
	wrong.text("reviewed_by", p.ReviewedBy)
	if p.Restore && len(p.Files) > 0 {
		wrong = append(wrong, "files must be left out: a restore takes those of the revision")
	}
	if !p.Restore && len(p.Files) == 0 {
		wrong = append(wrong, "files are missing")
	}
	for i, f := range p.Files {
		wrong.required(fmt.Sprintf("files[%d].name", i), f.Name)
	}
	return wrong.err()
}

// Publish makes a revision live, or makes it live again. With a request that was answered before it does nothing, returns that
// answer and repeat is true, whatever happened since.
//
// Errors: Invalid; ErrRequestReused; *Withdrawn; *Stale when the base isn't live; ErrUnchanged; ErrUnknownRevision for a
// restore of what was never published. After an error nothing has happened, save that after one of the connection or the context the
// event may be there: send the same request again.
func (s *Store) Publish(ctx context.Context, p Publish) (published Publication, repeat bool, err error) {
	err = p.check()
	if err == nil && !p.Restore {
		err = s.awaitTurn(ctx, p.Author)
	}
	if err == nil {
		published, repeat, err = s.once(ctx, request{call: "publish", id: p.RequestID, digest: p.RequestDigest}, func(tx *sql.Tx) (int64, error) {
			return s.publish(ctx, tx, p)
		})
	}
	if err != nil {
		s.giveTurn(ctx, p.Author, err)
		return Publication{}, false, fmt.Errorf("publish %q: %w", p.Revision, err)
	}
	return published, repeat, nil
}

// publish adds the event and returns its number.
func (s *Store) publish(ctx context.Context, tx *sql.Tx, p Publish) (int64, error) {
	if w, err := withdrawalOf(ctx, tx, p.Revision); err != nil {
		return 0, err
	} else if w != nil {
		return 0, &Withdrawn{p.Revision, *w}
	}
	if err := onBase(ctx, tx, p.Base); err != nil {
		return 0, err
	}
	if p.Revision == p.Base {
		return 0, ErrUnchanged
	}
	e := event{kind: "publish", Publication: Publication{Revision: p.Revision, Base: p.Base, Author: p.Author, Note: p.Note,
		PreviewDigest: p.PreviewDigest, ReviewedBy: p.ReviewedBy, UpgradedFrom: p.UpgradedFrom}}
	if p.Restore {
		earlier, err := latestOf(ctx, tx, p.Revision)
		if err != nil {
			return 0, err
		}
		e.kind, e.RestoredFrom = "restore", earlier.Number
	} else if err := keepFiles(ctx, tx, p.Revision, p.Files); err != nil {
		return 0, err
	}
	return s.add(ctx, tx, e)
}

// onBase is *Stale unless base is what is live.
func onBase(ctx context.Context, tx reader, base string) error {
	live, err := liveAt(ctx, tx, math.MaxInt64)
	if err != nil && !errors.Is(err, ErrEmpty) {
		return err
	}
	if live.Revision == base {
		return nil
	}
	since, err := publications(ctx, tx, `and e.number > (select coalesce(max(number), 0) from event where revision = $1 and kind <> 'withdraw')
		order by e.number desc limit 100`, base)
	if err != nil {
		return err
	}
	return &Stale{Base: base, Live: live, Since: since}
}

// keepFiles stores the files of a revision, and each content once.
func keepFiles(ctx context.Context, tx *sql.Tx, revision string, files []authored.File) error {
	kept, err := filesOf(ctx, tx, revision)
	if err != nil {
		return err
	}
	if kept != nil {
		if !slices.EqualFunc(byName(kept), byName(files), func(a, b authored.File) bool {
			return a.Name == b.Name &&
				string(a.Data) == string(b.Data)
		}) {
			return errors.New("the revision is kept with other files: it is no digest of these")
		}
		return nil
	}
	if _, err := tx.ExecContext(ctx, `insert into edition (revision) values ($1)`, revision); err != nil {
		return err
	}
	for index, f := range files {
		digest, data := digestOf(f.Data), f.Data
		if data == nil {
			data = []byte{} // nil would be null
		}
		if _, err := tx.ExecContext(ctx, `insert into file (digest, data) values ($1, $2) on conflict do nothing`, digest, data); err != nil {
			return fmt.Errorf("keep %q: %w", f.Name, err)
		}
		if _, err := tx.ExecContext(ctx, `insert into edition_file (revision, place, name, digest) values ($1, $2, $3, $4)`, revision, index,
			f.Name, digest); err != nil {
			return fmt.Errorf("keep %q: %w", f.Name, err)
		}
	}
	return nil
}

// byName sorts a copy: a revision doesn't depend on the order of the files.
func byName(files []authored.File) []authored.File {
	return slices.SortedStableFunc(slices.Values(files), func(a, b authored.File) int { return cmp.Compare(a.Name, b.Name) })
}

// event is a publication or a withdrawal to be added.
type event struct {
	kind string // publish, restore or withdraw
	Publication
}

// add writes an event under the next number, dated now.
func (s *Store) add(ctx context.Context, tx *sql.Tx, e event) (int64, error) {
	var number int64
	if err := tx.QueryRowContext(ctx, `update head set number = number + 1 returning number`).Scan(&number); err != nil {
		return 0, err
	}
	_, err := tx.ExecContext(ctx, `insert into event (number, kind, revision, base, restored_from, upgraded_from, author, note, at, preview_digest, reviewed_by)
		values ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11)`, number, e.kind, e.Revision, e.Base, e.RestoredFrom, e.UpgradedFrom, e.Author, e.Note,
		s.now().UTC().Truncate(time.Microsecond).Format(time.RFC3339Nano), e.PreviewDigest, e.ReviewedBy)
	return number, err
}
