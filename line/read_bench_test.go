package line

import (
	"fmt"
	"strings"
	"testing"
	"testing/fstest"
)

// BenchmarkReadLine100km reads a line of 100 km: one run, 5,000 profile points, 200 valves, 6 cases.
func BenchmarkReadLine100km(b *testing.B) {
	var doc, csv strings.Builder
	doc.WriteString("[line]\nname = \"long\"\n[[tank]]\nname = \"A\"\nlevel = \"900 m\"\n[[tank]]\nname = \"B\"\nlevel = \"700 m\"\n")
	doc.WriteString("[[run]]\nname = \"main\"\nfrom = \"A\"\nto = \"B\"\nprofile = \"p.csv\"\nseat_height = \"0.4 m\"\n[[run.section]]\nsize = \"EN 545 K9 DN 600\"\n")
	for i := range 200 {
		fmt.Fprintf(&doc, "[[run.valve]]\nname = \"AV %d\"\nat = \"%d+%03d\"\n", i+1, i/2, 250+i%2*500)
	}
	for i := range 6 {
		fmt.Fprintf(&doc, "[[case]]\nname = \"case %d\"\nkind = \"standing\"\n", i+1)
	}
	csv.WriteString("chainage [m];obvert [m]\n")
	for i := range 5000 {
		fmt.Fprintf(&csv, "%d;%.2f\n", i*20, 600+float64(i%40)/10)
	}
	m := fstest.MapFS{"line.toml": {Data: []byte(doc.String())}, "p.csv": {Data: []byte(csv.String())}}
	if l, faults := Read(m, nil); l == nil || len(l.Runs[0].Points) != 5000 || l.ValveCount() != 200 {
		b.Fatal(faults)
	}
	b.ReportAllocs()
	for b.Loop() {
		Read(m, nil)
	}
}
