package costing

import (
	"context"
	"math"
	"sync/atomic"
	"testing"

	"obvert/line"
	"obvert/physics/valve"
)

// double is a line that can be solved by hand: sump at level 0, pump a − b·q − c·q², rising leg k1·q² to a summit with an air
// valve, falling leg k2·q² to a terminal. A summit whose valve admits air is a bound: the grade line there is the highest of
// the summit itself, what the terminal asks and what a sustaining valve asks; so the flow is the least of the three.
type double struct {
	a, b, c       float64 // m, m/(m³/s), m/(m³/s)²
	k1, k2        float64 // m/(m³/s)²
	summit        float64 // m, obvert
	terminal      float64 // m
	height        float64 // m, of the seat
	eta           float64 // mains to water; the shaft takes motor times that
	length        float64 // m, of the falling leg
	spots         []spot
	standing      float64 // m, level of the pool at the summit when stopped
	calls         atomic.Int64
	sustainLevels map[string]spot // where sustaining valves may stand
}

// spot is a place on the falling leg: share of its friction above, level.
type spot struct{ share, level float64 }

const motor = 0.9

// published is the operating point of the Hydraulic Institute, Engineering Data Book, "Pump fundamentals": to a summit 265 ft
// up, friction 7.75e-4 ft/gpm², pump 380 − 0.06·Q − 0.0018·Q²; 200 gpm at 296 ft, and 190.6 gpm with 275 ft. The falling leg
// behind it is invented: 10 ft down, of which 5 ft are lost at 200 gpm.
func publishedLine() *double {
	return &double{a: 380 * foot, b: 0.06 * foot / gpm, c: 0.0018 * foot / gpm / gpm, k1: friction * foot / gpm / gpm, k2: 1.25e-4 * foot / gpm / gpm,
		summit: 265 * foot, terminal: 255 * foot, eta: 0.7, length: 1000, standing: 255 * foot,
		spots:         []spot{{0.25, 250 * foot}, {0.5, 245 * foot}},
		sustainLevels: map[string]spot{"summit": {0, 265 * foot}, "terminal": {1, 255 * foot}}}
}

// flow is that of the pump against a lift with friction k, with h more head; 0 where it cannot lift so high.
func (d *double) flow(lift, k, h float64) float64 {
	if lift >= d.a+h {
		return 0
	}
	return (-d.b + math.Sqrt(d.b*d.b+4*(d.c+k)*(d.a+h-lift))) / (2 * (d.c + k))
}

func (d *double) operate(_ context.Context, o Operation, ch Change) (State, error) {
	d.calls.Add(1)
	summit := d.summit
	if ch.HasLowering {
		summit -= ch.Lowering.Depth
	}
	end := d.terminal + ch.Raise
	seat := summit + d.height
	if o.Kind == line.Standing {
		return State{Operating: Operating{Possible: true, Speed: 1}, Heads: []float64{max(summit, d.standing+ch.Raise) - seat}, Spots: make([]float64, len(d.spots))}, nil
	}
	q := d.flow(end, d.k1+d.k2, ch.PumpHead)
	slack := false
	if bound := d.flow(summit, d.k1, ch.PumpHead); !ch.HasMove && bound < q {
		q, slack = bound, true
	}
	if s := d.sustainLevels[ch.Sustaining.Name]; ch.HasSustaining {
		if bound := d.flow(s.level+ch.Setting, d.k1+s.share*d.k2, ch.PumpHead); bound < q {
			q, slack = bound, false
		}
	}
	if q <= 0 {
		return State{Operating: Operating{Why: "the pump cannot lift so high"}}, nil
	}
	head := d.a + ch.PumpHead - d.b*q - d.c*q*q
	grade := head - d.k1*q*q // level of the grade line at the summit
	s := State{Operating: Operating{Delivered: q, Flow: q, Head: head, Power: rho * g * q * head / d.eta, Speed: 1, Possible: true}, Heads: []float64{grade - seat}}
	s.Shaft = s.Power * motor
	if slack {
		s.Lost = summit - end - d.k2*q*q
		s.Slack = d.length * (1 - d.k2*q*q/(d.summit-end))
	}
	s.Spots = make([]float64, len(d.spots))
	for i, x := range d.spots {
		s.Spots[i] = max(0, grade-x.share*d.k2*q*q-x.level)
	}
	if ch.HasMove && ch.Move.Placed {
		for i := range d.spots {
			if places[i] == ch.Move.To {
				s.Heads[0] = s.Spots[i] - d.height
			}
		}
	}
	return s, nil
}

var places = []Place{{Name: "upper spot", Chainage: 1250}, {Name: "lower spot", Chainage: 1500}}

// tent is the profile of the double: 1000 m up, 1000 m down.
func (d *double) tent() []line.Point {
	return []line.Point{{Chainage: 0, Obvert: 0, Distance: 0},
		{Chainage: 1000, Obvert: d.summit, Distance: math.Hypot(1000, d.summit)},
		{Chainage: 2000, Obvert: d.terminal - 20, Distance: math.Hypot(1000, d.summit) + math.Hypot(1000, d.summit-d.terminal+20)}}
}

// allPrices has a price for everything; invented.
func allPrices() line.Prices {
	return line.Prices{Currency: "EUR", Energy: 0.2, HasEnergy: true, Carbon: 0.3, HasCarbon: true, Water: 1.5, HasWater: true, Callout: 250, HasCallout: true,
		DaysPerYear: 365, Years: 20, DiscountRate: 0.04, Exchange: 300, HasExchange: true, ControlValve: 9000, HasControlValve: true, Raising: 4000, HasRaising: true,
		PumpDuty: 0.6, HasPumpDuty: true, Relocation: 2500, HasRelocation: true, Regrading: 400, HasRegrading: true, PitRepair: 800, HasPitRepair: true,
		WetPitCallouts: 3, WetPitRepairs: 0.2, CarbonPrice: 0.1, HasCarbonPrice: true}
}

// input is all ways out on the double, for a valve that needs 10 ft.
func (d *double) input() ComparisonInput {
	in := ComparisonInput{Name: "Summit", Density: rho, Gravity: g, Prices: allPrices(),
		Valves:     []Concern{{Name: "S1", Place: Place{Chainage: 1000}, Height: d.height, Sealing: 10 * foot, Record: -1, DripsNow: true}},
		Cases:      []Operation{{Name: "pumping", Kind: line.Pumping, Hours: 16}},
		Rack:       priced(rack(0.5, 2, 5), 400),
		Sustaining: []Place{{Name: "summit", Chainage: 1000}, {Name: "terminal", Chainage: 2000}},
		Spots:      places, Profile: d.tent(), Summit: Place{Name: "summit", Chainage: 1000},
		Leak:     Leak{Known: true, Water: 12, Uncertainty: 0.3, WetPits: 1, Starts: 1, RefillWater: 12, RefillEnergy: 4, Slam: "3 m at the summit"},
		Combined: true}
	in.Operate = func(ctx context.Context, k int, ch Change) (State, error) { return d.operate(ctx, in.Cases[k], ch) }
	return in
}

func priced(r []valve.Record, price float64) []valve.Record {
	for i := range r {
		r[i].Price = price
	}
	return r
}

func compare(t testing.TB, in ComparisonInput) Comparison {
	t.Helper()
	r, err := Compare(context.Background(), in)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// way is the first of a kind, and at a place where one is named.
func way(t testing.TB, r *Comparison, kind Kind, place string) *Way {
	t.Helper()
	for i := range r.Ways {
		if w := &r.Ways[i]; w.Kind == kind && (place == "" || w.Place.Name == place) {
			return w
		}
	}
	t.Fatalf("no way of kind %d at %q", kind, place)
	return nil
}
