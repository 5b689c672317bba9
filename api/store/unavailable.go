package store

import (
	"context"
	"database/sql"
	"database/sql/driver"
	"errors"
	"fmt"
	"io"
	"net"

	"github.com/jackc/pgx/v5/pgconn"
	modernc "modernc.org/sqlite"
	codes "modernc.org/sqlite/lib"

	"barrelbook/api/app/port"
)

// unavailable sorts the failures of a database that is away, full, read-only or
// too busy: nobody's input is at fault, and later it may work. It gives nil for
// any other error. Whether a transaction was kept whose end nobody heard is not
// known.
func unavailable(err error) error {
	if why := whyUnavailable(err); why != "" {
		return &port.Error{Kind: port.Unavailable, Detail: why, Err: err}
	}
	return nil
}

func whyUnavailable(err error) string {
	var (
		server  *pgconn.PgError
		file    *modernc.Error
		connect *pgconn.ConnectError
		network net.Error
	)
	switch {
	case errors.Is(err, context.Canceled):
		return "" // whoever asked has left
	case errors.As(err, &server):
		return whyServer(server.Code)
	case errors.As(err, &file):
		return whyFile(file.Code())
	case errors.Is(err, context.DeadlineExceeded):
		return "the database did not answer in time"
	case errors.As(err, &connect), errors.As(err, &network), pgconn.SafeToRetry(err), errors.Is(err, io.EOF), errors.Is(err, io.ErrUnexpectedEOF),
		errors.Is(err, driver.ErrBadConn), errors.Is(err, sql.ErrConnDone), errors.Is(err, sql.ErrTxDone), errors.Is(err, net.ErrClosed):
		return "the database does not answer"
	}
	return ""
}

// whyServer reads the code of an error of PostgreSQL (its manual, appendix A).
func whyServer(code string) string {
	switch code {
	case "25006":
		return "the database is read-only"
	case "53100":
		return "the disk of the database is full"
	case "53300":
		return "the database has no connection left"
	case "57014", "55P03", "25P03", "25P04":
		return "the database did not answer in time"
	}
	switch code[:min(2, len(code))] {
	case "08", "57":
		return "the database does not answer"
	case "53":
		return "the database has no room or memory left"
	case "58":
		return "the disk of the database cannot be read or written"
	case "40":
		return "the database is too busy"
	}
	return ""
}

// whyFile reads the code of an error of SQLite (its result codes); the low byte
// is the code, the rest says where.
func whyFile(code int) string {
	switch code {
	case codes.SQLITE_IOERR_SHMSIZE, codes.SQLITE_IOERR_SHMOPEN, codes.SQLITE_IOERR_SHMMAP, codes.SQLITE_IOERR_WRITE, codes.SQLITE_IOERR_TRUNCATE, codes.SQLITE_IOERR_FSYNC:
		return "the data file cannot be written; the disk may be full"
	}
	switch code & 0xff {
	case codes.SQLITE_FULL:
		return "the disk of the data file is full: make room on it and try again"
	case codes.SQLITE_READONLY:
		return "the data file is read-only: get the right to write it and its folder, or work on a copy elsewhere"
	case codes.SQLITE_IOERR:
		return "the disk of the data file cannot be read or written"
	case codes.SQLITE_CANTOPEN, codes.SQLITE_PERM, codes.SQLITE_AUTH:
		return "the data file cannot be opened; check the folder, its permissions and the room on its disk"
	case codes.SQLITE_NOMEM:
		return "the machine has no memory left"
	case codes.SQLITE_BUSY, codes.SQLITE_LOCKED:
		return "another program keeps the data file locked; close it, or run one daemon and let the others ask it"
	case codes.SQLITE_INTERRUPT:
		return "the work on the data file was broken off"
	}
	return ""
}

// opening words a failure to open a data file.
func opening(path string, err error) error {
	if away := unavailable(err); away != nil {
		return fmt.Errorf("opening the data file %s: %w", path, away)
	}
	return fmt.Errorf("opening the data file %s: %w", path, err)
}
