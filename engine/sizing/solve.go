package sizing

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"

	"obvert/line"
	"obvert/physics/air"
	"obvert/physics/pipe"
	"obvert/quantity"
)

// Solve sizes every place: what it must pass, what its valve passes, and which valve of the rack would do. When the context
// ends it returns the places up to then with the status "stopped" and the context's error.
func Solve(ctx context.Context, in Input) (Result, error) {
	if err := in.Check(); err != nil {
		return Result{}, err
	}
	s := newSolver(&in)
	s.practiceNotes()
	s.res.Places = make([]PlaceResult, 0, len(in.Places))
	for i := range in.Places {
		if err := ctx.Err(); err != nil {
			s.res.Status = "stopped"
			return s.res, err
		}
		p, err := s.place(&in.Places[i])
		if err != nil {
			return Result{}, fmt.Errorf("sizing: place %q: %w", in.Places[i].Name, err)
		}
		s.res.Places = append(s.res.Places, p)
	}
	s.res.Status = "complete"
	return s.res, nil
}

// solver holds what all places share.
type solver struct {
	in        *Input
	site      *line.Site
	practice  *line.Practice
	rules     struct{ admit, collapse, boils, vent Limit } // what is the same at every place; collapse without its figure
	large     float64                                      // coefficient of large orifices
	small     float64                                      // of small ones
	state     state
	rack      []fitted
	order     []int                  // the rack by nominal diameter, then price
	sections  [][]section            // by run, by section
	dissolved map[[2]float64]float64 // kg/m³ of air by temperature and absolute pressure
	bulk      float64                // of the water, Pa; 0: not yet asked for
	res       Result
}

// section is what is worked out once for a section of pipe.
type section struct {
	law     pipe.Law
	hasLaw  bool
	wall    Wall
	hasWall bool
}

func newSolver(in *Input) *solver {
	l := in.Line
	s := &solver{
		in: in, site: &l.Site, practice: &l.Practice,
		large: cmp.Or(in.Coefficient, usualLarge), small: cmp.Or(in.SmallOrifice, usualSmall),
		state:     state{pressure: l.Site.AtmosphericPressure, temperature: l.Site.AirTemperature},
		dissolved: map[[2]float64]float64{},
	}
	s.commonLimits()
	s.state.density = s.state.pressure / (air.GasConstant * s.state.temperature)
	for i := range l.Rack {
		s.rack = append(s.rack, fit(&l.Rack[i]))
		s.order = append(s.order, i)
	}
	slices.SortStableFunc(s.order, func(a, b int) int {
		x, y := &l.Rack[a], &l.Rack[b]
		return cmp.Or(cmp.Compare(last(x.NominalDiameter), last(y.NominalDiameter)), cmp.Compare(last(x.Price), last(y.Price)))
	})
	s.sections = make([][]section, len(l.Runs))
	for r := range l.Runs {
		s.sections[r] = make([]section, len(l.Runs[r].Sections))
	}
	s.res = Result{
		Basis: in.Basis, Atmosphere: s.state.pressure, Temperature: s.state.temperature, Density: s.state.density, Coefficient: s.large,
		BasisText: s.basisText(),
	}
	return s
}

// last puts a figure that was not given behind all others.
func last(x float64) float64 {
	if x == 0 {
		return math.Inf(1)
	}
	return x
}

// basisText says how air is counted.
func (s *solver) basisText() string {
	how := map[Basis]string{
		SafeSide:  "Air in is counted as free air and air out at the pressure in the pipe: the greater mass either way.",
		FreeAir:   "Air is counted as free air both ways.",
		PipeAir:   "Air is counted at the pressure in the pipe and the temperature of the air outside, both ways.",
		CooledAir: "Air is counted at the pressure in the pipe after expansion or compression without heat, both ways.",
	}[s.in.Basis]
	return fmt.Sprintf("%s Free air is dry air at the site's %s and %s, %s. Diameters are of an orifice with a discharge coefficient of %s on its own area.",
		how, kPa(s.state.pressure), quantity.Format(s.state.temperature, "°C", 1),
		quantity.Format(s.state.density, "kg/m³", 3), quantity.Number(s.large, 2))
}

func (s *solver) note(id, where, format string, args ...any) {
	s.res.Notes = append(s.res.Notes, Note{ID: id, Where: where, Text: fmt.Sprintf(format, args...)})
}

// remark is a note on a place.
func (s *solver) remark(id string, p *Place, format string, args ...any) {
	s.note(id, s.where(p), format, args...)
}

// place sizes one place.
func (s *solver) place(p *Place) (PlaceResult, error) {
	out := PlaceResult{Name: p.Name, Run: p.Run, Chainage: p.Chainage, Placed: p.Placed, Record: p.Record, Smallest: -1, NextUp: -1}
	wall, err := s.weakest(p)
	if err != nil {
		return out, err
	}
	out.Wall = wall
	out.In.Allowed = s.allowedIn(&wall)
	out.Out.Allowed = s.allowedOut(p)
	if err := s.duties(p, &out); err != nil {
		return out, err
	}
	if out.Release, err = s.release(p); err != nil {
		return out, err
	}
	if err := s.judge(p, &out); err != nil {
		return out, err
	}
	if out.Slam, err = s.slam(p, &out); err != nil {
		return out, err
	}
	return out, s.choose(p, &out)
}

// where names a place for a note.
func (s *solver) where(p *Place) string {
	return fmt.Sprintf("%s, run %s, %s", p.Name, s.in.Line.Runs[p.Run].Name, quantity.FormatChainage(p.Chainage))
}

// law is the friction of a section.
func (s *solver) law(run, i int) *pipe.Law {
	c := &s.sections[run][i]
	if !c.hasLaw {
		sec := &s.in.Line.Runs[run].Sections[i]
		if sec.HazenWilliams > 0 {
			c.law = pipe.NewHazenWilliams(sec.Bore, sec.HazenWilliams)
		} else {
			c.law = pipe.NewDarcyWeisbach(sec.Bore, sec.Roughness, s.site.Viscosity, s.site.Gravity)
		}
		c.hasLaw = true
	}
	return &c.law
}

func (s *solver) section(p Piece) *line.Section { return &s.in.Line.Runs[p.Run].Sections[p.Section] }

// practiceNotes remark on numbers of practice beyond what practice knows.
func (s *solver) practiceNotes() {
	p := s.practice
	for _, t := range []struct {
		line.Threshold
		what, unit string
		digits     int
		low, high  float64
		usual      string
	}{
		{p.AdmitDifferential, "the vacuum allowed while air comes in", "kPa", 1, 0, 35e3, "35 kPa (5 psi) at most: AWWA Manual M51, from memory"},
		{p.VentDifferential, "the pressure of air allowed while filling", "kPa", 1, 0, 14e3, "13.8 kPa (2 psi) at most: AWWA Manual M51, from memory"},
		{p.CollapseFactor, "the safety factor on collapse", "1", 1, 1.5, 4, "1.5 to 4: published factors, most of them from memory"},
		{p.FillingVelocity, "the filling velocity", "m/s", 2, 0.03, 0.31, "0.3 m/s (1 ft/s), European tables 0.04 to 0.05 m/s"},
		{p.DrainVelocity, "the drain velocity", "m/s", 2, 0.3, 0.61, "0.3 to 0.6 m/s (1 to 2 ft/s): AWWA Manual M51, from memory"},
		{p.ReleasedAir, "the share of released air", "%", 1, 0.015, 0.03, "2 %, which is what water at 16 °C holds at 1 atm"},
	} {
		if t.Value < t.low*(1-1e-9) || t.Value > t.high*(1+1e-9) {
			s.note("sizing.practice", fmt.Sprintf("practice %q", p.Name), "%s is %s; usual: %s",
				sentence(t.what), quantity.Format(t.Value, t.unit, t.digits), t.usual)
		}
	}
	if s.large < 0.563 || s.large > 0.99 {
		s.note("sizing.coefficient", "all places", "a discharge coefficient of %s lies outside the 0.563 (sharp edge) to 0.99 (rounded mouth) that Weisbach measured with air", quantity.Number(s.large, 3))
	}
}
