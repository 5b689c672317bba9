package trials

import (
	"bytes"
	"fmt"
	"sync"
	"testing"
	"time"
)

// TestOneKeyTwiceAtOnce sends each record twice at the same time under one key,
// as a client does whose first attempt ran into its timeout. Both attempts must
// see the same answer, and the record is there once.
func TestOneKeyTwiceAtOnce(t *testing.T) {
	t.Parallel()
	both(t, func(t *testing.T, database string) {
		s := open(t, plain(database))
		s.mill()
		past := time.Now().UTC().Add(-48 * time.Hour).Truncate(time.Second)
		s.set("A", "work", 700, past)
		s.set("B", "work", 700, past)
		s.roll("GO", "work", 720, past)
		const pairs = 40
		for i := range pairs {
			path, body := "/v1/changes", change("F1", "work", []string{"A", "B"}[i/2%2], time.Time{})
			switch i % 4 {
			case 1:
				path, body = "/v1/rolls/GO/regrinds", fmt.Sprintf(`{"found_mm":%.2f,"ground_mm":%.2f,"purpose":"wear"`+sure, 720-0.1*float64(i), 720-0.1*float64(i+1))
			case 3:
				path, body = "/v1/rolls", receipt(fmt.Sprintf("N%d", i), "work", 700, past)
			}
			key := newKey()
			var twice [2]reply
			var g sync.WaitGroup
			for k := range twice {
				g.Go(func() { twice[k] = send(s.url, "POST", path, key, body) })
			}
			g.Wait()
			if twice[0].status != 201 || twice[1].status != 201 || !bytes.Equal(twice[0].body, twice[1].body) {
				t.Errorf("pair %d of %s:\n%s\n%s", i, path, twice[0], twice[1])
			}
		}
		if got := s.read("/v1/changes?limit=100")["items"].([]any); len(got) != pairs/2 {
			t.Errorf("%d changes were recorded for %d keys", len(got), pairs/2)
		}
		if err := s.service.Verify(t.Context()); err != nil {
			t.Error(err)
		}
	})
}
