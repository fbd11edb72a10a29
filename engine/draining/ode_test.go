package draining

import (
	"encoding/json"
	"math"
	"os"
	"testing"

	"obvert/line"
)

// Two pools and a check valve against an independent integration in time by a general-purpose library (testdata/two_pools.py).
func TestTwoPoolsAgainstAnotherIntegrator(t *testing.T) {
	data, err := os.ReadFile("testdata/two_pools.json")
	if err != nil {
		t.Fatal(err)
	}
	var want struct {
		Joins float64 `json:"joins_s"`
		At    []struct {
			Time  float64 `json:"time_s"`
			Level float64 `json:"level_m"`
			Lost1 float64 `json:"lost_1_m3"`
			Lost2 float64 `json:"lost_2_m3"`
		}
	}
	if err := json.Unmarshal(data, &want); err != nil {
		t.Fatal(err)
	}
	b := newBuild()
	r := b.run("main", b.tank("Low tank", 10, 5), b.node("B", line.DeadEnd), 0.3, [2]float64{0, 0}, [2]float64{200, 0}, [2]float64{300, 3}, [2]float64{400, 16})
	r.Equipment = []line.Equipment{{Name: "NRV", Kind: line.CheckValve, Chainage: 100}}
	b.leaks("AV 1", 0, 150, 0.5, func(p float64) float64 { return 2e-5 * math.Sqrt(p/9810) })
	b.leaks("AV 2", 0, 300, 0.4, func(p float64) float64 { x := p / 9810; return 4e-5 * x * math.Exp(-x/2) })
	b.leaks("AV 3", 0, 400, 0.4, linear(0))
	b.stand(10, span{0, 0, 100})
	b.stand(14, span{0, 100, 387})
	for _, w := range want.At {
		b.in.Horizon = w.Time
		res := b.solve(t)
		near(t, "level", levelAt(res.End, 200), w.Level, 1e-5)
		near(t, "lost by the first", res.Valves[0].Total, w.Lost1, 1e-4)
		near(t, "lost by the second", res.Valves[1].Total, w.Lost2, 1e-4)
		if res.WaterBalance > 1e-6 {
			t.Errorf("balance %g", res.WaterBalance)
		}
		for _, e := range res.Events {
			if e.ID == "draining.joins" {
				near(t, "joins", e.Time, want.Joins, 1e-4)
			}
		}
	}
}
