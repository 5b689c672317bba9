package store

import (
	"context"
	"database/sql"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"strconv"
	"sync"
	"time"

	"barrelbook/api/app/port"
	"barrelbook/migrations"
)

// applicationID is in the head of every data file ("bbk1"), so that neither this
// program takes another's file for its own nor the other way round.
const applicationID = 0x62626b31

// errReadOnly refuses to write through a store that was opened to read.
var errReadOnly = errors.New("the data was opened to be read only")

// dataFile is what the head of a data file said when it was opened.
type dataFile struct {
	path        string
	key         string
	empty       bool
	application uint32
	version     uint32 // of the schema
	inLog       bool   // the file is marked to have a write-ahead log
	logThere    bool
}

// claims counts the stores of this process that have a file open. A file that is
// open is not looked into a second time: to close the descriptor for that would
// drop the locks that SQLite holds on the file.
var claims = struct {
	sync.Mutex
	open map[string]*claimed
}{open: map[string]*claimed{}}

type claimed struct {
	file  *dataFile
	count int
}

// claim reads the head of a file.
func claim(path string) (*dataFile, error) {
	info, err := os.Stat(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil, fmt.Errorf("there is no data file %s: %w", path, err)
	case err != nil:
		return nil, err
	case !info.Mode().IsRegular():
		return nil, fmt.Errorf("%s is no file: %w", path, ErrUnsound)
	}
	key := fileKey(path, info)
	claims.Lock()
	defer claims.Unlock()
	if c := claims.open[key]; c != nil {
		c.count++
		return c.file, nil
	}
	f := &dataFile{path: path, key: key, empty: info.Size() == 0}
	if !f.empty {
		if err := f.readHead(); err != nil {
			return nil, err
		}
	}
	claims.open[key] = &claimed{f, 1}
	return f, nil
}

func (f *dataFile) release() error {
	claims.Lock()
	defer claims.Unlock()
	if c := claims.open[f.key]; c != nil {
		if c.count--; c.count == 0 {
			delete(claims.open, f.key)
		}
	}
	return nil
}

// readHead reads what SQLite's file format keeps in the first hundred bytes
// (sqlite.org/fileformat2.html, section 1.3).
func (f *dataFile) readHead() error {
	file, err := os.Open(f.path)
	if err != nil {
		return err
	}
	defer file.Close()
	var head [100]byte
	if _, err := io.ReadFull(file, head[:]); err != nil || string(head[:16]) != "SQLite format 3\x00" {
		return fmt.Errorf("%s: %w: it is no SQLite database", f.path, ErrUnsound)
	}
	f.inLog = head[18] == 2
	f.version, f.application = binary.BigEndian.Uint32(head[60:]), binary.BigEndian.Uint32(head[68:])
	_, err = os.Stat(f.path + "-wal")
	f.logThere = err == nil
	return nil
}

// hasLog says whether a write-ahead log belongs to the file and is there.
func (f *dataFile) hasLog() bool {
	_, err := os.Stat(f.path + "-wal")
	return err == nil
}

// lostLog says whether the file was in use when it was copied, and its log was not
// copied with it. Files of versions that did not settle them tell nothing.
func (f *dataFile) lostLog() bool {
	return f != nil && f.application == applicationID && f.inLog && !f.logThere
}

const lostLogText = "it was in use when it was copied, and its log, the file of the same name and -wal, is not beside it: what was recorded last may be missing"

// mayWrite refuses the file of another program, and of a newer one.
func (f *dataFile) mayWrite() error {
	if f.application != 0 && f.application != applicationID {
		return fmt.Errorf("%s is the file of another program (application id %s); choose another name for the data file", f.path, strconv.FormatUint(uint64(f.application), 16))
	}
	want, err := migrations.Latest(migrations.SQLite)
	if err == nil && f.application == applicationID && int64(f.version) > want {
		err = fmt.Errorf("%s was written by a newer version (schema %d; this one knows %d): update this program; reading and verifying still work", f.path, f.version, want)
	}
	return err
}

// own makes sure that the file is the service's: one without a mark holds nothing
// yet, or the tables of a version before there was one. It notes where the log of
// the file was lost.
func (s *Store) own(ctx context.Context) error {
	if s.file.application == applicationID {
		if !s.file.lostLog() {
			return nil
		}
		return s.Write(ctx, func(w port.Writer) error {
			return w.WriteAudit(port.AuditRow{At: time.Now().UTC().Truncate(time.Microsecond), By: "barrelbook", What: "opened a data file: " + lostLogText})
		})
	}
	db, err := s.read.DB()
	if err != nil {
		return err
	}
	var tables, ours int
	err = db.QueryRowContext(ctx, "SELECT count(*), count(*) FILTER (WHERE name IN ('goose_db_version', 'entries', 'roll_states')) FROM sqlite_master WHERE type = 'table'").Scan(&tables, &ours)
	if err == nil && tables > 0 && ours < 3 && s.file.application == 0 && !s.beingMade(ctx, db) {
		err = fmt.Errorf("%s holds the tables of another program; choose another name for the data file", s.file.path)
	}
	return err
}

// beingMade says whether another process is just making the tables.
func (s *Store) beingMade(ctx context.Context, db *sql.DB) bool {
	have, _, err := migrations.Versions(ctx, s.dialect, db)
	var goose bool
	if err == nil {
		err = db.QueryRowContext(ctx, "SELECT count(*) > 0 FROM sqlite_master WHERE name = 'goose_db_version'").Scan(&goose)
	}
	return err == nil && goose && have == 0
}

// sign marks a data file as the service's, with the version of its schema.
func (s *Store) sign(ctx context.Context, db *sql.DB) error {
	if s.file == nil {
		return nil
	}
	have, _, err := migrations.Versions(ctx, s.dialect, db)
	if err != nil || s.file.application == applicationID && int64(s.file.version) == have {
		return err
	}
	_, err = db.ExecContext(ctx, fmt.Sprintf("PRAGMA application_id = %d; PRAGMA user_version = %d", applicationID, have))
	return err
}
