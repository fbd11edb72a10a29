package sealing_test

import (
	"context"
	"fmt"

	"obvert/engine/sealing"
	"obvert/physics/valve"
)

// An invented valve on a flat line with 2.4 m of static head: pumping shuts it, and it holds when the pumps stop. Had the
// line never been pumped, it would drip at the same head.
func ExampleSolve() {
	const density, gravity = 998.2, 9.81
	metres := func(h float64) valve.Threshold {
		return valve.Threshold{Bound: valve.Measured, Mean: h * density * gravity, HasScatter: true}
	}
	in := sealing.Input{
		Density: density, Gravity: gravity,
		Rack:   []valve.Record{{Name: "Linnet", Sealing: metres(3), LettingGo: metres(2)}},
		Valves: []sealing.Valve{{Name: "Valve 1", Obvert: 100, Seat: 100.4, AdmitsAir: true}},
		Cases: []sealing.Case{
			{Name: "standing, as built", Standing: true, At: []sealing.At{{Level: 102.8, Group: -1}}},
			{Name: "pumping", At: []sealing.At{{Level: 115, Group: -1}}},
			{Name: "standing", Standing: true, At: []sealing.At{{Level: 102.8, Group: -1}}},
		},
	}
	res, err := sealing.Solve(context.Background(), in)
	if err != nil {
		fmt.Println(err)
		return
	}
	for k, c := range res.Valves[0].Cells {
		fmt.Printf("%s: %v, %.2f m at the seat, margin %.2f m\n", in.Cases[k].Name, c.State, c.Head, c.Margin)
	}
	// Output:
	// standing, as built: drips, 2.40 m at the seat, margin -0.60 m
	// pumping: tight, 14.60 m at the seat, margin 11.60 m
	// standing: tight, 2.40 m at the seat, margin 0.40 m
}
