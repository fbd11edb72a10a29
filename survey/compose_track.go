package survey

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"obvert/document"
	"obvert/line"
	"obvert/quantity"
)

// When a profile is thinned without being asked: common practice, no source. The tolerance is below what a pipe is laid to.
const (
	ThinAbove      = 5000 // points; up to here all are kept
	UsualTolerance = 0.02 // m
)

// choose takes the track that suits a long section best, or the one that was named.
func (p *composer) choose() bool {
	type candidate struct{ reading, track int }
	var all []candidate
	for i := range p.readings {
		for j := range p.readings[i].Tracks {
			all = append(all, candidate{i, j})
		}
	}
	of := func(c candidate) *Track { return &p.readings[c.reading].Tracks[c.track] }
	if len(all) == 0 {
		var files []string
		for _, r := range p.readings {
			files = append(files, r.File)
		}
		p.faults = append(p.faults, document.Fault{File: strings.Join(files, ", "), What: "no profile is among what was read",
			Understood: "tables of equipment alone make no line", Hint: "name a file with a long section as well"})
		return false
	}
	best := -1
	for i, c := range all {
		switch {
		case p.c.Take != "" && !strings.EqualFold(of(c).Name, p.c.Take):
		case best < 0 || of(c).Score > of(all[best]).Score:
			best = i
		}
	}
	if best < 0 {
		var names []string
		for _, c := range all {
			names = append(names, of(c).Name)
		}
		f := document.Fault{Key: "--take", What: "there is no " + quantity.Quote(p.c.Take) + " to take", Understood: "there are " + quoted(names)}
		f.Hint = "say one of these"
		if near, ok := quantity.Nearest(p.c.Take, names); ok {
			f.Hint = "say --take " + quantity.Quote(near)
		}
		p.faults = append(p.faults, f)
		return false
	}
	p.from = all[best].reading
	p.track = *of(all[best])
	p.track.Points = slices.Clone(p.track.Points)
	r := p.readings[p.from]
	p.folder.File = r.File
	what := "Profile: " + quantity.Quote(p.track.Name) + " of " + baseName(r.File)
	if p.track.Name == baseName(r.File) || p.track.Name == "" {
		what = "Profile: " + baseName(r.File)
	}
	if p.track.Why != "" && len(all) > 1 {
		what += ", since " + p.track.Why
	}
	p.took("%s.", what)
	for i, c := range all {
		if i != best {
			p.left("%s of %s, %s: another was taken; say --take %s to take this one.", quantity.Quote(of(c).Name), baseName(p.readings[c.reading].File), points(len(of(c).Points)),
				quantity.Quote(of(c).Name))
		}
	}
	return true
}

func quoted(names []string) string {
	out := make([]string, 0, len(names))
	for _, n := range names {
		if len(out) == 12 {
			out = append(out, "…")
			break
		}
		out = append(out, quantity.Quote(n))
	}
	return strings.Join(out, ", ")
}

func points(n int) string {
	if n == 1 {
		return "1 point"
	}
	return fmt.Sprintf("%d points", n)
}

// settle brings the track into the form of a profile: chainage and level at every point, by rising chainage, thinned.
func (p *composer) settle() bool {
	t := &p.track
	p.folder.Points = len(t.Points)
	if !p.settleKind() {
		return false
	}
	if !t.HasChainage {
		p.reckonChainage()
	}
	p.dropUnlevelled()
	if p.faults.Err() != nil {
		return false
	}
	if len(t.Points) < 2 {
		p.fault(0, "a profile of "+points(len(t.Points)), "", "a profile needs two points or more")
		return false
	}
	p.checkFinite()
	if p.faults.Err() != nil {
		return false
	}
	p.checkPath()
	if t.Points[len(t.Points)-1].Chainage < t.Points[0].Chainage {
		slices.Reverse(t.Points)
	}
	if !p.checkOrder() {
		return false
	}
	p.ends = [2]float64{t.Points[0].Chainage, t.Points[len(t.Points)-1].Chainage}
	if p.c.Turn {
		p.turn()
	}
	p.checkMountain()
	p.checkZeros()
	p.checkLength()
	p.checkGround()
	p.checkNoise()
	if p.faults.Err() != nil {
		return false
	}
	return p.thin()
}

// settleKind settles what the levels are of. It is never guessed.
func (p *composer) settleKind() bool {
	t := &p.track
	if t.LevelKind == nil {
		t.LevelKind = p.c.LevelKind
	}
	if t.LevelKind == nil {
		p.fault(0, "of what the levels are is not said", "levels of obvert, invert, axis or ground", "say --level-kind obvert (or invert, axis, ground)")
		return false
	}
	p.kind = *t.LevelKind
	if p.ground() && !p.c.HasCover {
		p.fault(0, "levels of the ground, and no cover", "the pipe lies somewhere below the ground", "say --cover \"1.2 m\": the depth from the ground to the pipe's obvert")
		return false
	}
	return true
}

// ground reports levels of the ground alone.
func (p *composer) ground() bool { return p.kind == line.LevelGround }

// metre writes a length or level in m to the millimetre where it has millimetres.
func metre(v float64) string {
	for d := range 3 {
		scale := math.Pow10(d)
		if math.Abs(math.Round(v*scale)/scale-v) < 5e-7 {
			return quantity.Format(v, "m", d)
		}
	}
	return quantity.Format(v, "m", 3)
}

// reckonChainage sums straight distances on the plan.
func (p *composer) reckonChainage() {
	t := &p.track
	q := t.Points
	for i := 1; i < len(q); i++ {
		q[i].Chainage = q[i-1].Chainage + math.Hypot(q[i].East-q[i-1].East, q[i].North-q[i-1].North)
	}
	t.HasChainage = true
	if t.Chainages == "" {
		t.Chainages = "reckoned from the plan, straight from point to point"
	}
}

// dropUnlevelled leaves out points without a level where they are few.
func (p *composer) dropUnlevelled() {
	t := &p.track
	all := len(t.Points)
	var where []int
	t.Points = slices.DeleteFunc(t.Points, func(q Point) bool {
		if !q.HasLevel {
			where = append(where, q.Where)
		}
		return !q.HasLevel
	})
	if f, ok := unlevelled(p.readings[p.from].File, where, all); ok {
		p.faults = append(p.faults, f)
	}
}

// checkFinite refuses figures that no line can have.
func (p *composer) checkFinite() {
	for _, q := range p.track.Points {
		if math.IsNaN(q.Chainage+q.Level+q.Ground) || math.Abs(q.Chainage) > 1e7 || math.Abs(q.Level) > 1e4 || math.Abs(q.Ground) > 1e4 {
			p.fault(q.Where, "a point that no pipe has", fmt.Sprintf("chainage %.6g m, level %.6g m", q.Chainage, q.Level), "see whether the unit is another")
			return
		}
	}
}

// Of a path on the plan. A pipe turns by bends of 90° at most (see the rule for spikes of a profile); steps shorter than
// that are below what a survey resolves. The rest: common practice, no source.
const (
	sharpestTurn = -0.7071 // cosine of 135°
	leastStep    = 0.5     // m
	shownTurns   = 8
)

// checkPath finds points of a plan that stand out of order: there the line turns back on itself.
func (p *composer) checkPath() {
	t := &p.track
	if !t.HasPlan || t.Noise > 0 || strings.HasPrefix(t.Chainages, "read") {
		return
	}
	var back []int
	q := t.Points
	for i := 1; i+1 < len(q); i++ {
		ax, ay := q[i].East-q[i-1].East, q[i].North-q[i-1].North
		bx, by := q[i+1].East-q[i].East, q[i+1].North-q[i].North
		a, b := math.Hypot(ax, ay), math.Hypot(bx, by)
		if a > leastStep && b > leastStep && ax*bx+ay*by < sharpestTurn*a*b {
			back = append(back, q[i].Where)
		}
	}
	if len(back) > 0 {
		p.fault(back[0], "the points are out of order: the line turns back on itself at "+points(len(back)), "rows "+listed(back),
			"put the rows into the order along the pipe, or leave out points that are not on it")
	}
}

// checkOrder refuses chainage that falls. Readers sort what may be sorted; this is for those that cannot.
func (p *composer) checkOrder() bool {
	q := p.track.Points
	var back []int
	for i := 1; i < len(q); i++ {
		if q[i].Chainage < q[i-1].Chainage {
			back = append(back, q[i].Where)
		}
	}
	if len(back) > 0 {
		p.fault(back[0], "chainage falls at "+points(len(back)), "rows "+listed(back), "put the points into the order along the pipe")
		return false
	}
	if q[len(q)-1].Chainage-q[0].Chainage < 1 {
		p.fault(q[0].Where, "a profile without length", fmt.Sprintf("from %s to %s", metre(q[0].Chainage), metre(q[len(q)-1].Chainage)), "see whether the unit of chainage is another")
		return false
	}
	return true
}

// turn counts chainage from the other end.
func (p *composer) turn() {
	q := p.track.Points
	slices.Reverse(q)
	for i := range q {
		q[i].Chainage = p.turned(q[i].Chainage)
	}
	for i := range p.track.Pipes {
		s := &p.track.Pipes[i]
		s.From, s.To = p.turned(s.To), p.turned(s.From)
	}
	p.took("Turned: chainage counts from the other end.")
}

// turned is a chainage of the files counted from the other end, where the user asks for that. Both ends keep their chainages.
func (p *composer) turned(s float64) float64 {
	if !p.c.Turn {
		return s
	}
	return p.ends[0] + p.ends[1] - s
}

// What levels imply; common practice, no source.
const (
	mountain     = 1.0 / 3 // relief over length from which a line of any length is a mountain's
	mountainLong = 300.0   // m, shorter lines may be shafts
	feetInMetre  = 1 / 0.3048
	deepPipe     = 15.0 // m, median depth from the ground from which it is doubted
)

// checkMountain asks for the unit where levels imply a mountain.
func (p *composer) checkMountain() {
	q := p.track.Points
	low, high := q[0], q[0]
	for _, x := range q {
		if x.Level < low.Level {
			low = x
		}
		if x.Level > high.Level {
			high = x
		}
	}
	length := q[len(q)-1].Chainage - q[0].Chainage
	if length < mountainLong || high.Level-low.Level < mountain*length {
		return
	}
	understood := fmt.Sprintf("%s between lowest and highest on a length of %s", metre(high.Level-low.Level), metre(length))
	if p.c.LevelUnit {
		p.warn("survey.mountain", high.Where, "the levels imply a mountain", understood, "taken as meant, since their unit was stated")
		return
	}
	p.fault(high.Where, "the levels imply a mountain", understood,
		"are they in feet, or is chainage in km? Put the unit right in the file's head; where the line is so steep, say --level-unit m")
}

// Zero where no level was taken; common practice, no source.
const (
	farFromZero = 5.0  // m, from which the levels beside a zero must lie off it for the zero to be doubted
	dropToZero  = 0.2  // slope to such a zero from which it is none
	shortLine   = 20.0 // m, a pipeline's chainage that is doubted
)

// checkZeros looks for levels of exactly zero among others that lie far from it, as programs write them where no level was taken: refused
// where the pipe would fall to them steeply and rise again, else told. Levels that are all zero are refused.
func (p *composer) checkZeros() {
	q := p.track.Points
	var where []int
	steepest := 0.0
	for i := 0; i < len(q); i++ {
		if q[i].Level != 0 {
			continue
		}
		j := i
		for j+1 < len(q) && q[j+1].Level == 0 {
			j++
		}
		if i == 0 && j == len(q)-1 {
			p.fault(q[0].Where, "every level is zero", points(len(q))+" at 0 m", "zero stands where no level was taken: give the levels")
			return
		}
		if i > 0 && j < len(q)-1 { // an end at the sea is none
			a, b := q[i-1], q[j+1]
			if a.Level*b.Level > 0 && min(math.Abs(a.Level), math.Abs(b.Level)) >= farFromZero {
				for k := i; k <= j; k++ {
					where = append(where, q[k].Where)
				}
				steepest = max(steepest, math.Abs(a.Level)/max(q[i].Chainage-a.Chainage, 0.01), math.Abs(b.Level)/max(b.Chainage-q[j].Chainage, 0.01))
			}
		}
		i = j
	}
	if len(where) == 0 {
		return
	}
	what, understood := points(len(where))+" at level zero", "rows "+listed(where)+"; the points beside lie far from it"
	hint := "zero may stand where no level was taken: give the levels, or leave those cells empty or those points out"
	if steepest >= dropToZero {
		p.fault(where[0], what, understood, hint)
		return
	}
	p.warn("survey.zero-level", where[0], what, understood, hint)
}

// checkLength doubts a line of a few metres with many points: points that part thousands, or kilometres taken for metres.
func (p *composer) checkLength() {
	q := p.track.Points
	if length := q[len(q)-1].Chainage - q[0].Chainage; length < shortLine && len(q) > 2 {
		p.warn("survey.short", q[0].Where, "a line of "+metre(length)+" only", points(len(q))+" from "+chainageText(q[0].Chainage)+" to "+chainageText(q[len(q)-1].Chainage),
			"see whether chainage is in km (--plan-unit km), or a point in it parts thousands (--decimal-sign comma)")
	}
}

// checkGround looks at the ground beside the pipe: the same in another unit, or too far from it.
func (p *composer) checkGround() {
	if p.ground() {
		return
	}
	var ratios, depths []float64
	for _, q := range p.track.Points {
		if q.HasGround {
			depths = append(depths, q.Ground-q.Level)
			if math.Abs(q.Level) > 5 && math.Abs(q.Ground) > 5 {
				ratios = append(ratios, q.Ground/q.Level)
			}
		}
	}
	if len(depths) < 3 {
		return
	}
	slices.Sort(ratios)
	slices.Sort(depths)
	if n := len(ratios); n >= 3 {
		r := ratios[n/2]
		for _, c := range []struct {
			ratio      float64
			feet, metr string
		}{{feetInMetre, "ground", "pipe"}, {1 / feetInMetre, "pipe", "ground"}} {
			if math.Abs(r/c.ratio-1) < 0.03 {
				p.fault(p.track.Points[0].Where, "the levels of the "+c.feet+" look like feet, those of the "+c.metr+" like metres",
					fmt.Sprintf("ground over pipe is %.3f in the middle of %d points; 1 m is %.3f ft", r, n, feetInMetre), "put the unit right in the head of the column")
				return
			}
		}
	}
	if d := depths[len(depths)/2]; math.Abs(d) > deepPipe {
		side := "below"
		if d < 0 {
			side = "above"
		}
		p.warn("survey.deep", p.track.Points[0].Where, fmt.Sprintf("the pipe lies %s %s the ground", metre(math.Abs(d)), side),
			fmt.Sprintf("the middle of %d points with both levels", len(depths)), "see whether both columns are in one unit and above one datum")
	}
}

// sealingWorth is a usual sealing head, in m, that the noise of levels is held against; common practice, no source.
const sealingWorth = 0.2

// checkNoise says what levels of this kind are worth against a sealing head.
func (p *composer) checkNoise() {
	u := p.track.Noise
	if f := p.readings[p.from].Format; u < sealingWorth/4 || f == "GPX" || f == "GeoJSON" {
		return // the readers of satellite heights say more of them
	}
	p.warn("survey.noise", 0, "a level of this kind is worth ±"+quantity.Format(u, "m", 2)+" (standard uncertainty)",
		fmt.Sprintf("an air valve's sealing head is about %s, and %.3g times as much decides nothing", quantity.Format(sealingWorth, "m", 1), u/sealingWorth),
		"good for finding high points; have the pipe levelled before a valve is judged by it")
}

// thin leaves out points that lie within the tolerance of what is left.
func (p *composer) thin() bool {
	q := p.track.Points
	tolerance := p.c.Tolerance
	if !p.c.HasTolerance && len(q) > ThinAbove {
		tolerance = UsualTolerance
	}
	if tolerance > 0 {
		s, z := make([]float64, len(q)), make([]float64, len(q))
		ground := make([]float64, len(q))
		all := true
		for i := range q {
			s[i], z[i], ground[i] = q[i].Chainage, q[i].Level, q[i].Ground
			all = all && q[i].HasGround
		}
		levels := [][]float64{z}
		if all && !p.ground() {
			levels = append(levels, ground)
		}
		t, err := Thin(s, tolerance, nil, levels...)
		if err != nil {
			p.fault(0, "the profile cannot be thinned", err.Error(), "say --tolerance \"0 mm\"")
			return false
		}
		kept := make([]Point, len(t.Keep))
		for i, k := range t.Keep {
			kept[i] = q[k]
		}
		p.track.Points = kept
		if n := len(q) - len(kept); n > 0 {
			say := fmt.Sprintf("%s of %d kept: every other lies within %s of the profile that is left, measured vertically (tolerance %s).",
				capital(points(len(kept))), len(q), quantity.Format(t.Largest, "mm", 1), quantity.Format(tolerance, "mm", 0))
			if t.Summits > 0 {
				say += fmt.Sprintf(" %d small highs are gone, the greatest %s high.", t.Summits, quantity.Format(t.Flat, "mm", 0))
			}
			p.took("%s", say)
		}
	}
	if len(p.track.Points) > line.MaxProfilePoints {
		p.fault(0, "too many points for a profile", points(len(p.track.Points)), "thin them, such as --tolerance \"50 mm\"")
		return false
	}
	return true
}
