// Package pocket tells whether water that flows down a sloping pipe carries a pocket
// of air with it, by each published relation separately, and what head a pocket
// costs that stays.
//
// # Symbols
//
//	V        mean velocity of the water in the full bore, m/s
//	D        bore, m
//	g        gravity, m/s²
//	θ        angle of the pipe below the horizontal, rad
//	n        pocket number 4·V_air/(π·D³): length of the pocket in bores, were it to fill the bore
//	F = V/√(g·D)
//
// # Relations
//
// A relation gives the critical F: at or above it the pocket goes with the water,
// below it the pocket stays or creeps upwards.
//
//	Escarameia                  F = S_f·(a + 0.56·√sin θ), a by pocket number, S_f = 1.1
//	Wisner, Mohsen, Kouwen      F = 0.825 + 0.25·√sin θ
//	Kent                        F = 1.23·√sin θ
//	Kent's tests by Mosvoll     F = 0.55 + 0.5·√sin θ
//	Kalinske, Bliss             Q²/(g·D⁵) = c·tan θ, so F = (4/π)·√(c·tan θ), c = 1 or 0.707
//	Corcos                      F = 0.484
//	Benjamin, Zukoski           F = 0.542, horizontal
//	Dumitrescu, Davies, Taylor  F = 0.35, vertical
//	Pothof, Clemens             F = 0.90 to 1.00
//	flat rule                   V = 1.2 m/s
//
// They disagree by a factor of two and more, and that of Kalinske and Bliss, alone,
// goes to zero with the slope. So no single figure is given here: [Judge] says
// "carried by all", "by some" or "by none" of those whose range holds the pipe, and
// what each says. Sources and ranges stand with each relation ([Relations]), with
// the weight of what is known of it: read, read where another quotes it, or from memory.
//
// # A pocket that stays
//
// Under it water runs part full at constant pressure; at its lower end it jumps to
// the full bore. The grade line falls along it as the water's surface does, and so by
// its length times the sine of the slope: [HeadLost]. The friction that full pipe would
// have had over that length is part of this, not on top of it.
//
// # Range of validity
//
// Pockets, not swarms of bubbles; clean water; bores of 50 mm and more: below that,
// surface tension holds a pocket that these relations would let go. Constants that
// come from pipes of 100 to 500 mm are used beyond them by the square root of the bore,
// which is Froude's law of models, not a measurement.
package pocket
