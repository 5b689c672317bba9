package rest

import (
	"encoding/json"
	"fmt"
	"strconv"

	"github.com/getkin/kin-openapi/openapi3"
)

// tableFrom is the number of items from which on a list that the contract lets
// grow so long is a table. mostBad is how many bad fields are told of at once.
const (
	tableFrom = 1000
	mostBad   = 200
)

// table is a long list: its items checked one by one, and kept as the text that
// they are in the canonical form.
type table struct {
	in    map[string]any
	name  string
	first []any // as many as the schema asks for at least
	text  json.RawMessage
}

func (d *strictDecoder) array(schema *openapi3.Schema, field bool) (any, error) {
	items := []any{}
	if schema == nil || schema.Items == nil {
		return items, d.skip(1) // no list belongs here
	}
	most := uint64(maxBody)
	if schema.MaxItems != nil {
		most = *schema.MaxItems
	}
	long := &table{text: json.RawMessage("[")}
	isTable := field && most >= tableFrom
	for count := uint64(0); d.More(); count++ {
		if len(d.bad)+len(d.wrong) > mostBad {
			return items, errEnough
		}
		if count == most {
			d.refuse(fmt.Sprintf("must have at most %d items", most))
			return items, errEnough
		}
		d.path = append(d.path, strconv.FormatUint(count, 10))
		value, err := d.value(schema.Items.Value, false)
		if err == nil && isTable {
			err = d.keep(long, schema.Items.Value, value)
		}
		d.path = d.path[:len(d.path)-1]
		if err != nil {
			return items, err
		}
		if !isTable || count < schema.MinItems {
			items = append(items, value)
		}
	}
	if _, err := d.Token(); err != nil {
		return items, d.notJSON(err)
	}
	if !isTable {
		return items, nil
	}
	long.first, long.text = items, append(long.text, ']')
	return long, nil
}

// keep checks an item of a table and keeps its text.
func (d *strictDecoder) keep(long *table, item *openapi3.Schema, value any) error {
	d.wrong = append(d.wrong, schemaProblems(item, value, d.pointer())...)
	text, err := json.Marshal(value)
	if err != nil {
		return err
	}
	if len(long.text) > 1 {
		long.text = append(long.text, ',')
	}
	long.text = append(long.text, text...)
	return nil
}
