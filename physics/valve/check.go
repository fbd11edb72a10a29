package valve

import (
	"fmt"
	"math"
	"strings"

	"obvert/physics/opening"
	"obvert/quantity"
)

// Problem is something in a record that cannot be.
type Problem struct {
	Key        string // of the record's text, such as "letting_go.mean"
	What       string // what is wrong
	Understood string // what was read
	Hint       string // what to do
}

func (p Problem) Error() string {
	return fmt.Sprintf("%s: %s (%s); %s", p.Key, p.What, p.Understood, p.Hint)
}

// Check returns everything in a record that cannot be, in the order of its text.
func Check(r Record) []Problem {
	var ps problems
	ps.name(r)
	ps.figures(r)
	ps.threshold("sealing", r.Sealing)
	ps.threshold("letting_go", r.LettingGo)
	ps.order(r)
	ps.leak(r)
	ps.air("air_in", r.In)
	ps.air("air_out", r.Out)
	ps.stage(r)
	ps.early(r)
	ps.orifice(r.SmallOrifice)
	ps.opens(r)
	return ps
}

type problems []Problem

func (ps *problems) add(key, what, understood, hint string) {
	*ps = append(*ps, Problem{key, what, understood, hint})
}

// finite reports a figure that is none, or lies outside a range; it returns
// whether the figure is usable.
func (ps *problems) within(key string, v, lo, hi float64, unit string, limits string) bool {
	if v >= lo && v <= hi {
		return true
	}
	ps.add(key, "outside what a valve can have", show(v, unit), limits)
	return false
}

// show writes a figure with its unit for a message.
func show(v float64, unit string) string {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return "not a finite number"
	}
	return fmt.Sprintf("%.6g %s", v, unit)
}

func (ps *problems) name(r Record) {
	if strings.TrimSpace(r.Name) == "" {
		ps.add("name", "the valve has no name", "an empty text", "give the name by which the line and the rack call it")
	}
}

// Largest figures a record may hold: far beyond the trade, near enough to catch a
// slip of the unit. Own choice, no source.
const (
	largestBore     = 5.0   // m
	largestPressure = 100e5 // Pa gauge
	largestLeak     = 10.0  // m³/s
	largestAir      = 1e4   // kg/s
)

func (ps *problems) figures(r Record) {
	ps.within("nominal", r.NominalDiameter, 0, largestBore, "m", "a nominal diameter is 0 (not given) to 5 m")
	ps.within("rating", r.Rating, 0, largestPressure, "Pa", "a rating is 0 (not given) to 100 bar")
	if ps.within("price", r.Price, 0, 1e12, r.Currency, "a price is 0 (not given) or more") && r.Price > 0 && r.Currency == "" {
		ps.add("price", "a price without a currency", show(r.Price, ""), `write the price with its currency, such as "480 EUR"`)
	}
}

func (ps *problems) threshold(key string, t Threshold) {
	if t.Bound > NotApplicable {
		ps.add(key+".known", "no such way of knowing", fmt.Sprint(uint8(t.Bound)), "write one of: "+strings.Join(bounds[:], ", "))
		return
	}
	if t.HasValue() {
		ps.within(key+".mean", t.Mean, 0, largestPressure, "Pa", "a valve's threshold is 0 to 100 bar at the seat, gauge")
		ps.within(key+".uncertainty", t.Uncertainty, 0, largestPressure, "Pa", "a standard uncertainty is 0 or more")
	}
	ps.within(key+".scatter", t.Scatter, 0, largestPressure, "Pa", "a scatter is 0 or more")
	if t.Repeats < 0 {
		ps.add(key+".repeats", "fewer than no repeats", fmt.Sprint(t.Repeats), "give how many times it was measured")
	}
	if !(t.Freedom >= 0) || math.IsInf(t.Freedom, 0) {
		ps.add(key+".freedom", "no degrees of freedom", show(t.Freedom, ""), "leave the key out for a normal distribution")
	}
}

// order checks the two thresholds against each other.
func (ps *problems) order(r Record) {
	s, l := r.Sealing, r.LettingGo
	switch {
	case s.Bound == MoreThan && l.HasValue():
		ps.add("letting_go.known", "a letting-go pressure for a valve that was not seen tight",
			"sealing more than "+kPa(s.Mean), `write "not applicable": what never shut cannot let go`)
	case (s.Bound == Measured || s.Bound == LessThan) && (l.Bound == Measured || l.Bound == MoreThan) && l.Mean > s.Mean:
		ps.add("letting_go.mean", "letting-go above sealing",
			fmt.Sprintf("lets go at %s%s, shuts at %s%s", beyond(l.Bound), kPa(l.Mean), beyond(s.Bound), kPa(s.Mean)),
			"the head falls to the letting-go pressure, which is the lower of the two; look whether they were exchanged")
	}
}

// beyond are the words before a pressure that is only a bound.
func beyond(b Bound) string {
	switch b {
	case MoreThan, LessThan:
		return b.String() + " "
	}
	return ""
}

func kPa(p float64) string { return quantity.Format(p, "kPa", 3) }

// leak checks that the curve has its shape: rising pressures, one largest flow,
// nothing from the sealing pressure up.
func (ps *problems) leak(r Record) {
	const key = "leak.curve"
	falls := false
	for i, pt := range r.Leak {
		if !ps.within(key, pt.Pressure, 0, largestPressure, "Pa", "a leak is measured between the seat and 100 bar") ||
			!ps.within(key, pt.Flow, 0, largestLeak, "m³/s", "a leak is 0 to 10 m³/s") {
			return
		}
		if pt.Pressure == 0 && pt.Flow > 0 {
			ps.add(key, "a leak with no pressure at the seat", show(pt.Flow, "m³/s")+" at 0", "the curve begins at zero")
		}
		if r.closes() && pt.Flow > 0 && pt.Pressure >= r.Sealing.Mean {
			ps.add(key, "a leak at or past the sealing pressure",
				fmt.Sprintf("%s at %s, sealed from %s", leakText(pt.Flow), kPa(pt.Pressure), kPa(r.Sealing.Mean)),
				"a leak curve is zero from the sealing pressure up; look at the pressure's unit and where it was measured")
		}
		if i == 0 {
			continue
		}
		if pt.Pressure <= r.Leak[i-1].Pressure {
			ps.add(key, "pressures that do not rise", kPa(r.Leak[i-1].Pressure)+" then "+kPa(pt.Pressure), "sort the points by pressure, each pressure once")
			return
		}
		if pt.Flow > r.Leak[i-1].Flow && falls {
			ps.add(key, "a leak that falls and rises again",
				fmt.Sprintf("%s at %s after %s at %s", leakText(pt.Flow), kPa(pt.Pressure), leakText(r.Leak[i-1].Flow), kPa(r.Leak[i-1].Pressure)),
				"a leak curve has one largest value; smooth single readings, as a bench run's reduction does")
		}
		falls = falls || pt.Flow < r.Leak[i-1].Flow
	}
}

func leakText(q float64) string { return quantity.Format(q, "L/min", 3) }

func (ps *problems) air(key string, a *Air) {
	if a == nil {
		return
	}
	forms := 0
	for _, given := range []bool{len(a.Points) > 0, a.Diameter != 0 || a.Coefficient != 0, a.C != 0} {
		if given {
			forms++
		}
	}
	if forms != 1 {
		ps.add(key, "an air curve in none or several forms", fmt.Sprintf("%d forms", forms),
			"give exactly one: curve; or diameter and coefficient; or conductance with critical_ratio")
		return
	}
	if a.TestPressure != 0 {
		ps.within(key+".outside_pressure", a.TestPressure, 3e4, 1.2e5, "Pa", "the air outside has 30 to 120 kPa, absolute")
	}
	if a.TestTemperature != 0 {
		ps.within(key+".air_temperature", a.TestTemperature, 223.15, 343.15, "K", "air at a test has −50 to 70 °C")
	}
	switch {
	case len(a.Points) > 0:
		ps.airPoints(key+".curve", a.Points)
	case a.C != 0:
		ps.within(key+".conductance", a.C, math.SmallestNonzeroFloat64, 1, "m³/(s·Pa)", "a sonic conductance is above 0")
		ps.within(key+".critical_ratio", a.CriticalB, 0, 0.999, "", "a critical pressure ratio is 0 to below 1 (ISO 6358-1)")
		ps.within(key+".exponent", a.SubsonicM, math.SmallestNonzeroFloat64, 10, "", "a subsonic index is above 0, commonly 0.5 (ISO 6358-1)")
	default:
		ps.hole(key, a.Diameter, a.Coefficient)
	}
}

// opens reports an air curve that the flow through openings cannot be reckoned
// from.
func (ps *problems) opens(r Record) {
	if len(*ps) > 0 {
		return
	}
	if _, err := r.Inlet(); err != nil {
		ps.add("air_in", oneLine(err), "an opening for air in", "mend the figure named")
	}
	out, err := r.Outlet()
	if err != nil {
		ps.add("air_out", oneLine(err), "an opening for air out", "mend the figure named")
	}
	throttled, stageErr := r.Throttled()
	if stageErr != nil {
		ps.add("anti_slam", oneLine(stageErr), "the throttled opening for air out", "mend the figure named")
	}
	if out != nil && throttled != nil && err == nil && stageErr == nil {
		ps.throttles(r.Stage.Differential, out, throttled)
	}
}

// oneLine is the text of an error that may stand for several.
func oneLine(err error) string { return strings.ReplaceAll(err.Error(), "\n", "; ") }

// stage checks an anti-slam stage by itself and against the rest of the record.
func (ps *problems) stage(r Record) {
	if r.Stage == nil {
		return
	}
	if r.Stage.Differential == 0 {
		ps.add("anti_slam.differential", "a stage that switches at no differential", show(0, "Pa"),
			"give the differential of air flowing out at which it switches, such as \"4 kPa\"")
	} else {
		ps.within("anti_slam.differential", r.Stage.Differential, 0, largestPressure, "Pa", "a differential is above 0, up to 100 bar")
	}
	if r.Out == nil {
		ps.add("anti_slam", "a stage that throttles nothing", "no [air_out]", "give the large orifice for air out, as it is before the stage switches")
	}
	ps.air("anti_slam", &r.Stage.Out)
}

// throttles checks that a stage passes less than what it throttles, at the
// differential dp (Pa) at which it switches.
func (ps *problems) throttles(dp float64, out, throttled opening.Opening) {
	open, err := out.MassFlow(testPressure+dp, testPressure, testTemperature)
	less, err2 := throttled.MassFlow(testPressure+dp, testPressure, testTemperature)
	if err != nil || err2 != nil || less.Mass < open.Mass {
		return
	}
	ps.add("anti_slam", "a stage that passes more than the open orifice",
		fmt.Sprintf("%.4g kg/s against %.4g kg/s at %s", less.Mass, open.Mass, kPa(dp)), "the stage throttles: look whether the two outlets were exchanged")
}

// early checks the differential at which the float is carried shut.
func (ps *problems) early(r Record) {
	if !ps.within("early_closing", r.EarlyClosing, 0, largestPressure, "Pa", "a differential is above 0, up to 100 bar") || r.EarlyClosing == 0 {
		return
	}
	if r.Stage != nil && r.EarlyClosing <= r.Stage.Differential {
		ps.add("early_closing", "the float is carried shut before the stage switches",
			fmt.Sprintf("shut early at %s, stage at %s", kPa(r.EarlyClosing), kPa(r.Stage.Differential)),
			"a stage works below early closing; look whether the two were exchanged, or leave the stage out")
	}
}

func (ps *problems) hole(key string, diameter, coefficient float64) {
	ps.within(key+".diameter", diameter, math.SmallestNonzeroFloat64, largestBore, "m", "a diameter is above 0, up to 5 m")
	ps.within(key+".coefficient", coefficient, math.SmallestNonzeroFloat64, 1, "", "a discharge coefficient is above 0, up to 1")
}

func (ps *problems) airPoints(key string, pts []AirPoint) {
	for i, pt := range pts {
		if !ps.within(key, pt.Differential, 0, largestPressure, "Pa", "a differential is 0 to 100 bar, positive both ways") ||
			!ps.within(key, pt.MassFlow, 0, largestAir, "kg/s", "an air flow is 0 or more, positive both ways") {
			return
		}
		if pt.Differential == 0 && pt.MassFlow > 0 {
			ps.add(key, "air flow with no differential", show(pt.MassFlow, "kg/s")+" at 0", "an air curve begins at zero")
			return
		}
		if pt.Differential > 0 && pt.MassFlow == 0 {
			ps.add(key, "an orifice that passes nothing", "no flow at "+kPa(pt.Differential), "give what it passes there, or leave the table out for a valve without this orifice")
			return
		}
		if i > 0 && (pt.Differential <= pts[i-1].Differential || pt.MassFlow < pts[i-1].MassFlow) {
			ps.add(key, "an air curve that does not rise", fmt.Sprintf("point %d", i+1), "sort the points by differential, each once, with flows that do not fall")
			return
		}
	}
}

func (ps *problems) orifice(o *Orifice) {
	if o != nil {
		ps.hole("small_orifice", o.Diameter, o.Coefficient)
	}
}
