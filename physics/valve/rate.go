package valve

// Rate is a leakage rate of the valve trade: the largest flow of water through a
// closed valve, in proportion to its nominal size.
type Rate struct {
	Name  string
	Limit float64 `unit:"m²/s"` // flow over nominal diameter, (m³/s)/m
}

// Drop is the volume of a drop by which the trade's tables turn leakage rates into
// drops, m³ (1 drop = 62.5 mm³; tables of leakage in drops and bubbles).
const Drop = 62.5e-9

// rates are those of ISO 5208:2015 for liquids, in mm³/s per mm of nominal
// diameter, from memory and checked against a table of drops; rate A has no visible
// leak. EN 12266-1 has A to G without AA, CC and EE. 1 mm³/s per mm is 1e-6 m²/s.
var rates = []Rate{
	{"A", 0}, {"AA", 0.006e-6}, {"B", 0.01e-6}, {"C", 0.03e-6}, {"CC", 0.08e-6}, {"D", 0.1e-6},
	{"E", 0.3e-6}, {"EE", 0.39e-6}, {"F", 1e-6}, {"G", 2e-6},
}

// Rates returns the leakage rates of ISO 5208 for water, tightest first.
func Rates() []Rate { return append([]Rate(nil), rates...) }

// Flow is the largest flow of water in m³/s that the rate allows a valve of a
// nominal diameter (m).
func (r Rate) Flow(nominal float64) float64 { return r.Limit * nominal }

// RateOf names the tightest rate of ISO 5208 that a leak of water (m³/s) from a
// valve of a nominal diameter (m) still meets; false where it meets none. The
// standard is for closed valves under their test pressure: for an air valve below
// its sealing head the name only gives the leak a size that the trade knows.
func RateOf(flow, nominal float64) (Rate, bool) {
	for _, r := range rates {
		if flow <= r.Flow(nominal)*(1+1e-12) {
			return r, true
		}
	}
	return Rate{}, false
}
