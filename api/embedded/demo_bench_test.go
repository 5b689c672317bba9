package embedded_test

import (
	"testing"
	"time"

	"barrelbook/api/embedded"
	"barrelbook/testdata/demo"
)

// BenchmarkDemo loads the demo mill: a year of pieces, changes and regrinds through the
// contract, as a person's first command does.
func BenchmarkDemo(b *testing.B) {
	for b.Loop() {
		s, err := embedded.Open(b.Context(), embedded.Options{Path: b.TempDir() + "/works.db", Volatile: true})
		if err != nil {
			b.Fatal(err)
		}
		if _, err := demo.Load(b.Context(), client{handler: s.Handler()}.do, demo.Options{Now: time.Now()}); err != nil {
			b.Fatal(err)
		}
		if err := s.Close(); err != nil {
			b.Fatal(err)
		}
	}
}
