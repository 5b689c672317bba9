package store

import "barrelbook/domain/roll"

func newRegroundDoc(b roll.Reground) regroundDoc {
	m := newMeasuresDoc(b.Measures)
	return regroundDoc{Found: b.Found, FoundAsRead: b.FoundAsRead, AboveShopK: b.AboveShopK, Ground: b.Ground, GaugeUncertainty: b.GaugeUncertainty, MaxPlausible: b.MaxPlausible, For: b.For, CrownUM: m.CrownUM, TaperUM: m.TaperUM, RunoutUM: m.RunoutUM, RoundnessUM: m.RoundnessUM,
		RoughnessUM: m.RoughnessUM, Stations: m.Stations, FoundStations: newMeasuresDoc(roll.Measures{Stations: b.FoundStations}).Stations, GrooveWorn: b.GrooveWorn, FireCrackUM: b.FireCrackUM, Grinder: b.Grinder, Tests: newTestDocs(b.Tests), Confirm: b.Confirm, Confirmed: b.Confirmed, Note: b.Note}
}

func (d regroundDoc) reground() roll.Reground {
	m := measuresDoc{CrownUM: d.CrownUM, TaperUM: d.TaperUM, RunoutUM: d.RunoutUM, RoundnessUM: d.RoundnessUM, RoughnessUM: d.RoughnessUM, Stations: d.Stations}
	return roll.Reground{Found: d.Found, FoundAsRead: d.FoundAsRead, AboveShopK: d.AboveShopK, Ground: d.Ground, GaugeUncertainty: d.GaugeUncertainty,
		MaxPlausible: d.MaxPlausible, For: d.For, Measures: m.measures(), FoundStations: measuresDoc{Stations: d.FoundStations}.measures().Stations, GrooveWorn: d.GrooveWorn, FireCrackUM: d.FireCrackUM,
		Grinder: d.Grinder, Tests: tests(d.Tests), Confirm: d.Confirm, Confirmed: d.Confirmed, Note: d.Note}
}

func newMeasuresDoc(m roll.Measures) measuresDoc {
	d := measuresDoc{CrownUM: m.CrownUM, TaperUM: m.TaperUM, RunoutUM: m.RunoutUM, RoundnessUM: m.RoundnessUM, RoughnessUM: m.RoughnessUM}
	for _, s := range m.Stations {
		d.Stations = append(d.Stations, stationDoc(s))
	}
	return d
}

func (d measuresDoc) measures() roll.Measures {
	m := roll.Measures{CrownUM: d.CrownUM, TaperUM: d.TaperUM, RunoutUM: d.RunoutUM, RoundnessUM: d.RoundnessUM, RoughnessUM: d.RoughnessUM}
	for _, s := range d.Stations {
		m.Stations = append(m.Stations, roll.Station(s))
	}
	return m
}

func newTestDocs(results []roll.Test) []testDoc {
	var docs []testDoc
	for _, t := range results {
		docs = append(docs, testDoc{Kind: t.Kind, Outcome: t.Outcome, CrackDepthUM: t.CrackDepthUM, AllowedUM: t.AllowedUM, Hardness: t.Hardness, Readings: newReadingDocs(t.Readings),
			Instrument: t.Instrument, CalibrationPiece: t.CalibrationPiece, CalibratedAt: stored(t.CalibratedAt), Operator: t.Operator, Note: t.Note})
	}
	return docs
}

func tests(docs []testDoc) []roll.Test {
	var results []roll.Test
	for _, d := range docs {
		results = append(results, roll.Test{Kind: d.Kind, Outcome: d.Outcome, CrackDepthUM: d.CrackDepthUM, AllowedUM: d.AllowedUM, Hardness: d.Hardness,
			Readings: readings(d.Readings), Instrument: d.Instrument, CalibrationPiece: d.CalibrationPiece, CalibratedAt: d.CalibratedAt, Operator: d.Operator, Note: d.Note})
	}
	return results
}

func newReadingDocs(list []roll.Reading) []readingDoc {
	var docs []readingDoc
	for _, r := range list {
		docs = append(docs, readingDoc(r))
	}
	return docs
}

func readings(docs []readingDoc) []roll.Reading {
	var list []roll.Reading
	for _, d := range docs {
		list = append(list, roll.Reading(d))
	}
	return list
}

func newIncidentDoc(b roll.Incident) incidentDoc {
	d := incidentDoc{Name: b.Name, What: b.What, Stand: b.Stand, Note: b.Note}
	if b.Asks != nil {
		asks := make([]askedTestDoc, len(b.Asks))
		for i, a := range b.Asks {
			asks[i] = askedTestDoc(a)
		}
		d.Asks = &asks
	}
	return d
}

func (d incidentDoc) incident() roll.Incident {
	b := roll.Incident{Name: d.Name, What: d.What, Stand: d.Stand, Note: d.Note}
	if d.Asks != nil {
		b.Asks = make([]roll.AskedTest, len(*d.Asks))
		for i, a := range *d.Asks {
			b.Asks[i] = roll.AskedTest(a)
		}
	}
	return b
}
