package grade

import (
	"math"

	"obvert/line"
	"obvert/physics/pipe"
)

// laws is the friction of one run: of each section, the slope of the grade line per metre of pipe.
type laws struct {
	law   []pipe.Law
	local []float64 // local loss, 1/(m⁵/s²) per metre: slope = local·q²
	equip []float64 // head lost per q² in a piece of equipment, by equipment index
	speed []float64 // velocity head per q², by section: 1/(2 g A²), s²/m⁵
	slope []float64 // at the flow last set, by section
	grow  []float64 // its derivative by flow
	q2    float64   // the flow last set, squared
	dq2   float64   // twice its size
	still float64   // m³/s: a flow at which a law's derivative stands for that at rest in the first step
}

func newLaws(l *line.Line, run *line.Run, g *grid, roughnessFactor float64) *laws {
	n := len(run.Sections)
	f := &laws{slope: make([]float64, n), grow: make([]float64, n), local: make([]float64, n)}
	f.still = math.Inf(1)
	for i := range run.Sections {
		sec := &run.Sections[i]
		area := math.Pi / 4 * sec.Bore * sec.Bore
		if sec.HazenWilliams > 0 {
			f.law = append(f.law, pipe.NewHazenWilliams(sec.Bore, sec.HazenWilliams*hazenFactor(roughnessFactor)))
		} else {
			f.law = append(f.law, pipe.NewDarcyWeisbach(sec.Bore, sec.Roughness*roughnessFactor, l.Site.Viscosity, l.Site.Gravity))
		}
		if g.length[i] > 0 {
			f.local[i] = sec.LocalLoss / g.length[i] / (2 * l.Site.Gravity * area * area)
		}
		f.speed = append(f.speed, 1/(2*l.Site.Gravity*area*area))
		f.still = min(f.still, 0.3*area)
	}
	for _, e := range run.Equipment {
		bore := run.Sections[sectionAt(run, e.Chainage)].Bore
		area := math.Pi / 4 * bore * bore
		f.equip = append(f.equip, e.Loss/(2*l.Site.Gravity*area*area))
	}
	return f
}

// hazenFactor is what a change of roughness does to C. To first order at high Reynolds numbers the gradient goes with
// k^(1/3) (Manning–Strickler) and with C^−1.852, so C goes with k^(−1/5.556).
func hazenFactor(roughnessFactor float64) float64 { return math.Pow(roughnessFactor, -1/5.556) }

func sectionAt(run *line.Run, chainage float64) int {
	for i := range run.Sections {
		if chainage <= run.Sections[i].To {
			return i
		}
	}
	return len(run.Sections) - 1
}

// set reckons the slopes at a flow q ≥ 0, m³/s.
func (f *laws) set(q float64) {
	f.q2, f.dq2 = q*q, 2*q
	for i := range f.law {
		s, d := f.law[i].Gradient(q)
		f.slope[i] = s + f.local[i]*f.q2
		f.grow[i] = d + f.local[i]*f.dq2
	}
}
