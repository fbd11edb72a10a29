package survey

import (
	"math"
	"reflect"
	"strings"
	"testing"

	"obvert/document"
	"obvert/line"
)

// TestWorkbookEquipment reads tables of pumps, pipes, air valves and other equipment as the script that wrote them has them.
func TestWorkbookEquipment(t *testing.T) {
	r, faults := Workbook("equipment.xlsx", workbook(t, "equipment.xlsx"), Options{})
	if faults.Err() != nil {
		t.Fatal(faults)
	}
	pumps := []Pump{
		{Station: "River", Name: "P1", Alike: 2, Curve: [][2]float64{{0, 42}, {0.04, 38.5}, {0.08, 30}}, Efficiency: [][2]float64{{0.04, 0.71}, {0.08, 0.785}},
			NPSH: [][2]float64{{0.04, 2.1}, {0.08, 3.4}}, Origin: Origin{"Pumps", 5}},
		{Station: "River", Name: "Jockey", Alike: 1, Curve: [][2]float64{{0, 45}, {0.01, 36}}, Origin: Origin{"Pumps", 8}},
	}
	if !reflect.DeepEqual(r.Pumps, pumps) {
		t.Errorf("pumps\n%+v, want\n%+v", r.Pumps, pumps)
	}
	pipes := []Pipe{
		{From: 0, To: 620, Size: "EN 545 C40 DN 200", Origin: Origin{"Pipes", 2}},
		{From: 620, To: 1000, Bore: 0.1985, Wall: 0.0063, Material: "steel", Roughness: 0.0001, Rating: 16e5, Origin: Origin{"Pipes", 3}},
	}
	if !reflect.DeepEqual(r.Pipes, pipes) {
		t.Errorf("pipes\n%+v, want\n%+v", r.Pipes, pipes)
	}
	valves := []Valve{
		{Name: "1", Chainage: 25, Type: "Alder 80", Height: 0.45, HasHeight: true, Remark: "in the pit", Origin: Origin{"AV schedule", 2}},
		{Name: "2", Chainage: 510.5, Type: "Birch 80", Origin: Origin{"AV schedule", 3}},
		{Name: "3", Chainage: 990, Height: 0.6, HasHeight: true, Remark: "beside the road", Origin: Origin{"AV schedule", 4}},
		{Name: "AV 4", Chainage: 700, Origin: Origin{"Other equipment", 5}},
	}
	if !reflect.DeepEqual(r.Valves, valves) {
		t.Errorf("valves\n%+v, want\n%+v", r.Valves, valves)
	}
	fittings := []Fitting{
		{Name: "IV 1", Kind: line.IsolatingValve, Chainage: 10, Bore: 0.2, Loss: 0.2, HasLoss: true, Origin: Origin{"Other equipment", 2}},
		{Name: "S 1", Kind: line.Scour, Chainage: 400, Bore: 0.1, Origin: Origin{"Other equipment", 3}},
		{Name: "SV 1", Kind: line.SustainingValve, Chainage: 950, Setting: 12.5, Origin: Origin{"Other equipment", 4}},
	}
	if !reflect.DeepEqual(r.Fittings, fittings) {
		t.Errorf("fittings\n%+v, want\n%+v", r.Fittings, fittings)
	}
	if len(r.Tables) != 4 || r.Tables[0].Kind != "pumps" || r.Tables[2].Kind != "valves" || len(r.Tables[1].Rows) != 2 || r.Tables[1].From[1] != 3 {
		t.Errorf("tables %+v", r.Tables)
	}
	holds(t, "took", r.Took, `Sheet "Pumps" gives 2 pumps: station from column A, "Station"`)
	holds(t, "left", r.Left, `the sizes "DN 200 lined" are no standard ones`)
}

// TestWorkbookEquipmentFaults tells all that is wrong in three tables in one pass, by sheet and cell.
func TestWorkbookEquipmentFaults(t *testing.T) {
	r, faults := Workbook("faulty.xlsx", workbook(t, "faulty.xlsx"), Options{})
	if len(r.Pumps)+len(r.Pipes)+len(r.Fittings) > 0 || faults.Err() == nil {
		t.Fatal("faulty tables were read")
	}
	all := told(faults)
	for _, want := range []string{
		`sheet "Pumps", cell B2, column "Flow": "0" is not a flow: no unit. Write "0 L/s" or "0 m³/h", or put the unit into the head, such as "Flow [L/s]"`,
		`sheet "Pipes", cell C2, column "Size": no standard size "EN 545 C40 DN 201" is known: no bore is given either. Nearest are "EN 545 C40 DN 200"`,
		`sheet "Pipes", cell B3, column "To [m]": a stretch of pipe that ends where it begins or before: "900" to "500"`,
		`sheet "Equipment", cell D2, column "State": "clsed" is no state of a valve. Write "closed"`,
		`sheet "Equipment", cell C3, column "Bore [mm]": a scour without its bore`,
		`sheet "Equipment", cell A4, column "Kind": "isolatng valv" is no kind of equipment that is known. Write "isolating valve"`,
		`sheet "Equipment", cell B5, column "Chainage [m]": "2+5" is not a chainage: 1 digits behind the +, and stakes 1000 m apart have 3. Write "2+005"`,
		`sheet "Equipment", cell C5, column "Bore [mm]": "100 cm" under a head in mm: two units for one figure`,
		`sheet "Equipment", cell B6, column "Chainage [m]": the chainage is missing`,
		`sheet "Equipment", cell D6, column "State": a check valve that is closed: only an isolating valve can be`,
	} {
		holds(t, "faults", all, want)
	}
}

// TestPumpForms reads the same two pumps from text in three forms.
func TestPumpForms(t *testing.T) {
	want := []Pump{
		{Name: "P1", Alike: 1, Curve: [][2]float64{{0, 42}, {0.04, 38.5}}, Efficiency: [][2]float64{{0, 0.1}, {0.04, 0.71}}},
		{Name: "P2", Alike: 3, Curve: [][2]float64{{0, 30}, {0.04, 21}}},
	}
	for name, text := range map[string]string{
		"long":         "Pump;Number of pumps;Q [L/s];H [m];Eff [%]\nP1;;0;42;10\nP1;;40;38,5;71\nP2;3;0;30;\n;;40;21;\n",
		"long, turned": "Pump\tq (m3/h)\tTotal head (m)\tη (%)\tQty\nP1\t144\t38.5\t71\t\nP1\t0\t42\t10\t1\nP2\t144\t21\t\t3\nP2\t0\t30\t\t3\n",
		"numbered":     "Pump,Qty,Q1 [L/s],H1 [m],eta1 [%],Q2 [L/s],H2 [m],eta2 [%]\nP1,1,0,42,10,40,38.5,71\nP2,3,0,30,,40,21,\n",
		"under flows":  "Pump;Qty;Curve;0 L/s;40 L/s\nP1;1;Head;42 m;38.5 m\nP1;1;Efficiency;10 %;71 %\nP2;3;Head;30 m;21 m\n",
	} {
		r, faults := Equipment("pumps.csv", []byte(text), Options{})
		if faults.Err() != nil {
			t.Errorf("%s: %v", name, faults)
			continue
		}
		for i := range r.Pumps {
			r.Pumps[i].Origin = Origin{}
			for _, c := range [][][2]float64{r.Pumps[i].Curve, r.Pumps[i].Efficiency} {
				for k := range c {
					c[k][0] = math.Round(c[k][0]*1e12) / 1e12
				}
			}
		}
		if !reflect.DeepEqual(r.Pumps, want) {
			t.Errorf("%s:\n%+v, want\n%+v", name, r.Pumps, want)
		}
	}
}

// TestEquipmentText reads text in several languages, and tells what is no table of equipment.
func TestEquipmentText(t *testing.T) {
	r, faults := Equipment("luft.csv", []byte("Luftventile Entwurf\nNr;Station [km];Typ;Sitzhöhe [cm];Bemerkung\nBE1;0,25;Alder 80;45;am Weg\nSumme;;;;\n"), Options{})
	want := []Valve{{Name: "BE1", Chainage: 250, Type: "Alder 80", Height: 0.45, HasHeight: true, Remark: "am Weg", Origin: Origin{"luft.csv", 3}}}
	if faults.Err() != nil || !reflect.DeepEqual(r.Valves, want) {
		t.Errorf("%v\n%+v", faults, r.Valves)
	}
	r, faults = Equipment("vidanges.csv", []byte("Repère;Nature;PK;Bore (mm)\nV1;Vidange;0+120;80\nC1;Clapet;1+000;\n"), Options{})
	if faults.Err() != nil || len(r.Fittings) != 2 || r.Fittings[0].Kind != line.Scour || r.Fittings[0].Bore != 0.08 || r.Fittings[1].Kind != line.CheckValve || r.Fittings[1].Chainage != 1000 {
		t.Errorf("%v\n%+v", faults, r.Fittings)
	}
	r, faults = Equipment("scours.csv", []byte("Name,Chainage [m],Bore,Type\nS1,120,80 mm,flanged\n"), Options{})
	if faults.Err() != nil || len(r.Fittings) != 1 || r.Fittings[0].Kind != line.Scour {
		t.Errorf("a table named by its file: %v\n%+v", faults, r.Fittings)
	}
	survey := []byte("Chainage [m],Invert level [m]\n0,10\n50,11\n")
	if IsEquipment("drain line.csv", survey, Options{}) {
		t.Error("a survey is taken for a table of equipment")
	}
	long := []byte("Luftventil;Station [m];Typ;Höhe Sitz [m]\n" + strings.Repeat("äö;100;ü;0,5\n", 8000))
	for cut := range 3 { // the bytes that are looked at end within a letter
		if !IsEquipment("luft.csv", append([]byte(strings.Repeat(" ", cut)), long...), Options{}) {
			t.Errorf("a long table of air valves is not known, %d bytes on", cut)
		}
	}
	r, faults = Equipment("survey.csv", survey, Options{})
	if len(r.Tables) > 0 {
		t.Error("a survey was read as equipment")
	}
	holds(t, "no table", told(faults), "no table of equipment")
	_, faults = Equipment("p.csv", []byte("Pump;Q [L/s];H [m]\nP1;0;30\nP1;20;0.2 bar\nP1;-3;2\nP2;0;20\n"), Options{})
	holds(t, "bar for a head", told(faults), `p.csv:3: column "H [m]": "0.2 bar" is not a length`)
	holds(t, "negative", told(faults), `pump "P1": a negative figure on the curve of head`)
	holds(t, "one point", told(faults), `pump "P2" has a curve of 1 point`)
}

// TestEquipmentComposes makes a line of a workbook with a long section and equipment, and reads it back.
func TestEquipmentComposes(t *testing.T) {
	var readings []Reading
	for _, name := range []string{"plover.xlsx", "equipment.xlsx"} {
		r, faults := Workbook(name, workbook(t, name), Options{})
		if faults.Err() != nil {
			t.Fatal(faults)
		}
		readings = append(readings, r)
	}
	folder, faults := Compose(readings, Choices{Name: "Plover"})
	var without document.Faults
	for _, f := range faults.Only(document.FaultSeverity) {
		if !strings.Contains(f.String(), "rack") {
			without = append(without, f)
		}
	}
	if len(without) > 0 {
		t.Fatal(without)
	}
	if len(folder.Files) == 0 {
		t.Fatal("no file")
	}
	text := ""
	for _, f := range folder.Files {
		text += string(f.Data)
	}
	for _, want := range []string{"River", "P1", "sustaining valve", "100 mm", "EN 545 C40 DN 200"} {
		if !strings.Contains(text, want) {
			t.Errorf("%q is not in the line", want)
		}
	}
}
