// Package trials has tests only: of the whole service over HTTP, with real
// databases and real processes, while things go wrong. Retries that overlap,
// writers side by side, databases that are away or full, clocks that differ,
// processes that are killed.
package trials
