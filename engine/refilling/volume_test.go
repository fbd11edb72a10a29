package refilling

import (
	"context"
	"math"
	"os"
	"testing"

	"obvert/line"
	"obvert/physics/pipe"
)

// TestFlatByVolume holds the first filling of the flat demo line, whose slopes are less than a bore, to volume over flow: no water stands beyond a pipe's end, none is
// stored that the pipes do not hold, and each valve is reached when the pipe up to it is full, the one in a dip too, which lies little below the pipe's end. Before this
// was held a front that began just on a valve ran 1,000 m past the end of its pipe.
func TestFlatByVolume(t *testing.T) {
	l, faults := line.Read(os.DirFS("../../demo/flat-irrigation"), nil)
	if err := faults.Err(); err != nil {
		t.Fatal(err)
	}
	in := Input{Line: l, Flow: 0.0388}
	for i := range l.Cases {
		if l.Cases[i].Kind == line.Filling {
			in.Case = i
		}
	}
	before := make([]float64, len(l.Runs)) // m³, in the runs upstream: they stand in order
	whole := 0.0
	for r := range l.Runs {
		speeds := make([]float64, len(l.Runs[r].Sections))
		for i := range speeds {
			speeds[i] = 1100
		}
		in.WaveSpeed = append(in.WaveSpeed, speeds)
		p := l.Runs[r].Points
		before[r] = whole
		whole += (p[len(p)-1].Distance - p[0].Distance) * pipe.Area(l.Runs[r].Sections[0].Bore)
	}
	res, err := Solve(context.Background(), in)
	if err != nil {
		t.Fatal(err)
	}
	if res.Balance.Stored > whole*(1+1e-6) {
		t.Errorf("%.1f m³ stored in pipes of %.1f m³", res.Balance.Stored, whole)
	}
	for _, f := range res.Frames {
		for r, waters := range f.Water {
			for _, w := range waters {
				if w.To > l.Runs[r].Last()+0.01 {
					t.Errorf("at %.0f s water stands up to %.1f m of %s, which ends at %.1f m", f.Time, w.To, l.Runs[r].Name, l.Runs[r].Last())
				}
			}
		}
	}
	for _, v := range res.Valves {
		if v.Shut != ByWater {
			t.Errorf("valve %s: %v", v.Name, v.Shut)
			continue
		}
		if v.Chainage < 50 {
			continue // beside the pumps, which run up
		}
		d, _ := l.DistanceAt(v.Run, v.Chainage)
		first, _ := l.DistanceAt(v.Run, l.Runs[v.Run].First())
		want := (before[v.Run] + (d-first)*pipe.Area(l.Runs[v.Run].Sections[0].Bore)) / in.Flow
		if math.Abs(v.Time-want) > 0.02*want {
			t.Errorf("valve %s shut after %.0f s, by volume %.0f s", v.Name, v.Time, want)
		}
	}
}
