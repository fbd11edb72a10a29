package line

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"sort"

	"obvert/document"
	"obvert/physics/pipe"
	"obvert/quantity"
)

// runInput is what a run's table says before its profile is known.
type runInput struct {
	f        form
	index    int
	stakes   quantity.Stakes
	sections []sectionInput
	profile  bool // the profile was read
	bare     bool // its cover is given as nothing
}

// sectionInput is a section whose ends may still be open.
type sectionInput struct {
	f              form
	s              Section
	hasFrom, hasTo bool
	sized          bool // its bore is known
	givenHazen     bool
}

// readRuns reads every run with what stands on it.
func (r *reader) readRuns(root form) {
	forms := root.list("run", "run", true)
	r.line.Runs = make([]Run, len(forms))
	for i, f := range forms {
		in := &runInput{f: f, index: i}
		r.runForms = append(r.runForms, in)
		run := &r.line.Runs[i]
		if name, ok := f.name("name", true); ok {
			run.Name = name
			r.runs.add(f, "name", name, i)
		}
		r.readEnds(f, run, i)
		r.readSections(in, run)
		r.readProfile(in, run)
		r.closeSections(in, run)
		r.settleCover(in, run)
		r.readEquipment(in, run)
		r.readValves(in, run)
	}
	r.checkTwins()
}

// readEnds resolves the nodes of a run. Unknown ones stay −1.
func (r *reader) readEnds(f form, run *Run, i int) {
	end := func(key string) int {
		name, ok := f.text(key, true)
		if !ok {
			return -1
		}
		n, ok := r.nodes.find(f, key, name)
		if !ok {
			return -1
		}
		return n
	}
	run.From, run.To = end("from"), end("to")
	if run.From >= 0 && run.From == run.To {
		f.fault("to", "the run ends where it begins", fmt.Sprintf("from and to are both %q", r.line.Nodes[run.From].Name),
			"name two nodes; a ring has a junction on it")
		run.To = -1
	}
	for _, n := range []int{run.From, run.To} {
		if n >= 0 {
			r.line.Nodes[n].Runs = append(r.line.Nodes[n].Runs, i)
		}
	}
}

// levelKinds are the words for what a profile's levels are of.
var levelKinds = map[string]LevelKind{"obvert": LevelObvert, "invert": LevelInvert, "axis": LevelAxis, "ground": LevelGround}

// String is the word for what a level is of.
func (k LevelKind) String() string {
	return [...]string{"obvert", "invert", "axis", "ground"}[k]
}

// allProfileBytes bounds what is read of profiles for one line, each use counted.
const allProfileBytes = 128_000_000

// readProfile reads the run's profile with all that its table says about it.
func (r *reader) readProfile(in *runInput, run *Run) {
	f := in.f
	o := ProfileOptions{Columns: map[string]string{}}
	in.stakes = readStakes(f)
	o.Stakes = in.stakes
	if word, ok := f.choice(keyLevelKind, false, "obvert", "invert", "axis", "ground"); ok {
		kind := levelKinds[word]
		o.LevelKind = &kind
	}
	o.LevelUnit, o.ChainageUnit = readUnit(f, keyLevelUnit), readUnit(f, keyChainageUnit)
	if cover, ok := f.quantity(keyCover, quantity.Length, false, coverLimits); ok {
		o.Cover, run.Cover, in.bare = &cover, cover, cover == 0
	}
	o.MaxBackstep, _ = f.quantity(keyBackstep, quantity.Length, false, limits{0, 1000, "m", 0})
	if f.t.Has(keyBackstep) && o.MaxBackstep == 0 {
		o.MaxBackstep = -1 // none is sorted
	}
	o.AlongPipe, _ = f.flag(keyAlongPipe)
	run.AlongPipe = o.AlongPipe
	switch sign, _ := f.choice(keyDecimal, false, "point", "comma"); sign {
	case "point", "comma":
		o.Decimal = sign
	}
	f.asked(keyColumns)
	if columns, ok := f.t.Sub(keyColumns, false); ok {
		for _, header := range columns.Keys() {
			if role, ok := columns.Choice(header, true, "chainage", "obvert", "invert", "axis", "ground", "level", "ignore"); ok {
				o.Columns[header] = role
			}
		}
	}
	o.BoreAt, o.Borders = in.boreAt, in.borders()

	name, ok := f.text("profile", true)
	if !ok {
		return
	}
	run.SurveyFile = name
	if r.profileBytes > allProfileBytes {
		f.fault("profile", "the profiles of the line are too large together", fmt.Sprintf("%d MB before this one", r.profileBytes/1_000_000),
			"thin them out; a point every few metres is enough")
		return
	}
	data, ok := r.file(f, "profile", name, MaxProfileBytes)
	if !ok {
		return
	}
	r.profileBytes += int64(len(data))
	result, faults := ReadProfile(name, data, o)
	r.faults = append(r.faults, r.once(name, faults)...)
	if faults.Err() != nil || len(result.Points) < 2 {
		return
	}
	run.Points, run.LevelKind = result.Points, result.LevelKind
	in.profile = true
	if run.LevelKind == LevelGround {
		r.assume("run.cover", "run "+run.Name, "The pipe lies where the ground's level less the stated cover of "+
			quantity.Format(run.Cover, "m", 2)+" puts it; no level of the pipe itself was surveyed.")
	}
}

// once leaves out faults that another run with the same file has told already.
func (r *reader) once(name string, faults document.Faults) document.Faults {
	var fresh document.Faults
	for _, fault := range faults {
		if !r.told[fault] {
			r.told[fault] = true
			fresh = append(fresh, fault)
		}
	}
	return fresh
}

// readStakes reads what "1+250" means on this run: "1 km", "20 m", "100 ft".
func readStakes(f form) quantity.Stakes {
	step, ok := f.quantity(keyStakes, quantity.Length, false, limits{1, 1e4, "m", 0})
	if !ok {
		return quantity.Stakes{}
	}
	text, _, _, _ := f.t.Raw(keyStakes)
	if v, err := quantity.Parse(quantity.Length, text); err == nil && v == step && len(text) > 2 && text[len(text)-2:] == "ft" {
		return quantity.Stakes{Step: step, Rest: 0.3048}
	}
	return quantity.Stakes{Step: step, Rest: 1}
}

// readUnit reads a unit of length.
func readUnit(f form, key string) string {
	unit, ok := f.text(key, false)
	if !ok {
		return ""
	}
	if _, known := unitOfText(unit); !known {
		f.fault(key, quantity.Quote(unit)+" is not a unit of length", "", "write m, km, cm, mm, ft or ftUS")
		return ""
	}
	return unit
}

// readSections reads the sections; where they begin and end is settled when the profile is known.
func (r *reader) readSections(in *runInput, run *Run) {
	stakes := readStakes(in.f)
	for i, f := range in.f.list("section", "run.section", true) {
		s := sectionInput{f: f}
		where := fmt.Sprintf("run %s, section %d", run.Name, i+1)
		s.s.From, s.hasFrom = f.chainage("from", stakes, false)
		s.s.To, s.hasTo = f.chainage("to", stakes, false)
		s.s.Size, _ = f.text("size", false)
		s.s.Material, _ = f.text("material", false)
		bore, hasBore := f.quantity("bore", quantity.Length, false, boreLimits)
		wall, hasWall := f.quantity("wall", quantity.Length, false, wallLimits)
		rough, hasRough := f.quantity("roughness", quantity.Length, false, roughnessLimits)
		s.s.HazenWilliams, s.givenHazen = f.number("hazen_williams", limits{10, 200, "1", 0})
		s.s.Rating, _ = f.quantity("rating", quantity.GaugePressure, false, pressureLimits)
		s.s.LocalLoss, _ = f.number("local_losses", lossLimits)

		size, _ := r.applySize(f, &s.s)
		if hasBore {
			s.s.Bore = bore
		}
		if hasWall {
			s.s.Wall = wall
		}
		if s.sized = s.s.Bore > 0; s.sized && s.s.Wall > thickest*s.s.Bore {
			key := "wall"
			if !hasWall {
				key = "bore"
			}
			f.fault(key, "the wall is thicker than half the bore", quantity.Format(s.s.Wall, "mm", 1)+" around a bore of "+quantity.Format(s.s.Bore, "mm", 1),
				"look whether bore and wall were exchanged")
		}
		if !s.sized && !f.t.Has("bore") && !f.t.Has("size") {
			f.fault("", "the section has no bore", "", "write a standard size, or bore = \"300 mm\"")
		}
		r.settleFriction(f, &s, size, rough, hasRough, where)
		r.readWall(f, &s.s)
		in.sections = append(in.sections, s)
	}
}

// settleFriction gives a section its roughness, or its Hazen–Williams coefficient.
func (r *reader) settleFriction(f form, s *sectionInput, size pipe.Size, rough float64, hasRough bool, where string) {
	switch {
	case s.givenHazen && hasRough:
		f.fault("hazen_williams", "the friction is given twice", "by a roughness and by a Hazen–Williams coefficient", "keep one of them")
	case s.givenHazen:
		s.s.Roughness = 0
	case hasRough:
		s.s.Roughness = rough
	case f.t.Has("roughness") || f.t.Has("hazen_williams"):
		// told already
	case s.s.Size == "" || s.sized:
		k, text := assumedRoughness(s.s, size)
		s.s.Roughness = k
		r.assume("section.roughness", where, text)
	}
	const hint = "give the height of the roughness, such as \"0.1 mm\""
	understood := quantity.Format(s.s.Roughness, "mm", 2) + " in a bore of " + quantity.Format(s.s.Bore, "mm", 1)
	switch {
	case !s.sized:
	case s.s.Roughness > s.s.Bore/4:
		f.fault("roughness", "the roughness is larger than a quarter of the bore", understood, hint)
	case s.s.Roughness > pipe.MaxRelativeRoughness*s.s.Bore:
		f.warn("roughness", "section.rough", "the pipe is rougher than friction is known for", understood+", known up to "+
			quantity.Format(pipe.MaxRelativeRoughness, "%", 0)+" of it", hint)
	}
}

// boreAt is the bore at a chainage while the profile is still being read.
func (in *runInput) boreAt(chainage float64) (float64, bool) {
	at := -1
	for i, s := range in.sections {
		if !s.sized {
			return 0, false
		}
		if i == 0 || in.begin(i) <= chainage {
			at = i
		}
	}
	if at < 0 {
		return 0, false
	}
	return in.sections[at].s.Bore, true
}

// begin is the chainage at which the i-th section begins, −∞ for the first where it does not say.
func (in *runInput) begin(i int) float64 {
	switch s := in.sections[i]; {
	case s.hasFrom:
		return s.s.From
	case i > 0 && in.sections[i-1].hasTo:
		return in.sections[i-1].s.To
	}
	return math.Inf(-1)
}

// borders are the chainages where one section ends and the next begins.
func (in *runInput) borders() []float64 {
	var all []float64
	for i := 1; i < len(in.sections); i++ {
		if b := in.begin(i); !math.IsInf(b, 0) {
			all = append(all, b)
		}
	}
	sort.Float64s(all)
	return all
}

// closeSections settles where each section begins and ends, and checks that they follow one another without a gap from
// the run's first chainage to its last.
func (r *reader) closeSections(in *runInput, run *Run) {
	run.Sections = make([]Section, len(in.sections))
	for i := range in.sections {
		run.Sections[i] = in.sections[i].s
	}
	if !in.profile || len(in.sections) == 0 {
		return
	}
	first, last := run.First(), run.Last()
	stretch := chainages(first) + " to " + chainages(last)
	for i := range run.Sections {
		s, given := &run.Sections[i], in.sections[i]
		f := given.f
		switch {
		case given.hasFrom:
		case i == 0:
			s.From = first
		default:
			s.From = run.Sections[i-1].To
		}
		switch {
		case given.hasTo:
		case i == len(run.Sections)-1:
			s.To = last
		case in.sections[i+1].hasFrom:
			s.To = run.Sections[i+1].From
		default:
			f.fault("to", "it is not said where the section ends", "", "write to = \"…\", or from in the section after it")
			return
		}
		if s.To == s.From {
			f.fault("to", "the section has no length", "it begins and ends at "+chainages(s.From), "leave it out, or mend from or to")
			return
		}
		if s.To < s.From {
			f.fault("to", "the section ends before it begins", chainages(s.From)+" to "+chainages(s.To), "exchange from and to, or mend the order of the sections")
			return
		}
		if !r.joins(f, run, i, stretch, first) {
			return
		}
	}
	if i := len(run.Sections) - 1; !meet(run.Sections[i].To, last) {
		r.ragged(in.sections[i].f, "to", run.Sections[i].To, last, "the last section", "end", stretch)
		return
	}
	run.Sections[0].From, run.Sections[len(run.Sections)-1].To = first, last
}

// joins checks that a section begins where the one before it ends, or the first where the run does.
func (r *reader) joins(f form, run *Run, i int, stretch string, first float64) bool {
	s := &run.Sections[i]
	if i == 0 {
		if !meet(s.From, first) {
			r.ragged(f, "from", s.From, first, "the first section", "begin", stretch)
		}
		return meet(s.From, first)
	}
	before := run.Sections[i-1].To
	if meet(s.From, before) {
		s.From = before
		return true
	}
	what := "there is a gap between two sections"
	if s.From < before {
		what = "two sections overlap"
	}
	f.fault("from", what, "the one before ends at "+chainages(before)+", this one begins at "+chainages(s.From),
		"let each begin where the one before ends; from may be left out")
	return false
}

func (r *reader) ragged(f form, key string, have, want float64, what, verb, stretch string) {
	f.fault(key, what+" does not "+verb+" where the run does", chainages(have)+", and the run goes from "+stretch,
		"write "+fmt.Sprintf("%q", chainages(want))+", or leave it out")
}

// meet tells whether two chainages are the same but for rounding to the centimetre.
func meet(a, b float64) bool { return math.Abs(a-b) <= 0.01 }

// chainages writes a chainage as it can be typed again.
func chainages(v float64) string {
	if v == math.Round(v) {
		return quantity.FormatChainage(v)
	}
	return quantity.FormatChainageDecimals(v, 2)
}

// on checks that a thing stands on its run.
func (r *reader) on(in *runInput, run *Run, f form, key string, at float64) bool {
	if !in.profile || at >= run.First() && at <= run.Last() {
		return true
	}
	what, end := "stands beyond the run's end", run.Last()
	if at < run.First() {
		what, end = "stands before the run's beginning", run.First()
	}
	f.fault(key, what, fmt.Sprintf("%s, and run %q goes from %s to %s", chainages(at), run.Name, chainages(run.First()), chainages(run.Last())),
		"the nearest chainage on the run is "+chainages(end)+"; is it on another run?")
	return false
}

// equipmentKinds are the words for kinds of equipment.
var equipmentKinds = []struct {
	word string
	kind EquipmentKind
}{
	{"isolating valve", IsolatingValve}, {"check valve", CheckValve}, {"sustaining valve", SustainingValve}, {"reducing valve", ReducingValve},
	{"flow control valve", FlowControlValve}, {"scour", Scour},
}

// String is the trade's word for a kind of equipment.
func (k EquipmentKind) String() string {
	for _, e := range equipmentKinds {
		if e.kind == k {
			return e.word
		}
	}
	return "equipment"
}

func (r *reader) readEquipment(in *runInput, run *Run) {
	words := make([]string, len(equipmentKinds))
	for i, e := range equipmentKinds {
		words[i] = e.word
	}
	type entry struct {
		e Equipment
		f form
	}
	var all []entry
	for _, f := range in.f.list("equipment", "run.equipment", false) {
		e := Equipment{}
		word, known := f.choice("kind", true, words...)
		at, placed := f.chainage("at", in.stakes, true)
		e.Chainage = at
		name, named := f.name("name", false)
		for _, k := range equipmentKinds {
			if known && k.word == word {
				e.Kind = k.kind
			}
		}
		r.readDetails(f, &e, known)
		if !placed || !known || !r.on(in, run, f, "at", at) {
			continue
		}
		if bore := r.line.BoreAt(in.index, at); e.Kind == Scour && in.profile && bore > 0 && e.Bore > bore {
			f.fault("bore", "the scour is wider than the pipe", quantity.Format(e.Bore, "mm", 1)+" in a bore of "+quantity.Format(bore, "mm", 1),
				"give the bore of the scour's own pipe")
		}
		if !named {
			name = fmt.Sprintf("%s at %s on %s", e.Kind, chainages(at), run.Name)
		}
		e.Name = name
		all = append(all, entry{e, f})
	}
	slices.SortStableFunc(all, func(a, b entry) int { return cmp.Compare(a.e.Chainage, b.e.Chainage) })
	for i, x := range all {
		run.Equipment = append(run.Equipment, x.e)
		key := "name"
		if !x.f.t.Has("name") {
			key = "at"
		}
		r.things.add(x.f, key, x.e.Name, len(r.thingPlaces))
		r.thingPlaces = append(r.thingPlaces, thingPlace{run: in.index, equipment: i})
	}
}

// readDetails reads what only some kinds of equipment have, and refuses it on the others.
func (r *reader) readDetails(f form, e *Equipment, known bool) {
	only := func(key string, kinds ...EquipmentKind) bool {
		if known && f.has(key) && !slices.Contains(kinds, e.Kind) {
			f.fault(key, "a "+e.Kind.String()+" has no "+key, "", "leave it out, or mend the kind")
			return false
		}
		return true
	}
	closed, _ := f.flag("closed")
	e.Closed = closed && only("closed", IsolatingValve)
	facing, _ := f.choice("facing", false, "to", "from")
	e.Reverse = facing == "from" && only("facing", CheckValve, SustainingValve, ReducingValve, FlowControlValve)
	regulates := known && (e.Kind == SustainingValve || e.Kind == ReducingValve)
	if setting, ok := f.quantity("setting", quantity.Length, regulates, headLimits); ok && only("setting", SustainingValve, ReducingValve) {
		e.Setting = setting
	}
	if loss, ok := f.number("loss", lossLimits); ok && only("loss", IsolatingValve, CheckValve, SustainingValve, ReducingValve, FlowControlValve) {
		e.Loss = loss
	}
	if bore, ok := f.quantity("bore", quantity.Length, known && e.Kind == Scour, boreLimits); ok && only("bore", Scour) {
		e.Bore = bore
	}
	if flow, ok := f.quantity("flow", quantity.Flow, known && e.Kind == FlowControlValve, flowLimits); ok && only("flow", FlowControlValve) {
		if e.Flow = flow; flow < leastHeld {
			f.fault("flow", "a setting of no flow", quantity.Format(flow, "mL/min", 3), "write the flow that the valve lets through, or an isolating valve that is closed")
		}
	}
	coefficient, hasCoefficient := f.number("coefficient", coefficientLimits)
	hasCoefficient = hasCoefficient && only("coefficient", Scour)
	switch {
	case hasCoefficient:
		e.Coefficient = coefficient
	case e.Kind == Scour && known && !f.t.Has("coefficient"):
		e.Coefficient = assumedScour
		r.assumeOnce("scour.coefficient", "scours", "An open scour discharges "+quantity.Number(assumedScour, 1)+
			" of what its bore would without loss, where no coefficient is given (a sharp-edged opening; common practice, no source).")
	}
}

// assumedScour is the discharge coefficient of an open scour on its bore: a sharp-edged opening; common practice, no source.
const assumedScour = 0.6

func (r *reader) readValves(in *runInput, run *Run) {
	usual, hasUsual := in.f.quantity("seat_height", quantity.Length, false, heightLimits)
	for _, f := range in.f.list("valve", "run.valve", false) {
		v := Placed{Record: -1}
		name, named := f.name("name", true)
		at, placed := f.chainage("at", in.stakes, true)
		height, hasHeight := f.quantity("height", quantity.Length, false, heightLimits)
		kind, typed := f.text("type", false)
		admits, hasAdmits := f.flag("admits_air")
		v.Isolated, _ = f.flag("isolated")
		v.Remark, _ = f.text("remark", false)
		v.Name, v.Chainage, v.Height = name, at, height
		switch {
		case hasHeight:
		case f.t.Has("height"): // told already
		case hasUsual:
			v.Height = usual
		case in.f.t.Has("seat_height"): // told already
		default:
			f.fault("height", "it is not said how high the seat stands above the pipe's obvert", "",
				"write height = \"0.45 m\", or seat_height for all valves of the run")
		}
		v.AdmitsAir = true
		if typed {
			if i, ok := r.types.find(f, "type", kind); ok {
				v.Record, v.AdmitsAir = i, r.line.Rack[i].AdmitsAir
			}
		}
		if hasAdmits {
			v.AdmitsAir = admits
		} else if !typed {
			r.assume("valve.admits-air", "air valve "+name+" on run "+run.Name, "Air can come in through the valve.")
		}
		if named {
			r.things.add(f, "name", name, len(r.thingPlaces))
			r.thingPlaces = append(r.thingPlaces, thingPlace{run: in.index, equipment: -1})
		}
		if placed && r.on(in, run, f, "at", at) {
			run.Placed = append(run.Placed, v)
		}
	}
	slices.SortStableFunc(run.Placed, func(a, b Placed) int { return cmp.Compare(a.Chainage, b.Chainage) })
}

// checkTwins warns of runs that say the same as one before them: parallel mains, or copies left by mistake.
func (r *reader) checkTwins() {
	first := map[string]string{}
	for i, run := range r.line.Runs {
		if run.From < 0 || run.To < 0 || run.SurveyFile == "" {
			continue
		}
		says := fmt.Sprint(run.From, " ", run.To, " ", run.SurveyFile, " ", run.Sections)
		if other, twin := first[says]; twin {
			r.runForms[i].f.warn("name", "run.twin", fmt.Sprintf("the run repeats run %q", other),
				"the same nodes, profile and pipe; read as a main parallel to it", "if it is one pipe, remove one of the two")
			continue
		}
		first[says] = run.Name
	}
}
