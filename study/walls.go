package study

import (
	"obvert/line"
	"obvert/physics/pipe"
	"obvert/physics/water"
)

// wall is what the wall of a section stands.
type wall struct {
	known   bool
	vacuum  float64 // Pa, allowed below the atmosphere
	governs string
	speed   float64 // m/s, of pressure waves
}

// workWalls works out, by run and section, what every wall stands.
func (s *solver) workWalls() {
	s.walls = make([][]wall, len(s.l.Runs))
	modulus := s.bulkModulus()
	for r := range s.l.Runs {
		for i := range s.l.Runs[r].Sections {
			s.walls[r] = append(s.walls[r], s.wallOf(&s.l.Runs[r].Sections[i], modulus))
		}
	}
}

// bulkModulus is that of the water for fast changes, Pa: ρ c².
func (s *solver) bulkModulus() float64 {
	w, err := water.At(s.l.Site.WaterTemperature, s.l.Site.AtmosphericPressure)
	if err != nil {
		return 2.1e9 // outside the formulas' range, which line refuses; a handbook's value, from memory
	}
	return w.BulkModulus
}

func (s *solver) wallOf(sec *line.Section, modulus float64) wall {
	w := wall{speed: defaultWaveSpeed}
	if sec.Wall <= 0 || sec.Modulus <= 0 {
		return w
	}
	shell := pipe.Shell{Bore: sec.Bore, Wall: sec.Wall, Modulus: sec.Modulus, Poisson: sec.Poisson}
	if size, err := pipe.Lookup(sec.Size); err == nil { // a lining does not bear
		shell.Bore += 2 * size.Lining
	}
	b, err := pipe.Collapse(pipe.Vacuum{Shell: shell, Ovality: sec.Ovality, Factor: max(1, s.l.Practice.CollapseFactor.Value),
		Soil: pipe.Soil{Modulus: sec.SoilModulus, Cover: sec.Cover, WaterTable: sec.WaterTable}})
	if err == nil { // else the wall is told as not known: sizing says what is wrong with it
		w.known, w.vacuum, w.governs = true, b.Allowed, b.Governs
	}
	if a, err := pipe.WaveSpeed(pipe.Wave{Shell: shell, Bulk: modulus, Density: s.l.Site.Density, Restraint: pipe.AnchoredThroughout}); err == nil {
		w.speed = a
	}
	return w
}

// defaultWaveSpeed serves where the wall is not known: of stiff pipe, on the safe side for a slam. Common practice, no source.
const defaultWaveSpeed = 1200.0

// sectionIndex is that of the section at a chainage.
func (s *solver) sectionIndex(run int, chainage float64) int {
	secs := s.l.Runs[run].Sections
	for i := range secs {
		if chainage <= secs[i].To {
			return i
		}
	}
	return len(secs) - 1
}

// wallVacuum is what the wall alone stands, Pa, at most the vacuum at which water boils: none is larger; 0 where it is not known.
func (s *solver) wallVacuum(run int, chainage float64) float64 {
	if w := s.walls[run][s.sectionIndex(run, chainage)]; w.known {
		return min(w.vacuum, s.l.Site.AtmosphericPressure-s.l.Site.VapourPressure)
	}
	return 0
}

// waveSpeed is that of the pipe at a chainage, m/s.
func (s *solver) waveSpeed(run int, chainage float64) float64 {
	return s.walls[run][s.sectionIndex(run, chainage)].speed
}
