package costing

import (
	"context"
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"obvert/line"
	"obvert/physics/valve"
)

const (
	rho  = 1000.0              // kg/m³, round figure of these tests
	g    = 9.80665             // m/s², standard gravity (ISO 80000-3)
	foot = 0.3048              // m, exact (ISO 31-1:1992, annex)
	gpm  = 3.785411784e-3 / 60 // m³/s, US gallon exact (NIST SP 811)
)

// rack is valves that need these heads (m), invented.
func rack(heads ...float64) []valve.Record {
	var r []valve.Record
	for _, h := range heads {
		r = append(r, valve.Record{Name: fmt.Sprintf("needs %g m", h), Sealing: valve.Threshold{Bound: valve.Measured, Mean: h * rho * g}})
	}
	return r
}

func prices() line.Prices {
	return line.Prices{Currency: "EUR", Energy: 0.2, HasEnergy: true, Carbon: 0.3, HasCarbon: true, DaysPerYear: 365}
}

// published is the worked example of the Hydraulic Institute, Engineering Data Book, "Pump fundamentals": system curve
// H = 265 + 7.75e-4·Q² and pump H = 380 − 0.06·Q − 0.0018·Q² (ft, US gpm), duty 200 gpm at 296 ft. The static lift is
// taken as that to a summit with a slack leg behind it: head at its seat adds to the lift.
type published struct {
	eta func(q float64) float64 // of pump and motor, by flow in gpm
}

const friction = 7.75e-4 // ft/gpm²

// quadratic solves a − b·Q − c·Q² = 0 for the flow Q in gpm.
func quadratic(a, b, c float64) float64 { return (-b + math.Sqrt(b*b+4*a*c)) / (2 * c) }

func (u published) operate(_ context.Context, n Need) (Operating, error) {
	lift := 265 + n.Head/foot
	q, speed := 0.0, 1.0
	if n.Mode == VariableSpeed {
		q = n.Flow / gpm
		need := lift + friction*q*q
		// affinity: H = 380 s² − 0.06 Q s − 0.0018 Q²
		speed = (0.06*q + math.Sqrt(0.06*0.06*q*q+4*380*(need+0.0018*q*q))) / (2 * 380)
	} else {
		if lift >= 380 {
			return Operating{Why: "it lies above the pump's shut-off head"}, nil
		}
		q = quadratic(380-lift, 0.06, 0.0018+friction)
	}
	head := (lift + friction*q*q) * foot
	flow := q * gpm
	return Operating{Delivered: flow, Flow: flow, Head: head, Power: rho * g * flow * head / u.eta(q/speed), Speed: speed, Possible: true}, nil
}

func (u published) input(heads ...float64) Input {
	base, _ := u.operate(context.Background(), Need{})
	return Input{Valve: "Summit", Density: rho, Gravity: g, Prices: prices(), Hours: 16, Base: base, Rack: rack(heads...), Operate: u.operate}
}

func constant(eta float64) published { return published{func(float64) float64 { return eta }} }

func solve(t testing.TB, in Input) Result {
	t.Helper()
	r, err := Solve(context.Background(), in)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func near(t testing.TB, what string, got, want, tol float64) {
	t.Helper()
	if math.IsNaN(got) || math.Abs(got-want) > tol {
		t.Errorf("%s: %.8g, want %.8g within %g", what, got, want, tol)
	}
}

// Hydraulic Institute, Engineering Data Book: 200 gpm at 296 ft; with the static lift raised by 10 ft to 275 ft, 190.6 gpm.
func TestPublishedDuty(t *testing.T) {
	in := constant(0.7).input(10 * foot)
	r := solve(t, in)
	near(t, "base flow, gpm", r.Base.Flow/gpm, 200, 0.2)
	near(t, "base head, ft", r.Base.Head/foot, 296, 0.3)
	near(t, "flow with 10 ft more, gpm", r.Options[0].Fixed.Flow/gpm, 190.6, 0.2)
	// By the two published curves the pump's own head then rises by less than the 10 ft.
	near(t, "head at the pump, ft more", r.Options[0].RaisedHead/foot, 10-friction*(200*200-190.62*190.62), 0.01)
}

// Valves needing 3, 4, 5, 6 and 10 m on a summit cost that much head at the pump while it runs: common practice, no
// source. It is exact at equal flow; at fixed speed the flow gives way and the pump's head rises by less.
func TestHeadOnASummit(t *testing.T) {
	heads := []float64{3, 4, 5, 6, 10}
	r := solve(t, constant(0.7).input(heads...))
	for i, o := range r.Options {
		near(t, o.Name+", head at the pump at the same flow", o.RaisedVariable, heads[i], 1e-9)
		near(t, o.Name+", flow at changed speed", o.Variable.Flow, r.Base.Flow, 1e-15)
		if !(o.RaisedHead > 0 && o.RaisedHead < heads[i]) {
			t.Errorf("%s at fixed speed: %g m more at the pump, want between 0 and that", o.Name, o.RaisedHead)
		}
		if o.Variable.Speed <= 1 {
			t.Errorf("%s: speed %g, want above 1", o.Name, o.Variable.Speed)
		}
		// At constant efficiency energy goes as head, at equal volume: both ways cost what their head says.
		perMetre := rho * g * r.DailyVolume * 365 / 0.7 / 3.6e6 * 0.2
		near(t, o.Name+", cost at fixed speed", o.CostFixed, o.RaisedHead*perMetre, 1e-9*perMetre)
		near(t, o.Name+", cost at changed speed", o.CostVariable, heads[i]*perMetre, 1e-9*perMetre)
		near(t, o.Name+", rule of thumb", o.RuleOfThumb, heads[i]*perMetre, 1e-9*perMetre)
		near(t, o.Name+", carbon", o.Carbon, o.CostFixed/0.2*0.3, 1e-9)
	}
}

// The day's volume is the same in every way of operating, and the hours follow.
func TestEqualDailyVolume(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := constant(0.7).input(rapid.Float64Range(0.01, 20).Draw(t, "sealing"))
		in.Hours = rapid.Float64Range(1, 12).Draw(t, "hours")
		r, err := Solve(context.Background(), in)
		if err != nil {
			t.Fatal(err)
		}
		for _, d := range []Duty{r.Base, r.Options[0].Fixed, r.Options[0].Variable} {
			if v := d.Flow * d.Hours * 3600; math.Abs(v-in.Base.Flow*in.Hours*3600) > 1e-9*v {
				t.Fatalf("%g m³ a day, want %g", v, in.Base.Flow*in.Hours*3600)
			}
			if e := d.Power / 1000 * d.Hours * 365; math.Abs(e-d.Energy) > 1e-9*e {
				t.Fatalf("energy %g kWh, power times hours %g", d.Energy, e)
			}
		}
	})
}

// With a head that is there already nothing changes.
func TestNoMoreHeadNoCost(t *testing.T) {
	in := constant(0.7).input(0, 2, 3)
	in.HeadNow = 2
	in.Operate = func(_ context.Context, n Need) (Operating, error) {
		if n.Head < 3-1e-9 {
			t.Errorf("asked for %g m, which is there", n.Head)
		}
		return in.Base, nil
	}
	r := solve(t, in)
	for _, o := range r.Options[:2] {
		if !o.Enough || o.CostFixed != 0 || o.CostVariable != 0 || o.RuleOfThumb != 0 || o.RaisedHead != 0 || o.Carbon != 0 || o.Fixed != r.Base {
			t.Errorf("%s with 2 m there: %+v", o.Name, o)
		}
	}
	near(t, "rule of thumb for the third metre", r.Options[2].RuleOfThumb,
		rho*g*in.Base.Flow*1/0.7/1000*16*365*0.2, 1e-9)
}

// A pump whose curve stands upright at constant efficiency gives the rule of thumb exactly; the nearer to upright, the
// nearer to the rule.
func TestUprightCurveGivesTheRule(t *testing.T) {
	const q0, lift, eta = 0.02, 50.0, 0.6
	gap := func(flat float64) float64 { // flat: m³/s lost per m of head
		op := func(_ context.Context, n Need) (Operating, error) {
			q := q0 - flat*n.Head
			h := lift + n.Head // frictionless, so that head alone moves
			// what keeps it from being the rule is an efficiency that follows the flow
			return Operating{Delivered: q, Flow: q, Head: h, Power: rho * g * q * h / (eta - 5*(q0-q)), Speed: 1, Possible: true}, nil
		}
		base, _ := op(context.Background(), Need{})
		r := solve(t, Input{Valve: "S", Density: rho, Gravity: g, Prices: prices(), Hours: 10, Base: base, Rack: rack(4), Operate: op})
		return math.Abs(r.Options[0].CostFixed/r.Options[0].RuleOfThumb - 1)
	}
	near(t, "upright: cost over rule, less 1", gap(0), 0, 1e-12)
	if a, b, c := gap(1e-3), gap(1e-4), gap(1e-5); !(a > 5*b && b > 5*c && c > 0) {
		t.Errorf("gaps %g, %g, %g do not close with the slope", a, b, c)
	}
}

// Pumps that run far out on their curve gain efficiency with head: the extra is negative, where the rule of thumb charges.
// The efficiency curve is invented: 0.75 at 160 gpm, falling to both sides.
func TestExtraMayBeNegative(t *testing.T) {
	u := published{func(q float64) float64 { return 0.75 - 1e-4*(q-160)*(q-160) }}
	r := solve(t, u.input(3))
	o := r.Options[0]
	if !(o.CostFixed < 0 && o.RuleOfThumb > 0 && o.RaisedHead > 0 && o.Carbon < 0) {
		t.Errorf("cost %g, rule %g, head %g, carbon %g", o.CostFixed, o.RuleOfThumb, o.RaisedHead, o.Carbon)
	}
	if r.Notes[0].ID != "costing.saves" {
		t.Errorf("no note: %v", r.Notes)
	}
}

// Power of a duty: Cengel & Cimbala, Fluid Mechanics, Ex. 14-2: 0.0233 m³/s, 7.3 m at 70 %: 2.38 kW; 21.9 m at 76.5 %:
// 6.53 kW. One hour on one day at 1 per kWh makes cost of power.
func TestPublishedPower(t *testing.T) {
	for _, c := range []struct{ head, eta, kW float64 }{{7.3, 0.70, 2.38}, {21.9, 0.765, 6.53}} {
		p := prices()
		p.Energy, p.DaysPerYear = 1, 1
		in := constant(c.eta).input(c.head)
		in.Prices, in.Hours, in.Efficiency = p, 1, c.eta
		in.Base.Flow, in.Base.Delivered = 0.0233, 0.0233
		near(t, fmt.Sprintf("power for %g m, kW", c.head), solve(t, in).Options[0].RuleOfThumb, c.kW, 0.002*c.kW)
	}
}

func TestImpossible(t *testing.T) {
	in := constant(0.7).input(40, 3)
	r := solve(t, in)
	if o := r.Options[0]; o.Fixed.Possible || !strings.Contains(o.Fixed.Why, "shut-off") || o.CostFixed != 0 || !o.Variable.Possible {
		t.Errorf("above the shut-off head: %+v", o)
	}
	in.Hours = 24
	r = solve(t, in)
	if o := r.Options[1]; o.Fixed.Possible || !strings.Contains(o.Fixed.Why, "hours a day") || o.Fixed.Hours <= 24 || o.CostFixed != 0 {
		t.Errorf("more than a day: %+v", o.Fixed)
	}
	if !r.Base.Possible || r.Base.Hours < 24-1e-9 {
		t.Errorf("base of exactly a day: %+v", r.Base)
	}
	in.Base = Operating{Why: "its pump cannot lift"}
	if r = solve(t, in); len(r.Options) != 0 || r.Notes[0].ID != "costing.no-base" {
		t.Errorf("no base: %+v", r)
	}
}

func TestUnknownSealing(t *testing.T) {
	in := constant(0.7).input(3, 3)
	in.Rack[0].Sealing.Bound = valve.Unknown
	in.Rack[1].Sealing.Bound = valve.MoreThan
	in.Prices.HasEnergy, in.Prices.Energy = false, 0
	in.Hours = 0
	r := solve(t, in)
	if o := r.Options[0]; o.Fixed.Possible || !strings.Contains(o.Fixed.Why, "not measured") || o.RuleOfThumb != 0 {
		t.Errorf("not measured: %+v", o)
	}
	if o := r.Options[1]; !o.Fixed.Possible || o.CostFixed != 0 || !(o.Fixed.Energy > 0) {
		t.Errorf("at least: %+v", o)
	}
	var ids []string
	for _, n := range r.Notes {
		ids = append(ids, n.ID)
	}
	for _, want := range []string{"costing.no-price", "costing.at-least"} {
		if !strings.Contains(strings.Join(ids, " "), want) {
			t.Errorf("no note %s in %v", want, ids)
		}
	}
	if r.Priced || len(r.Assumed) != 1 || math.Abs(r.Base.Hours-20) > 1e-9 {
		t.Errorf("priced %v, assumed %v", r.Priced, r.Assumed)
	}
}

func TestFaults(t *testing.T) {
	in := Input{Valve: "X", Density: -1, Gravity: math.NaN(), Hours: 25, HeadNow: math.NaN(), Efficiency: 1.2, Base: Operating{Possible: true, Power: math.Inf(1)},
		Rack: []valve.Record{{Name: "r", Sealing: valve.Threshold{Bound: valve.Measured, Mean: -3}}}}
	in.Prices.Energy, in.Prices.Carbon, in.Prices.DailyVolume = -1, -1, -1
	err := in.Check()
	for _, want := range []string{"density", "gravity", "hours", "head at the seat", "efficiency", "price", "carbon", "days", "volume", "delivered",
		"of the station", "electric power", `record "r"`, "Operate"} {
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("no word of %q in %v", want, err)
		}
	}
	failing := constant(0.7).input(3)
	failing.Operate = func(context.Context, Need) (Operating, error) { return Operating{}, errors.New("limit reached") }
	if _, err := Solve(context.Background(), failing); err == nil || !strings.Contains(err.Error(), "limit reached") || !strings.Contains(err.Error(), "needs 3 m") {
		t.Errorf("got %v", err)
	}
	failing.Operate = func(context.Context, Need) (Operating, error) {
		return Operating{Delivered: math.NaN(), Possible: true}, nil
	}
	if _, err := Solve(context.Background(), failing); err == nil || !strings.Contains(err.Error(), "finite") {
		t.Errorf("got %v", err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := Solve(ctx, constant(0.7).input(3)); !errors.Is(err, context.Canceled) {
		t.Errorf("got %v", err)
	}
}
