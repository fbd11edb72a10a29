package pipe

import "math"

// Local is a local loss: a fitting, an entrance, an exit.
//
//	h = K v|v|/2g
//
// with v the mean velocity in a full bore of the given diameter.
type Local struct {
	K    float64 `unit:"1"` // local loss coefficient
	Bore float64 `unit:"m"` // of the pipe whose velocity K refers to
}

// Coefficient returns r, s²/m⁵, in h = r q|q| under gravity g, m/s².
func (l Local) Coefficient(g float64) float64 {
	area := Area(l.Bore)
	return l.K / (2 * g * area * area)
}

// HeadLoss returns the head h, m, lost by a flow q, m³/s, under gravity g, m/s²,
// and its derivative dhdq, s/m², which is zero at no flow: add it to a friction
// law, or handle it where it stands alone.
func (l Local) HeadLoss(q, g float64) (h, dhdq float64) {
	r := l.Coefficient(g)
	return r * q * math.Abs(q), 2 * r * math.Abs(q)
}

// Enlargement returns the local loss of a sudden enlargement from the bore d1
// to the bore d2, m (d2 ≥ d1), on the velocity in d1: Borda and Carnot's
// (v₁−v₂)²/2g, so K = (1 − (d1/d2)²)². An exit into a tank has K = 1.
func Enlargement(d1, d2 float64) Local {
	ratio := d1 / d2
	k := 1 - ratio*ratio
	return Local{K: k * k, Bore: d1}
}

// Fitting is a row of the table of local losses.
type Fitting struct {
	Name    string
	K       float64 `unit:"1"` // local loss coefficient on the velocity in the pipe
	Scatter float64 `unit:"1"` // relative scatter of published values; 0: not stated
	Source  string
}

const (
	textbook = "Çengel & Cimbala, Fluid Mechanics, table 8-4 (values from memory)"
	scatter  = "; scatter: Hydraulic Institute, Engineering Data Book, table 3.B.1"
)

// Fittings returns a short table of local losses, for want of a maker's figure.
// Published values scatter widely; where the source says by how much, so does
// the table.
func Fittings() []Fitting {
	return []Fitting{
		{"entrance, sharp-edged", 0.50, 0, textbook},
		{"entrance, re-entrant", 0.80, 0, textbook},
		{"entrance, well rounded", 0.03, 0, textbook},
		{"exit into a tank", 1.00, 0.03, "Borda–Carnot; turbulent, uniform velocity" + scatter},
		{"bend 90°, smooth, flanged", 0.30, 0.35, textbook + scatter},
		{"bend 90°, mitred, without vanes", 1.10, 0, textbook},
		{"bend 90°, mitred, with vanes", 0.20, 0, textbook},
		{"elbow 45°, threaded", 0.40, 0, textbook},
		{"tee, straight through, flanged", 0.20, 0, textbook},
		{"tee, into the branch, flanged", 1.00, 0, textbook},
		{"gate valve, fully open", 0.20, 0.50, textbook + scatter},
		{"ball valve, fully open", 0.05, 0, textbook},
		{"globe valve, fully open", 10.0, 0, textbook},
		{"check valve, swing", 2.00, 0, textbook},
	}
}
