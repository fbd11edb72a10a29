package survey

import (
	"context"
	"strings"
	"testing"
	"testing/fstest"

	"obvert/line"
	"obvert/physics/valve"
	"obvert/study"
)

// begin makes a folder that must be in order.
func begin(t *testing.T, b Beginning) Folder {
	t.Helper()
	f, faults := Begin(context.Background(), b)
	if err := faults.Err(); err != nil {
		t.Fatal(err)
	}
	return f
}

// onDisk is a folder with folders in it, as one on a disk.
func onDisk(files []File) fstest.MapFS {
	m := fstest.MapFS{}
	for _, f := range files {
		m[f.Name] = &fstest.MapFile{Data: f.Data, Mode: 0o644}
	}
	return m
}

// TestBeginStudies makes a folder of nothing but an invented profile and the generic classes: it reads without a fault, has a
// valve at the pump and at each of its two high points, says what is invented, and studies.
func TestBeginStudies(t *testing.T) {
	rack := valve.Typical()
	f := begin(t, Beginning{Choices: Choices{Name: "North", Rack: rack}, Type: rack[4].Name})
	src, faults := study.Load(onDisk(f.Files), nil)
	if err := faults.Err(); err != nil {
		t.Fatal(err)
	}
	if n := len(src.Line.Rack); n != len(rack) {
		t.Errorf("%d records on the rack, want %d", n, len(rack))
	}
	for _, r := range src.Line.Rack {
		if !r.Typical {
			t.Errorf("%s is not marked typical", r.Name)
		}
	}
	var at []float64
	for _, v := range src.Line.Runs[0].Placed {
		at = append(at, v.Chainage)
	}
	if len(at) != 3 || at[0] != 0 || at[1] != 300 || at[2] != 1200 {
		t.Errorf("valves at %v, want 0, 300 and 1200 m", at)
	}
	said := false
	for _, a := range src.Line.Assumed {
		said = said || a.Text == inventedText
	}
	if !said {
		t.Error("nothing says that the profile is invented")
	}
	r, err := study.Solve(context.Background(), src, study.Options{})
	if err != nil || len(r.Answer) == 0 {
		t.Errorf("no answer: %v", err)
	}
}

// TestBeginExplains holds the comments: one above each kind of table there is, and the sections at the end good as they stand.
func TestBeginExplains(t *testing.T) {
	rack := valve.Typical()
	f := begin(t, Beginning{Choices: Choices{Rack: rack}, Type: rack[0].Name})
	doc := string(f.Files[0].Data)
	for _, s := range sections {
		head := "\n" + s.head + "\n"
		if strings.Contains(doc, head) != strings.Contains(doc, strings.Join(strings.Fields(s.text)[:6], " ")) {
			t.Errorf("%s and its comment do not go together", s.head)
		}
	}
	open := doc
	for row := range strings.Lines(further) {
		if text, ok := strings.CutPrefix(row, "#:"); ok {
			open = strings.Replace(open, "# "+text, text, 1)
		}
	}
	if open == doc || !strings.Contains(open, "\n[prices]\n") {
		t.Fatal("no section was opened")
	}
	f.Files[0].Data = []byte(open)
	l, faults := line.Read(onDisk(f.Files), nil)
	if err := faults.Err(); err != nil {
		t.Fatalf("%v\n%s", err, open)
	}
	if l.Site.Altitude != 240 || l.Prices.Years != 25 || l.Practice.Spacing.Value != 500 || l.Survey.Datum != 0.04 {
		t.Errorf("%+v", l.Site)
	}
}

// TestBeginTakes makes a folder of what was said: a bore in place of a size, a tank that feeds it, no valves.
func TestBeginTakes(t *testing.T) {
	r, faults := Text("s.csv", []byte("Chainage [m],Invert level [m]\n0,200\n400,190\n800,195\n1200,160\n"), Options{})
	if err := faults.Err(); err != nil {
		t.Fatal(err)
	}
	f := begin(t, Beginning{Choices: Choices{From: "tank", FromLevel: 210, HasFromLevel: true, To: "outfall"}, Reading: r, Bore: 0.25})
	if s := f.Line.Runs[0].Sections[0]; s.Bore != 0.25 || f.Line.Nodes[0].Kind != line.Tank || f.Line.Nodes[0].Tank.Level != 210 || len(f.Line.Runs[0].Placed) != 0 {
		t.Errorf("%+v %+v", s, f.Line.Nodes)
	}
	for _, file := range f.Files {
		if strings.Contains(string(file.Data), "invented") {
			t.Errorf("%s says invented", file.Name)
		}
	}
	if _, faults := Begin(context.Background(), Beginning{Choices: Choices{Pipe: "DN nothing"}}); faults.Err() == nil {
		t.Error("a size that is not there was taken")
	}
}
