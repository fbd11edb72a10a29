package sizing

import (
	"encoding/json"
	"os"
	"testing"

	"obvert/line"
)

// The chain of [TestChainDN500] to all digits against testdata/chain.json, which testdata/chain.py evaluates apart from this code: no published
// figures, a second hand.
func TestChainScript(t *testing.T) {
	data, err := os.ReadFile("testdata/chain.json")
	if err != nil {
		t.Fatal(err)
	}
	var script struct {
		Burst []struct {
			Slope, Velocity, Flow float64
			Free                  float64 `json:"free_air"`
			Pipe                  float64 `json:"pipe_air"`
		}
		Fill  float64 `json:"fill_flow"`
		Vent  float64
		Small float64 `json:"small_orifice"`
	}
	if err := json.Unmarshal(data, &script); err != nil {
		t.Fatal(err)
	}
	if len(script.Burst) != 3 {
		t.Fatalf("%d slopes", len(script.Burst))
	}
	for _, c := range script.Burst {
		l, p := straight(line.Section{Bore: 0.514, Roughness: 1e-4}, c.Slope)
		l.Site.Viscosity, l.Site.Gravity = 1.31e-6, 9.81
		l.Site.AtmosphericPressure, l.Site.AirTemperature = 101325, 288.15
		l.Practice.AdmitDifferential.Value, l.Practice.VentDifferential.Value = 35e3, 13.79e3
		p.NoRelease = false
		p.Cases = []CaseState{{Name: "pumping", Flow: 0.3, Head: 6e5 / (l.Site.Density * l.Site.Gravity)}}
		r := solve(t, Input{Line: l, Places: []Place{p}})
		d, f := duty(t, &r.Places[0], FullBurst), duty(t, &r.Places[0], Fill)
		relative(t, "velocity", d.Velocity, c.Velocity, 1e-9)
		relative(t, "flow", d.Water, c.Flow, 1e-9)
		relative(t, "free air", d.All[0].Diameter, c.Free, 1e-9)
		relative(t, "pipe air", d.All[1].Diameter, c.Pipe, 1e-9)
		relative(t, "filling flow", f.Water, script.Fill, 1e-9)
		relative(t, "vent", f.Need.Diameter, script.Vent, 1e-9)
		relative(t, "small orifice", r.Places[0].Release.RuleDiameter, script.Small, 1e-9)
	}
}
