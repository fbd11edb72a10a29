package pipe

import (
	"fmt"
	"math"
)

// Typical roughness, all assumptions until the line has been measured.
const (
	liningRough   = 0.1 * mm
	liningSource  = "cement mortar lining in service, joints included (common practice; 0.03 mm when new, from memory)"
	ironRough     = 0.26 * mm
	ironSource    = "cast iron, Hydraulic Institute, Engineering Data Book, table 3.A.1"
	plasticRough  = 0.00152 * mm
	plasticSource = "plastic, Hydraulic Institute, Engineering Data Book, table 3.A.1; joints and deposits come on top"
	steelRough    = 0.0457 * mm
	steelSource   = "commercial steel, Hydraulic Institute, Engineering Data Book, table 3.A.1"
)

// ironSize is a row of the table of ductile iron.
type ironSize struct {
	dn      int
	outside float64 // mm
	class   int     // preferred pressure class C, bar; 0: none here
	wall    float64 // its nominal wall, mm
}

// EN 545:2010 and ISO 2531:2009 as quoted in trade tables: outside diameters,
// preferred pressure classes and their nominal walls. DN 60, 65, 125, 1100 and 1400–2000 and the walls of
// C40 DN 80 and 125 and C30 DN 450 are from memory.
var ironSizes = []ironSize{
	{60, 77, 0, 0}, {65, 82, 0, 0},
	{80, 98, 40, 4.4}, {100, 118, 40, 4.4}, {125, 144, 40, 4.5}, {150, 170, 40, 4.5},
	{200, 222, 40, 4.7}, {250, 274, 40, 5.5}, {300, 326, 40, 6.2},
	{350, 378, 30, 6.3}, {400, 429, 30, 6.5}, {450, 480, 30, 6.9}, {500, 532, 30, 7.5}, {600, 635, 30, 8.7},
	{700, 738, 25, 8.8}, {800, 842, 25, 9.6}, {900, 945, 25, 10.6}, {1000, 1048, 25, 11.6},
	{1100, 1152, 0, 0}, {1200, 1255, 0, 0}, {1400, 1462, 0, 0}, {1500, 1565, 0, 0},
	{1600, 1668, 0, 0}, {1800, 1875, 0, 0}, {2000, 2082, 0, 0},
}

// wallK9 is the nominal wall of class K9, mm: 9 (0.5 + 0.001 DN), at least 6,
// rounded to tenths, halves up.
func wallK9(dn int) float64 {
	tenths := (4500 + 9*dn + 50) / 100
	return float64(max(60, tenths)) / 10
}

// ratingK9 is the allowable operating pressure of class K9, bar, by the design
// equation of EN 545:2007 with a tensile strength of 420 MPa and a safety factor
// of 3, at most 85 bar, in whole bar (equation from memory; it gives the 62 bar
// of DN 200 and 30 bar of DN 1000 remembered from that standard's annex A).
func ratingK9(dn int, outside, wall float64) float64 {
	tolerance := 1.3 + 0.001*float64(dn)
	if wall <= 6 {
		tolerance = 1.3
	}
	least := wall - tolerance
	return math.Round(min(85, 20*least*420/((outside-least)*3)))
}

// liningOf is the nominal cement lining, mm (EN 545, ISO 4179).
func liningOf(dn int) float64 {
	switch {
	case dn <= 300:
		return 4
	case dn <= 600:
		return 5
	case dn <= 1200:
		return 6
	}
	return 9
}

// ductileIron is EN 545 / ISO 2531, class K9 and the preferred classes C, with
// the usual cement lining and without.
func ductileIron() []Size {
	const source = "EN 545, ISO 2531, as quoted in trade tables; lining EN 545, ISO 4179"
	var sizes []Size
	add := func(class string, dn int, outside, wall, rating float64) {
		for _, lining := range []float64{liningOf(dn), 0} {
			s := newSize(fmt.Sprintf("EN 545 %s DN %d", class, dn), "EN 545 / ISO 2531", fmt.Sprintf("DN %d", dn),
				"ductile iron, cement-lined", outside, wall, lining, rating)
			s.Roughness, s.RoughnessSource, s.Source = liningRough, liningSource, source
			if lining == 0 {
				s.Name += " unlined"
				s.Material = "ductile iron"
				s.Roughness, s.RoughnessSource = ironRough, ironSource
			}
			sizes = append(sizes, s)
		}
	}
	for _, r := range ironSizes {
		wall := wallK9(r.dn)
		add("K9", r.dn, r.outside, wall, ratingK9(r.dn, r.outside, wall))
		if r.class > 0 {
			add(fmt.Sprintf("C%d", r.class), r.dn, r.outside, r.wall, float64(r.class))
		}
	}
	return sizes
}

// plasticSeries is a series of ISO 4065: SDR as it is named, the pipe series S
// as a power of ten (Renard's R10), and nominal pressures, bar.
type plasticSeries struct {
	sdr    float64
	power  float64 // S = 10^power
	pe100  float64 // PN of PE100, ISO 4427 / EN 12201 (C = 1.25)
	pvc    float64 // PN of PVC-U above dn 90, ISO 1452 (C = 2.0)
	pvc90  float64 // PN of PVC-U up to dn 90 (C = 2.5)
	plainS string
}

var plasticSeriesList = []plasticSeries{
	{41, 1.3, 4, 6, 0, "20"}, {33, 1.2, 5, 8, 6, "16"}, {26, 1.1, 6, 10, 8, "12.5"}, {21, 1.0, 8, 12.5, 10, "10"},
	{17, 0.9, 10, 16, 12.5, "8"}, {13.6, 0.8, 12.5, 20, 16, "6.3"}, {11, 0.7, 16, 0, 20, "5"},
	{9, 0.6, 20, 0, 0, "4"}, {7.4, 0.5, 25, 0, 0, "3.2"},
}

// plasticWall is the least wall of ISO 4065, mm: dn/(2S+1), S being exactly the
// Renard number, rounded to 0.01 mm and then up to 0.1 mm. It reproduces the
// tables of ISO 4427 and ISO 1452 (see the tests).
func plasticWall(dn, power float64) float64 {
	hundredths := math.Round(100 * dn / (2*math.Pow(10, power) + 1))
	return math.Ceil(hundredths/10) / 10
}

// polyethylene is PE100 to ISO 4427-2 / EN 12201-2. Bores are with the least
// wall, the one the standard names.
func polyethylene() []Size {
	var sizes []Size
	for _, series := range plasticSeriesList {
		for _, dn := range []float64{63, 75, 90, 110, 125, 140, 160, 180, 200, 225, 250, 280, 315, 355, 400, 450, 500, 560, 630, 710, 800, 900, 1000} {
			wall := plasticWall(dn, series.power)
			if wall < 2 || series.sdr < 11 && dn > 630 {
				continue
			}
			s := newSize(fmt.Sprintf("ISO 4427 PE100 SDR %s dn %s", trim(series.sdr), trim(dn)), "ISO 4427 / EN 12201",
				"dn "+trim(dn), "PE100", dn, wall, 0, series.pe100)
			s.Roughness, s.RoughnessSource = plasticRough, plasticSource
			s.Source = "ISO 4427-2, EN 12201-2: least wall by ISO 4065, pipe series S " + series.plainS
			sizes = append(sizes, s)
		}
	}
	return sizes
}

// pvc is PVC-U to ISO 1452-2.
func pvc() []Size {
	var sizes []Size
	for _, series := range plasticSeriesList {
		for _, dn := range []float64{63, 75, 90, 110, 125, 140, 160, 180, 200, 225, 250, 280, 315, 355, 400, 450, 500, 560, 630} {
			rating := series.pvc
			if dn <= 90 {
				rating = series.pvc90
			}
			wall := plasticWall(dn, series.power)
			if rating == 0 || wall < 1.5 {
				continue
			}
			s := newSize(fmt.Sprintf("ISO 1452 PVC-U SDR %s dn %s", trim(series.sdr), trim(dn)), "ISO 1452",
				"dn "+trim(dn), "PVC-U", dn, wall, 0, rating)
			s.Roughness, s.RoughnessSource = plasticRough, plasticSource
			s.Source = "ISO 1452-2: least wall by ISO 4065, pipe series S " + series.plainS + "; nominal pressures from memory"
			sizes = append(sizes, s)
		}
	}
	return sizes
}

// asmeRow is a size of ASME B36.10M, in.
type asmeRow struct {
	nps     string
	outside float64
	walls   map[string]float64
}

// ASME B36.10M, welded and seamless wrought steel pipe. STD of 4 to 36 in as
// printed in the Hydraulic Institute's Engineering Data Book; the other walls
// from memory.
var asmeRows = []asmeRow{
	{"2", 2.375, map[string]float64{"STD": .154, "XS": .218, "Sch 40": .154, "Sch 80": .218}},
	{"3", 3.5, map[string]float64{"STD": .216, "XS": .300, "Sch 40": .216, "Sch 80": .300}},
	{"4", 4.5, map[string]float64{"STD": .237, "XS": .337, "Sch 40": .237, "Sch 80": .337}},
	{"5", 5.563, map[string]float64{"STD": .258, "XS": .375, "Sch 40": .258, "Sch 80": .375}},
	{"6", 6.625, map[string]float64{"STD": .280, "XS": .432, "Sch 40": .280, "Sch 80": .432}},
	{"8", 8.625, map[string]float64{"STD": .322, "XS": .500, "Sch 20": .250, "Sch 30": .277, "Sch 40": .322, "Sch 80": .500}},
	{"10", 10.75, map[string]float64{"STD": .365, "XS": .500, "Sch 20": .250, "Sch 30": .307, "Sch 40": .365}},
	{"12", 12.75, map[string]float64{"STD": .375, "XS": .500, "Sch 20": .250, "Sch 30": .330, "Sch 40": .406}},
	{"14", 14, map[string]float64{"STD": .375, "XS": .500, "Sch 10": .250, "Sch 30": .375}},
	{"16", 16, map[string]float64{"STD": .375, "XS": .500, "Sch 10": .250, "Sch 30": .375, "Sch 40": .500}},
	{"18", 18, map[string]float64{"STD": .375, "XS": .500, "Sch 10": .250}},
	{"20", 20, map[string]float64{"STD": .375, "XS": .500, "Sch 10": .250, "Sch 20": .375, "Sch 30": .500}},
	{"24", 24, map[string]float64{"STD": .375, "XS": .500, "Sch 10": .250, "Sch 20": .375}},
	{"30", 30, map[string]float64{"STD": .375, "XS": .500, "Sch 20": .500}},
	{"36", 36, map[string]float64{"STD": .375, "XS": .500, "Sch 20": .500}},
	{"42", 42, map[string]float64{"STD": .375, "XS": .500}},
	{"48", 48, map[string]float64{"STD": .375, "XS": .500}},
}

// asmeSteel is ASME B36.10M. The standard gives no rating.
func asmeSteel() []Size {
	var sizes []Size
	for _, r := range asmeRows {
		for class, wall := range r.walls {
			s := newSize(fmt.Sprintf("ASME B36.10 %s in %s", r.nps, class), "ASME B36.10M", r.nps+" in", "steel", r.outside*25.4, wall*25.4, 0, 0)
			s.Roughness, s.RoughnessSource = steelRough, steelSource
			s.Source = "ASME B36.10M; Hydraulic Institute, Engineering Data Book (STD of 4 to 36 in), others from memory"
			sizes = append(sizes, s)
		}
	}
	return sizes
}

// EN 10220 / ISO 4200: outside diameters of series 1 and preferred walls, mm.
// The common walls of 114.3 to 457 mm (3.2 to 6.3) were read; the rest of both
// lists is from memory.
var (
	enOutsides = []float64{60.3, 76.1, 88.9, 114.3, 139.7, 168.3, 219.1, 273, 323.9, 355.6, 406.4, 457, 508, 610, 711, 813, 914, 1016, 1067, 1118, 1219, 1422, 1626, 1829, 2032}
	enWalls    = []float64{2.3, 2.6, 2.9, 3.2, 3.6, 4, 4.5, 5, 5.6, 6.3, 7.1, 8, 8.8, 10, 11, 12.5, 14.2, 16, 17.5, 20, 22.2, 25}
)

// enSteel is EN 10220 / ISO 4200, walls between 1/160 and 1/16 of the outside
// diameter. The standards give no rating.
func enSteel() []Size {
	var sizes []Size
	for _, outside := range enOutsides {
		for _, wall := range enWalls {
			if wall < outside/160 || wall > outside/16 {
				continue
			}
			s := newSize(fmt.Sprintf("EN 10220 %s x %s", trim(outside), trim(wall)), "EN 10220 / ISO 4200", trim(outside)+" mm", "steel", outside, wall, 0, 0)
			s.Roughness, s.RoughnessSource = steelRough, steelSource
			s.Source = "EN 10220, ISO 4200: outside diameters of series 1, preferred walls (partly from memory)"
			sizes = append(sizes, s)
		}
	}
	return sizes
}
