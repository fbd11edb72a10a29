package bench

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"obvert/document"
	"obvert/physics/valve"
	"obvert/quantity"
)

// Reduce reduces a sealing run. An error is one of [document.Faults], each with its
// place in the run; the result is then empty.
func Reduce(r Run) (Result, error) {
	if err := r.Check().Err(); err != nil {
		return Result{}, err
	}
	f, err := newFrame(&r)
	if err != nil {
		return Result{}, document.Faults{place{file: r.Source}.fault("a bench whose water or gravity cannot be", err.Error(), "look at the temperature, latitude and altitude")}
	}
	res := Result{
		Name: r.Name, Date: r.Date, Operator: r.Operator, Bench: r.Bench, Source: r.Source,
		WaterTemperature: r.WaterTemperature, Density: f.density, Gravity: f.gravity,
		TightMeans: "no drop in " + quantity.Format(r.NoDrop, "s", 0),
		Readings:   f.readings(),
	}
	if r.Tube != nil {
		res.TubeTop = r.Tube.Top
	}
	res.Findings = f.instrumentFindings(res.Readings)
	var faults document.Faults
	for _, v := range r.Valves {
		vr, notes, fault := f.reduceValve(v)
		if fault != nil {
			faults = append(faults, *fault)
		}
		res.Valves = append(res.Valves, vr)
		res.Findings = append(res.Findings, notes...)
	}
	if err := faults.Err(); err != nil {
		return Result{}, err
	}
	return res, nil
}

// reduceValve reduces one valve.
func (f *frame) reduceValve(v ValveRun) (ValveResult, []Finding, *document.Fault) {
	s := f.tell(v)
	up := f.judgeSealing(v, s)
	down := f.judgeLettingGo(v, s, up.threshold.Bound)
	notes := append(s.findings, append(up.findings, down.findings...)...)
	vr := ValveResult{Name: v.Name, Record: v.Record, Seat: v.Seat, Marks: s.marks}
	more, fault := f.order(v, &up, &down)
	notes = append(notes, more...)
	vr.Sealing, vr.LettingGo = up.threshold, down.threshold
	if up.threshold.Bound == valve.Measured && down.threshold.Bound == valve.Measured {
		vr.HasHysteresis, vr.Hysteresis = true, up.threshold.Mean-down.threshold.Mean
	}
	vr.SealingBudget, vr.LettingGoBudget = up.estimate.Budget(), down.estimate.Budget()
	vr.Coverage, vr.LettingGoCoverage = up.k, down.k
	var leakNotes, fitNotes []Finding
	vr.Leaks, leakNotes = f.leaks(v)
	vr.Leak, fitNotes = fitLeak(v.Name, vr.Leaks, vr.Sealing)
	for _, m := range s.marks {
		if !m.Used && !strings.HasPrefix(m.Why, "another mark") {
			notes = append(notes, Finding{"bench.mark-not-used", v.Name, fmt.Sprintf("%s, mark at %s: not used, %s.", v.Name, seconds(m.Time), m.Why)})
		}
	}
	vr.Statement = f.statement(vr, up)
	return vr, append(append(notes, leakNotes...), fitNotes...), fault
}

// order holds the two thresholds against each other. A valve lets go at or below the
// head at which it shuts: where the means say otherwise within their uncertainty,
// both become their common mean; where they say so beyond it, the run is at fault.
func (f *frame) order(v ValveRun, up, down *judgement) ([]Finding, *document.Fault) {
	s, l := &up.threshold, &down.threshold
	if l.Bound != valve.Measured || s.Bound != valve.Measured && s.Bound != valve.LessThan || l.Mean <= s.Mean {
		return nil, nil
	}
	over := l.Mean - s.Mean
	allowed := math.Hypot(up.k*f.own(up), down.k*f.own(down)) + 2*math.Abs(f.delayed(up)-f.delayed(down))
	if over > allowed {
		fault := v.at.fault("letting-go above sealing",
			fmt.Sprintf("%s shuts at %s and lets go at %s", v.Name, kPaText(s.Mean), kPaText(l.Mean)),
			"look whether marks were exchanged, and at the turn of each repeat")
		if fault.File == "" {
			fault.File = f.run.Source
		}
		return nil, &fault
	}
	if s.Bound == valve.LessThan {
		l.Mean = s.Mean
		return []Finding{{"bench.no-hysteresis", v.Name, v.Name + ": it lets go, within the uncertainty, where it was first seen tight."}}, nil
	}
	common := (s.Mean + l.Mean) / 2
	s.Mean, l.Mean = common, common
	return []Finding{{"bench.no-hysteresis", v.Name, fmt.Sprintf("%s: sealing and letting-go head cannot be told apart (they differ by %s); both are given as their mean.", v.Name, kPaText(over))}}, nil
}

// own is the part of a threshold's uncertainty that sealing and letting-go do not
// share: scatter and looks.
func (f *frame) own(j *judgement) float64 {
	sum := 0.0
	for i, in := range j.estimate.Inputs {
		if in.Shape == FromRepeats || in.Quantity == "between two looks" {
			sum += j.estimate.Contribution[i] * j.estimate.Contribution[i]
		}
	}
	return math.Sqrt(sum)
}

// delayed is the delay's contribution with its sign, which differs upwards and
// downwards.
func (f *frame) delayed(j *judgement) float64 {
	for i, in := range j.estimate.Inputs {
		if in.Quantity == "delay of a mark" {
			return j.estimate.Contribution[i]
		}
	}
	return 0
}

// statement says in one plain sentence what was found.
func (f *frame) statement(v ValveResult, up judgement) string {
	sealing := f.headText(v.Sealing, v.Coverage)
	var say string
	switch v.Sealing.Bound {
	case valve.Measured:
		say = "shuts at " + sealing
		if !v.Sealing.HasScatter {
			say += " (scatter from one shutting to the next not known)"
		}
	case valve.LessThan:
		say = "tight at the first look: shuts at less than " + f.metres(v.Sealing.Mean)
	case valve.MoreThan:
		say = "not seen tight"
		if up.tight > 0 {
			say = fmt.Sprintf("tight in %d of %d repeats only", up.tight, up.of)
		}
		return say + ": shuts at more than " + f.metres(v.Sealing.Mean) + ", the highest head at which it was seen dripping; a letting-go head does not apply"
	default:
		return "no mark tells where it shuts"
	}
	switch v.LettingGo.Bound {
	case valve.Measured:
		return say + ", lets go at " + f.headText(v.LettingGo, v.LettingGoCoverage)
	case valve.LessThan:
		return say + ", lets go at less than " + f.metres(v.LettingGo.Mean)
	}
	return say + "; no mark tells where it lets go"
}

func (f *frame) metres(p float64) string { return quantity.Format(f.head(p), "m", 2) }

// headText is a head with its expanded uncertainty, to the uncertainty's digits.
func (f *frame) headText(t valve.Threshold, k float64) string {
	u := f.head(k * t.Uncertainty)
	digits := 2
	if u < 0.02 {
		digits = 3
	}
	return fmt.Sprintf("%s ± %s (k = %s)", quantity.Format(f.head(t.Mean), "m", digits), quantity.Format(u, "m", digits), quantity.Number(k, 1))
}

// instrumentFindings says what is odd about the instruments.
func (f *frame) instrumentFindings(readings []Reading) []Finding {
	out := f.certificates()
	out = append(out, f.disagreement(readings)...)
	if t := f.run.Tube; t != nil {
		for _, s := range f.run.Samples {
			if s.HasTube && t.Zero+s.Tube > t.Top+2*t.Resolution {
				out = append(out, Finding{"bench.tube-over-top", "tube at " + seconds(s.Time),
					fmt.Sprintf("The tube was read at %s above the datum, and its top is at %s: one of the two is wrong.", metres(t.Zero+s.Tube), metres(t.Top))})
				break
			}
		}
	}
	return out
}

// certificates looks at the certificates' dates and ranges. A year between
// calibrations is common practice, no source.
func (f *frame) certificates() []Finding {
	var out []Finding
	look := func(name string, c Certificate, k track) {
		if day, err := time.Parse(time.DateOnly, c.Date); err == nil {
			if run, err := time.Parse(time.DateOnly, f.run.Date); err == nil {
				switch age := run.Sub(day).Hours() / 24; {
				case age < 0:
					out = append(out, Finding{"bench.certificate-later", name, fmt.Sprintf("The %s's certificate (%s) is younger than the run (%s).", name, c.Date, f.run.Date)})
				case age > 366:
					out = append(out, Finding{"bench.certificate-old", name, fmt.Sprintf("The %s's certificate is %.0f months old; a year is common practice.", name, age/30.44)})
				}
			}
		}
		for _, v := range k.v {
			if c.beyond(v) {
				out = append(out, Finding{"bench.certificate-range", name, fmt.Sprintf("The %s was read outside the indications of its certificate; the nearest correction is used there.", name)})
				break
			}
		}
	}
	if f.run.Gauge != nil {
		look("gauge", f.run.Gauge.Certificate, f.gauge)
	}
	if f.run.Tube != nil {
		look("tube", f.run.Tube.Certificate, f.tube)
	}
	return out
}

// mostStretches is how many stretches of disagreement are told one by one.
const mostStretches = 5

// disagreement finds where gauge and tube differ by more than their expanded
// uncertainty (k = 2), each stretch of it once, with its worst.
func (f *frame) disagreement(readings []Reading) []Finding {
	limit := 2 * math.Hypot(f.gaugeU, f.tubeU)
	var out []Finding
	var from, to, worst float64
	open := false
	shut := func() {
		if open {
			out = append(out, Finding{"bench.instruments-differ", fmt.Sprintf("%s to %s", seconds(from), seconds(to)),
				fmt.Sprintf("From %s to %s gauge and tube differ by up to %s, more than their uncertainties allow together (%s).", seconds(from), seconds(to), kPaText(math.Abs(worst)), kPaText(limit))})
		}
		open, worst = false, 0
	}
	for _, rd := range readings {
		if !rd.HasGauge || !rd.HasTube {
			continue
		}
		d := rd.Gauge - rd.Tube
		if math.Abs(d) <= limit {
			shut()
			continue
		}
		if !open {
			open, from = true, rd.Time
		}
		to = rd.Time
		if math.Abs(d) > math.Abs(worst) {
			worst = d
		}
	}
	shut()
	if len(out) > mostStretches {
		last := out[len(out)-1].Where
		return append(out[:mostStretches], Finding{"bench.instruments-differ", "until " + last,
			fmt.Sprintf("They differ in %d more stretches, the last of them %s.", len(out)-mostStretches, last)})
	}
	return out
}

// Records makes a valve record of each valve of a result: its measured parts, and
// where they come from. What a bench cannot know, such as rating, price and air
// curves, is to be filled in by hand; until then a record admits air.
func Records(res Result) []valve.Record {
	out := make([]valve.Record, 0, len(res.Valves))
	for _, v := range res.Valves {
		r := valve.Record{
			Name: v.Record, AdmitsAir: true,
			Sealing: rounded(v.Sealing), LettingGo: rounded(v.LettingGo),
			Origin: fmt.Sprintf("bench run %q, %s, %s", res.Name, res.Date, res.Operator),
			Source: res.Source,
		}
		if r.Sealing.Bound == valve.Measured && r.LettingGo.Bound == valve.Measured {
			r.LettingGo.Mean = math.Min(r.LettingGo.Mean, r.Sealing.Mean) // rounding alone can exchange equal means
		}
		for _, pt := range v.Leak {
			pt = valve.LeakPoint{Pressure: written(pt.Pressure, quantity.GaugePressure, "kPa", 4), Flow: written(pt.Flow, quantity.Flow, "L/min", 3)}
			if n := len(r.Leak); n > 0 && pt.Pressure <= r.Leak[n-1].Pressure {
				continue
			}
			if v.Sealing.Bound != valve.MoreThan && v.Sealing.Bound != valve.Unknown && pt.Pressure >= r.Sealing.Mean {
				continue
			}
			r.Leak = append(r.Leak, pt)
		}
		out = append(out, r)
	}
	return out
}

// rounded keeps a threshold's digits that say something: three of its uncertainty
// (JCGM 100:2008, 7.2.6 asks for two at most in a report; a record is reckoned with
// further).
func rounded(t valve.Threshold) valve.Threshold {
	figures := 8
	if t.Uncertainty > 0 && t.Mean != 0 {
		figures = 3 + order10(t.Mean) - order10(t.Uncertainty)
	}
	t.Mean = written(t.Mean, quantity.GaugePressure, "kPa", max(1, figures))
	t.Uncertainty = written(t.Uncertainty, quantity.PressureDifference, "kPa", 3)
	t.Scatter = written(t.Scatter, quantity.PressureDifference, "kPa", 3)
	t.Freedom, _ = strconv.ParseFloat(strconv.FormatFloat(t.Freedom, 'g', 3, 64), 64)
	return t
}

// order10 is the power of ten of a figure's first digit.
func order10(x float64) int { return int(math.Floor(math.Log10(math.Abs(x)))) }

// written is a value as its text gives it back, rounded to some digits of a unit.
func written(v float64, k quantity.Kind, unit string, figures int) float64 {
	x, err := quantity.To(v, unit)
	if err != nil {
		return v
	}
	back, err := quantity.Parse(k, strconv.FormatFloat(x, 'g', figures, 64)+" "+unit)
	if err != nil {
		return v
	}
	return back
}
