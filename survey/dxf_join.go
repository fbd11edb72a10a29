package survey

import (
	"math"
	"strings"

	"obvert/formats/dxf"
	"obvert/line"
)

// levelWords are words in layers' names that say what a level is of, by the words of profiles' heads.
var levelWords = []struct {
	kind  line.LevelKind
	words []string
}{
	{line.LevelObvert, []string{"obvert", "soffit", "crown"}},
	{line.LevelInvert, []string{"invert"}},
	{line.LevelAxis, []string{"axis", "centreline", "centerline", "centre-line", "center-line"}},
	{line.LevelGround, []string{"ground", "terrain", "surface", "natural"}},
}

// pipeWords are words in layers' names that speak for the line of a pipe, and otherWords such that speak against it.
var (
	pipeWords  = []string{"obvert", "soffit", "crown", "invert", "axis", "centreline", "centerline", "pipe", "main", "profile", "section", "alignment"}
	otherWords = []string{"frame", "border", "grid", "hatch", "title", "text", "dim", "staff", "band", "datum", "hair", "leader", "grade", "water-level", "water level", "standing", "contour", "road", "parcel", "limit", "pressure", "label", "note", "equipment", "valve", "mark", "match"}
)

// hasWord tells whether a layer's name holds one of some words.
func hasWord(layer string, words []string) bool {
	l := strings.ToLower(layer)
	for _, w := range words {
		if strings.Contains(l, w) {
			return true
		}
	}
	return false
}

func isGround(layer string) bool {
	return hasWord(layer, levelWords[3].words) && !hasWord(layer, otherWords)
}

// layerWorth is how much a layer's name speaks for the line of a pipe: 1 for an obvert, less for others, 0 for none, negative
// where it speaks against it.
func layerWorth(layer string) float64 {
	switch {
	case hasWord(layer, otherWords):
		return -0.5
	case hasWord(layer, pipeWords[:3]):
		return 1
	case hasWord(layer, pipeWords):
		return 0.8
	case isGround(layer):
		return 0.3
	}
	return 0
}

// shortList is the first n of some names, with a word for the rest.
func shortList(names []string, n int) []string {
	if len(names) <= n {
		return names
	}
	return append(names[:n:n], "and others")
}

// end is one end of a chain.
type end struct {
	chain int
	last  bool // its last point, else its first
}

// join puts the open chains of a layer together where exactly two ends lie within tol of one another. Where more meet, the
// line branches, and the pieces stay as they are. The order is that of the first piece of each.
func join(chains []dxf.Chain, tol float64) []dxf.Chain {
	type cell struct {
		layer string
		x, y  int64
		z     int64
	}
	grid := func(c *dxf.Chain, p dxf.Vertex, dx, dy, dz int64) cell {
		return cell{c.Layer, int64(math.Floor(p.X/tol)) + dx, int64(math.Floor(p.Y/tol)) + dy, int64(math.Floor(p.Z/tol)) + dz}
	}
	ends := map[cell][]end{}
	point := func(e end) dxf.Vertex {
		p := chains[e.chain].Points
		if e.last {
			return p[len(p)-1]
		}
		return p[0]
	}
	for i := range chains {
		if chains[i].Closed {
			continue
		}
		for _, last := range []bool{false, true} {
			e := end{i, last}
			k := grid(&chains[i], point(e), 0, 0, 0)
			ends[k] = append(ends[k], e)
		}
	}
	// partner is the one other end at an end's place, if it is the only one.
	partner := func(e end) (end, bool) {
		p := point(e)
		var found end
		n := 0
		for dx := int64(-1); dx <= 1; dx++ {
			for dy := int64(-1); dy <= 1; dy++ {
				for dz := int64(-1); dz <= 1; dz++ {
					for _, o := range ends[grid(&chains[e.chain], p, dx, dy, dz)] {
						q := point(o)
						if o != e && math.Hypot(math.Hypot(p.X-q.X, p.Y-q.Y), p.Z-q.Z) <= tol {
							if n++; n > 1 {
								return end{}, false
							}
							found = o
						}
					}
				}
			}
		}
		return found, n == 1 && found.chain != e.chain
	}
	used := make([]bool, len(chains))
	var out []dxf.Chain
	for i := range chains {
		if used[i] {
			continue
		}
		used[i] = true
		if chains[i].Closed {
			out = append(out, chains[i])
			continue
		}
		c := chains[i]
		// Walk from each end outwards, and keep the points in the order before and after.
		var before, after []dxf.Vertex
		for _, last := range []bool{false, true} {
			e := end{i, last}
			for {
				o, ok := partner(e)
				if !ok || used[o.chain] {
					break
				}
				used[o.chain] = true
				pts := chains[o.chain].Points
				for k := 1; k < len(pts); k++ { // its first point is the one there already
					j := k
					if o.last {
						j = len(pts) - 1 - k
					}
					if last {
						after = append(after, pts[j])
					} else {
						before = append(before, pts[j])
					}
				}
				c.Arcs += chains[o.chain].Arcs
				e = end{o.chain, !o.last}
			}
		}
		if len(before)+len(after) > 0 {
			pts := make([]dxf.Vertex, 0, len(before)+len(c.Points)+len(after))
			for k := len(before) - 1; k >= 0; k-- {
				pts = append(pts, before[k])
			}
			c.Points = append(append(pts, c.Points...), after...)
		}
		out = append(out, c)
	}
	return out
}
