package water

import "math"

// A Gas is a gas that dissolves in water.
type Gas int

// The gases of air, in falling share.
const (
	Nitrogen Gas = iota
	Oxygen
	Argon
	CarbonDioxide
)

// String returns the gas's name in English.
func (g Gas) String() string {
	if g < 0 || int(g) >= len(gases) {
		return "unknown gas"
	}
	return gases[g].name
}

// NoteHenryExtrapolated is the note of a result at a temperature below the
// lowest measurement that IAPWS G7-04 was fitted to for the gas (278.12 K for
// nitrogen), by 5 K at most.
const NoteHenryExtrapolated = "water.henry-extrapolated"

// gases holds per gas the coefficients and fitted range of IAPWS G7-04 for
// solvent H₂O (Table 2, from memory; held to its Table 6 by a test), the molar
// mass, the share of dry air by volume (ISO 2533 Table 3) and the partial molar
// volume in water (after Enns, Scholander & Bradstreet, J. Phys. Chem. 69 (1965)
// 389, rounded, from memory; the sum is tested against solubility measured to
// 100 bar).
var gases = [...]struct {
	name      string
	a, b, c   float64
	low, high float64 // K
	molar     float64 // kg/mol
	share     float64 // mole fraction of dry air
	volume    float64 // m³/mol
}{
	Nitrogen:      {"nitrogen", -9.67578, 4.72162, 11.70585, 278.12, 636.46, 28.0134e-3, 0.78084, 33e-6},
	Oxygen:        {"oxygen", -9.44833, 4.43822, 11.42005, 274.15, 616.52, 31.9988e-3, 0.209476, 32e-6},
	Argon:         {"argon", -8.40954, 4.29587, 10.52779, 273.19, 568.36, 39.948e-3, 0.00934, 32e-6},
	CarbonDioxide: {"carbon dioxide", -8.55445, 4.01195, 9.52345, 274.19, 642.66, 44.0095e-3, 0.000314, 33e-6},
}

// Henry is a Henry's constant.
type Henry struct {
	Constant float64 `unit:"Pa"` // kH = lim (fugacity / mole fraction in water), Pa
	Note     string  // empty, or NoteHenryExtrapolated
}

// HenryConstant returns Henry's constant of a gas in water at temperature tK
// (K) by IAPWS G7-04, Eq. 3:
//
//	ln(kH/p1*) = A/TR + B·τ^0.355/TR + C·TR^−0.41·e^τ,  TR = T/Tc, τ = 1 − TR
//
// with p1* the vapour pressure of the solvent, for which the guideline gives
// its own equation. The range is from 273.15 K, a little below the guideline's
// lowest measurement, with a note there, to the guideline's upper limit for
// the gas.
func HenryConstant(g Gas, tK float64) (Henry, error) {
	if g < 0 || int(g) >= len(gases) {
		return Henry{}, &RangeError{"gas", "", float64(g), 0, float64(len(gases) - 1), "IAPWS G7-04",
			"choose water.Nitrogen, Oxygen, Argon or CarbonDioxide"}
	}
	c := &gases[g]
	if err := checkTemperature(tK, minRegion1, c.high, "IAPWS G7-04 for "+c.name); err != nil {
		return Henry{}, err
	}
	h := Henry{Constant: henry(g, tK)}
	if tK < c.low {
		h.Note = NoteHenryExtrapolated
	}
	return h, nil
}

func henry(g Gas, tK float64) float64 {
	c := &gases[g]
	tr := tK / criticalT
	tau := 1 - tr
	ln := (c.a+c.b*math.Pow(tau, 0.355))/tr + c.c*math.Pow(tr, -0.41)*math.Exp(tau)
	return wagnerPruss(tau, tr) * math.Exp(ln)
}

// wagnerPruss is the vapour pressure in Pa of Wagner & Pruß, J. Phys. Chem.
// Ref. Data 22 (1993) 783, Eq. 1, which IAPWS G7-04 prescribes as p1*.
func wagnerPruss(tau, tr float64) float64 {
	t15 := tau * math.Sqrt(tau)
	t3 := tau * tau * tau
	s := -7.85951783*tau + 1.84408259*t15 - 11.7866497*t3 +
		22.6807411*t3*math.Sqrt(tau) - 15.9618719*t3*tau + 1.80122502*t3*t3*t15
	return criticalP * math.Exp(s/tr)
}

// Capacity is the air that water holds in solution at equilibrium with humid
// air: more cannot stay dissolved, so it is what can come out at most when the
// pressure is let down to nothing.
type Capacity struct {
	MoleFraction float64 `unit:"1"`     // moles of air per mole of water
	Mass         float64 `unit:"kg/m³"` // kg of air per m³ of water
	NormalVolume float64 `unit:"1"`     // m³ of dry air at 0 °C and 101 325 Pa (DIN 1343) per m³ of water
	FreeVolume   float64 `unit:"1"`     // m³ of dry air at the water's temperature and 101 325 Pa per m³ of water
	OxygenMass   float64 `unit:"kg/m³"` // kg of oxygen per m³ of water
	Note         string  // empty, or NoteHenryExtrapolated
}

const (
	molarGas    = 8.314462618  // R, J/(mol·K), SI of 2019
	molarWater  = 18.015268e-3 // kg/mol, IAPWS R6-95
	normalT     = 273.15       // K, DIN 1343
	normalP     = 101325.0     // Pa, DIN 1343
	maxSolubleT = 373.15       // K
	maxSolubleP = 10.2e6       // Pa absolute: 100 bar over the atmosphere
)

// AirCapacity returns how much air water holds in solution at temperature tK
// (K, 273.15…373.15) under pAbs (Pa absolute, up to 10.2 MPa) when it is in equilibrium with
// air saturated by vapour at that pressure: each gas i by Henry's law with the
// Krichevsky–Kasarnovsky (Poynting) factor,
//
//	xᵢ = yᵢ·φ·(p − ps) / (kHᵢ·exp(vᵢ·(p − ps)/(RT)))
//
// where yᵢ is its share of dry air, φ the fugacity coefficient of air, vᵢ its partial molar volume in water. Without the
// two pressure corrections the result would be 21 % too high at 100 bar and
// 0 °C; below 3 bar they are under 1 %. Against solubilities measured for air
// as such the result is within 2.5 % up to 25 °C and 4.5 % up to 50 °C.
//
// A pump or an air vessel seldom brings water to equilibrium: the value is an
// upper limit, not a forecast.
func AirCapacity(tK, pAbs float64) (Capacity, error) {
	ps, err := checkLiquid(tK, pAbs)
	if err != nil {
		return Capacity{}, err
	}
	if err := checkTemperature(tK, minRegion1, maxSolubleT, "the solubility of air"); err != nil {
		return Capacity{}, err
	}
	if pAbs > maxSolubleP {
		return Capacity{}, &RangeError{"pressure", "Pa", pAbs, ps, maxSolubleP, "the solubility of air", absoluteHint}
	}
	rt := molarGas * tK
	dry := pAbs - ps
	fugacity := dry * airFugacity(tK, pAbs)
	g := gibbs(tK, pAbs)
	perVolume := 1 / (g.volume() * molarWater) // mol of water per m³

	// Carbon dioxide is left out: 0.03 % of air, and most of what dissolves
	// reacts, so that it is no air that can gather.
	var c Capacity
	for _, g := range [...]Gas{Nitrogen, Oxygen, Argon} {
		gas := &gases[g]
		x := gas.share * fugacity / (henry(g, tK) * math.Exp(gas.volume*dry/rt))
		c.MoleFraction += x
		c.Mass += x * perVolume * gas.molar
		if g == Oxygen {
			c.OxygenMass = x * perVolume * gas.molar
		}
		if tK < gas.low {
			c.Note = NoteHenryExtrapolated
		}
	}
	moles := c.MoleFraction * perVolume // mol of air per m³ of water
	c.NormalVolume = moles * molarGas * normalT / normalP
	c.FreeVolume = moles * rt / normalP
	return c, nil
}

// airFugacity is the fugacity coefficient φ of dry air at tK (K) and p (Pa
// absolute), ln φ = ∫(Z − 1)dp/p, with Z = 1 − (p/T)(a₀ + a₁t + a₂t²) + d·p²/T²
// from the compressibility equation of CIPM-2007 (Picard et al., Metrologia 45
// (2008) 149), t in °C. That equation is made for 1 bar; its two terms stand
// for the second and third virial coefficients, which serve to 100 bar.
func airFugacity(tK, p float64) float64 {
	t := tK - celsiusZero
	x := p / tK
	return math.Exp(-x*(1.58123e-6+t*(-2.9331e-8+t*1.1043e-10)) + 1.83e-11*x*x/2)
}
