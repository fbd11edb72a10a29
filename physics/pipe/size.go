package pipe

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"sync"
)

// Size is a pipe of a standard.
type Size struct {
	Name            string  // as Lookup takes it
	Standard        string  // such as "EN 545 / ISO 2531"
	Nominal         string  // such as "DN 300", "dn 315", "12 in"
	Material        string  // such as "ductile iron"
	Outside         float64 `unit:"m"` // outside diameter
	Wall            float64 `unit:"m"` // nominal wall, without lining
	Lining          float64 `unit:"m"` // nominal thickness of the lining; 0 without
	Bore            float64 `unit:"m"` // Outside − 2 (Wall + Lining)
	Roughness       float64 `unit:"m"` // sand-grain, typical of the material in service: an assumption
	RoughnessSource string  // where the roughness is from
	Rating          float64 `unit:"Pa"` // allowable operating pressure, gauge, at 20 °C; 0 where the standard gives none
	Source          string  // where the dimensions are from
}

const (
	mm  = 1e-3
	bar = 1e5
)

// newSize works out the bore. Lengths in mm, rating in bar.
func newSize(name, standard, nominal, material string, outside, wall, lining, rating float64) Size {
	return Size{
		Name: name, Standard: standard, Nominal: nominal, Material: material,
		Outside: outside * mm, Wall: wall * mm, Lining: lining * mm,
		Bore:   (outside - 2*(wall+lining)) * mm,
		Rating: rating * bar,
	}
}

// table is all sizes by the plain form of their names.
var table = sync.OnceValue(func() map[string]Size {
	sizes := make(map[string]Size)
	for _, list := range [][]Size{ductileIron(), polyethylene(), pvc(), asmeSteel(), enSteel()} {
		for _, s := range list {
			sizes[plain(s.Name)] = s
		}
	}
	return sizes
})

// known is a name with what a search needs of it.
type known struct {
	name, plain string
	last        float64 // last figure
}

// catalogue is the names in order.
var catalogue = sync.OnceValue(func() []known {
	var list []known
	for p, s := range table() {
		list = append(list, known{s.Name, p, lastNumber(p)})
	}
	slices.SortFunc(list, func(a, b known) int { return byNumber(a.name, b.name) })
	return list
})

// Names returns the names of all sizes, by standard, class and size.
func Names() []string {
	list := make([]string, len(catalogue()))
	for i, k := range catalogue() {
		list[i] = k.name
	}
	return list
}

// Lookup finds a size by its name, such as
//
//	EN 545 K9 DN 300              EN 545 K9 DN 300 unlined
//	EN 545 C40 DN 200             ISO 4427 PE100 SDR 17 dn 315
//	ISO 1452 PVC-U SDR 26 dn 250  ASME B36.10 12 in STD
//	EN 10220 323.9 x 5.6
//
// in any case and spacing, with a decimal comma, and by the twin standard's
// name (ISO 2531, EN 12201, EN ISO 1452, ISO 4200). The error for an unknown
// name says which names come nearest.
func Lookup(name string) (Size, error) {
	key := plain(name)
	if s, ok := table()[key]; ok {
		return s, nil
	}
	if key == "" {
		return Size{}, fmt.Errorf("pipe size: no name: give one such as %q", "EN 545 K9 DN 300")
	}
	if len(name) > 200 {
		return Size{}, fmt.Errorf("pipe size %.60q…: not known; give one such as %q", name, "EN 545 K9 DN 300")
	}
	near := nearest(key, 3)
	for i, n := range near {
		near[i] = strconv.Quote(n)
	}
	return Size{}, fmt.Errorf("pipe size %q is not known: nearest are %s; or give bore and wall", name, strings.Join(near, ", "))
}

// twins are standards that share their sizes, by their plain names: the first
// is the one used in the table.
var twins = [][2]string{
	{"en545", "iso2531"},
	{"iso4427", "en12201"},
	{"iso1452", "eniso1452"},
	{"en10220", "iso4200"},
}

// plain reduces a name to what tells it from others: lower case, no spaces,
// dashes, quotes or units of mm, decimal points for decimal commas.
func plain(name string) string {
	runes := []rune(strings.ToLower(name))
	var b strings.Builder
	digit := func(i int) bool { return i >= 0 && i < len(runes) && runes[i] >= '0' && runes[i] <= '9' }
	for i, r := range runes {
		switch {
		case r == '.' || r == ',':
			if digit(i-1) && digit(i+1) {
				b.WriteByte('.')
			}
		case r == '×' || r == '*':
			b.WriteByte('x')
		case r == '"' || r == '″': // inches
			b.WriteString("in")
		case r >= '0' && r <= '9' || r >= 'a' && r <= 'z':
			b.WriteRune(r)
		case r <= ' ' || strings.ContainsRune("-–/()\u00a0\u202f", r):
		default:
			b.WriteRune(r) // kept, so that it is not taken for something else
		}
	}
	key := b.String()
	for _, t := range twins {
		if rest, ok := strings.CutPrefix(key, t[1]); ok {
			key = t[0] + rest
			break
		}
	}
	key = strings.ReplaceAll(key, "schedule", "sch")
	key = strings.ReplaceAll(key, "inch", "in")
	if i := strings.LastIndex(key, "mm"); i > 0 {
		key = strings.ReplaceAll(key, "mm", "")
	}
	return strings.TrimSuffix(key, "cementlined")
}

// nearest returns the n names whose plain forms take the fewest changes to get
// to from key, those with nearer figures first.
func nearest(key string, n int) []string {
	type candidate struct {
		name string
		far  int
		off  float64
	}
	before := func(a, b candidate) bool { return a.far < b.far || a.far == b.far && a.off < b.off }
	last := lastNumber(key)
	best := make([]candidate, 0, n+1)
	limit := 1000 // longer than any name
	for _, k := range catalogue() {
		c := candidate{k.name, distance(key, k.plain, limit), math.Abs(last - k.last)}
		at := len(best)
		for at > 0 && before(c, best[at-1]) {
			at--
		}
		if at == n {
			continue
		}
		best = slices.Insert(best, at, c)
		if len(best) >= n {
			best = best[:n]
			limit = best[n-1].far
		}
	}
	found := make([]string, len(best))
	for i, c := range best {
		found[i] = c.name
	}
	return found
}

// distance is the number of letters to insert, drop or change to make b of a
// (Levenshtein), two neighbours exchanged counting as one. It gives up beyond a
// limit, with some number above it.
func distance(a, b string, limit int) int {
	if d := len(a) - len(b); d > limit || -d > limit {
		return max(d, -d)
	}
	var buffer [3][256]int
	if len(b) >= len(buffer[0]) || len(a) >= len(buffer[0]) {
		return max(len(a), len(b)) // no name is as long
	}
	before2, before, row := buffer[0][:len(b)+1], buffer[1][:len(b)+1], buffer[2][:len(b)+1]
	for j := range before {
		before[j] = j
	}
	for i := 1; i <= len(a); i++ {
		row[0] = i
		least := i
		for j := 1; j <= len(b); j++ {
			cost := 1
			if a[i-1] == b[j-1] {
				cost = 0
			}
			row[j] = min(before[j]+1, row[j-1]+1, before[j-1]+cost)
			if i > 1 && j > 1 && a[i-1] == b[j-2] && a[i-2] == b[j-1] {
				row[j] = min(row[j], before2[j-2]+1)
			}
			least = min(least, row[j])
		}
		if least > limit+1 { // an exchange may still gain one
			return least
		}
		before2, before, row = before, row, before2
	}
	return before[len(b)]
}

// lastNumber is the last figure in a name, or 0.
func lastNumber(s string) float64 {
	end := len(s)
	for end > 0 && !(s[end-1] >= '0' && s[end-1] <= '9') {
		end--
	}
	start := end
	for start > 0 && (s[start-1] >= '0' && s[start-1] <= '9' || s[start-1] == '.') {
		start--
	}
	v, err := strconv.ParseFloat(strings.Trim(s[start:end], "."), 64)
	if err != nil {
		return 0
	}
	return v
}

// byNumber compares names with their figures as numbers.
func byNumber(a, b string) int {
	fa, fb := strings.Fields(a), strings.Fields(b)
	for i := range min(len(fa), len(fb)) {
		if fa[i] == fb[i] {
			continue
		}
		x, errX := strconv.ParseFloat(fa[i], 64)
		y, errY := strconv.ParseFloat(fb[i], 64)
		if errX == nil && errY == nil {
			if x < y {
				return -1
			}
			return 1
		}
		return strings.Compare(fa[i], fb[i])
	}
	return len(fa) - len(fb)
}

// trim writes a figure without trailing zeros.
func trim(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }
