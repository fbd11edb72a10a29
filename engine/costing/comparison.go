package costing

// Kind is one of the ways out.
type Kind uint8

// The ways out.
const (
	AcceptLeak         Kind = iota
	LowerSealing            // another valve that shuts at less head
	Sustaining              // a sustaining valve
	SustainingAndPumps      // a sustaining valve, with pumps that keep the flow of now
	HigherTerminal          // a higher water level at the end
	LargerPumps             // more head at the same flow
	Relocation              // the air valve in another place
	Regrading               // the pipe laid deeper
)

// Year is what a way costs and uses in one year. Its money is that above the line as it runs now, were it tight: what the
// stations take now anyway is in no way's account.
type Year struct {
	Energy     float64 `unit:"kWh"`      // all stations, with refilling
	MoreEnergy float64 `unit:"kWh"`      // above the line as it runs now; may be negative
	EnergyCost float64 `unit:"currency"` // of MoreEnergy, by the tariff
	Carbon     float64 `unit:"kg"`       // of MoreEnergy
	CarbonCost float64 `unit:"currency"`
	Water      float64 `unit:"m³"` // lost
	WaterCost  float64 `unit:"currency"`
	Callouts   float64 `unit:"1"`
	CalloutFee float64 `unit:"currency"`
	Repairs    float64 `unit:"1"`
	RepairCost float64 `unit:"currency"`
	Cost       float64 `unit:"currency"` // all of it
}

// CaseDuty is one case with a way in place.
type CaseDuty struct {
	Case int
	Duty
	Price  float64 `unit:"currency/kWh"` // of a kWh in the hours it runs; the mean over them
	Margin float64 `unit:"m"`            // least over the concerned valves: head at the seat less the sealing head; 0 where there is none
	Valve  int     // the valve with that margin, −1 where there is none
	Slack  float64 `unit:"m"` // length that runs part full
}

// Way is one way out, tried by the hydraulics and priced over the life of the line.
type Way struct {
	Kind     Kind
	Name     string
	Possible bool
	Why      string // why it is not possible

	Place    Place   // of a sustaining valve, of the valve moved, of the pipe laid deeper
	Record   int     // of the rack, −1 where no valve is exchanged
	Valves   []int   // air valves exchanged or moved
	SetPoint float64 `unit:"m"` // of a sustaining valve, gauge, at the obvert there
	Height   float64 `unit:"m"` // by which the terminal level is raised
	PumpHead float64 `unit:"m"` // added to the pumps at the same flow
	Power    float64 `unit:"W"` // more at the shafts, in the case that needs most
	Depth    float64 `unit:"m"` // by which the pipe is laid deeper at the summit
	Length   float64 `unit:"m"` // of pipe to be relaid
	Governs  int     // case that asked most of what was found, −1 where nothing had to be
	Tried    string  // what the hydraulics showed
	Calls    int     // of the hydraulics

	Cases      []CaseDuty
	Investment float64 `unit:"currency"`
	Year       Year

	Priced       bool
	NotPriced    []string // what has no price; with any the way stands outside the order, and what money it shows is only what has one
	PresentValue float64  `unit:"currency"` // of investment and all years
	Annual       float64  `unit:"currency"` // the same as an equal sum a year
	Order        int      // 1 for the cheapest; 0 for a way outside the order
	Pays         bool     // it pays for itself against accepting the leak, be it after the line's life; both priced
	Payback      float64  `unit:"1"` // years until then, discounted
}

// BreakEven compares the best way with the second.
type BreakEven struct {
	Found  bool    // there are two ways in the order
	Dearer int     // the way that costs more to build, index into Ways
	Other  int     //
	More   float64 `unit:"currency"` // it costs more to build
	Saves  float64 `unit:"currency"` // it saves a year; negative where it costs more to run too

	Pays  bool    // it pays for itself at some time, be it after the line's life
	Years float64 `unit:"1"` // until then, discounted

	HasEnergyPrice bool
	EnergyPrice    float64 `unit:"currency/kWh"` // mean price at which the two cost the same, all hours changed in proportion
	Text           string
}

// Bar is one lever of the tornado.
type Bar struct {
	Lever     Lever
	Name      string
	Unit      string  // of Value, Low, High and Turn
	Value     float64 // as reckoned
	Low, High float64 // the range

	AtLow  float64 // present value of the best way less that of the second, in the currency
	AtHigh float64
	Swing  float64 // largest change of that difference in the range

	Turns   bool    // some value changes which way is cheapest
	Turn    float64 // the nearest such value
	InRange bool    // it lies between Low and High
	To      int     // the way that is cheapest beyond it, index into Ways, −1 where none
	Text    string
}

// Status says how far a comparison came.
type Status uint8

// The statuses.
const (
	Compared Status = iota // two ways or more stand in the order
	OnlyWay                // one way stands in the order
	NoOrder                // no way is both possible and priced
	NoBase                 // the line cannot run as it is set: nothing to compare with
	AllHold                // every valve holds as the line runs now
)

// Comparison is all ways out side by side.
type Comparison struct {
	Status   Status
	Name     string
	Currency string
	Ways     []Way
	Base     []CaseDuty // as the line runs now
	Volume   float64    `unit:"m³"` // delivered a day, the same in every way
	Years    float64    `unit:"1"`
	Rate     float64    `unit:"1"` // of discount, a year
	Factor   float64    `unit:"1"` // present value of 1 a year over the years

	Best int // index into Ways, −1 where there is none
	// Second is the cheapest way of another kind than the best, or of the same where there is no other; −1 where there is none. So
	// the same way at two places, or with two valves, is not weighed against itself.
	Second    int
	BreakEven BreakEven
	Tornado   []Bar   // by falling swing
	Residual  float64 `unit:"1"` // largest relative difference between the day's volume wanted and delivered, over all ways
	Calls     int     // of the hydraulics
	Assumed   []string
	Notes     []Note
}
