package kit

import (
	"context"
	"fmt"

	"barrelbook/client/conn"
	"barrelbook/client/oapi"
)

// NameHistories names the places that an entry read and that are to be
// looked at. That is no talk which --quiet may drop, and no answer of the
// service: it goes to the error stream.
func NameHistories(ctx context.Context, f *Factory, c *conn.Conn, roll string, entry int64) error {
	a, err := conn.Expect[oapi.RollMap](c.API.MapRoll(ctx, roll, &oapi.MapRollParams{}))
	if err != nil {
		return Failure{What: "it is recorded, but its map could not be read"}.Explain(err)
	}
	for _, p := range a.Value.Places {
		if last := p.Looks[len(p.Looks)-1]; p.Named && last.Entry == entry {
			fmt.Fprintf(f.Term.Err, "Look at it: %s.\n", p.Says)
		}
	}
	return nil
}
