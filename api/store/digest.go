package store

import (
	"crypto/sha256"
	"database/sql"
	"database/sql/driver"
	"encoding/binary"
	"fmt"
	"hash"
	"math"

	modernc "modernc.org/sqlite"
)

// SQLiteDriver is the driver of the service for data files: SQLite with the
// functions that seal their rows. A file that was opened by any other cannot be
// written to, so that what another program does to it shows.
const SQLiteDriver = "barrelbook-sqlite"

func init() {
	d := &modernc.Driver{}
	d.MustRegisterFunction("barrelbook_digest", &modernc.FunctionImpl{NArgs: -1, Deterministic: true, VolatileArgs: true,
		Scalar: func(_ *modernc.FunctionContext, values []driver.Value) (driver.Value, error) { return digestOf(values) }})
	d.MustRegisterFunction("barrelbook_both", &modernc.FunctionImpl{NArgs: 2, Deterministic: true, VolatileArgs: true,
		Scalar: func(_ *modernc.FunctionContext, values []driver.Value) (driver.Value, error) {
			var s digestSum
			for _, v := range values {
				if err := s.add(v); err != nil {
					return nil, err
				}
			}
			return s[:], nil
		}})
	d.MustRegisterFunction("barrelbook_sum", &modernc.FunctionImpl{NArgs: 1, Deterministic: true, VolatileArgs: true,
		MakeAggregate: func(modernc.FunctionContext) (modernc.AggregateFunction, error) { return &digestSum{}, nil }})
	sql.Register(SQLiteDriver, preparingDriver{d})
}

// digestOf is the SHA-256 of the values of a row, each with its kind and length,
// so that no two rows are written alike.
func digestOf(values []driver.Value) (driver.Value, error) {
	h := sha256.New()
	for _, value := range values {
		switch v := value.(type) {
		case nil:
			part(h, 'n', 0)
		case int64:
			part(h, 'i', uint64(v))
		case float64:
			part(h, 'f', math.Float64bits(v+0)) // -0 is kept as 0
		case string:
			part(h, 't', uint64(len(v)))
			h.Write([]byte(v))
		case []byte:
			part(h, 'b', uint64(len(v)))
			h.Write(v)
		default:
			return nil, fmt.Errorf("a value of type %T cannot be sealed", value)
		}
	}
	return h.Sum(nil), nil
}

func part(h hash.Hash, kind byte, n uint64) {
	var head [9]byte
	head[0] = kind
	binary.BigEndian.PutUint64(head[1:], n)
	h.Write(head[:])
}

// digestSum is the exclusive or of digests: the order of adding does not matter,
// and to add one again takes it out.
type digestSum [sha256.Size]byte

func (s *digestSum) add(value driver.Value) error {
	digest, ok := value.([]byte)
	if !ok || len(digest) != len(s) {
		return fmt.Errorf("a digest is %d bytes, not %v", len(s), value)
	}
	for i, b := range digest {
		s[i] ^= b
	}
	return nil
}

// Step, WindowInverse, WindowValue and Final make it an aggregate of SQLite.
func (s *digestSum) Step(_ *modernc.FunctionContext, values []driver.Value) error {
	return s.add(values[0])
}

// WindowInverse implements modernc.AggregateFunction.
func (s *digestSum) WindowInverse(_ *modernc.FunctionContext, values []driver.Value) error {
	return s.add(values[0])
}

// WindowValue implements modernc.AggregateFunction.
func (s *digestSum) WindowValue(*modernc.FunctionContext) (driver.Value, error) {
	return append([]byte(nil), s[:]...), nil
}

// Final implements modernc.AggregateFunction.
func (s *digestSum) Final(*modernc.FunctionContext) {}
