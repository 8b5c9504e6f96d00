package server

import (
	"cmp"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"

	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/timestamppb"

	v1 "drillwright/proto/drillwright/v1"
	"drillwright/rules"
	"drillwright/rules/client"
	"drillwright/rules/selection"
	"drillwright/server/sqlstore"
)

var errNoStore = &refusal{"NO_STORE", "", "this server has no store of editions; start it with serve --store"}

func missing(field, suggestion string) error {
	return client.NewInvalid([]client.Violation{{Field: field, Message: "it is missing", Suggestion: suggestion}})
}

// publishing is an edition on its way to going live: a draft, or an earlier revision.
type publishing struct {
	request  publication
	base     string                                      // what the author believes is live
	editions func() (base, next editionFiles, err error) // next is left out for the draft of the request
	as       sqlstore.Publish
}

// publication is a request that makes something live.
type publication interface {
	proto.Message
	GetPreviewDigest() string // of what the author has seen
	GetSamples() *v1.Samples
	GetAcceptChurn() bool
	GetValidateOnly() bool
}

// publish goes through all that a publication must pass, in the order in which an author can do something about it, and
// makes it live. The same request again gives the first answer.
func (s *Server) publish(ctx context.Context, p publishing) (*v1.Revision, error) {
	store := s.config.Store
	if store == nil {
		return nil, errNoStore
	}
	p.as.RequestDigest = requestDigest(p.request)
	if !p.request.GetValidateOnly() {
		first, again, err := store.Answered(ctx, p.as.RequestID, p.as.RequestDigest)
		if err != nil {
			return nil, ofStore(err)
		}
		if again {
			s.catchUp(ctx, first)
			return s.publicationTo(first), nil
		}
	}
	if err := s.follower.poll(ctx); err != nil {
		return nil, err // what is live must be known before anything is held against it
	}
	if err := store.OnBase(ctx, p.base, p.as.Author); err != nil {
		return nil, ofStore(err)
	}
	t := task{request: p.request, review: reviewer(ctx)}
	var err error
	if t.base, t.next, err = p.editions(); err != nil {
		return nil, err
	}
	seen, err := done[*v1.Previewed](ctx, s, t)
	if err != nil {
		return nil, err
	}
	if p.request.GetValidateOnly() {
		return &v1.Revision{Revision: seen.DraftRevision, BaseRevision: seen.BaseRevision}, nil
	}
	next, err := s.compiledAs(seen.DraftRevision, t)
	if err != nil {
		return nil, err
	}
	p.as.Base, p.as.Revision = seen.BaseRevision, next.Revision
	if !p.as.Restore {
		p.as.Files = next.Files()
	}
	p.as.PreviewDigest, p.as.ReviewedBy = seen.Digest, next.Book.ReviewedBy()
	published, _, err := store.Publish(ctx, p.as)
	s.follower.wrote(ctx, err)
	if err != nil {
		return nil, ofStore(err)
	}
	s.follower.hand(next)
	s.catchUp(ctx, published)
	return s.publicationTo(published), nil
}

// catchUp follows the store to what was just done. Done it is; what can't be adopted now, the next poll adopts.
func (s *Server) catchUp(ctx context.Context, done sqlstore.Publication) {
	if err := s.follower.poll(ctx); err != nil {
		s.config.Log.ErrorContext(ctx, "adopt", "revision", done.Revision, "error", err.Error())
	}
}

// compiledAs compiles, for this server to serve it, what passed as a revision.
func (s *Server) compiledAs(revision string, t task) (*rules.Edition, error) {
	base, err := s.compiled(t.base)
	if err != nil {
		return nil, err
	}
	next, err := t.compile(base, s.compiled)
	if err == nil && next.Revision != revision {
		err = fmt.Errorf("what passed as revision %q is %q here", revision, next.Revision)
	}
	return next, err
}

// publishable is the preview of what may go live: it changes something, passes, and the compiled rules agree with the reference.
func publishable(ctx context.Context, base, next *rules.Edition, p publication) (*v1.Previewed, error) {
	if next.Revision == base.Revision {
		return nil, refused("NOTHING_CHANGES", next.Revision, "the draft is the same, byte for byte, as what is live")
	}
	seen, err := preview(ctx, base, next, p.GetSamples())
	if err != nil {
		return nil, err
	}
	if err := passes(p, seen); err != nil {
		return nil, err
	}
	return seen, agrees(ctx, next, p.GetSamples())
}

// passes holds a publication against its preview.
func passes(p publication, seen *v1.Previewed) error {
	switch {
	case len(seen.FailedCases) > 0:
		return refused("CASES_FAIL", seen.FailedCases[0].Case, "%d of %d cases fail, the first is %q; run book cases", len(seen.FailedCases),
			seen.Cases, seen.FailedCases[0].Case)
	case seen.Digest != p.GetPreviewDigest():
		return refused("NOT_PREVIEWED", p.GetPreviewDigest(),
			"preview_digest isn't that of this draft over these samples, which is %s; look at the preview first", seen.Digest)
	case seen.Churn.AboveBudget && !p.GetAcceptChurn():
		return refused("CHURN_ABOVE_BUDGET", seen.DraftRevision,
			"%d of %d answers change their verdicts or first pick, above the budget of %v %%; accept_churn says that this is meant",
			seen.Churn.AnswersChanged, seen.Churn.Answers, seen.Churn.GetBudgetPercent())
	}
	return nil
}

// requestDigest tells requests apart.
func requestDigest(m proto.Message) string {
	data, err := proto.MarshalOptions{Deterministic: true}.Marshal(m)
	if err != nil {
		panic(fmt.Sprintf("encode a request that was decoded: %v", err))
	}
	sum := sha256.Sum256(data)
	return hex.EncodeToString(sum[:16])
}

// publicationTo converts a publication. Whether it is live is told by what this server serves.
func (s *Server) publicationTo(p sqlstore.Publication) *v1.Revision {
	r := revisionTo(p)
	if s.follower != nil {
		r.Live, r.Unreadable = p.Number == s.follower.liveNumber(), s.follower.whyUnreadable(p.Revision)
	}
	return r
}

// revisionTo is publicationTo where no server runs.
func revisionTo(p sqlstore.Publication) *v1.Revision {
	r := &v1.Revision{Revision: p.Revision, Number: p.Number, BaseRevision: p.Base, RestoredFrom: p.RestoredFrom, Author: p.Author,
		Note: p.Note, PublishedAt: timestamppb.New(p.At), ReviewedBy: p.ReviewedBy, UpgradedFromFormat: int32(p.UpgradedFrom)}
	if w := p.Withdrawn; w != nil {
		r.Withdrawn = &v1.Withdrawal{Author: w.Author, Note: w.Note, WithdrawnAt: timestamppb.New(w.At)}
	}
	return r
}

// agrees holds the compiled draft against the reference for every sample client that it can be asked about. The error is of
// the first that differs.
func agrees(ctx context.Context, next *rules.Edition, samples *v1.Samples) error {
	list, err := samplesFrom(next.Frame, next.Frame, samples)
	if err != nil {
		return err
	}
	plain := next.ByReference()
	for _, sample := range list {
		if err := cmp.Or(ctx.Err(), disagrees(next, plain, sample)); err != nil {
			return err
		}
	}
	return nil
}

func disagrees(next, plain *rules.Edition, sample selection.Sample) error {
	if client.Check(next.Frame, sample.Request) != nil {
		return nil
	}
	facts := client.Derive(next.Frame, sample.Request)
	defer facts.Done()
	if err := next.Disagreement(plain, facts); err != nil {
		return fmt.Errorf("sample client %q: %w", sample.Name, err)
	}
	return nil
}
