package kit

import (
	"context"
	"errors"
	"strings"
)

// ErrInUse says that another process has the data file open.
var ErrInUse = errors.New("another program has the data file open")

// Holding is how much there is in a data file.
type Holding struct{ Rolls, Entries, Pieces int64 }

// Files copies and replaces data files of the embedded service.
type Files struct {
	// Backup copies data, which may be in use, to a file that is replaced where
	// it is there.
	Backup func(ctx context.Context, data, into string) (Holding, error)
	// Restore puts a copy of a backup in the place of data, and gives what was
	// there the name kept.
	Restore func(ctx context.Context, backup, data, kept string) (Holding, error)
	// Verify reads all of a data file, or of a database by its URL, and checks it;
	// it makes and changes nothing. What it finds is an error with one line each. A
	// hash that is not empty must be that of a sign-off.
	Verify func(ctx context.Context, data, hash string) error
}

// Database is the user's data file, or the URL of a database. Books that are a
// server's are verified where the server is.
func (f *Factory) Database() (string, error) {
	s, err := f.Settings()
	if err != nil {
		return "", err
	}
	place, err := s.Place()
	switch {
	case err != nil:
		return "", &UsageError{Err: err}
	case place.Server != "":
		return "", Usagef("the books are at %s (from the %s): they are verified beside the daemon, by barrelbookd verify; this command is for a data file, named with --data FILE", place.Server, place.Origin)
	case place.Data == "":
		return "", Usagef("the name of the data file is empty")
	}
	return place.Data, nil
}

// DataFile is the path of the user's data file. Books that are a server's or a
// database's are not a file to be copied.
func (f *Factory) DataFile() (string, error) {
	s, err := f.Settings()
	if err != nil {
		return "", err
	}
	place, err := s.Place()
	switch {
	case err != nil:
		return "", &UsageError{Err: err}
	case place.Server != "" || strings.Contains(place.Data, "://"):
		where := place.Server
		if where == "" {
			where = "a database" // its address may hold a password
		}
		return "", Usagef("the books are at %s (from the %s): a server's database is backed up and restored with the database's own tools, "+
			"on PostgreSQL pg_dump and pg_restore; this command is for a data file, named with --data FILE", where, place.Origin)
	case place.Data == "":
		return "", Usagef("the name of the data file is empty")
	}
	return place.Data, nil
}
