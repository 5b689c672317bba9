package store

import (
	"errors"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5/pgconn"
	"gorm.io/gorm"
	"gorm.io/gorm/logger"
	modernc "modernc.org/sqlite"
	codes "modernc.org/sqlite/lib"

	"barrelbook/api/app/port"
	"barrelbook/domain/next"
)

// silent keeps gorm from writing to standard output; errors are returned, and
// the edge logs them once.
var silent = logger.Discard

// refuse makes an error that the caller can act on.
func refuse(kind port.Kind, format string, args ...any) error {
	return &port.Error{Kind: kind, Detail: fmt.Sprintf(format, args...)}
}

// refuseNext is refuse with the step that its last words ask for.
func refuseNext(step next.Step, kind port.Kind, format string, args ...any) error {
	return &port.Error{Kind: kind, Detail: fmt.Sprintf(format, args...), Next: []next.Step{step}}
}

// missing turns "no row" into NotFound: there is no <what> <name>; see shows
// what there is.
func missing(err error, what, name string, see next.Step) error {
	if !errors.Is(err, gorm.ErrRecordNotFound) {
		return err
	}
	return notFound(what, name, see)
}

func notFound(what, name string, see next.Step) error {
	return refuseNext(see, port.NotFound, "there is no %s %s", what, name)
}

func taken(what, name string, see next.Step) error {
	return refuseNext(see, port.Conflicting, "there is a %s %s already", what, name)
}

// translate gives the errors of constraints a kind that the caller can act on.
// Other errors of the database go up as they are: they are nobody's input.
func translate(err error) error {
	var known *port.Error
	switch {
	case errors.As(err, &known):
		return err
	case errors.Is(err, gorm.ErrForeignKeyViolated):
		return &port.Error{Kind: port.NotFound, Detail: "it names a mill or a stand that is not there", Err: err, Next: []next.Step{next.ListMills(), next.ListStands()}}
	case errors.Is(err, gorm.ErrDuplicatedKey):
		return &port.Error{Kind: port.Conflicting, Detail: "another record has taken the name or the place meanwhile; read again and decide again", Err: err}
	}
	if away := unavailable(err); away != nil {
		return away
	}
	return err
}

// takenBack says whether PostgreSQL undid a transaction because of another one,
// so that it may run again: a serialisation failure or a deadlock.
func takenBack(err error) bool {
	var e *pgconn.PgError
	return errors.As(err, &e) && (e.Code == "40001" || e.Code == "40P01")
}

// whileBusy runs fn again for a while as long as another process has the data
// file locked.
func whileBusy(fn func() error) error {
	const rounds = 50
	for round := 1; ; round++ {
		err := fn()
		if !busy(err) || round == rounds {
			return err
		}
		time.Sleep(time.Duration(round) * 2 * time.Millisecond)
	}
}

// busy says whether SQLite gave up waiting for a lock. The low byte is the
// code, the rest says where.
func busy(err error) bool {
	var e *modernc.Error
	return errors.As(err, &e) && (e.Code()&0xff == codes.SQLITE_BUSY || e.Code()&0xff == codes.SQLITE_LOCKED)
}
