package contact_test

import (
	"fmt"

	"barrelbook/domain/contact"
)

// A 700 mm work roll on a 1500 mm backup roll under 18 MN spread over a
// barrel of 1700 mm.
func Example() {
	steel := contact.Body{DiameterMM: 700, ElasticModulusMPa: 206_000, PoissonRatio: 0.3}
	backup := steel
	backup.DiameterMM = 1500
	r, err := contact.Contact(contact.Input{
		Work: steel, Backup: backup,
		LineLoadNPerMM:   18e6 / 1700,
		ApproachConstant: contact.Foeppl,
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("half-width      %.2f mm\n", r.HalfWidthMM)
	fmt.Printf("peak pressure   %.0f MPa\n", r.PeakPressureMPa)
	fmt.Printf("greatest shear  %.0f MPa, %.1f mm deep\n", r.MaxShearMPa, r.MaxShearDepthMM)
	fmt.Printf("axes approach   %.3f mm\n", r.ApproachMM)
	// Output:
	// half-width      5.33 mm
	// peak pressure   1264 MPa
	// greatest shear  380 MPa, 4.2 mm deep
	// axes approach   0.333 mm
}
