package quantity

import "fmt"

// Kind says what a figure measures. Its units form a closed table.
type Kind uint8

// The kinds, each with the SI unit its figures have inside the program.
const (
	Length                Kind = iota + 1 // m
	Chainage                              // m along the run
	Area                                  // m²
	Volume                                // m³
	Flow                                  // m³/s of water
	Speed                                 // m/s
	GaugePressure                         // Pa above the air outside
	AbsolutePressure                      // Pa above vacuum
	PressureDifference                    // Pa
	Temperature                           // K
	TemperatureDifference                 // K
	Slope                                 // 1, rise per run (tangent)
	Ratio                                 // 1, written in % or ‰
	Density                               // kg/m³
	DynamicViscosity                      // Pa·s
	KinematicViscosity                    // m²/s
	Mass                                  // kg
	MassFlow                              // kg/s
	AirFlow                               // kg/s, also written as a volume at named reference conditions
	SonicConductance                      // m³/(s·Pa) of ANR air, ISO 6358
	Power                                 // W
	Energy                                // J
	Time                                  // s
	RotationalSpeed                       // 1/s, turns
	Angle                                 // rad
	Acceleration                          // m/s²
	Stiffness                             // Pa
	Money                                 // amount with an ISO 4217 code
	MoneyPerEnergy                        // amount per J
	MoneyPerVolume                        // amount per m³
	MassPerEnergy                         // kg/J

	kindEnd
)

// kindInfo describes a kind in words.
type kindInfo struct {
	name    string // with its article: "a length"
	si      string // SI unit as a tag
	example string // a right spelling, shown in hints
}

var kinds = [kindEnd]kindInfo{
	Length:                {"a length", "m", "450 mm"},
	Chainage:              {"a chainage", "m", "1+250"},
	Area:                  {"an area", "m²", "120 m²"},
	Volume:                {"a volume", "m³", "35 m³"},
	Flow:                  {"a flow", "m³/s", "12 L/s"},
	Speed:                 {"a speed", "m/s", "1.2 m/s"},
	GaugePressure:         {"a gauge pressure", "Pa", "1.2 bar"},
	AbsolutePressure:      {"an absolute pressure", "Pa", "1.013 bar(a)"},
	PressureDifference:    {"a pressure difference", "Pa", "0.35 bar"},
	Temperature:           {"a temperature", "K", "15 °C"},
	TemperatureDifference: {"a temperature difference", "K", "5 K"},
	Slope:                 {"a slope", "1", "1:500"},
	Ratio:                 {"a ratio", "1", "78 %"},
	Density:               {"a density", "kg/m³", "998.2 kg/m³"},
	DynamicViscosity:      {"a dynamic viscosity", "Pa·s", "1.002 mPa·s"},
	KinematicViscosity:    {"a kinematic viscosity", "m²/s", "1.004 mm²/s"},
	Mass:                  {"a mass", "kg", "35 kg"},
	MassFlow:              {"a mass flow", "kg/s", "0.12 kg/s"},
	AirFlow:               {"an air flow", "kg/s", "350 m³/h(normal)"},
	SonicConductance:      {"a sonic conductance", "m³/(s·Pa)", "4.5 dm³/(s·bar)"},
	Power:                 {"a power", "W", "35 kW"},
	Energy:                {"an energy", "J", "35 kWh"},
	Time:                  {"a time", "s", "30 s"},
	RotationalSpeed:       {"a rotational speed", "1/s", "1450 rpm"},
	Angle:                 {"an angle", "rad", "47.4°"},
	Acceleration:          {"an acceleration", "m/s²", "9.807 m/s²"},
	Stiffness:             {"a stiffness", "Pa", "210 GPa"},
	Money:                 {"an amount of money", "currency", "1200 EUR"},
	MoneyPerEnergy:        {"a price of energy", "currency/J", "0.18 EUR/kWh"},
	MoneyPerVolume:        {"a price of water", "currency/m³", "1.40 EUR/m³"},
	MassPerEnergy:         {"a mass per energy", "kg/J", "380 g/kWh"},
}

// Kinds lists every kind, in the order of the constants.
func Kinds() []Kind {
	all := make([]Kind, 0, kindEnd-1)
	for k := Length; k < kindEnd; k++ {
		all = append(all, k)
	}
	return all
}

func (k Kind) valid() bool { return k >= Length && k < kindEnd }

func (k Kind) isMoney() bool { return k == Money || k == MoneyPerEnergy || k == MoneyPerVolume }

// String names the kind with its article: "a length".
func (k Kind) String() string {
	if !k.valid() {
		return fmt.Sprintf("a quantity of unknown kind %d", uint8(k))
	}
	return kinds[k].name
}

// SI returns the unit that figures of the kind have inside the program, as it
// stands in a unit tag: "m³/s".
func (k Kind) SI() string {
	if !k.valid() {
		return ""
	}
	return kinds[k].si
}

// Example returns one right spelling of a figure of the kind: "450 mm".
func (k Kind) Example() string {
	if !k.valid() {
		return ""
	}
	return kinds[k].example
}
