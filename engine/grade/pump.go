package grade

import (
	"obvert/line"
	"obvert/physics/pump"
)

// headCurve is a pump's head curve at a speed relative to that of its points.
func headCurve(p *line.Pump, speed float64) (pumpCurve, error) {
	c, _, err := pump.NewCurve(p.Curve) // its notes are line's to give
	if err != nil {
		return nil, err
	}
	return c.AtSpeed(speed), nil
}
