package pocket

import (
	"fmt"
	"math"
)

// Carried says whether water takes a pocket with it.
type Carried uint8

// The verdicts.
const (
	NotKnown Carried = iota // no relation but a rule of thumb holds for the pipe
	ByNone
	BySome
	ByAll
)

// String is the verdict in words.
func (c Carried) String() string {
	return [...]string{"not known", "carried by none", "carried by some", "carried by all"}[c]
}

// Critical is what one relation asks of the water.
type Critical struct {
	Velocity float64 `unit:"m/s"` // at and above which it carries; outside the range, what the formula gives there
	InRange  bool
}

// Criticals is what every relation asks in one pipe, in the order of [Relations]. Least and Largest are over those that
// count: in range, and made for the pocket where its size is given.
type Criticals struct {
	Least   float64 `unit:"m/s"`
	Largest float64 `unit:"m/s"`
	Counted int     // relations that count, the flat rule among them
	Known   bool    // another than the flat rule counts
	By      []Critical
}

// Says is what one relation says of a velocity.
type Says struct {
	Relation string  // its ID
	Velocity float64 `unit:"m/s"` // critical
	InRange  bool
	Counts   bool // in range, and made for the pocket where its size is given
	Carries  bool // in range, and the water is at least as fast
}

// Verdict is what all relations say of a velocity.
type Verdict struct {
	Carried Carried
	Least   float64 `unit:"m/s"` // smallest critical velocity of those that count
	Largest float64 `unit:"m/s"` // largest
	By      []Says  // in the order of Relations
}

// At returns what every relation asks in a pipe that falls at an angle (rad, 0 to π/2), of a bore (m), under gravity g
// (m/s²), for pockets of every size. It panics outside the range of its arguments.
func At(angle, bore, g float64) Criticals { return at(angle, bore, g, math.NaN()) }

// AtSize is [At] for pockets of one number n (1): relations made for others do not count.
func AtSize(angle, bore, g, n float64) Criticals {
	if !(n > 0) || math.IsInf(n, 0) {
		panic(fmt.Sprintf("pocket: pocket number %g: give a finite number above 0", n))
	}
	return at(angle, bore, g, n)
}

// Bounds is [At] without the single relations: By is empty, and nothing is allocated.
func Bounds(angle, bore, g float64) Criticals {
	var c Criticals
	c.reckon(angle, bore, g, math.NaN())
	return c
}

// at takes a size of NaN for every size.
func at(angle, bore, g, n float64) Criticals {
	c := Criticals{By: make([]Critical, len(relations))}
	c.reckon(angle, bore, g, n)
	return c
}

// reckon fills in the figures, and those of single relations where By has room for them.
func (c *Criticals) reckon(angle, bore, g, n float64) {
	check(angle, bore, g)
	s, wave := newSteepness(angle), math.Sqrt(g*bore)
	for i := range relations {
		r := &relations[i]
		v, in := r.critical(s, bore, wave)
		if c.By != nil {
			c.By[i] = Critical{Velocity: v, InRange: in}
		}
		if !in || !counts(r, n) {
			continue
		}
		if c.Counted == 0 || v < c.Least {
			c.Least = v
		}
		c.Largest = max(c.Largest, v)
		c.Counted++
		c.Known = c.Known || !r.Rule()
	}
}

// counts reports whether a relation holds for pockets of number n, NaN for every size.
func counts(r *Relation, n float64) bool { return math.IsNaN(n) || r.Sized(n) }

// Carried tells whether water of a velocity (m/s, down the slope) takes a pocket with it.
func (c *Criticals) Carried(velocity float64) Carried {
	switch {
	case !c.Known:
		return NotKnown
	case velocity >= c.Largest:
		return ByAll
	case velocity >= c.Least:
		return BySome
	}
	return ByNone
}

// Judge tells what every relation says of water that flows with a velocity (m/s) down a pipe at an angle (rad, 0 to π/2), of
// a bore (m), under gravity g (m/s²), of pockets of every size. It panics outside the range of its arguments.
func Judge(velocity, angle, bore, g float64) Verdict {
	return judge(velocity, At(angle, bore, g), math.NaN())
}

// JudgeSize is [Judge] for pockets of one number n (1).
func JudgeSize(velocity, angle, bore, g, n float64) Verdict {
	return judge(velocity, AtSize(angle, bore, g, n), n)
}

func judge(velocity float64, c Criticals, n float64) Verdict {
	if math.IsNaN(velocity) || math.IsInf(velocity, 0) {
		panic(fmt.Sprintf("pocket: velocity %g m/s", velocity))
	}
	v := Verdict{Carried: c.Carried(velocity), Least: c.Least, Largest: c.Largest, By: make([]Says, len(relations))}
	for i := range relations {
		by := c.By[i]
		v.By[i] = Says{
			Relation: relations[i].ID, Velocity: by.Velocity, InRange: by.InRange,
			Counts: by.InRange && counts(&relations[i], n), Carries: by.InRange && velocity >= by.Velocity,
		}
	}
	return v
}
