package line

import (
	"math"
	"reflect"
	"testing"
	"testing/fstest"

	"obvert/document"
)

// FuzzReadLine feeds the reader with documents and profiles: it must not panic, it gives a line or a fault, and every figure
// of a line is finite.
func FuzzReadLine(f *testing.F) {
	f.Add([]byte(whole), []byte(profiles["hill.csv"]))
	f.Add([]byte(minimal), []byte("chainage [m];obvert [m]\n0;101\n500;117\n"))
	f.Add([]byte(gravity), []byte("km;sohle [m]\n0+000;101\n0+500;117,5\n"))
	f.Add(passingFolder(f)["line.toml"].Data, []byte("chainage [m];obvert [m];ground [m]\n0;101;102\n500;117;118\n"))
	f.Add(thresholdFolder(f)["line.toml"].Data, []byte(profiles["rising.csv"]))
	f.Add([]byte("[[case]]\nkind = \"burst\"\nrun = 3\n[[case]]\nkind = \"restart\"\nafter = \"\"\n[[day]]\nfactors = [[]]\nrule = [{}]\n[[prices.tariff]]\nfrom = \"99:99\"\n"), []byte{})
	f.Add([]byte("[line]\nname = \"x\"\n"+ring), []byte("chainage [m];obvert [m]\n0;101\n0;117\n"))
	f.Add([]byte("[[run]]\n[[run.section]]\nbore = \"1e308 m\"\nto = \"nan\"\n[[case]]\nstation = [{}]\n"), []byte{})
	f.Add([]byte("[[station]]\npump = [{ alike = 9223372036854775807, curve = [[]] }, 3]\n[practice]\nspacing = []\n"), []byte("\xff\xfe"))
	f.Add([]byte("line = 1\ntank = {}\nrun = [[]]\nroute = [{ runs = [\"a\", \"a\"] }]\n\xff"), []byte("a;b\n"))
	f.Fuzz(func(t *testing.T, doc, profile []byte) {
		m := fstest.MapFS{"line.toml": {Data: doc}}
		for _, name := range []string{"rising.csv", "hill.csv", "valley.csv", "main.csv", "a.csv", "b.csv", "c.csv"} {
			m[name] = &fstest.MapFile{Data: profile}
		}
		l, faults := Read(m, nil)
		if (l == nil) != (faults.Err() != nil) {
			t.Fatalf("line %v with %v", l != nil, faults)
		}
		for _, x := range faults {
			if x.File == "" || x.What == "" || x.Severity != document.FaultSeverity && x.ID == "" {
				t.Errorf("incomplete: %+v", x)
			}
		}
		if l != nil {
			allFinite(t, "line", reflect.ValueOf(*l))
			if len(l.Cases) == 0 || len(l.Routes) == 0 {
				t.Error("a line without cases or routes")
			}
		}
	})
}

// allFinite walks a value and reports figures that are none.
func allFinite(t *testing.T, at string, v reflect.Value) {
	switch v.Kind() {
	case reflect.Float64:
		if math.IsNaN(v.Float()) || math.IsInf(v.Float(), 0) {
			t.Errorf("%s is %g", at, v.Float())
		}
	case reflect.Struct:
		for i := range v.NumField() {
			allFinite(t, at+"."+v.Type().Field(i).Name, v.Field(i))
		}
	case reflect.Slice, reflect.Array:
		for i := range v.Len() {
			allFinite(t, at, v.Index(i))
		}
	case reflect.Pointer:
		if !v.IsNil() {
			allFinite(t, at, v.Elem())
		}
	}
}
