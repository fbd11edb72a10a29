package siting

import (
	"math"
	"testing"

	"obvert/line"
	"obvert/physics/pocket"
)

// The usual practice against the numbers published: 380 to 760 m (1,250 to 2,500 ft) on long even runs (AWWA Manual M51, from memory); a rise of at
// least 1:500 towards a valve (practitioners' rule, forum eng-tips.com, thread 125263).
func TestPracticeAgainstPublished(t *testing.T) {
	p := line.DefaultPractice()
	if s := p.Spacing.Value; s < 1250*0.3048 || s > 2500*0.3048 {
		t.Errorf("spacing %g m", s)
	}
	if p.Flat.Value != 1.0/500 {
		t.Errorf("least rise %g", p.Flat.Value)
	}
}

// What counts as a high point the trade decides by the velocity: at up to 2 ft/s air stays, over 3.5 ft/s it goes (practitioners, forum eng-tips.com,
// thread 362867), 4 ft/s or 1.2 m/s drag a bubble down (WPCF Manual of Practice FD-4). Those are flat figures. In 150 to 300 mm on 1° to 5° the
// relations by slope and diameter agree that 2 ft/s does not carry all air; of 3.5 ft/s some deny that it goes.
func TestFlatVelocitiesAgainstRelations(t *testing.T) {
	const foot, degree = 0.3048, math.Pi / 180
	for _, bore := range []float64{0.15, 0.2, 0.3} {
		for _, angle := range []float64{1, 2, 5} {
			if v := pocket.Judge(2*foot, angle*degree, bore, 9.81); v.Carried == pocket.ByAll {
				t.Errorf("%g m at %g°: 2 ft/s carries air by all", bore, angle)
			}
			if v := pocket.Judge(3.5*foot, angle*degree, bore, 9.81); v.Carried != pocket.BySome {
				t.Errorf("%g m at %g°: at 3.5 ft/s %v, want by some", bore, angle, v.Carried)
			}
		}
	}
	rules := 0
	for _, r := range pocket.Relations() {
		if !r.Rule() {
			continue
		}
		rules++
		if v, _ := r.Critical(2*degree, 0.3, 9.81); v < 3.9*foot || v > 4*foot {
			t.Errorf("the flat rule is %g m/s, printed as 4 ft/s, 1.2 m/s", v)
		}
	}
	if rules != 1 {
		t.Errorf("%d flat rules, want 1", rules)
	}
}
