package sqlstore

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"slices"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"drillwright/catalog"
	"drillwright/catalog/authored"
	"drillwright/server/internal/postgres"
)

func TestEmpty(t *testing.T) {
	onEach(t, func(t *testing.T, empty func() string) {
		s, ctx := opened(t, empty()), within(t)
		head, err := s.Head(ctx)
		require.NoError(t, err)
		assert.Zero(t, head)
		_, err = s.Live(ctx)
		assert.ErrorIs(t, err, ErrEmpty)
		history, err := s.History(ctx, 0, 10)
		require.NoError(t, err)
		assert.Empty(t, history)
		revisions, err := s.Published(ctx)
		require.NoError(t, err)
		assert.Empty(t, revisions)
		_, err = s.Files(ctx, "a")
		assert.ErrorIs(t, err, ErrUnknownRevision)
		assert.ErrorIs(t, err, catalog.ErrNotFound)
		_, err = s.Publication(ctx, "a")
		assert.ErrorIs(t, err, ErrUnknownRevision)
		_, _, err = s.Withdraw(ctx, withdrawing("", "a"))
		assert.ErrorIs(t, err, ErrUnknownRevision)
		_, _, err = s.Publish(ctx, restoring("", "a"))
		assert.ErrorIs(t, err, ErrUnknownRevision)
		var stale *Stale
		_, _, err = s.Publish(ctx, asked("gone", "a"))
		require.ErrorAs(t, err, &stale)
		assert.Equal(t, &Stale{Base: "gone"}, stale)
		assert.EqualError(t, err, `publish "a": base "gone": nothing is published yet`)
	})
}

func TestPublishAndReadBack(t *testing.T) {
	onEach(t, func(t *testing.T, empty func() string) {
		target := empty()
		s, ctx := opened(t, target), within(t)
		first := published(t, s, asked("", "a"))
		assert.Equal(t, Publication{Number: 1, Revision: "a", Author: "ana", Note: "note on a",
			At: time.Date(2026, 3, 29, 6, 59, 1, 123456000, time.UTC), PreviewDigest: "seen a", ReviewedBy: "r. viewer"}, first)
		second := published(t, s, Publish{Base: "a", Revision: "b", Files: filesFor("b"), Author: "ben", RequestID: "1", RequestDigest: "1"})
		assert.Equal(t, Publication{Number: 2, Revision: "b", Base: "a", Author: "ben", At: first.At.Add(time.Second)}, second)

		for range 2 { // as it is, and opened again
			live, err := s.Live(ctx)
			require.NoError(t, err)
			assert.Equal(t, second, live)
			head, err := s.Head(ctx)
			require.NoError(t, err)
			assert.EqualValues(t, 2, head)
			history, err := s.History(ctx, 0, 10)
			require.NoError(t, err)
			assert.Equal(t, []Publication{second, first}, history)
			of, err := s.Publication(ctx, "a")
			require.NoError(t, err)
			assert.Equal(t, first, of)
			for _, revision := range []string{"a", "b"} {
				files, err := s.Files(ctx, revision)
				require.NoError(t, err)
				sameFiles(t, filesFor(revision), files)
			}
			require.NoError(t, s.Close())
			s = opened(t, target)
		}
		var contents int
		require.NoError(t, s.db.QueryRow(`select count(*) from file`).Scan(&contents))
		assert.Equal(t, 6, contents, "two of each revision, the shared one and the empty one")
	})
}

func TestAnUpgradeSaysFromWhere(t *testing.T) {
	onEach(t, func(t *testing.T, empty func() string) {
		s, ctx := opened(t, empty()), within(t)
		_, err := s.First(ctx)
		require.ErrorIs(t, err, ErrEmpty)
		first := published(t, s, asked("", "a"))
		upgrade := asked("a", "b")
		upgrade.UpgradedFrom = 1
		second := published(t, s, upgrade)
		require.Equal(t, 1, second.UpgradedFrom)
		third := published(t, s, restoring("b", "a"))
		history, err := s.History(ctx, 0, 10)
		require.NoError(t, err)
		require.Equal(t, []Publication{third, second, first}, history)
		began, err := s.First(ctx)
		require.NoError(t, err)
		require.Equal(t, first, began)
	})
}

func TestEverythingKeepsItsBytes(t *testing.T) {
	odd := []string{"A", "a", "é", "e\u0301", " a", "a ", "0012", "1e3", "null", "NULL", "x'00'", "'", `"`, `\`, "%", "a\r\nb\t", "日本",
		"\U0001F600", "$1", "?"}
	test := func(t *testing.T, target string) {
		s, ctx := opened(t, target), within(t)
		base := ""
		for _, text := range odd {
			p := Publish{Base: base, Revision: text, Author: text, Note: text, RequestID: text, RequestDigest: text, PreviewDigest: text,
				ReviewedBy: text}
			for _, name := range odd {
				p.Files = append(p.Files, authored.File{Name: name, Data: []byte(name + text)})
			}
			p.Files = append(p.Files, authored.File{Name: "bytes", Data: append(bytes.Repeat([]byte{0, 255, 13, 10}, 3), text...)},
				authored.File{Name: "empty", Data: []byte{}}, authored.File{Name: "nil"})
			got := published(t, s, p)
			assert.Equal(t, Publication{Number: got.Number, Revision: text, Base: base, Author: text, Note: text, At: got.At, PreviewDigest: text,
				ReviewedBy: text}, got)
			files, err := s.Files(ctx, text)
			require.NoError(t, err)
			sameFiles(t, p.Files, files)
			base = text
		}
		revisions, err := s.Published(ctx)
		require.NoError(t, err)
		slices.Reverse(revisions)
		assert.Equal(t, odd, revisions)
	}
	onEach(t, func(t *testing.T, empty func() string) { test(t, empty()) })
	t.Run("postgres that sorts A with a", func(t *testing.T) {
		test(t, postgres.EmptyDatabase(t, postgres.URL(t),
			"template template0 encoding 'UTF8' locale_provider icu icu_locale 'en-US-u-ks-level1'"))
	})
}

func TestStale(t *testing.T) {
	onEach(t, func(t *testing.T, empty func() string) {
		s, ctx := opened(t, empty()), within(t)
		a := published(t, s, asked("", "a"))
		b := published(t, s, asked("a", "b"))
		c := published(t, s, asked("b", "c"))
		for base, since := range map[string][]Publication{"a": {c, b}, "b": {c}, "": {c, b, a}, "never": {c, b, a}, "C": {c, b, a}} {
			for name, call := range map[string]func() error{
				"publish":  func() error { _, _, err := s.Publish(ctx, asked(base, "d")); return err },
				"restore":  func() error { _, _, err := s.Publish(ctx, restoring(base, "a")); return err },
				"withdraw": func() error { _, _, err := s.Withdraw(ctx, withdrawing(base, "a")); return err },
			} {
				var stale *Stale
				require.ErrorAs(t, call(), &stale, "%s on %q", name, base)
				assert.Equal(t, &Stale{Base: base, Live: c, Since: since}, stale)
			}
		}
		_, _, err := s.Publish(ctx, asked("a", "d"))
		assert.EqualError(t, err, `publish "d": base "a" isn't live: "c" is live, published by ana at 2026-03-29T06:59:03Z`)
		_, _, err = s.Publish(ctx, asked("", "d"))
		assert.EqualError(t, err, `publish "d": no base is given, but "c" is live, published by ana at 2026-03-29T06:59:03Z`)
		_, err = s.Files(ctx, "d")
		assert.ErrorIs(t, err, ErrUnknownRevision, "what was refused leaves nothing")
		head, err := s.Head(ctx)
		require.NoError(t, err)
		assert.EqualValues(t, 3, head)
	})
}

func TestSinceIsNotEndless(t *testing.T) {
	onEach(t, func(t *testing.T, empty func() string) {
		s, base := opened(t, empty()), ""
		for i := range 103 {
			p := asked(base, fmt.Sprint("r", i))
			p.Files = p.Files[:1]
			published(t, s, p)
			base = p.Revision
		}
		var stale *Stale
		_, _, err := s.Publish(within(t), asked("r0", "x"))
		require.ErrorAs(t, err, &stale)
		require.Len(t, stale.Since, 100)
		assert.Equal(t, "r102", stale.Since[0].Revision)
	})
}

func TestSentAgain(t *testing.T) {
	onEach(t, func(t *testing.T, empty func() string) {
		target := empty()
		s, ctx := opened(t, target), within(t)
		a := published(t, s, asked("", "a"))
		b := published(t, s, asked("a", "b"))
		live, repeat, err := s.Withdraw(ctx, withdrawing("b", "b"))
		require.NoError(t, err)
		assert.False(t, repeat)
		c := published(t, s, asked("a", "c"))
		require.NoError(t, s.Close())
		s = opened(t, target)

		for _, again := range []struct {
			p    Publish
			want Publication
		}{{asked("", "a"), a}, {asked("a", "b"), b}, {asked("a", "c"), c}} {
			got, repeat, err := s.Publish(ctx, again.p)
			require.NoError(t, err)
			assert.True(t, repeat)
			if again.p.Revision == "b" {
				require.NotNil(t, got.Withdrawn)
				got.Withdrawn = nil
			}
			assert.Equal(t, again.want, got)
		}
		got, repeat, err := s.Withdraw(ctx, withdrawing("b", "b"))
		require.NoError(t, err)
		assert.True(t, repeat)
		assert.Equal(t, live, got)

		other := asked("c", "d")
		other.RequestID = asked("", "a").RequestID
		_, _, err = s.Publish(ctx, other)
		assert.ErrorIs(t, err, ErrRequestReused)
		w := withdrawing("c", "a")
		w.RequestID, w.RequestDigest = asked("", "a").RequestID, asked("", "a").RequestDigest
		_, _, err = s.Withdraw(ctx, w)
		assert.ErrorIs(t, err, ErrRequestReused, "a request to publish isn't one to withdraw")
		head, err := s.Head(ctx)
		require.NoError(t, err)
		assert.EqualValues(t, 5, head)

		refused := asked("stale", "d")
		_, _, err = s.Publish(ctx, refused)
		require.Error(t, err)
		refused.Base = "c"
		published(t, s, refused) // what was refused didn't use its id up
	})
}

func TestRefusedRequests(t *testing.T) {
	onEach(t, func(t *testing.T, empty func() string) {
		s, ctx := opened(t, empty()), within(t)
		published(t, s, asked("", "a"))
		_, _, err := s.Publish(ctx, asked("a", "a"))
		assert.ErrorIs(t, err, ErrUnchanged)
		_, _, err = s.Publish(ctx, restoring("a", "a"))
		assert.ErrorIs(t, err, ErrUnchanged)

		published(t, s, asked("a", "b"))
		other := asked("b", "a")
		other.Files[0].Data = []byte("other")
		_, _, err = s.Publish(ctx, other)
		assert.EqualError(t, err, `publish "a": the revision is kept with other files: it is no digest of these`)

		var invalid Invalid
		_, _, err = s.Publish(ctx, Publish{Note: "\x00", Base: "\xff"})
		require.ErrorAs(t, err, &invalid)
		assert.Equal(t, Invalid{"revision is missing", "author is missing", "request_id is missing", "request_digest is missing",
			"base isn't text: it must be UTF-8 without NUL", "note isn't text: it must be UTF-8 without NUL", "files are missing"}, invalid)
		_, _, err = s.Publish(ctx, Publish{Revision: "r", Author: "a", RequestID: "i", RequestDigest: "d", Restore: true,
			Files: []authored.File{{}}})
		require.ErrorAs(t, err, &invalid)
		assert.Equal(t, Invalid{"files must be left out: a restore takes those of the revision", "files[0].name is missing"}, invalid)
		_, _, err = s.Withdraw(ctx, Withdraw{})
		require.ErrorAs(t, err, &invalid)
		assert.Equal(t, Invalid{"revision is missing", "author is missing", "request_id is missing", "request_digest is missing"}, invalid)
		_, err = s.History(ctx, 0, 0)
		assert.ErrorAs(t, err, &invalid)
	})
}

func TestRestore(t *testing.T) {
	onEach(t, func(t *testing.T, empty func() string) {
		s, ctx := opened(t, empty()), within(t)
		a := published(t, s, asked("", "a"))
		published(t, s, asked("a", "b"))
		back := published(t, s, restoring("b", "a"))
		assert.Equal(t, Publication{Number: 3, Revision: "a", Base: "b", RestoredFrom: a.Number, Author: "ben", Note: "back to a",
			At: a.At.Add(2 * time.Second)}, back)
		live, err := s.Live(ctx)
		require.NoError(t, err)
		assert.Equal(t, back, live)
		of, err := s.Publication(ctx, "a")
		require.NoError(t, err)
		assert.Equal(t, back, of)
		revisions, err := s.Published(ctx)
		require.NoError(t, err)
		assert.Equal(t, []string{"a", "b"}, revisions)

		again := asked("a", "b") // published by hand, not as a restore, its files in another order
		again.RequestID, again.Files = "by hand", filesFor("b")
		slices.Reverse(again.Files)
		assert.Zero(t, published(t, s, again).RestoredFrom)
		files, err := s.Files(ctx, "b")
		require.NoError(t, err)
		sameFiles(t, filesFor("b"), files)
	})
}

func TestWithdraw(t *testing.T) {
	onEach(t, func(t *testing.T, empty func() string) {
		s, ctx := opened(t, empty()), within(t)
		a := published(t, s, asked("", "a"))
		_, _, err := s.Withdraw(ctx, withdrawing("a", "a"))
		require.ErrorIs(t, err, ErrNothingLeft)
		assert.EqualError(t, err, `withdraw "a": no other revision is left to go back to; publish a better one first`)
		head, err := s.Head(ctx)
		require.NoError(t, err)
		assert.EqualValues(t, 1, head, "nothing has changed")

		published(t, s, asked("a", "b"))
		published(t, s, asked("b", "c"))
		live, _, err := s.Withdraw(ctx, withdrawing("c", "b")) // not the live one
		require.NoError(t, err)
		assert.Equal(t, "c", live.Revision)
		assert.EqualValues(t, 3, live.Number)
		live, _, err = s.Withdraw(ctx, withdrawing("c", "c")) // the live one: past b, back to a
		require.NoError(t, err)
		assert.Equal(t, Publication{Number: 6, Revision: "a", Base: "c", RestoredFrom: a.Number, Author: "cleo", Note: "c hurts", At: live.At,
			ReviewedBy: "r. viewer"}, live)
		now, err := s.Live(ctx)
		require.NoError(t, err)
		assert.Equal(t, live, now)

		of, err := s.Publication(ctx, "b")
		require.NoError(t, err)
		require.NotNil(t, of.Withdrawn)
		assert.Equal(t, Withdrawal{Number: 4, Author: "cleo", Note: "b hurts", At: of.Withdrawn.At}, *of.Withdrawn)
		for name, call := range map[string]func() error{
			"publish": func() error {
				_, _, err := s.Publish(ctx, Publish{Base: "stale", Revision: "b", Files: filesFor("b"), Author: "ana", RequestID: "1",
					RequestDigest: "1"})
				return err
			},
			"restore":  func() error { _, _, err := s.Publish(ctx, restoring("a", "b")); return err },
			"withdraw": func() error { _, _, err := s.Withdraw(ctx, withdrawing("a", "b")); return err },
		} {
			var withdrawn *Withdrawn
			require.ErrorAs(t, call(), &withdrawn, name)
			assert.Equal(t, &Withdrawn{"b", *of.Withdrawn}, withdrawn)
			assert.ErrorContains(t, withdrawn, `revision "b" was withdrawn by cleo at 2026-03-29T06:59:`)
			assert.ErrorContains(t, withdrawn, `Z: b hurts`)
		}
		revisions, err := s.Published(ctx)
		require.NoError(t, err)
		assert.Equal(t, []string{"a"}, revisions)
		files, err := s.Files(ctx, "b")
		require.NoError(t, err)
		sameFiles(t, filesFor("b"), files)
		_, _, err = s.Withdraw(ctx, withdrawing("a", "a"))
		assert.ErrorIs(t, err, ErrNothingLeft)

		history, err := s.History(ctx, 0, 10)
		require.NoError(t, err)
		var reported []string
		for _, p := range history {
			reported = append(reported, fmt.Sprintf("%d %s %d %v", p.Number, p.Revision, p.RestoredFrom, p.Withdrawn != nil))
		}
		assert.Equal(t, []string{"6 a 1 false", "3 c 0 true", "2 b 0 true", "1 a 0 false"}, reported)
	})
}

func TestHistoryInPages(t *testing.T) {
	onEach(t, func(t *testing.T, empty func() string) {
		s, ctx := opened(t, empty()), within(t)
		var all []Publication
		base := ""
		for i := range 7 {
			p := published(t, s, asked(base, fmt.Sprint("r", i)))
			base, all = p.Revision, append([]Publication{p}, all...)
		}
		var got []Publication
		for before := int64(0); ; before = got[len(got)-1].Number {
			page, err := s.History(ctx, before, 3)
			require.NoError(t, err)
			if len(page) == 0 {
				break
			}
			require.LessOrEqual(t, len(page), 3)
			got = append(got, page...)
		}
		assert.Equal(t, all, got)
	})
}

// Sixteen publishers, each of whom sends every request twice at the same moment, on two open stores where that is possible.
func TestRacingPublishers(t *testing.T) {
	const publishers, each = 16, 3
	onEach(t, func(t *testing.T, empty func() string) {
		target := empty()
		ctx, s := within(t), opened(t, target)
		stores := []*Store{s, s}
		if scheme.MatchString(target) {
			stores[1] = opened(t, target)
		}
		send := func(s *Store, p Publish) (Publication, error) {
			for {
				live, err := s.Live(ctx)
				if err != nil && !errors.Is(err, ErrEmpty) {
					return Publication{}, err
				}
				p.Base = live.Revision
				got, _, err := s.Publish(ctx, p)
				var stale *Stale
				if errors.As(err, &stale) {
					continue
				}
				return got, err
			}
		}
		var all sync.WaitGroup
		for i := range publishers {
			all.Go(func() {
				for k := range each {
					p := asked("", fmt.Sprintf("r%d-%d", i, k))
					var answers [2]Publication
					var both sync.WaitGroup
					for n := range answers {
						both.Go(func() {
							var err error
							answers[n], err = send(stores[(i+n)%2], p)
							assert.NoError(t, err)
						})
					}
					both.Wait()
					assert.Equal(t, answers[0], answers[1])
				}
			})
		}
		all.Wait()
		history, err := s.History(ctx, 0, 1000)
		require.NoError(t, err)
		require.Len(t, history, publishers*each, "none lost, none doubled")
		slices.Reverse(history)
		base := ""
		for i, p := range history {
			require.EqualValues(t, i+1, p.Number)
			require.Equal(t, base, p.Base)
			base = p.Revision
			files, err := s.Files(ctx, p.Revision)
			require.NoError(t, err)
			sameFiles(t, filesFor(p.Revision), files)
		}
		revisions, err := s.Published(ctx)
		require.NoError(t, err)
		assert.Len(t, revisions, publishers*each)
	})
}

func TestGivenUp(t *testing.T) {
	onEach(t, func(t *testing.T, empty func() string) {
		s := opened(t, empty())
		gone, cancel := context.WithCancel(within(t))
		cancel()
		_, _, err := s.Publish(gone, asked("", "a"))
		assert.ErrorIs(t, err, context.Canceled)
		_, err = s.Head(gone)
		assert.ErrorIs(t, err, context.Canceled)
		for wait := range 20 { // at some moment of the work
			short, cancel := context.WithTimeout(within(t), time.Duration(wait)*200*time.Microsecond)
			live, err := s.Live(within(t))
			if !errors.Is(err, ErrEmpty) {
				require.NoError(t, err)
			}
			p := asked(live.Revision, fmt.Sprint("r", wait))
			_, _, err = s.Publish(short, p)
			cancel()
			after, liveErr := s.Live(within(t))
			if err == nil {
				require.NoError(t, liveErr)
				assert.Equal(t, p.Revision, after.Revision)
				continue
			}
			assert.ErrorIs(t, err, context.DeadlineExceeded)
			_, _, err = s.Publish(within(t), p)
			require.NoError(t, err, "sent again")
		}
	})
}

func TestDamagedFileIsNotServed(t *testing.T) {
	onEach(t, func(t *testing.T, empty func() string) {
		s := opened(t, empty())
		published(t, s, asked("", "a"))
		_, err := s.db.Exec(`update file set data = $1 where digest = $2`, []byte("other"), digestOf(filesFor("a")[1].Data))
		require.NoError(t, err)
		_, err = s.Files(within(t), "a")
		assert.ErrorContains(t, err, `read the files of "a": "catalog/press.yaml" is damaged: its digest isn't `)
	})
}
