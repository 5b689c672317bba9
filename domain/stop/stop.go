// Package stop lets whoever waits for a long computation end it, without the
// computation knowing of clocks or callers.
package stop

// Check says whether to go on: nil, or the error that the computation is to end
// with. A nil Check never ends anything. The Err method of a context is one.
//
// A function that can work for more than some 50 ms takes a Check, in its options
// or input where it has some, else as its last argument, and asks it at least that often.
type Check func() error

// Err asks the check.
func (c Check) Err() error {
	if c == nil {
		return nil
	}
	return c()
}

// Watch asks a check at one call in Every (0 stands for 1) and remembers how it
// ended, for loops that are far below the function that gives the error.
type Watch struct {
	Check Check
	Every int
	calls int
	err   error
}

// Ended says whether the work is to end: the loop then leaves off, whatever it
// has, and the function that began it gives Err.
func (w *Watch) Ended() bool {
	if w.calls++; w.err == nil && w.calls >= w.Every {
		w.calls, w.err = 0, w.Check.Err()
	}
	return w.err != nil
}

// Err is what the check ended the work with, nil when it did not.
func (w *Watch) Err() error { return w.err }
