package line

// noSource marks a threshold that the trade uses without anyone having published it.
const noSource = "common practice, no source"

// DefaultPractice is the practice that holds where the document says nothing else. Each number carries its source; a
// number that nobody published says so. The user replaces any of them under [practice].
func DefaultPractice() Practice {
	return Practice{
		Name: "usual practice",
		Spacing: Threshold{600, "m", "AWWA Manual M51, Air Valves, gives 380 to 760 m (1,250 to 2,500 ft) on long even runs, from memory; " +
			"600 m lies inside it"},
		HighPointProminence: Threshold{0.1, "m", noSource + ": no agreed size is published for what counts as a high point; " +
			"0.1 m is what a survey can tell apart"},
		SlopeChange: Threshold{0.02, "1", noSource + ": AWWA Manual M51, from memory, asks for a valve where a down-slope steepens or an " +
			"up-slope flattens, without a number"},
		Flat:      Threshold{0.002, "1", "least gradient of 1:500 towards a valve, practitioners' rule (engineers' forum eng-tips.com, thread 125263)"},
		Displaced: Threshold{20, "m", noSource},
		Drips:     Threshold{0.05, "1", noSource + ": one in twenty"},
		FillingVelocity: Threshold{0.3, "m/s", "AWWA Manual M51, from memory, and USDA-NRCS design sheets: 1 ft/s; " +
			"European filling tables for ductile iron are six to eight times slower"},
		AdmitDifferential: Threshold{34.5e3, "Pa", "AWWA Manual M51, Air Valves, from memory: 5 psi, unless the pipe allows less"},
		VentDifferential:  Threshold{13.8e3, "Pa", "AWWA Manual M51, from memory: 2 psi while the line fills"},
		CollapseFactor: Threshold{2, "1", "A. P. Moser and S. Folkman, Buried Pipe Design, recommend 2 (from memory); published factors " +
			"go from 1.5 to 4"},
		Slam:          Threshold{20, "m", noSource},
		ReleasedAir:   Threshold{0.02, "1", noSource + ": two per cent of the flow, near what water in contact with air holds at 1 atm"},
		DrainVelocity: Threshold{0.3, "m/s", "AWWA Manual M51, from memory: 1 to 2 ft/s"},
		StoppedLeak:   Threshold{1e-8, "m³/s", noSource + ": 0.6 mL/min, about ten drops of 62.5 mm³ a minute"},
	}
}
