package line

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"obvert/quantity"
)

// eventKinds are the words for what passes in time.
var eventKinds = map[string]EventKind{"draining": Draining, "burst": Burst, "first filling": FirstFilling, "restart": Restart}

// String is the word for a kind of event.
func (k EventKind) String() string {
	return [...]string{"draining", "burst", "first filling", "restart"}[k]
}

// The longest time for which an event is followed where the document does not say: long enough for a main of a hundred
// kilometres. Common practice, no source.
var assumedHorizons = map[EventKind]float64{Draining: 48 * 3600, Burst: 24 * 3600, FirstFilling: 14 * 86400, Restart: 48 * 3600} // s

// The discharge coefficients of a burst on its opening; common practice, no source.
const (
	assumedHole     = 0.6 // a hole in the wall: a sharp edge
	assumedFullBore = 1.0 // a pipe that has come apart
)

// mostEvents bounds the events of a line.
const mostEvents = 500

// eventForm is a table of an event that waits until all cases and routes are known.
type eventForm struct {
	f    form
	kind EventKind
	name string
}

// setAside keeps the table of an event. Its name counts among those of the cases, by −1 − its place among the events.
func (r *reader) setAside(f form, name string, named bool, kind EventKind) {
	k := len(r.eventForms)
	if k == mostEvents {
		f.fault("", fmt.Sprintf("more than %d events", mostEvents), "", "leave out those that differ in nothing that matters")
	}
	r.eventForms = append(r.eventForms, eventForm{f, kind, name})
	if named {
		r.caseNames.add(f, "name", name, -1-k)
	}
}

// The keys of a [[case]] table beside its name and kind: those of an operating case, and those of each kind of event.
var (
	caseKeys  = []string{"hours", "tanks", "tank", "demand", "offtake", "station", "closed", "open"}
	eventKeys = map[EventKind][]string{
		Draining:     {"after", "scours", "horizon"},
		Burst:        {"after", "run", "at", "opening", "coefficient", "horizon"},
		FirstFilling: {"after", "start", "flow", "horizon"},
		Restart:      {"after", "start", "flow", "standing", "horizon"},
	}
)

// onlyKeys refuses the keys that a table has and its kind has not. Where the kind is not known they are passed over.
func (f form) onlyKeys(kind string, known bool, allowed []string) {
	for _, keys := range [][]string{caseKeys, eventKeys[Draining], eventKeys[Burst], eventKeys[FirstFilling], eventKeys[Restart]} {
		for _, key := range keys {
			if !slices.Contains(allowed, key) && f.has(key) && known {
				f.fault(key, "a "+kind+" has no "+key, "", "leave it out, or mend the kind")
				allowed = append(allowed, key) // told once
			}
		}
	}
}

// readEvents reads what passes in time, or makes the usual events where none are written.
func (r *reader) readEvents() {
	for i, x := range r.eventForms {
		e := r.readEvent(x)
		if i < mostEvents {
			r.line.Events = append(r.line.Events, e)
		}
	}
	if len(r.eventForms) == 0 && r.whole() {
		r.defaultEvents()
	}
}

func (r *reader) readEvent(x eventForm) Event {
	f := x.f
	f.onlyKeys(x.kind.String(), true, slices.Clone(eventKeys[x.kind]))
	e := Event{Name: x.name, Kind: x.kind, Horizon: assumedHorizons[x.kind]}
	switch x.kind {
	case Draining:
		e.After = r.caseOf(f, "after", "standing case", Standing)
		r.readScours(f, &e)
	case Burst:
		e.After = r.caseOf(f, "after", "case", Pumping, Gravity, Standing, Filling)
		r.readBurst(f, &e)
	default:
		e.After = r.caseOf(f, "after", "standing case", Standing)
		e.Start = r.caseOf(f, "start", "case in which water flows", Pumping, Gravity, Filling)
		e.Flow, _ = f.quantity("flow", quantity.Flow, false, limits{1e-6, 1e4, "L/s", 6})
	}
	if x.kind == Restart {
		e.Standing, _ = f.quantity("standing", quantity.Time, false, limits{1, 366 * 86400, "h", 4})
	}
	if h, ok := f.quantity("horizon", quantity.Time, false, limits{60, 366 * 86400, "h", 2}); ok {
		e.Horizon = h
	}
	return e
}

// caseOf finds the case that a key of an event names: of one of the kinds, the first of these in the order of the kinds
// where the key is left out.
func (r *reader) caseOf(f form, key, want string, kinds ...CaseKind) int {
	name, ok := f.text(key, false)
	if !ok {
		if i := r.firstCase(kinds...); i >= 0 {
			return i
		}
		if !f.t.Has(key) && len(r.line.Cases) > 0 {
			f.fault(key, "there is no "+want+" on this line", r.caseNamesList(), "add one, such as [[case]] with kind = \""+kinds[0].String()+"\"")
		}
		return 0
	}
	i, ok := r.caseNames.find(f, key, name)
	switch {
	case !ok || i >= len(r.line.Cases):
		return 0
	case i < 0:
		f.fault(key, fmt.Sprintf("%q is no operating case", name), "it is a "+r.eventForms[-1-i].kind.String(), "name a "+want)
		return 0
	case !slices.Contains(kinds, r.line.Cases[i].Kind):
		f.fault(key, fmt.Sprintf("%q is no %s", name, want), "it is a "+r.line.Cases[i].Kind.String()+" case", "name a "+want)
		return 0
	}
	return i
}

// firstCase is the first case of the first kind of which there is one; −1 where there is none.
func (r *reader) firstCase(kinds ...CaseKind) int {
	for _, kind := range kinds {
		for i, c := range r.line.Cases {
			if c.Kind == kind {
				return i
			}
		}
	}
	return -1
}

func (r *reader) caseNamesList() string { return "the cases are: " + caseList(r.line.Cases) }

// readScours reads which scours a draining opens.
func (r *reader) readScours(f form, e *Event) {
	names, ok := f.texts("scours")
	if !ok && f.t.Has("scours") {
		return // told already
	}
	if len(names) == 0 {
		f.fault("scours", "no scour is opened", "", "write scours = [\"…\"] with the names of scours")
	}
	for k, name := range names {
		key := fmt.Sprintf("scours[%d]", k+1)
		i, ok := r.things.find(f, key, name)
		if !ok {
			continue
		}
		p := r.thingPlaces[i]
		if p.equipment < 0 || r.line.Runs[p.run].Equipment[p.equipment].Kind != Scour {
			what := "an air valve"
			if p.equipment >= 0 {
				what = "a " + r.line.Runs[p.run].Equipment[p.equipment].Kind.String()
			}
			f.fault(key, fmt.Sprintf("%q is no scour", name), "it is "+what, "name a scour")
			continue
		}
		at := Place{Run: p.run, Chainage: r.line.Runs[p.run].Equipment[p.equipment].Chainage}
		if slices.Contains(e.Scours, at) {
			f.fault(key, fmt.Sprintf("%q is named twice", name), "", "name each scour once")
			continue
		}
		e.Scours = append(e.Scours, at)
	}
}

// readBurst reads where the pipe breaks, and how wide.
func (r *reader) readBurst(f form, e *Event) {
	opening, hasOpening := f.quantity("opening", quantity.Length, false, limits{1e-4, boreLimits.high, "mm", 1})
	coefficient, hasCoefficient := f.number("coefficient", coefficientLimits)
	name, ok := f.text("run", true)
	run := -1
	if ok {
		if run, ok = r.runs.find(f, "run", name); !ok {
			run = -1
		}
	}
	if run < 0 {
		f.text("at", true)
		return
	}
	in := r.runForms[run]
	at, placed := f.chainage("at", in.stakes, true)
	if !placed || !r.on(in, &r.line.Runs[run], f, "at", at) {
		return
	}
	e.At = Place{Run: run, Chainage: at}
	e.Loss = assumedFullBore
	if hasOpening {
		e.Opening, e.Loss = opening, assumedHole
		if bore := r.line.BoreAt(run, at); in.profile && bore > 0 && opening > bore {
			f.fault("opening", "the hole is wider than the pipe", quantity.Format(opening, "mm", 1)+" in a bore of "+quantity.Format(bore, "mm", 1),
				"leave opening out for a pipe broken right through")
		}
	}
	if hasCoefficient {
		e.Loss = coefficient
	} else if !f.t.Has("coefficient") {
		r.assumeBurst()
	}
}

func (r *reader) assumeBurst() {
	r.assumeOnce("burst.coefficient", "bursts", "Where no coefficient is given, a hole discharges 0.6 of what its area would without loss, a pipe "+
		"broken right through all of it from either side (common practice, no source).")
}

// The most events of a sort that are made where none are written.
const (
	mostDefaultScours = 6
)

// defaultEvents makes the usual events: a restart after standing, the first filling, draining through each scour, and a
// break right through at the lowest point of the main route.
func (r *reader) defaultEvents() {
	flows := r.firstCase(Pumping, Gravity)
	stands := r.firstCase(Standing)
	if flows >= 0 && stands >= 0 {
		r.addEvent(Event{Name: "Restart", Kind: Restart, After: stands, Start: flows})
		fills := flows // with the off-takes of use, where no case fills
		if f := r.firstCase(Filling); f >= 0 {
			fills = f
		}
		r.addEvent(Event{Name: "First filling", Kind: FirstFilling, After: stands, Start: fills, Flow: r.fillingFlow()})
	}
	if stands >= 0 {
		for _, s := range r.usualScours() {
			r.addEvent(Event{Name: "Draining through " + s.name, Kind: Draining, After: stands, Scours: []Place{s.at}})
		}
	}
	if from := r.firstCase(Pumping, Gravity, Standing); from >= 0 && stands >= 0 {
		r.defaultBurst(from)
	}
	if n := len(r.line.Events); n > 0 {
		r.assume("event.default", "cases", fmt.Sprintf("No draining, burst, filling or restart is given; the usual %d are taken: %s.", n, r.eventList()))
	}
	if stands < 0 {
		r.assume("event.no-standing", "cases", "No case stands still, so none of the events that begin at rest (restart, first filling, draining, burst) is reckoned.")
	}
}

func (r *reader) addEvent(e Event) {
	for _, taken := r.caseNames.index[e.Name]; taken; _, taken = r.caseNames.index[e.Name] {
		e.Name += " (usual)"
	}
	e.Default = true
	if e.Horizon = assumedHorizons[e.Kind]; e.Kind == Burst {
		e.Loss = assumedFullBore
		r.assumeBurst()
	}
	r.line.Events = append(r.line.Events, e)
}

func (r *reader) defaultBurst(after int) {
	if len(r.line.Routes) == 0 {
		return
	}
	at, low := Place{Run: -1}, math.Inf(1)
	for _, leg := range r.line.Routes[0].Legs {
		for _, p := range r.line.Runs[leg.Run].Points {
			if p.Obvert < low {
				at, low = Place{Run: leg.Run, Chainage: p.Chainage}, p.Obvert
			}
		}
	}
	if at.Run >= 0 {
		r.addEvent(Event{Name: fmt.Sprintf("Burst on %s at %s", r.line.Runs[at.Run].Name, chainages(at.Chainage)), Kind: Burst, After: after, At: at})
	}
}

// fillingFlow is the flow, m³/s, of the first filling: what a filling case lets its first station deliver, else the
// practice's filling velocity in the smallest bore of the main route's first run.
func (r *reader) fillingFlow() float64 {
	if i := r.firstCase(Filling); i >= 0 {
		for _, s := range r.line.Cases[i].Stations {
			if s.Flow > 0 {
				return s.Flow
			}
		}
	}
	if len(r.line.Routes) == 0 || len(r.line.Routes[0].Legs) == 0 {
		return 0
	}
	bore := math.Inf(1)
	for _, s := range r.line.Runs[r.line.Routes[0].Legs[0].Run].Sections {
		if s.Bore > 0 {
			bore = min(bore, s.Bore)
		}
	}
	if math.IsInf(bore, 1) {
		return 0
	}
	return r.line.Practice.FillingVelocity.Value * math.Pi / 4 * bore * bore
}

// namedScour is a scour by its name.
type namedScour struct {
	name  string
	at    Place
	level float64 // m above datum, of the obvert there
}

// usualScours are all scours where they are few, else the lowest of each run.
func (r *reader) usualScours() []namedScour {
	var all, lowest []namedScour
	for i, run := range r.line.Runs {
		low := -1
		for _, e := range run.Equipment {
			if e.Kind != Scour {
				continue
			}
			level, _ := r.line.ObvertAt(i, e.Chainage)
			s := namedScour{e.Name, Place{Run: i, Chainage: e.Chainage}, level}
			all = append(all, s)
			switch {
			case low < 0:
				low = len(lowest)
				lowest = append(lowest, s)
			case level < lowest[low].level:
				lowest[low] = s
			}
		}
	}
	if len(all) <= mostDefaultScours {
		return all
	}
	return lowest[:min(len(lowest), mostDefaultScours)]
}

func (r *reader) eventList() string {
	const few = 8
	var names []string
	for i, e := range r.line.Events {
		if i == few {
			names = append(names, fmt.Sprintf("and %d more", len(r.line.Events)-few))
			break
		}
		text := lowerFirst(e.Name)
		if e.Flow > 0 {
			text += " at " + quantity.Format(e.Flow, "L/s", 1)
		}
		names = append(names, text)
	}
	return strings.Join(names, "; ")
}

// lowerFirst writes a name made here with a small letter at its beginning.
func lowerFirst(s string) string { return strings.ToLower(s[:1]) + s[1:] }
