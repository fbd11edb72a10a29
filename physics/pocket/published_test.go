package pocket

import (
	"encoding/json"
	"math"
	"os"
	"strconv"
	"testing"
)

// Every relation that goes by the slope against testdata/critical.json, which testdata/critical.py evaluates from the published formulas: no published
// table, a second hand. Escarameia's are taken without the factor of safety.
func TestCriticalScript(t *testing.T) {
	data, err := os.ReadFile("testdata/critical.json")
	if err != nil {
		t.Fatal(err)
	}
	var script struct{ Velocity map[string]map[string]float64 }
	if err := json.Unmarshal(data, &script); err != nil {
		t.Fatal(err)
	}
	compared := 0
	for id, row := range script.Velocity {
		r := byID(t, id)
		for text, want := range row {
			degrees, err := strconv.ParseFloat(text, 64)
			if err != nil {
				t.Fatal(err)
			}
			got, _ := r.Critical(degrees*degree, 0.5, 9.81)
			if got /= r.Safety; math.Abs(got-want) > 1e-12*want {
				t.Errorf("%s at %g°: %.9g m/s, the script has %.9g", id, degrees, got, want)
			}
			compared++
		}
	}
	if compared != 9*6 {
		t.Errorf("%d figures compared, want 54", compared)
	}
}

// The spread of the published relations at 5° in 0.5 m: from 0.83 m/s (Kalinske and Bliss with coefficient 1) to 1.99 m/s (Wisner, Mohsen and
// Kouwen), evaluated; and the one that goes to nothing with the slope.
func TestSpreadOfRelations(t *testing.T) {
	low, high := critical(t, "kalinske-full", 5*degree, 0.5), critical(t, "wisner", 5*degree, 0.5)
	if math.Abs(low-0.834) > 0.0009 || math.Abs(high-1.991) > 0.002 {
		t.Errorf("from %g to %g m/s", low, high)
	}
	flat := 0.01 * degree
	for _, id := range []string{"escarameia-tiny", "escarameia-large", "wisner", "mosvoll"} {
		if v := critical(t, id, flat, 0.5); v < 0.9 {
			t.Errorf("%s on a hundredth of a degree: %g m/s", id, v)
		}
	}
	if v := critical(t, "kalinske-full", flat, 0.5); v > 0.05 {
		t.Errorf("Kalinske and Bliss on a hundredth of a degree: %g m/s", v)
	}
}
