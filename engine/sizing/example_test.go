package sizing_test

import (
	"context"
	"fmt"

	"obvert/engine/sizing"
	"obvert/line"
	"obvert/physics/valve"
)

// A DN 500 ductile iron main falls at 2 % behind a summit. The valve there has a bore of 80 mm. What does a full-bore burst ask of
// it, and which valve of the rack would do?
func Example() {
	l := &line.Line{
		Site: line.Site{WaterTemperature: 283.15, AirTemperature: 288.15, Gravity: 9.80665, AtmosphericPressure: 101325,
			VapourPressure: 1228, Density: 999.7, Viscosity: 1.31e-6},
		Practice: line.DefaultPractice(),
		Nodes:    []line.Node{{Name: "Station", Runs: []int{0}}, {Name: "Tank", Runs: []int{0}}},
		Runs: []line.Run{{
			Name: "Ridge main", From: 0, To: 1,
			Points:   []line.Point{{Chainage: 0, Obvert: 20}, {Chainage: 800, Obvert: 30, Distance: 800.06}, {Chainage: 1800, Obvert: 10, Distance: 1800.26}},
			Sections: []line.Section{{To: 1800, Bore: 0.514, Wall: 0.009, Modulus: 170e9, Poisson: 0.28, Roughness: 1e-4, Material: "ductile iron"}},
		}},
	}
	for _, mm := range []float64{80, 100, 150} {
		a := &valve.Air{Diameter: mm / 1e3, Coefficient: 0.6}
		l.Rack = append(l.Rack, valve.Record{Name: fmt.Sprintf("type %.0f", mm), NominalDiameter: mm / 1e3, AdmitsAir: true, In: a, Out: a})
	}
	r, err := sizing.Solve(context.Background(), sizing.Input{Line: l, Places: []sizing.Place{{
		Name: "AV1", Chainage: 800, Placed: -1, Record: 0, Obvert: 30, NoRelease: true, Legs: sizing.Legs(l, 0, 800),
	}}})
	if err != nil {
		fmt.Println(err)
		return
	}
	p := r.Places[0]
	d := p.Duties[p.In.Governs]
	fmt.Printf("%s: %.0f L/s of water, %.3f kg/s of air at %.1f kPa\n", d.Kind, d.Water*1e3, d.Need.Mass, d.Differential/1e3)
	fmt.Printf("orifice %.0f mm by free air, %.0f mm by air at pipe pressure\n", d.All[0].Diameter*1e3, d.All[1].Diameter*1e3)
	fmt.Printf("%s passes %.0f %% of it: %s\n", l.Rack[p.Record].Name, 100*p.In.Given.Ratio, p.Verdict)
	fmt.Printf("smallest that does: %s, next: %s\n", l.Rack[p.Smallest].Name, l.Rack[p.NextUp].Name)
	// Output:
	// full-bore burst: 778 L/s of water, 0.953 kg/s of air at 34.5 kPa
	// orifice 93 mm by free air, 76 mm by air at pipe pressure
	// type 80 passes 73 % of it: too small
	// smallest that does: type 100, next: type 150
}
