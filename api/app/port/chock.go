package port

import (
	"barrelbook/domain/chock"
	"barrelbook/domain/mill"
)

// ChockRow is where a chock is by its book.
type ChockRow struct {
	Name    string
	Mill    string
	Role    mill.Role
	Set     string // empty when on none
	Place   chock.Place
	Version int64 // entries in the book
}

// ChockFilter narrows a list of chocks. Empty fields stand for any.
type ChockFilter struct {
	Mill string
	Set  string
}

// ChockReader reads the books of chocks.
type ChockReader interface {
	Chock(name string) (ChockRow, error)
	Chocks(f ChockFilter, p Page) ([]ChockRow, string, error)
	// ChockBook is the whole book in the order of writing.
	ChockBook(name string) ([]chock.Entry, error)
	ChockEntries(name string, p Page) ([]chock.Entry, string, error)
}

// ChockWriter writes them.
type ChockWriter interface {
	// AppendChock writes entry e, of number after.Version, and where the chock is
	// after it. Conflicting when a new name is taken or the place of the set is,
	// Stale when the book has another length.
	AppendChock(after ChockRow, e chock.Entry) error
}
