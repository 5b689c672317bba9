package rest

import (
	"encoding/json"

	"barrelbook/api/app/port"
	"barrelbook/api/app/record"
	"barrelbook/api/oapi"
	"barrelbook/domain/refusal"
	"barrelbook/domain/roll"
)

// clearOfRegrind makes each field of a regrind as if it had not been said.
var clearOfRegrind = map[oapi.RegrindCorrectionClear]func(*record.RegrindInput){
	oapi.RegrindCorrectionClearTemperatureAboveShopK: func(in *record.RegrindInput) { in.AboveShopK = 0 },
	oapi.RegrindCorrectionClearCrownUm:               func(in *record.RegrindInput) { in.CrownUM = nil },
	oapi.RegrindCorrectionClearTaperUm:               func(in *record.RegrindInput) { in.TaperUM = nil },
	oapi.RegrindCorrectionClearRunoutUm:              func(in *record.RegrindInput) { in.RunoutUM = nil },
	oapi.RegrindCorrectionClearRoundnessUm:           func(in *record.RegrindInput) { in.RoundnessUM = nil },
	oapi.RegrindCorrectionClearRoughnessUm:           func(in *record.RegrindInput) { in.RoughnessUM = nil },
	oapi.RegrindCorrectionClearStations:              func(in *record.RegrindInput) { in.Stations = nil },
	oapi.RegrindCorrectionClearFoundStations:         func(in *record.RegrindInput) { in.FoundStations = nil },
	oapi.RegrindCorrectionClearGrooveWornUm:          func(in *record.RegrindInput) { in.GrooveWornUM = nil },
	oapi.RegrindCorrectionClearGrinder:               func(in *record.RegrindInput) { in.Grinder = "" },
	oapi.RegrindCorrectionClearTests:                 func(in *record.RegrindInput) { in.Tests = nil },
	oapi.RegrindCorrectionClearConfirm:               func(in *record.RegrindInput) { in.Confirm = "" },
	oapi.RegrindCorrectionClearNote:                  func(in *record.RegrindInput) { in.Note = "" },
}

// clearOfReceipt does so of a receipt.
var clearOfReceipt = map[oapi.ReceiptCorrectionClear]func(*roll.Received){
	oapi.ReceiptCorrectionClearStands:             func(b *roll.Received) { b.Stands = nil },
	oapi.ReceiptCorrectionClearSupplier:           func(b *roll.Received) { b.Roll.Supplier = "" },
	oapi.ReceiptCorrectionClearCertificate:        func(b *roll.Received) { b.Roll.Certificate = "" },
	oapi.ReceiptCorrectionClearBearingSpanMm:      func(b *roll.Received) { b.Roll.BearingSpan = 0 },
	oapi.ReceiptCorrectionClearNeckDiameterMm:     func(b *roll.Received) { b.Roll.NeckDiameter = 0 },
	oapi.ReceiptCorrectionClearNeckFilletRadiusMm: func(b *roll.Received) { b.Roll.NeckRadius = 0 },
	oapi.ReceiptCorrectionClearCrownUm:            func(b *roll.Received) { b.CrownUM, b.Measures.CrownUM = 0, nil },
	oapi.ReceiptCorrectionClearTaperUm:            func(b *roll.Received) { b.Measures.TaperUM = nil },
	oapi.ReceiptCorrectionClearRunoutUm:           func(b *roll.Received) { b.Measures.RunoutUM = nil },
	oapi.ReceiptCorrectionClearRoundnessUm:        func(b *roll.Received) { b.Measures.RoundnessUM = nil },
	oapi.ReceiptCorrectionClearRoughnessUm:        func(b *roll.Received) { b.Measures.RoughnessUM = nil },
	oapi.ReceiptCorrectionClearStations:           func(b *roll.Received) { b.Measures.Stations = nil },
	oapi.ReceiptCorrectionClearTests:              func(b *roll.Received) { b.Tests = nil },
	oapi.ReceiptCorrectionClearHardnessShoreC:     func(b *roll.Received) { b.Hardness = 0 },
	oapi.ReceiptCorrectionClearGrooves:            func(b *roll.Received) { b.Roll.Grooves = nil },
	oapi.ReceiptCorrectionClearPrice:              func(b *roll.Received) { b.Roll.Price = 0 },
	oapi.ReceiptCorrectionClearNote:               func(b *roll.Received) { b.Note = "" },
}

// clearsWhatItGives refuses a correction that gives a field and clears it.
func clearsWhatItGives(w oapi.CorrectionInput) error {
	if w.Regrind != nil {
		return notBoth("regrind/", *w.Regrind, given(w.Regrind.Clear))
	}
	if w.Receipt != nil {
		return notBoth("receipt/", *w.Receipt, given(w.Receipt.Clear))
	}
	return nil
}

// notBoth refuses a field that is given and cleared.
func notBoth[Field ~string](prefix string, w any, cleared []Field) error {
	if len(cleared) == 0 {
		return nil
	}
	raw, err := json.Marshal(w)
	if err != nil {
		return err
	}
	var members map[string]json.RawMessage
	if err := json.Unmarshal(raw, &members); err != nil {
		return err
	}
	var c refusal.Check
	for _, field := range cleared {
		if _, is := members[string(field)]; is {
			c.Add(prefix+string(field), "", "is given and named in clear", "do one of the two")
		}
	}
	return port.Refused(c.Err())
}
