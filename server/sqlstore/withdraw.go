package sqlstore

import (
	"context"
	"database/sql"
	"fmt"
)

// Withdraw asks that a revision is never live again.
type Withdraw struct {
	// Base is the revision that the author believes is live, which may be the one to withdraw.
	Base     string
	Revision string // required
	Author   string // required
	Note     string
	// RequestID and RequestDigest are as in Publish, which shares the ids.
	RequestID, RequestDigest string // required
}

func (w *Withdraw) check() error {
	var wrong Invalid
	wrong.required("revision", w.Revision)
	wrong.required("author", w.Author)
	wrong.required("request_id", w.RequestID)
	wrong.required("request_digest", w.RequestDigest)
	wrong.text("base", w.Base)
	wrong.text("note", w.Note)
	return wrong.err()
}

// Withdraw takes a revision out for good and returns what is live after that. When it was live, the last one published before it
// that isn't withdrawn is restored at the same moment, with the same author and note. With a request that was answered before it
// does nothing, returns that answer and repeat is true.
//
// Errors: Invalid; ErrRequestReused; ErrUnknownRevision; *Withdrawn when it is already; *Stale when the base isn't live;
// ErrNothingLeft when it is live and no other could be. After an error nothing has happened, save as Publish says.
func (s *Store) Withdraw(ctx context.Context, w Withdraw) (live Publication, repeat bool, err error) {
	err = w.check()
	if err == nil {
		live, repeat, err = s.once(ctx, request{call: "withdraw", id: w.RequestID, digest: w.RequestDigest}, func(tx *sql.Tx) (int64, error) {
			return s.withdraw(ctx, tx, w)
		})
	}
	if err != nil {
		return Publication{}, false, fmt.Errorf("withdraw %q: %w", w.Revision, err)
	}
	return live, repeat, nil
}

// withdraw adds the events and returns the number of the last.
func (s *Store) withdraw(ctx context.Context, tx *sql.Tx, w Withdraw) (int64, error) {
	if _, err := latestOf(ctx, tx, w.Revision); err != nil {
		return 0, err
	}
	if earlier, err := withdrawalOf(ctx, tx, w.Revision); err != nil {
		return 0, err
	} else if earlier != nil {
		return 0, &Withdrawn{w.Revision, *earlier}
	}
	if err := onBase(ctx, tx, w.Base); err != nil {
		return 0, err
	}
	number, err := s.add(ctx, tx, event{kind: "withdraw", Publication: Publication{Revision: w.Revision, Base: w.Base, Author: w.Author,
		Note: w.Note}})
	if err != nil || w.Revision != w.Base {
		return number, err
	}
	left, err := onePublication(ctx, tx, ErrNothingLeft, `and w.number is null order by e.number desc limit 1`)
	if err != nil {
		return 0, err
	}
	return s.add(ctx, tx, event{kind: "restore", Publication: Publication{Revision: left.Revision, Base: w.Revision, RestoredFrom: left.Number,
		Author: w.Author, Note: w.Note, ReviewedBy: left.ReviewedBy}})
}
