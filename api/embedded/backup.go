package embedded

import (
	"context"
	"errors"

	"barrelbook/api/app"
	"barrelbook/api/app/port"
	"barrelbook/api/store"
)

// What is wrong with a data file that cannot be copied or replaced.
var (
	ErrInUse   = store.ErrInUse
	ErrUnsound = store.ErrUnsound
)

// Backup copies a data file, which may be in use, and tells what the copy
// holds; see store.Backup.
func Backup(ctx context.Context, data, into string) (port.Counts, error) {
	return store.Backup(ctx, data, into)
}

// Restore puts a copy of a backup in the place of a data file and keeps what
// was there; see store.Restore.
func Restore(ctx context.Context, backup, data, kept string) (port.Counts, error) {
	return store.Restore(ctx, backup, data, kept)
}

// Damage is one place where the data is not as the service wrote it.
type Damage = store.Damage

// Verify reads all that is in a data file, or a PostgreSQL database by its URL, and
// checks it; see store.Verify. It makes and changes nothing: a file that is not there
// is an error, a schema of an older version stays as it is.
func Verify(ctx context.Context, database string) error { return VerifySigned(ctx, database, "") }

// VerifySigned is Verify, and wants a sign-off with a hash that was noted outside.
// Where all rows are as they were written and the schema is of this version, what
// rolls bore is replayed from books and pieces too; see record.Recount.
func VerifySigned(ctx context.Context, database, hash string) error {
	s, err := openStore(ctx, Options{Path: database, KeepSchema: true, readOnly: true})
	if err != nil {
		return err
	}
	err = s.VerifySigned(ctx, hash)
	if err == nil && s.Current(ctx) {
		err = recount(ctx, s)
	}
	return errors.Join(err, s.Close())
}

func recount(ctx context.Context, s *store.Store) error {
	now := databaseClock{s}
	misfits, err := app.New(s, now, newNames(now.Now), "").Recount(ctx)
	if err != nil {
		return err
	}
	var found []error
	for _, m := range misfits {
		found = append(found, &Damage{Table: m.Table, Key: m.Key, Why: m.Why})
	}
	return errors.Join(found...)
}
