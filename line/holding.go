package line

import (
	"fmt"
	"slices"

	"obvert/quantity"
)

// The speeds between which a drive holds a flow or a head where the document does not say.
const (
	assumedSlowest = 0.3 // common practice, no source
	assumedFastest = 1.0
)

// leastHeld is the least flow, m³/s, that a drive or a valve can hold: 60 mL a minute. Common practice, no source.
const leastHeld = 1e-6

// holding is what a station's table says about what its drives hold.
type holding struct {
	t                form
	flow, head       float64
	hasFlow, hasHead bool
	node             int
	hasNode          bool
	slowest, fastest float64
}

// readHolding reads what a station's drives hold, a flow or the head at a node, and between which speeds.
func (r *reader) readHolding(t form, set *StationSetting) {
	h := holding{t: t, slowest: assumedSlowest, fastest: assumedFastest}
	h.flow, h.hasFlow = t.quantity("hold_flow", quantity.Flow, false, flowLimits)
	h.head, h.hasHead = t.quantity("hold_head", quantity.Length, false, headLimits)
	h.node, h.hasNode = r.holdNode(t)
	if v, ok := t.quantity("slowest", quantity.Ratio, false, speedLimits); ok {
		h.slowest = v
	}
	if v, ok := t.quantity("fastest", quantity.Ratio, false, speedLimits); ok {
		h.fastest = v
	}
	if !h.sound(set) {
		return
	}
	if !t.t.Has("slowest") {
		r.assumeOnce("station.slowest", "cases", "Drives that hold a flow or a head run at "+quantity.Format(assumedSlowest, "%", 0)+
			" of the curve's speed at least, where no slowest speed is given (common practice, no source).")
	}
	set.SlowestSpeed, set.FastestSpeed = h.slowest, h.fastest
	if h.hasFlow {
		set.HoldFlow = h.flow
	}
	if h.hasHead && h.hasNode {
		set.HasHoldHead, set.HoldHead, set.HoldAt = true, h.head, h.node
	}
}

// holdNode finds the node at which a head is held: one where the pumps have a say in it.
func (r *reader) holdNode(t form) (int, bool) {
	name, ok := t.text("hold_at", false)
	if !ok {
		return 0, false
	}
	node, ok := r.nodes.find(t, "hold_at", name)
	if !ok {
		return 0, false
	}
	if kind := r.line.Nodes[node].Kind; kind == Tank || kind == Outfall {
		t.fault("hold_at", fmt.Sprintf("no pump sets the head at %q", name), "there is open water at the "+kind.String()+", which keeps the head whatever the pumps do",
			"name a junction or an off-take, or the station itself for its discharge")
		return 0, false
	}
	return node, true
}

// sound reports what contradicts itself, and tells whether anything is held.
func (h *holding) sound(set *StationSetting) bool {
	t := h.t
	has := t.t.Has
	holds := has("hold_flow") || has("hold_head")
	switch {
	case has("hold_flow") && has("hold_head"):
		t.fault("hold_head", "the drives hold two things at once", "a flow and a head", "keep one of them")
		return false
	case holds && (has("flow") || has("speed")):
		key := "flow"
		if !has(key) {
			key = "speed"
		}
		t.fault(key, "the station is set twice", "by what its drives hold, and by a "+key, "keep one of them")
		return false
	case h.hasFlow && h.flow < leastHeld:
		t.fault("hold_flow", "a flow of nothing", quantity.Format(h.flow, "mL/min", 3), "leave the station out of the case, or write running = []")
		return false
	case has("hold_head") && !has("hold_at"):
		t.fault("hold_head", "it is not said where the head is held", "", "write hold_at = \"…\", the node whose pressure head the drives hold")
	case has("hold_at") && !has("hold_head"):
		t.fault("hold_at", "no head is held", "", "write hold_head = \"…\" too, or leave hold_at out")
		return false
	}
	if !holds {
		h.idle()
		return false
	}
	if len(set.Running) > 0 && !slices.Contains(set.Running, true) {
		t.fault("running", "no pump runs that could hold anything", "", "name the pumps that run, or leave out what is held")
	}
	if h.slowest >= h.fastest {
		t.fault("slowest", "the slowest speed is not below the fastest", quantity.Format(h.slowest, "%", 0)+" and "+quantity.Format(h.fastest, "%", 0),
			"mend one of the two; without them 30 % and 100 % hold")
	}
	return true
}

// idle refuses speeds of drives that hold nothing.
func (h *holding) idle() {
	for _, key := range []string{"slowest", "fastest"} {
		if h.t.t.Has(key) {
			h.t.fault(key, "nothing is held by the drives", "", "write hold_flow or hold_head too, or speed for a fixed speed")
			return
		}
	}
}
