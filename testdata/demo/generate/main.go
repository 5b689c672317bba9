// Command generate makes the demo works: invented mills, each with its roll
// shop, months of books, pieces rolled and a programme ahead. The same seed
// gives the same files; more weeks or sets give a larger works.
//
//	go run ./testdata/demo/generate --out testdata/demo
//
// Nothing in it is taken from a real works. Rates, limits and mishaps are of
// the order of common practice, no source.
package main

import (
	"flag"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"time"
)

// anchor is the moment that stands for "now" in the files; the loader moves
// all times so that it becomes the present.
var anchor = time.Date(2030, 1, 7, 2, 0, 0, 0, time.UTC)

func main() {
	seed := flag.Uint64("seed", 7, "seed of the random numbers")
	only := flag.String("mill", "", "one mill; all of them when empty")
	weeks := flag.Int("weeks", 0, "weeks of history, one campaign a week; 0 for each mill's own")
	spares := flag.Int("spares", 1, "multiplies the number of spare sets")
	pieceWeeks := flag.Int("piece-weeks", 0, "weeks at the end for which each piece is kept; 0 for each mill's own")
	out := flag.String("out", "testdata/demo", "folder to write a folder for each mill to")
	flag.Parse()

	for i, l := range lines() {
		if *only != "" && l.folder != *only {
			continue
		}
		if *weeks > 0 {
			l.weeks = *weeks
		}
		if *pieceWeeks > 0 {
			l.pieceWeeks = *pieceWeeks
		}
		s := newShop(l, rand.New(rand.NewPCG(*seed, uint64(i+1))), *spares)
		s.run()
		folder := filepath.Join(*out, l.folder)
		if err := s.write(folder); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
		fmt.Printf("%d requests and %d pieces written to %s\n", len(s.events), len(s.pieces), folder)
	}
}
