package survey

import (
	"bytes"
	"math"
	"testing"

	"github.com/xuri/excelize/v2"
)

// FuzzEquipment reads any text as a table: no panic, no figure that is none, records or faults and never both.
func FuzzEquipment(f *testing.F) {
	for _, s := range []string{"Pump;Qty;Curve;0 L/s;40 L/s\nP1;1;Head;42 m;38.5 m\nP1;1;Efficiency;10 %;71 %\n", "From;To;Size;PN\n0+000;0+620;EN 545 C40 DN 200;16\n",
		"Nr;Station [km];Typ;Sitzhöhe [cm];Bemerkung\nBE1;0,25;Alder 80;45;am Weg\nSumme;;;;\n", "Kind,Chainage [m],Bore,Closed\nscour,12,80 mm,\ngate valve,13,,yes\n",
		"Pump,Q1 [L/s],H1 [m],Q2 [L/s],H2 [m]\nP1,0,42,40,38.5\n"} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		r, faults := Equipment("f.csv", data, Options{})
		n := len(r.Pumps) + len(r.Pipes) + len(r.Valves) + len(r.Fittings)
		if (faults.Err() != nil) == (n > 0) {
			t.Fatalf("%d records, faults %v", n, faults)
		}
		for _, p := range r.Pumps {
			for _, c := range [][][2]float64{p.Curve, p.Efficiency, p.NPSH} {
				for k, x := range c {
					if math.IsNaN(x[0]+x[1]) || math.IsInf(x[0]+x[1], 0) || k > 0 && !(x[0] > c[k-1][0]) {
						t.Fatalf("%+v", p)
					}
				}
			}
		}
		for _, p := range r.Pipes {
			if !(p.To > p.From) || p.Bore < 0 || p.Size == "" && p.Bore == 0 {
				t.Fatalf("%+v", p)
			}
		}
	})
}

// FuzzWorkbook reads a workbook of any cells.
func FuzzWorkbook(f *testing.F) {
	f.Add("Chainage [m]", "Invert level [m]", "0", "10.5", "A1:B1", `0.00" m"`)
	f.Add("Nr", "Air valve chainage", "AV1", "1+250", "A1:A2", `0+000`)
	f.Fuzz(func(t *testing.T, a, b, c, d, merge, format string) {
		x := excelize.NewFile()
		defer x.Close()
		for ref, v := range map[string]string{"A1": a, "B1": b, "A2": c, "B2": d, "A3": d, "B3": c} {
			if x.SetCellStr("Sheet1", ref, v) != nil {
				return
			}
		}
		_ = x.SetCellValue("Sheet1", "A4", 100.5)
		_ = x.SetCellValue("Sheet1", "B4", 12.25)
		if style, err := x.NewStyle(&excelize.Style{CustomNumFmt: &format}); err == nil {
			_ = x.SetCellStyle("Sheet1", "A4", "B4", style)
		}
		if from, to, ok := bytes.Cut([]byte(merge), []byte(":")); ok {
			_ = x.MergeCell("Sheet1", string(from), string(to))
		}
		var out bytes.Buffer
		if x.Write(&out) != nil {
			return
		}
		r, faults := Workbook("f.xlsx", out.Bytes(), Options{})
		if faults.Err() != nil && len(r.Tracks)+len(r.Tables) > 0 {
			t.Fatal("both a reading and a fault")
		}
		for _, k := range r.Tracks {
			for _, p := range k.Points {
				if math.IsNaN(p.Level+p.Chainage) || math.IsInf(p.Level+p.Chainage, 0) {
					t.Fatalf("%+v", p)
				}
			}
		}
	})
}

// longSection writes a workbook of a chainage, a level, a ground and a number, rows long.
func longSection(t testing.TB, rows int) []byte {
	t.Helper()
	x := excelize.NewFile()
	defer x.Close()
	w, err := x.NewStreamWriter("Sheet1")
	if err != nil {
		t.Fatal(err)
	}
	_ = w.SetRow("A1", []any{"Chainage [m]", "Invert level [m]", "Ground level [m]", "No"})
	for i := range rows {
		z := math.Round(1000*(120+40*math.Sin(float64(i)/997))) / 1000
		_ = w.SetRow("A"+itoa(i+2), []any{0.5 * float64(i), z, z + 1.5, i})
	}
	if err := w.Flush(); err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	if err := x.Write(&b); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func benchmarkWorkbook(b *testing.B, n int) {
	data := longSection(b, n)
	b.ReportAllocs()
	for b.Loop() {
		if r, faults := Workbook("f.xlsx", data, Options{}); faults.Err() != nil || len(r.Tracks) != 1 || len(r.Tracks[0].Points) != n {
			b.Fatal(faults)
		}
	}
	b.ReportMetric(float64(n)*float64(b.N)/b.Elapsed().Seconds(), "rows/s")
}

func BenchmarkWorkbook100k(b *testing.B) { benchmarkWorkbook(b, 100_000) }

func BenchmarkWorkbookMillion(b *testing.B) { benchmarkWorkbook(b, 1_000_000) }
