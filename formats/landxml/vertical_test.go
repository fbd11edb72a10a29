package landxml

import (
	"bytes"
	"math"
	"reflect"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// exact is the level at a station of a curve between grades, by the definition of each: parabolas by their values and slopes at the
// ends, a circle by its centre.
func exact(before, v, after Vertical, s float64) float64 {
	g1 := (v.Level - before.Level) / (v.Station - before.Station)
	g2 := (after.Level - v.Level) / (after.Station - v.Station)
	tangent := v.Level + g1*(s-v.Station)
	if s > v.Station {
		tangent = v.Level + g2*(s-v.Station)
	}
	switch v.Kind {
	case ParaCurve, UnsymParaCurve:
		l1, l2 := v.Length, v.LengthOut
		if v.Kind == ParaCurve {
			l1, l2 = v.Length/2, v.Length/2
		}
		// The offset from the tangent grows with the square of the distance from the curve's end, to e at the point of intersection.
		e := l1 * l2 * (g2 - g1) / (2 * (l1 + l2))
		if s < v.Station {
			x := max(s-(v.Station-l1), 0) / l1
			return tangent + e*x*x
		}
		x := max(v.Station+l2-s, 0) / l2
		return tangent + e*x*x
	}
	// The centre is r off both grades.
	a1, a2 := math.Atan(g1), math.Atan(g2)
	side := math.Copysign(1, a2-a1)
	t := v.Radius * math.Tan(math.Abs(a2-a1)/2)
	if s < v.Station-t*math.Cos(a1) || s > v.Station+t*math.Cos(a2) {
		return tangent
	}
	b := v.Radius / math.Cos(math.Abs(a2-a1)/2) // from the point of intersection along the bisector
	mid := (a1 + a2) / 2
	cs, cz := v.Station-side*b*math.Sin(mid), v.Level+side*b*math.Cos(mid)
	return cz - side*math.Sqrt(v.Radius*v.Radius-(s-cs)*(s-cs))
}

// Every point of a curve set out lies on it, and every chord within the tolerance, at many places of each.
func TestSetOut(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		grade := rapid.Float64Range(-0.5, 0.5)
		g1, g2 := grade.Draw(t, "g1"), grade.Draw(t, "g2")
		v := Vertical{Kind: VerticalKind(rapid.IntRange(1, 3).Draw(t, "kind")), Station: 500, Level: 100, Length: rapid.Float64Range(1, 400).Draw(t, "length"),
			LengthOut: rapid.Float64Range(1, 400).Draw(t, "out"), Radius: rapid.Float64Range(10, 300).Draw(t, "radius")}
		before, after := Vertical{Station: 0, Level: 100 - 500*g1}, Vertical{Station: 1000, Level: 100 + 500*g2}
		tolerance := math.Pow(10, rapid.Float64Range(-3, 0).Draw(t, "tolerance"))
		points, doubts := ProfAlign{Verticals: []Vertical{before, v, after}}.SetOut(tolerance)
		if len(doubts) > 0 {
			t.Fatal(doubts)
		}
		for i, p := range points {
			if math.Abs(p.Level-exact(before, v, after, p.Station)) > 1e-7 {
				t.Fatalf("%+v is not on the curve: %g", p, exact(before, v, after, p.Station))
			}
			if i == 0 {
				continue
			}
			q := points[i-1]
			if p.Station < q.Station {
				t.Fatal("stations fall")
			}
			for k := range 8 {
				f := float64(k) / 8
				s := q.Station + f*(p.Station-q.Station)
				if off := math.Abs(q.Level + f*(p.Level-q.Level) - exact(before, v, after, s)); off > tolerance*(1+1e-6)+1e-7 {
					t.Fatalf("chord from %g to %g is %g off at %g, tolerance %g", q.Station, p.Station, off, s, tolerance)
				}
			}
		}
	})
}

// Curves that do not fit are told and not set out.
func TestSetOutDoubts(t *testing.T) {
	v := func(kind VerticalKind, s, z, l float64) Vertical {
		return Vertical{Kind: kind, Station: s, Level: z, Length: l}
	}
	for word, all := range map[string][]Vertical{
		"next point":     {v(PVI, 0, 0, 0), v(ParaCurve, 100, 5, 150), v(PVI, 150, 0, 0)},
		"before the":     {v(PVI, 0, 0, 0), v(ParaCurve, 100, 5, 100), v(ParaCurve, 180, 0, 100), v(PVI, 300, 9, 0)},
		"has no length":  {v(PVI, 0, 0, 0), v(ParaCurve, 100, 5, 0), v(PVI, 150, 0, 0)},
		"neither radius": {v(PVI, 0, 0, 0), v(CircCurve, 100, 5, 0), v(PVI, 150, 0, 0)},
		"no lengths":     {v(PVI, 0, 0, 0), v(UnsymParaCurve, 100, 5, 9), v(PVI, 150, 0, 0)},
		"at an end":      {v(ParaCurve, 0, 0, 10), v(PVI, 100, 5, 0)},
		"out of order":   {v(PVI, 100, 0, 0), v(PVI, 0, 5, 0)},
	} {
		_, doubts := ProfAlign{Verticals: all}.SetOut(0.01)
		if len(doubts) != 1 || !strings.Contains(doubts[0].What, word) {
			t.Errorf("%q: %v", word, doubts)
		}
	}
	if p, doubts := (ProfAlign{Verticals: []Vertical{v(PVI, 0, 0, 0), v(ParaCurve, 1e6, 1e6, 1e6), v(PVI, 2e6, 0, 0)}}).SetOut(1e-9); len(doubts) != 1 || len(p) > 2 {
		t.Errorf("%d points, %v", len(p), doubts)
	}
}

// What is written is read back, curves and all.
func TestWriteAndRead(t *testing.T) {
	want := File{
		Alignments: []Alignment{{Name: `A "<&>`, Start: -12.5, Length: 150, Elements: []Element{
			{Kind: Line, Length: 100, Start: Coord{North: 0, East: 0, Is: true}, End: Coord{North: 100, East: 0, Is: true}},
			{Kind: Curve, Length: 50, Radius: 100, Clockwise: true, Start: Coord{North: 100, East: 0, Is: true}, Center: Coord{North: 100, East: 100, Is: true}, End: Coord{North: 147.9426, East: 12.2417, Is: true}},
			{Kind: Irregular, Length: 5, Start: Coord{North: 1, East: 1, Is: true}, End: Coord{North: 4, East: 5, Is: true}, Points: []Coord{{North: 1, East: 1, Is: true}, {North: 4, East: 5, Is: true}}},
		}, Designs: []ProfAlign{{Name: "P", Verticals: []Vertical{{Station: 0, Level: 1}, {Kind: ParaCurve, Station: 10, Level: 2, Length: 5},
			{Kind: UnsymParaCurve, Station: 20, Level: 1, Length: 3, LengthOut: 4}, {Kind: CircCurve, Station: 30, Level: 2, Length: 3, Radius: 40}, {Station: 50, Level: 0}}}},
			Surfaces: []Surface{{Name: "G", State: "existing", Points: []StationLevel{{Station: 0, Level: 3}, {Station: 50, Level: 4.25}}}}}},
		Networks: []Network{{Name: "N", Type: "water", Structures: []Structure{
			{Name: "a", Center: Coord{North: 1, East: 2, Level: 3, Is: true, HasLevel: true}, Rim: 9, HasRim: true, Sump: 1, HasSump: true, Inverts: []Invert{{5, "p", "out"}}},
			{Name: "b", Center: Coord{North: 1, East: 12, Is: true}, Inverts: []Invert{{4, "p", "in"}}}},
			Pipes: []Pipe{{Name: "p", From: "a", To: "b", Length: 10, Diameter: 0.3, Thickness: 0.008, Material: "PE", Shape: "CircPipe"}}}},
	}
	var b bytes.Buffer
	if err := Write(&b, want, Head{Project: "x"}); err != nil {
		t.Fatal(err)
	}
	got, faults := Read("x", b.Bytes())
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	for _, f := range []*File{&got, &want} { // lines are not compared, diameters are in the file's unit
		for i := range f.Alignments {
			a := &f.Alignments[i]
			a.Line = 0
			for k := range a.Elements {
				a.Elements[k].Line, a.Elements[k].Length = 0, math.Round(a.Elements[k].Length*1e3)/1e3
			}
			for k := range a.Designs {
				a.Designs[k].Line = 0
				for m := range a.Designs[k].Verticals {
					a.Designs[k].Verticals[m].Line = 0
				}
			}
			for k := range a.Surfaces {
				a.Surfaces[k].Line = 0
				for m := range a.Surfaces[k].Points {
					a.Surfaces[k].Points[m].Line = 0
				}
			}
		}
		for i := range f.Networks {
			n := &f.Networks[i]
			n.Line = 0
			for k := range n.Structures {
				n.Structures[k].Line = 0
			}
			for k := range n.Pipes {
				n.Pipes[k].Line = 0
			}
		}
	}
	got.Networks[0].Pipes[0].Diameter /= 1000
	got.Networks[0].Pipes[0].Thickness /= 1000
	if !reflect.DeepEqual(got.Alignments, want.Alignments) {
		t.Errorf("%+v\nwant %+v", got.Alignments, want.Alignments)
	}
	if !reflect.DeepEqual(got.Networks, want.Networks) {
		t.Errorf("%+v\nwant %+v", got.Networks, want.Networks)
	}
}
