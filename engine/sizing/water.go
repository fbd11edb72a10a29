package sizing

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"obvert/line"
	"obvert/num"
	"obvert/physics/pipe"
	"obvert/quantity"
)

// duties finds what a valve at the place is wanted for, with the need of each, and which governs either way.
func (s *solver) duties(p *Place, out *PlaceResult) error {
	list := []Duty{s.drain(p)}
	falls := make([]fall, len(p.Legs))
	for i := range p.Legs {
		f, err := s.fall(&p.Legs[i])
		if err != nil {
			return err
		}
		falls[i] = f
	}
	if d, ok := s.fullBurst(p, falls); ok {
		list = append(list, d)
	}
	if d, ok := s.partBurst(p, falls); ok {
		list = append(list, d)
	}
	if d, ok := separation(p); ok {
		list = append(list, d)
	}
	list = append(list, s.fill(p))

	out.In.Governs, out.Out.Governs = -1, -1
	for i := range list {
		d := &list[i]
		d.Required = !slices.Contains(s.in.Shown, d.Kind)
		w, side := inward, &out.In
		if d.Kind == Fill {
			w, side = outward, &out.Out
		}
		if d.Bore == 0 {
			d.Bore = s.bore(p)
		}
		d.Velocity = pipe.Velocity(d.Water, d.Bore)
		d.Differential = side.Allowed.Differential
		if err := s.needs(d, w); err != nil {
			return err
		}
		if d.Required && d.Need.Mass >= leastMass && (side.Governs < 0 || d.Need.Mass > list[side.Governs].Need.Mass) {
			side.Governs = i
		}
	}
	out.Duties = list
	if g := out.In.Governs; g >= 0 && list[g].Differential == 0 {
		s.remark("sizing.no-vacuum", p, "no vacuum at all may be allowed here: the wall bears none beside its soil and water loads. No valve is large enough; strengthen the pipe or keep it full")
	}
	return nil
}

// needs fills in a duty's need on every basis, and that in force.
func (s *solver) needs(d *Duty, w way) error {
	for i, b := range []Basis{FreeAir, PipeAir, CooledAir} {
		z, err := s.size(b, w, d.Water, d.Differential)
		if err != nil {
			return err
		}
		if d.All[i] = z; b == s.in.Basis.counted(w) {
			d.Need = z
		}
	}
	return nil
}

// bore is the largest bore beside the place, m.
func (s *solver) bore(p *Place) float64 {
	d := 0.0
	for _, l := range p.Legs {
		d = max(d, s.section(l.Pieces[0]).Bore)
	}
	return d
}

// narrow is the smallest bore beside the place, m.
func (s *solver) narrow(p *Place) float64 {
	d := s.section(p.Legs[0].Pieces[0]).Bore
	for _, l := range p.Legs[1:] {
		d = min(d, s.section(l.Pieces[0]).Bore)
	}
	return d
}

// drain is the air in while the line is emptied on purpose.
func (s *solver) drain(p *Place) Duty {
	if p.DrainWater > 0 {
		return Duty{Kind: Drain, Leg: -1, Case: -1, Water: p.DrainWater, Source: "draining followed in time",
			Text: "Draining: " + litres(p.DrainWater) + " of water leaves at the peak."}
	}
	v, d := s.practice.DrainVelocity, s.bore(p)
	q := v.Value * pipe.Area(d)
	return Duty{Kind: Drain, Leg: -1, Case: -1, Water: q, Bore: d, Source: v.Source,
		Text: fmt.Sprintf("Draining at %s in a bore of %s: %s of water leaves.", speed(v.Value, 2), mm(d, 0), litres(q))}
}

// fall is what a leg does when it breaks.
type fall struct {
	flow    float64 // m³/s, the largest by gravity over any reach from the place to a break; 0 where it does not fall
	reach   float64 // m, of pipe to that break
	drop    float64 // m, over that reach
	deepest float64 // m, the largest drop of all
	bore    float64 // m, at the place
	feed    float64 // m³/s, what a leg that rises brings by gravity
	hazen   bool    // by Hazen–Williams
}

// fall walks a leg and finds the break that draws most. The flow to a break is that at which friction takes up the drop, and
// not more than the drop can set moving, √(2 g·drop).
func (s *solver) fall(l *Leg) (fall, error) {
	c := s.section(l.Pieces[0])
	f := fall{bore: c.Bore, hazen: c.HazenWilliams > 0}
	var r reach
	for _, p := range l.Pieces {
		r.add(s, p)
		f.deepest = max(f.deepest, r.drop)
		if r.drop <= 0 || f.flow > 0 && r.friction(s, f.flow) >= r.drop {
			continue // this break draws no more
		}
		q, err := r.flow(s, r.drop)
		if err != nil {
			return f, err
		}
		if q = min(q, r.area*math.Sqrt(2*s.site.Gravity*r.drop)); q > f.flow {
			f.flow, f.reach, f.drop = q, r.length, r.drop
		}
	}
	if r.drop < 0 {
		q, err := r.flow(s, -r.drop)
		if err != nil {
			return f, err
		}
		f.feed = q
	}
	return f, nil
}

// reach is the pipe from a place to a break: lengths in sections one after another.
type reach struct {
	length, drop float64
	area         float64 // least bore on the way, m²
	parts        []part
}

type part struct {
	run, section int
	length       float64
}

func (r *reach) add(s *solver, p Piece) {
	r.length, r.drop = r.length+p.Length, r.drop+p.Fall
	a := pipe.Area(s.section(p).Bore)
	if len(r.parts) == 0 || a < r.area {
		r.area = a
	}
	if n := len(r.parts); n > 0 && r.parts[n-1].run == p.Run && r.parts[n-1].section == p.Section {
		r.parts[n-1].length += p.Length
		return
	}
	r.parts = append(r.parts, part{p.Run, p.Section, p.Length})
}

// friction is the head lost over the reach by a flow, m.
func (r *reach) friction(s *solver, q float64) float64 {
	h := 0.0
	for _, p := range r.parts {
		slope, _ := s.law(p.run, p.section).Gradient(q)
		h += slope * p.length
	}
	return h
}

// flow is that which a head (m, above 0) drives through the reach.
func (r *reach) flow(s *solver, head float64) (float64, error) {
	least, most := math.Inf(1), 0.0
	for _, p := range r.parts { // one section alone, with all the head or the mean slope
		law := s.law(p.run, p.section)
		least, most = min(least, law.Flow(head/r.length)), max(most, law.Flow(head/r.length))
	}
	if len(r.parts) == 1 {
		return most, nil
	}
	q, out := num.Root(func(q float64) float64 { return r.friction(s, q) - head }, least*(1-1e-9), most*(1+1e-9), 1e-12*most)
	return q, out.Err("gravity flow of a leg")
}

// fullBurst is the air in when a leg breaks: each leg by itself, the larger counts.
func (s *solver) fullBurst(p *Place, falls []fall) (Duty, bool) {
	at := largest(falls, func(f fall) float64 { return f.flow })
	if at < 0 {
		return Duty{}, false
	}
	f := falls[at]
	d := Duty{Kind: FullBurst, Leg: at, Case: -1, Water: f.flow, Bore: f.bore,
		Source: "gravity flow of the leg on its slope, each high point and each leg by itself, the steeper side: AWWA Manual M51, from memory, and a trade application note"}
	var each []string
	for i, l := range p.Legs {
		if falls[i].flow > 0 {
			each = append(each, fmt.Sprintf("%s %s (%s over %s)", l.Name, litres(falls[i].flow), metres(falls[i].drop, 1), metres(falls[i].reach, 0)))
		}
	}
	d.Text = "Full-bore burst, each leg by itself: " + strings.Join(each, "; ") + "; the larger counts, they are not added."
	if feed := fed(p, falls, at); feed > 0 {
		d.Water = max(0, f.flow-feed)
		d.Text += fmt.Sprintf(" The leg above goes on bringing %s, which comes off.", litres(feed))
		d.Source += "; difference of two grades: G. M. Fair, J. C. Geyer, D. A. Okun, Water and Wastewater Engineering, vol. 1 (1966), Ex. 12.4"
	}
	if v := pipe.Velocity(f.flow, f.bore); f.hazen && v > 3 {
		s.remark("sizing.hazen-williams", p, "the burst flow runs at %s, beyond the 3 m/s or so that Hazen–Williams is good for", speed(v, 1))
	}
	return d, true
}

// fed is what rising legs bring while leg at falls, m³/s.
func fed(p *Place, falls []fall, at int) float64 {
	feed := 0.0
	if p.Fed {
		for i, f := range falls {
			if i != at {
				feed = max(feed, f.feed)
			}
		}
	}
	return feed
}

// partBurst is the air in when a hole opens in a leg: an orifice under the head, and not more than the leg can bring.
func (s *solver) partBurst(p *Place, falls []fall) (Duty, bool) {
	if p.Hole.Diameter == 0 {
		return Duty{}, false
	}
	cd := cmp.Or(p.Hole.Coefficient, usualHole)
	hole := func(f fall) float64 {
		head := cmp.Or(p.Hole.Head, f.deepest)
		return cd * pipe.Area(p.Hole.Diameter) * math.Sqrt(2*s.site.Gravity*head)
	}
	flow := func(f fall) float64 { return min(hole(f), f.flow) }
	at := largest(falls, flow)
	if at < 0 {
		return Duty{}, false
	}
	f := falls[at]
	d := Duty{Kind: PartBurst, Leg: at, Case: -1, Water: flow(f), Bore: f.bore,
		Source: "orifice under the static head: AWWA Manual M51 (2nd ed.) has the case, from memory; coefficient: textbook value"}
	d.Text = fmt.Sprintf("Hole of %s, coefficient %s, under %s of water: %s.", mm(p.Hole.Diameter, 0), quantity.Number(cd, 2),
		metres(cmp.Or(p.Hole.Head, f.deepest), 1), litres(hole(f)))
	if hole(f) > f.flow {
		d.Text += fmt.Sprintf(" The leg brings no more than %s, which counts.", litres(f.flow))
	}
	return d, true
}

// largest is the index of the leg with the largest figure above 0; −1 where none is.
func largest(falls []fall, of func(fall) float64) int {
	at := -1
	for i, f := range falls {
		if x := of(f); x > 0 && (at < 0 || x > of(falls[at])) {
			at = i
		}
	}
	return at
}

// separation is the air in when the flow stops upstream and the column beyond the place runs on: a bound, since it slows.
func separation(p *Place) (Duty, bool) {
	k := busiest(p)
	if k < 0 {
		return Duty{}, false
	}
	c := &p.Cases[k]
	return Duty{Kind: ColumnSeparation, Leg: -1, Case: k, Water: c.Flow,
		Source: "steady bound, own choice: what leaves at the first moment; a surge run shows less",
		Text:   fmt.Sprintf("Column separation: the flow stops upstream and the column beyond runs on at the %s of case %s.", litres(c.Flow), c.Name)}, true
}

// busiest is the flowing case with the largest flow, −1 where none flows.
func busiest(p *Place) int {
	at := -1
	for k := range p.Cases {
		c := &p.Cases[k]
		if (c.Kind == line.Pumping || c.Kind == line.Gravity) && c.Flow > 0 && (at < 0 || c.Flow > p.Cases[at].Flow) {
			at = k
		}
	}
	return at
}

// fill is the air out while the line is filled.
func (s *solver) fill(p *Place) Duty {
	if p.FillWater > 0 {
		return Duty{Kind: Fill, Leg: -1, Case: -1, Water: p.FillWater, Source: "filling flow as given", Text: "Filling at " + litres(p.FillWater) + "."}
	}
	at := -1
	for k := range p.Cases {
		if c := &p.Cases[k]; c.Kind == line.Filling && c.Flow > 0 && (at < 0 || c.Flow > p.Cases[at].Flow) {
			at = k
		}
	}
	if at >= 0 {
		c := &p.Cases[at]
		return Duty{Kind: Fill, Leg: -1, Case: at, Water: c.Flow, Source: "filling case",
			Text: fmt.Sprintf("Filling at the %s of case %s.", litres(c.Flow), c.Name)}
	}
	v, d := s.practice.FillingVelocity, s.bore(p)
	q := v.Value * pipe.Area(d)
	return Duty{Kind: Fill, Leg: -1, Case: -1, Water: q, Bore: d, Source: v.Source,
		Text: fmt.Sprintf("Filling at %s in a bore of %s: %s.", speed(v.Value, 2), mm(d, 0), litres(q))}
}
