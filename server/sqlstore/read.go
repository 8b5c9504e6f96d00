package sqlstore

import (
	"context"
	"crypto/sha256"
	"database/sql"
	"encoding/hex"
	"errors"
	"fmt"
	"math"
	"time"

	"drillwright/catalog/authored"
)

// Publication is one time that a revision went live.
type Publication struct {
	Number   int64 // of its event: later ones are higher
	Revision string
	Base     string // what was live before; empty for the first
	// RestoredFrom is the number of the earlier publication that this one goes back to; 0 when it isn't a restore.
	RestoredFrom int64
	// UpgradedFrom is the format of the edition that was live before, which this one was made from; 0 when it upgrades none.
	UpgradedFrom  int
	Author        string
	Note          string
	At            time.Time // UTC
	PreviewDigest string    // of the preview that the author saw; empty when there was none
	ReviewedBy    string    // the licensed reviewer whom the edition names; empty for nobody
	// Withdrawn is the withdrawal of the revision, whenever it was; nil while it may be served.
	Withdrawn *Withdrawal
}

// Withdrawal is the end of a revision.
type Withdrawal struct {
	Number int64
	Author string
	Note   string
	At     time.Time // UTC
}

// Head is the number of the last event, 0 when there is none. It reads one row.
func (s *Store) Head(ctx context.Context) (int64, error) {
	var number int64
	if err := s.db.QueryRowContext(ctx, `select number from head`).Scan(&number); err != nil {
		return 0, fmt.Errorf("read the head: %w", err)
	}
	return number, nil
}

// Live is what is live; it is never withdrawn. Errors: ErrEmpty.
func (s *Store) Live(ctx context.Context) (Publication, error) {
	live, err := liveAt(ctx, s.db, math.MaxInt64)
	if err != nil {
		return Publication{}, fmt.Errorf("read what is live: %w", err)
	}
	return live, nil
}

// Publication is the latest publication of a revision. Errors: ErrUnknownRevision.
func (s *Store) Publication(ctx context.Context, revision string) (Publication, error) {
	p, err := latestOf(ctx, s.db, revision)
	if err != nil {
		return Publication{}, fmt.Errorf("read %q: %w", revision, err)
	}
	return p, nil
}

// First is the first publication: of what came with the program that began the store. Errors: ErrEmpty.
func (s *Store) First(ctx context.Context) (Publication, error) {
	first, err := onePublication(ctx, s.db, ErrEmpty, `order by e.number limit 1`)
	if err != nil {
		return Publication{}, fmt.Errorf("read the first publication: %w", err)
	}
	return first, nil
}

// History is up to limit publications with numbers below before, newest first; from the newest on when before is 0. Errors:
// Invalid when limit isn't positive.
func (s *Store) History(ctx context.Context, before int64, limit int) ([]Publication, error) {
	if limit < 1 {
		return nil, Invalid{fmt.Sprintf("limit is %d; it must be 1 or more", limit)}
	}
	if before == 0 {
		before = math.MaxInt64
	}
	list, err := publications(ctx, s.db, `and e.number < $1 order by e.number desc limit $2`, before, limit)
	if err != nil {
		return nil, fmt.Errorf("read the history: %w", err)
	}
	return list, nil
}

// Published are the revisions that may be served, those that were live last first.
func (s *Store) Published(ctx context.Context) ([]string, error) {
	var list []string
	err := each(ctx, s.db, func(scan func(...any) error) error {
		var revision string
		err := scan(&revision)
		list = append(list, revision)
		return err
	}, `select revision from event group by revision having max(case kind when 'withdraw' then 1 else 0 end) = 0 order by max(number) desc`)
	if err != nil {
		return nil, fmt.Errorf("read the revisions: %w", err)
	}
	return list, nil
}

// Files are the files of a revision in the order in which they were published, each checked against its digest; also those of a
// withdrawn one, which may be looked at and not served. Errors: ErrUnknownRevision, *Damaged.
func (s *Store) Files(ctx context.Context, revision string) ([]authored.File, error) {
	files, err := filesOf(ctx, s.db, revision)
	switch {
	case err == nil && files == nil:
		err = ErrUnknownRevision
	case err != nil && FaultOf(err) == Corrupt:
		err = &Damaged{revision, "its files are damaged: " + err.Error()}
	}
	if err != nil {
		return nil, fmt.Errorf("read the files of %q: %w", revision, err)
	}
	return files, nil
}

// filesOf are none for a revision that isn't kept.
func filesOf(ctx context.Context, r reader, revision string) ([]authored.File, error) {
	var files []authored.File
	err := each(ctx, r, func(scan func(...any) error) error {
		var f authored.File
		var digest string
		if err := scan(&f.Name, &digest, &f.Data); err != nil {
			return err
		}
		if digestOf(f.Data) != digest {
			return &Damaged{revision, fmt.Sprintf("%q is damaged: its digest isn't %s", f.Name, digest)}
		}
		files = append(files, f)
		return nil
	}, `select ef.name, ef.digest, f.data from edition_file ef join file f on f.digest = ef.digest where ef.revision = $1 order by ef.place`, revision)
	return files, err
}

func digestOf(data []byte) string {
	sum := sha256.Sum256(data)
	return hex.EncodeToString(sum[:])
}

// liveAt is what was live when number was the last event.
func liveAt(ctx context.Context, r reader, number int64) (Publication, error) {
	return onePublication(ctx, r, ErrEmpty, `and e.number <= $1 order by e.number desc limit 1`, number)
}

func latestOf(ctx context.Context, r reader, revision string) (Publication, error) {
	return onePublication(ctx, r, ErrUnknownRevision, `and e.revision = $1 order by e.number desc limit 1`, revision)
}

func onePublication(ctx context.Context, r reader, none error, which string, args ...any) (Publication, error) {
	list, err := publications(ctx, r, which, args...)
	if err == nil && len(list) == 0 {
		err = none
	}
	if err != nil {
		return Publication{}, err
	}
	return list[0], nil
}

// publications reads the events other than withdrawals that which, a tail to the condition, asks for.
func publications(ctx context.Context, r reader, which string, args ...any) ([]Publication, error) {
	var list []Publication
	err := each(ctx, r, func(scan func(...any) error) error {
		var p Publication
		var w Withdrawal
		var at, withdrawnAt string
		err := scan(&p.Number, &p.Revision, &p.Base, &p.RestoredFrom, &p.UpgradedFrom, &p.Author, &p.Note, &at, &p.PreviewDigest, &p.ReviewedBy,
			&w.Number, &w.Author, &w.Note, &withdrawnAt)
		if err != nil {
			return err
		}
		if p.At, err = time.Parse(time.RFC3339Nano, at); err != nil {
			return err
		}
		if w.Number != 0 {
			if w.At, err = time.Parse(time.RFC3339Nano, withdrawnAt); err != nil {
				return err
			}
			p.Withdrawn = &w
		}
		list = append(list, p)
		return nil
	}, `select e.number, e.revision, e.base, e.restored_from, e.upgraded_from, e.author, e.note, e.at, e.preview_digest, e.reviewed_by,
			coalesce(w.number, 0), coalesce(w.author, ''), coalesce(w.note, ''), coalesce(w.at, '')
		from event e left join event w on w.revision = e.revision and w.kind = 'withdraw'
		where e.kind <> 'withdraw' `+which, args...)
	return list, err
}

// withdrawalOf is nil for a revision that wasn't withdrawn.
func withdrawalOf(ctx context.Context, r reader, revision string) (*Withdrawal, error) {
	var w Withdrawal
	var at string
	err := r.QueryRowContext(ctx, `select number, author, note, at from event where revision = $1 and kind = 'withdraw'`, revision).
		Scan(&w.Number, &w.Author, &w.Note, &at)
	if errors.Is(err, sql.ErrNoRows) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	w.At, err = time.Parse(time.RFC3339Nano, at)
	return &w, err
}

// each gives every row of a query to do.
func each(ctx context.Context, r reader, do func(scan func(...any) error) error, query string, args ...any) error {
	rows, err := r.QueryContext(ctx, query, args...)
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		if err := do(rows.Scan); err != nil {
			return err
		}
	}
	return rows.Err()
}
