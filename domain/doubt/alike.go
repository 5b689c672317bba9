package doubt

import (
	"fmt"

	"barrelbook/domain/spelling"
)

// Receipt asks of a new roll's number that looks like one in the books. others
// are the numbers of the same look; one that differs by its case alone is the
// same number, and refused elsewhere.
func Receipt(number string, others []string) []Question {
	for _, other := range others {
		if !spelling.Same(number, other) {
			return []Question{{Alike, "number", fmt.Sprintf("number %s looks like roll %s, which has a book already", number, other)}}
		}
	}
	return nil
}
