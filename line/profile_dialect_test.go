package line

import (
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"obvert/document"
	"obvert/quantity"
)

// The survey that every file in testdata/profiles holds, each in another dialect. It is invented.
var (
	surveyChainage = []float64{0, 250, 500, 1000.5, 1250, 1500}
	surveyInvert   = []float64{101.2, 98.75, 104.4, 99.05, 112.3, 108.0}
	surveyGround   = []float64{102.6, 100.25, 106.1, 100.5, 113.9, 109.5}
)

// dialects are what each file must be understood as, besides giving the survey.
var dialects = []struct {
	file      string
	options   ProfileOptions
	encoding  string
	separator string
	decimal   string
	thousands string
	header    int
	remarks   []string // ids of the remarks expected, and no others
	dropped   []string
}{
	{file: "english.csv", encoding: "UTF-8", separator: "comma", decimal: "point", header: 1},
	{file: "german.csv", encoding: "Windows-1252", separator: "semicolon", decimal: "comma", header: 4,
		remarks: []string{"profile.encoding", "profile.decimal-comma", "profile.totals"}, dropped: []string{"title", "totals"}},
	{file: "french.txt", encoding: "UTF-16 LE", separator: "tab", decimal: "comma", thousands: "blank", header: 2,
		remarks: []string{"profile.decimal-comma", "profile.thousands"}, dropped: []string{"title"}},
	{file: "spanish.csv", encoding: "UTF-8", separator: "semicolon", decimal: "comma", header: 1, remarks: []string{"profile.decimal-comma"}},
	{file: "italian.csv", encoding: "UTF-8", separator: "semicolon", decimal: "comma", thousands: "point", header: 1,
		remarks: []string{"profile.decimal-comma", "profile.thousands", "profile.totals"}, dropped: []string{"totals"}},
	{file: "portuguese.csv", options: ProfileOptions{Stakes: quantity.Stakes{Step: 20, Rest: 1}},
		encoding: "UTF-8", separator: "semicolon", decimal: "comma", header: 1, remarks: []string{"profile.decimal-comma"}},
	{file: "dutch.txt", encoding: "UTF-8", separator: "bar", decimal: "point", header: 1},
	{file: "polish.csv", encoding: "UTF-16 BE", separator: "semicolon", decimal: "comma", header: 1,
		remarks: []string{"profile.decimal-comma", "profile.totals"}, dropped: []string{"totals"}},
	{file: "turkish.csv", encoding: "UTF-8 with a byte-order mark", separator: "semicolon", decimal: "point", header: 1},
	{file: "quoted.csv", encoding: "UTF-8", separator: "comma", decimal: "comma", header: 1, remarks: []string{"profile.decimal-comma"}},
	{file: "cells.csv", encoding: "UTF-8", separator: "semicolon", decimal: "point", header: 1},
	{file: "reversed.csv", encoding: "UTF-8", separator: "comma", decimal: "point", header: 1, remarks: []string{"profile.turned"}},
	{file: "blanks.txt", encoding: "UTF-8", separator: "two or more blanks", decimal: "point", header: 2, dropped: []string{"comment"}},
	{file: "pages.csv", encoding: "UTF-8", separator: "tab", decimal: "point", header: 2,
		remarks: []string{"profile.repeated-header", "profile.no-figures", "profile.totals"},
		dropped: []string{"title", "comment", "repeated header", "no figures", "totals"}},
	{file: "kilometres.csv", encoding: "UTF-8", separator: "semicolon", decimal: "point", header: 1},
	{file: "stations.csv", options: ProfileOptions{Stakes: quantity.Stakes{Step: 30.48, Rest: 0.3048}},
		encoding: "UTF-8", separator: "comma", decimal: "point", header: 1},
	{file: "utf16.csv", encoding: "UTF-16 LE without a byte-order mark", separator: "semicolon", decimal: "point", header: 1},
	{file: "apostrophes.csv", encoding: "UTF-8", separator: "semicolon", decimal: "point", thousands: "apostrophe", header: 2,
		remarks: []string{"profile.thousands"}, dropped: []string{"title"}},
	{file: "crowded.csv", encoding: "UTF-8", separator: "semicolon", decimal: "point", header: 1,
		remarks: []string{"profile.totals"}, dropped: []string{"totals"}},
	{file: "heads.csv", encoding: "UTF-8", separator: "semicolon", decimal: "point", header: 1},
	{file: "danish.csv", encoding: "Windows-1252", separator: "semicolon", decimal: "comma", header: 1,
		remarks: []string{"profile.encoding", "profile.decimal-comma"}},
	{file: "russian.csv", encoding: "UTF-8", separator: "semicolon", decimal: "comma", header: 1,
		remarks: []string{"profile.decimal-comma", "profile.totals"}, dropped: []string{"totals"}},
}

// TestDialects reads one survey in every dialect: the points must be the same to the last digit that the file has.
func TestDialects(t *testing.T) {
	for _, d := range dialects {
		t.Run(d.file, func(t *testing.T) {
			data, err := os.ReadFile(filepath.Join("testdata/profiles", d.file))
			if err != nil {
				t.Fatal(err)
			}
			d.options.BoreAt = bore300
			r, faults := ReadProfile(d.file, data, d.options)
			if err := faults.Err(); err != nil {
				t.Fatal(err)
			}
			wantSurvey(t, r, 2e-7)
			g := r.Dialect
			if g.Encoding != d.encoding || g.Separator != d.separator || g.DecimalSign != d.decimal || g.Thousands != d.thousands || g.HeaderLine != d.header {
				t.Errorf("understood as %+v", g)
			}
			if got := ids(faults); !sameSet(got, d.remarks) {
				t.Errorf("remarks %v, want %v\n%v", got, d.remarks, faults)
			}
			var dropped []string
			for _, x := range g.Dropped {
				dropped = append(dropped, x.Why)
			}
			if !slices.Equal(dropped, d.dropped) {
				t.Errorf("left out %v, want %v", dropped, d.dropped)
			}
			if r.Reversed != (d.file == "reversed.csv") {
				t.Error("reversed:", r.Reversed)
			}
		})
	}
}

// TestDialectsAreComplete fails on a file of testdata/profiles that no test reads.
func TestDialectsAreComplete(t *testing.T) {
	files, err := os.ReadDir("testdata/profiles")
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range files {
		if !slices.ContainsFunc(dialects, func(d struct {
			file      string
			options   ProfileOptions
			encoding  string
			separator string
			decimal   string
			thousands string
			header    int
			remarks   []string
			dropped   []string
		}) bool {
			return d.file == f.Name()
		}) {
			t.Error("no test for", f.Name())
		}
	}
}

// wantSurvey holds a result against the survey of the testdata, with a bore of 0.3 m above the invert.
func wantSurvey(t *testing.T, r ProfileResult, tolerance float64) {
	t.Helper()
	if r.LevelKind != LevelInvert || len(r.Points) != len(surveyChainage) {
		t.Fatalf("kind %v, %d points", r.LevelKind, len(r.Points))
	}
	length := 0.0
	for i, p := range r.Points {
		if i > 0 {
			length += math.Hypot(surveyChainage[i]-surveyChainage[i-1], surveyInvert[i]-surveyInvert[i-1])
		}
		want := Point{surveyChainage[i], surveyInvert[i] + 0.3, surveyGround[i], true, length}
		if math.Abs(p.Chainage-want.Chainage) > tolerance || math.Abs(p.Obvert-want.Obvert) > tolerance ||
			math.Abs(p.Ground-want.Ground) > tolerance || !p.HasGround || math.Abs(p.Distance-want.Distance) > 10*tolerance {
			t.Errorf("point %d: %+v, want %+v", i, p, want)
		}
	}
}

func ids(f document.Faults) []string {
	var out []string
	for _, x := range f {
		if x.Severity != document.FaultSeverity {
			out = append(out, x.ID)
		}
	}
	return out
}

func sameSet(a, b []string) bool {
	a, b = slices.Sorted(slices.Values(a)), slices.Sorted(slices.Values(b))
	return slices.Equal(a, b)
}

// TestHeaders reads single headers in many wordings.
func TestHeaders(t *testing.T) {
	tests := []struct {
		text string
		role columnRole
		unit string
	}{
		{"Chainage", roleChainage, ""}, {"CH (m)", roleChainage, "m"}, {"Station [ft]", roleChainage, "ft"}, {"Stationing, m", roleChainage, "m"},
		{"chainage_m", roleChainage, "m"}, {"ChainageKm", roleChainage, "km"}, {"km", roleChainage, "km"}, {"Bau-km", roleChainage, "km"},
		{"Stationierung [m]", roleChainage, "m"}, {"Bau-km [m]", roleChainage, "m"}, {"PK", roleChainage, ""}, {"P.K.", roleChainage, ""},
		{"Point kilométrique (km)", roleChainage, "km"}, {"Distance cumulée (m)", roleChainage, "m"}, {"Progressiva (m)", roleChainage, "m"},
		{"Abscisa", roleChainage, ""}, {"Estaca", roleChainage, ""}, {"Kilometraż [km]", roleChainage, "km"}, {"Mesafe (m)", roleChainage, "m"},
		{"Staničení [km]", roleChainage, "km"}, {"Stationering (m)", roleChainage, "m"}, {"Cumulative length (m)", roleChainage, "m"},
		{"Chainage along centre line [m]", roleChainage, "m"}, {"Station (US survey feet)", roleChainage, "ftUS"}, {"Chainage (km+m)", roleChainage, ""},
		{"Kilometer", roleChainage, "km"}, {"Länge kumuliert [m]", roleChainage, "m"},

		{"Level", roleLevel, ""}, {"Elevation (ft)", roleLevel, "ft"}, {"RL (m AOD)", roleLevel, "m"}, {"mAOD", roleLevel, "m"}, {"Höhe in müNN", roleLevel, "m"},
		{"Hoehe [m ü. NHN]", roleLevel, "m"}, {"Cote (m NGF)", roleLevel, "m"}, {"Cota (msnm)", roleLevel, "m"}, {"Quota [m s.l.m.]", roleLevel, "m"},
		{"Kot (m)", roleLevel, "m"}, {"Rzędna [m n.p.m.]", roleLevel, "m"}, {"Hoogte (m NAP)", roleLevel, "m"}, {"Z [mm]", roleLevel, "mm"},
		{"Height above datum, m", roleLevel, "m"}, {"ELEVATION_FT", roleLevel, "ft"}, {"Level [m OD]", roleLevel, "m"}, {"masl", roleLevel, "m"},
		{"Reduced level (m)", roleLevel, "m"}, {"Station elevation (m)", roleLevel, "m"},

		{"Invert level [m]", roleInvert, "m"}, {"IL", roleInvert, ""}, {"Sohle [müNN]", roleInvert, "m"}, {"Rohrsohlhöhe (m)", roleInvert, "m"},
		{"Cote radier (m)", roleInvert, "m"}, {"Fil d'eau", roleInvert, ""}, {"Fil d’eau (m NGF)", roleInvert, "m"}, {"Cota de la generatriz inferior (m)", roleInvert, "m"},
		{"Quota scorrimento", roleInvert, ""}, {"B.O.B. [m NAP]", roleInvert, "m"}, {"Rzędna dna rury", roleInvert, ""}, {"Akar kotu", roleInvert, ""},
		{"InvertLevel_ft", roleInvert, "ft"}, {"Bundkote", roleInvert, ""},

		{"Obvert (m)", roleObvert, "m"}, {"Soffit level", roleObvert, ""}, {"Crown elev. (ft)", roleObvert, "ft"}, {"Rohrscheitel [m ü. NN]", roleObvert, "m"},
		{"Génératrice supérieure (m)", roleObvert, "m"}, {"Cota clave (m)", roleObvert, "m"}, {"Geratriz superior", roleObvert, ""}, {"Top of pipe [m]", roleObvert, "m"},
		{"Scheitelhöhe", roleObvert, ""},

		{"Axis level", roleAxis, ""}, {"Centre-line level (m)", roleAxis, "m"}, {"Center line elevation", roleAxis, ""}, {"Rohrachse [müNN]", roleAxis, "m"},
		{"Cote axe (m)", roleAxis, "m"}, {"Cota eje", roleAxis, ""}, {"Rzędna osi rurociągu [m]", roleAxis, "m"}, {"Boru eksen kotu", roleAxis, ""},
		{"Quota asse tubo", roleAxis, ""}, {"Hart leiding (m NAP)", roleAxis, "m"},

		{"Ground level (m)", roleGround, "m"}, {"GL", roleGround, ""}, {"Existing ground", roleGround, ""}, {"OK Gelände [m]", roleGround, "m"}, {"GOK", roleGround, ""},
		{"Geländehöhe", roleGround, ""}, {"OKGelände", roleGround, ""}, {"TN", roleGround, ""}, {"Terrain naturel (m NGF)", roleGround, "m"}, {"Cota terreno (m)", roleGround, "m"},
		{"Piano campagna [m]", roleGround, "m"}, {"Maaiveldhoogte", roleGround, ""}, {"Rzędna terenu", roleGround, ""}, {"ZEMİN KOTU", roleGround, ""},
		{"Terrænkote", roleGround, ""}, {"Station ground elevation", roleGround, ""},

		// What must not be taken for a level of the pipe or the ground, or for a chainage.
		{"Water level (m)", roleUnused, ""}, {"Wasserspiegelhöhe", roleUnused, ""}, {"Groundwater level", roleUnused, ""}, {"Niveau d'eau", roleUnused, ""},
		{"Invert depth (m)", roleUnused, ""}, {"Sohltiefe", roleUnused, ""}, {"Cover level", roleUnused, ""}, {"Pressure head (m)", roleUnused, ""},
		{"Invert slope", roleUnused, ""}, {"Sohlgefälle", roleUnused, ""}, {"Trench bottom level", roleUnused, ""}, {"Distance partielle", roleUnused, ""},
		{"Distanza parziale", roleUnused, ""}, {"Length", roleUnused, ""}, {"Station name", roleUnused, ""}, {"Point No.", roleUnused, ""}, {"DN", roleUnused, ""},
		{"Invert or obvert", roleUnused, ""}, {"Bottom of pipe", roleUnused, ""}, {"", roleUnused, ""}, {"H", roleUnused, ""}, {"Schachtdeckelhöhe", roleUnused, ""},
	}
	for _, test := range tests {
		h := understand(test.text)
		if h.role != test.role || test.role != roleUnused && h.unit.name != test.unit {
			t.Errorf("%q: %v in %q, want %v in %q (words %q)", test.text, h.role, h.unit.name, test.role, test.unit, foldWords(test.text))
		}
	}
}

// TestSentence holds the dialect's sentence, which the report shows, to its wording.
func TestSentence(t *testing.T) {
	data, err := os.ReadFile("testdata/profiles/italian.csv")
	if err != nil {
		t.Fatal(err)
	}
	r, _ := ReadProfile("italian.csv", data, ProfileOptions{BoreAt: bore300})
	want := `UTF-8; semicolon between columns; decimal comma; thousands parted by the point; header in line 1; ` +
		`chainage from column "Distanza progressiva [m]" in m; ground from column "Quota terreno [m s.l.m.]" in m; ` +
		`invert from column "Quota scorrimento [m s.l.m.]" in m; 6 rows; 1 row left out (totals, line 8)`
	if got := r.Dialect.String(); got != want {
		t.Errorf("got  %s\nwant %s", got, want)
	}
	if strings.Contains(r.Dialect.String(), "not used") {
		t.Error("unused columns in the sentence")
	}
}
