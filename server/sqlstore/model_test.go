package sqlstore

import (
	"errors"
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// model is what the store should be: a list of events, searched from its end.
type model struct {
	events   []event
	requests map[string]answer
	now      time.Time
}

type answer struct {
	call, digest string
	number       int64 // of the last event
}

var revisions = []string{"a", "A", "b", "c"}

func (m *model) add(e event) int64 {
	e.Number, e.At = int64(len(m.events)+1), m.now
	m.events = append(m.events, e)
	return e.Number
}

func (m *model) withdrawal(revision string) *Withdrawal {
	for _, e := range m.events {
		if e.kind == "withdraw" && e.Revision == revision {
			return &Withdrawal{Number: e.Number, Author: e.Author, Note: e.Note, At: e.At}
		}
	}
	return nil
}

// publications are newest first, as they look now.
func (m *model) publications() (list []Publication) {
	for _, e := range slices.Backward(m.events) {
		if e.kind != "withdraw" {
			e.Withdrawn = m.withdrawal(e.Revision)
			list = append(list, e.Publication)
		}
	}
	return list
}

func (m *model) liveAt(number int64) Publication {
	for _, p := range m.publications() {
		if p.Number <= number {
			return p
		}
	}
	return Publication{}
}

func (m *model) latest(revision string) int64 {
	for _, p := range m.publications() {
		if p.Revision == revision {
			return p.Number
		}
	}
	return 0
}

func (m *model) since(base string) (list []Publication) {
	for _, p := range m.publications() {
		if p.Revision == base {
			break
		}
		list = append(list, p)
	}
	return list
}

// once answers a request that was sent before as the first time.
func (m *model) once(call, id, digest string, do func() (int64, error)) (Publication, bool, error) {
	first, known := m.requests[id]
	if known && (first.call != call || first.digest != digest) {
		return Publication{}, false, ErrRequestReused
	}
	if !known {
		number, err := do()
		if err != nil {
			return Publication{}, false, err
		}
		first = answer{call, digest, number}
		m.requests[id] = first
	}
	return m.liveAt(first.number), known, nil
}

func (m *model) publish(p Publish) (int64, error) {
	live := m.liveAt(int64(len(m.events)))
	w, earlier := m.withdrawal(p.Revision), m.latest(p.Revision)
	switch {
	case w != nil:
		return 0, &Withdrawn{p.Revision, *w}
	case live.Revision != p.Base:
		return 0, &Stale{Base: p.Base, Live: live, Since: m.since(p.Base)}
	case live.Revision == p.Revision:
		return 0, ErrUnchanged
	case p.Restore && earlier == 0:
		return 0, ErrUnknownRevision
	}
	e := event{"publish", Publication{Revision: p.Revision, Base: p.Base, Author: p.Author, Note: p.Note, PreviewDigest: p.PreviewDigest,
		ReviewedBy: p.ReviewedBy}}
	if p.Restore {
		e.kind, e.RestoredFrom = "restore", earlier
	}
	return m.add(e), nil
}

func (m *model) withdraw(w Withdraw) (int64, error) {
	live := m.liveAt(int64(len(m.events)))
	before := m.withdrawal(w.Revision)
	switch {
	case m.latest(w.Revision) == 0:
		return 0, ErrUnknownRevision
	case before != nil:
		return 0, &Withdrawn{w.Revision, *before}
	case live.Revision != w.Base:
		return 0, &Stale{Base: w.Base, Live: live, Since: m.since(w.Base)}
	}
	out := event{"withdraw", Publication{Revision: w.Revision, Base: w.Base, Author: w.Author, Note: w.Note}}
	if live.Revision != w.Revision {
		return m.add(out), nil
	}
	for _, p := range m.publications() {
		if p.Withdrawn == nil && p.Revision != w.Revision {
			m.add(out)
			return m.add(event{"restore", Publication{Revision: p.Revision, Base: w.Revision, RestoredFrom: p.Number, Author: w.Author, Note: w.Note,
				ReviewedBy: p.ReviewedBy}}), nil
		}
	}
	return 0, ErrNothingLeft
}

// sameError wants the same kind of error with the same content.
func sameError(t require.TestingT, want, got error) {
	var stale, wantStale *Stale
	var withdrawn, wantWithdrawn *Withdrawn
	switch {
	case want == nil:
		require.NoError(t, got)
	case errors.As(want, &wantStale):
		require.ErrorAs(t, got, &stale)
		require.Equal(t, wantStale, stale)
	case errors.As(want, &wantWithdrawn):
		require.ErrorAs(t, got, &withdrawn)
		require.Equal(t, wantWithdrawn, withdrawn)
	default:
		require.ErrorIs(t, got, want)
	}
}

func TestStoreIsItsModel(t *testing.T) {
	onEach(t, func(t *testing.T, empty func() string) {
		ctx, target, m := t.Context(), empty(), &model{}
		open := func() *Store {
			s, err := Open(ctx, Config{URL: target, Now: func() time.Time { return m.now }})
			require.NoError(t, err)
			s.turn = 0 // its clock stands still
			return s
		}
		s := open()
		defer func() { s.Close() }()
		rapid.Check(t, func(rt *rapid.T) {
			forgetAll(t, s)
			*m = model{requests: map[string]answer{}, now: time.Date(2026, 12, 31, 23, 0, 0, 0, time.UTC)}
			// Ids are few, so that requests meet; a digest says everything that is asked, as it must.
			base := func() string {
				if rapid.IntRange(0, 3).Draw(rt, "on another base") > 0 {
					return m.liveAt(int64(len(m.events))).Revision
				}
				return rapid.SampledFrom(append(revisions, "")).Draw(rt, "base")
			}
			id := func() string { return fmt.Sprint(rapid.IntRange(0, 40).Draw(rt, "request")) }
			word := rapid.SampledFrom([]string{"x", "", "y"})
			rt.Repeat(map[string]func(*rapid.T){
				"publish": func(rt *rapid.T) {
					p := Publish{Base: base(), Revision: rapid.SampledFrom(revisions).Draw(rt, "revision"), Restore: rapid.Bool().Draw(rt, "restore"),
						Author: "ana", Note: word.Draw(rt, "note"), RequestID: id(), PreviewDigest: word.Draw(rt, "preview"),
						ReviewedBy: word.Draw(rt, "reviewer")}
					if !p.Restore {
						p.Files = filesFor(p.Revision)
					}
					p.RequestDigest = fmt.Sprintf("%q", []any{p.Base, p.Revision, p.Restore, p.Note})
					for range 1 + rapid.IntRange(0, 1).Draw(rt, "again") {
						want, wantRepeat, wantErr := m.once("publish", p.RequestID, p.RequestDigest, func() (int64, error) { return m.publish(p) })
						got, repeat, err := s.Publish(ctx, p)
						sameError(rt, wantErr, err)
						require.Equal(rt, want, got)
						require.Equal(rt, wantRepeat, repeat)
					}
				},
				"withdraw": func(rt *rapid.T) {
					w := Withdraw{Base: base(), Revision: rapid.SampledFrom(revisions).Draw(rt, "revision"), Author: "cleo", Note: word.Draw(rt, "note"),
						RequestID: id()}
					w.RequestDigest = fmt.Sprintf("%q", []any{w.Base, w.Revision, w.Note})
					for range 1 + rapid.IntRange(0, 1).Draw(rt, "again") {
						want, wantRepeat, wantErr := m.once("withdraw", w.RequestID, w.RequestDigest, func() (int64, error) { return m.withdraw(w) })
						got, repeat, err := s.Withdraw(ctx, w)
						sameError(rt, wantErr, err)
						require.Equal(rt, want, got)
						require.Equal(rt, wantRepeat, repeat)
					}
				},
				"a day passes": func(*rapid.T) { m.now = m.now.AddDate(0, 0, 1) },
				"open again": func(rt *rapid.T) {
					if rapid.IntRange(0, 9).Draw(rt, "now") == 0 {
						require.NoError(rt, s.Close())
						s = open()
					}
				},
				"": func(rt *rapid.T) { same(t, rt, m, s) },
			})
		})
	})
}

// forgetAll makes a store empty, sooner than a new one would be made.
func forgetAll(t *testing.T, s *Store) {
	for _, statement := range []string{"delete from request", "delete from event", "delete from edition_file", "delete from edition",
		"delete from file", "update head set number = 0"} {
		_, err := s.db.Exec(statement)
		require.NoError(t, err)
	}
}

// same compares all that can be read.
func same(t *testing.T, rt *rapid.T, m *model, s *Store) {
	ctx := t.Context()
	head, err := s.Head(ctx)
	require.NoError(rt, err)
	require.EqualValues(rt, len(m.events), head)
	all := m.publications()
	live, err := s.Live(ctx)
	if len(all) == 0 {
		require.ErrorIs(rt, err, ErrEmpty)
		return
	}
	require.NoError(rt, err)
	require.Equal(rt, all[0], live)
	require.Nil(rt, live.Withdrawn)
	history, err := s.History(ctx, 0, len(all))
	require.NoError(rt, err)
	require.Equal(rt, all, history)
	from := rand.IntN(len(all))
	history, err = s.History(ctx, all[from].Number, 2)
	require.NoError(rt, err)
	require.ElementsMatch(rt, all[from+1:min(from+3, len(all))], history)

	var served []string
	for _, p := range all {
		if p.Withdrawn == nil && !slices.Contains(served, p.Revision) {
			served = append(served, p.Revision)
		}
	}
	got, err := s.Published(ctx)
	require.NoError(rt, err)
	require.Equal(rt, served, got)
	for _, revision := range revisions {
		p, err := s.Publication(ctx, revision)
		files, filesErr := s.Files(ctx, revision)
		if number := m.latest(revision); number == 0 {
			require.ErrorIs(rt, err, ErrUnknownRevision)
			require.ErrorIs(rt, filesErr, ErrUnknownRevision)
		} else {
			require.NoError(rt, err)
			require.Equal(rt, number, p.Number)
			require.NoError(rt, filesErr)
			sameFiles(t, filesFor(revision), files)
		}
	}
}
