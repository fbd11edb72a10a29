package survey

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"obvert/document"
	"obvert/physics/pipe"
	"obvert/quantity"
)

// section is a stretch of one pipe on the run.
type section struct {
	Pipe
	bore float64 // m
	note string  // why it is what it is, where it was assumed
}

// Figures that are taken where nothing is said; common practice, no source.
const (
	usualSeat     = 0.40 // m, of an air valve's seat above the obvert
	usualVelocity = 1.0  // m/s, of the design flow in the pipe
	usualSize     = "EN 545 C40 DN 200"
	sectionGap    = 2.0  // m, between two pipes of a table, a chamber's width
	atEnds        = 0.01 // m, from which a thing beyond an end stands beyond it
)

// takeEquipment takes what the tables say of the run.
func (p *composer) takeEquipment() {
	p.nameRun()
	mine := p.ofRun()
	first, last := p.track.Points[0].Chainage, p.track.Points[len(p.track.Points)-1].Chainage
	on := func(what string, s *float64, o Origin, file string) bool {
		*s = p.turned(*s)
		if *s >= first-atEnds && *s <= last+atEnds {
			*s = min(max(*s, first), last)
			return true
		}
		p.warnRow("survey.beyond-line", file, o, what+" at "+chainageText(*s)+" stands beyond the line", "the profile goes from "+chainageText(first)+" to "+chainageText(last),
			"see whether its chainage is in another unit or counts from elsewhere; it was left out")
		p.left("%s at %s (%s, row %d): the profile goes from %s to %s.", capital(what), chainageText(*s), from(file, o), o.Row, chainageText(first), chainageText(last))
		return false
	}
	names := map[string]bool{}
	for _, r := range p.readings {
		for _, v := range r.Valves {
			if mine(v.Run) && on("air valve "+quantity.Quote(v.Name), &v.Chainage, v.Origin, r.File) {
				given := plainName(v.Name)
				v.Name = free(v.Name, "AV", names)
				p.origin("valve", v.Name, r.File, v.Origin.Row)
				if given != "" && v.Name != given {
					p.warnRow("survey.same-name", r.File, v.Origin, "the name "+quantity.Quote(given)+" stands twice in the tables",
						"this one is called "+quantity.Quote(v.Name), "see whether it is the same valve written twice; give each its own name")
				}
				p.valves = append(p.valves, v)
			}
		}
		for _, f := range r.Fittings {
			if mine(f.Run) && on(f.Kind.String(), &f.Chainage, f.Origin, r.File) {
				if f.Name != "" {
					f.Name = free(f.Name, "", names)
				}
				p.fittings = append(p.fittings, f)
			}
		}
	}
	slices.SortStableFunc(p.valves, func(a, b Valve) int { return cmp.Compare(a.Chainage, b.Chainage) })
	slices.SortStableFunc(p.fittings, func(a, b Fitting) int { return cmp.Compare(a.Chainage, b.Chainage) })
	p.takePumps()
	if n := len(p.valves); n > 0 {
		p.took("%s from the tables.", counted(n, "air valve"))
		if slices.ContainsFunc(p.valves, func(v Valve) bool { return !v.HasHeight }) {
			p.assume("seat", "The seats of air valves whose height no table gives stand "+quantity.Format(usualSeat, "m", 2)+
				" above the pipe's obvert (common practice, no source).")
		}
		p.checkTypes()
	}
	if n := len(p.fittings); n > 0 {
		p.took("%s of other equipment from the tables.", counted(n, "piece"))
	}
}

// warnRow adds a warning of a row of a table.
func (p *composer) warnRow(id, file string, o Origin, what, understood, hint string) {
	f := document.Fault{ID: id, Severity: document.WarningSeverity, File: file, Line: o.Row, What: what, Understood: understood, Hint: hint}
	if o.Table != "" && o.Table != file {
		f.Key = "sheet " + quantity.Quote(o.Table)
	}
	p.faults = append(p.faults, f)
}

func counted(n int, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return fmt.Sprintf("%d %ss", n, noun)
}

// from names a table of a file.
func from(file string, o Origin) string {
	if o.Table == "" || o.Table == file {
		return file
	}
	return file + ", " + quantity.Quote(o.Table)
}

// free is a name that no other thing of the run has.
func free(name, or string, taken map[string]bool) string {
	name = plainName(name)
	if name == "" {
		for n := 1; name == "" || taken[name]; n++ {
			name = fmt.Sprintf("%s %d", or, n)
		}
	}
	try := name
	for n := 2; taken[try]; n++ {
		try = fmt.Sprintf("%s (%d)", name, n)
	}
	taken[try] = true
	return try
}

// nameRun settles what line and run are called.
func (p *composer) nameRun() {
	name := plainName(p.c.Name)
	if name == "" && p.track.Name != baseName(p.folder.File) {
		name = plainName(p.track.Name)
	}
	if name == "" || strings.HasPrefix(strings.ToLower(name), "sheet") || strings.HasPrefix(strings.ToLower(name), "tabelle") {
		stem := baseName(p.folder.File)
		if i := strings.LastIndexByte(stem, '.'); i > 0 {
			stem = stem[:i]
		}
		name = capital(plainName(strings.NewReplacer("_", " ", "-", " ").Replace(stem)))
	}
	if name == "" {
		name = "Main"
	}
	p.run = name
}

// ofRun tells whether a row of a table is of the run: all are where no more than one run is named in the tables.
func (p *composer) ofRun() func(run string) bool {
	var runs []string
	see := func(run string) {
		if run != "" && !slices.Contains(runs, run) {
			runs = append(runs, run)
		}
	}
	for _, r := range p.readings {
		for _, v := range r.Valves {
			see(v.Run)
		}
		for _, f := range r.Fittings {
			see(f.Run)
		}
		for _, s := range r.Pipes {
			see(s.Run)
		}
	}
	if len(runs) < 2 {
		return func(string) bool { return true }
	}
	for _, run := range runs {
		if strings.EqualFold(run, p.run) {
			p.left("Rows of the tables for other runs than %s.", quantity.Quote(run))
			return func(r string) bool { return strings.EqualFold(r, run) || r == "" }
		}
	}
	p.faults = append(p.faults, document.Fault{Key: "--name", What: "the tables speak of several runs, and none is called " + quantity.Quote(p.run),
		Understood: quoted(runs), Hint: "say which run this profile is of, such as --name " + quantity.Quote(runs[0])})
	return func(string) bool { return false }
}

// origin is the row of a table that a thing of the line comes of.
type origin struct {
	key  string // as faults name the thing
	file string
	row  int
}

// origin remembers where a thing comes of, once.
func (p *composer) origin(what, name, file string, row int) {
	key := what + " " + quantity.Quote(name)
	if row > 0 && !slices.ContainsFunc(p.origins, func(x origin) bool { return x.key == key }) {
		p.origins = append(p.origins, origin{key, file, row})
	}
}

// takePumps takes the pumps of one station.
func (p *composer) takePumps() {
	left := map[string]int{}
	station := ""
	for _, r := range p.readings {
		for _, x := range r.Pumps {
			if len(p.pumps) == 0 {
				station = x.Station
			}
			if x.Station != station {
				left[x.Station]++
				continue
			}
			p.pumps = append(p.pumps, x)
			p.pumpFiles = append(p.pumpFiles, r.File)
		}
	}
	for _, name := range sortedKeys(left) {
		p.left("%s of station %s: a line begins at one station.", counted(left[name], "pump"), quantity.Quote(name))
	}
	if n := len(p.pumps); n > 0 {
		p.took("%s from the tables.", counted(n, "pump"))
	}
}

func sortedKeys[V any](m map[string]V) []string {
	var keys []string
	for k := range m {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	return keys
}

// checkTypes keeps types of air valves that the rack has. Others become remarks: a line names no record that is not there.
func (p *composer) checkTypes() {
	missing := map[string]bool{}
	for i := range p.valves {
		v := &p.valves[i]
		if v.Type == "" {
			continue
		}
		known := ""
		for _, r := range p.c.Rack {
			if strings.EqualFold(strings.TrimSpace(v.Type), r.Name) {
				known = r.Name
			}
		}
		if known == "" {
			missing[v.Type] = true
			note := "type in the table: " + v.Type
			if v.Remark != "" {
				note = v.Remark + "; " + note
			}
			v.Remark = note
		}
		v.Type = known
	}
	if len(missing) > 0 {
		p.left("Types of air valves that the rack has no record of, kept as remarks: %s. Say --rack to name the folder of their records.", quoted(sortedKeys(missing)))
	}
}

// takePipe settles the pipe from end to end: what the user says, what a table or the track says, what is usual.
func (p *composer) takePipe() {
	if p.c.Pipe != "" {
		size, err := pipe.Lookup(p.c.Pipe)
		if err != nil {
			_, hint, _ := strings.Cut(err.Error(), ": ")
			p.faults = append(p.faults, document.Fault{Key: "--pipe", What: "no standard size " + quantity.Quote(p.c.Pipe) + " is known", Hint: hint})
			return
		}
		p.sections = []section{{Pipe: Pipe{Size: size.Name}, bore: size.Bore}}
		return
	}
	mine := p.ofRun()
	var all []Pipe
	file := p.folder.File
	for _, r := range p.readings {
		for _, s := range r.Pipes {
			if mine(s.Run) {
				if p.c.Turn && s.To > s.From {
					s.From, s.To = p.turned(s.To), p.turned(s.From)
				}
				all = append(all, s)
				file = r.File
			}
		}
	}
	what := "a table of pipes"
	if len(all) == 0 {
		all, what = slices.Clone(p.track.Pipes), "the pipes beside the profile"
	}
	if len(all) > 0 {
		p.joinPipes(all, file, what)
		return
	}
	size, why := p.assumedSize()
	p.sections = []section{{Pipe: Pipe{Size: size.Name}, bore: size.Bore, note: "pipe"}}
	p.assume("pipe", "The pipe is "+size.Name+", bore "+quantity.Format(size.Bore, "mm", 1)+": "+why+".")
}

// assumedSize is the pipe where nobody says one: the smallest of its class in which the design flow has the usual
// velocity or less.
func (p *composer) assumedSize() (pipe.Size, string) {
	usual, err := pipe.Lookup(usualSize)
	if err != nil {
		panic("survey: " + err.Error())
	}
	if p.c.Flow <= 0 {
		return usual, "no file says which, and neither did whoever imported them"
	}
	best := pipe.Size{}
	for _, name := range pipe.Names() {
		if !strings.HasPrefix(name, "EN 545 C") || strings.Contains(name, "unlined") {
			continue
		}
		s, err := pipe.Lookup(name)
		if err == nil && pipe.Velocity(p.c.Flow, s.Bore) <= usualVelocity && (best.Bore == 0 || s.Bore < best.Bore) {
			best = s
		}
	}
	if best.Bore == 0 {
		return usual, "no size carries the flow at " + quantity.Format(usualVelocity, "m/s", 1) + " or less; say --pipe"
	}
	return best, "the smallest of its kind in which " + quantity.Format(p.c.Flow, "L/s", 1) + " flow at " + quantity.Format(usualVelocity, "m/s", 1) +
		" or less (common practice, no source)"
}

// joinPipes makes sections without gap of pipes by chainage.
func (p *composer) joinPipes(all []Pipe, file, what string) {
	slices.SortStableFunc(all, func(a, b Pipe) int { return cmp.Compare(a.From, b.From) })
	first, last := p.track.Points[0].Chainage, p.track.Points[len(p.track.Points)-1].Chainage
	if len(all) == 1 && all[0].To <= all[0].From {
		all[0].From, all[0].To = first, last
	}
	bad := func(s Pipe, what, understood, hint string) {
		p.faults = append(p.faults, document.Fault{File: file, Line: s.Origin.Row, What: what, Understood: understood, Hint: hint})
	}
	gaps := 0
	for _, s := range all {
		if s.To <= first || s.From >= last {
			p.left("Pipe from %s to %s (%s): beyond the profile.", chainageText(s.From), chainageText(s.To), from(file, s.Origin))
			continue
		}
		x := section{Pipe: s, bore: s.Bore}
		if size, err := pipe.Lookup(s.Size); s.Size != "" && err == nil {
			x.Size = size.Name
			if x.bore == 0 {
				x.bore = size.Bore
			}
		} else if s.Size != "" {
			if s.Bore == 0 {
				_, hint, _ := strings.Cut(err.Error(), ": ")
				bad(s, "no standard size "+quantity.Quote(s.Size)+" is known, and no bore is given", "", hint)
				continue
			}
			x.Size = ""
		}
		if x.bore <= 0 {
			bad(s, "a pipe without size or bore", chainageText(s.From)+" to "+chainageText(s.To), "give its bore, or say --pipe for the whole run")
			continue
		}
		if n := len(p.sections); n > 0 {
			before := &p.sections[n-1]
			switch gap := s.From - before.To; {
			case gap > sectionGap:
				bad(s, "no pipe is given from "+chainageText(before.To)+" to "+chainageText(s.From), "", "let the pipes follow one another, or say --pipe for the whole run")
				continue
			case gap < -sectionGap:
				bad(s, "two pipes overlap from "+chainageText(s.From)+" to "+chainageText(before.To), "", "let the pipes follow one another; for parallel mains import one at a time")
				continue
			case gap > atEnds:
				gaps++
			}
			x.From = before.To
			if alike(*before, x) {
				before.To = x.To
				continue
			}
		}
		p.sections = append(p.sections, x)
	}
	n := len(p.sections)
	if n == 0 {
		if p.faults.Err() == nil {
			bad(all[0], "no pipe of the table lies on the profile", "the profile goes from "+chainageText(first)+" to "+chainageText(last), "say --pipe for the whole run")
		}
		return
	}
	if s := p.sections[0]; s.From-first > sectionGap {
		bad(s.Pipe, "no pipe is given before "+chainageText(s.From), "the profile begins at "+chainageText(first), "let the pipes reach from end to end, or say --pipe for the whole run")
	}
	if s := p.sections[n-1]; last-s.To > sectionGap {
		bad(s.Pipe, "no pipe is given behind "+chainageText(s.To), "the profile ends at "+chainageText(last), "let the pipes reach from end to end, or say --pipe for the whole run")
	}
	say := ""
	if gaps > 0 {
		say = fmt.Sprintf("; %s of up to %s between them closed", counted(gaps, "gap"), metre(sectionGap))
	}
	p.took("%s from %s%s.", counted(n, "section"), what, say)
}

// alike reports two sections of the same pipe.
func alike(a, b section) bool {
	a.From, a.To, a.Origin, a.Run = b.From, b.To, b.Origin, b.Run
	return a == b
}

// boreAt is the bore at a chainage, at a border that of the section that begins there.
func (p *composer) boreAt(s float64) float64 {
	bore := p.sections[0].bore
	for _, x := range p.sections[1:] {
		if s >= x.From {
			bore = x.bore
		}
	}
	return bore
}
