package opening_test

import (
	"fmt"

	"obvert/physics/air"
	"obvert/physics/opening"
)

// A large orifice of 80 mm with a coefficient of 0.6 at 800 m altitude: the
// air it lets in while the pipe stands 0.35 bar below the atmosphere, and the
// vacuum that 0.5 m³/s of water draining away would need.
func Example() {
	site, err := air.Standard(800)
	if err != nil {
		fmt.Println(err)
		return
	}
	o := opening.Orifice{Area: opening.Circle(0.080), Coefficient: 0.6}
	f, err := o.MassFlow(site.Pressure, site.Pressure-35e3, site.Temperature)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("at 0.35 bar: %.3f kg/s, %.3f m³/s normal\n", f.Mass, air.Normal().Volume(f.Mass))

	dp, _, err := opening.Differential(o, 0.5*site.Density, opening.Upstream, site.Pressure, site.Temperature)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("for 0.5 m³/s of outside air: %.3f bar\n", dp/1e5)
	// Output:
	// at 0.35 bar: 0.655 kg/s, 0.507 m³/s normal
	// for 0.5 m³/s of outside air: 0.204 bar
}
