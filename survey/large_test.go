//go:build unix

package survey

import (
	"bytes"
	"fmt"
	"math"
	"runtime"
	"strings"
	"syscall"
	"testing"
)

// large is a kind of file with many points.
type large struct {
	name  string
	read  Reader
	write func(b *bytes.Buffer, n int)
}

// larges are the kinds of file, as their programs write them.
func larges() []large {
	return []large{
		{"GPX", GPX, func(b *bytes.Buffer, n int) {
			b.WriteString(`<?xml version="1.0"?><gpx version="1.1" creator="t"><trk><trkseg>` + "\n")
			for i := range n {
				fmt.Fprintf(b, "<trkpt lat=\"%.7f\" lon=\"%.7f\"><ele>%.2f</ele><time>2026-01-01T%02d:%02d:%02dZ</time></trkpt>\n", 40+float64(i)*1e-5, 10+float64(i%9)*1e-6, 500+float64(i%100), i/3600%24, i/60%60, i%60)
			}
			b.WriteString("</trkseg></trk></gpx>\n")
		}},
		{"GeoJSON", GeoJSON, func(b *bytes.Buffer, n int) {
			b.WriteString(`{"type":"LineString","coordinates":[` + "\n")
			for i := range n {
				if i > 0 {
					b.WriteString(",\n")
				}
				fmt.Fprintf(b, "[%.7f,%.7f,%.2f]", 10+float64(i%9)*1e-6, 40+float64(i)*1e-5, 500+float64(i%100))
			}
			b.WriteString("]}\n")
		}},
		{"GeoJSON points", GeoJSON, func(b *bytes.Buffer, n int) {
			b.WriteString(`{"type":"FeatureCollection","features":[` + "\n")
			for i := range n {
				if i > 0 {
					b.WriteString(",\n")
				}
				fmt.Fprintf(b, `{"type":"Feature","properties":{"id":%d,"level":%.2f},"geometry":{"type":"Point","coordinates":[%.7f,%.7f]}}`, i, 500+float64(i%100), 10+float64(i%9)*1e-6, 40+float64(i)*1e-5)
			}
			b.WriteString("]}\n")
		}},
		{"LandXML surface", LandXML, func(b *bytes.Buffer, n int) {
			b.WriteString(`<LandXML version="1.2"><Units><Metric linearUnit="meter"/></Units><Alignments><Alignment name="A"><Profile><ProfSurf name="G"><PntList2D>` + "\n")
			for i := range n {
				fmt.Fprintf(b, "%.3f %.3f\n", float64(i), 500+float64(i%100))
			}
			b.WriteString("</PntList2D></ProfSurf></Profile></Alignment></Alignments></LandXML>\n")
		}},
		{"LandXML design", LandXML, func(b *bytes.Buffer, n int) {
			b.WriteString(`<LandXML version="1.2"><Units><Metric linearUnit="meter"/></Units><Alignments><Alignment name="A"><Profile><ProfAlign name="G">` + "\n")
			for i := range n {
				fmt.Fprintf(b, "<PVI>%.3f %.3f</PVI>\n", float64(i), 500+float64(i%100))
			}
			b.WriteString("</ProfAlign></Profile></Alignment></Alignments></LandXML>\n")
		}},
	}
}

// spent is the processor time in s that this process has taken: what else runs on the machine does not count.
func spent(t testing.TB) float64 {
	var u syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
		t.Fatal(err)
	}
	return float64(u.Utime.Sec+u.Stime.Sec) + float64(u.Utime.Usec+u.Stime.Usec)*1e-6
}

// Of each kind of file 200,000 points are read in a fifth of the five seconds that a million may take, half as much again for a machine
// that others use, and in memory that the file's own size bounds.
func TestManyPoints(t *testing.T) {
	const n = 200_000
	for _, c := range larges() {
		var b bytes.Buffer
		c.write(&b, n)
		var before, after runtime.MemStats
		runtime.ReadMemStats(&before)
		begin := spent(t)
		r, faults := c.read("large", b.Bytes(), Options{})
		took := spent(t) - begin
		runtime.ReadMemStats(&after)
		if faults.Err() != nil {
			t.Fatal(faults)
		}
		grown := float64(after.TotalAlloc-before.TotalAlloc) / 1e6
		t.Logf("%s: %.0f MB in %.2f s, %.0f MB allocated", c.name, float64(b.Len())/1e6, took, grown)
		if len(r.Tracks) != 1 || len(r.Tracks[0].Points) != n {
			t.Errorf("%s: %d points", c.name, len(r.Tracks[0].Points))
		}
		if took > 1.5 {
			t.Errorf("%s took %.2f s", c.name, took)
		}
		if grown > 400 {
			t.Errorf("%s took %.0f MB", c.name, grown)
		}
	}
}

func BenchmarkAMillionPoints(b *testing.B) {
	for _, c := range larges() {
		b.Run(c.name, func(b *testing.B) {
			var data bytes.Buffer
			c.write(&data, 1_000_000)
			b.SetBytes(int64(data.Len()))
			begin := spent(b)
			for b.Loop() {
				if _, faults := c.read("large", data.Bytes(), Options{}); faults.Err() != nil {
					b.Fatal(faults)
				}
			}
			b.ReportMetric((spent(b)-begin)/float64(b.N), "cpu-s/op")
		})
	}
}

// TestDXFLarge reads 10⁶ points in 1000 pieces and joins them, in under five seconds of a processor's time.
func TestDXFLarge(t *testing.T) {
	var b strings.Builder
	for i := range 1000 {
		b.WriteString(groupsOf(0, "LWPOLYLINE", 8, "obvert", 90, 1001, 70, 0, 38, 0))
		for k := range 1001 {
			x := float64(i*1000 + k)
			fmt.Fprintf(&b, "10\n%g\n20\n%.3f\n", x, 100+math.Sin(x/5000))
		}
	}
	data := drawnFile(6, b.String())
	began := spent(t)
	r, faults := DXF("l.dxf", data, Options{ScaleAcross: 1, ScaleUp: 1})
	took := spent(t) - began
	t.Logf("%.2f s", took)
	if took > 5 {
		t.Errorf("took %.2f s", took)
	}
	if faults.Err() != nil || len(r.Tracks) != 1 || len(r.Tracks[0].Points) != 1_000_001 {
		t.Fatalf("%v: %d tracks", faults, len(r.Tracks))
	}
}
