package sqlstore

import (
	"context"
	"errors"
	"time"
)

// turnLasts is long enough to preview again and publish, and short for others to wait.
const turnLasts = 20 * time.Second

// turnPoll is how often one who waits looks.
const turnPoll = 50 * time.Millisecond

// OnBase is nil when a revision is what is live. An author who is told that it isn't has the next turn. Errors: *Stale.
func (s *Store) OnBase(ctx context.Context, base, author string) error {
	err := onBase(ctx, s.db, base)
	s.giveTurn(ctx, author, err)
	return err
}

// giveTurn gives the next publication to the author whose base moved, once after each event: otherwise one who needs longer than
// another, who publishes again and again, never comes to it. Without a turn nothing is lost but that, so it has no error.
func (s *Store) giveTurn(ctx context.Context, author string, refused error) {
	if stale := (*Stale)(nil); errors.As(refused, &stale) {
		s.db.ExecContext(ctx, `update head set turn = $1, turn_number = number, turn_until = $2 where turn_number <> number`,
			s.turnOf(author), s.now().Add(s.turn).UnixMilli())
	}
}

// awaitTurn waits while another has the turn.
func (s *Store) awaitTurn(ctx context.Context, author string) error {
	late := time.After(s.turn) // whatever the clock of another server says
	for {
		var turn string
		var until int64
		err := s.db.QueryRowContext(ctx, `select case when turn_number = number then turn else '' end, turn_until from head`).Scan(&turn, &until)
		if err != nil || turn == "" || turn == s.turnOf(author) || until <= s.now().UnixMilli() {
			return err
		}
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-late:
			return nil
		case <-time.After(turnPoll):
		}
	}
}

// turnOf tells authors apart, and those of the same name on two servers.
func (s *Store) turnOf(author string) string { return s.id + " " + author }
