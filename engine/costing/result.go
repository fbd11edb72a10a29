package costing

import "obvert/physics/valve"

// Duty is the stations' work in one way of operating.
type Duty struct {
	Flow     float64 `unit:"m³/s"` // through the station concerned
	Head     float64 `unit:"m"`    // added by its pumps
	Power    float64 `unit:"W"`    // electric, all stations of the line
	Hours    float64 `unit:"h"`    // a day, for the day's volume
	Energy   float64 `unit:"kWh"`  // a year
	Speed    float64 `unit:"1"`    // relative, 1 at full speed
	Possible bool    // false: the pumps cannot do it; see Why
	Why      string
}

// Option is what it takes, with one type of the rack at the place, to hold that valve shut while the line pumps.
type Option struct {
	Record         int // index into the rack
	Name           string
	Sealing        float64     `unit:"m"` // head it needs at its seat
	Bound          valve.Bound // how Sealing is known; with MoreThan all figures are least ones
	Enough         bool        // the place has that head already: nothing changes
	RaisedHead     float64     `unit:"m"` // at the pump at fixed speed, against the base; may be less than the sealing head, 0 or negative
	RaisedVariable float64     `unit:"m"` // the same with the speed changed
	Fixed          Duty        // pumps at fixed speed: the duty moves along their curve
	Variable       Duty        // speed changed to keep the base flow
	CostFixed      float64     `unit:"currency"` // a year, above the base, in the line's currency
	CostVariable   float64     `unit:"currency"`
	RuleOfThumb    float64     `unit:"currency"` // ρ g Q Δh / η at the base duty, a year
	Carbon         float64     `unit:"kg"`       // a year, fixed speed
}

// Result is the price of sealing head at one place in one pumping case.
type Result struct {
	Valve       string
	Run         int
	Chainage    float64 `unit:"m"`
	Case        int
	Base        Duty // as it runs now: valve open where the summit is slack
	Options     []Option
	HeadNow     float64 `unit:"m"`  // at the seat as it runs now
	Efficiency  float64 `unit:"1"`  // at the base duty, from the mains to the water, as the rule of thumb takes it
	DailyVolume float64 `unit:"m³"` // delivered a day in every way of operating
	Currency    string
	Priced      bool     // a price of energy was given; without it all costs are 0
	Assumed     []string // plain sentences
	Notes       []Note
}

// Note is a remark on a result, with a stable id.
type Note struct {
	ID    string
	Where string
	Text  string
}
