package survey

import (
	"fmt"
	"io"
	"sort"

	"obvert/formats/landxml"
	"obvert/line"
)

// WriteLandXML writes runs of a line, by index, as LandXML 1.2: each run an alignment with the profile of its obvert and, where it is known,
// of the ground, and a pipe network with the inverts of its sections. Without runs all are written. Read again by [LandXML] the
// points are the same within 0.05 mm in chainage and level.
//
// A line knows no plan: each run is drawn straight to the east from north 0, as far in it as its chainage; the file says so. The invert is
// the obvert less the bore. version is the program's, date the user's (2006-01-02); empty, it is the line's own, and without that
// 1970-01-01, since the schema asks for one.
func WriteLandXML(w io.Writer, l *line.Line, version, date string, runs ...int) error {
	if len(runs) == 0 {
		for i := range l.Runs {
			runs = append(runs, i)
		}
	}
	if date == "" {
		date = l.Date
	}
	var f landxml.File
	for k, i := range runs {
		if i < 0 || i >= len(l.Runs) || len(l.Runs[i].Points) < 2 {
			return fmt.Errorf("the line has no run %d with a profile", i+1)
		}
		north := -1000 * float64(k) // runs lie side by side
		f.Alignments = append(f.Alignments, alignmentOf(&l.Runs[i], north))
		f.Networks = append(f.Networks, networkOf(l, i, north))
	}
	return landxml.Write(w, f, landxml.Head{Date: date, Project: l.Name, Application: "Obvert", Version: version,
		Description: "Plan not known: each run is drawn straight to the east, schematically. Levels and stations are those of the line. Diameters are bores; inverts are obverts less the bore."})
}

// alignmentOf makes the alignment of a run.
func alignmentOf(r *line.Run, north float64) landxml.Alignment {
	first, last := r.First(), r.Last()
	a := landxml.Alignment{Name: r.Name, Start: first, Length: last - first, Elements: []landxml.Element{{Kind: landxml.Line, Length: last - first,
		Start: landxml.Coord{North: north, East: first, Is: true}, End: landxml.Coord{North: north, East: last, Is: true}}}}
	d := landxml.ProfAlign{Name: "obvert"}
	ground := landxml.Surface{Name: "ground", State: "existing"}
	for _, p := range r.Points {
		d.Verticals = append(d.Verticals, landxml.Vertical{Station: p.Chainage, Level: p.Obvert})
		if p.HasGround {
			ground.Points = append(ground.Points, landxml.StationLevel{Station: p.Chainage, Level: p.Ground})
		}
	}
	a.Designs = []landxml.ProfAlign{d}
	if len(ground.Points) > 1 {
		a.Surfaces = []landxml.Surface{ground}
	}
	return a
}

// networkOf makes the pipe network of a run: structures at its ends, between sections, and at valves and equipment.
func networkOf(l *line.Line, run int, north float64) landxml.Network {
	r := &l.Runs[run]
	type stop struct {
		at   float64
		name string
	}
	first, last := r.First(), r.Last()
	stops := []stop{{first, l.Nodes[r.From].Name}, {last, l.Nodes[r.To].Name}}
	for _, v := range r.Placed {
		stops = append(stops, stop{v.Chainage, v.Name})
	}
	for _, e := range r.Equipment {
		stops = append(stops, stop{e.Chainage, e.Name})
	}
	for i, s := range r.Sections {
		if i > 0 {
			stops = append(stops, stop{s.From, fmt.Sprintf("Section %d", i+1)})
		}
	}
	sort.SliceStable(stops, func(i, j int) bool { return stops[i].at < stops[j].at })
	// The ends first and last, whatever stands at the very same place.
	n := landxml.Network{Name: r.Name, Type: "water"}
	taken := map[string]bool{}
	var at []float64
	for _, s := range stops {
		if s.at < first || s.at > last || len(at) > 0 && s.at-at[len(at)-1] < 1e-3 {
			continue
		}
		name := s.name
		for k := 2; name == "" || taken[name]; k++ {
			name = fmt.Sprintf("%s (%d)", s.name, k)
		}
		taken[name] = true
		at = append(at, s.at)
		n.Structures = append(n.Structures, landxml.Structure{Name: name, Center: landxml.Coord{North: north, East: s.at, Is: true}})
	}
	if last-at[len(at)-1] > 0 { // a stop within a millimetre of the end
		at[len(at)-1] = last
		n.Structures[len(at)-1].Center.East = last
	}
	for i := 1; i < len(at); i++ {
		section := l.SectionAt(run, (at[i-1]+at[i])/2)
		if section == nil {
			section = &line.Section{}
		}
		p := landxml.Pipe{Name: fmt.Sprintf("Pipe %d", i), From: n.Structures[i-1].Name, To: n.Structures[i].Name, Length: at[i] - at[i-1],
			Diameter: section.Bore, Thickness: section.Wall, Material: section.Material}
		n.Pipes = append(n.Pipes, p)
		from, to := &n.Structures[i-1], &n.Structures[i]
		from.Inverts = append(from.Inverts, landxml.Invert{Level: obvertBeside(l, run, at[i-1], true) - section.Bore, Pipe: p.Name, Flow: "out"})
		to.Inverts = append(to.Inverts, landxml.Invert{Level: obvertBeside(l, run, at[i], false) - section.Bore, Pipe: p.Name, Flow: "in"})
	}
	return n
}

// obvertBeside is the obvert of a run at a chainage on it; at a vertical step just behind it or just before.
func obvertBeside(l *line.Line, run int, s float64, behind bool) float64 {
	p := l.Runs[run].Points
	if i := sort.Search(len(p), func(i int) bool { return p[i].Chainage >= s }); i < len(p) && p[i].Chainage == s {
		for behind && i+1 < len(p) && p[i+1].Chainage == s {
			i++
		}
		return p[i].Obvert
	}
	z, _ := l.ObvertAt(run, s)
	return z
}
