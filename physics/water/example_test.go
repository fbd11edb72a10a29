package water_test

import (
	"fmt"

	"obvert/physics/water"
)

// Water at 12 °C and 6 bar absolute: what a pipeline needs to know of it, and
// the air it can hold.
func ExampleAt() {
	const tK, p = 285.15, 6e5
	w, err := water.At(tK, p)
	if err != nil {
		fmt.Println(err)
		return
	}
	c, err := water.AirCapacity(tK, p)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("density %.2f kg/m³, viscosity %.3f mm²/s\n", w.Density, w.KinematicViscosity*1e6)
	fmt.Printf("bulk modulus %.3f GPa (waves), %.3f GPa (slow)\n", w.BulkModulus/1e9, w.IsothermalBulkModulus/1e9)
	fmt.Printf("vapour pressure %.0f Pa\n", w.VapourPressure)
	fmt.Printf("holds at most %.0f L of normal air a cubic metre\n", 1000*c.NormalVolume)
	// Output:
	// density 999.73 kg/m³, viscosity 1.234 mm²/s
	// bulk modulus 2.120 GPa (waves), 2.116 GPa (slow)
	// vapour pressure 1403 Pa
	// holds at most 130 L of normal air a cubic metre
}
