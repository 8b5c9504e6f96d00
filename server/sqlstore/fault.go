package sqlstore

import (
	"errors"
	"strings"

	"github.com/jackc/pgx/v5/pgconn"
	"modernc.org/sqlite"
	sqlite3 "modernc.org/sqlite/lib"
)

// Fault is what is wrong with a database that doesn't do as it is asked.
type Fault int

const (
	Away     Fault = iota // it can't be reached, or says nothing of the others
	Full                  // its disk has no room left
	ReadOnly              // it may be read and not written
	BadDisk               // its disk or folder can't be read or written
	Corrupt               // what it keeps is damaged
)

// Words say it to whoever runs the server.
func (f Fault) Words() string {
	return [...]string{"can't be reached", "has no room left on its disk", "is read-only", "can't read or write its disk", "is damaged"}[f]
}

// FaultOf tells the faults apart by the database's own codes.
func FaultOf(err error) Fault {
	var lite *sqlite.Error
	var postgres *pgconn.PgError
	switch {
	case errors.As(err, &lite):
		switch lite.Code() & 0xff {
		case sqlite3.SQLITE_FULL:
			return Full
		case sqlite3.SQLITE_READONLY, sqlite3.SQLITE_PERM:
			return ReadOnly
		case sqlite3.SQLITE_IOERR, sqlite3.SQLITE_CANTOPEN:
			return BadDisk
		case sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB:
			return Corrupt
		}
	case errors.As(err, &postgres):
		switch code := postgres.Code; {
		case code == "53100": // disk_full
			return Full
		case code == "25006", code == "42501": // read_only_sql_transaction, insufficient_privilege
			return ReadOnly
		case strings.HasPrefix(code, "58"): // system_error, io_error, undefined_file
			return BadDisk
		case strings.HasPrefix(code, "XX"): // internal_error, data_corrupted, index_corrupted
			return Corrupt
		}
	}
	return Away
}
