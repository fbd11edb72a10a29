package water

import "math"

// Constants of IAPWS R7-97(2012): the specific gas constant of water (Eq. 1),
// the reducing quantities of region 1 (Sect. 5.1) and its limits.
const (
	gasConstant = 461.526  // R, J/(kg·K)
	pStar       = 16.53e6  // p*, Pa
	tStar       = 1386.0   // T*, K
	minRegion1  = 273.15   // K
	maxRegion1  = 623.15   // K
	maxPressure = 100e6    // Pa absolute
	criticalT   = 647.096  // Tc, K
	criticalP   = 22.064e6 // pc, Pa
)

// term is one n·(7.1 − π)^I·(τ − 1.222)^J of the Gibbs energy.
type term struct {
	i, j int
	n    float64
}

// region1 holds the 34 coefficients of IAPWS R7-97(2012) Table 2 (typed from
// memory; TestRegion1 holds them to the nine printed digits of Table 5).
var region1 = [34]term{
	{0, -2, 0.14632971213167},
	{0, -1, -0.84548187169114},
	{0, 0, -0.37563603672040e1},
	{0, 1, 0.33855169168385e1},
	{0, 2, -0.95791963387872},
	{0, 3, 0.15772038513228},
	{0, 4, -0.16616417199501e-1},
	{0, 5, 0.81214629983568e-3},
	{1, -9, 0.28319080123804e-3},
	{1, -7, -0.60706301565874e-3},
	{1, -1, -0.18990068218419e-1},
	{1, 0, -0.32529748770505e-1},
	{1, 1, -0.21841717175414e-1},
	{1, 3, -0.52838357969930e-4},
	{2, -3, -0.47184321073267e-3},
	{2, 0, -0.30001780793026e-3},
	{2, 1, 0.47661393906987e-4},
	{2, 3, -0.44141845330846e-5},
	{2, 17, -0.72694996297594e-15},
	{3, -4, -0.31679644845054e-4},
	{3, 0, -0.28270797985312e-5},
	{3, 6, -0.85205128120103e-9},
	{4, -5, -0.22425281908000e-5},
	{4, -2, -0.65171222895601e-6},
	{4, 10, -0.14341729937924e-12},
	{5, -8, -0.40516996860117e-6},
	{8, -11, -0.12734301741641e-8},
	{8, -6, -0.17424871230634e-9},
	{21, -29, -0.68762131295531e-18},
	{23, -31, 0.14478307828521e-19},
	{29, -38, 0.26335781662795e-22},
	{30, -39, -0.11947622640071e-22},
	{31, -40, 0.18228094581404e-23},
	{32, -41, -0.93537087292458e-25},
}

const (
	maxI = 32  // largest exponent I
	minJ = -41 // smallest exponent J
	maxJ = 17  // largest exponent J
)

// gibbsEnergy is the dimensionless Gibbs energy γ = g/(RT) of region 1 and its
// derivatives by π = p/p* and τ = T*/T at one state (Tables 3 and 4).
type gibbsEnergy struct {
	t, tau       float64 // K, 1
	g, gp, gpp   float64 // γ, γπ, γππ
	gt, gtt, gpt float64 // γτ, γττ, γπτ
}

// gibbs evaluates region 1. The caller has checked the range, so that
// a = 7.1 − π > 1 and b = τ − 1.222 > 1 and both can divide.
func gibbs(tK, p float64) gibbsEnergy {
	tau := tStar / tK
	a, b := 7.1-p/pStar, tau-1.222

	var pa [maxI + 1]float64 // aᴵ
	pa[0] = 1
	for i := 1; i <= maxI; i++ {
		pa[i] = pa[i-1] * a
	}
	var pb [maxJ - minJ + 1]float64 // bᴶ
	pb[-minJ] = 1
	for j := 1; j <= maxJ; j++ {
		pb[j-minJ] = pb[j-minJ-1] * b
	}
	ib := 1 / b
	for j := -1; j >= minJ; j-- {
		pb[j-minJ] = pb[j-minJ+1] * ib
	}

	r := gibbsEnergy{t: tK, tau: tau}
	for k := range region1 {
		c := &region1[k]
		x := c.n * pa[c.i] * pb[c.j-minJ]
		i, j := float64(c.i), float64(c.j)
		r.g += x
		r.gp -= x * i
		r.gpp += x * i * (i - 1)
		r.gt += x * j
		r.gtt += x * j * (j - 1)
		r.gpt -= x * i * j
	}
	ia := 1 / a
	r.gp *= ia
	r.gpp *= ia * ia
	r.gt *= ib
	r.gtt *= ib * ib
	r.gpt *= ia * ib
	return r
}

// The relations of IAPWS R7-97(2012) Table 3.

func (g gibbsEnergy) volume() float64   { return gasConstant * g.t * g.gp / pStar }
func (g gibbsEnergy) enthalpy() float64 { return gasConstant * g.t * g.tau * g.gt }
func (g gibbsEnergy) entropy() float64  { return gasConstant * (g.tau*g.gt - g.g) }
func (g gibbsEnergy) heatCapacity() float64 {
	return -gasConstant * g.tau * g.tau * g.gtt
}

func (g gibbsEnergy) soundSpeed() float64 {
	d := g.gp - g.tau*g.gpt
	return math.Sqrt(gasConstant * g.t * g.gp * g.gp / (d*d/(g.tau*g.tau*g.gtt) - g.gpp))
}

// isothermalModulus is −v/(∂v/∂p) at constant T = −p*·γπ/γππ, from
// v = RT·γπ/p*.
func (g gibbsEnergy) isothermalModulus() float64 { return -pStar * g.gp / g.gpp }

// Thermal holds the thermal properties of liquid water, which the pipeline
// needs seldom but by which the formulation is verified.
type Thermal struct {
	SpecificVolume float64 `unit:"m³/kg"`    // v, m³/kg
	Enthalpy       float64 `unit:"J/kg"`     // h, J/kg, zero of internal energy at the triple point
	Entropy        float64 `unit:"J/(kg·K)"` // s, J/(kg·K)
	HeatCapacity   float64 `unit:"J/(kg·K)"` // cp, J/(kg·K)
	SpeedOfSound   float64 `unit:"m/s"`      // w, m/s
}

// ThermalAt returns the thermal properties of liquid water at temperature tK
// (K) and pressure pAbs (Pa absolute) by IAPWS-IF97 region 1, with the range of
// [At].
func ThermalAt(tK, pAbs float64) (Thermal, error) {
	if _, err := checkLiquid(tK, pAbs); err != nil {
		return Thermal{}, err
	}
	g := gibbs(tK, pAbs)
	return Thermal{
		SpecificVolume: g.volume(),
		Enthalpy:       g.enthalpy(),
		Entropy:        g.entropy(),
		HeatCapacity:   g.heatCapacity(),
		SpeedOfSound:   g.soundSpeed(),
	}, nil
}

// satN holds n₁…n₁₀ of the saturation line, IAPWS R7-97(2012) Table 34;
// satN[0] is unused so that the indices are the release's.
var satN = [11]float64{
	1:  0.11670521452767e4,
	2:  -0.72421316703206e6,
	3:  -0.17073846940092e2,
	4:  0.12020824702470e5,
	5:  -0.32325550322333e7,
	6:  0.14915108613530e2,
	7:  -0.48232657361591e4,
	8:  0.40511340542057e6,
	9:  -0.23855557567849,
	10: 0.65017534844798e3,
}

// saturation is Eq. 30: the vapour pressure in Pa at tK.
func saturation(tK float64) float64 {
	n := &satN
	th := tK + n[9]/(tK-n[10])
	a := (th+n[1])*th + n[2]
	b := (n[3]*th+n[4])*th + n[5]
	c := (n[6]*th+n[7])*th + n[8]
	x := 2 * c / (-b + math.Sqrt(b*b-4*a*c))
	x *= x
	return 1e6 * x * x
}

// VapourPressure returns the saturation pressure of water in Pa absolute at
// temperature tK (K), 273.15…647.096 K (IAPWS R7-97(2012) Eq. 30).
func VapourPressure(tK float64) (float64, error) {
	if err := checkTemperature(tK, minRegion1, criticalT, "the IAPWS-IF97 saturation line"); err != nil {
		return 0, err
	}
	return saturation(tK), nil
}

// BoilingTemperature returns the temperature in K at which water boils under
// pAbs (Pa absolute), 611.2127 Pa…22.064 MPa (IAPWS R7-97(2012) Eq. 31).
func BoilingTemperature(pAbs float64) (float64, error) {
	low := saturation(minRegion1)
	if !within(pAbs, low, criticalP) {
		return 0, &RangeError{"pressure", "Pa", pAbs, low, criticalP,
			"the IAPWS-IF97 saturation line", absoluteHint}
	}
	n := &satN
	b := math.Sqrt(math.Sqrt(pAbs / 1e6))
	e := (b+n[3])*b + n[6]
	f := (n[1]*b+n[4])*b + n[7]
	g := (n[2]*b+n[5])*b + n[8]
	d := 2 * g / (-f - math.Sqrt(f*f-4*e*g))
	s := n[10] + d
	return (s - math.Sqrt(s*s-4*(n[9]+n[10]*d))) / 2, nil
}
