package line

import (
	"math"

	"obvert/document"
	"obvert/quantity"
)

// The keys of a run's profile table in line.toml that the hints below name.
const (
	keyLevelKind    = "level_kind"
	keyLevelUnit    = "level_unit"
	keyChainageUnit = "chainage_unit"
	keyCover        = "cover"
	keyBackstep     = "largest_backstep"
	keyStakes       = "stakes"
	keyColumns      = "columns"
	keyDecimal      = "decimal_sign"
	keyAlongPipe    = "along_pipe"
)

// Limits of a profile file. The levels run from the shore of the Dead Sea to above
// the highest summit on land (common knowledge, no source); a quarter of a meridian
// is 10⁷ m (the first definition of the metre, 1791) and longer than any pipe.
const (
	MaxProfileBytes  = 64_000_000 // size of a profile file, byte
	MaxProfilePoints = 5_000_000  // rows with figures
	lowestLevel      = -430.0     // m
	highestLevel     = 9000.0     // m
	farthestChainage = 1e7        // m
	defaultBackstep  = 1.0        // m
	deepestCover     = 100.0      // m, either way
)

// ProfileOptions are what a line's document may say about a profile. The zero value
// says nothing: then the file's header must say it all.
type ProfileOptions struct {
	Stakes       quantity.Stakes // what "1+250" means; zero: km+m
	LevelKind    *LevelKind      // what the levels are of; nil: the header says
	LevelUnit    string          // unit of levels, where neither header nor cell says
	ChainageUnit string          // unit of chainage, where neither header nor cell says
	Cover        *float64        `unit:"m"` // from ground down to the obvert; needed for a profile of the ground
	MaxBackstep  float64         `unit:"m"` // backsteps up to this are sorted; 0: 1 m; negative: none is
	AlongPipe    bool            // chainage is measured along the pipe, not on the plan
	// BoreAt gives the bore in m at a chainage in m, at a border that of the section that begins there.
	// It is called for profiles of the invert or the axis only.
	BoreAt func(chainage float64) (bore float64, ok bool)
	// Borders are the chainages where one section ends and the next begins. A profile of invert or axis gets a
	// vertical step of its obvert at each where the bore changes. May be empty: then the change is spread over a leg.
	Borders []float64 `unit:"m"`
	// Columns names columns outright: key a header as written or a column number ("2"), value a role:
	// chainage, obvert, invert, axis, ground, level, ignore. Columns not named are understood by their headers.
	Columns map[string]string
	Decimal string // "point" or "comma"; empty: found out from the figures
}

// ProfileResult is a profile as read. Points is nil where there is any fault.
type ProfileResult struct {
	Points    []Point   // by rising chainage, two or more
	LevelKind LevelKind // what the survey gave
	Dialect   Dialect   // how the file was understood
	Reversed  bool      // the file ran downstream to upstream and was turned
}

// ReadProfile reads the profile of one run from the bytes of a text file with columns.
// The file's name is for the faults only. All that is wrong, doubtful or worth saying
// comes in one pass; use [document.Faults.Err] to see whether the points can be used.
// How a file is understood is written down in docs/methods/profile.md.
func ReadProfile(file string, data []byte, o ProfileOptions) (ProfileResult, document.Faults) {
	p := &profileReader{options: o, faults: newFaultList(file), mostPoints: MaxProfilePoints, mostBytes: MaxProfileBytes}
	p.read(data)
	return p.result, p.faults.All()
}

// profileReader holds what is known of a file while it is read.
type profileReader struct {
	options    ProfileOptions
	faults     *faultList
	mostPoints int
	mostBytes  int
	survey     bool   // a survey is read, not the profile of a document: see survey.go
	text       []byte // UTF-8, lines ended by \n or \r\n
	sep        byte
	header     header
	columns    columnPlan
	decimal    byte // '.' or ','
	stakes     stakeRule
	chainage   cellUnit
	level      cellUnit
	ground     cellUnit
	east       cellUnit // of a survey: of its x
	north      cellUnit // of its y
	partial    bool     // a unit is missing: rows are read for their own faults only
	kindless   bool     // of what the levels are is not said: no points come of them
	dropped    map[string]*DroppedRows
	grouped    map[byte]bool // thousands separators met
	result     ProfileResult
}

// read runs the steps one after another; each that cannot go on has said why.
func (p *profileReader) read(data []byte) {
	p.dropped, p.grouped = map[string]*DroppedRows{}, map[byte]bool{}
	if !p.checkOptions() || !p.decode(data) || !p.findHeader() || !p.planColumns() || !p.findDecimal() {
		return
	}
	rows := p.readRows(p.readRow)
	p.describe(rows)
	if p.partial {
		return
	}
	if len(rows) < 2 {
		p.tooFew(rows)
		return
	}
	rows, p.result.Reversed = p.order(rows)
	rows = p.dropRepeats(rows)
	p.findSpikes(rows)
	if p.kindless {
		return
	}
	if points := p.points(rows); !p.faults.Fatal {
		p.result.Points = points
	}
}

// checkOptions refuses options that no document reader should have let through.
func (p *profileReader) checkOptions() bool {
	o := &p.options
	ok := true
	fail := func(key, what, hint string) {
		ok = false
		p.faults.Add(document.Fault{Key: key, What: what, Hint: hint})
	}
	if math.IsNaN(o.MaxBackstep) || math.IsInf(o.MaxBackstep, 0) {
		fail(keyBackstep, "the largest backstep is not a number", "write a length, such as \"1 m\"")
	}
	if o.MaxBackstep == 0 {
		o.MaxBackstep = defaultBackstep
	}
	if o.Cover != nil && !(math.Abs(*o.Cover) <= deepestCover) {
		fail(keyCover, "a cover of "+quantity.Format(*o.Cover, "m", 1)+" is not one of a pipe",
			"write the depth from the ground to the obvert, such as \"1.2 m\"")
	}
	if o.LevelKind != nil && *o.LevelKind > LevelGround {
		fail(keyLevelKind, "an unknown kind of level", "write obvert, invert, axis or ground")
	}
	for _, u := range []struct{ key, text string }{{keyLevelUnit, o.LevelUnit}, {keyChainageUnit, o.ChainageUnit}} {
		if u.text == "" {
			continue
		}
		if _, known := unitOfText(u.text); !known {
			fail(u.key, quantity.Quote(u.text)+" is not a unit of length", "write m, km, cm, mm, ft or ftUS")
		}
	}
	switch o.Decimal {
	case "", "point", "comma":
	default:
		fail(keyDecimal, quantity.Quote(o.Decimal)+" is not a decimal sign", "write point or comma")
	}
	s, err := newStakeRule(o.Stakes)
	if err != "" {
		fail(keyStakes, err, "write the distance between two stakes, such as \"1 km\", \"100 ft\" or \"20 m\"")
	}
	p.stakes = s
	return ok
}

// tooFew reports a profile of no row or of one.
func (p *profileReader) tooFew(rows []surveyRow) {
	if p.faults.badRows > 0 {
		return // the faulty rows are told one by one
	}
	f := document.Fault{
		What:       "no row with figures",
		Understood: "the header in line " + itoa(p.header.line) + " and nothing under it",
		Hint:       "a profile needs two points or more",
	}
	if len(rows) == 1 {
		f = document.Fault{
			Line:       int(rows[0].line),
			What:       "a profile of one point",
			Understood: "chainage " + chainageText(rows[0].s),
			Hint:       "a profile needs two points or more, the first and the last at the run's ends",
		}
	}
	p.faults.Add(f)
}
