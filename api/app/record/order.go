package record

import (
	"context"
	"strconv"
	"time"

	"barrelbook/api/app/port"
	"barrelbook/domain/next"
	"barrelbook/domain/purchase"
	"barrelbook/domain/refusal"
	"barrelbook/domain/roll"
)

// OrderView is an order with what a person asks of it.
type OrderView struct {
	port.OrderRow
	Late bool
}

// Orders lists orders by the day they are due.
func (a *Recorder) Orders(ctx context.Context, f port.OrderFilter, p port.Page) (views []OrderView, next string, err error) {
	err = a.store.Read(ctx, func(r port.Reader) error {
		rows, after, err := r.Orders(f, p)
		for _, row := range rows {
			views = append(views, a.orderView(row, a.clock.Now()))
		}
		next = after
		return err
	})
	return views, next, err
}

// Order shows one. NotFound when there is none of the name.
func (a *Recorder) Order(ctx context.Context, name string) (v OrderView, err error) {
	err = a.store.Read(ctx, func(r port.Reader) error {
		row, err := r.Order(name)
		v = a.orderView(row, a.clock.Now())
		return err
	})
	return v, err
}

func (a *Recorder) orderView(row port.OrderRow, now time.Time) OrderView {
	return OrderView{OrderRow: row, Late: row.Late(now)}
}

// PlaceOrder keeps an order. Conflicting when the name is taken; Impossible where
// mill, grade, stands or figures cannot be.
func (a *Recorder) PlaceOrder(ctx context.Context, call port.Call, o purchase.Order) (OrderView, error) {
	return record(ctx, a, call, "placed an order of "+strconv.Itoa(o.Rolls)+" rolls", func(w port.Writer, now time.Time) (OrderView, error) {
		var err error
		if o.OrderedAt, err = resolveMoment(o.OrderedAt, now); err != nil {
			return OrderView{}, err
		}
		if o.Name == "" {
			o.Name = a.ids.Name("order")
		}
		o.By = call.Actor
		if err := checkOrder(w, o); err != nil {
			return OrderView{}, err
		}
		row := port.OrderRow{Order: o, Version: 1}
		return a.orderView(row, now), w.CreateOrder(row)
	})
}

func checkOrder(r port.Reader, o purchase.Order) error {
	var c refusal.Check
	if err := checkKnown(&c, "mill", o.Mill, func() error { _, err := r.Mill(o.Mill); return err }); err != nil {
		return err
	}
	if o.Grade != "" {
		if err := checkKnown(&c, "grade", o.Grade, func() error { _, err := r.Grade(o.Grade); return err }); err != nil {
			return err
		}
	}
	for i, name := range o.Stands {
		if err := checkStand(r, &c, i, name, roll.Received{Mill: o.Mill, Roll: roll.Roll{Role: o.Role}}); err != nil {
			return err
		}
	}
	for _, f := range refusal.FieldsOf(o.Check()) {
		c.Add(f.Path, f.Value, f.Limit, f.Do)
	}
	return port.Refused(c.Err())
}

// RecordArrival says which rolls came with an order. Impossible for a roll that
// has no book, is of another mill or role, or came with the order before.
func (a *Recorder) RecordArrival(ctx context.Context, call port.Call, name string, rolls []string) (OrderView, error) {
	return a.changeOrder(ctx, call, "recorded an arrival with order "+name, name, func(w port.Writer, _ time.Time, o purchase.Order) (purchase.Order, error) {
		rows, err := w.RollsByNumber(rolls)
		if err != nil {
			return o, err
		}
		known := map[string]roll.State{}
		for _, row := range rows {
			known[row.State.Roll.Number] = row.State
		}
		var c refusal.Check
		for i, number := range rolls {
			field := "rolls/" + strconv.Itoa(i)
			switch s, there := known[number]; {
			case !there:
				c.Add(field, number, "has no book", "receive the roll first", next.ReceiveRoll())
			case s.Mill != o.Mill || s.Roll.Role != o.Role:
				c.Add(field, number, "is a "+string(s.Roll.Role)+" roll of mill "+s.Mill+"; the order is of "+string(o.Role)+" rolls for "+o.Mill, "check the order")
			}
		}
		if err := c.Err(); err != nil {
			return o, err
		}
		return o.Arrive(rolls)
	})
}

// MoveOrder gives what is still to come another due date.
func (a *Recorder) MoveOrder(ctx context.Context, call port.Call, name string, due time.Time, note string) (OrderView, error) {
	return a.changeOrder(ctx, call, "moved order "+name, name, func(_ port.Writer, _ time.Time, o purchase.Order) (purchase.Order, error) {
		o.DueAt = due.UTC().Truncate(time.Microsecond)
		if note != "" {
			o.Note = note
		}
		return o, o.Check()
	})
}

// CloseOrder ends an order of which no more rolls will come.
func (a *Recorder) CloseOrder(ctx context.Context, call port.Call, name string, at time.Time, why string) (OrderView, error) {
	return a.changeOrder(ctx, call, "closed order "+name, name, func(_ port.Writer, now time.Time, o purchase.Order) (purchase.Order, error) {
		if !o.ClosedAt.IsZero() {
			return o, port.Fail(port.Conflicting, "order %s was closed on %s: %s", name, o.ClosedAt.Format(time.DateOnly), o.ClosedWhy)
		}
		var err error
		o.ClosedWhy = why
		o.ClosedAt, err = resolveMoment(at, now)
		return o, err
	})
}

// changeOrder is one change of an order as it stands.
func (a *Recorder) changeOrder(ctx context.Context, call port.Call, what, name string, change func(port.Writer, time.Time, purchase.Order) (purchase.Order, error)) (OrderView, error) {
	return record(ctx, a, call, what, func(w port.Writer, now time.Time) (OrderView, error) {
		row, err := w.Order(name)
		if err != nil {
			return OrderView{}, err
		}
		if row.Order, err = change(w, now, row.Order); err != nil {
			if refusal.FieldsOf(err) != nil {
				err = port.Refused(err)
			}
			return OrderView{}, err
		}
		if err := w.ReplaceOrder(row); err != nil {
			return OrderView{}, err
		}
		row.Version++
		return a.orderView(row, now), nil
	})
}
