package store_test

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"sync"
	"testing"
	"time"

	"barrelbook/api/app/port"
	"barrelbook/api/store"
	"barrelbook/domain/mill"
)

// booksFile is a closed data file with the rolls named, of four entries each.
func booksFile(t *testing.T, numbers ...string) string {
	t.Helper()
	path := tempFile(t)
	s, err := store.OpenSQLite(t.Context(), path, store.Options{Migrate: true, Volatile: true})
	if err != nil {
		t.Fatal(err)
	}
	err = s.Write(t.Context(), func(w port.Writer) error { return w.CreateMill(mill.Mill{Name: "HSM", Kind: mill.HotStrip}) })
	for _, number := range numbers {
		for range 4 {
			err = errors.Join(err, appendOne(t.Context(), s, number))
		}
	}
	if err := errors.Join(err, s.Close()); err != nil {
		t.Fatal(err)
	}
	return path
}

// rolls opens a data file, checks its books and gives its roll numbers.
func rolls(t *testing.T, path string) []string {
	t.Helper()
	s, err := store.OpenSQLite(t.Context(), path, store.Options{Migrate: true, Volatile: true})
	if err != nil {
		t.Fatalf("%s: %v", path, err)
	}
	var numbers []string
	err = errors.Join(s.Verify(t.Context()), s.Read(t.Context(), func(r port.Reader) error {
		rows, _, err := r.Rolls(port.RollFilter{}, port.Page{Limit: 1000})
		for _, row := range rows {
			numbers = append(numbers, row.State.Roll.Number)
		}
		return err
	}), s.Close())
	if err != nil {
		t.Fatalf("%s: %v", path, err)
	}
	return numbers
}

func wantRolls(t *testing.T, path string, want ...string) {
	t.Helper()
	if got := rolls(t, path); !slices.Equal(got, want) {
		t.Errorf("%s holds the rolls %v, want %v", filepath.Base(path), got, want)
	}
}

// leftOver names what lies in a folder beside the files expected.
func leftOver(t *testing.T, dir string, expected ...string) {
	t.Helper()
	list, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range list {
		if !slices.Contains(expected, e.Name()) {
			t.Errorf("%s was left", e.Name())
		}
	}
}

// TestBackupInUse copies a data file while it is open, with entries in the
// write-ahead log and a transaction under way that is not in the copy.
func TestBackupInUse(t *testing.T) {
	path, into := tempFile(t), filepath.Join(t.TempDir(), "kept", "copy.db")
	s := openSQLite(t, path)
	err := s.Write(t.Context(), func(w port.Writer) error { return w.CreateMill(mill.Mill{Name: "HSM", Kind: mill.HotStrip}) })
	for range 3 {
		err = errors.Join(err, appendOne(t.Context(), s, "W1"))
	}
	if err != nil {
		t.Fatal(err)
	}
	var holds port.Counts
	err = s.Write(t.Context(), func(w port.Writer) error {
		if err := w.CreateMill(mill.Mill{Name: "PLATE", Kind: mill.Plate}); err != nil {
			return err
		}
		holds, err = store.Backup(t.Context(), path, into)
		return err
	})
	if err != nil || holds != (port.Counts{Rolls: 1, Entries: 3}) {
		t.Fatalf("backup %+v, %v", holds, err)
	}
	info, err := os.Stat(into)
	if err != nil || info.Mode().Perm() != 0o600 {
		t.Errorf("the copy has the mode %v, %v", info.Mode(), err)
	}
	leftOver(t, filepath.Dir(into), "copy.db")
	wantRolls(t, into, "W1")
	c := openSQLite(t, into)
	if err := c.Read(t.Context(), func(r port.Reader) error { _, err := r.Mill("PLATE"); return err }); !port.IsKind(err, port.NotFound) {
		t.Errorf("what was not committed is in the copy: %v", err)
	}
}

// TestBackupKeepsTheOldOne where the new one would not be sound.
func TestBackupKeepsTheOldOne(t *testing.T) {
	path := booksFile(t, "W1")
	into := filepath.Join(t.TempDir(), "copy.db")
	if _, err := store.Backup(t.Context(), path, into); err != nil {
		t.Fatal(err)
	}
	db := rawDB(t, "sqlite", "file:"+path)
	guardsOff(t, db)
	if _, err := db.Exec("UPDATE roll_states SET hash = 'x'"); err != nil {
		t.Fatal(err)
	}
	var damage *store.Damage
	if _, err := store.Backup(t.Context(), path, into); !errors.Is(err, store.ErrUnsound) || !errors.As(err, &damage) || damage.Table != "roll_states" || damage.Key != "W1" {
		t.Errorf("a book that does not hold was taken: %v", err)
	}
	leftOver(t, filepath.Dir(into), "copy.db")
	wantRolls(t, into, "W1")
	for name, from := range map[string]string{"itself": into, "nothing": filepath.Join(t.TempDir(), "none.db")} {
		if _, err := store.Backup(t.Context(), from, into); err == nil {
			t.Errorf("a copy of %s was made", name)
		}
	}
}

func TestRestore(t *testing.T) {
	backup, path := booksFile(t, "W1"), booksFile(t, "W1", "W2")
	kept := path + ".kept"
	s, err := store.OpenSQLite(t.Context(), path, store.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := store.Restore(t.Context(), backup, path, kept); !errors.Is(err, store.ErrInUse) {
		t.Errorf("a data file in use: %v", err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	leftOver(t, filepath.Dir(path), "book.db")
	holds, err := store.Restore(t.Context(), backup, path, kept)
	if err != nil || holds != (port.Counts{Rolls: 1, Entries: 4}) {
		t.Fatalf("restore %+v, %v", holds, err)
	}
	leftOver(t, filepath.Dir(path), "book.db", "book.db.kept")
	wantRolls(t, path, "W1")
	wantRolls(t, kept, "W1", "W2")
	wantRolls(t, backup, "W1")
	// where there was nothing
	fresh := filepath.Join(t.TempDir(), "new", "book.db")
	if _, err := store.Restore(t.Context(), backup, fresh, fresh+".kept"); err != nil {
		t.Fatal(err)
	}
	leftOver(t, filepath.Dir(fresh), "book.db")
	wantRolls(t, fresh, "W1")
}

// TestRestoreOfABrokenFile: what cannot be read any more gives way and is kept
// as it lies; what cannot be read takes no place.
func TestRestoreOfABrokenFile(t *testing.T) {
	backup, path, broken := booksFile(t, "W1"), booksFile(t, "W2"), tempFile(t)
	text := bytes.Repeat([]byte("no data file, whatever its size. "), 500)
	if err := os.WriteFile(broken, text, 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := store.Restore(t.Context(), broken, path, path+".kept"); !errors.Is(err, store.ErrUnsound) {
		t.Errorf("restoring from no data file: %v", err)
	}
	wantRolls(t, path, "W2")
	if _, err := store.Restore(t.Context(), backup, broken, broken+".kept"); err != nil {
		t.Fatal(err)
	}
	wantRolls(t, broken, "W1")
	if got, err := os.ReadFile(broken + ".kept"); err != nil || !bytes.Equal(got, text) {
		t.Errorf("%d bytes were kept that are not those that were there, %v", len(got), err)
	}
	// A log without its file would be read into the one that takes the name.
	if err := os.WriteFile(broken+".other-wal", text, 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := store.Restore(t.Context(), backup, broken+".other", broken+".more"); err == nil {
		t.Error("a backup was put beside a stranger's log")
	}
}

// TestRestoreLosesNothing restores again and again while others open the file,
// record and close it, as commands do. What was acknowledged must be in the data
// file or in one of those kept.
func TestRestoreLosesNothing(t *testing.T) {
	backup, path := booksFile(t), booksFile(t)
	var acknowledged [2][]string
	stop := make(chan struct{})
	var wg sync.WaitGroup
	for worker := range acknowledged {
		wg.Go(func() {
			for n := 0; ; n++ {
				select {
				case <-stop:
					return
				default:
				}
				number := fmt.Sprintf("W%d-%d", worker, n)
				s, err := store.OpenSQLite(t.Context(), path, store.Options{})
				if err != nil {
					continue // it gave way under us, and said so
				}
				if appendOne(t.Context(), s, number) == nil {
					acknowledged[worker] = append(acknowledged[worker], number)
				}
				_ = s.Close()
				time.Sleep(time.Duration(10+n%7) * time.Millisecond)
			}
		})
	}
	var kept []string
	for try := 0; try < 100 && len(kept) < 5; try++ {
		name := fmt.Sprintf("%s.kept-%d", path, try)
		switch _, err := store.Restore(t.Context(), backup, path, name); {
		case err == nil:
			kept = append(kept, name)
		case !errors.Is(err, store.ErrInUse):
			t.Errorf("restore: %v", err)
		}
	}
	close(stop)
	wg.Wait()
	if len(kept) == 0 {
		t.Fatal("the file was never out of use")
	}
	there := map[string]bool{}
	for _, file := range append(kept, path) {
		for _, number := range rolls(t, file) {
			there[number] = true
		}
	}
	all := slices.Concat(acknowledged[:]...)
	for _, number := range all {
		if !there[number] {
			t.Errorf("roll %s was acknowledged and is in none of %d files", number, len(kept)+1)
		}
	}
	if _, err := os.Stat(path + "-wal"); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("a log was left: %v", err)
	}
	t.Logf("%d restores among %d recordings", len(kept), len(all))
}

// TestKilledCopiesLeaveNothing: what a restore that was killed has left beside the
// data file is gone with the next opening; what one under way has, stays.
func TestKilledCopiesLeaveNothing(t *testing.T) {
	path := booksFile(t, "W1")
	dead := exec.Command("true")
	if err := dead.Run(); err != nil {
		t.Skip(err)
	}
	of := func(pid int, side string) string {
		return filepath.Join(filepath.Dir(path), fmt.Sprintf(".%s-%d-123%s", filepath.Base(path), pid, side))
	}
	left := []string{of(dead.Process.Pid, ""), of(dead.Process.Pid, "-journal"), of(dead.Process.Pid, "-wal")}
	under := of(os.Getpid(), "")
	other := filepath.Join(filepath.Dir(path), ".other.db-1-1")
	for _, file := range append(left, under, other) {
		if err := os.WriteFile(file, []byte("half"), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	openSQLite(t, path)
	for _, file := range left {
		if _, err := os.Stat(file); !errors.Is(err, fs.ErrNotExist) {
			t.Errorf("%s is still there: %v", file, err)
		}
	}
	for _, file := range []string{under, other} {
		if _, err := os.Stat(file); err != nil {
			t.Errorf("%s was swept away: %v", file, err)
		}
	}
}
