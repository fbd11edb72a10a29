package grade

import (
	"math"
	"testing"

	"obvert/line"
)

const (
	foot = 0.3048                // m
	gpm  = 3.785411784e-3 / 60.0 // m³/s, US gallon a minute
)

// dataBook is the worked example of the Hydraulic Institute, Engineering Data Book, pump fundamentals: 1,255 ft of 4.026 in pipe, f = 0.02, ΣK = 3.79, 265 ft of static head, and the
// pump H = 380 − 0.06 Q − 0.0018 Q² (ft, US gal/min). The friction factor is made 0.02 at the flow q, m³/s.
func dataBook(q float64, pumps int) *build {
	b := newBuild()
	b.l.Site.Gravity = 32.17 * foot
	var curve [][2]float64
	for x := 0.0; x <= 400; x += 10 {
		curve = append(curve, [2]float64{x * gpm, (380 - 0.06*x - 0.0018*x*x) * foot})
	}
	curves := make([][][2]float64, pumps)
	for i := range curves {
		curves[i] = curve
	}
	p := b.station("pumps", 0, line.CheckEach, curves...)
	z := b.tank("tank", 265*foot)
	const bore, length = 4.026 * 0.0254, 1255 * foot
	v := q / (math.Pi / 4 * bore * bore)
	b.run("main", p, z, bore, roughFor(0.02, v*bore/b.l.Site.Viscosity, bore), [2]float64{0, 0}, [2]float64{length, 0})
	b.l.Runs[0].Sections[0].LocalLoss = 3.79
	return b
}

// Hydraulic Institute, Engineering Data Book, pump fundamentals, system curves (worked example): 273, 296 and 335 ft at 100, 200 and 300 US gal/min.
func TestPublishedSystemCurve(t *testing.T) {
	for _, c := range []struct{ flow, head float64 }{{100, 273}, {200, 296}, {300, 335}} {
		b := dataBook(c.flow*gpm, 1)
		k := b.kase(line.Pumping)
		b.l.Cases[k].Stations[0].Flow = c.flow * gpm
		r := b.solve(t, k)
		near(t, "head, ft", r.Nodes[0].Head/foot, c.head, 0.003*c.head)
	}
}

// The same pump and system (not published: worked out from the two formulas): two in parallel 294.39 gal/min at 332.17 ft, one at 95 % speed 163.27 gal/min at 285.66 ft. A drive
// that is to hold that flow finds that speed.
func TestPumpsInParallelAndAtSpeed(t *testing.T) {
	b := dataBook(294.39*gpm, 2)
	r := b.solve(t, b.kase(line.Pumping))
	near(t, "two pumps, gal/min", r.Runs[0].Flow/gpm, 294.39, 0.001*294.39)
	near(t, "two pumps, ft", r.Nodes[0].Head/foot, 332.17, 0.001*332.17)
	b = dataBook(163.27*gpm, 1)
	k := b.kase(line.Pumping)
	b.l.Cases[k].Stations[0].Speed[0] = 0.95
	r = b.solve(t, k)
	near(t, "at 95 % speed, gal/min", r.Runs[0].Flow/gpm, 163.27, 0.001*163.27)
	near(t, "at 95 % speed, ft", r.Nodes[0].Head/foot, 285.66, 0.001*285.66)
	b.l.Cases[k].Stations[0].HoldFlow = 163.27 * gpm
	r = b.solve(t, k)
	near(t, "speed that holds the flow", r.Stations[0].Speed, 0.95, 1e-3)
}

// Two alike pumps H = 20 (1 − (Q/100)²) m, L/min, against 5 + 0.002 Q² m (data of an exercise; answers worked out from the formulas, not published): one 61.24 L/min at 12.50 m, in
// series 76.38 at 16.67, in parallel 77.46 at 17.00.
func TestPumpsInSeriesAndParallel(t *testing.T) {
	const litre = 1e-3 / 60
	var curve [][2]float64
	for q := 0.0; q <= 100; q += 2 {
		curve = append(curve, [2]float64{q * litre, 20 * (1 - q*q/1e4)})
	}
	const bore = 0.05
	loss := 0.002 / speedHead(litre, bore) // local, all of it
	system := func(b *build, from int) {
		z := b.tank("tank", 5)
		b.run("system", from, z, bore, 1e-6, [2]float64{0, 0}, [2]float64{1e-3, 0})
		b.l.Runs[len(b.l.Runs)-1].Sections[0].LocalLoss = loss
	}
	for n, want := range map[int][2]float64{1: {61.24, 12.50}, 2: {77.46, 17.00}} {
		b := newBuild()
		curves := [][][2]float64{curve, curve}[:n]
		system(b, b.station("pumps", 0, line.CheckEach, curves...))
		r := b.solve(t, b.kase(line.Pumping))
		near(t, "flow, L/min", r.Runs[0].Flow/litre, want[0], 0.001*want[0])
		near(t, "head", r.Nodes[0].Head, want[1], 0.002*want[1])
	}
	b := newBuild()
	first, second := b.station("first", 0, line.CheckEach, curve), b.station("second", 0, line.CheckEach, curve)
	b.l.Nodes[second].Station.HasSump = false
	b.run("between", first, second, bore, 1e-6, [2]float64{0, 0}, [2]float64{1e-3, 0})
	system(b, second)
	r := b.solve(t, b.kase(line.Pumping))
	near(t, "in series, L/min", r.Runs[1].Flow/litre, 76.38, 0.001*76.38)
	near(t, "in series, m", r.Nodes[second].Head, 16.67, 0.002*16.67)
}

// J. F. Douglas, Solving Problems in Fluid Mechanics, Ex. 14.1, p. 468: siphon of 0.1 m bore, 5 m to a crest 1.5 m above the upper water and 10 m on, 4 m between the waters, Fanning f 0.08,
// entry 0.5 v²/2g, exit v²/2g: 1.26 m/s, −28.61 kPa at the crest.
func TestPublishedSiphon(t *testing.T) {
	const bore, v = 0.1, 1.26
	b := newBuild()
	a, z := b.tank("upper", 10), b.tank("lower", 6)
	r := b.run("siphon", a, z, bore, roughFor(0.32, v*bore/b.l.Site.Viscosity, bore), [2]float64{0, 9}, [2]float64{5, 11.5}, [2]float64{15, 5})
	r.Equipment = []line.Equipment{{Name: "entry", Chainage: 0, Loss: 0.5}, {Name: "exit", Chainage: 15, Loss: 1}}
	out := b.solve(t, b.kase(line.Gravity))
	near(t, "velocity", out.Runs[0].Flow/(math.Pi/4*bore*bore), 1.259, 0.003*1.259)
	near(t, "crest, kPa", out.Runs[0].PressureHead[1]*9.81, -28.61, 0.003*28.61)
}

// J. F. Douglas, Solving Problems in Fluid Mechanics, Ex. 14.3: the two pipes side by side pass what one of 106 mm does by friction alone (worked out: 105.8 mm).
func TestPublishedEquivalentPipe(t *testing.T) {
	const q, bore = 0.0224, 0.1058
	b := newBuild()
	re := q / (math.Pi / 4 * bore * bore) * bore / b.l.Site.Viscosity
	b.run("p", b.tank("a", 20), b.tank("z", 10), bore, roughFor(0.032, re, bore), [2]float64{0, 0}, [2]float64{100, 0})
	near(t, "flow", b.solve(t, b.kase(line.Gravity)).Runs[0].Flow, q, 0.01*q)
}
