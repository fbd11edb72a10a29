package pump

import (
	"math"
	"strings"
	"testing"

	"obvert/num"
	"obvert/physics/pipe"

	"pgregory.net/rapid"
)

const (
	foot = 0.3048
	gpm  = 231 * 0.0254 * 0.0254 * 0.0254 / 60 // US gal/min, m³/s
	m3h  = 1.0 / 3600
	g    = 9.81
)

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s: got %.9g, want %.9g within %.2g", what, got, want, tol)
	}
}

// curve makes a curve or fails.
func curve(t *testing.T, points ...[2]float64) *Curve {
	t.Helper()
	c, _, err := NewCurve(points)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// duty is the flow at which a head by flow meets a system's.
func duty(t *testing.T, pump, system func(q float64) float64, most float64) float64 {
	t.Helper()
	q, out := num.Root(func(q float64) float64 { return pump(q) - system(q) }, 0, most, 1e-12)
	if !out.OK() {
		t.Fatal(out)
	}
	return q
}

func head(c *Curve) func(q float64) float64 {
	return func(q float64) float64 { h, _ := c.Head(q); return h }
}

// Hydraulic Institute, Engineering Data Book, pump fundamentals, system curves,
// worked example: 265 ft static, 1255 ft of 4.026 in, f 0.02, ΣK 3.79: 273, 296
// and 335 ft at 100, 200 and 300 US gal/min.
func system(static float64) func(q float64) float64 {
	const bore = 4.026 * 0.0254
	losses := pipe.Local{K: 0.02*1255*foot/bore + 3.79, Bore: bore} // f is given
	return func(q float64) float64 {
		h, _ := losses.HeadLoss(q, 9.80665)
		return static + h
	}
}

func TestSystemCurvePublished(t *testing.T) {
	s := system(265 * foot)
	for _, c := range [][2]float64{{100, 273}, {200, 296}, {300, 335}} {
		near(t, "head, ft", s(c[0]*gpm)/foot, c[1], 0.003*c[1])
	}
	// the same in SI: 83.21, 90.22, 102.11 m at 22.7, 45.4, 68.1 m³/h
	for _, c := range [][2]float64{{22.7, 83.21}, {45.4, 90.22}, {68.1, 102.11}} {
		near(t, "head, m", s(c[0]*m3h), c[1], 0.003*c[1])
	}
}

// published is H = 380 − 0.06 Q − 0.0018 Q² (ft, US gal/min) of the same book's
// combined curves, through three of its points.
func published(t *testing.T) *Curve {
	p := func(q float64) [2]float64 {
		return [2]float64{q * gpm, (380 - 0.06*q - 0.0018*q*q) * foot}
	}
	return curve(t, p(0), p(150), p(300))
}

// Hydraulic Institute, Engineering Data Book, pump fundamentals, combined curves:
// the duty is 200 US gal/min at 296 ft, and 190.6 with the static head at 275 ft.
func TestOperatingPointPublished(t *testing.T) {
	c := published(t)
	q := duty(t, head(c), system(265*foot), 500*gpm)
	near(t, "flow", q/gpm, 200, 0.2)
	near(t, "head", head(c)(q)/foot, 296, 0.3)
	near(t, "flow at 275 ft static", duty(t, head(c), system(275*foot), 500*gpm)/gpm, 190.6, 0.2)
}

// On the same example, computed by ourselves (not published): two such pumps in
// parallel 294.39 US gal/min at 332.17 ft; one at 95 % speed 163.27 at 285.66.
func TestParallelAndSlow(t *testing.T) {
	c := published(t)
	pumps := []*Curve{c, c}
	both := func(q float64) float64 {
		h, out := HeadAt(pumps, q, true)
		if !out.OK() {
			t.Fatalf("head of two pumps at %g: %v", q, out)
		}
		return h
	}
	q := duty(t, both, system(265*foot), 600*gpm)
	near(t, "two pumps", q/gpm, 294.39, 0.2)
	near(t, "their head", both(q)/foot, 332.17, 0.2)
	slow := c.AtSpeed(0.95)
	q = duty(t, head(slow), system(265*foot), 300*gpm)
	near(t, "at 95 %", q/gpm, 163.27, 0.2)
	near(t, "its head", head(slow)(q)/foot, 285.66, 0.2)
}

// H = 20 [1 − (Q/100)²] m (L/min) on 5 + 0.002 Q²: data of a textbook exercise,
// answers computed by ourselves: one pump 61.24 L/min at 12.50 m, two in series
// 76.38 at 16.67, in parallel 77.46 at 17.00.
func TestSeriesAndParallel(t *testing.T) {
	const lpm = 1e-3 / 60
	c := curve(t, [2]float64{0, 20}, [2]float64{80 * lpm, 20 * (1 - 0.64)})
	sys := func(q float64) float64 { return 5 + 0.002*(q/lpm)*(q/lpm) }
	q := duty(t, head(c), sys, 100*lpm)
	near(t, "one", q/lpm, 61.24, 0.005)
	near(t, "its head", head(c)(q), 12.50, 0.005)
	q = duty(t, func(q float64) float64 { return 2 * head(c)(q) }, sys, 100*lpm)
	near(t, "series", q/lpm, 76.38, 0.005)
	near(t, "its head", sys(q), 16.67, 0.005)
	q = duty(t, func(q float64) float64 { h, _ := HeadAt([]*Curve{c, c}, q, true); return h }, sys, 200*lpm)
	near(t, "parallel", q/lpm, 77.46, 0.005)
	near(t, "its head", sys(q), 17.00, 0.005)
}

// Hydraulic Institute, Engineering Data Book, pump curves, Ex. 1: from 1740 to
// 1566 rpm, heads in ft at US gal/min.
func TestAffinitySpeedPublished(t *testing.T) {
	c := curve(t, [2]float64{0, 213 * foot}, [2]float64{200 * gpm, 206 * foot}, [2]float64{400 * gpm, 198 * foot}, [2]float64{600 * gpm, 189 * foot})
	slow := c.AtSpeed(1566.0 / 1740)
	for _, p := range [][2]float64{{0, 173}, {180, 167}, {360, 160}} {
		near(t, "head, ft", head(slow)(p[0]*gpm)/foot, p[1], 0.5)
	}
}

// Hydraulic Institute, Engineering Data Book, pump curves, Ex. 2: 270 mm,
// 454.2 m³/h, 24.38 m, to be trimmed to 20.42 m: 247 mm, 416.8 m³/h.
func TestAffinityTrimPublished(t *testing.T) {
	c := curve(t, [2]float64{0, 30}, [2]float64{454.2 * m3h, 24.38}, [2]float64{600 * m3h, 18})
	d, _ := num.Root(func(d float64) float64 {
		r := d / 270
		return head(c.Trimmed(r))(454.2*m3h*r) - 20.42
	}, 200, 270, 1e-9)
	near(t, "diameter, mm", d, 247, 2.5)
	near(t, "flow, m³/h", 454.2*d/270, 416.8, 4.2)
}

// Munson, Young, Okiishi, Fundamentals of Fluid Mechanics, Ex. 12.5: C_Q 0.0625,
// C_H 0.19, C_P 0.014 at best efficiency; 8 in at 1200 rpm: 1044 gal/min,
// 41.4 ft, 13 hp. The model here has 12 in and 1000 rpm.
func TestSimilarityPublished(t *testing.T) {
	const rpm, gUS = 2 * math.Pi / 60, 32.2 * foot
	d, w := 1*foot, 1000*rpm
	q, h := 0.0625*w*d*d*d, 0.19*w*w*d*d/gUS
	c := curve(t, [2]float64{0, 1.3 * h}, [2]float64{q, h}, [2]float64{1.4 * q, 0.6 * h}).Similar(1.2, 8./12)
	q2 := q * 1.2 * math.Pow(8./12, 3)
	near(t, "flow", q2/gpm, 1044, 10)
	near(t, "head, ft", head(c)(q2)/foot, 41.4, 0.41)
	eta := 0.0625 * 0.19 / 0.014
	near(t, "power, hp", ShaftPower(q2, head(c)(q2), eta, 999, gUS)/745.7, 13, 0.13)
}

// Çengel & Cimbala, Fluid Mechanics, Ex. 14-2: 0.0233 m³/s by 7.3 m at 70 %:
// 2.38 kW; by 21.9 m at 76.5 %: 6.53 kW. Hydraulic Institute, Engineering Data
// Book, pump data table: 204.4 m³/h, 47.2 m, 78 %: 33.7 kW.
func TestPowerPublished(t *testing.T) {
	near(t, "7.3 m", ShaftPower(0.0233, 7.3, 0.70, 998, g), 2380, 5)
	near(t, "21.9 m", ShaftPower(0.0233, 21.9, 0.765, 998, g), 6530, 13)
	near(t, "47.2 m", ShaftPower(204.4*m3h, 47.2, 0.78, 1000, g), 33.7e3, 70)
	near(t, "from the mains", ElectricPower(9e3, 0.9, 0.95), 9e3/0.855, 1e-9)
}

// S. Arasu, Turbomachines, Ex. 8.19: 36 m of head, 3.5 m absolute at inlet, vapour
// pressure 1.8 kPa: Thoma's σ 0.0921. With the barometer from 0.75 down to
// 0.62 m of mercury and 0.83 kPa the pump must stand 1.67 m lower.
func TestNPSHPublished(t *testing.T) {
	const rho, mercury = 1000.0, 13600.0
	const above = 3.5 - 0.75*mercury/rho // energy line over the eye, gauge
	npsh := NPSHAvailable(0.75*mercury*g, 1.8e3, rho, g, above, 0)
	near(t, "Thoma's number", npsh/36, 0.0921, 0.0001)
	lower := npsh - NPSHAvailable(0.62*mercury*g, 0.83e3, rho, g, above, 0)
	near(t, "lower by, m", lower, 1.67, 0.005)
}

func TestCurvePassesItsPoints(t *testing.T) {
	for _, points := range [][][2]float64{
		{{0, 50}, {0.1, 30}},
		{{0.02, 48}, {0.1, 30}},
		{{0, 50}, {0.05, 45}, {0.1, 30}},
		{{0.01, 50}, {0.05, 45}, {0.1, 30}},
		{{0, 50}, {0.05, 32}, {0.1, 30}},    // a parabola through these would turn up
		{{0, 50}, {0.05, 49.99}, {0.1, 20}}, // and through these droop
		{{0, 50}, {0.05, 52}, {0.1, 30}},    // drooping
		{{0, 50}, {0.03, 49}, {0.06, 45}, {0.1, 30}, {0.12, 0}},
	} {
		c := curve(t, points...)
		for _, p := range points {
			near(t, "through its points", head(c)(p[0]), p[1], 1e-12*50)
			if c.Place(p[0]) != Within {
				t.Errorf("%v: %v is %v", points, p, c.Place(p[0]))
			}
		}
	}
}

// Data that fall make a curve that falls everywhere.
func TestNoDroopOfItsOwn(t *testing.T) {
	for _, points := range [][][2]float64{
		{{0, 50}, {0.05, 32}, {0.1, 30}}, {{0, 50}, {0.05, 49.99}, {0.1, 20}}, {{0.01, 50}, {0.05, 45}, {0.1, 30}},
	} {
		c, notes, err := NewCurve(points)
		if err != nil || len(notes) > 0 {
			t.Fatal(err, notes)
		}
		last := math.Inf(1)
		for i := -100; i <= 300; i++ {
			h := head(c)(float64(i) / 1000)
			if h > last {
				t.Errorf("%v rises at %g", points, float64(i)/1000)
			}
			last = h
		}
	}
}

func TestDroopIsNamed(t *testing.T) {
	c, notes, err := NewCurve([][2]float64{{0, 40}, {0.02, 43}, {0.05, 38}, {0.08, 25}})
	if err != nil {
		t.Fatal(err)
	}
	if len(notes) != 1 || notes[0].ID != "pump.droop" || !strings.Contains(notes[0].Text, "two duties") {
		t.Fatalf("notes: %+v", notes)
	}
	if q, h := c.Peak(); q != 0.02 || h != 43 {
		t.Errorf("peak %g m at %g", h, q)
	}
	near(t, "the far end has shut-off head", head(c)(notes[0].To), 40, 1e-9)
	if q, where := c.Flow(41, true); where != Within || q < 0.02 {
		t.Errorf("the larger duty at 41 m: %g, %v", q, where)
	}
	if _, where := c.Flow(43.5, true); where != Shut {
		t.Errorf("above the peak: %v", where)
	}
}

func TestSaddleIsNamed(t *testing.T) {
	c, notes, err := NewCurve([][2]float64{{0, 12}, {0.1, 8}, {0.2, 7}, {0.3, 7.6}, {0.4, 7.0}, {0.5, 4}})
	if err != nil {
		t.Fatal(err)
	}
	if len(notes) != 1 || notes[0].ID != "pump.saddle" {
		t.Fatalf("notes: %+v", notes)
	}
	near(t, "left end has the hump's head", head(c)(notes[0].From), 7.6, 1e-9)
	near(t, "right end has the trough's head", head(c)(notes[0].To), 7, 1e-9)
	if q, _ := c.Flow(7.3, true); q < 0.3 {
		t.Errorf("the largest of three duties: %g", q)
	}
	if q, _ := c.Flow(9, true); q <= 0 || q > 0.1 {
		t.Errorf("left of the saddle: %g", q)
	}
}

func TestCurveRefuses(t *testing.T) {
	for _, c := range []struct {
		name, says string
		points     [][2]float64
	}{
		{"no points", "0 points", nil},
		{"one point", "at least 2", [][2]float64{{0.1, 30}}},
		{"rising", "rises", [][2]float64{{0, 10}, {0.1, 20}, {0.2, 30}}},
		{"flat", "at every flow", [][2]float64{{0, 10}, {0.1, 10}}},
		{"rising end", "end of the curve", [][2]float64{{0, 30}, {0.1, 20}, {0.2, 25}}},
		{"same flow", "must rise", [][2]float64{{0, 30}, {0, 20}}},
		{"negative flow", "from 0 up", [][2]float64{{-1, 30}, {1, 20}}},
		{"negative head", "from 0 up", [][2]float64{{0, 30}, {1, -20}}},
		{"not a number", "from 0 up", [][2]float64{{0, math.NaN()}, {1, 20}}},
		{"endless", "from 0 up", [][2]float64{{0, math.Inf(1)}, {1, 20}}},
		{"enormous", "from 0 up", [][2]float64{{0, 1e308}, {1, 20}}},
		{"tiny flow", "unit", [][2]float64{{0, 20}, {1e-300, 10}}},
		{"below zero at no flow", "at no flow", [][2]float64{{1, 1}, {2, 50}, {3, 40}, {4, 30}}},
	} {
		_, _, err := NewCurve(c.points)
		if err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: %v", c.name, err)
		}
	}
	// all faults at once
	_, _, err := NewCurve([][2]float64{{0, -1}, {0.1, 5}, {0.1, 4}})
	if err == nil || strings.Count(err.Error(), "\n") != 1 {
		t.Errorf("two faults: %v", err)
	}
	for _, c := range []struct {
		name, says string
		points     [][2]float64
	}{
		{"per cent", "per cent", [][2]float64{{0.1, 70}, {0.2, 75}}},
		{"one point", "at least 2", [][2]float64{{0.1, 0.7}}},
		{"at no flow", "no flow", [][2]float64{{0, 0.3}, {0.1, 0.7}}},
		{"none at flow", "endless power", [][2]float64{{0, 0}, {0.1, 0.7}, {0.2, 0}}},
	} {
		if _, err := NewEfficiency(c.points); err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("efficiency, %s: %v", c.name, err)
		}
	}
	if _, err := NewNPSH([][2]float64{{0.2, 3}, {0.1, 4}}); err == nil {
		t.Error("NPSH with falling flows")
	}
}

func TestEfficiencyAndPower(t *testing.T) {
	e, err := NewEfficiency([][2]float64{{0.02, 0.45}, {0.05, 0.75}, {0.07, 0.80}, {0.09, 0.74}})
	if err != nil {
		t.Fatal(err)
	}
	if q, eta := e.Best(); q != 0.07 || eta != 0.80 {
		t.Errorf("best %g at %g", eta, q)
	}
	if eta, where := e.At(0.05); eta != 0.75 || where != Within {
		t.Errorf("%g, %v", eta, where)
	}
	if eta, where := e.At(0.2); eta != 0.74 || where != Beyond {
		t.Errorf("beyond: %g, %v", eta, where)
	}
	if eta, where := e.At(-0.1); eta != 0 || where != Reverse {
		t.Errorf("reverse: %g, %v", eta, where)
	}
	near(t, "power by the curve", e.Shaft(0.05, 30, 1000, g), ShaftPower(0.05, 30, 0.75, 1000, g), 1e-6)
	// towards no flow the power has a limit, and meets it
	rest, drip := e.Shaft(0, 40, 1000, g), e.Shaft(1e-6, 40, 1000, g)
	if !(rest > 0) || math.Abs(rest/drip-1) > 1e-3 {
		t.Errorf("power at no flow %g W, at a drip %g W", rest, drip)
	}
	// P ~ n³ at corresponding flows
	slow := e.AtSpeed(0.8)
	near(t, "power at 80 %", slow.Shaft(0.04, 30*0.64, 1000, g), e.Shaft(0.05, 30, 1000, g)*0.512, 1e-6)
	if q, eta := slow.Best(); math.Abs(q-0.056) > 1e-15 || eta != 0.80 {
		t.Errorf("best at 80 %%: %g at %g", eta, q)
	}
	near(t, "rest at 80 %", slow.Shaft(0, 40*0.64, 1000, g), rest*0.512, 1e-6)
}

func TestNPSHRequired(t *testing.T) {
	n, err := NewNPSH([][2]float64{{0.02, 2}, {0.05, 2.6}, {0.08, 4}})
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		q     float64
		least float64
		most  float64
		where Place
	}{
		{0.05, 2.6, 2.6, Within}, {0.01, 2, 2, Below}, {0.1, 4.3, 6, Beyond}, {-0.01, 2, 2, Reverse},
	} {
		h, where := n.Required(c.q)
		if h < c.least || h > c.most || where != c.where {
			t.Errorf("at %g: %g, %v", c.q, h, where)
		}
	}
	h, _ := n.AtSpeed(0.5).Required(0.025)
	near(t, "at half speed", h, 2.6/4, 1e-12)
}

// drawCurve draws a falling curve of any kind, at any speed.
func drawCurve(t *rapid.T) *Curve {
	n := rapid.IntRange(2, 8).Draw(t, "points")
	points := make([][2]float64, n)
	q, h := 0.0, 0.0
	if rapid.Bool().Draw(t, "starts above no flow") {
		q = rapid.Float64Range(0.001, 0.01).Draw(t, "first flow")
	}
	for i := n - 1; i >= 0; i-- {
		points[i][1] = h
		h += rapid.Float64Range(0.1, 20).Draw(t, "fall")
	}
	for i := range points {
		points[i][0] = q
		q += rapid.Float64Range(0.001, 0.1).Draw(t, "step")
	}
	c, notes, err := NewCurve(points)
	if err != nil || len(notes) > 0 {
		t.Fatal(err, notes)
	}
	return c.AtSpeed(rapid.Float64Range(0.3, 1.2).Draw(t, "speed"))
}

func TestCurveProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := drawCurve(t)
		_, last := c.Range()
		q := last * rapid.Float64Range(-2, 3).Draw(t, "flow")
		h, m := c.Head(q)
		d := 1e-7 * last
		up, m1 := c.Head(q + d)
		down, m0 := c.Head(q - d)
		if e := 1e-12 * (c.ShutOff() + math.Abs(h)); up > h+e || down < h-e || m > 1e-12*c.ShutOff()/last {
			t.Fatalf("not falling at %g: %g, %g, %g, slope %g", q, down, h, up, m)
		}
		scale := c.ShutOff() / last
		if difference := (up - down) / (2 * d); math.Abs(difference-m) > math.Abs(m1-m0)+1e-5*scale+1e-5*math.Abs(m) {
			t.Fatalf("slope at %g is %g, by difference %g", q, m, difference)
		}
		if math.Abs(m) < 1e-3*scale {
			return // flow is ill determined by head on a level part
		}
		back, where := c.Flow(h, false)
		if math.Abs(back-q) > 1e-9*last*(1+scale/math.Abs(m)) && math.Abs(head(c)(back)-h) > 1e-9*c.ShutOff() {
			t.Fatalf("flow at the head of %g: %g (%v)", q, back, where)
		}
		if h > c.ShutOff() {
			if back, where := c.Flow(h, true); back != 0 || where != Shut {
				t.Fatalf("with a check valve: %g, %v", back, where)
			}
		}
	})
}

func TestCurveIsSmoothAtItsEnds(t *testing.T) {
	for _, points := range [][][2]float64{
		{{0.02, 48}, {0.1, 30}}, {{0, 50}, {0.05, 45}, {0.1, 30}}, {{0, 50}, {0.05, 32}, {0.1, 30}},
		{{0.01, 50}, {0.03, 49}, {0.06, 45}, {0.1, 30}}, {{0, 40}, {0.02, 43}, {0.05, 38}, {0.08, 25}},
	} {
		c := curve(t, points...)
		for _, p := range points {
			h0, m0 := c.Head(p[0] - 1e-10)
			h1, m1 := c.Head(p[0] + 1e-10)
			near(t, "head across a point", h1, h0, 1e-6)
			if p[0] > 0 { // a drooping curve has a corner at no flow
				near(t, "slope across a point", m1, m0, 1e-3)
			}
		}
	}
}

func TestParallelProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		pumps := make([]*Curve, rapid.IntRange(1, 4).Draw(t, "pumps"))
		top, all := 0.0, 0.0
		for i := range pumps {
			pumps[i] = drawCurve(t)
			_, last := pumps[i].Range()
			top, all = max(top, pumps[i].ShutOff()), all+last
		}
		checked := rapid.Bool().Draw(t, "checked")
		flow := all * rapid.Float64Range(0, 1.2).Draw(t, "flow")
		h, out := HeadAt(pumps, flow, checked)
		if !out.OK() {
			t.Fatalf("head at %g: %v", flow, out)
		}
		if flow > 0 {
			// within rounding of the head, which a level part of a curve magnifies
			more, less := FlowAt(pumps, h-1e-12*top, checked), FlowAt(pumps, h+1e-12*top, checked)
			if flow > more+1e-9*all || flow < less-1e-9*all {
				t.Fatalf("flow from %g to %g at the head of %g", less, more, flow)
			}
		}
		// each pump alone at that head makes the sum
		var sum float64
		for _, c := range pumps {
			q, where := c.Flow(h, checked)
			if checked && q < 0 || where == Shut && q != 0 {
				t.Fatalf("pump passes %g, %v", q, where)
			}
			sum += q
		}
		if math.Abs(sum-FlowAt(pumps, h, checked)) > 1e-12*all {
			t.Fatal("the sum is not the sum")
		}
	})
}

// A weak pump behind the check valve it shares with a strong one lets water
// back; with its own it stays shut.
func TestWeakPumpBesideAStrongOne(t *testing.T) {
	strong := curve(t, [2]float64{0, 60}, [2]float64{0.05, 55}, [2]float64{0.1, 40})
	weak := curve(t, [2]float64{0, 30}, [2]float64{0.05, 20})
	pumps := []*Curve{strong, weak}
	h, out := HeadAt(pumps, 0.05, true)
	near(t, "checked: the strong one alone", h, 55, 1e-9)
	if !out.OK() {
		t.Error(out)
	}
	if q, where := weak.Flow(h, false); q >= 0 || where != Reverse {
		t.Errorf("unchecked: %g, %v", q, where)
	}
	shared, out := HeadAt(pumps, 0.05, false)
	if !out.OK() || shared >= h {
		t.Errorf("sharing a check valve: %g m, %v", shared, out)
	}
	if _, out := HeadAt(nil, 0.1, true); out.OK() {
		t.Error("no pumps deliver 0.1 m³/s")
	}
}

// Two drooping pumps cannot both work on their falling side at every flow: the
// jump is reported.
func TestDroopingPairSaysWhereItJumps(t *testing.T) {
	c := curve(t, [2]float64{0, 40}, [2]float64{0.02, 43}, [2]float64{0.05, 38}, [2]float64{0.08, 25})
	h, out := HeadAt([]*Curve{c, c}, 0.01, true)
	if out.Status != num.Stalled {
		t.Errorf("%g m, %v", h, out)
	}
	near(t, "head of the jump", h, 43, 1e-6)
	h, out = HeadAt([]*Curve{c}, 0.01, true)
	near(t, "one pump alone has no jump", h, head(c)(0.01), 0)
	if !out.OK() {
		t.Error(out)
	}
}

func TestHeadAllocatesNothing(t *testing.T) {
	c := curve(t, [2]float64{0, 50}, [2]float64{0.03, 49}, [2]float64{0.06, 45}, [2]float64{0.1, 30})
	if n := testing.AllocsPerRun(100, func() { c.Head(0.05); c.Head(-1); c.Head(0.2); c.Head(0.07) }); n != 0 {
		t.Errorf("%g allocations", n)
	}
}

func BenchmarkHead(b *testing.B) {
	c, _, err := NewCurve([][2]float64{{0, 50}, {0.03, 49}, {0.06, 45}, {0.1, 30}})
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		c.Head(0.07)
	}
}
