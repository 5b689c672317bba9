package embedded

import (
	"context"

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
