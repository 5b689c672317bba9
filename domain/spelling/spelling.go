// Package spelling compares names as people write them: whatever their case, by
// what they look like on a worn plate, and by how few slips part them.
package spelling

import "strings"

// Same says whether two names differ by their case alone.
func Same(a, b string) bool { return strings.EqualFold(a, b) }

// lookAlike are the characters that are read for one another on a roll's neck;
// what parts the groups of a name says nothing.
var lookAlike = strings.NewReplacer("o", "0", "i", "1", "l", "1", "s", "5", "b", "8", "z", "2", "-", "", "_", "", ".", "")

// Look is what a name looks like: two names of one look are easily taken for one
// another, as CW-110 and cw11O. It has no more than the characters of a name of
// the contract.
func Look(name string) string { return lookAlike.Replace(strings.ToLower(name)) }

// Nearest is the word that fewest slips part from text, "" where all take more
// than two, or than one of a text of three characters and less. Case is no slip,
// two neighbours changed over are one; of equals the first.
func Nearest(text string, words []string) string {
	best, least := "", 3
	if len(text) <= 3 {
		least = 2
	}
	for _, w := range words {
		if d := slips(strings.ToLower(text), strings.ToLower(w)); d < least {
			best, least = w, d
		}
	}
	return best
}

// slips is the least number of letters to change, add, drop or change over with
// their neighbour between two words (optimal string alignment).
func slips(a, b string) int {
	var before []int
	row := make([]int, len(b)+1)
	for j := range row {
		row[j] = j
	}
	for i := range len(a) {
		next := make([]int, len(b)+1)
		next[0] = i + 1
		for j := range len(b) {
			cost := row[j]
			if a[i] != b[j] {
				cost++
			}
			next[j+1] = min(cost, next[j]+1, row[j+1]+1)
			if i > 0 && j > 0 && a[i] == b[j-1] && a[i-1] == b[j] {
				next[j+1] = min(next[j+1], before[j-1]+1)
			}
		}
		before, row = row, next
	}
	return row[len(b)]
}
