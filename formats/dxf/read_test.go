package dxf

import (
	"bytes"
	"fmt"
	"math"
	"strings"
	"testing"
)

// groups writes pairs of code and value.
func groups(pairs ...string) string {
	var b strings.Builder
	for i := 0; i < len(pairs); i += 2 {
		b.WriteString(pairs[i] + "\r\n" + pairs[i+1] + "\r\n")
	}
	return b.String()
}

// drawing wraps entities.
func drawing(version, units string, entities ...string) []byte {
	return []byte(groups("0", "SECTION", "2", "HEADER", "9", "$ACADVER", "1", version, "9", "$INSUNITS", "70", units, "0", "ENDSEC",
		"0", "SECTION", "2", "ENTITIES") + strings.Join(entities, "") + groups("0", "ENDSEC", "0", "EOF"))
}

func readOne(t *testing.T, version string, entities ...string) *File {
	t.Helper()
	f, faults := Read("x.dxf", drawing(version, "6", entities...))
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	return f
}

func TestReadKinds(t *testing.T) {
	f := readOne(t, "AC1027",
		groups("0", "LWPOLYLINE", "5", "2F", "100", "AcDbEntity", "8", "main", "100", "AcDbPolyline", "90", "3", "70", "0", "38", "12.5",
			"10", "0", "20", "1", "10", "10", "20", "2", "10", "20", "20", "3"),
		groups("0", "POLYLINE", "8", "3D", "66", "1", "70", "8", "0", "VERTEX", "8", "3D", "10", "1", "20", "2", "30", "3", "70", "32",
			"0", "VERTEX", "8", "3D", "10", "4", "20", "5", "30", "6", "0", "SEQEND", "8", "3D"),
		groups("0", "LINE", "8", "l", "10", "0", "20", "0", "30", "7", "11", "5", "21", "5", "31", "8"),
		groups("0", "MTEXT", "8", "t", "10", "1", "20", "2", "40", "2.5", "1", `{\fArial|b0;\H2.5x;Level 12.50\Pm}`),
		groups("0", "INSERT", "8", "b", "2", "X", "10", "0", "20", "0"),
		groups("0", "LINE", "67", "1", "8", "l", "10", "0", "20", "0", "11", "5", "21", "5"),
		groups("0", "POLYLINE", "8", "mesh", "66", "1", "70", "16", "0", "VERTEX", "10", "1", "20", "2", "0", "SEQEND"),
	)
	if len(f.Chains) != 3 {
		t.Fatalf("%d chains: %+v", len(f.Chains), f.Chains)
	}
	if c := f.Chains[0]; c.Layer != "main" || c.Points[2].Z != 12.5 || c.Points[2].Y != 3 || c.Space {
		t.Errorf("%+v", c)
	}
	if c := f.Chains[1]; !c.Space || c.Points[1].Z != 6 || len(c.Points) != 2 {
		t.Errorf("%+v", c)
	}
	if c := f.Chains[2]; c.Points[1].Z != 8 || c.Points[0].Z != 7 || c.Points[0].Line == 0 {
		t.Errorf("%+v", c)
	}
	if f.Labels[0].Text != "Level 12.50 m" {
		t.Errorf("label %q", f.Labels[0].Text)
	}
	want := []Count{{"INSERT", "b", 1, ""}, {"LINE", "l", 1, "in paper space"}, {"POLYLINE", "mesh", 1, "a mesh"}}
	if fmt.Sprint(f.Left) != fmt.Sprint(want) {
		t.Errorf("left %v, want %v", f.Left, want)
	}
}

// TestArcs: a bulge of 1 is a half circle, counter-clockwise. From (0,0) to (2,0) it goes through (1,−1); its chords are
// shorter than π by less than 0.1 %.
func TestArcs(t *testing.T) {
	f := readOne(t, "AC1015", groups("0", "LWPOLYLINE", "8", "a", "90", "3", "70", "0", "10", "0", "20", "0", "42", "1", "10", "2", "20", "0", "10", "3", "20", "0"))
	c := f.Chains[0]
	if c.Arcs != 1 {
		t.Errorf("%d arcs", c.Arcs)
	}
	length, low := 0.0, 0.0
	for i := 1; i < len(c.Points); i++ {
		length += math.Hypot(c.Points[i].X-c.Points[i-1].X, c.Points[i].Y-c.Points[i-1].Y)
		low = min(low, c.Points[i].Y)
	}
	if math.Abs(length-math.Pi-1) > 0.003 || math.Abs(low+1) > 1e-9 {
		t.Errorf("length %g, lowest %g", length, low)
	}
}

func TestTextOfAnyRelease(t *testing.T) {
	for _, c := range []struct{ version, page, raw, want string }{
		{"AC1009", "ansi_1252", "H\xf6he %%p0.1", "Höhe ±0.1"},
		{"AC1015", "ANSI_1251", "\xf3\xf0\xee\xe2\xe5\xed\xfc", "уровень"},
		{"AC1024", "ANSI_1252", "Höhe", "Höhe"},
		{"AC1015", "ANSI_1252", `\U+6C34\U+4F4D`, "水位"},
	} {
		data := groups("0", "SECTION", "2", "HEADER", "9", "$ACADVER", "1", c.version, "9", "$DWGCODEPAGE", "3", c.page, "0", "ENDSEC",
			"0", "SECTION", "2", "ENTITIES", "0", "TEXT", "8", "0", "10", "0", "20", "0", "40", "1", "1", c.raw, "0", "ENDSEC", "0", "EOF")
		f, faults := Read("x.dxf", []byte(data))
		if len(faults) > 0 || f.Labels[0].Text != c.want {
			t.Errorf("%s %s: %v %v, want %q", c.version, c.page, faults, f, c.want)
		}
	}
}

func TestRefused(t *testing.T) {
	for name, c := range map[string]struct {
		data string
		line int
		want string
	}{
		"binary":      {"AutoXXX Binary DXF\r\n\x1a\x00", 0, "binary DXF"},
		"dwg":         {"AC1015\x00\x00\x00\x00\x00\x06\x01", 0, "DWG"},
		"empty":       {" \n", 0, "empty"},
		"utf-16":      {"\xff\xfe0\x00\n\x00", 0, "UTF-16"},
		"text":        {"chainage,level\n0,12.5\n", 1, "is not a group code"},
		"nothing":     {"0\nEOF\n", 0, "no DXF drawing"},
		"cut off":     {groups("0", "SECTION", "2", "ENTITIES", "0", "LINE", "8", "x", "10", "1"), 10, "cut off"},
		"no value":    {"0\nSECTION\n2\nENTITIES\n0\nLINE\n8", 7, "has no value"},
		"bad number":  {string(drawing("AC1009", "6", groups("0", "LINE", "8", "x", "10", "12,5", "20", "nan"))), 24, `"12,5" is not a number`},
		"out of step": {string(drawing("AC1009", "6", groups("0", "LINE", "8", "x"), "10\n")), 25, "is not a group code"},
		"no SEQEND":   {string(drawing("AC1009", "6", groups("0", "POLYLINE", "8", "x", "66", "1", "0", "VERTEX", "8", "x", "10", "1", "20", "2", "0", "LINE", "8", "x"))), 34, "does not end"},
		"far away":    {string(drawing("AC1009", "6", groups("0", "LINE", "8", "x", "10", "1e300"))), 24, "is not a number of a drawing"},
	} {
		f, faults := Read("x.dxf", []byte(c.data))
		if f != nil || len(faults) == 0 {
			t.Errorf("%s: taken", name)
			continue
		}
		if g := faults[0]; g.Line != c.line || !strings.Contains(g.String(), c.want) || g.Hint == "" {
			t.Errorf("%s: line %d: %s, want line %d with %q", name, g.Line, g, c.line, c.want)
		}
	}
	// All faults in one pass: both bad numbers are told.
	_, faults := Read("x.dxf", drawing("AC1009", "6", groups("0", "LINE", "8", "x", "10", "12,5", "20", "nan")))
	if len(faults) != 2 || faults[1].Line != 26 {
		t.Errorf("%v", faults)
	}
}

// big is a drawing of one polyline with n vertices.
func big(n int) []byte {
	var b bytes.Buffer
	b.WriteString(groups("0", "SECTION", "2", "ENTITIES", "0", "POLYLINE", "8", "main", "66", "1", "70", "8"))
	for i := range n {
		fmt.Fprintf(&b, "  0\nVERTEX\n  8\nmain\n 10\n%.3f\n 20\n%.3f\n 30\n%.3f\n 70\n    32\n", float64(i), 2*float64(i), 100+math.Sin(float64(i)))
	}
	b.WriteString(groups("0", "SEQEND", "0", "ENDSEC", "0", "EOF"))
	return b.Bytes()
}

// TestAMillionVertices reads a polyline as long as a survey gets; how long it takes is the benchmark's question.
func TestAMillionVertices(t *testing.T) {
	f, faults := Read("big.dxf", big(1_000_000))
	if len(faults) > 0 || len(f.Chains[0].Points) != 1_000_000 || f.Chains[0].Points[999_999].X != 999_999 {
		t.Fatal(faults)
	}
}

// BenchmarkAMillionVertices should take less than five seconds.
func BenchmarkAMillionVertices(b *testing.B) {
	data := big(1_000_000)
	for b.Loop() {
		if _, faults := Read("big.dxf", data); len(faults) > 0 {
			b.Fatal(faults)
		}
	}
}

func FuzzRead(f *testing.F) {
	var b bytes.Buffer
	if err := sample().Write(&b); err != nil {
		f.Fatal(err)
	}
	f.Add(b.Bytes())
	f.Add(drawing("AC1015", "6", groups("0", "LWPOLYLINE", "8", "a", "90", "3", "70", "1", "10", "0", "20", "0", "42", "1", "10", "2", "20", "0", "210", "0", "220", "0", "230", "-1")))
	f.Add(drawing("AC1021", "4", groups("0", "MTEXT", "8", "t", "10", "1", "20", "2", "1", `{\fA;\H2x;12\P}`)))
	f.Fuzz(func(t *testing.T, data []byte) {
		d, faults := Read("x.dxf", data)
		if (d == nil) != (len(faults) > 0) {
			t.Fatalf("file %v, faults %v", d, faults)
		}
		if d == nil {
			return
		}
		for _, c := range d.Chains {
			if len(c.Points) < 2 {
				t.Fatalf("chain of %d points", len(c.Points))
			}
			for _, p := range c.Points {
				if math.IsNaN(p.X+p.Y+p.Z) || math.IsInf(p.X+p.Y+p.Z, 0) {
					t.Fatalf("vertex %v", p)
				}
			}
		}
		for _, l := range d.Labels {
			if n := len([]rune(decode(Encode(l.Text)))); n == 0 && l.Text != "" {
				t.Fatalf("%q is lost in writing", l.Text)
			}
		}
	})
}
