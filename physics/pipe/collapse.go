package pipe

import (
	"errors"
	"math"
)

// Form is a formula for the collapse of a free-standing pipe.
type Form uint8

// The forms. D is the mean diameter and Do the outside one.
const (
	LongTube     Form = iota // 2E/(1−ν²)·(t/D)³: a long tube, which cannot shorten where it bends
	Ring                     // 2E·(t/D)³ = 3EI/R³: a ring by itself
	OutsideForm              // 2E/((1−ν²)·(Do/t)(Do/t−1)²): used for PVC
	ThreeQuarter             // 0.75 × 2E/((1−ν²)(Do/t−1)³): used for PVC, on the safe side
)

// String is the form in plain words.
func (f Form) String() string {
	if f > ThreeQuarter {
		return "unknown form"
	}
	return [...]string{"long tube", "ring", "tube on its outside diameter", "three quarters of the long tube"}[f]
}

// Soil is what stands around a pipe. The zero value is none: the pipe is free-standing. With ground water alone it stands in water.
type Soil struct {
	Modulus    float64 `unit:"Pa"`   // of soil reaction E′; 0: the pipe is free-standing
	Cover      float64 `unit:"m"`    // above the pipe's top, h
	WaterTable float64 `unit:"m"`    // height of the ground water above the pipe's top, h_w; 0 where it is lower
	Weight     float64 `unit:"N/m³"` // specific weight of the fill; 0: 18.85 kN/m³ (120 lb/ft³)
	LiveLoad   float64 `unit:"N/m"`  // on the pipe, per length
}

// usualFill is 120 lb/ft³: common practice, no source.
const usualFill = 18.85e3 // N/m³

const waterWeight = 9806.65 // N/m³, of ground water

const fullVacuum = 101325.0 // Pa: no pipe ever meets more

// Notes on a collapse pressure.
const (
	NoteShallow   = "pipe.cover-out-of-range"    // cover outside the 1.2 to 24 m of the buried form with a vacuum inside
	NoteFlooded   = "pipe.water-above-ground"    // ground water above the ground: buoyancy as for water at the ground
	NoteOval      = "pipe.ovality-out-of-range"  // more than the reduction was tabulated for
	NoteThick     = "pipe.thick-wall"            // D/t below 10: elastic buckling is not what fails it
	NoteNothing   = "pipe.no-vacuum-left"        // soil, water and traffic outside take all that the pipe may bear
	NoteUnderFree = "pipe.soil-weaker-than-none" // the buried form allows less than the same pipe free-standing, and less than a full vacuum
)

// Vacuum is what the largest vacuum in a pipe hangs on.
type Vacuum struct {
	Shell
	Form    Form
	Ovality float64 `unit:"1"` // (largest − smallest diameter)/mean diameter
	Factor  float64 `unit:"1"` // safety factor on collapse, 1 or more
	Soil    Soil
}

// Check reports every fault at once, joined; nil where there is none.
func (v Vacuum) Check() error {
	var c shellChecker
	if err := v.Shell.Check(); err != nil {
		c = append(c, err)
	}
	if math.IsInf(v.Modulus, 0) {
		c.fault("modulus of elasticity is infinite: a rigid wall does not buckle; give its modulus")
	}
	if v.Form > ThreeQuarter {
		c.fault("form %d is none: give one of the constants", v.Form)
	}
	if !(v.Ovality >= 0 && v.Ovality < 1) {
		c.fault("ovality is %g: give (largest − smallest)/mean diameter, 0 to below 1", v.Ovality)
	}
	if !(v.Factor >= 1 && v.Factor <= 100) {
		c.fault("safety factor on collapse is %g: give one from 1, usually 2 to 4", v.Factor)
	}
	c.soil(v.Soil)
	return errors.Join(c...)
}

func (c *shellChecker) soil(s Soil) {
	c.notNegative("modulus of soil reaction", s.Modulus, "Pa")
	c.notNegative("cover", s.Cover, "m")
	c.notNegative("ground water above the pipe", s.WaterTable, "m")
	c.notNegative("weight of the fill", s.Weight, "N/m³")
	c.notNegative("live load", s.LiveLoad, "N/m")
	if s.Modulus > 0 && s.Cover == 0 {
		c.fault("a soil with a modulus but no cover: give the cover above the pipe's top, or leave the modulus out for a pipe in the open")
	}
}

// Buckling is what collapses a pipe, and the vacuum allowed in it. All pressures are outside less inside.
type Buckling struct {
	// Critical pressures of the round free-standing pipe, by each form.
	Ring         float64 `unit:"Pa"`
	LongTube     float64 `unit:"Pa"`
	OutsideForm  float64 `unit:"Pa"`
	ThreeQuarter float64 `unit:"Pa"`

	Roundness   float64 `unit:"1"`  // what ovality leaves of it
	Free        float64 `unit:"Pa"` // critical, free-standing, by the form asked for and with the ovality
	FreeAllowed float64 `unit:"Pa"` // Free over the safety factor; of a pipe without soil less γ_w h_w

	Buried        bool    // what follows counts
	Buoyancy      float64 `unit:"1"`  // R_w = 1 − 0.33 h_w/h
	Support       float64 `unit:"1"`  // B′ = 1/(1 + 4 e^(−0.065 h)), h in feet
	Critical      float64 `unit:"Pa"` // √(32 R_w B′ E′ EI/D³)
	BuriedAllowed float64 `unit:"Pa"` // the same over the safety factor, before loads
	Load          float64 `unit:"Pa"` // γ_w h_w + R_w W_c/D + W_L/D, which comes off it; of a pipe without soil γ_w h_w
	Moser         float64 `unit:"Pa"` // second opinion: 2√(E′/(1−ν²)·EI/R³), critical
	Nordic        float64 `unit:"Pa"` // third opinion: 1.15 √(P_b E′), critical

	Allowed float64  `unit:"Pa"` // vacuum allowed in the pipe, 0 or more
	Governs string   // "free-standing" or "buried"
	Notes   []string // ids, in the order they were met
}

// Collapse returns what collapses a pipe under vacuum and the vacuum that may be allowed.
//
// Free-standing (by [Form]; R. v. Mises, and A. P. Moser, S. Folkman, Buried Pipe Design, 3rd ed., pp. 111–112; ASTM F480 for PVC), with what
// ovality leaves of it, δ = ovality/2 being the shortening of the smaller diameter:
//
//	f = ((1 − δ)/(1 + δ)²)³
//
// (handbooks of plastic pipe, from memory). Without soil, water h_w above the top presses by γ_w h_w, which leaves the less for a
// vacuum. Buried, by AWWA Manual M11 (from memory, and a published calculation by it):
//
//	q_a = 1/F·√(32 R_w B′ E′ EI/D³),   vacuum ≤ q_a − γ_w h_w − R_w W_c/D − W_L/D
//
// per length of pipe, with I = t³/12, D the outside diameter, W_c the weight of the soil prism. A buried pipe that has its
// support taken away (a trench opened beside it) is free-standing: FreeAllowed then counts.
func Collapse(v Vacuum) (Buckling, error) {
	if err := v.Check(); err != nil {
		return Buckling{}, err
	}
	b := v.free()
	if v.Soil.Modulus > 0 {
		v.bury(&b)
		return b, nil
	}
	b.Load = waterWeight * v.Soil.WaterTable
	b.leave(b.FreeAllowed - b.Load)
	b.FreeAllowed, b.Governs = b.Allowed, "free-standing"
	return b, nil
}

// leave is what is left for a vacuum; where that is nothing it is 0, with a note.
func (b *Buckling) leave(vacuum float64) {
	b.Allowed = max(0, vacuum)
	if b.Allowed == 0 {
		b.Notes = append(b.Notes, NoteNothing)
	}
}

// free is the collapse of the pipe without soil.
func (v Vacuum) free() Buckling {
	e, nu, t := v.Modulus, v.Poisson, v.Wall
	b := Buckling{
		Ring:         ring(e, t/v.Mean()),
		LongTube:     longTube(e, nu, t/v.Mean()),
		OutsideForm:  outsideForm(e, nu, v.Outside()/t),
		ThreeQuarter: threeQuarter(e, nu, v.Outside()/t),
		Roundness:    roundness(v.Ovality),
	}
	round := [...]float64{LongTube: b.LongTube, Ring: b.Ring, OutsideForm: b.OutsideForm, ThreeQuarter: b.ThreeQuarter}[v.Form]
	b.Free = round * b.Roundness
	b.FreeAllowed = b.Free / v.Factor
	if v.Ovality/2 > tabulatedDeflection {
		b.Notes = append(b.Notes, NoteOval)
	}
	if v.Mean()/t < 10 {
		b.Notes = append(b.Notes, NoteThick)
	}
	return b
}

// bury adds what the soil does.
func (v Vacuum) bury(b *Buckling) {
	s, d := v.Soil, v.Outside()
	b.Buried = true
	if s.Cover < 4*metresPerFoot || s.Cover > 80*metresPerFoot {
		b.Notes = append(b.Notes, NoteShallow)
	}
	under := s.WaterTable
	if under > s.Cover {
		under = s.Cover
		b.Notes = append(b.Notes, NoteFlooded)
	}
	b.Buoyancy = 1 - 0.33*under/s.Cover
	b.Support = 1 / (1 + 4*math.Exp(-0.065*s.Cover/metresPerFoot))
	stiff := v.Modulus * v.Wall * v.Wall * v.Wall / 12 // EI, N·m
	b.Critical = math.Sqrt(32 * b.Buoyancy * b.Support * s.Modulus * stiff / (d * d * d))
	b.BuriedAllowed = b.Critical / v.Factor
	b.Load = waterWeight*s.WaterTable + b.Buoyancy*s.weight()*s.Cover + s.LiveLoad/d
	b.Moser = moser(s.Modulus, v.Poisson, stiff, v.Mean()/2)
	b.Nordic = 1.15 * math.Sqrt(b.Ring*s.Modulus)

	b.leave(b.BuriedAllowed - b.Load)
	b.Governs = "buried"
	if b.Allowed < min(b.FreeAllowed, fullVacuum) {
		b.Notes = append(b.Notes, NoteUnderFree)
	}
}

const metresPerFoot = 0.3048 // m

// weight is the specific weight of the fill, N/m³.
func (s Soil) weight() float64 {
	if s.Weight == 0 {
		return usualFill
	}
	return s.Weight
}

// ring is 2E·(t/D)³.
func ring(e, ratio float64) float64 { return 2 * e * ratio * ratio * ratio }

// longTube is 2E/(1−ν²)·(t/D)³.
func longTube(e, nu, ratio float64) float64 { return ring(e, ratio) / (1 - nu*nu) }

// outsideForm is 2E/((1−ν²)·r·(r−1)²), r = Do/t.
func outsideForm(e, nu, r float64) float64 { return 2 * e / ((1 - nu*nu) * r * (r - 1) * (r - 1)) }

// threeQuarter is 0.75·2E/((1−ν²)(r−1)³), r = Do/t.
func threeQuarter(e, nu, r float64) float64 { return 0.75 * longTube(e, nu, 1/(r-1)) }

// moser is 2√(E′/(1−ν²)·EI/R³).
func moser(soil, nu, stiff, radius float64) float64 {
	return 2 * math.Sqrt(soil/(1-nu*nu)*stiff/(radius*radius*radius))
}

// tabulatedDeflection is the largest shortening of the diameter in the tables of the reduction, from memory.
const tabulatedDeflection = 0.12

// roundness is what an ovality leaves of the collapse pressure.
func roundness(ovality float64) float64 {
	d := ovality / 2
	f := (1 - d) / ((1 + d) * (1 + d))
	return f * f * f
}
