package line

import "obvert/physics/valve"

// Line is a whole pipeline system as its user wrote it, read, checked and put into SI units. Every reference by name has
// been resolved: runs, nodes and valves point at one another by index.
type Line struct {
	Name        string // the line's name, for title blocks
	Description string
	Version     string // the user's own version mark of the document, may be empty
	Date        string // the date the user gave the document, 2006-01-02, may be empty
	Author      string

	Site     Site
	Nodes    []Node
	Runs     []Run
	Cases    []Case  // in the order in which they follow one another in operation; a valve remembers the cases before
	Events   []Event // what passes in time: draining, bursts, first filling, restarts
	Days     []Day   // days of 24 h
	Survey   Survey
	Practice Practice
	Prices   Prices
	Routes   []Route // long sections; the first is the main one, every run stands on at least one
	Rack     []valve.Record
	Bench    []string // paths of bench runs inside the folder, to be shown with the answer

	Assumed []Assumption // what was not said and had to be assumed, in reading order
	Hash    string       // SHA-256 of all inputs in a stated order, hexadecimal
}

// Assumption is one value that the document did not give.
type Assumption struct {
	ID    string // stable, such as "section.roughness"
	Where string // "run Ridge main, section 2"
	Text  string // a plain sentence with the figure that was assumed
}

// Site is where the line lies and what its water and air are like.
type Site struct {
	Altitude            float64 `unit:"m"`     // of the site above sea level, −430 to 6,000
	WaterTemperature    float64 `unit:"K"`     // 273.15 to 333.15
	AirTemperature      float64 `unit:"K"`     //
	Gravity             float64 `unit:"m/s²"`  // local; 9.80665 where neither it nor the latitude is given
	AtmosphericPressure float64 `unit:"Pa"`    // absolute, by ISO 2533 from the altitude unless given
	VapourPressure      float64 `unit:"Pa"`    // absolute, of the water at its temperature
	Density             float64 `unit:"kg/m³"` // of the water
	Viscosity           float64 `unit:"m²/s"`  // kinematic, of the water
}

// VapourHead is the gauge head at which water boils at the site, negative, in metres of the water in hand:
// −(p_atm − p_v)/(ρ g).
func (s Site) VapourHead() float64 {
	return -(s.AtmosphericPressure - s.VapourPressure) / (s.Density * s.Gravity)
}

// Head is the head, in metres of the water in hand, of a pressure in pascal.
func (s Site) Head(p float64) float64 { return p / (s.Density * s.Gravity) }

// NodeKind says what a node is.
type NodeKind uint8

// The kinds of node.
const (
	Junction NodeKind = iota // runs meet; no water comes or goes
	Offtake                  // water is drawn off
	Tank                     // an open water surface
	Station                  // pumps in parallel
	Outfall                  // the pipe's end, open to the air
	DeadEnd                  // the pipe's end, closed
)

// Node is an end of runs.
type Node struct {
	Name    string
	Kind    NodeKind
	Demand  float64      `unit:"m³/s"` // of an off-take, drawn off, unless a case says otherwise
	Tank    *TankData    // of a tank
	Station *StationData // of a pump station
	Runs    []int        // indices of the runs that begin or end here
}

// Inlet says how a run enters a tank.
type Inlet uint8

// The ways a run that ends at a tank may enter it. A run that begins at a tank always leaves below the water.
const (
	BelowWater Inlet = iota
	OverTheTop       // the pipe ends in the air above the water, as at an outfall
)

// TankData is an open water surface: a reservoir, a sump, a lake.
type TankData struct {
	Level       float64 `unit:"m"`  // water level unless a case says otherwise, above datum
	Lowest      float64 `unit:"m"`  // of the working range; equal to Level where no range is given
	Highest     float64 `unit:"m"`  //
	Area        float64 `unit:"m²"` // of the water surface; 0 where not given: the level does not change
	Inlet       Inlet
	Uncertainty float64 `unit:"m"` // standard uncertainty of the level
}

// CheckValves says how a station keeps water from running back through its pumps.
type CheckValves uint8

// The arrangements of check valves at a station.
const (
	CheckEach   CheckValves = iota // one behind every pump
	CheckShared                    // one behind all pumps together
	CheckNone
)

// StationData is a pump station. Where a run ends at the node, that is its suction side; else it draws from a sump at SuctionLevel.
type StationData struct {
	Pumps           []Pump
	Check           CheckValves
	HasSump         bool
	SuctionLevel    float64 `unit:"m"` // of its own sump's water
	MotorEfficiency float64 `unit:"1"` // of motor and drive together, 0–1
	AssumedMotor    bool    // MotorEfficiency was not given
}

// Pump is one pump of a station: points of its curves at full speed.
type Pump struct {
	Name       string
	Curve      [][2]float64 `unit:"m³/s,m"` // flow and head, by rising flow, two points or more
	Efficiency [][2]float64 `unit:"m³/s,1"` // flow and efficiency 0–1; empty: AssumedEfficiency
	NPSH       [][2]float64 `unit:"m³/s,m"` // flow and required NPSH; may be empty
	// AssumedEfficiency is used, and said, where no efficiency curve is given.
	AssumedEfficiency float64 `unit:"1"`
	SuctionAxis       float64 `unit:"m"` // level of the impeller's eye for NPSH available
	HasSuctionAxis    bool
}

// Point is a point of a run's profile. The level kept is the obvert's, whatever the survey gave.
type Point struct {
	Chainage  float64 `unit:"m"` // along the run, rising from its From node to its To node; two points may share one (a vertical step)
	Obvert    float64 `unit:"m"` // inside top of the pipe, above datum
	Ground    float64 `unit:"m"` // above datum; meaningful only with HasGround
	HasGround bool
	Distance  float64 `unit:"m"` // length of pipe from the run's first point, along the slope unless chainage is measured along the pipe
}

// LevelKind says what the survey's level is of.
type LevelKind uint8

// The kinds of level a profile may give.
const (
	LevelObvert LevelKind = iota
	LevelInvert
	LevelAxis
	LevelGround // needs a stated cover
)

// Section is a stretch of one pipe. Sections of a run follow one another without gap from its first chainage to its last.
type Section struct {
	From, To      float64 `unit:"m"` // chainage
	Size          string  // standard size by name, or empty
	Material      string
	Bore          float64 `unit:"m"`
	Wall          float64 `unit:"m"`  // 0 where not known
	Roughness     float64 `unit:"m"`  // sand-grain; 0 with HazenWilliams
	HazenWilliams float64 `unit:"1"`  // C, or 0 for Darcy–Weisbach
	Rating        float64 `unit:"Pa"` // largest allowed pressure, gauge; 0 where not known
	LocalLoss     float64 `unit:"1"`  // sum of local loss coefficients K, on v²/2g, spread over the section

	// What the wall stands: for collapse under vacuum and the speed of pressure waves.
	Modulus         float64 `unit:"Pa"` // of elasticity of the wall; 0 where the material is not known
	Poisson         float64 `unit:"1"`  // ratio of the wall
	Ovality         float64 `unit:"1"`  // (largest − smallest diameter) / mean diameter
	SoilModulus     float64 `unit:"Pa"` // modulus of soil reaction E′; 0: the pipe is free-standing
	Cover           float64 `unit:"m"`  // of soil above the pipe's top, with SoilModulus
	WaterTable      float64 `unit:"m"`  // height of the ground water above the pipe's top; without SoilModulus, of the water it stands in
	AssumedMaterial bool    // Modulus and Poisson come from the material's name, not from the user
}

// EquipmentKind says what stands in the pipe.
type EquipmentKind uint8

// The kinds of equipment in a run.
const (
	IsolatingValve EquipmentKind = iota
	CheckValve
	SustainingValve // holds the head before it at its setting or above
	ReducingValve   // holds the head behind it at its setting or below
	Scour
	FlowControlValve // holds the flow through it at its setting or below
)

// Equipment is a thing in the pipe at a chainage.
type Equipment struct {
	Name     string
	Kind     EquipmentKind
	Chainage float64 `unit:"m"`
	Closed   bool    // an isolating valve that is shut unless a case opens it
	Reverse  bool    // a check, sustaining, reducing or flow-control valve that faces the run's From node
	Setting  float64 `unit:"m"`    // of a sustaining or reducing valve: pressure head at the obvert
	Loss     float64 `unit:"1"`    // local loss coefficient K when open
	Bore     float64 `unit:"m"`    // of a scour
	Flow     float64 `unit:"m³/s"` // of a flow-control valve: its setting
	// Coefficient is the discharge coefficient of an open scour, on its bore.
	Coefficient float64 `unit:"1"`
}

// Run is one pipe from node to node with its own profile.
type Run struct {
	Name       string
	From, To   int // indices into Line.Nodes
	Points     []Point
	LevelKind  LevelKind // what the survey gave
	Cover      float64   `unit:"m"` // from ground to obvert, where LevelKind is LevelGround
	AlongPipe  bool      // chainage is measured along the pipe, not on the plan
	Sections   []Section
	Equipment  []Equipment // by chainage
	Placed     []Placed    // air valves on this run, by chainage
	SurveyFile string      // as written
}

// Placed is an air valve on its tapping.
type Placed struct {
	Name      string
	Chainage  float64 `unit:"m"`
	Height    float64 `unit:"m"` // of the seat above the pipe's obvert
	Record    int     // index into Line.Rack; −1 where none is chosen
	AdmitsAir bool    // air can come in through it
	Isolated  bool    // its isolating valve is shut: it neither admits, releases nor leaks
	Remark    string
}

// Place is where something stands on the line: a run and a chainage on it.
type Place struct {
	Run      int
	Chainage float64 `unit:"m"`
}

// Survey holds how well the levels are known, as standard uncertainties (k = 1).
type Survey struct {
	Datum       float64 `unit:"m"` // common to all levels of the pipe against those of tanks and outfalls
	Independent float64 `unit:"m"` // of each level by itself
	Roughness   float64 `unit:"1"` // relative standard uncertainty of the roughness
	Assumed     bool    // not given by the user
}

// CaseKind says what the line is doing.
type CaseKind uint8

// The kinds of operating case.
const (
	Pumping  CaseKind = iota // steady flow by pumps
	Gravity                  // steady flow without pumps
	Standing                 // stopped, at rest
	Filling                  // end of filling: full, at the filling flow
)

// Case is one way the line is operated. Slices run parallel to Line.Nodes and the equipment of each run.
type Case struct {
	Name     string
	Kind     CaseKind
	Stations []StationSetting // by node index; zero value at nodes that are no station
	Demand   []float64        `unit:"m³/s"` // by node index
	Level    []float64        `unit:"m"`    // water level of tanks, by node index
	Closed   [][]bool         // by run, by equipment: an isolating valve that is shut in this case
	Hours    float64          `unit:"h"` // per day in this case; 0 where not given
	Default  bool             // made by Obvert, not by the user
}

// StationSetting is what a station does in a case.
type StationSetting struct {
	Running []bool    // by pump
	Speed   []float64 `unit:"1"`    // by pump, relative to the curve's speed
	Flow    float64   `unit:"m³/s"` // where not 0: throttled to this flow, whatever the curve
	// HoldFlow and HoldHead, where set, let the drive find the speed, the same for all running pumps, at which the station
	// delivers a flow, or the pressure head at a node is as wanted. SlowestSpeed and FastestSpeed bound it.
	HoldFlow     float64 `unit:"m³/s"` // 0: none
	HasHoldHead  bool
	HoldHead     float64 `unit:"m"` // gauge, at the obvert of node HoldAt
	HoldAt       int     // node index
	SlowestSpeed float64 `unit:"1"` // relative; 0: 0.3
	FastestSpeed float64 `unit:"1"` // relative; 0: 1
}

// EventKind says what passes in time.
type EventKind uint8

// The kinds of event.
const (
	Draining     EventKind = iota // the stopped line empties through open scours
	Burst                         // the pipe breaks
	FirstFilling                  // the empty line is filled for the first time
	Restart                       // the pumps start after a standing case in which valves leaked
)

// Event is something that passes in time, from a state of rest or, for a burst, of flow.
type Event struct {
	Name     string
	Kind     EventKind
	After    int     // index of the case it begins from; for FirstFilling and Restart the standing case that gives tank levels and closed equipment
	Start    int     // of FirstFilling and Restart: index of the case that then runs (its stations and tanks feed the line)
	Scours   []Place // of Draining: the scours that are opened
	At       Place   // of Burst
	Opening  float64 `unit:"m"`    // of Burst: diameter of the hole; 0: the full bore
	Loss     float64 `unit:"1"`    // discharge coefficient of the hole or break; 0: 0.6 for a hole, 1 for the full bore
	Flow     float64 `unit:"m³/s"` // of FirstFilling and Restart: throttled start flow; 0: as the case has it
	Standing float64 `unit:"s"`    // of Restart: how long the line has stood and leaked; 0: until it stopped leaking
	Horizon  float64 `unit:"s"`    // the longest time followed
	Default  bool    // made by Obvert, not by the user
}

// Day is 24 hours of operation in steps: off-takes by the hour, tanks that fill and run down, pumps that start and stop by their levels.
type Day struct {
	Name    string
	Case    int         // index of the pumping or gravity case that gives the levels at the start, closed equipment and pump settings
	Step    float64     `unit:"s"` // 900 unless given
	Factors [24]float64 `unit:"1"` // on every off-take's usual demand, by hour from midnight
	Rules   []LevelRule
	Default bool
}

// LevelRule starts and stops pumps by the level of a tank.
type LevelRule struct {
	Station    int     // node index
	Pumps      []int   // of the station
	Tank       int     // node index
	StartBelow float64 `unit:"m"` // level above datum
	StopAbove  float64 `unit:"m"` // level above datum, above StartBelow
}

// Route is a long section: runs end to end.
type Route struct {
	Name string
	Legs []Leg
}

// Leg is a run on a route. Chainage on the route = Offset + Sign · chainage on the run.
type Leg struct {
	Run    int
	Offset float64 `unit:"m"`
	Sign   float64 `unit:"1"` // +1, or −1 for a run walked against its direction
}

// Prices turns figures into money. A price that was not given is 0 and Has… is false.
type Prices struct {
	Currency      string
	Energy        float64 `unit:"1/kWh"` // per kWh
	HasEnergy     bool
	Carbon        float64 `unit:"kg/kWh"`
	HasCarbon     bool
	Water         float64 `unit:"1/m³"`
	HasWater      bool
	Callout       float64 `unit:"1"` // per visit to a pit
	HasCallout    bool
	DaysPerYear   float64 `unit:"1"` // days of operation a year
	Years         float64 `unit:"1"` // life considered
	DiscountRate  float64 `unit:"1"`
	DailyVolume   float64 `unit:"m³"` // to be delivered a day; 0: that of the first pumping case at its hours
	HoursStanding float64 `unit:"h"`  // per day at rest, for leaks

	Tariff []TariffBand // by time of day, covering 24 h without gap; empty: Energy at all hours

	// What the ways out cost. A price that was not given is 0 and its Has… is false.
	Exchange        float64 `unit:"1"` // labour to exchange one air valve, without the valve
	HasExchange     bool
	ControlValve    float64 `unit:"1"` // a sustaining valve with its chamber, built
	HasControlValve bool
	Raising         float64 `unit:"1/m"` // terminal level, per metre
	HasRaising      bool
	PumpDuty        float64 `unit:"1/W"` // more pump, motor and drive, per watt of shaft power added
	HasPumpDuty     bool
	Relocation      float64 `unit:"1"` // moving one air valve with its pit
	HasRelocation   bool
	Regrading       float64 `unit:"1/m"` // relaying pipe, per metre of length
	HasRegrading    bool
	PitRepair       float64 `unit:"1"` // a washed-out or flooded pit, each time
	HasPitRepair    bool
	WetPitCallouts  float64 `unit:"1"` // visits a year to a pit whose valve drips
	WetPitRepairs   float64 `unit:"1"` // repairs a year to a pit whose valve drips
	CarbonPrice     float64 `unit:"1/kg"`
	HasCarbonPrice  bool
	PitArea         float64 `unit:"m²"` // plan of a usual pit, for the rainfall that a leak equals
	PitVolume       float64 `unit:"m³"` // that fills before it overflows
}

// TariffBand is a price of energy between two times of the day.
type TariffBand struct {
	From, To float64 `unit:"h"` // 0 to 24; a band may pass midnight (From > To)
	Energy   float64 `unit:"1/kWh"`
}

// Threshold is one number of practice with its source.
type Threshold struct {
	Value  float64
	Unit   string
	Source string
}

// Practice is a named set of thresholds. The zero value is not used: DefaultPractice fills what the user leaves out.
type Practice struct {
	Name                string
	Spacing             Threshold // m, between valves on long even runs
	HighPointProminence Threshold // m, by how much a summit must stand above the higher of its two neighbouring low points
	SlopeChange         Threshold // 1, change of slope that wants a valve
	Flat                Threshold // 1, slope below which a run counts as flat
	Displaced           Threshold // m, how far a valve may stand from its candidate
	Drips               Threshold // 1, probability of dripping from which a finding is made
	FillingVelocity     Threshold // m/s
	AdmitDifferential   Threshold // Pa, largest vacuum allowed while air comes in, unless the pipe allows less
	VentDifferential    Threshold // Pa, largest pressure of air allowed while the line fills
	CollapseFactor      Threshold // 1, safety factor on the collapse pressure of the pipe
	Slam                Threshold // m, head by which a valve may slam
	ReleasedAir         Threshold // 1, air released under pressure, as a share of the water's flow
	DrainVelocity       Threshold // m/s, of the water while the line is drained on purpose
	StoppedLeak         Threshold // m³/s, leak of a body of water that counts as none
}
