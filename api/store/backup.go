package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"net/url"
	"os"
	"path/filepath"
	"strconv"
	"strings"

	modernc "modernc.org/sqlite"
	codes "modernc.org/sqlite/lib"

	"barrelbook/api/app/port"
)

var (
	// ErrInUse says that another process has the data file open.
	ErrInUse = errors.New("another program has the data file open")
	// ErrUnsound says that a file is no data file, or that its books are not
	// whole.
	ErrUnsound = errors.New("it is not a sound data file")
)

// Backup copies a data file that may be in use, as of one moment, to a file that
// only its owner can read. The copy is brought to this program's schema and read
// through, book by book, before it takes the name: a copy that is not whole
// never replaces one that is. A file of that name is replaced.
func Backup(ctx context.Context, data, into string) (port.Counts, error) {
	if err := another(data, into); err != nil {
		return port.Counts{}, err
	}
	if err := lonely(into); err != nil {
		return port.Counts{}, err
	}
	copied, holds, err := checkedCopy(ctx, data, into)
	if err != nil {
		return holds, err
	}
	if err := os.Rename(copied, into); err != nil {
		return holds, errors.Join(err, os.Remove(copied))
	}
	return holds, syncDir(into)
}

// Restore puts a copy of a backup in the place of a data file, in one step:
// whoever opens it finds the one or the other. The file that was there gets the
// name kept, and with it everything that was acknowledged: it is taken out of
// use first, and where another process has it open that is ErrInUse and nothing
// is changed.
func Restore(ctx context.Context, backup, data, kept string) (port.Counts, error) {
	if err := another(backup, data); err != nil {
		return port.Counts{}, err
	}
	copied, holds, err := checkedCopy(ctx, backup, data)
	if err != nil {
		return holds, err
	}
	if err := exchange(ctx, copied, data, kept); err != nil {
		_ = os.Remove(copied)
		return holds, err
	}
	return holds, syncDir(data)
}

// checkedCopy makes a copy beside the place where it is going and checks it.
func checkedCopy(ctx context.Context, from, beside string) (copied string, holds port.Counts, err error) {
	if err := isFile(from); err != nil {
		return "", holds, err
	}
	if err := whole(from); err != nil {
		return "", holds, err
	}
	if err := os.MkdirAll(filepath.Dir(beside), 0o700); err != nil {
		return "", holds, err
	}
	sweep(beside)
	f, err := os.CreateTemp(filepath.Dir(beside), tempName(beside, os.Getpid())+"*") // readable by its owner alone
	if err != nil {
		return "", holds, err
	}
	copied = f.Name()
	if err = f.Close(); err == nil {
		err = vacuumInto(ctx, from, copied)
	}
	if err == nil {
		holds, err = check(ctx, copied)
	}
	if err == nil {
		err = errors.Join(alone(ctx, copied, nil), syncFile(copied))
	}
	if err != nil {
		removeAll(copied)
		return "", holds, err
	}
	return copied, holds, nil
}

// whole refuses a data file that has lost its log.
func whole(path string) error {
	f, err := claim(path)
	if err != nil {
		return err
	}
	if f.lostLog() {
		err = fmt.Errorf("%s: %w: %s", path, ErrUnsound, lostLogText)
	}
	return errors.Join(err, f.release())
}

// tempName begins the name of a copy that a process makes beside a file.
func tempName(beside string, pid int) string {
	return "." + filepath.Base(beside) + "-" + strconv.Itoa(pid) + "-"
}

// sweep removes what copies that were cut short have left beside a file: those of
// processes that are no more.
func sweep(beside string) {
	left, _ := filepath.Glob(filepath.Join(filepath.Dir(beside), "."+filepath.Base(beside)+"-*-*"))
	for _, path := range left {
		number, _, _ := strings.Cut(strings.TrimPrefix(filepath.Base(path), "."+filepath.Base(beside)+"-"), "-")
		if pid, err := strconv.Atoi(number); err == nil && !running(pid) {
			_ = os.Remove(path)
		}
	}
}

// removeAll removes a file of SQLite with what lies beside it.
func removeAll(path string) {
	for _, side := range []string{"", "-wal", "-shm", "-journal"} {
		_ = os.Remove(path + side)
	}
}

// vacuumInto copies what is committed in a data file, which it only reads.
func vacuumInto(ctx context.Context, from, into string) error {
	db, err := sql.Open(SQLiteDriver, "file:"+(&url.URL{Path: from}).EscapedPath()+"?mode=ro&_pragma=busy_timeout(10000)")
	if err != nil {
		return err
	}
	_, err = db.ExecContext(ctx, "VACUUM INTO ?", into)
	var broken *modernc.Error
	if errors.As(err, &broken) && (broken.Code()&0xff == codes.SQLITE_NOTADB || broken.Code()&0xff == codes.SQLITE_CORRUPT) {
		err = fmt.Errorf("%s: %w: %w", from, ErrUnsound, err)
	}
	return errors.Join(err, db.Close())
}

// check opens a data file, with the schema brought up to date, and reads every
// book.
func check(ctx context.Context, path string) (holds port.Counts, err error) {
	s, err := OpenSQLite(ctx, path, Options{Migrate: true})
	if err != nil {
		return holds, unsound(ctx, err)
	}
	err = unsound(ctx, s.Verify(ctx))
	if err == nil {
		err = s.Read(ctx, func(r port.Reader) error { holds, err = r.Counts(); return err })
	}
	return holds, errors.Join(err, s.Close())
}

func unsound(ctx context.Context, err error) error {
	if err == nil || ctx.Err() != nil {
		return err
	}
	return fmt.Errorf("%w: %w", ErrUnsound, err)
}

// alone folds the side files of a data file into it, so that the one file is
// all of it, and runs do while nobody else can begin anything. It fails with
// ErrInUse where another process has the file open.
func alone(ctx context.Context, path string, do func() error) error {
	pool, err := sql.Open(SQLiteDriver, "file:"+(&url.URL{Path: path}).EscapedPath()+"?mode=rw&_pragma=busy_timeout(1000)&_txlock=exclusive")
	if err != nil {
		return err
	}
	pool.SetMaxOpenConns(1)
	var mode string
	// The write-ahead log can only be left by the last who has the file open.
	err = inUse(pool.QueryRowContext(ctx, "PRAGMA journal_mode=DELETE").Scan(&mode))
	if err == nil && mode != "delete" {
		err = ErrInUse
	}
	if err == nil && do != nil {
		var tx *sql.Tx
		if tx, err = pool.BeginTx(ctx, nil); inUse(err) == nil {
			err = errors.Join(do(), tx.Rollback())
		}
	}
	return errors.Join(inUse(err), pool.Close())
}

func inUse(err error) error {
	var e *modernc.Error
	if errors.As(err, &e) && (e.Code()&0xff == codes.SQLITE_BUSY || e.Code()&0xff == codes.SQLITE_LOCKED) {
		return fmt.Errorf("%w: %w", ErrInUse, err)
	}
	return err
}

// exchange puts a file in the place of a data file and keeps what was there.
//
// A process that opened the old file and waits for its turn cannot write into
// it any more: the file is out of the write-ahead log, and SQLite refuses to
// begin a journal for a file that has lost its name.
func exchange(ctx context.Context, copied, data, kept string) error {
	release, err := lockFolder(data, true)
	if err != nil {
		return err
	}
	defer release()
	if _, err := os.Lstat(data); errors.Is(err, fs.ErrNotExist) {
		if err := lonely(data); err != nil {
			return err
		}
		// Linking fails where somebody has made a file of that name since.
		if err := os.Link(copied, data); err != nil {
			return err
		}
		return os.Remove(copied)
	}
	swap := func() error {
		if err := os.Link(data, kept); err != nil {
			return err
		}
		return os.Rename(copied, data)
	}
	err = alone(ctx, data, swap)
	var broken *modernc.Error
	if errors.Is(err, ErrInUse) || !errors.As(err, &broken) {
		return err
	}
	// It is no database any more, which may be why a backup is restored.
	if err := lonely(data); err != nil {
		return err
	}
	return swap()
}

// lonely refuses a name beside which a write-ahead log lies: the next who opens
// a file of that name would read the log into it.
func lonely(path string) error {
	for _, side := range []string{"-wal", "-journal"} {
		if _, err := os.Lstat(path + side); err == nil {
			return fmt.Errorf("%s is there: %s is in use, or was and was not closed", path+side, path)
		}
	}
	return nil
}

// another refuses two names of one file.
func another(from, into string) error {
	a, err := os.Stat(from)
	if err != nil {
		return err
	}
	if b, err := os.Stat(into); err == nil && os.SameFile(a, b) {
		return fmt.Errorf("%s and %s are the same file", from, into)
	}
	return nil
}

func isFile(path string) error {
	info, err := os.Stat(path)
	if err == nil && (!info.Mode().IsRegular() || info.Size() == 0) {
		err = fmt.Errorf("%s: %w", path, ErrUnsound)
	}
	return err
}

func syncFile(path string) error {
	f, err := os.OpenFile(path, os.O_RDWR, 0)
	if err != nil {
		return err
	}
	return errors.Join(f.Sync(), f.Close())
}

// syncDir makes a change of name survive a loss of power.
func syncDir(path string) error {
	d, err := os.Open(filepath.Dir(path))
	if err != nil {
		return err
	}
	return errors.Join(d.Sync(), d.Close())
}
