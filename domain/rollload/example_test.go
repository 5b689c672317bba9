package rollload_test

import (
	"fmt"

	"barrelbook/domain/contact"
	"barrelbook/domain/rollload"
)

// A hot strip finishing stand: 18 MN over 1250 mm of strip, work rolls 700 mm
// with 100 µm of crown, 500 kN of bending per chock.
func Example() {
	roll := func(diameter, neck float64) rollload.Roll {
		return rollload.Roll{
			Body:           contact.Body{DiameterMM: diameter, ElasticModulusMPa: 206_000, PoissonRatio: 0.3},
			BarrelLengthMM: 1700, BearingSpanMM: 2700, NeckDiameterMM: neck,
			ShearCoefficient: rollload.DefaultShearCoefficient,
		}
	}
	stack := rollload.Stack{Work: roll(700, 450), Backup: roll(1500, 950), ApproachConstant: contact.Foeppl}
	coefficients, err := rollload.NewCoefficients(stack, rollload.Options{Stations: 5})
	if err != nil {
		fmt.Println(err)
		return
	}
	load := rollload.Load{
		Strip:         rollload.Points{XMM: []float64{-625, 625}, Value: []float64{14_400, 14_400}},
		BendingForceN: 500_000,
		Work:          rollload.Profile{CrownUM: 100},
	}
	r, err := rollload.NewSolver(coefficients).Solve(&load)
	if err != nil {
		fmt.Println(err)
		return
	}
	for i, x := range r.StationXMM {
		fmt.Printf("%5.0f mm  %6.0f N/mm  %5.0f MPa\n", x, r.StationLineLoadNPerMM[i], r.StationPeakPressureMPa[i])
	}
	fmt.Printf("work roll axis, centre above strip edge: %.0f µm\n", r.WorkAxisCentreMinusStripEdgeUM)
	// Output:
	//  -850 mm   10654 N/mm   1268 MPa
	//  -425 mm   11233 N/mm   1302 MPa
	//     0 mm   11715 N/mm   1330 MPa
	//   425 mm   11233 N/mm   1302 MPa
	//   850 mm   10654 N/mm   1268 MPa
	// work roll axis, centre above strip edge: 51 µm
}
