package standgeometry_test

import (
	"testing"

	"barrelbook/domain/standgeometry"
)

func BenchmarkSpeedsSevenStands(b *testing.B) {
	train := sevenStands()
	for b.Loop() {
		if _, err := standgeometry.Speeds(train, 10); err != nil {
			b.Fatal(err)
		}
	}
}
