package landxml

import (
	"bytes"
	"math"
	"slices"
	"strconv"
	"strings"

	"obvert/document"
	"obvert/document/xmlread"
)

// reader holds what is known of a file while it is read.
type reader struct {
	x      *xmlread.Reader
	faults document.Gather
	file   File
	points int
	things int
	cg     map[string]Coord // points by name
}

// Read reads a file. All faults come in one pass, as far as it is well formed; where one is a fault proper, nothing of the file may
// be used.
func Read(name string, data []byte) (File, document.Faults) {
	r := &reader{faults: document.Gather{File: name}, cg: map[string]Coord{}}
	if err := r.read(data); err != nil {
		r.faults.Add(xmlread.Fault(name, err))
	} else {
		r.resolve()
	}
	if r.faults.Fatal {
		r.file = File{}
	}
	return r.file, r.faults.All()
}

func (r *reader) read(data []byte) (err error) {
	if r.x, err = xmlread.New(data); err != nil {
		return err
	}
	if err := r.x.Root("LandXML", "LandXML"); err != nil {
		return err
	}
	r.file.Version = r.word("version")
	switch r.file.Version {
	case "1.0", "1.1", "1.2":
	default:
		r.faults.Remark("landxml.version", r.x.Line(), "a version that is not known", "version \""+r.file.Version+"\", read as 1.2", "")
	}
	err = r.x.Each(func() error {
		switch string(r.x.Name()) {
		case "Units":
			return r.units()
		case "CoordinateSystem":
			r.file.CRS = r.word("name")
			if v, err := strconv.Atoi(r.word("epsgCode")); err == nil && v > 0 {
				r.file.EPSG = v
			}
		case "Application":
			r.file.Application = r.word("name")
		case "CgPoints":
			return r.cgPoints()
		case "Alignments":
			return r.x.Each(func() error {
				if r.x.Is("Alignment") {
					return r.alignment()
				}
				return r.x.Skip()
			})
		case "PipeNetworks":
			return r.x.Each(func() error {
				if r.x.Is("PipeNetwork") {
					return r.network()
				}
				return r.x.Skip()
			})
		case "Surfaces":
			return r.x.Each(func() error { r.file.Surfaces++; return r.x.Skip() })
		case "Project", "Author", "Feature":
		default:
			if n := document.Shown(string(r.x.Name()), 40); !slices.Contains(r.file.Other, n) && len(r.file.Other) < 20 {
				r.file.Other = append(r.file.Other, n)
			}
		}
		return r.x.Skip()
	})
	if err != nil {
		return err
	}
	return r.x.Finish()
}

// word is an attribute as a short text.
func (r *reader) word(name string) string {
	v, _ := r.x.Attribute(name)
	return document.Shown(strings.TrimSpace(string(v[:min(len(v), 400)])), 80)
}

// figure is an attribute as a number; is tells whether it is there and one. What is no number is told.
func (r *reader) figure(name string) (v float64, is bool) {
	text, there := r.x.Attribute(name)
	if !there || len(bytes.TrimSpace(text)) == 0 {
		return 0, false
	}
	v, ok := xmlread.Number(text)
	if !ok {
		r.faults.Repeated("attribute "+name, r.x.Line(), document.FaultSeverity, func() document.Fault {
			return document.Fault{Key: string(r.x.Name()) + "." + name, What: quoted(text) + " is not a number", Hint: "write it with a decimal point"}
		})
	}
	return v, ok
}

func quoted(text []byte) string {
	return "\"" + document.Shown(string(text[:min(len(text), 200)]), 40) + "\""
}

// thing counts what is kept, so that memory is bounded whatever a file holds.
func (r *reader) thing() error {
	if r.things++; r.things > MaxThings {
		return &xmlread.Error{Line: r.x.Line(), What: "more than 200,000 alignments, curves, structures and pipes", Hint: "cut the file in parts"}
	}
	return nil
}

// linear are the units of length of the schema, in metres. The US survey foot is 1200/3937 m by definition (Mendenhall order, 1893).
var linear = map[string]float64{
	"meter": 1, "metre": 1, "millimeter": 1e-3, "centimeter": 1e-2, "kilometer": 1e3,
	"foot": 0.3048, "ussurveyfoot": 1200.0 / 3937, "inch": 0.0254, "mile": 1609.344,
}

// units reads <Units>.
func (r *reader) units() error {
	u := &r.file.Units
	return r.x.Each(func() error {
		if !r.x.Is("Metric") && !r.x.Is("Imperial") {
			return r.x.Skip()
		}
		u.Line, u.Imperial = r.x.Line(), r.x.Is("Imperial")
		u.LinearName, u.DiameterName = r.word("linearUnit"), r.word("diameterUnit")
		u.Linear, u.Diameter = linear[strings.ToLower(u.LinearName)], linear[strings.ToLower(u.DiameterName)]
		if u.LinearName != "" && u.Linear == 0 {
			r.faults.Add(document.Fault{Line: u.Line, Key: "linearUnit", What: "a unit of length that is not known", Understood: quoted([]byte(u.LinearName)),
				Hint: "the schema has meter, foot, USSurveyFoot and a few more"})
		}
		return r.x.Skip()
	})
}

// numbers reads the figures of a text parted by blanks into out and returns how many there are.
func numbers(text []byte, out []float64) (n int, ok bool) {
	for {
		text = bytes.TrimLeft(text, " \t\r\n")
		if len(text) == 0 {
			return n, true
		}
		end := bytes.IndexAny(text, " \t\r\n")
		if end < 0 {
			end = len(text)
		}
		v, ok := xmlread.Number(text[:end])
		if !ok {
			return n, false
		}
		if n < len(out) {
			out[n] = v
		}
		n++
		text = text[end:]
	}
}

// coord reads a point: "north east" or "north east level", or a reference to one.
func (r *reader) coord() (Coord, error) {
	line, name := r.x.Line(), string(r.x.Name())
	c := Coord{ref: r.word("pntRef")}
	text, err := r.x.Content()
	if err != nil {
		return c, err
	}
	var v [3]float64
	n, ok := numbers(text, v[:])
	switch {
	case ok && n == 0:
	case ok && (n == 2 || n == 3):
		c = Coord{North: v[0], East: v[1], Level: v[2], HasLevel: n == 3, Is: true}
	default:
		r.faults.Repeated("coord", line, document.FaultSeverity, func() document.Fault {
			return document.Fault{Key: name, What: "not a point", Understood: quoted(text), Hint: "a point is its north, its east and maybe its level"}
		})
	}
	return c, nil
}

// cgPoints reads the points that others refer to.
func (r *reader) cgPoints() error {
	return r.x.Each(func() error {
		switch {
		case r.x.Is("CgPoints"):
			return r.cgPoints()
		case r.x.Is("CgPoint"):
			if r.points++; r.points > MaxPoints {
				return r.tooMany()
			}
			name := r.word("name")
			c, err := r.coord()
			if c.Is && name != "" {
				r.cg[name] = c
			}
			return err
		}
		return r.x.Skip()
	})
}

func (r *reader) tooMany() error {
	return &xmlread.Error{Line: r.x.Line(), What: "more than 5,000,000 points", Hint: "cut the file in parts, or thin it before"}
}

// resolve puts points in place of references to them.
func (r *reader) resolve() {
	fix := func(c *Coord, line int) {
		if c.Is || c.ref == "" {
			return
		}
		p, ok := r.cg[c.ref]
		if !ok {
			r.faults.Repeated("reference", line, document.FaultSeverity, func() document.Fault {
				return document.Fault{Key: "pntRef", What: "a point that is not in the file", Understood: "\"" + c.ref + "\"", Hint: "write its coordinates, or the point among CgPoints"}
			})
		}
		*c = p
	}
	for i := range r.file.Alignments {
		for j := range r.file.Alignments[i].Elements {
			e := &r.file.Alignments[i].Elements[j]
			for _, c := range []*Coord{&e.Start, &e.Center, &e.End} {
				fix(c, e.Line)
			}
			r.measure(e)
		}
	}
	for i := range r.file.Networks {
		for j := range r.file.Networks[i].Structures {
			s := &r.file.Networks[i].Structures[j]
			fix(&s.Center, s.Line)
		}
	}
}

// alignment reads <Alignment>.
func (r *reader) alignment() error {
	if err := r.thing(); err != nil {
		return err
	}
	a := Alignment{Name: r.word("name"), Line: r.x.Line()}
	a.Start, _ = r.figure("staStart")
	a.Length, _ = r.figure("length")
	err := r.x.Each(func() error {
		switch string(r.x.Name()) {
		case "CoordGeom":
			return r.x.Each(func() error { return r.element(&a) })
		case "StaEquation":
			var e Equation
			e.Ahead, _ = r.figure("staAhead")
			e.Back, _ = r.figure("staBack")
			e.Internal, _ = r.figure("staInternal")
			if err := r.thing(); err != nil {
				return err
			}
			a.Equations = append(a.Equations, e)
		case "Profile":
			return r.x.Each(func() error {
				switch {
				case r.x.Is("ProfAlign"):
					return r.design(&a)
				case r.x.Is("ProfSurf"):
					return r.surface(&a)
				}
				return r.x.Skip()
			})
		case "CrossSects":
			a.CrossSections = true
		}
		return r.x.Skip()
	})
	r.file.Alignments = append(r.file.Alignments, a)
	return err
}

// element reads a piece of an alignment.
func (r *reader) element(a *Alignment) error {
	kind, ok := map[string]ElementKind{"Line": Line, "Curve": Curve, "Spiral": Spiral, "IrregularLine": Irregular}[string(r.x.Name())]
	if !ok {
		name := document.Shown(string(r.x.Name()), 40)
		if name != "Feature" {
			r.faults.Repeated("element", r.x.Line(), document.WarningSeverity, func() document.Fault {
				return document.Fault{ID: "landxml.element", Key: name, What: "a piece of an alignment of a kind that is not read", Hint: "its length is missing in the alignment's"}
			})
		}
		return r.x.Skip()
	}
	if err := r.thing(); err != nil {
		return err
	}
	e := Element{Kind: kind, Line: r.x.Line(), Clockwise: r.word("rot") == "cw"}
	e.Length, _ = r.figure("length")
	e.Radius, _ = r.figure("radius")
	err := r.x.Each(func() (err error) {
		switch string(r.x.Name()) {
		case "Start":
			e.Start, err = r.coord()
		case "End":
			e.End, err = r.coord()
		case "Center":
			e.Center, err = r.coord()
		case "PntList2D":
			err = r.list(2, func(v [3]float64, _ int32) { e.Points = append(e.Points, Coord{North: v[0], East: v[1], Is: true}) })
		case "PntList3D":
			err = r.list(3, func(v [3]float64, _ int32) {
				e.Points = append(e.Points, Coord{North: v[0], East: v[1], Level: v[2], Is: true, HasLevel: true})
			})
		default:
			err = r.x.Skip()
		}
		return err
	})
	a.Elements = append(a.Elements, e)
	return err
}

// list reads a list of points of n figures each.
func (r *reader) list(n int, take func(v [3]float64, line int32)) error {
	line, name := r.x.Line(), string(r.x.Name())
	text, err := r.x.Content()
	if err != nil {
		return err
	}
	var v [3]float64
	k := 0
	for i := 0; ; {
		for i < len(text) && (text[i] == ' ' || text[i] == '\t' || text[i] == '\r' || text[i] == '\n') {
			if text[i] == '\n' {
				line++
			}
			i++
		}
		if i >= len(text) {
			break
		}
		from := i
		for i < len(text) && text[i] > ' ' {
			i++
		}
		if i == from {
			i++ // another control character: no number
		}
		x, ok := xmlread.Number(text[from:i])
		if !ok {
			r.faults.Repeated("list", line, document.FaultSeverity, func() document.Fault {
				return document.Fault{Key: name, What: quoted(text[from:i]) + " is not a number", Hint: "write figures with a decimal point, parted by blanks"}
			})
		}
		v[k] = x
		if k++; k == n {
			if r.points++; r.points > MaxPoints {
				return r.tooMany()
			}
			take(v, int32(line))
			k = 0
		}
	}
	if k != 0 {
		r.faults.Add(document.Fault{Line: line, Key: name, What: "a list of points that ends in the middle of one", Understood: strconv.Itoa(n) + " figures make a point", Hint: "was the file cut?"})
	}
	return nil
}

// design reads <ProfAlign>.
func (r *reader) design(a *Alignment) error {
	if err := r.thing(); err != nil {
		return err
	}
	p := ProfAlign{Name: r.word("name"), Line: r.x.Line()}
	err := r.x.Each(func() error {
		kind, ok := map[string]VerticalKind{"PVI": PVI, "ParaCurve": ParaCurve, "UnsymParaCurve": UnsymParaCurve, "CircCurve": CircCurve}[string(r.x.Name())]
		if !ok {
			return r.x.Skip()
		}
		if r.points++; r.points > MaxPoints {
			return r.tooMany()
		}
		v := Vertical{Kind: kind, Line: r.x.Line()}
		name := string(r.x.Name())
		v.Length, _ = r.figure("length")
		v.Radius, _ = r.figure("radius")
		if kind == UnsymParaCurve {
			v.Length, _ = r.figure("lengthIn")
			v.LengthOut, _ = r.figure("lengthOut")
		}
		text, err := r.x.Content()
		if err != nil {
			return err
		}
		var f [2]float64
		if n, ok := numbers(text, f[:]); !ok || n != 2 {
			r.faults.Repeated("pvi", v.Line, document.FaultSeverity, func() document.Fault {
				return document.Fault{Key: name, What: "not a station and a level", Understood: quoted(text), Hint: "write two figures parted by a blank"}
			})
			return nil
		}
		v.Station, v.Level = f[0], f[1]
		p.Verticals = append(p.Verticals, v)
		return nil
	})
	a.Designs = append(a.Designs, p)
	return err
}

// surface reads <ProfSurf>.
func (r *reader) surface(a *Alignment) error {
	if err := r.thing(); err != nil {
		return err
	}
	s := Surface{Name: r.word("name"), State: r.word("state"), Line: r.x.Line()}
	err := r.x.Each(func() error {
		if r.x.Is("PntList2D") {
			return r.list(2, func(v [3]float64, line int32) { s.Points = append(s.Points, StationLevel{v[0], v[1], line}) })
		}
		return r.x.Skip()
	})
	a.Surfaces = append(a.Surfaces, s)
	return err
}

// network reads <PipeNetwork>.
func (r *reader) network() error {
	n := Network{Name: r.word("name"), Type: r.word("pipeNetType"), Line: r.x.Line()}
	err := r.x.Each(func() error {
		switch {
		case r.x.Is("Structs"):
			return r.x.Each(func() error {
				if r.x.Is("Struct") {
					return r.structure(&n)
				}
				return r.x.Skip()
			})
		case r.x.Is("Pipes"):
			return r.x.Each(func() error {
				if r.x.Is("Pipe") {
					return r.pipe(&n)
				}
				return r.x.Skip()
			})
		}
		return r.x.Skip()
	})
	r.file.Networks = append(r.file.Networks, n)
	return err
}

// structure reads <Struct>.
func (r *reader) structure(n *Network) error {
	if err := r.thing(); err != nil {
		return err
	}
	s := Structure{Name: r.word("name"), Line: r.x.Line()}
	s.Rim, s.HasRim = r.figure("elevRim")
	s.Sump, s.HasSump = r.figure("elevSump")
	err := r.x.Each(func() (err error) {
		switch {
		case r.x.Is("Center"):
			s.Center, err = r.coord()
			return err
		case r.x.Is("Invert"):
			if v, ok := r.figure("elev"); ok {
				if err := r.thing(); err != nil {
					return err
				}
				s.Inverts = append(s.Inverts, Invert{v, r.word("refPipe"), r.word("flowDir")})
			}
		}
		return r.x.Skip()
	})
	n.Structures = append(n.Structures, s)
	return err
}

// pipe reads <Pipe>.
func (r *reader) pipe(n *Network) error {
	if err := r.thing(); err != nil {
		return err
	}
	p := Pipe{Name: r.word("name"), From: r.word("refStart"), To: r.word("refEnd"), Line: r.x.Line()}
	p.Length, _ = r.figure("length")
	err := r.x.Each(func() error {
		switch name := string(r.x.Name()); name {
		case "CircPipe", "EggPipe", "ElliPipe", "RectPipe", "Channel":
			p.Shape = name
			p.Material = r.word("material")
			p.Thickness, _ = r.figure("thickness")
			if name == "CircPipe" {
				p.Diameter, _ = r.figure("diameter")
			}
		}
		return r.x.Skip()
	})
	n.Pipes = append(n.Pipes, p)
	return err
}

// measure gives a piece of an alignment the length that is not written, by its points. A length written that contradicts them is told.
func (r *reader) measure(e *Element) {
	reckoned := 0.0
	switch e.Kind {
	case Line:
		if e.Start.Is && e.End.Is {
			reckoned = math.Hypot(e.End.North-e.Start.North, e.End.East-e.Start.East)
		}
	case Curve:
		reckoned = e.arc()
	case Irregular:
		for i := 1; i < len(e.Points); i++ {
			reckoned += math.Hypot(e.Points[i].North-e.Points[i-1].North, e.Points[i].East-e.Points[i-1].East)
		}
	case Spiral:
		if e.Length <= 0 {
			r.faults.Repeated("spiral", e.Line, document.FaultSeverity, func() document.Fault {
				return document.Fault{Key: "Spiral.length", What: "a spiral without its length", Hint: "the schema asks for it"}
			})
		}
		return
	}
	if e.Length > 0 && reckoned > 0 && math.Abs(e.Length-reckoned) > 0.01+1e-3*reckoned {
		r.faults.Repeated("length", e.Line, document.WarningSeverity, func() document.Fault {
			return document.Fault{ID: "landxml.length", Key: "length", What: "a length that contradicts the points",
				Understood: strconv.FormatFloat(e.Length, 'f', 3, 64) + " written, " + strconv.FormatFloat(reckoned, 'f', 3, 64) + " by the points; the points were taken"}
		})
	}
	if reckoned > 0 {
		e.Length = reckoned
	}
	if e.Length <= 0 && e.Kind != Irregular {
		r.faults.Repeated("no length", e.Line, document.WarningSeverity, func() document.Fault {
			return document.Fault{ID: "landxml.no-length", What: "a piece of an alignment without length", Hint: "it has neither points nor a length"}
		})
	}
}

// arc is the length of a curve by its ends and centre, 0 where they are not there.
func (e *Element) arc() float64 {
	if !e.Start.Is || !e.End.Is || !e.Center.Is {
		return 0
	}
	a, b := e.Start, e.End
	radius := math.Hypot(a.North-e.Center.North, a.East-e.Center.East)
	// Angles from the north, clockwise.
	turn := math.Atan2(b.East-e.Center.East, b.North-e.Center.North) - math.Atan2(a.East-e.Center.East, a.North-e.Center.North)
	if !e.Clockwise {
		turn = -turn
	}
	if turn = math.Mod(turn, 2*math.Pi); turn < 0 {
		turn += 2 * math.Pi
	}
	return radius * turn
}
