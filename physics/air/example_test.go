package air_test

import (
	"fmt"

	"obvert/physics/air"
)

// One flow of air, 1 kg/s, counted in four kinds of cubic metre.
func ExampleReference() {
	site, err := air.At("free air at the site", 303.15, 84e3, 0.4)
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, r := range []air.Reference{air.Normal(), air.StandardISO(), air.ANR(), site} {
		fmt.Printf("%.4f m³/s %v\n", r.Volume(1), r)
	}
	// Output:
	// 0.7738 m³/s normal (0 °C, 101.325 kPa)
	// 0.8163 m³/s standard (15 °C, 101.325 kPa)
	// 0.8439 m³/s ANR (20 °C, 100 kPa, 65 % RH)
	// 1.0437 m³/s free air at the site (30 °C, 84 kPa, 40 % RH)
}
