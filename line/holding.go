package line

import (
	"slices"

	"obvert/quantity"
)

// The speeds between which a drive holds a flow or a head where the document does not say.
const (
	assumedSlowest = 0.3 // common practice, no source
	assumedFastest = 1.0
)

// readHolding reads what a station's drives hold, a flow or the head at a node, and between which speeds.
func (r *reader) readHolding(t form, set *StationSetting) {
	flow, hasFlow := t.quantity("hold_flow", quantity.Flow, false, flowLimits)
	head, hasHead := t.quantity("hold_head", quantity.Length, false, headLimits)
	node, hasNode := 0, false
	if name, ok := t.text("hold_at", false); ok {
		node, hasNode = r.nodes.find(t, "hold_at", name)
	}
	slowest, hasSlowest := t.quantity("slowest", quantity.Ratio, false, speedLimits)
	fastest, hasFastest := t.quantity("fastest", quantity.Ratio, false, speedLimits)
	written := func(key string) bool { return t.t.Has(key) }
	holds := written("hold_flow") || written("hold_head")
	switch {
	case written("hold_flow") && written("hold_head"):
		t.fault("hold_head", "the drives hold two things at once", "a flow and a head", "keep one of them")
		return
	case holds && (written("flow") || written("speed")):
		t.fault("flow", "the station is set twice", "by what its drives hold, and by a flow or a speed", "keep one of them")
		return
	case hasFlow && flow == 0:
		t.fault("hold_flow", "a flow of nothing", "", "leave the station out of the case, or write running = []")
		return
	case written("hold_head") && !written("hold_at"):
		t.fault("hold_head", "it is not said where the head is held", "", "write hold_at = \"…\", the node whose pressure head the drives hold")
	case written("hold_at") && !written("hold_head"):
		t.fault("hold_at", "no head is held", "", "write hold_head = \"…\" too, or leave hold_at out")
	}
	for _, key := range []string{"slowest", "fastest"} {
		if written(key) && !holds {
			t.fault(key, "nothing is held by the drives", "", "write hold_flow or hold_head too, or speed for a fixed speed")
			return
		}
	}
	if !holds {
		return
	}
	if !slices.Contains(set.Running, true) && len(set.Running) > 0 {
		t.fault("running", "no pump runs that could hold anything", "", "name the pumps that run, or leave out what is held")
	}
	set.SlowestSpeed, set.FastestSpeed = assumedSlowest, assumedFastest
	if hasSlowest {
		set.SlowestSpeed = slowest
	}
	if hasFastest {
		set.FastestSpeed = fastest
	}
	if set.SlowestSpeed >= set.FastestSpeed {
		t.fault("slowest", "the slowest speed is not below the fastest", quantity.Format(set.SlowestSpeed, "%", 0)+" and "+quantity.Format(set.FastestSpeed, "%", 0),
			"mend one of the two; without them 30 % and 100 % hold")
	}
	if !written("slowest") {
		r.assumeOnce("station.slowest", "cases", "Drives that hold a flow or a head run at 30 % of the curve's speed at least, where no slowest speed is given (common practice, no source).")
	}
	if hasFlow {
		set.HoldFlow = flow
	}
	if hasHead && hasNode {
		set.HasHoldHead, set.HoldHead, set.HoldAt = true, head, node
	}
}
