package quantity

import (
	"math"
	"slices"
)

// Exact definitions; sources in the package comment.
const (
	atmosphere  = 101325.0      // Pa, NIST SP 811 App. B.8
	gasConstant = 287.05287     // J/(kg·K), dry air, ISO 2533:1975 table 1
	iceKelvin   = 273.15        // K at 0 °C, SI Brochure 2.3.1
	degree      = math.Pi / 180 // rad
)

// Densities of air at the three reference conditions under which an air flow
// may be written as a volume. All in kg/m³.
const (
	// NormalAirDensity is dry air at 0 °C and 101.325 kPa, as an ideal gas with
	// the constant of ISO 2533.
	NormalAirDensity = atmosphere / (gasConstant * iceKelvin)
	// StandardAirDensity is dry air at 15 °C and 101.325 kPa, the sea-level
	// value of ISO 2533.
	StandardAirDensity = 1.225
	// ANRAirDensity is the standard reference atmosphere of ISO 8778 (20 °C,
	// 100 kPa, 65 % relative humidity) as ISO 6358-1 rounds it (from memory).
	ANRAirDensity = 1.185
)

// unit is one row of a table: SI = (x + shift)·n/d.
type unit struct {
	name  string   // canonical spelling
	n, d  float64  // SI units per one, as a ratio
	shift float64  // in this unit; only °C and °F have one
	also  []string // further accepted spellings
}

func (u unit) toSI(x float64) float64   { return (x + u.shift) * u.n / u.d }
func (u unit) fromSI(v float64) float64 { return v*u.d/u.n - u.shift }

func lengths() []unit {
	return []unit{
		{"mm", 1, 1e3, 0, nil}, {"m", 1, 1, 0, nil}, {"km", 1e3, 1, 0, nil}, {"cm", 1, 1e2, 0, nil},
		{"dm", 1, 10, 0, nil}, {"µm", 1, 1e6, 0, nil}, {"in", 254, 1e4, 0, nil}, {"ft", 3048, 1e4, 0, nil},
		{"yd", 9144, 1e4, 0, nil}, {"mi", 1609344, 1e3, 0, nil},
	}
}

func alongLengths() []unit {
	return []unit{
		{"m", 1, 1, 0, nil}, {"km", 1e3, 1, 0, nil}, {"ft", 3048, 1e4, 0, nil}, {"mi", 1609344, 1e3, 0, nil},
	}
}

func areas() []unit {
	return []unit{
		{"m²", 1, 1, 0, nil}, {"mm²", 1, 1e6, 0, nil}, {"cm²", 1, 1e4, 0, nil}, {"ha", 1e4, 1, 0, nil},
		{"km²", 1e6, 1, 0, nil}, {"in²", 64516, 1e8, 0, nil}, {"ft²", 9290304, 1e8, 0, nil},
	}
}

func volumes() []unit {
	return []unit{
		{"m³", 1, 1, 0, nil}, {"L", 1, 1e3, 0, []string{"l"}}, {"ML", 1e3, 1, 0, []string{"Ml"}},
		{"mL", 1, 1e6, 0, []string{"ml"}}, {"kL", 1, 1, 0, []string{"kl"}}, {"hL", 1, 10, 0, []string{"hl"}},
		{"dm³", 1, 1e3, 0, nil}, {"cm³", 1, 1e6, 0, nil}, {"mm³", 1, 1e9, 0, nil},
		{"ft³", 28316846592, 1e12, 0, nil}, {"in³", 16387064, 1e12, 0, nil},
		{"US gal", 3785411784, 1e12, 0, nil}, {"UK gal", 454609, 1e8, 0, nil}, {"US Mgal", 3785411784, 1e6, 0, nil},
	}
}

func times() []unit {
	return []unit{
		{"s", 1, 1, 0, nil}, {"min", 60, 1, 0, nil}, {"h", 3600, 1, 0, nil}, {"d", 86400, 1, 0, nil},
		{"a", 31536000, 1, 0, nil}, {"ms", 1, 1e3, 0, nil}, {"µs", 1, 1e6, 0, nil},
	}
}

// per divides every unit of the first list by every unit of the second.
func per(top []unit, bottom []unit) []unit {
	var all []unit
	for _, b := range bottom {
		for _, t := range top {
			u := unit{name: t.name + "/" + b.name, n: t.n * b.d, d: t.d * b.n}
			for _, a := range t.also {
				u.also = append(u.also, a+"/"+b.name)
			}
			all = append(all, u)
		}
	}
	return all
}

// pick returns the units with the given canonical names, in that order.
func pick(from []unit, names ...string) []unit {
	var out []unit
	for _, n := range names {
		i := slices.IndexFunc(from, func(u unit) bool { return u.name == n })
		if i < 0 {
			panic("quantity: no unit " + n + " in the table")
		}
		out = append(out, from[i])
	}
	return out
}

func flows() []unit {
	all := per(pick(volumes(), "L", "m³", "ML", "dm³", "US gal", "UK gal", "ft³", "mL", "US Mgal", "kL", "cm³"),
		pick(times(), "s", "min", "h", "d", "a"))
	first := pick(all, "L/s", "m³/h", "m³/s", "ML/d", "L/min", "US gal/min", "ft³/s", "UK gal/min")
	return append(first, without(all, first)...)
}

func without(all, drop []unit) []unit {
	return slices.DeleteFunc(slices.Clone(all), func(u unit) bool {
		return slices.ContainsFunc(drop, func(x unit) bool { return x.name == u.name })
	})
}

func speeds() []unit {
	return []unit{
		{"m/s", 1, 1, 0, nil}, {"km/h", 1e3, 3600, 0, nil}, {"mm/s", 1, 1e3, 0, nil}, {"cm/s", 1, 1e2, 0, nil},
		{"m/min", 1, 60, 0, nil}, {"m/h", 1, 3600, 0, nil}, {"mm/h", 1, 3.6e6, 0, nil},
		{"ft/s", 3048, 1e4, 0, nil}, {"ft/min", 3048, 6e5, 0, nil},
	}
}

func pressures() []unit {
	return []unit{
		{"bar", 1e5, 1, 0, nil}, {"kPa", 1e3, 1, 0, nil}, {"MPa", 1e6, 1, 0, nil}, {"Pa", 1, 1, 0, nil},
		{"mbar", 1e2, 1, 0, nil}, {"hPa", 1e2, 1, 0, nil}, {"psi", 44482216152605, 6451600000, 0, nil},
		{"mH2O", 980665, 100, 0, nil}, {"mmH2O", 980665, 1e5, 0, nil}, {"ftH2O", 298906692, 1e5, 0, nil},
		{"mmHg", 133322387415, 1e9, 0, nil}, {"kgf/cm²", 980665, 10, 0, nil}, {"atm", atmosphere, 1, 0, nil},
	}
}

// waterColumn is the place of the metre of water in [pressures].
const waterColumn = 7

// gauge lets every pressure stand plain or with its reference.
func gauge() []unit { return append(pressures(), referred("(g)", "(gauge)", "g")...) }

// absolute asks every pressure for its reference.
func absolute() []unit { return referred("(a)", "(abs)", "a") }

// referred gives every pressure a reference, and the spellings barg, bara, psig
// and psia of everyday use.
func referred(mark, word, letter string) []unit {
	all := pressures()
	for i, u := range all {
		all[i].name, all[i].also = u.name+mark, []string{u.name + word}
		if u.name == "bar" || u.name == "psi" {
			all[i].also = append(all[i].also, u.name+letter)
		}
	}
	return all
}

// airFlows joins mass rates and volumes at the three reference conditions.
func airFlows() []unit {
	all := massFlows()
	rates := pick(per(pick(volumes(), "m³", "L", "dm³", "ft³"), pick(times(), "s", "min", "h")),
		"m³/h", "m³/min", "m³/s", "L/s", "L/min", "dm³/s", "dm³/min", "ft³/min", "ft³/s")
	for _, ref := range []struct {
		word    string
		density float64
	}{{"normal", NormalAirDensity}, {"standard", StandardAirDensity}, {"ANR", ANRAirDensity}} {
		for _, r := range rates {
			u := unit{name: r.name + "(" + ref.word + ")", n: r.n * ref.density, d: r.d}
			for _, a := range r.also {
				u.also = append(u.also, a+"("+ref.word+")")
			}
			all = append(all, u)
		}
	}
	return all
}

func masses() []unit {
	return []unit{
		{"kg", 1, 1, 0, nil}, {"g", 1, 1e3, 0, nil}, {"t", 1e3, 1, 0, nil}, {"mg", 1, 1e6, 0, nil},
		{"lb", 45359237, 1e8, 0, nil},
	}
}

func massFlows() []unit {
	return pick(per(masses(), times()), "kg/s", "kg/h", "g/s", "kg/min", "t/h", "t/d", "kg/d", "kg/a", "t/a",
		"g/min", "g/h", "lb/s", "lb/min", "lb/h")
}

func conductances() []unit {
	all := []unit{
		{"dm³/(s·bar)", 1, 1e8, 0, []string{"dm³/s/bar"}}, {"L/(s·bar)", 1, 1e8, 0, []string{"l/(s·bar)", "L/s/bar"}},
		{"m³/(s·Pa)", 1, 1, 0, nil}, {"m³/(s·bar)", 1, 1e5, 0, nil}, {"m³/(h·bar)", 1, 3.6e8, 0, nil},
		{"L/(min·bar)", 1, 6e9, 0, []string{"l/(min·bar)"}}, {"dm³/(min·bar)", 1, 6e9, 0, nil},
	}
	for i := range all { // C is defined on ANR air: saying so is allowed, not asked
		for _, s := range append([]string{all[i].name}, all[i].also...) {
			all[i].also = append(all[i].also, s+"(ANR)")
		}
	}
	return all
}

func energies() []unit {
	return []unit{
		{"kWh", 3.6e6, 1, 0, nil}, {"MWh", 3.6e9, 1, 0, nil}, {"MJ", 1e6, 1, 0, nil}, {"J", 1, 1, 0, nil},
		{"kJ", 1e3, 1, 0, nil}, {"GJ", 1e9, 1, 0, nil}, {"Wh", 3600, 1, 0, nil}, {"GWh", 3.6e12, 1, 0, nil},
	}
}

// unitsOf is the closed table of a kind, best spelling first.
func unitsOf(k Kind) []unit {
	switch k {
	case Length:
		return lengths()
	case Chainage:
		return alongLengths()
	case Area:
		return areas()
	case Volume:
		return volumes()
	case Flow:
		return flows()
	case Speed:
		return speeds()
	case GaugePressure:
		return gauge()
	case AbsolutePressure:
		return absolute()
	case PressureDifference:
		return pressures()
	case Temperature:
		return []unit{{"°C", 1, 1, iceKelvin, nil}, {"K", 1, 1, 0, nil}, {"°F", 5, 9, 459.67, nil}}
	case TemperatureDifference:
		return []unit{{"K", 1, 1, 0, nil}, {"°C", 1, 1, 0, nil}, {"°F", 5, 9, 0, nil}}
	case Slope:
		return []unit{
			{"%", 1, 1e2, 0, nil}, {"‰", 1, 1e3, 0, nil}, {"m/m", 1, 1, 0, nil}, {"mm/m", 1, 1e3, 0, nil},
			{"cm/m", 1, 1e2, 0, nil}, {"m/km", 1, 1e3, 0, nil}, {"ft/ft", 1, 1, 0, nil},
		}
	case Ratio:
		return []unit{{"%", 1, 1e2, 0, nil}, {"‰", 1, 1e3, 0, nil}}
	case Density:
		return []unit{
			{"kg/m³", 1, 1, 0, nil}, {"g/cm³", 1e3, 1, 0, nil}, {"kg/L", 1e3, 1, 0, []string{"kg/l"}},
			{"kg/dm³", 1e3, 1, 0, nil}, {"g/L", 1, 1, 0, []string{"g/l"}}, {"t/m³", 1e3, 1, 0, nil},
			{"lb/ft³", 45359237e4, 28316846592, 0, nil},
		}
	case DynamicViscosity:
		return []unit{{"mPa·s", 1, 1e3, 0, nil}, {"Pa·s", 1, 1, 0, nil}, {"µPa·s", 1, 1e6, 0, nil}, {"cP", 1, 1e3, 0, nil}}
	case KinematicViscosity:
		return []unit{{"mm²/s", 1, 1e6, 0, nil}, {"m²/s", 1, 1, 0, nil}, {"cSt", 1, 1e6, 0, nil}, {"ft²/s", 9290304, 1e8, 0, nil}}
	case Mass:
		return masses()
	case MassFlow:
		return massFlows()
	case AirFlow:
		return airFlows()
	case SonicConductance:
		return conductances()
	case Power:
		return []unit{{"kW", 1e3, 1, 0, nil}, {"W", 1, 1, 0, nil}, {"MW", 1e6, 1, 0, nil}, {"GW", 1e9, 1, 0, nil}}
	case Energy:
		return energies()
	case Time:
		return times()
	case RotationalSpeed:
		return []unit{{"rpm", 1, 60, 0, []string{"r/min"}}, {"s⁻¹", 1, 1, 0, []string{"1/s", "r/s"}}, {"min⁻¹", 1, 60, 0, []string{"1/min"}}}
	case Angle:
		return []unit{{"°", degree, 1, 0, []string{"deg"}}, {"rad", 1, 1, 0, nil}, {"mrad", 1, 1e3, 0, nil}, {"gon", degree * 0.9, 1, 0, nil}}
	case Acceleration:
		return []unit{{"m/s²", 1, 1, 0, nil}, {"cm/s²", 1, 1e2, 0, nil}, {"ft/s²", 3048, 1e4, 0, nil}}
	case Stiffness:
		return []unit{
			{"GPa", 1e9, 1, 0, nil}, {"MPa", 1e6, 1, 0, nil}, {"N/mm²", 1e6, 1, 0, nil}, {"kPa", 1e3, 1, 0, nil}, {"Pa", 1, 1, 0, nil},
			{"kN/m²", 1e3, 1, 0, nil}, {"N/m²", 1, 1, 0, nil}, {"psi", 44482216152605, 6451600000, 0, nil}, {"bar", 1e5, 1, 0, nil},
		}
	case MassPerEnergy:
		return per(pick(masses(), "g", "kg", "t"), pick(energies(), "kWh", "MWh", "MJ", "GJ", "J"))
	case MoneyPerEnergy:
		return reciprocals(pick(energies(), "kWh", "MWh", "MJ", "GJ", "J"))
	case MoneyPerVolume:
		return reciprocals(pick(volumes(), "m³", "L", "ML", "kL", "US gal", "UK gal", "ft³"))
	case Money:
		return []unit{{"", 1, 1, 0, nil}}
	}
	return nil
}

// reciprocals turns the units below a price into factors on the amount.
func reciprocals(below []unit) []unit {
	for i, u := range below {
		below[i].n, below[i].d = u.d, u.n
	}
	return below
}

// table finds the units of one kind by any accepted spelling.
type table struct {
	units []unit
	by    map[string]int // folded spelling → place in units
}

func newTable(all []unit) table {
	t := table{all, make(map[string]int, 2*len(all))}
	for i, u := range all {
		t.add(u.name, i)
		for _, a := range u.also {
			t.add(a, i)
		}
	}
	return t
}

func (t table) add(spelling string, i int) {
	if j, dup := t.by[fold(spelling)]; dup && j != i {
		panic("quantity: " + spelling + " stands twice in a table")
	}
	t.by[fold(spelling)] = i
}

func (t table) find(spelling string) (unit, bool) {
	i, ok := t.by[spelling] // mostly folded already
	if !ok {
		i, ok = t.by[fold(spelling)]
	}
	if !ok {
		return unit{}, false
	}
	return t.units[i], true
}

// spellings lists the canonical names, then the others.
func (t table) spellings() []string {
	var out []string
	for _, u := range t.units {
		out = append(out, u.name)
	}
	for _, u := range t.units {
		out = append(out, u.also...)
	}
	return out
}

var tables = func() (all [kindEnd]table) {
	for _, k := range Kinds() {
		all[k] = newTable(unitsOf(k))
	}
	return all
}()

// Units lists the accepted spellings of a kind, best first. Spelling variants
// that [Parse] treats as one (³ and 3, both µ, · and ., spaces) are not listed.
// For prices these are the units below the stroke; for [Money] there is none.
func Units(k Kind) []string {
	if !k.valid() || k == Money {
		return nil
	}
	return tables[k].spellings()
}
