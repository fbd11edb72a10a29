package draining

import (
	"math"
	"testing"

	"obvert/line"
	"obvert/physics/valve"
)

// long is a line of 100 km, 5,000 points and 200 valves over rolling ground (invented: sums of sines), standing full of what its crests hold.
func long() *build {
	b := newBuild()
	b.in.Tolerance = 0
	var pts [][2]float64
	for i := range 5000 {
		x := float64(i) * 20
		pts = append(pts, [2]float64{x, 100 + 20*math.Sin(x/2100) + 6*math.Sin(x/330+1) + 0.8*math.Sin(x/71+2)})
	}
	b.run("main", b.node("A", line.DeadEnd), b.node("B", line.DeadEnd), 0.5, pts...)
	b.in.Rack = []valve.Record{dripping(2, 6, 4, 5e-5), dripping(1, 3, 2, 2e-5)}
	for i := range 200 {
		// on the highest point of each stretch of 25
		best := i * 25
		for k := i * 25; k < i*25+25; k++ {
			if pts[k][1] > pts[best][1] {
				best = k
			}
		}
		b.in.Valves = append(b.in.Valves, Valve{Name: "AV", Run: 0, Chainage: pts[best][0], Seat: pts[best][1] + 0.4, Record: i % 2, AdmitsAir: true, Shut: i%3 == 0})
	}
	b.flood(0, 118)
	b.in.Horizon = 30 * 86400
	return b
}

func BenchmarkDrain100km(b *testing.B) {
	l := long()
	r := l.solve(b)
	b.ReportMetric(float64(r.Steps), "panels")
	b.ReportMetric(float64(len(r.Pools)), "pools")
	b.ReportMetric(r.Lost, "m³")
	for b.Loop() {
		l.solve(b)
	}
}

func TestLong(t *testing.T) {
	r := long().solve(t)
	if r.Lost < 100 || r.WaterBalance > 1e-6 {
		t.Errorf("lost %g m³, balance %g", r.Lost, r.WaterBalance)
	}
}

// BenchmarkBurst100km follows a pipe torn off at its lowest point for four minutes.
func BenchmarkBurst100km(b *testing.B) {
	l := long()
	low := l.l.Runs[0].Points[0]
	for _, p := range l.l.Runs[0].Points {
		if p.Obvert < low.Obvert {
			low = p
		}
	}
	l.in.Openings, l.in.Horizon = []Opening{{Name: "burst", Chainage: low.Chainage, Burst: true}}, 250
	steps := 0
	for b.Loop() {
		steps = l.solve(b).Steps
	}
	b.ReportMetric(float64(steps), "steps")
}
