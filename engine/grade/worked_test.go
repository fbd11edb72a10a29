package grade

import (
	"testing"

	"obvert/internal/worked"
	"obvert/line"
)

// TestWorkedNumbers recomputes the numbers of docs/methods/grade.md.
func TestWorkedNumbers(t *testing.T) {
	b := newBuild()
	a, z := b.tank("tank", 100), b.tank("low", 60)
	b.run("main", a, z, 0.3, 1e-4, [2]float64{0, 95}, [2]float64{1000, 95}, [2]float64{2000, 55}, [2]float64{2500, 55})
	b.valve(0, "break", 1000, true)
	r := b.solve(t, b.kase(line.Gravity))
	worked.Hold(t, "grade.md", map[string]float64{
		"flow": r.Runs[0].Flow * 1000, "velocity head": speedHead(r.Runs[0].Flow, 0.3), "break": r.Runs[0].Head[1],
		"slack from": r.Slack[0].From, "slack to": r.Slack[0].To,
	})
}
