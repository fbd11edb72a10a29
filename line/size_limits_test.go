package line

import (
	"fmt"
	"strings"
	"testing"
	"testing/fstest"
	"time"
)

// TestHugeDocuments holds that documents near the largest that is read neither hang nor fill the memory, whatever they
// repeat.
func TestHugeDocuments(t *testing.T) {
	if testing.Short() {
		t.Skip("takes seconds")
	}
	const head = "[line]\nname = \"x\"\n"
	repeat := func(format string) string {
		var b strings.Builder
		b.WriteString(head)
		for i := 0; b.Len() < 250_000; i++ {
			fmt.Fprintf(&b, format, i)
		}
		return b.String()
	}
	for name, text := range map[string]string{
		"unknown nodes": repeat("[[junction]]\nname = \"J%[1]d\"\n[[run]]\nname = \"R%[1]d\"\nfrom = \"K%[1]d\"\nto = \"L%[1]d\"\nprofile = \"a.csv\"\nsection = [{ bore = \"100 mm\" }]\n"),
		"unknown sizes": repeat("[[run]]\nname = \"R%[1]d\"\nsection = [{ size = \"S%[1]d\" }]\n"),
		"single runs":   repeat("[[outfall]]\nname = \"O%[1]d\"\n[[tank]]\nname = \"T%[1]d\"\nlevel = \"200 m\"\n[[run]]\nname = \"R%[1]d\"\nfrom = \"T%[1]d\"\nto = \"O%[1]d\"\nprofile = \"a.csv\"\nsection = [{ bore = \"100 mm\" }]\n"),
		"pumps":         repeat("[[station]]\nname = \"S%[1]d\"\npump = [{ alike = 100, curve = [[\"0 L/s\", \"9 m\"], [\"9 L/s\", \"3 m\"]] }]\n"),
		"cases":         repeat("[[tank]]\nname = \"T%[1]d\"\nlevel = \"2 m\"\n[[case]]\nname = \"C%[1]d\"\nkind = \"standing\"\ntanks = \"lowest\"\n"),
		"routes":        repeat("[[route]]\nname = \"R%[1]d\"\nruns = [\"a%[1]d\"]\n"),
	} {
		began := time.Now()
		_, faults := Read(fstest.MapFS{"line.toml": {Data: []byte(text)}, "a.csv": {Data: []byte("chainage [m];obvert [m]\n0;101\n500;117\n")}}, nil)
		took := time.Since(began)
		t.Logf("%s: %d bytes, %d faults, %v", name, len(text), len(faults), took)
		if took > 10*time.Second {
			t.Errorf("%s: %v", name, took)
		}
	}
}

// TestProfilesTogether holds that a large profile named again and again is not read for ever.
func TestProfilesTogether(t *testing.T) {
	text := "[line]\nname = \"x\"\n"
	for i := range 9 {
		text += fmt.Sprintf("[[run]]\nname = \"R%d\"\nprofile = \"large.csv\"\nsection = [{ bore = \"100 mm\" }]\n", i)
	}
	large := make([]byte, 20_000_000) // of zero bytes: no profile, found out at once
	_, faults := Read(fstest.MapFS{"line.toml": {Data: []byte(text)}, "large.csv": {Data: large}}, nil)
	n := 0
	for _, f := range faults {
		if strings.Contains(f.What, "too large together") {
			n++
		}
	}
	if n != 2 {
		t.Errorf("%d of 9 uses of 20 MB refused, want 2", n)
	}
}
