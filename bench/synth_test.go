package bench

import (
	"math"
	"math/rand/v2"
)

// truth is a valve as it really is, heads in m at its seat.
type truth struct {
	name              string
	seat              float64 // m above datum
	seal, letGo       float64 // m; seal 0: never tight
	scatter           float64 // m, standard deviation from one time to the next
	leakMost, leakPow float64 // m³/s at 1 m, and how fast it falls: q = most·√h·(1 − h/seal)^pow
}

// leak is the true leak at a head.
func (v truth) leak(h float64) float64 {
	end := v.seal
	if end == 0 {
		end = 7
	}
	if h <= 0 || h >= end {
		return 0
	}
	return v.leakMost * math.Sqrt(h) * math.Pow(1-h/end, v.leakPow)
}

// scene is a bench with a known truth, from which a run is made.
type scene struct {
	seed     uint64
	run      Run     // setup: what the record says
	top      float64 // m, highest water above datum
	start    float64 // m, lowest water
	rate     float64 // m/s up and down
	every    float64 // s between readings
	repeats  int
	holds    []float64 // m above datum, held for hold s while rising in the first repeat
	hold     float64   // s
	valves   []truth
	jitter   float64 // Pa, standard deviation of one reading of the gauge
	wrong    bool    // draw the systematic errors from what the record states
	looks    float64 // s between looks; 0: changes are seen
	reaction float64 // s, scatter of single marks about the delay
}

// plainScene is a tube and a gauge, no error, no noise.
func plainScene() scene {
	return scene{
		seed: 1, top: 3.6, start: 0.4, rate: 0.02, every: 1, repeats: 3,
		run: Run{
			Name: "synthetic", Date: "2026-11-18", Operator: "nobody",
			WaterTemperature: 289.15, WaterTemperatureUncertainty: 0.3, Gravity: 9.8096, GravityUncertainty: 2e-4,
			LevelUncertainty: 0.002, NoDrop: 30, Delay: 1.2, DelaySpread: 0.3, HasDelay: true,
			VolumeUncertainty: 2e-6, TimeUncertainty: 0.3, HasCollecting: true,
			Gauge: &Gauge{Name: "g", Level: 0.3, Resolution: 10, Certificate: Certificate{Date: "2026-03-02", Corrections: []Correction{{Added: -60}}, Expanded: 120, K: 2}},
			Tube:  &Tube{Name: "t", Zero: 0.2, Top: 6, Resolution: 0.001, Certificate: Certificate{Date: "2026-03-02", Corrections: []Correction{{Added: 0.002}}, Expanded: 0.004, K: 2}},
		},
	}
}

// build makes the run.
func (s scene) build() Run {
	rng := rand.New(rand.NewPCG(s.seed, 77))
	err := func(u float64) float64 {
		e := rng.NormFloat64() * u
		if !s.wrong {
			return 0
		}
		return e
	}
	r := s.run
	f, e := newFrame(&r)
	if e != nil {
		panic(e)
	}
	rg := (f.density + err(f.densityU)) * (f.gravity + err(f.gravityU))
	delay := r.Delay + err(r.DelaySpread)
	gaugeErr, tubeErr, gaugeLevel, zero := 0.0, 0.0, 0.0, 0.0
	if r.Gauge != nil {
		gaugeErr, gaugeLevel = err(r.Gauge.Certificate.Expanded/r.Gauge.Certificate.K), r.Gauge.Level+err(r.LevelUncertainty)
	}
	if r.Tube != nil {
		tubeErr, zero = err(r.Tube.Certificate.Expanded/r.Tube.Certificate.K), r.Tube.Zero+err(r.LevelUncertainty)
	}
	t := 0.0
	r.Valves = nil
	for _, v := range s.valves {
		r.Valves = append(r.Valves, ValveRun{Name: v.name, Record: v.name, Seat: v.seat})
	}
	seats := make([]float64, len(s.valves))
	for i, v := range s.valves {
		seats[i] = v.seat + err(r.LevelUncertainty)
	}
	for k := range s.repeats {
		holds := s.holds
		if k > 0 {
			holds = nil
		}
		from, path := t, s.path(holds)
		turn, to := from+path.turn, from+path.length
		r.Repeats = append(r.Repeats, Span{From: from, Turn: turn, To: to})
		for ; t < to+s.every; t += s.every {
			h := path.at(t - from)
			sm := Sample{Time: t}
			if r.Gauge != nil {
				ind := rg*(h-gaugeLevel) - r.Gauge.Certificate.added(0) - gaugeErr + rng.NormFloat64()*s.jitter
				sm.HasGauge, sm.Gauge = true, toStep(ind, r.Gauge.Resolution)
			}
			if r.Tube != nil {
				sm.HasTube, sm.Tube = true, toStep(h-zero-r.Tube.Certificate.added(0)-tubeErr, r.Tube.Resolution)
			}
			r.Samples = append(r.Samples, sm)
		}
		for i, v := range s.valves {
			up := v.seal + rng.NormFloat64()*v.scatter
			down := math.Min(v.letGo+rng.NormFloat64()*v.scatter, up)
			r.Valves[i].Marks = append(r.Valves[i].Marks, s.marks(path, from, seats[i], up, down, v.seal == 0, delay, rng)...)
			for _, at := range path.held {
				h := path.at(at+s.hold/2) - seats[i]
				if v.leakMost == 0 || k > 0 || h <= 0 || v.seal > 0 && h >= up {
					continue
				}
				over := s.hold * 0.75
				r.Valves[i].Leaks = append(r.Valves[i].Leaks, Collected{Time: from + at + s.hold*0.1, Over: over,
					Volume: math.Round(v.leak(h)*over*1e6+rng.NormFloat64()*r.VolumeUncertainty*1e6) / 1e6})
			}
		}
	}
	return r
}

func toStep(v, step float64) float64 {
	if step == 0 {
		return v
	}
	n := math.Round(1 / step)
	if n >= 1 {
		return math.Round(v*n) / n
	}
	return math.Round(v/step) * step
}

// marks of one repeat: the changes, or the states at looks.
func (s scene) marks(p path, from, seat, up, down float64, never bool, delay float64, rng *rand.Rand) []Seen {
	react := func() float64 { return delay + rng.NormFloat64()*s.reaction }
	shut, opened := p.rise(seat+up), p.fall(seat+down)
	if s.looks > 0 {
		var m []Seen
		for t := s.looks; t < p.length; t += s.looks {
			if p.at(t) > seat {
				m = append(m, Seen{Time: from + t, Kind: Look, Tight: !never && t >= shut && t < opened})
			}
		}
		return m
	}
	if never {
		return []Seen{{Time: from + p.turn - 1, Kind: Look}}
	}
	return []Seen{{Time: from + shut + react(), Tight: true}, {Time: from + opened + react()}}
}

// path is the height of the water over the time of one repeat.
type path struct {
	t, h         []float64
	turn, length float64
	held         []float64 // when holds begin
}

func (s scene) path(holds []float64) path {
	p := path{t: []float64{0}, h: []float64{s.start}}
	to := func(h, after float64) {
		p.t, p.h = append(p.t, p.t[len(p.t)-1]+after), append(p.h, h)
	}
	to(s.start, 5)
	for _, h := range holds {
		to(h, (h-p.h[len(p.h)-1])/s.rate)
		p.held = append(p.held, p.t[len(p.t)-1])
		to(h, s.hold)
	}
	to(s.top, (s.top-p.h[len(p.h)-1])/s.rate)
	to(s.top, 5)
	p.turn = p.t[len(p.t)-1]
	to(s.top, 5)
	to(s.start, (s.top-s.start)/s.rate)
	to(s.start, 10)
	p.length = p.t[len(p.t)-1]
	return p
}

func (p path) at(t float64) float64 {
	for i := 1; i < len(p.t); i++ {
		if t <= p.t[i] && p.t[i] > p.t[i-1] {
			w := (t - p.t[i-1]) / (p.t[i] - p.t[i-1])
			return p.h[i-1]*(1-w) + p.h[i]*w
		}
	}
	return p.h[len(p.h)-1]
}

// rise and fall are when the water passes a height.
func (p path) rise(h float64) float64 { return p.pass(h, 0, p.turn, 1) }
func (p path) fall(h float64) float64 { return p.pass(h, p.turn, p.length, -1) }

func (p path) pass(h, a, b, sign float64) float64 {
	for range 60 {
		m := (a + b) / 2
		if sign*(p.at(m)-h) < 0 {
			a = m
		} else {
			b = m
		}
	}
	return b
}
