package server

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"

	"drillwright/catalog/authored"
	v1 "drillwright/proto/drillwright/v1"
	"drillwright/rules"
	"drillwright/server/sqlstore"
)

// StoreUpgrade is what is live in a store, of an older format, and what takes its place. No server runs on it: one that is
// started refuses to serve, and one that runs goes on with what it has.
type StoreUpgrade struct {
	Live sqlstore.Publication
	// Old is what is live, with all that it lacks.
	Old *rules.OldFormat
	// Next is what would go live; nil while somebody must decide.
	Next *rules.Edition
	// Parts that Next writes otherwise than what is live.
	Parts []*v1.PartChange
	// Failed are those of its Cases that fail. While one does, it can't be published.
	Failed []*v1.FailedCase
	Cases  int32
	// Digest is what publishing wants, so that nobody publishes what they haven't seen.
	Digest string
}

// ErrNothingToUpgrade says that what is live is of the format that this program reads.
var ErrNothingToUpgrade = errors.New("nothing to upgrade")

// PlanUpgrade works out what the live edition of a store becomes. decided are the files of what is to take its place, where
// somebody has decided what can't be derived; else nil. Errors: ErrNothingToUpgrade, authored.Problems of the decided files and of
// what is live where that is of a newer format, and those of the store.
func PlanUpgrade(ctx context.Context, store *sqlstore.Store, decided []authored.File) (*StoreUpgrade, error) {
	live, err := store.Live(ctx)
	if err != nil {
		return nil, err
	}
	files, err := store.Files(ctx, live.Revision)
	if err != nil {
		return nil, err
	}
	first, err := store.First(ctx)
	if err != nil {
		return nil, err
	}
	came, err := store.Files(ctx, first.Revision)
	if err != nil {
		return nil, err
	}
	u := &StoreUpgrade{Live: live}
	if u.Old, err = rules.Upgrade(files, came); err != nil {
		return nil, err
	}
	if u.Old == nil {
		return nil, fmt.Errorf("%w: revision %q is live, and of format %d already", ErrNothingToUpgrade, live.Revision, rules.Format)
	}
	u.Next = u.Old.Edition
	if decided != nil {
		if u.Next, err = rules.Read(decided); err != nil {
			return nil, err
		}
	}
	if u.Next == nil {
		return u, nil
	}
	u.Parts = each(rules.CompareFiles(files, u.Next.Files()), partChangeTo)
	sum := sha256.Sum256(fmt.Appendf(nil, "upgrade %q to %q with engine %s", live.Revision, u.Next.Revision, rules.EngineVersion))
	u.Digest = hex.EncodeToString(sum[:16])
	u.Failed, u.Cases, err = failing(ctx, u.Next)
	return u, err
}

// Signed says who upgrades, and what they have seen.
type Signed struct {
	Base, Digest string // what was live, and the digest of its upgrade
	Author, Note string
	RequestID    string
}

// Publish makes it live. Errors: a refusal in words, and those of sqlstore.Store.Publish.
func (u *StoreUpgrade) Publish(ctx context.Context, store *sqlstore.Store, by Signed) (*v1.Revision, error) {
	if err := store.OnBase(ctx, by.Base, by.Author); err != nil {
		return nil, err
	}
	_, left := u.Old.Counts()
	switch {
	case u.Next == nil:
		return nil, fmt.Errorf("somebody must decide %d things first", left)
	case len(u.Failed) > 0:
		return nil, fmt.Errorf("%d of %d cases fail, the first is %q", len(u.Failed), u.Cases, u.Failed[0].Case)
	case by.Digest != u.Digest:
		return nil, fmt.Errorf("the digest %s isn't that of this upgrade, which is %s; look at it first", by.Digest, u.Digest)
	}
	if err := agrees(ctx, u.Next, nil); err != nil {
		return nil, err
	}
	published, _, err := store.Publish(ctx, sqlstore.Publish{Base: by.Base, Revision: u.Next.Revision, Files: u.Next.Files(),
		UpgradedFrom: u.Old.Format, Author: by.Author, Note: by.Note, RequestID: by.RequestID, RequestDigest: u.Digest,
		PreviewDigest: u.Digest, ReviewedBy: u.Next.Book.ReviewedBy()})
	if err != nil {
		return nil, err
	}
	return revisionTo(published), nil
}
