package line

import (
	"bytes"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"unicode/utf16"

	"pgregory.net/rapid"

	"obvert/document"
	"obvert/quantity"
)

// fuzzOptions makes options of one byte.
func fuzzOptions(bits byte) ProfileOptions {
	cover := 1.2
	kinds := []LevelKind{LevelObvert, LevelInvert, LevelAxis, LevelGround}
	o := ProfileOptions{Cover: &cover, BoreAt: bore300, Borders: []float64{100, 50, 300}}
	if bits&1 != 0 {
		o.LevelKind = &kinds[bits>>6]
	}
	if bits&2 != 0 {
		o.LevelUnit, o.ChainageUnit = "m", "km"
	}
	if bits&4 != 0 {
		o.AlongPipe = true
	}
	if bits&8 != 0 {
		o.Stakes = quantity.Stakes{Step: 30.48, Rest: 0.3048}
	}
	if bits&16 != 0 {
		o.MaxBackstep = 50
	}
	if bits&32 != 0 {
		o.Columns = map[string]string{"1": "chainage", "2": "level"}
	}
	return o
}

// checkResult holds whatever was read to what every profile must be.
func checkResult(t interface{ Fatalf(string, ...any) }, r ProfileResult, faults document.Faults) {
	if (faults.Err() == nil) != (r.Points != nil) {
		t.Fatalf("points %v with faults %v", len(r.Points), faults)
	}
	if r.Points != nil && len(r.Points) < 2 {
		t.Fatalf("a profile of %d points", len(r.Points))
	}
	for i, p := range r.Points {
		for _, v := range []float64{p.Chainage, p.Obvert, p.Ground, p.Distance} {
			if math.IsNaN(v) || math.IsInf(v, 0) {
				t.Fatalf("point %d: %+v", i, p)
			}
		}
		if i == 0 {
			continue
		}
		if q := r.Points[i-1]; p.Chainage < q.Chainage || p.Distance < q.Distance {
			t.Fatalf("points %d: %+v after %+v", i, p, q)
		}
	}
	for _, f := range faults {
		if f.File == "" || f.What == "" || f.Line < 0 || f.Column < 0 || f.Severity != document.FaultSeverity && f.ID == "" {
			t.Fatalf("a fault that says too little: %+v", f)
		}
	}
	if len(faults) > 400 {
		t.Fatalf("%d faults", len(faults))
	}
	_ = r.Dialect.String()
}

func FuzzReadProfile(f *testing.F) {
	files, err := filepath.Glob("testdata/profiles/*")
	if err != nil || len(files) == 0 {
		f.Fatal(err)
	}
	for _, name := range files {
		data, err := os.ReadFile(name)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(data, byte(0))
	}
	for _, text := range []string{"", "0,1\n10,2\n", "Chainage [m],Level [m]\n0,NaN\n1e308,2\n5\n\"a\nb\",c\n", "km;Sohle [m]\n0,5;1.234,5\n0,6;\"1\"\"2\"\n",
		"Sta.\tGround [ft]\n-0+50\t5\n12+50\t6\n", "a b\n1  2\n3  4\n", "\xff\xfe0", "\xef\xbb\xbf\xff", "sep=|\n", "#\n#,\n%", "Chainage [m],Level [m]\n0,1\n0,2\n0,1\n0,1\n"} {
		for _, bits := range []byte{0, 1, 3, 7, 0x43, 0x87, 0xff} {
			f.Add([]byte(text), bits)
		}
	}
	f.Fuzz(func(t *testing.T, data []byte, bits byte) {
		before := bytes.Clone(data)
		r, faults := ReadProfile("p.csv", data, fuzzOptions(bits))
		checkResult(t, r, faults)
		if !bytes.Equal(data, before) {
			t.Fatal("the caller's bytes were changed")
		}
	})
}

// TestAnyDialect writes random surveys in random dialects: they are read back as they were.
func TestAnyDialect(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(2, 30).Draw(t, "points")
		comma := rapid.Bool().Draw(t, "decimal comma")
		seps := []string{";", "\t", "|"}
		if !comma {
			seps = append(seps, ",")
		}
		sep := rapid.SampledFrom(seps).Draw(t, "separator")
		stakes := rapid.Bool().Draw(t, "stakes")
		turned := rapid.Bool().Draw(t, "turned")
		group := rapid.SampledFrom([]string{"", " ", "'", "\u00a0"}).Draw(t, "thousands")
		end := rapid.SampledFrom([]string{"\n", "\r\n", "\r"}).Draw(t, "line end")
		var s, z []float64
		at := 0
		for range n {
			at += rapid.IntRange(1, 400_000).Draw(t, "step") // mm
			s = append(s, float64(at)/1000)
			z = append(z, float64(rapid.IntRange(0, 500_000).Draw(t, "level"))/1000)
		}
		number := func(v float64) string {
			text := fmt.Sprintf("%.3f", v)
			if i := len(text) - 4; i > 3 {
				text = text[:i-3] + group + text[i-3:]
			}
			if comma {
				text = strings.Replace(text, ".", ",", 1)
			}
			return text
		}
		rows := make([]string, n)
		for i := range rows {
			chainage := number(s[i])
			if stakes {
				mm := int(math.Round(s[i] * 1000))
				chainage = fmt.Sprintf("%d+%03d.%03d", mm/1_000_000, mm/1000%1000, mm%1000)
				if comma {
					chainage = strings.Replace(chainage, ".", ",", 1)
				}
			}
			j := i
			if turned {
				j = n - 1 - i
			}
			rows[j] = chainage + sep + number(z[i])
		}
		text := "Ein Titel" + end + end + "Stationierung [m]" + sep + "Sohle [m]" + end + strings.Join(rows, end) + end + "Summe" + sep + end
		// A file whose every figure could have thousands in place of decimals is rightly refused; say the sign.
		o := ProfileOptions{BoreAt: bore300, Decimal: map[bool]string{true: "comma", false: "point"}[comma]}
		r, faults := ReadProfile("p.csv", inEncoding(t, text), o)
		checkResult(t, r, faults)
		spiked := strings.Contains(faults.Error(), "no pipe could follow")
		if spiked {
			return // a random level may well be a spike
		}
		if len(r.Points) != n || r.Reversed != turned {
			t.Fatalf("%d points of %d, reversed %v\n%s\n%v", len(r.Points), n, r.Reversed, text, faults)
		}
		for i, p := range r.Points {
			if math.Abs(p.Chainage-s[i]) > 1e-9 || math.Abs(p.Obvert-z[i]-0.3) > 1e-9 {
				t.Fatalf("point %d: %+v, want %v %v", i, p, s[i], z[i])
			}
		}
	})
}

// inEncoding writes a text in one of the encodings that people's files have.
func inEncoding(t *rapid.T, text string) []byte {
	switch rapid.SampledFrom([]string{"UTF-8", "BOM", "LE", "BE"}).Draw(t, "encoding") {
	case "BOM":
		return []byte("\ufeff" + text)
	case "LE":
		var out []byte
		for _, u := range utf16.Encode([]rune("\ufeff" + text)) {
			out = append(out, byte(u), byte(u>>8))
		}
		return out
	case "BE":
		var out []byte
		for _, u := range utf16.Encode([]rune("\ufeff" + text)) {
			out = append(out, byte(u>>8), byte(u))
		}
		return out
	}
	return []byte(text)
}
