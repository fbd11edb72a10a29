package valve

import (
	"bytes"
	"fmt"
	"math"
	"strconv"
	"strings"

	"obvert/document"
	"obvert/quantity"
)

// Format writes a record as the text that [Parse] reads back to the same record,
// figure for figure (Source, which is where a text was read from, is not part of
// it). Figures have the shortest spelling that reads back exactly.
func Format(r Record) []byte {
	w := &writer{}
	w.line("# Air valve record. Pressures are gauge, at the valve's seat.")
	w.line("")
	w.text("name", r.Name)
	w.optional("description", r.Description)
	if r.Typical {
		w.line("typical     = true                # a generic class, no particular valve")
	}
	w.figure("nominal", quantity.Length, r.NominalDiameter, "mm", "m")
	w.optional("connection", r.Connection)
	w.figure("rating", quantity.GaugePressure, r.Rating, "bar", "kPa", "Pa")
	if r.Price != 0 {
		w.text("price", decimal(r.Price)+" "+r.Currency)
	}
	w.raw("admits_air", strconv.FormatBool(r.AdmitsAir))
	w.figure("early_closing", quantity.PressureDifference, r.EarlyClosing, "kPa", "Pa")
	w.text("origin", r.Origin)
	w.threshold("sealing", "Rising: drip-tight from here. The uncertainty is of this valve's mean (standard, k = 1);\n"+
		"# the scatter is the standard deviation from one shutting to the next.", r.Sealing, true)
	w.threshold("letting_go", "Falling: tight down to here.", r.LettingGo, r.LettingGo != Threshold{})
	w.leak(r.Leak)
	w.air("air_in", "Large orifice, air into the pipe", r.In, 0)
	w.air("air_out", "Large orifice, air out of the pipe", r.Out, 0)
	if r.Stage != nil {
		w.air("anti_slam", "Anti-slam stage, the throttled orifice from the differential up", &r.Stage.Out, r.Stage.Differential)
	}
	if o := r.SmallOrifice; o != nil {
		w.table("small_orifice", "Small orifice, for air released under pressure.")
		w.hole(o.Diameter, o.Coefficient)
	}
	return w.Bytes()
}

type writer struct{ bytes.Buffer }

func (w *writer) line(s string)       { w.WriteString(s + "\n") }
func (w *writer) raw(key, val string) { fmt.Fprintf(w, "%-11s = %s\n", key, val) }
func (w *writer) text(key, s string)  { w.raw(key, document.Quote(s)) }

func (w *writer) optional(key, s string) {
	if s != "" {
		w.text(key, s)
	}
}

// table begins a table under a line of comment.
func (w *writer) table(key, comment string) { fmt.Fprintf(w, "\n# %s\n[%s]\n", comment, key) }

// figure writes a dimensional value, nothing where it is 0.
func (w *writer) figure(key string, k quantity.Kind, v float64, units ...string) {
	if v != 0 {
		w.text(key, spell(k, v, units...))
	}
}

func (w *writer) threshold(key, comment string, t Threshold, shown bool) {
	if !shown {
		return
	}
	w.table(key, comment)
	w.text("known", t.Bound.String())
	if t.HasValue() {
		w.text("mean", pressure(quantity.GaugePressure, t.Mean))
		w.text("uncertainty", pressure(quantity.PressureDifference, t.Uncertainty))
	}
	if t.HasScatter {
		w.text("scatter", pressure(quantity.PressureDifference, t.Scatter))
	}
	if t.Repeats != 0 {
		w.raw("repeats", strconv.Itoa(t.Repeats))
	}
	if t.Freedom != 0 {
		w.raw("freedom", number(t.Freedom))
	}
}

func (w *writer) leak(pts []LeakPoint) {
	if len(pts) == 0 {
		return
	}
	w.table("leak", "Water out of the valve while it is not shut: pressure at the seat, flow. Zero at the seat\n"+
		"# and from the sealing pressure up.")
	w.line("curve = [")
	for _, p := range pts {
		fmt.Fprintf(w, "  [%s, %s],\n", document.Quote(pressure(quantity.GaugePressure, p.Pressure)),
			document.Quote(spell(quantity.Flow, p.Flow, "L/min", "L/s", "mL/min", "m³/s")))
	}
	w.line("]")
}

// air writes an air curve, with the differential from which it holds where that is
// not 0.
func (w *writer) air(key, comment string, a *Air, from float64) {
	if a == nil {
		return
	}
	table := func(comment string) {
		w.table(key, comment)
		w.figure("differential", quantity.PressureDifference, from, "kPa", "Pa")
	}
	switch {
	case len(a.Points) > 0:
		table(comment + ": differential, flow.")
		w.figure("outside_pressure", quantity.AbsolutePressure, a.TestPressure, "kPa(a)", "Pa(a)")
		w.figure("air_temperature", quantity.Temperature, a.TestTemperature, "°C", "K")
		w.line("curve = [")
		for _, p := range a.Points {
			fmt.Fprintf(w, "  [%s, %s],\n", document.Quote(pressure(quantity.PressureDifference, p.Differential)),
				document.Quote(spell(quantity.AirFlow, p.MassFlow, "kg/s", "g/s")))
		}
		w.line("]")
	case a.C != 0:
		table(comment + ", by ISO 6358: C and b.")
		w.text("conductance", spell(quantity.SonicConductance, a.C, "dm³/(s·bar)", "m³/(s·Pa)"))
		w.raw("critical_ratio", number(a.CriticalB))
		w.raw("exponent", number(a.SubsonicM))
	default:
		table(comment + ": bore and discharge coefficient.")
		w.hole(a.Diameter, a.Coefficient)
	}
}

func (w *writer) hole(diameter, coefficient float64) {
	w.text("diameter", spell(quantity.Length, diameter, "mm", "m"))
	w.raw("coefficient", number(coefficient))
}

func pressure(k quantity.Kind, p float64) string { return spell(k, p, "kPa", "Pa") }

// artefact is how many digits another unit must save to be taken: rounding makes
// decimals of sixteen digits of one of five, no real figure does.
const artefact = 8

// spell writes a value as a decimal that reads back to exactly v, in the first unit
// unless a later one is much shorter. The last unit is the SI one, in which the
// shortest decimal of v itself always reads back.
func spell(k quantity.Kind, v float64, units ...string) string {
	best, length := decimal(v)+" "+units[len(units)-1], 17+artefact+1
	for _, unit := range units {
		x, err := quantity.To(v, unit)
		if err != nil {
			continue
		}
		for digits := 1; digits <= min(17, length-artefact); digits++ {
			short, err := strconv.ParseFloat(strconv.FormatFloat(x, 'g', digits, 64), 64)
			if err != nil {
				break
			}
			text := decimal(short) + " " + unit
			if back, err := quantity.Parse(k, text); err == nil && back == v {
				best, length = text, digits
				break
			}
		}
	}
	return best
}

// decimal writes a number without an exponent, unless it would be all zeros.
func decimal(x float64) string {
	if a := math.Abs(x); a != 0 && (a < 1e-6 || a >= 1e15) {
		return strconv.FormatFloat(x, 'e', -1, 64)
	}
	return strconv.FormatFloat(x, 'f', -1, 64)
}

// number writes a TOML number that reads as a float.
func number(x float64) string {
	s := decimal(x)
	if !strings.ContainsAny(s, ".e") {
		s += ".0"
	}
	return s
}
