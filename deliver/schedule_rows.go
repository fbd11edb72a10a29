package deliver

import (
	"fmt"
	"strings"

	"obvert/engine/sealing"
	"obvert/engine/sizing"
	"obvert/line"
	"obvert/study"
)

// place fills what the line and the rack say of a valve: ground, size, connection, rating, remarks.
func (row *ScheduleRow) place(r *study.Result, s *sealing.ValveResult) {
	run := &r.Line.Runs[s.Run]
	if g, ok := groundAt(run, s.Chainage); ok {
		row.Ground = ptr(g)
	}
	var remarks []string
	if s.Placed >= 0 && s.Placed < len(run.Placed) {
		p := &run.Placed[s.Placed]
		if t := trimmedText(p.Remark); t != "" {
			remarks = append(remarks, t)
		}
		if p.Isolated {
			remarks = append(remarks, "its isolating valve is shut: it neither admits nor releases air")
		}
		if !p.AdmitsAir && !p.Isolated {
			remarks = append(remarks, "lets no air in")
		}
	}
	if s.Record >= 0 && s.Record < len(r.Line.Rack) {
		rec := &r.Line.Rack[s.Record]
		if rec.NominalDiameter > 0 {
			row.NominalDiameter = ptr(rec.NominalDiameter)
		}
		row.Connection = trimmedText(rec.Connection)
		if rec.Rating > 0 {
			row.Rating, row.RatingHead = ptr(rec.Rating), ptr(r.Line.Site.Head(rec.Rating))
		}
		if rec.Typical {
			remarks = append(remarks, "a generic class, no particular valve: to be replaced by measured figures")
		}
	} else {
		remarks = append(remarks, "no type is chosen")
	}
	row.Remarks = strings.Join(remarks, "; ")
}

// groundAt is the level of the ground, in metres above datum, between two points of the profile that both give it.
func groundAt(run *line.Run, chainage float64) (float64, bool) {
	for i := range run.Points {
		p := &run.Points[i]
		if p.HasGround && p.Chainage == chainage {
			return p.Ground, true
		}
		if i == 0 {
			continue
		}
		q := &run.Points[i-1]
		if q.Chainage < chainage && chainage < p.Chainage && q.HasGround && p.HasGround {
			return q.Ground + (p.Ground-q.Ground)*(chainage-q.Chainage)/(p.Chainage-q.Chainage), true
		}
	}
	return 0, false
}

// air fills what sizing says of a valve.
func (row *ScheduleRow) air(r *study.Result, s *sealing.ValveResult) {
	p := sizedPlace(r, s)
	if p == nil {
		return
	}
	row.AirIn, row.AirOut = scheduleAir(p, &p.In), scheduleAir(p, &p.Out)
	row.SizeVerdict = p.Verdict.String()
	if smallByRule(p) {
		row.SizeVerdict = ruleVerdict
	}
	if p.Release.Wanted && p.Release.Needed > 0 {
		row.SmallOrifice = ptr(p.Release.Needed)
	}
}

// sizedPlace is the place of a valve in the sizing; nil where it was not sized.
func sizedPlace(r *study.Result, s *sealing.ValveResult) *sizing.PlaceResult {
	for i := range r.Sizing.Places {
		if p := &r.Sizing.Places[i]; p.Placed >= 0 && p.Placed == s.Placed && p.Run == s.Run {
			return p
		}
	}
	return nil
}

func scheduleAir(p *sizing.PlaceResult, w *sizing.Way) ScheduleAir {
	a := ScheduleAir{Verdict: "nothing required"}
	if w.Governs >= 0 && w.Governs < len(p.Duties) {
		d := &p.Duties[w.Governs]
		a.Duty, a.Differential, a.Needed, a.NeededFree = d.Kind.String(), ptr(d.Differential), ptr(d.Need.Mass), ptr(d.Need.Free)
		a.Verdict = "not known"
	}
	if g := &w.Given; g.Known {
		a.Given, a.GivenFree, a.GivenAt = ptr(g.Mass), ptr(g.Free), ptr(g.Differential)
		if a.Duty != "" {
			a.Verdict = map[bool]string{true: "enough", false: "too little"}[g.Enough]
		}
	}
	return a
}

// inCase adds the next operating case.
func (row *ScheduleRow) inCase(r *study.Result, cell *sealing.Cell, c int) {
	k := ScheduleCase{Name: r.Line.Cases[c].Name, Head: ptr(cell.Head), Rule: ruleWord(cell.Rule), State: cell.State.String()}
	if row.LargestHead == nil || cell.Head > *row.LargestHead {
		row.LargestHead, row.LargestCase = ptr(cell.Head), k.Name
	}
	row.OverRating = row.OverRating || cell.OverRating
	if cell.State == sealing.Tight || cell.State == sealing.Drips {
		k.Needed, k.Margin, k.Probability = ptr(cell.Needed), ptr(cell.Margin), ptr(cell.Probability)
		if row.SmallestMargin == nil || cell.Margin < *row.SmallestMargin {
			row.SmallestMargin, row.SmallestCase = ptr(cell.Margin), k.Name
		}
		if row.LikeliestDrip == nil || cell.Probability > *row.LikeliestDrip {
			row.LikeliestDrip, row.LikeliestCase = ptr(cell.Probability), k.Name
		}
	}
	switch {
	case cell.HasLeak:
		k.Leak = ptr(cell.Leak)
	case cell.State == sealing.Tight:
		k.Leak = ptr(0)
	}
	row.Cases = append(row.Cases, k)
}

// ruleWord is the word for a rule, as in the JSON.
func ruleWord(r sealing.Rule) string { return enumWords[fmt.Sprintf("%T", r)][r] }
