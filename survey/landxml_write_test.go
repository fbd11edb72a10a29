package survey

import (
	"bytes"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"obvert/line"
)

// demos are the lines that come with the program.
func demos(t *testing.T) map[string]*line.Line {
	t.Helper()
	all := map[string]*line.Line{}
	for _, name := range []string{"ridge", "town", "twin", "gravity", "flat-irrigation"} {
		l, faults := line.Read(os.DirFS(filepath.Join("..", "demo", name)), nil)
		if l == nil {
			t.Fatal(faults)
		}
		all[name] = l
	}
	return all
}

// A line written as LandXML and read again has the same points, and pipes of the same bore, wall and material.
func TestLandXMLRoundTrip(t *testing.T) {
	for name, l := range demos(t) {
		var b bytes.Buffer
		if err := WriteLandXML(&b, l, "test", ""); err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		r, faults := LandXML(name+".xml", b.Bytes(), Options{})
		if faults.Err() != nil {
			t.Fatalf("%s: %v", name, faults)
		}
		byName := map[string]*Track{}
		for i := range r.Tracks {
			byName[r.Tracks[i].Name] = &r.Tracks[i]
		}
		for i := range l.Runs {
			run := &l.Runs[i]
			d := byName[run.Name+" / obvert"]
			if d == nil || *d.LevelKind != line.LevelObvert || len(d.Points) != len(run.Points) {
				t.Fatalf("%s: run %s is not among %d tracks, or not whole", name, run.Name, len(r.Tracks))
			}
			for k, p := range run.Points {
				if q := d.Points[k]; math.Abs(q.Chainage-p.Chainage) > 5.1e-5 || math.Abs(q.Level-p.Obvert) > 5.1e-5 {
					t.Fatalf("%s, %s, point %d: %v, want %v", name, run.Name, k, q, p)
				}
			}
			n := byName[run.Name]
			if n == nil || *n.LevelKind != line.LevelInvert {
				t.Fatalf("%s: no pipes of run %s", name, run.Name)
			}
			for _, p := range n.Pipes {
				s := l.SectionAt(i, (p.From+p.To)/2+run.First())
				if math.Abs(p.Bore-s.Bore) > 5.1e-6 || math.Abs(p.Wall-s.Wall) > 5.1e-6 || p.Material != s.Material {
					t.Errorf("%s, %s: %+v, want %+v", name, run.Name, p, *s)
				}
			}
			for _, q := range n.Points {
				at := q.Chainage + run.First()
				section := l.SectionAt(i, at)
				z, ok := l.ObvertAt(i, min(max(at, run.First()), run.Last()))
				if step := obvertBeside(l, i, at, false) != obvertBeside(l, i, at, true); !step && (!ok || math.Abs(q.Level+section.Bore-z) > 0.02+1e-3*section.Bore) && !border(run, at) {
					t.Errorf("%s, %s at %.3f: invert %.4f and bore %.4f, obvert %.4f", name, run.Name, at, q.Level, section.Bore, z)
				}
			}
		}
	}
}

// border tells whether two sections meet at a chainage.
func border(r *line.Run, s float64) bool {
	for _, x := range r.Sections {
		if math.Abs(x.From-s) < 1e-3 {
			return true
		}
	}
	return false
}

// What is written is the same at every writing, and valid by the schema's parts as remembered.
func TestLandXMLValid(t *testing.T) {
	tool, err := exec.LookPath("xmllint")
	if err != nil {
		const word = "no xmllint is installed: what is written was not held to the schema"
		if os.Getenv("CI") == "true" {
			t.Fatal(word)
		}
		t.Skip(word)
	}
	check := func(data []byte) error {
		path := filepath.Join(t.TempDir(), "line.xml")
		if err := os.WriteFile(path, data, 0o600); err != nil {
			t.Fatal(err)
		}
		out, err := exec.Command(tool, "--noout", "--nonet", "--schema", "../formats/landxml/testdata/landxml-1.2-parts.xsd", path).CombinedOutput()
		if err != nil {
			t.Logf("%.600s", out)
		}
		return err
	}
	for name, l := range demos(t) {
		var a, b bytes.Buffer
		if err := WriteLandXML(&a, l, "test", "2026-11-29"); err != nil {
			t.Fatal(err)
		}
		if err := WriteLandXML(&b, l, "test", "2026-11-29"); err != nil || !bytes.Equal(a.Bytes(), b.Bytes()) {
			t.Errorf("%s: two writings differ", name)
		}
		if err := check(a.Bytes()); err != nil {
			t.Errorf("%s: %v", name, err)
		}
		for _, change := range [][2]string{{` staStart=`, ` start=`}, {`date="2026-11-29"`, `date="today"`}, {`<PVI>`, `<PVI>1 `}, {`pipeNetType="water"`, `pipeNetType="air"`}, {` refStart=`, ` from=`}} {
			if broken := bytes.Replace(a.Bytes(), []byte(change[0]), []byte(change[1]), 1); bytes.Equal(broken, a.Bytes()) || check(broken) == nil {
				t.Errorf("%s: %s for %s passes the schema", name, change[1], change[0])
			}
		}
	}
}

func TestWriteLandXMLRefuses(t *testing.T) {
	l := demos(t)["ridge"]
	if err := WriteLandXML(&bytes.Buffer{}, l, "test", "", 7); err == nil {
		t.Error("a run that is not there was written")
	}
	l.Runs[0].Points[3].Obvert = math.NaN()
	if err := WriteLandXML(&bytes.Buffer{}, l, "test", ""); err == nil {
		t.Error("a level that is no number was written")
	}
}
