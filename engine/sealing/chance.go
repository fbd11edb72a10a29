package sealing

import (
	"math"

	"obvert/num"
)

// lot is what the reckoning of chances needs of one valve in one case. The zero value is a valve whose memory is lost:
// no water at its seat.
type lot struct {
	wet    bool    // water stands under it, so that its head has a meaning
	counts bool    // it has a probability of dripping
	shut   bool    // shut after this case, as reckoned
	air    bool    // as reckoned, the water does not reach the seat
	head   float64 // m, at the seat
	rough  float64 // m, change of head for one standard deviation of roughness; signed
	level  float64 // m, standard uncertainty of the level it stands under
	group  int     // index of that level, −1 for none
	past   past    // what earlier cases mean for it

	rise, fall       float64 // m, heads that count in this case; equal where the letting-go head does not help
	riseKept         float64 // m, the same for what this case leaves behind: the safe end of what is known; may be +Inf
	fallKept         float64 // m
	riseOwn, fallOwn float64 // m, standard deviations of the two thresholds
}

// newLot gathers the errors of one head.
func (s *solver) newLot(at At, k int, head float64, lim limits) lot {
	l := lot{wet: true, head: head, group: at.Group, rough: at.Roughness * s.in.Uncertainty.Roughness}
	if at.Group >= 0 {
		l.level = s.in.Cases[k].LevelSigma[at.Group]
	}
	if l.level == 0 {
		l.group = -1
	}
	l.riseKept, l.fallKept = lim.rise.hi, lim.fall.hi
	l.riseOwn, l.fallOwn = lim.rise.sigma, lim.fall.sigma
	return l
}

// aim sets the thresholds that count in the lot's own case: of what is known only between bounds the lower end where the
// valve drips, else the upper.
func (l *lot) aim(lim limits, state State) {
	l.rise, l.fall = lim.rise.hi, lim.fall.hi
	if state == Drips {
		l.rise, l.fall = lim.rise.low(), lim.fall.low()
	}
}

// sigmaHead is the standard uncertainty of a lot's head in metres, with or without what it shares with other valves.
func (s *solver) sigmaHead(l *lot, shared bool) float64 {
	u := s.in.Uncertainty
	if !shared {
		return u.Independent
	}
	return math.Sqrt(u.Independent*u.Independent + u.Datum*u.Datum + l.level*l.level + l.rough*l.rough)
}

// common is a state of the errors that valves share, as seen by one valve in one case.
type common struct {
	shift float64 // m, added to the head in the case itself
	own   float64 // m, standard deviation of what is left of the head's error there

	past     float64 // m, added to its heads in earlier cases, besides roughness
	pastOwn  float64 // m, standard deviation of what is left of those, besides level and roughness
	rough    float64 // standard deviations by which the roughness is off, where it is fixed
	fixRough bool
}

// past says what a lot's earlier cases mean for it.
type past uint8

const (
	noPast   past = iota // not shut before: the case stands for itself
	surePast             // shut before by a margin that no error undoes
	openPast             // it depends on the errors
)

// sure is the margin, in standard deviations, beyond which a valve was shut whatever the errors: 8 for each of the up to
// three common ones, which may act together.
const sure = 3 * reach

// pastOf finds what the cases before k mean for valve i.
func (s *solver) pastOf(i, k int) past {
	if l := &s.lots[i][k]; l.fall == l.rise && l.fallOwn == l.riseOwn {
		return noPast
	}
	p := noPast
	for j := range k {
		l := &s.lots[i][j]
		if !l.wet {
			p = noPast
			continue
		}
		own := s.sigmaHead(l, true)
		shuts := distance(l.riseKept-l.head, math.Hypot(own, l.riseOwn))
		holds := distance(l.fallKept-l.head, math.Hypot(own, l.fallOwn))
		switch {
		case shuts < -sure, p == surePast && holds < -sure:
			p = surePast
		case math.IsInf(shuts, 1) && p == noPast, math.IsInf(holds, 1):
			p = noPast
		case shuts > sure && p == noPast:
		default:
			p = openPast
		}
	}
	return p
}

// chance is the probability that a valve drips in a case, all errors free. Where it depends on an uncertain history, the
// level of the seat, which errs alike in all cases, is integrated over.
func (s *solver) chance(i, k int) float64 {
	l := &s.lots[i][k]
	u := s.in.Uncertainty
	all := s.sigmaHead(l, true)
	l.past = s.pastOf(i, k)
	if l.past != openPast {
		return max(0, s.leftOpen(i, k, common{own: all}, 0)-dry(l.head, all))
	}
	seat := math.Hypot(u.Datum, u.Independent)
	least := leastOwn * seat
	c := common{own: math.Hypot(l.level, l.rough)}
	open := 0.0
	for _, z := range grid(max(least, math.Hypot(c.own, min(l.riseOwn, l.fallOwn))), seat, 0) {
		c.shift = z.Z * seat
		c.past = c.shift
		open += z.Weight * s.leftOpen(i, k, c, least)
	}
	// Where the normal error of the threshold reaches below zero head, the difference can fall below zero by that tail.
	return max(0, open-dry(l.head, all))
}

// dripsGiven is the probability that a valve drips in a case, given the common errors: that water reaches its seat and
// that its history leaves it open. No own error is taken below least (m).
func (s *solver) dripsGiven(i, k int, c common, least float64) float64 {
	open := s.leftOpen(i, k, c, least)
	if open == 0 {
		return 0
	}
	return max(0, open-dry(s.lots[i][k].head+c.shift, max(c.own, least)))
}

// dry is the probability that no water reaches the seat under a head (m) with a standard uncertainty (m).
func dry(head, sigma float64) float64 {
	switch {
	case sigma > 0:
		return below(-head / sigma)
	case head <= 0:
		return 1
	}
	return 0
}

// leftOpen is the probability that the head in case k does not shut valve i and that it does not hold from before: see
// the package comment.
func (s *solver) leftOpen(i, k int, c common, least float64) float64 {
	l := &s.lots[i][k]
	head := l.head + c.shift
	open := below(distance(l.rise-head, max(math.Hypot(c.own, l.riseOwn), least)))
	if l.past == noPast || open == 0 {
		return open
	}
	lets := distance(l.fall-head, max(math.Hypot(c.own, l.fallOwn), least))
	if l.past == surePast {
		return min(open, below(lets))
	}
	return min(open, s.lost(i, k, lets, c, least))
}

// lost is the probability that no earlier shutting lasts until case k, in which the valve lets go where its holding error
// is below lets (standard deviations). Shutting errors are one for all cases, holding errors another.
func (s *solver) lost(i, k int, lets float64, c common, least float64) float64 {
	shuts := math.Inf(1) // the easiest of the shuttings so far, walking back
	done := below(lets)  // the part of the holding error that is dealt with
	lost := done
	for j := k - 1; j >= 0 && s.lots[i][j].wet && done < 1; j-- {
		l := &s.lots[i][j]
		head := l.head + c.past
		own := c.pastOwn*c.pastOwn + l.level*l.level
		if c.fixRough {
			head += c.rough * l.rough
		} else {
			own += l.rough * l.rough
		}
		shuts = min(shuts, distance(l.riseKept-head, max(math.Sqrt(own+l.riseOwn*l.riseOwn), least)))
		lets = max(lets, distance(l.fallKept-head, max(math.Sqrt(own+l.fallOwn*l.fallOwn), least)))
		next := below(lets)
		lost += (next - done) * below(shuts)
		done = next
	}
	return lost + (1-done)*below(shuts)
}

// below is the probability of a standard normal variable below z, 0 and 1 beyond what matters here.
func below(z float64) float64 {
	switch {
	case z < -reach:
		return 0
	case z > reach:
		return 1
	}
	return num.NormalCDF(z)
}

// distance is x in standard deviations; without a deviation it is infinite, and −Inf at x = 0, where a head just
// suffices.
func distance(x, sigma float64) float64 {
	if sigma > 0 {
		return x / sigma
	}
	if x > 0 {
		return math.Inf(1)
	}
	return math.Inf(-1)
}
