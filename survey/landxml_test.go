package survey

import (
	"math"
	"strings"
	"testing"

	"obvert/line"
)

// landFile is a file of LandXML 1.2, written by hand from the schema as remembered.
func landFile(units, inside string) []byte {
	return []byte(`<?xml version="1.0" encoding="UTF-8"?>
<LandXML xmlns="http://www.landxml.org/schema/LandXML-1.2" version="1.2" date="2026-01-01" time="00:00:00">
<Units>` + units + `</Units>
<Application name="by hand"/>
` + inside + `
</LandXML>
`)
}

const metric = `<Metric areaUnit="squareMeter" linearUnit="meter" volumeUnit="cubicMeter" temperatureUnit="celsius" pressureUnit="HPA" diameterUnit="millimeter"/>`

// An alignment of line, curve and line with a design and the ground.
func TestLandXMLAlignment(t *testing.T) {
	// By hand: PVI at 0, 100 and 200 m with levels 10, 14, 12: grades +4 % and −2 %. Parabola of 100 m: it begins at 50 m, level 12, and ends at
	// 150 m, level 13; highest at x = −g₁L/(g₂−g₁) = 0.04·100/0.06 = 66.667 m, station 116.667 m, level 12 + 0.04·66.667/2 = 13.3333 m.
	data := landFile(metric, `<Alignments><Alignment name="Main" length="200" staStart="0">
<CoordGeom><Line length="100"><Start>0 0</Start><End>100 0</End></Line>
<Curve rot="cw" radius="100" length="50"><Start>100 0</Start><Center>100 100</Center><End>147.9426 12.2417</End></Curve>
<Line length="50"><Start>147.9426 12.2417</Start><End>191.8217 36.2130</End></Line></CoordGeom>
<StaEquation staAhead="1000" staBack="150" staInternal="150"/>
<Profile name="P"><ProfAlign name="Pipe invert"><PVI>0 10</PVI><ParaCurve length="100">100 14</ParaCurve><PVI>200 12</PVI></ProfAlign>
<ProfSurf name="Ground"><PntList2D>0 11.5 40 13
100 15.5 200 14</PntList2D></ProfSurf></Profile>
</Alignment></Alignments><Surfaces><Surface name="S"/></Surfaces><Monuments/>`)
	r, faults := LandXML("a.xml", data, Options{})
	if faults.Err() != nil {
		t.Fatal(faults)
	}
	if len(r.Tracks) != 2 {
		t.Fatalf("%+v", r)
	}
	d, ground := r.Tracks[0], r.Tracks[1]
	if d.Name != "Main / Pipe invert" || d.LevelKind == nil || *d.LevelKind != line.LevelInvert || d.Score <= ground.Score {
		t.Errorf("%+v", d)
	}
	exact := func(s float64) float64 {
		switch {
		case s <= 50:
			return 10 + 0.04*s
		case s >= 150:
			return 13 - 0.02*(s-150)
		}
		x := s - 50
		return 12 + 0.04*x - 0.06*x*x/200
	}
	top := false
	for i, p := range d.Points {
		if math.Abs(p.Level-exact(p.Chainage)) > 1e-9 {
			t.Errorf("%g: %g, want %g", p.Chainage, p.Level, exact(p.Chainage))
		}
		top = top || math.Abs(p.Chainage-116.6667) < 1e-3 && math.Abs(p.Level-13.33333) < 1e-4
		if i > 0 { // the chords keep their word
			mid := (p.Chainage + d.Points[i-1].Chainage) / 2
			if off := math.Abs((p.Level+d.Points[i-1].Level)/2 - exact(mid)); off > curveTolerance*(1+1e-9) {
				t.Errorf("chord at %g: %g off", mid, off)
			}
		}
	}
	if !top {
		t.Errorf("no highest point among %+v", d.Points)
	}
	if *ground.LevelKind != line.LevelGround || len(ground.Points) != 4 || ground.Points[2].Where != 12 || ground.Points[2].Level != 15.5 {
		t.Errorf("%+v", ground)
	}
	for _, id := range []string{"landxml.equation"} {
		if !has(faults, id) {
			t.Errorf("nothing said of %s: %v", id, faults)
		}
	}
	if has(faults, "landxml.length") || has(faults, "landxml.beyond") {
		t.Error(faults)
	}
	if left := strings.Join(r.Left, "\n"); !strings.Contains(left, "1 terrain model") || !strings.Contains(left, "Monuments") {
		t.Errorf("%q", left)
	}
}

// Feet of both kinds: 1,000 US survey feet are 304.8006096 m, 1,000 feet 304.8 m.
func TestLandXMLFeet(t *testing.T) {
	for unit, want := range map[string]float64{"foot": 304.8, "USSurveyFoot": 304.80060960} {
		r, faults := LandXML("a.xml", landFile(`<Imperial linearUnit="`+unit+`" areaUnit="squareFoot"/>`,
			`<Alignments><Alignment name="A"><Profile><ProfAlign name=""><PVI>0 100</PVI><PVI>1000 200</PVI></ProfAlign></Profile></Alignment></Alignments>`), Options{})
		if faults.Err() != nil {
			t.Fatal(faults)
		}
		if p := r.Tracks[0].Points[1]; math.Abs(p.Chainage-want) > 1e-7 || math.Abs(p.Level-want/5) > 1e-7 {
			t.Errorf("%s: %+v", unit, p)
		}
		if !has(faults, "landxml.foot") || !strings.Contains(r.Took[0], unit) {
			t.Errorf("%q %v", r.Took, faults)
		}
	}
}

// A network of four pipes: two in a chain, drawn from end to end, and a branch; a drop in level at a structure.
func TestLandXMLNetwork(t *testing.T) {
	data := landFile(metric, `<PipeNetworks name="N"><PipeNetwork name="Sewer" pipeNetType="sanitary">
<Structs>
<Struct name="S1" elevRim="105"><Center>0 0</Center><CircStruct diameter="1000"/><Invert elev="100" flowDir="out" refPipe="P1"/></Struct>
<Struct name="S2" elevRim="104"><Center>0 300</Center><Invert elev="99" flowDir="in" refPipe="P1"/><Invert elev="98.5" flowDir="out" refPipe="P2"/></Struct>
<Struct name="S3"><Center>400 300</Center><Invert elev="97" refPipe="P2"/><Invert elev="97" refPipe="P3"/><Invert elev="97" refPipe="P4"/></Struct>
<Struct name="S4"><Center>400 400</Center><Invert elev="96" refPipe="P3"/></Struct>
<Struct name="S5"><Center>500 300</Center></Struct>
</Structs>
<Pipes>
<Pipe name="P1" refStart="S1" refEnd="S2" length="300"><CircPipe diameter="300" thickness="8" material="PE"/></Pipe>
<Pipe name="P2" refStart="S2" refEnd="S3" length="390"><CircPipe diameter="300" thickness="8" material="PE"/></Pipe>
<Pipe name="P3" refStart="S3" refEnd="S4"><CircPipe diameter="0.4"/></Pipe>
<Pipe name="P4" refStart="S5" refEnd="S3" length="100"><EggPipe height="500" span="400"/></Pipe>
<Pipe name="P5" refStart="S5" refEnd="S9"/>
</Pipes></PipeNetwork></PipeNetworks>`)
	r, faults := LandXML("n.xml", data, Options{})
	if faults.Err() != nil {
		t.Fatal(faults)
	}
	if len(r.Tracks) != 2 {
		t.Fatalf("%d tracks: %+v", len(r.Tracks), r)
	}
	a := r.Tracks[0]
	var got [][2]float64
	for _, p := range a.Points {
		got = append(got, [2]float64{p.Chainage, p.Level})
	}
	want := [][2]float64{{0, 100}, {300, 99}, {300, 98.5}, {700, 97}}
	if len(got) != len(want) {
		t.Fatalf("%v", got)
	}
	for i := range want {
		if math.Abs(got[i][0]-want[i][0])+math.Abs(got[i][1]-want[i][1]) > 1e-9 {
			t.Errorf("point %d: %v, want %v", i, got[i], want[i])
		}
	}
	if a.Name != "Sewer / S1 to S3" || *a.LevelKind != line.LevelInvert || !a.Points[0].HasGround || a.Points[0].Ground != 105 {
		t.Errorf("%+v", a)
	}
	if len(a.Pipes) != 1 || a.Pipes[0].From != 0 || a.Pipes[0].To != 700 || math.Abs(a.Pipes[0].Bore-0.3) > 1e-12 || math.Abs(a.Pipes[0].Wall-0.008) > 1e-12 || a.Pipes[0].Material != "PE" {
		t.Errorf("%+v", a.Pipes)
	}
	for _, id := range []string{"landxml.pipe-length", "landxml.diameter", "landxml.loose", "survey.missing-height"} {
		if !has(faults, id) {
			t.Errorf("nothing said of %s: %v", id, faults)
		}
	}
	if b := r.Tracks[1]; b.Name != "Sewer / S3 to S4" || len(b.Pipes) != 0 {
		t.Errorf("%+v", b)
	}
}

// An alignment whose points have levels, by reference and by a list.
func TestLandXMLPlan(t *testing.T) {
	data := landFile(metric, `<Alignments><Alignment name="A" staStart="100"><CoordGeom>
<Line><Start pntRef="1"/><End>40 30 6</End></Line>
<IrregularLine><Start>40 30</Start><End>40 60</End><PntList3D>40 30 6 40 50 7 40 60 8</PntList3D></IrregularLine>
</CoordGeom></Alignment></Alignments><CgPoints><CgPoint name="1">0 0 5</CgPoint></CgPoints>`)
	r, faults := LandXML("p.xml", data, Options{})
	if faults.Err() != nil {
		t.Fatal(faults)
	}
	p := r.Tracks[0].Points
	if len(p) != 4 || p[0].Chainage != 100 || p[1].Chainage != 150 || p[2].Chainage != 170 || p[3].Chainage != 180 || p[3].Level != 8 || p[0].Level != 5 {
		t.Errorf("%+v", p)
	}
}

func TestLandXMLFaults(t *testing.T) {
	profile := func(inside string) string {
		return `<Alignments><Alignment name="A"><Profile><ProfAlign name="P">` + inside + `</ProfAlign></Profile></Alignment></Alignments>`
	}
	for _, c := range []struct{ data, word string }{
		{"", "has no element"},
		{"<gpx/>", "not a LandXML file"},
		{string(landFile("", profile("<PVI>0 1</PVI><PVI>9 1</PVI>"))), "does not say its unit of length"},
		{string(landFile(`<Metric linearUnit="furlong"/>`, "")), "furlong"},
		{string(landFile(metric, "")), "no profile and no pipe network"},
		{string(landFile(metric, profile("<PVI>0 1</PVI><PVI>nine 1</PVI>"))), "nine"},
		{string(landFile(metric, profile("<PVI>0 1</PVI><ParaCurve length=\"300\">100 9</ParaCurve><PVI>200 1</PVI>"))), "does not fit"},
		{string(landFile(metric, profile("<PVI>0 1</PVI><PVI>1e9 1</PVI>"))), "longer than any pipeline"},
		{string(landFile(metric, profile("<PVI>0 1</PVI><ParaCurve>100 9</ParaCurve><PVI>200 1</PVI>"))), "no length"},
		{string(landFile(metric, `<Alignments><Alignment name="A"><CoordGeom><Line><Start pntRef="x"/><End>1 1 1</End></Line></CoordGeom></Alignment></Alignments>`)), "not in the file"},
		{string(landFile(metric, `<Alignments><Alignment name="A"><Profile><ProfSurf><PntList2D>0 1 2</PntList2D></ProfSurf></Profile></Alignment></Alignments>`)), "in the middle of one"},
		{strings.Replace(string(landFile(metric, "")), "</LandXML>", "", 1), "cut short"},
		{"<!DOCTYPE x [<!ENTITY a \"aaaa\">]><LandXML>&a;</LandXML>", "document type"},
	} {
		r, faults := LandXML("a.xml", []byte(c.data), Options{})
		if faults.Err() == nil || !has(faults, c.word) || len(r.Tracks) > 0 {
			t.Errorf("%.200s: %v says nothing of %q", c.data, faults, c.word)
		}
	}
}
