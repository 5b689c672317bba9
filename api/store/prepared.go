package store

import (
	"context"
	"database/sql/driver"
	"errors"
	"strings"

	modernc "modernc.org/sqlite"
)

// mostPrepared is how many statements a connection to a data file keeps, and
// longestPrepared the longest of them in bytes: what inserts many rows at once
// has another text each time and is worth its preparing.
const (
	mostPrepared    = 128
	longestPrepared = 4096
)

// preparingDriver keeps prepared statements with each connection. To prepare one
// costs more than to run it: a row that is written brings the triggers that seal
// its table, which are compiled with it each time.
type preparingDriver struct{ *modernc.Driver }

// Open implements driver.Driver.
func (d preparingDriver) Open(name string) (driver.Conn, error) {
	c, err := d.Driver.Open(name)
	if err != nil {
		return nil, err
	}
	return &preparingConn{sqliteConn: c.(sqliteConn), kept: map[string]*preparedStmt{}}, nil
}

// sqliteConn is what every connection of the driver can do.
type sqliteConn interface {
	driver.Conn
	driver.ConnBeginTx
	driver.ConnPrepareContext
	driver.ExecerContext
	driver.QueryerContext
	driver.Pinger
	driver.SessionResetter
	driver.Validator
}

// preparingConn is one connection. Like any connection it is used by one
// goroutine at a time, so it needs no lock.
type preparingConn struct {
	sqliteConn
	kept map[string]*preparedStmt
	uses int64
}

// preparedStmt is a statement that is kept and not in use.
type preparedStmt struct {
	preparable
	used int64 // the later, the greater
}

// preparable is a statement of the driver.
type preparable interface {
	driver.Stmt
	driver.StmtExecContext
	driver.StmtQueryContext
}

// ExecContext implements driver.ExecerContext.
func (c *preparingConn) ExecContext(ctx context.Context, query string, args []driver.NamedValue) (driver.Result, error) {
	if !worthKeeping(query) {
		return c.sqliteConn.ExecContext(ctx, query, args)
	}
	s, err := c.take(ctx, query)
	if err != nil {
		return nil, err
	}
	result, err := s.ExecContext(ctx, args)
	if err != nil {
		_ = s.Close() // the first error counts
		return nil, err
	}
	return result, c.keep(query, s)
}

// QueryContext implements driver.QueryerContext.
func (c *preparingConn) QueryContext(ctx context.Context, query string, args []driver.NamedValue) (driver.Rows, error) {
	if !worthKeeping(query) {
		return c.sqliteConn.QueryContext(ctx, query, args)
	}
	s, err := c.take(ctx, query)
	if err != nil {
		return nil, err
	}
	rows, err := s.QueryContext(ctx, args)
	if err != nil {
		_ = s.Close()
		return nil, err
	}
	return &preparedRows{sqliteRows: rows.(sqliteRows), conn: c, stmt: s, query: query}, nil
}

// worthKeeping reports whether a statement reads or writes rows. Others, such as
// a PRAGMA, may act while they are prepared.
func worthKeeping(query string) bool {
	if len(query) > longestPrepared {
		return false
	}
	verb, _, _ := strings.Cut(strings.TrimLeft(query, " \n\t"), " ")
	switch verb {
	case "SELECT", "INSERT", "UPDATE", "DELETE", "WITH":
		return true
	}
	return false
}

// take gives a statement to use alone: one whose rows are still being read is not
// there, so that the same text can be run again meanwhile.
func (c *preparingConn) take(ctx context.Context, query string) (preparable, error) {
	if s, ok := c.kept[query]; ok {
		delete(c.kept, query)
		return s.preparable, nil
	}
	s, err := c.PrepareContext(ctx, query)
	if err != nil {
		return nil, err
	}
	return s.(preparable), nil
}

// keep puts a statement back, and closes the one that was not used for longest
// when there are too many.
func (c *preparingConn) keep(query string, s preparable) error {
	if _, ok := c.kept[query]; ok {
		return s.Close()
	}
	var err error
	if len(c.kept) >= mostPrepared {
		err = c.closeOldest()
	}
	c.uses++
	c.kept[query] = &preparedStmt{preparable: s, used: c.uses}
	return err
}

func (c *preparingConn) closeOldest() error {
	var oldest string
	used := c.uses + 1
	for query, s := range c.kept {
		if s.used < used {
			oldest, used = query, s.used
		}
	}
	s := c.kept[oldest]
	delete(c.kept, oldest)
	return s.Close()
}

// Close implements driver.Conn.
func (c *preparingConn) Close() error {
	var errs []error
	for _, s := range c.kept {
		errs = append(errs, s.Close())
	}
	clear(c.kept)
	return errors.Join(append(errs, c.sqliteConn.Close())...)
}

// sqliteRows is what the rows of the driver can do.
type sqliteRows interface {
	driver.Rows
	driver.RowsColumnTypeDatabaseTypeName
	driver.RowsColumnTypeLength
	driver.RowsColumnTypeNullable
	driver.RowsColumnTypePrecisionScale
	driver.RowsColumnTypeScanType
}

// preparedRows gives its statement back when it is closed.
type preparedRows struct {
	sqliteRows
	conn  *preparingConn
	stmt  preparable
	query string
}

// Close implements driver.Rows.
func (r *preparedRows) Close() error {
	if r.stmt == nil {
		return nil
	}
	s := r.stmt
	r.stmt = nil
	if err := r.sqliteRows.Close(); err != nil {
		_ = s.Close()
		return err
	}
	return r.conn.keep(r.query, s)
}
