package pocket

import "math"

const (
	escarameia = "M. Escarameia, Investigating hydraulic removal of air from water pipelines, Proc. ICE Water Management 160 (2007) 25–34, " +
		"and M. Escarameia et al., Air in pipelines, HR Wallingford SR 649 (2005): the form as quoted by practitioners (engineers' forum eng-tips.com, thread 202513); classes, safety factor and range from memory"
	escarameiaRange = "0 to 22.5° and bores to 1 m as its authors advise, from memory; tested at 150 mm"
	ourBound        = "our own bound, no source"
	// The form that water authorities use; UNAM (Mexico) manual SM13 as read; also written V = 1.146·√(g·D·S), 10 % less.
	kalinske = "A. A. Kalinske, P. H. Bliss, Removal of air from pipe lines by flowing water, Civil Engineering (ASCE) 13 (1943) no. 10, 480–482"
)

// escarameiaOf is one of the four classes of pocket.
func escarameiaOf(id, name string, a, from, to float64) Relation {
	return Relation{
		ID: id, Name: "Escarameia, " + name, Form: "V/√(gD) = S_f (a + 0.56 √sin θ)", Source: escarameia, Range: escarameiaRange,
		Weight: FromMemory, Slope: Sine, Safety: 1.1, FromAngle: 0, ToAngle: 22.5, FromBore: leastBore, ToBore: 1,
		FromSize: from, ToSize: to, constant: a, root: 0.56,
	}
}

// relations are all of them.
var relations = [...]Relation{
	escarameiaOf("escarameia-tiny", "n to 0.06", 0.45, 0, 0.06),
	escarameiaOf("escarameia-small", "n 0.06 to 0.12", 0.50, 0.06, 0.12),
	escarameiaOf("escarameia-medium", "n 0.12 to 0.30", 0.57, 0.12, 0.30),
	escarameiaOf("escarameia-large", "n 0.30 to 2.0", 0.61, 0.30, 2.0),
	{
		ID: "wisner", Name: "Wisner, Mohsen and Kouwen, envelope", Form: "V/√(gD) = 0.825 + 0.25 √sin θ",
		Source: "P. E. Wisner, F. N. Mohsen, N. Kouwen, Removal of air from water lines by hydraulic means, J. Hydraulics Div. ASCE 101 (1975) HY2, 243–257, as quoted from R. L. Sanks, Pumping Station Design",
		Range:  "falling at 0 to 45°: " + ourBound + " for an envelope of several authors' tests",
		Weight: Quoted, Slope: Sine, Safety: 1, ToAngle: 45, FromBore: leastBore, constant: 0.825, root: 0.25,
	},
	{
		ID: "kent", Name: "Kent", Form: "V/√(gD) = 1.23 √sin θ",
		Source: "J. C. Kent, The entrainment of air by water flowing in circular conduits with downgrade slopes, thesis, University of California, Berkeley 1952, from memory",
		Range:  "15 to 60°, from memory",
		Weight: FromMemory, Slope: Sine, Safety: 1, FromAngle: 15, ToAngle: 60, FromBore: leastBore, root: 1.23,
	},
	{
		ID: "mosvoll", Name: "Kent's tests by Mosvoll", Form: "V/√(gD) = 0.55 + 0.5 √sin θ",
		Source: "G. Mosvoll 1976, analysing J. C. Kent's tests of 1952 anew, from memory",
		Range:  "15 to 60° as Kent tested, from memory",
		Weight: FromMemory, Slope: Sine, Safety: 1, FromAngle: 15, ToAngle: 60, FromBore: leastBore, constant: 0.55, root: 0.5,
	},
	kalinskeOf("kalinske-full", "Kalinske and Bliss, coefficient 1", "Q²/(gD⁵) = tan θ", 1, Quoted,
		kalinske+", as used by the Mexican manual SM13 (UNAM); also written V = 1.146 √(gDS), a tenth less"),
	kalinskeOf("kalinske-first", "Kalinske and Bliss, coefficient 0.707", "Q²/(gD⁵) = 0.707 tan θ", 0.707, FromMemory,
		kalinske+", the original coefficient, for the first removal, from memory"),
	{
		ID: "corcos", Name: "Corcos", Form: "V/√(gD) = 0.484",
		Source: "G. Corcos, Air in Water Pipes, Agua Para La Vida 2003/2004, from memory",
		Range:  "mild slopes, from memory, taken to 5°: " + ourBound,
		Weight: FromMemory, Safety: 1, ToAngle: 5, FromBore: leastBore, constant: 0.484,
	},
	{
		ID: "benjamin", Name: "Benjamin, Zukoski: drift of a long bubble, horizontal", Form: "V/√(gD) = 0.542",
		Source: "T. B. Benjamin, Gravity currents and related phenomena, J. Fluid Mech. 31 (1968) 209–248; E. E. Zukoski, J. Fluid Mech. 25 (1966) 821–837, from memory",
		Range:  "horizontal; taken to 1°: " + ourBound,
		Weight: FromMemory, Safety: 1, ToAngle: 1, FromBore: leastBore, constant: 0.542,
	},
	{
		ID: "taylor", Name: "Dumitrescu, Davies and Taylor: drift of a long bubble, vertical", Form: "V/√(gD) = 0.35",
		Source: "D. T. Dumitrescu, Z. angew. Math. Mech. 23 (1943) 139–149; R. M. Davies, G. Taylor, Proc. R. Soc. Lond. A 200 (1950) 375–390, from memory",
		Range:  "vertical; taken from 85°: " + ourBound,
		Weight: FromMemory, Safety: 1, FromAngle: 85, ToAngle: 90, FromBore: leastBore, constant: 0.35,
	},
	pothofOf("pothof-low", "Pothof and Clemens, clearing number, lower", "V/√(gD) = 0.90", 0.90),
	pothofOf("pothof-high", "Pothof and Clemens, clearing number, upper", "V/√(gD) = 1.00", 1.00),
	{
		ID: "flat", Name: "flat rule, WPCF FD-4", Form: "V = 1.2 m/s", flat: 1.2,
		Source: "Water Pollution Control Federation, Manual of Practice FD-4, Design of Wastewater and Stormwater Pumping Stations: one velocity, whatever slope and bore",
		Range:  "none given",
		Weight: Read, Safety: 1, ToAngle: 90, FromBore: leastBore,
	},
}

// kalinskeOf is their relation with one of the coefficients in use. Its lower end is ours: below 1° it says that any flow
// carries any pocket, which all the others deny.
func kalinskeOf(id, name, form string, c float64, w Weight, source string) Relation {
	return Relation{
		ID: id, Name: name, Form: form, Source: source, Range: "to 17.5°, from memory; from 1°: " + ourBound + "; the formula goes to 0 with the slope",
		Weight: w, Slope: Tangent, Safety: 1, FromAngle: 1, ToAngle: 17.5, FromBore: leastBore, root: 4 / math.Pi * math.Sqrt(c),
	}
}

// pothofOf is one end of the clearing numbers.
func pothofOf(id, name, form string, f float64) Relation {
	return Relation{
		ID: id, Name: name, Form: form,
		Source: "I. W. M. Pothof, F. H. L. R. Clemens, On elongated air pockets in downward sloping pipes, J. Hydraulic Research 48 (2010) no. 4, and I. W. M. Pothof, thesis, TU Delft 2011, from memory: about 0.90 near 10°, 0.9 to 1.0 from 5 to 20°",
		Range:  "5 to 20°, bores from 200 mm, from memory",
		Weight: FromMemory, Safety: 1, FromAngle: 5, ToAngle: 20, FromBore: 0.2, constant: f,
	}
}
