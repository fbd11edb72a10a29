package study

import (
	"testing"

	"obvert/engine/draining"
	"obvert/line"
)

// TestVacuumAgainstTheSmaller: the limit is the smaller of the practice's and the wall's, whichever the place. Figures of our own.
func TestVacuumAgainstTheSmaller(t *testing.T) {
	for _, c := range []struct {
		rule, vacuum, wall, want float64 // Pa
		severity                 Severity
	}{
		{34.5e3, 15e3, 830e3, 34.5e3, Holds}, // a stiff wall leaves the rule
		{34.5e3, 40e3, 830e3, 34.5e3, Fails},
		{34.5e3, 15e3, 10e3, 10e3, Fails}, // a thin one takes it away
		{34.5e3, 5e3, 10e3, 10e3, Holds},
	} {
		l := &line.Line{Practice: line.Practice{AdmitDifferential: line.Threshold{Value: c.rule}}}
		s := &solver{l: l}
		f := Finding{ID: "draining.scour", Severity: Holds}
		at := draining.VacuumPlace{Vacuum: c.vacuum, Allowed: c.wall, Margin: c.wall - c.vacuum}
		s.vacuum(&f, &draining.Result{WorstVacuum: at, LeastMargin: at, HasMargin: true})
		if f.Need.Value != c.want || f.Severity != c.severity {
			t.Errorf("rule %g, vacuum %g, wall %g Pa: held to %g, %v", c.rule, c.vacuum, c.wall, f.Need.Value, f.Severity)
		}
	}
}
