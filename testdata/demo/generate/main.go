// Command generate makes the demo works: invented mills, each with its roll
// shop, a quarter of its past as roll cards tell it, some days of books and pieces
// at a mill's tempo, and a programme ahead. The same seed gives the same files;
// more weeks, or all of them piece by piece, give a larger works.
//
//	go run ./testdata/demo/generate --out testdata/demo
//	go run ./testdata/demo/generate --out /tmp/works --mill hot-strip --weeks 104 --live-weeks 104
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
	weeks := flag.Float64("weeks", 0, "weeks of history; 0 for each mill's own")
	live := flag.Float64("live-weeks", 0, "weeks at the end with each change, grind and piece; what is before them comes on roll cards, with totals. 0 for each mill's own")
	spares := flag.Int("spares", 1, "multiplies the number of sets")
	out := flag.String("out", "testdata/demo", "folder to write a folder for each mill to")
	flag.Parse()

	for i, l := range lines() {
		if *only != "" && l.folder != *only {
			continue
		}
		if *weeks > 0 {
			l.weeks = *weeks
		}
		if *live > 0 {
			l.live = *live
		}
		l.live = min(l.live, l.weeks)
		s := newShop(l, rand.New(rand.NewPCG(*seed, uint64(i+1))), *spares)
		s.run()
		folder := filepath.Join(*out, l.folder)
		if err := s.write(folder); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
		fmt.Printf("%d requests, %d lines of cards and %d pieces written to %s\n", len(s.events), s.carried, len(s.pieces), folder)
	}
}
