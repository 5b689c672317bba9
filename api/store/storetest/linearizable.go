package storetest

import (
	"fmt"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/anishathalye/porcupine"
	"golang.org/x/sync/errgroup"

	"barrelbook/api/app/port"
)

// The version of a book as a register: append(v) succeeds exactly when the
// version is v and makes it v+1; read gives it.
type (
	versionCall struct {
		roll   string
		append bool
		from   int64 // the version appended to
	}
	versionAnswer struct {
		version int64 // read
		stale   bool
	}
)

var versionModel = porcupine.Model{
	Partition: func(history []porcupine.Operation) [][]porcupine.Operation {
		byRoll := map[string][]porcupine.Operation{}
		for _, op := range history {
			name := op.Input.(versionCall).roll
			byRoll[name] = append(byRoll[name], op)
		}
		var parts [][]porcupine.Operation
		for _, part := range byRoll {
			parts = append(parts, part)
		}
		return parts
	},
	Init: func() any { return int64(1) },
	Step: func(state, input, output any) (bool, any) {
		version, call, answer := state.(int64), input.(versionCall), output.(versionAnswer)
		switch {
		case !call.append:
			return answer.version == version, version
		case answer.stale:
			return call.from != version, version
		default:
			return call.from == version, version + 1
		}
	},
	DescribeOperation: func(input, output any) string { return fmt.Sprintf("%+v -> %+v", input, output) },
}

// testLinearizable records what concurrent callers did and heard, with the
// moments between, and wants an order of single steps that explains it all.
func testLinearizable(t *testing.T, s Store) {
	works(t, s)
	numbers := []string{"W1", "W2"}
	received(t, s, numbers...)
	const callers, each = 5, 12
	var (
		g       errgroup.Group
		mu      sync.Mutex
		history []porcupine.Operation
		stale   atomic.Int64
		start   = time.Now()
	)
	run := func(caller int, call versionCall, do func() (versionAnswer, error)) error {
		began := time.Since(start).Nanoseconds()
		answer, err := do()
		ended := time.Since(start).Nanoseconds()
		if err != nil {
			return err
		}
		if answer.stale {
			stale.Add(1)
		}
		mu.Lock()
		defer mu.Unlock()
		history = append(history, porcupine.Operation{ClientId: caller, Input: call, Call: began, Output: answer, Return: ended})
		return nil
	}
	for i := range callers {
		g.Go(func() error {
			for k := range each {
				number := numbers[(i+k)%len(numbers)]
				var row port.RollRow
				err := run(i, versionCall{roll: number}, func() (versionAnswer, error) {
					err := s.Read(t.Context(), func(r port.Reader) (err error) { row, err = r.Roll(number); return err })
					return versionAnswer{version: row.Version()}, err
				})
				if err != nil {
					return err
				}
				err = run(i, versionCall{roll: number, append: true, from: row.Version()}, func() (versionAnswer, error) {
					err := s.Write(t.Context(), func(w port.Writer) error {
						_, err := follow(w, row, number, row.State.LastAt, looked())
						return err
					})
					if port.IsKind(err, port.Stale) {
						return versionAnswer{stale: true}, nil
					}
					return versionAnswer{}, err
				})
				if err != nil {
					return err
				}
			}
			return nil
		})
	}
	if err := g.Wait(); err != nil {
		t.Fatal(err)
	}
	t.Logf("%d calls, %d of them stale", len(history), stale.Load())
	if result := porcupine.CheckOperationsTimeout(versionModel, history, 20*time.Second); result != porcupine.Ok {
		t.Errorf("no order of single steps explains the %d calls: %s", len(history), result)
	}
}
