package sqlstore

import (
	"cmp"
	"context"
	"crypto/rand"
	"database/sql"
	"embed"
	"errors"
	"fmt"
	"io/fs"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/stdlib"
	"github.com/pressly/goose/v3"
	"github.com/pressly/goose/v3/lock"
	"modernc.org/sqlite"
	sqlite3 "modernc.org/sqlite/lib"
)

//go:embed migrations/*.sql
var migrations embed.FS

// versionTable is our own, so that another program's migrations in the same schema aren't taken for ours.
const versionTable = "drillwright_schema"

// connectTimeout is for a PostgreSQL URL that names none.
const connectTimeout = 10 * time.Second

// writerIdle is long for what a writer does between two statements, and short for those who wait for one that is lost.
const writerIdle = 10 * time.Second

var scheme = regexp.MustCompile(`^([A-Za-z][A-Za-z0-9+.-]+):`)

// Open opens the store and brings its tables up to date; on an empty database it makes them. An error says in plain words what
// is wrong with the URL, the file or the server, and never shows a password.
func Open(ctx context.Context, c Config) (*Store, error) {
	if c.URL == "" {
		return nil, errors.New("open store: no URL; give the path of a SQLite file or a postgres:// URL")
	}
	open, name := openSQLite, strconv.Quote(c.URL)
	if m := scheme.FindStringSubmatch(c.URL); m != nil {
		if m[1] != "postgres" && m[1] != "postgresql" {
			return nil, fmt.Errorf("open store: %q is neither a path nor a postgres:// URL; write ./%s: if it is a path", m[1]+":", m[1])
		}
		open, name = openPostgres, "on PostgreSQL"
	}
	if _, err := os.Stat(c.URL); c.MustExist && name != "on PostgreSQL" && errors.Is(err, fs.ErrNotExist) {
		return nil, fmt.Errorf("open store %s: there is no such file", name)
	}
	s, err := open(ctx, c.URL)
	if err != nil {
		return nil, fmt.Errorf("open store %s: %w", name, err)
	}
	s.id, s.turn = rand.Text(), turnLasts
	if s.now = c.Now; s.now == nil {
		s.now = time.Now
	}
	return s, nil
}

// openSQLite opens a file with one connection, which holds the file's exclusive lock until it is closed.
func openSQLite(ctx context.Context, path string) (*Store, error) {
	full, err := filepath.Abs(path)
	if err != nil {
		return nil, err
	}
	if info, err := os.Stat(filepath.Dir(full)); err != nil || !info.IsDir() {
		return nil, fmt.Errorf("there is no folder %q", filepath.Dir(full))
	}
	if info, err := os.Stat(full); err == nil && !info.Mode().IsRegular() {
		return nil, errors.New("it is not a file")
	}
	// The driver sets locking_mode before the others, whatever their order here. That matters: a journal that was opened before the
	// lock is exclusive lets another process in until the first write.
	settings := "_busy_timeout=1000&_pragma=locking_mode(exclusive)&_journal_mode=WAL&_synchronous=FULL&_foreign_keys=on&_txlock=immediate"
	connector, err := sqlite.NewConnector((&url.URL{Scheme: "file", Path: full, RawQuery: settings}).String())
	if err != nil {
		return nil, err
	}
	db := sql.OpenDB(uncut{connector})
	db.SetMaxOpenConns(1)
	if err := migrate(ctx, db, goose.DialectSQLite3); err != nil {
		db.Close()
		return nil, sqliteSays(err)
	}
	return &Store{db: db}, nil
}

// sqliteSays puts in plain words what an operator can do something about.
func sqliteSays(err error) error {
	var coded *sqlite.Error
	if !errors.As(err, &coded) {
		return err
	}
	if coded.Code() == sqlite3.SQLITE_IOERR_LOCK { // what a file on a read-only file system ends in
		return fmt.Errorf("the file can't be locked; it or its disk may be read-only: %w", err)
	}
	switch coded.Code() & 0xff {
	case sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED:
		return errors.New("it is in use; a SQLite file serves one server, several share a PostgreSQL database")
	case sqlite3.SQLITE_NOTADB:
		return errors.New("the file is not a SQLite database")
	case sqlite3.SQLITE_CANTOPEN, sqlite3.SQLITE_READONLY, sqlite3.SQLITE_PERM:
		return fmt.Errorf("the file or its folder can't be written: %w", err)
	}
	if fault := FaultOf(err); fault != Away {
		return fmt.Errorf("it %s: %w", fault.Words(), err)
	}
	return err
}

func openPostgres(ctx context.Context, url string) (*Store, error) {
	config, err := pgx.ParseConfig(url)
	if err != nil {
		return nil, err // shows the URL without its password
	}
	config.ConnectTimeout = cmp.Or(config.ConnectTimeout, connectTimeout)
	// Asked before each use, for a connection may be of before the server was started again.
	alive := func(context.Context, stdlib.ShouldPingParams) bool { return true }
	db := stdlib.OpenDB(*config, stdlib.OptionShouldPing(alive))
	if err := migrate(ctx, db, goose.DialectPostgres); err != nil {
		db.Close()
		return nil, fmt.Errorf("%s:%d, database %q: %w", config.Host, config.Port, config.Database, err)
	}
	// A writer that waited for another must see what that one wrote.
	return &Store{db: db, isolation: sql.LevelReadCommitted, idle: writerIdle}, nil
}

func migrate(ctx context.Context, db *sql.DB, dialect goose.Dialect) error {
	if err := db.PingContext(ctx); err != nil {
		return err
	}
	files, err := fs.Sub(migrations, "migrations")
	if err != nil {
		return err
	}
	options := []goose.ProviderOption{goose.WithTableName(versionTable), goose.WithDisableGlobalRegistry(true),
		goose.WithLogger(goose.NopLogger())}
	if dialect == goose.DialectPostgres { // servers that start together
		locker, err := lock.NewPostgresSessionLocker(lock.WithLockTimeout(1, 300), lock.WithUnlockTimeout(1, 60))
		if err != nil {
			return err
		}
		options = append(options, goose.WithSessionLocker(locker))
	}
	provider, err := goose.NewProvider(dialect, db, files, options...)
	if err != nil {
		return err
	}
	if _, err := provider.Up(ctx); err != nil {
		return err
	}
	have, want, err := provider.GetVersions(ctx)
	if err != nil {
		return err
	}
	if have > want {
		return fmt.Errorf("its tables are of a newer drillwright (version %d, this one knows %d); start that one", have, want)
	}
	return nil
}
