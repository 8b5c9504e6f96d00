package sqlstore

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
)

// request is what makes sending again harmless.
type request struct{ call, id, digest string }

// once runs do, which returns the number of the last event that it added, unless the request was answered before. Both ways it
// returns what was live after that event.
func (s *Store) once(ctx context.Context, r request, do func(*sql.Tx) (int64, error)) (live Publication, repeat bool, err error) {
	err = s.write(ctx, func(tx *sql.Tx) error {
		number, err := r.answered(ctx, tx)
		if err != nil {
			return err
		}
		if repeat = number != 0; !repeat {
			if number, err = do(tx); err != nil {
				return err
			}
			if err = r.keep(ctx, tx, number); err != nil {
				return err
			}
		}
		live, err = liveAt(ctx, tx, number)
		return err
	})
	return live, repeat, err
}

// answered is the number of the last event that the request made before, 0 when it is new, ErrRequestReused when the id is
// another request's.
func (r request) answered(ctx context.Context, tx reader) (int64, error) {
	first, number := request{id: r.id}, int64(0)
	err := tx.QueryRowContext(ctx, `select call, digest, number from request where id = $1`, r.id).Scan(&first.call, &first.digest, &number)
	switch {
	case errors.Is(err, sql.ErrNoRows):
		return 0, nil
	case err != nil:
		return 0, err
	case first != r:
		return 0, ErrRequestReused
	}
	return number, nil
}

func (r request) keep(ctx context.Context, tx *sql.Tx, number int64) error {
	_, err := tx.ExecContext(ctx, `insert into request (id, call, digest, number) values ($1, $2, $3, $4)`, r.id, r.call, r.digest, number)
	return err
}

// Answered is what Publish answers to a request that was answered before, and ok is false for a new one. Errors:
// ErrRequestReused.
func (s *Store) Answered(ctx context.Context, id, digest string) (published Publication, ok bool, err error) {
	number, err := request{call: "publish", id: id, digest: digest}.answered(ctx, s.db)
	if err == nil && number != 0 {
		published, err = liveAt(ctx, s.db, number)
	}
	if err != nil {
		return Publication{}, false, fmt.Errorf("look for request %q: %w", id, err)
	}
	return published, number != 0, nil
}
