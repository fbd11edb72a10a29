package pocket

import (
	"fmt"
	"math"

	"obvert/num"
	"obvert/physics/pipe"
)

// HeadLost returns the head (m) by which the grade line falls along a stationary pocket that takes a length of pipe (m)
// falling at an angle (rad below the horizontal): length·sin θ. Under the pocket water runs part full at its pressure, so
// the grade line keeps a constant height above the water's surface, and the surface falls as the pipe does; the jump at
// the lower end gives the full bore again at the pocket's pressure. Depth that changes along the pocket, less than one
// bore, is left out.
//
// Sources: R. C. Edmunds, Air binding in pipes, J. AWWA 71 (1979) no. 5, 272–277; G. Corcos, Air in Water Pipes 2003/2004;
// I. W. M. Pothof, F. H. L. R. Clemens, J. Hydraulic Research 48 (2010) no. 4; all from memory.
func HeadLost(length, angle float64) float64 { return length * math.Sin(angle) }

// conveyances is the number of parts into which a half bore's angle is cut to invert the conveyance.
const conveyances = 256

// filled is the share of the bore's area that water takes, by the share of the full bore's conveyance, from empty to full.
// It follows A·R^(2/3), Manning's form (any hydraulics text; with Chézy's R^(1/2) the share differs by up to 0.03, near a full bore, by our
// own reckoning). Only its rising part is kept, up to the depth at which a part-full bore first conveys what a full one does.
var filled = conveyanceCurve()

func conveyanceCurve() *num.Curve {
	const bore = 1.0
	full := pipe.Area(bore)
	x, y := []float64{0}, []float64{0}
	for k := 1; k < conveyances; k++ {
		depth := bore * (1 - math.Cos(math.Pi*float64(k)/conveyances)) / 2
		area := pipe.SegmentArea(depth, bore) / full
		c := area * math.Pow(4*pipe.HydraulicRadius(depth, bore)/bore, 2.0/3)
		if c >= 1 {
			// The last piece, cut at a conveyance of 1.
			n := len(x) - 1
			y = append(y, y[n]+(area-y[n])*(1-x[n])/(c-x[n]))
			x = append(x, 1)
			break
		}
		x, y = append(x, c), append(y, area)
	}
	curve, err := num.Linear(x, y)
	if err != nil {
		panic("pocket: " + err.Error())
	}
	return curve
}

// Filled returns the share of the bore's area (1) that water takes under a pocket, running freely at normal depth, where the
// full bore would need a gradient of its grade line (1) for the same flow down a pipe of slope (sine, 1). ok is false where
// the gradient is no less than the slope: then the flow fills the bore, and no pocket stands in it.
func Filled(gradient, slope float64) (share float64, ok bool) {
	if !(gradient >= 0) || math.IsInf(gradient, 0) || !(slope > 0 && slope <= 1) {
		panic(fmt.Sprintf("pocket: gradient %g, slope %g: the gradient is 0 or more, the slope above 0, to 1", gradient, slope))
	}
	if gradient >= slope {
		return 1, false
	}
	share, _, _ = filled.At(math.Sqrt(gradient / slope))
	return share, true
}

// Length returns the length of pipe (m) that a pocket of a volume (m³, at the pipe's pressure) takes in a bore (m) over
// water that takes a share of its area (1, below 1).
func Length(volume, bore, share float64) float64 {
	if !(share >= 0 && share < 1) {
		panic(fmt.Sprintf("pocket: water takes %g of the bore: give 0 to below 1", share))
	}
	return volume / (pipe.Area(bore) * (1 - share))
}
