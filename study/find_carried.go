package study

import (
	"context"
	"fmt"
	"math"

	"obvert/engine/grade"
	"obvert/engine/siting"
	"obvert/line"
	"obvert/physics/pocket"
	"obvert/quantity"
)

// airStays is, by case, what the line delivers with every pocket that may stand in it.
type airStays struct {
	kase    int
	pockets []grade.Pocket
	legs    int
	flow    float64 // m³/s delivered without pockets
	left    float64 // m³/s delivered with them
	extra   float64 // m, head that they cost, full legs
	worst   *siting.Leg
	bound   string // why nothing flows with them
}

// pockets tries each flowing case with all the air that may stay in it.
func (s *solver) pockets(ctx context.Context) error {
	s.stays = make([]airStays, len(s.l.Cases))
	return parallel(ctx, len(s.l.Cases), func(k int) error {
		a := &s.stays[k]
		a.kase = k
		if c := s.l.Cases[k].Kind; c != line.Pumping && c != line.Gravity {
			return nil
		}
		most := 0.0
		for i := range s.res.Siting.Legs {
			leg := &s.res.Siting.Legs[i]
			for j := range leg.Cases {
				c := &leg.Cases[j]
				if c.Case != k || !c.Longest.Stands || c.Longest.Extra <= 0 || c.Carried == pocket.NotKnown {
					continue
				}
				a.pockets = append(a.pockets, grade.Pocket{Run: leg.Run, From: leg.From, To: leg.PocketTo})
				a.legs++
				a.extra += c.Longest.Extra
				if c.Longest.Extra > most {
					most, a.worst = c.Longest.Extra, leg
				}
			}
		}
		if a.legs == 0 {
			return nil
		}
		a.flow = s.delivered(&s.res.Grades[k])
		g, err := grade.Solve(ctx, grade.Input{Net: s.net, Case: k, Pockets: a.pockets})
		if ctx.Err() != nil {
			return ctx.Err()
		}
		if err != nil {
			a.bound = err.Error()
			return nil
		}
		a.left = s.delivered(g)
		return nil
	})
}

// findCarried tells where air that comes out or is left behind may stay, and what it costs if it does.
func (s *solver) findCarried() {
	for k := range s.stays {
		a := &s.stays[k]
		if a.legs == 0 || a.flow <= 0 {
			continue
		}
		share := 1 - a.left/a.flow
		f := Finding{ID: "siting.air-stays", Severity: Notable, Run: a.worst.Run, Chainage: a.worst.From, Cases: []int{k},
			Title: fmt.Sprintf("In %s air may stay in %s", s.quoted(k), fallingLegs(a.legs)), Have: Figure{m2(a.extra), a.extra, "m"}, HaveLabel: "of head, were all of them full of air",
			Source: "critical velocities of published relations, which differ by a factor of two; each is shown with its range"}
		v := a.worst.Cases[0]
		for _, c := range a.worst.Cases {
			if c.Case == k {
				v = c
			}
		}
		f.Text = fmt.Sprintf("The water runs down the worst of them, from %s, at %s; the relations ask for %s to %s: %s. ", ch(a.worst.From), quantity.Format(v.Velocity, "m/s", 2),
			quantity.Format(a.worst.Worst.Critical.Least, "m/s", 1), quantity.Format(a.worst.Worst.Critical.Largest, "m/s", 1), v.Carried)
		switch {
		case a.bound != "" || a.left < 1e-9:
			f.ID, f.Severity = "siting.air-bound", Doubtful
			f.Text += "Tried with all of them full of air: nothing flows, the line is air-bound. "
		case math.Abs(share) >= 0.005:
			f.Text += fmt.Sprintf("Tried with all of them full of air: %s instead of %s. ", quantity.Format(a.left, "L/s", 1), quantity.Format(a.flow, "L/s", 1))
		default:
			f.Text += "Tried with all of them full of air: the flow stays within half a per cent. "
		}
		f.Cures = []string{"Keep a working small orifice at the head of each falling leg, and start slowly so that no air is left behind."}
		s.res.Findings = append(s.res.Findings, f)
	}
}

func fallingLegs(n int) string {
	if n == 1 {
		return "a falling leg"
	}
	return fmt.Sprintf("%d falling legs", n)
}
