// Command generate makes the demo works: an invented hot strip mill with its
// roll shop, years of books, pieces rolled and a programme ahead. The same seed
// gives the same files; more weeks or sets give a larger works.
//
//	go run ./testdata/demo/generate --out testdata/demo/hot-strip
//
// Nothing in it is taken from a real works. Rates, limits and mishaps are of
// the order of common practice, no source.
package main

import (
	"flag"
	"fmt"
	"math/rand/v2"
	"os"
	"time"
)

// anchor is the moment that stands for "now" in the files; the loader moves
// all times so that it becomes the present.
var anchor = time.Date(2030, 1, 7, 2, 0, 0, 0, time.UTC)

func main() {
	seed := flag.Uint64("seed", 7, "seed of the random numbers")
	weeks := flag.Int("weeks", 104, "weeks of history, one campaign a week")
	spares := flag.Int("spares", 1, "multiplies the number of spare sets")
	pieceWeeks := flag.Int("piece-weeks", 21, "weeks at the end for which each piece is kept")
	out := flag.String("out", "testdata/demo/hot-strip", "folder to write to")
	flag.Parse()

	s := newShop(rand.New(rand.NewPCG(*seed, 1)), *weeks, *spares, *pieceWeeks)
	s.run()
	if err := s.write(*out); err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
	fmt.Printf("%d requests and %d pieces written to %s\n", len(s.events), len(s.pieces), *out)
}
