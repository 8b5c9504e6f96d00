// Package sqlstore keeps published editions and what happened to them: what is live, what was live before, who published it
// and why, and what was withdrawn. It is the only place that says what is live.
//
// What is kept is content. An edition is a list of files; its revision is their digest, computed by whoever publishes it and
// opaque here. Files are kept once each under their own digest, so that an edition of a hundred files with one changed takes
// the room of one. Nothing is ever changed or deleted: an event (publish, restore, withdraw) is added, its number one more than
// the last. Whoever wants to know of news asks for Head, and reads Live when the number has moved.
//
// What holds, on both databases, with any number of callers, and when a process is killed at any moment:
//
//   - An event is there whole, with all its files, or not at all, and once Publish or Withdraw has returned it stays.
//   - Events come one after another: each names as its base what was live just before it, so nobody publishes over an edition
//     that they haven't seen.
//   - A request that is sent again does nothing and gets the answer to the first, as long as its digest is the same. So a caller
//     who lost the connection, and can't know whether the event is there, sends the same request again.
//   - A withdrawn revision is never live again.
//   - Who was refused because the base moved has the next turn, for twenty seconds, once after each event: others who publish wait
//     so long, those who restore or withdraw don't.
//
// Names, revisions, ids and notes are compared by their bytes and come back as they were given.
//
// A path is a SQLite file, for one server: while a Store has it open, every other Open of it is refused, in this process or
// another; the lock dies with its process. A postgres:// URL is for servers that share one store.
package sqlstore

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"time"
)

// Config says where the editions are kept.
type Config struct {
	// URL is the path of a SQLite file, made if it isn't there in a folder that is, or a postgres:// URL as libpq reads it.
	// Required. PostgreSQL's search_path, given in the URL, chooses the schema; the schema itself must exist.
	URL string
	// MustExist refuses a SQLite file that isn't there, instead of making it.
	MustExist bool
	// Now is the clock that dates events; time.Now when nil.
	Now func() time.Time
}

// Store is an open store. Its methods may be called by many goroutines.
//
// Beside the errors that each method names, any may return one of the database or of the context, wrapped.
type Store struct {
	db        *sql.DB
	isolation sql.IsolationLevel
	idle      time.Duration // PostgreSQL ends a write from which nothing was heard for so long; 0 where there is no other server
	now       func() time.Time
	turn      time.Duration // how long others wait for an author whose base moved
	id        string        // of this Store, among those that share a database
}

// Close releases the database, and with it the lock of a SQLite file.
func (s *Store) Close() error { return s.db.Close() }

// reader is what *sql.DB and *sql.Tx have in common.
type reader interface {
	QueryContext(ctx context.Context, query string, args ...any) (*sql.Rows, error)
	QueryRowContext(ctx context.Context, query string, args ...any) *sql.Row
}

// TryWrite writes what is there already, to see whether the database takes it.
func (s *Store) TryWrite(ctx context.Context) error {
	return s.write(ctx, func(*sql.Tx) error { return nil })
}

// write runs do in a transaction with no other writer beside it. When do returns an error nothing has happened.
func (s *Store) write(ctx context.Context, do func(*sql.Tx) error) error {
	err := s.transact(ctx, do)
	if ended := ctx.Err(); err != nil && ended != nil && !errors.Is(err, ended) {
		return fmt.Errorf("%w: %w", ended, err) // of a context that ends in between, database/sql only says that the transaction is over
	}
	return err
}

func (s *Store) transact(ctx context.Context, do func(*sql.Tx) error) error {
	tx, err := s.db.BeginTx(ctx, &sql.TxOptions{Isolation: s.isolation})
	if err != nil {
		return err
	}
	defer tx.Rollback() // does nothing once committed
	if s.idle > 0 {
		// Otherwise it waits for a writer whose machine or network is gone for as long as TCP does: two hours.
		if _, err := tx.ExecContext(ctx, fmt.Sprintf(`set local idle_in_transaction_session_timeout = %d`, s.idle.Milliseconds())); err != nil {
			return err
		}
	}
	if _, err := tx.ExecContext(ctx, `update head set number = number`); err != nil {
		return fmt.Errorf("wait for other writers: %w", err)
	}
	if err := do(tx); err != nil {
		return err
	}
	return tx.Commit()
}
