package sealing

// Shape is the distribution of an error. Whatever its shape, an error has zero mean and the standard uncertainty given.
type Shape uint8

// The shapes.
const (
	Normal      Shape = iota
	Rectangular       // even between ±√3 standard uncertainties (JCGM 100:2008, 4.3.7)
	Triangular        // symmetric, between ±√6 standard uncertainties (JCGM 100:2008, 4.3.9)
	// LogNormal is for the roughness alone: it is multiplied by exp(s·z), z standard normal, s² = ln(1 + u²), u its relative
	// standard uncertainty. The roughness given is its median, and its relative standard deviation is u about its mean.
	LogNormal
)

// String is the word for a shape.
func (s Shape) String() string {
	return [...]string{"normal", "rectangular", "triangular", "log-normal"}[s]
}

// Shapes are the distributions of all errors. The zero value is normal throughout.
type Shapes struct {
	Datum       Shape
	Independent Shape
	Roughness   Shape
	Level       Shape // of the level a pool or a flowing case stands under
	Bench       Shape // of the error of a threshold's mean
	Scatter     Shape // of a threshold from one shutting to the next
}

// normal reports whether all are.
func (s Shapes) normal() bool { return s == Shapes{} }

// Options are how to draw. The zero value is 1,000 draws from seed 0 by as many workers as there are processors.
type Options struct {
	N         int // draws; 0: DefaultDraws
	Seed      uint64
	Workers   int  // 0: one a processor; the result does not depend on it
	NoIndices bool // leave out which input matters for the chance that any valve drips, which takes most of the time
}

// DefaultDraws is the number of draws where none is given.
const DefaultDraws = 1000

// Estimate is a probability found by drawing.
type Estimate struct {
	P     float64 `unit:"1"` // share of the draws
	Error float64 `unit:"1"` // standard error; not 0 even where no draw or every one has it, see [Draws]
}

// Source is a kind of error.
type Source uint8

// The kinds of error.
const (
	DatumError     Source = iota // common to all seats
	LevelError                   // of tanks and pools
	RoughnessError               // of all pipes
	SurveyError                  // of each seat by itself
	BenchError                   // of each threshold's mean
	ScatterError                 // of each threshold from one shutting to the next
	Sources        = iota        // how many there are
)

// String is the words for a kind of error.
func (s Source) String() string {
	return [...]string{"datum", "water level", "roughness", "survey of the seat", "bench", "scatter"}[s]
}

// DrawnCell is one valve in one case.
type DrawnCell struct {
	Drips Estimate
	// Shares of the variance of the margin by kind of error, exact; all 0 where the cell has no margin or no error.
	Shares [Sources]float64 `unit:"1"`
}

// DrawnValve is one valve in all cases.
type DrawnValve struct {
	Name  string
	Cells []DrawnCell // by case
	Ever  Estimate    // it drips in one case or more
}

// Index says how much one kind of error matters for an event.
type Index struct {
	First float64 `unit:"1"` // share of the event's variance that knowing this kind of error would take away
	Error float64 `unit:"1"` // standard error
}

// DrawnAny is the event that any valve drips.
type DrawnAny struct {
	Drips Estimate
	// Indices by kind of error; what is missing to a sum of 1 is their acting together. HasIndices is false where they were
	// not asked for, or the event came in no draw or in every one.
	Indices    [Sources]Index
	HasIndices bool
}

// Drawn is what [Draws] finds.
type Drawn struct {
	N      int
	Seed   uint64
	Shapes Shapes
	Valves []DrawnValve // as in the input
	Any    []DrawnAny   // by case
	Ever   DrawnAny     // any valve drips in any case
	Notes  []Note
}
