package sqlstore

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Two authors publish in a loop, each over what is live, and one needs longer for it, as a server does that must first read what the
// other published. Each has a share; without turns the slower has none.
func TestPublishersTakeTurns(t *testing.T) {
	onEach(t, func(t *testing.T, empty func() string) {
		target := empty()
		stores := []*Store{opened(t, target), nil}
		if stores[1] = stores[0]; stores[0].idle > 0 { // a SQLite file serves one
			stores[1] = opened(t, target)
		}
		for _, s := range stores {
			s.now = time.Now
		}
		published(t, stores[0], asked("", "first"))
		ctx, cancel := context.WithCancel(within(t))
		defer cancel()
		var publishing sync.WaitGroup
		var won sync.Map
		for i, s := range stores {
			author, needs := []string{"quick", "slow"}[i], []time.Duration{20 * time.Millisecond, 35 * time.Millisecond}[i]
			publishing.Go(func() {
				for try := 0; ctx.Err() == nil; try++ {
					live, err := s.Live(ctx)
					if err != nil {
						return
					}
					time.Sleep(needs)
					p := asked(live.Revision, fmt.Sprint(author, try))
					p.Author = author
					got, _, err := s.Publish(ctx, p)
					var stale *Stale
					if err == nil {
						won.Store(got.Number, author)
						if got.Number > 24 {
							cancel()
						}
					} else if ctx.Err() == nil && !errors.As(err, &stale) {
						assert.NoError(t, err)
						return
					}
				}
			})
		}
		publishing.Wait()
		var all []string
		won.Range(func(_, author any) bool { all = append(all, author.(string)); return true })
		slow := len(slices.DeleteFunc(slices.Clone(all), func(a string) bool { return a != "slow" }))
		require.GreaterOrEqual(t, slow, 4, "of %d", len(all))
		require.GreaterOrEqual(t, len(all)-slow, 4)
	})
}
