package rest

import (
	"context"

	"barrelbook/api/oapi"
	"barrelbook/domain/contact"
)

const contactModel = "contact 1: Hertz line contact, stresses below the surface after McEwen"

// CalculateContact computes the contact of two rolls.
func (s *Server) CalculateContact(_ context.Context, r oapi.CalculateContactRequestObject) (oapi.CalculateContactResponseObject, error) {
	in := contact.Input{Work: bodyFromWire(r.Body.Work), Backup: bodyFromWire(r.Body.Backup), LineLoadNPerMM: r.Body.LineLoadNPerMm, ApproachConstant: contact.DefaultApproachConstant}
	if r.Body.ApproachConstant != nil {
		in.ApproachConstant = *r.Body.ApproachConstant
	}
	c, err := contact.Contact(in)
	if err != nil {
		return nil, err
	}
	w := oapi.CalculateContact200JSONResponse{
		Model: contactModel, HalfWidthMm: c.HalfWidthMM, PeakPressureMpa: c.PeakPressureMPa, MeanPressureMpa: c.MeanPressureMPa,
		MaxShearMpa: c.MaxShearMPa, MaxShearDepthMm: c.MaxShearDepthMM, MaxOrthogonalShearMpa: c.MaxOrthogonalShearMPa, MaxOrthogonalShearDepthMm: c.MaxOrthogonalShearDepthMM,
		MaxVonMisesWorkMpa: c.Work.VonMisesMPa, MaxVonMisesWorkDepthMm: c.Work.VonMisesDepthMM, MaxVonMisesBackupMpa: c.Backup.VonMisesMPa, MaxVonMisesBackupDepthMm: c.Backup.VonMisesDepthMM,
		ApproachMm: c.ApproachMM, ApproachConstant: in.ApproachConstant,
	}
	// Told only where it is the greater of the two greatest shears.
	if c.Work.OutOfPlaneShearMPa > c.MaxShearMPa {
		w.MaxOutOfPlaneShearWorkMpa, w.MaxOutOfPlaneShearWorkDepthMm = &c.Work.OutOfPlaneShearMPa, &c.Work.OutOfPlaneShearDepthMM
	}
	if c.Backup.OutOfPlaneShearMPa > c.MaxShearMPa {
		w.MaxOutOfPlaneShearBackupMpa, w.MaxOutOfPlaneShearBackupDepthMm = &c.Backup.OutOfPlaneShearMPa, &c.Backup.OutOfPlaneShearDepthMM
	}
	return w, nil
}

func bodyFromWire(w oapi.CalcBody) contact.Body {
	return contact.Body{DiameterMM: w.DiameterMm, ElasticModulusMPa: w.ElasticModulusMpa, PoissonRatio: w.PoissonRatio}
}
