package embedded

import (
	"regexp"
	"sort"
	"sync"
	"testing"
	"time"
)

// TestNamesAreNewAndSorted makes names faster than the clock ticks and with a
// clock that stands still or goes back.
func TestNamesAreNewAndSorted(t *testing.T) {
	at := time.Date(2031, 3, 3, 6, 0, 0, 0, time.UTC)
	n := newNames(func() time.Time { return at })
	var made []string
	for i := range 5000 {
		if i == 3000 {
			at = at.Add(-time.Second)
		}
		if i == 4000 {
			at = at.Add(time.Hour)
		}
		made = append(made, n.Name("set"))
	}
	if !sort.StringsAreSorted(made) {
		t.Error("the names do not sort by the order they were made in")
	}
	form := regexp.MustCompile(`^set-[0-9a-z]{13}$`)
	seen := map[string]bool{}
	for _, name := range made {
		if seen[name] || !form.MatchString(name) {
			t.Fatalf("%s is given twice or malformed", name)
		}
		seen[name] = true
	}
	if later := newNames(func() time.Time { return at.AddDate(80, 0, 0) }).Name("set"); later < made[len(made)-1] {
		t.Errorf("%s, made 80 years later, sorts before %s", later, made[len(made)-1])
	}
}

func TestNamesAreNewAcrossGoroutines(t *testing.T) {
	n := newNames(time.Now)
	var mu sync.Mutex
	seen := map[string]bool{}
	var all sync.WaitGroup
	for range 8 {
		all.Go(func() {
			for range 500 {
				name := n.Name("x")
				mu.Lock()
				if seen[name] {
					t.Errorf("%s was given twice", name)
				}
				seen[name] = true
				mu.Unlock()
			}
		})
	}
	all.Wait()
}
