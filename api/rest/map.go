package rest

import (
	"context"

	"barrelbook/api/app/record"
	"barrelbook/api/oapi"
	"barrelbook/domain/reading"
)

// MapRoll shows what tests read where on the barrel.
func (s *Server) MapRoll(ctx context.Context, r oapi.MapRollRequestObject) (oapi.MapRollResponseObject, error) {
	within := reading.Near
	if r.Params.AlongMm != nil {
		within.AlongMM = *r.Params.AlongMm
	}
	if r.Params.AroundDeg != nil {
		within.AroundDeg = *r.Params.AroundDeg
	}
	m, err := s.app.MapRoll(ctx, r.Roll, within)
	if err != nil {
		return nil, err
	}
	return oapi.MapRoll200JSONResponse(rollMapToWire(m)), nil
}

func rollMapToWire(m record.RollMap) oapi.RollMap {
	return oapi.RollMap{Roll: m.Roll, BarrelLengthMm: m.Barrel.MM(), AlongMm: m.Within.AlongMM, AroundDeg: m.Within.AroundDeg, Places: list(each(m.Places, placeToWire))}
}

func placeToWire(p reading.Place) oapi.MapPlace {
	return oapi.MapPlace{Test: oapi.TestKind(p.Test), Indication: oapi.Indication(p.Indication), AtMm: p.AtMM, AroundDeg: p.AroundDeg, Course: oapi.MapPlaceCourse(p.Course),
		Grew: optional(p.Grew), Named: p.Named(), Says: p.Says(), ClearAt: when(p.ClearAt),
		Looks: each(p.Looks, func(l reading.Look) oapi.MapLook {
			return oapi.MapLook{Entry: l.Entry, At: l.At.UTC(), AtMm: l.AtMM, AroundDeg: l.AroundDeg, Value: l.Value, Threshold: optional(l.Threshold), DepthUm: optional(l.DepthUM),
				Grinds: int64(l.Grinds), Campaigns: int64(l.Campaigns), DiameterMm: l.Diameter.MM(), Instrument: optional(l.Instrument), Operator: optional(l.Operator), File: optional(l.File)}
		})}
}
