package sqlstore

import (
	"context"
	"database/sql/driver"
)

// uncut is a SQLite connector whose statements, of a millisecond or so, run to their end when the context ends before.
// The driver would interrupt them, and database/sql then drops the connection; the file's lock would go with it. All else
// about contexts, waiting for the connection and rolling back, is database/sql's and stays.
type uncut struct{ driver.Connector }

func (u uncut) Connect(ctx context.Context) (driver.Conn, error) {
	conn, err := u.Connector.Connect(ctx)
	if err != nil {
		return nil, err
	}
	return uncutConn{conn}, nil
}

// uncutConn embeds the interface, and so has none of the methods that take a context.
type uncutConn struct{ driver.Conn }

func (c uncutConn) Prepare(query string) (driver.Stmt, error) {
	stmt, err := c.Conn.Prepare(query)
	if err != nil {
		return nil, err
	}
	return uncutStmt{stmt}, nil
}

// ResetSession and IsValid tell database/sql to keep the connection after a rollback.
func (uncutConn) ResetSession(context.Context) error { return nil }
func (uncutConn) IsValid() bool                      { return true }

type uncutStmt struct{ driver.Stmt }
