package storetest

import (
	"testing"

	"barrelbook/api/app/port"
	"barrelbook/domain/mill"
	"barrelbook/domain/purchase"
)

// testOrders keeps orders as they stand, lists those to come by the day they are
// due, and takes one change of a version.
func testOrders(t *testing.T, s Store) {
	works(t, s)
	full := port.OrderRow{Version: 1, Order: purchase.Order{Name: "PO-2", Mill: "HSM", Role: mill.Work, Stands: []string{"F1"}, Grade: "HSS", Supplier: "Foundry", Rolls: 4, NewDiameter: 780_000, ScrapDiameter: 700_000,
		MassKG: 8200.5, Price: 3_900_000, OrderedAt: hours(1), DueAt: hours(5000), Warranty: purchase.Warranty{TonnageT: 90_000, RolledKM: 2000.5, Months: 24}, By: "buyer", Note: "with certificates"}}
	first := port.OrderRow{Version: 1, Order: purchase.Order{Name: "PO-1", Mill: "HSM", Role: mill.Backup, Rolls: 2, OrderedAt: hours(2), DueAt: hours(100), By: "buyer"}}
	write(t, s, func(w port.Writer) error { return w.CreateOrder(full) })
	write(t, s, func(w port.Writer) error { return w.CreateOrder(first) })
	refused(t, s, port.Conflicting, func(w port.Writer) error { return w.CreateOrder(first) })
	refused(t, s, port.NotFound, func(w port.Writer) error {
		o := first
		o.Name, o.Mill = "PO-3", "nowhere"
		return w.CreateOrder(o)
	})
	read(t, s, func(r port.Reader) error {
		got, err := r.Order("PO-2")
		same(t, "order", got, full)
		if err != nil {
			return err
		}
		page, next, err := r.Orders(port.OrderFilter{Mill: "HSM"}, port.Page{Limit: 1})
		same(t, "the order that is due next", page, []port.OrderRow{first})
		if err != nil {
			return err
		}
		page, _, err = r.Orders(port.OrderFilter{}, port.Page{Limit: 5, After: next})
		same(t, "the others", page, []port.OrderRow{full})
		return err
	})
	changed := full
	changed.Arrived, changed.ClosedAt, changed.ClosedWhy = []string{"W1", "W2"}, hours(300), "foundry gave up"
	write(t, s, func(w port.Writer) error { return w.ReplaceOrder(changed) })
	refused(t, s, port.Stale, func(w port.Writer) error { return w.ReplaceOrder(changed) })
	changed.Version = 2
	read(t, s, func(r port.Reader) error {
		got, err := r.Order("PO-2")
		same(t, "order as it stands", got, changed)
		if err != nil {
			return err
		}
		open, _, err := r.Orders(port.OrderFilter{Open: true}, port.Page{Limit: 5})
		same(t, "orders of which rolls are to come", open, []port.OrderRow{first})
		return err
	})
	refused(t, s, port.NotFound, func(w port.Writer) error { _, err := w.Order("PO-9"); return err })
	testClaims(t, s)
	if err := s.Verify(t.Context()); err != nil {
		t.Errorf("the books do not verify: %v", err)
	}
}

// testClaims keeps claims as they stand, newest first, and takes one change of a
// version.
func testClaims(t *testing.T, s Store) {
	open := port.ClaimRow{Version: 1, Claim: purchase.Claim{Name: "C-1", Roll: "W1", Supplier: "Foundry", What: "spall", MadeAt: hours(3), Claimed: 900_000, By: "buyer", Note: "with pictures"}}
	later := port.ClaimRow{Version: 1, Claim: purchase.Claim{Name: "C-2", Roll: "W2", What: "soft spot", MadeAt: hours(4), By: "buyer"}}
	for _, c := range []port.ClaimRow{open, later} {
		write(t, s, func(w port.Writer) error { return w.CreateClaim(c) })
	}
	refused(t, s, port.Conflicting, func(w port.Writer) error { return w.CreateClaim(open) })
	settled := open
	settled.SettledAt, settled.Credited = hours(9), 600_000
	write(t, s, func(w port.Writer) error { return w.ReplaceClaim(settled) })
	refused(t, s, port.Stale, func(w port.Writer) error { return w.ReplaceClaim(settled) })
	settled.Version = 2
	read(t, s, func(r port.Reader) error {
		all, _, err := r.Claims(port.ClaimFilter{}, port.Page{Limit: 5})
		same(t, "claims, newest first", all, []port.ClaimRow{later, settled})
		if err != nil {
			return err
		}
		still, _, err := r.Claims(port.ClaimFilter{Open: true}, port.Page{Limit: 5})
		same(t, "claims that are open", still, []port.ClaimRow{later})
		if err != nil {
			return err
		}
		of, _, err := r.Claims(port.ClaimFilter{Roll: "W1"}, port.Page{Limit: 5})
		same(t, "claims for a roll", of, []port.ClaimRow{settled})
		return err
	})
}
