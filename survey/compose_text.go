package survey

import (
	"bufio"
	"bytes"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"obvert/document"
	"obvert/line"
	"obvert/physics/valve"
	"obvert/quantity"
)

// write makes the files, reads them back as a line, reckons the pump's duty by it where one is wanted, and writes again.
func (p *composer) write() {
	var profile bytes.Buffer
	if err := p.writeProfile(&profile); err != nil {
		p.fault(0, "the profile cannot be written", err.Error(), "see whether the file is the right one")
		return
	}
	p.profile = "profiles/" + FileStem(p.run) + ".csv"
	files := func() []File { return []File{{line.DocumentName, p.document()}, {p.profile, profile.Bytes()}} }
	p.describe()
	if p.station && len(p.pumps) == 0 {
		first, faults := readBack(files(), p.c.Rack)
		if p.unreadable(faults) || !p.reckonDuty(first) {
			return
		}
	}
	all := files()
	l, faults := readBack(all, p.c.Rack)
	if p.unreadable(faults) {
		return
	}
	p.faults = append(p.faults, faults.Only(document.WarningSeverity)...)
	all = append(all, p.records()...)
	p.folder.Files, p.folder.Line, p.folder.Track = all, l, p.track
}

// records are the rack's records of the types that the air valves have, so that the folder stands by itself.
func (p *composer) records() []File {
	var out []File
	taken := map[string]bool{}
	for _, r := range p.c.Rack {
		if slices.ContainsFunc(p.valves, func(v Valve) bool { return v.Type == r.Name }) {
			out = append(out, File{line.RackFolder + "/" + free(FileStem(r.Name), "", taken) + ".toml", valve.Format(r)})
		}
	}
	if len(out) > 0 {
		p.took("%s of air valves from the rack, into the line's own.", counted(len(out), "record"))
	}
	return out
}

// unreadable passes on what the line's reader does not accept.
func (p *composer) unreadable(faults document.Faults) bool {
	if faults.Err() == nil {
		return false
	}
	for _, f := range faults.Only(document.FaultSeverity) {
		p.faults = append(p.faults, p.whence(f))
	}
	return true
}

// whence puts a fault of the composed text where the user wrote what is wrong: a row of the profile or of a table.
func (p *composer) whence(f document.Fault) document.Fault {
	switch f.File {
	case p.profile:
		if i := f.Line - 2; i >= 0 && i < len(p.track.Points) { // row by row, under the head
			f.File, f.Line, f.Column = p.readings[p.from].File, p.track.Points[i].Where, 0
			return f
		}
	case line.DocumentName:
		for _, o := range p.origins {
			if strings.Contains(f.Key, o.key) {
				f.File, f.Line, f.Column = o.file, o.row, 0
				return f
			}
		}
	default:
		return f
	}
	f.File += " as composed"
	return f
}

// describe says what was taken of the track.
func (p *composer) describe() {
	t := &p.track
	q := t.Points
	say := fmt.Sprintf("Chainage %s to %s", chainageText(q[0].Chainage), chainageText(q[len(q)-1].Chainage))
	if t.Chainages != "" {
		say += ", " + t.Chainages
	}
	p.took("%s.", say)
	level := "Levels of the " + p.kind.String()
	if p.ground() {
		level += ", less a cover of " + quantity.Format(p.c.Cover, "m", 2)
	}
	p.took("%s, %s.", level, points(len(q)))
}

// kindHeads are the heads of a profile's level by what it is of, as line.ReadProfile knows them.
var kindHeads = map[line.LevelKind]string{line.LevelObvert: "Obvert level [m]", line.LevelInvert: "Invert level [m]", line.LevelAxis: "Axis level [m]",
	line.LevelGround: "Ground level [m]"}

// writeProfile writes the track as a profile.
func (p *composer) writeProfile(w io.Writer) error {
	c := newProfileWriter(w, p.kind, !p.ground() && hasGround(p.track.Points))
	for _, q := range p.track.Points {
		c.row(q.Chainage, q.Level, q.Ground, q.HasGround)
	}
	return c.flush()
}

func hasGround(all []Point) bool {
	for _, q := range all {
		if q.HasGround {
			return true
		}
	}
	return false
}

// WriteProfileCSV writes a run's profile as a table that line.ReadProfile and [Text] read back to the same points: chainage and
// level of the obvert in metres, and the ground's where the run has it, to a tenth of a millimetre. The error is the writer's.
func WriteProfileCSV(w io.Writer, run *line.Run) error {
	ground := false
	for _, q := range run.Points {
		ground = ground || q.HasGround
	}
	c := newProfileWriter(w, line.LevelObvert, ground)
	for _, q := range run.Points {
		c.row(q.Chainage, q.Obvert, q.Ground, q.HasGround)
	}
	return c.flush()
}

// profileWriter writes a profile row by row.
type profileWriter struct {
	w      *bufio.Writer
	ground bool
	b      []byte
}

func newProfileWriter(w io.Writer, kind line.LevelKind, ground bool) *profileWriter {
	c := &profileWriter{w: bufio.NewWriter(w), ground: ground}
	c.w.WriteString("Chainage [m]," + kindHeads[kind])
	if ground {
		c.w.WriteString(",Ground level [m]")
	}
	c.w.WriteByte('\n')
	return c
}

// row writes one point. Errors stay with the writer until flush.
func (c *profileWriter) row(s, z, g float64, hasG bool) {
	c.b = appendFigure(c.b[:0], s)
	c.b = append(c.b, ',')
	c.b = appendFigure(c.b, z)
	if c.ground {
		c.b = append(c.b, ',')
		if hasG {
			c.b = appendFigure(c.b, g)
		}
	}
	c.b = append(c.b, '\n')
	c.w.Write(c.b)
}

func (c *profileWriter) flush() error { return c.w.Flush() }

// appendFigure writes a figure with up to four decimals and no more than it needs.
func appendFigure(b []byte, v float64) []byte {
	v = math.Round(v*1e4) / 1e4
	if v == 0 {
		v = 0 // no minus before a zero
	}
	return strconv.AppendFloat(b, v, 'f', -1, 64)
}

// documentWriter writes the text of a document.
type documentWriter struct{ b bytes.Buffer }

func (w *documentWriter) line(s string) { w.b.WriteString(s); w.b.WriteByte('\n') }

// comment writes a sentence as comment lines.
func (w *documentWriter) comment(s string) {
	const width = 118
	row := "#"
	for word := range strings.FieldsSeq(s) {
		if utf8.RuneCountInString(row)+1+utf8.RuneCountInString(word) > width && row != "#" {
			w.line(row)
			row = "#"
		}
		row += " " + word
	}
	w.line(row)
}

func (w *documentWriter) text(key, s string) { w.line(key + " = " + document.Quote(s)) }

// value writes a quantity as text with its unit.
func (w *documentWriter) value(key string, v float64, unit string, decimals int) {
	w.text(key, valueText(v, unit, decimals))
}

// valueText is a figure with as many decimals as it needs, up to a number of them, and its unit behind a plain space.
func valueText(v float64, unit string, decimals int) string {
	s := strings.NewReplacer("\u00a0", " ", "\u2212", "-").Replace(quantity.Format(v, unit, decimals))
	figure, rest, _ := strings.Cut(s, " ")
	if strings.Contains(figure, ".") {
		figure = strings.TrimRight(strings.TrimRight(figure, "0"), ".")
	}
	return figure + " " + rest
}

// chainageText writes a chainage as it can be typed again, to the millimetre where it has millimetres.
func chainageText(s float64) string {
	d := 0
	for ; d < 3; d++ {
		scale := math.Pow10(d)
		if math.Abs(math.Round(s*scale)/scale-s) < 5e-7 {
			break
		}
	}
	return strings.ReplaceAll(quantity.FormatChainageDecimals(s, d), "\u2212", "-")
}

// plainName is text that may be a name: printable, one line, not too long.
func plainName(s string) string {
	s = strings.Map(func(r rune) rune {
		if r == unicode.ReplacementChar || !unicode.IsPrint(r) {
			return ' '
		}
		return r
	}, s)
	s = strings.Join(strings.Fields(s), " ")
	if r := []rune(s); len(r) > 100 {
		s = strings.TrimSpace(string(r[:100]))
	}
	return s
}

// FileStem is a name as part of a path: small letters, figures and dashes.
func FileStem(name string) string {
	var b strings.Builder
	for _, r := range strings.ToLower(name) {
		switch {
		case r >= 'a' && r <= 'z' || r >= '0' && r <= '9':
			b.WriteRune(r)
		case b.Len() > 0 && !strings.HasSuffix(b.String(), "-"):
			b.WriteByte('-')
		}
	}
	if s := strings.Trim(b.String(), "-"); s != "" {
		return s
	}
	return "main"
}

// assumed writes the comment above a key whose value nobody gave.
func (p *composer) assumed(w *documentWriter, of string) {
	if text, ok := p.notes[of]; ok {
		w.comment("assumed by " + p.c.By + ": " + text)
	}
}

// document writes line.toml.
func (p *composer) document() []byte {
	w := &documentWriter{}
	var files []string
	for _, r := range p.readings {
		files = append(files, plainName(baseName(r.File)))
	}
	w.comment("Made by obvert " + p.c.By + " from " + strings.Join(files, ", ") + ". It is yours to change: every key is explained in docs/methods/line.md.")
	w.line("")
	w.line("[line]")
	w.text("name", p.run)
	if len(p.folder.Assumed) > 0 {
		w.line("assumed = [   # by obvert " + p.c.By + "; take a sentence out when its value is known and put right below")
		for _, s := range p.folder.Assumed {
			w.line("  " + document.Quote(s) + ",")
		}
		w.line("]")
	}
	from, to := p.writeNodes(w)
	w.line("")
	w.line("[[run]]")
	w.text("name", p.run)
	w.text("from", from)
	w.text("to", to)
	w.text("profile", p.profile)
	if p.ground() {
		w.value("cover", p.c.Cover, "m", 3)
	}
	p.writeSeats(w)
	p.writeSections(w)
	p.writeFittings(w)
	p.writeValves(w)
	p.writeSurvey(w)
	return w.b.Bytes()
}

// writeNodes writes what feeds the line and where it ends, and gives their names.
func (p *composer) writeNodes(w *documentWriter) (from, to string) {
	w.line("")
	p.assumed(w, "from")
	if p.station {
		from = "Pump station"
		if len(p.pumps) > 0 && p.pumps[0].Station != "" {
			from = plainName(p.pumps[0].Station)
		}
		w.line("[[station]]")
		w.text("name", from)
		p.assumed(w, "feed")
		w.value("sump_level", p.feed, "m", 3)
		p.writePumps(w)
	} else {
		from = "Feeding tank"
		w.line("[[tank]]")
		w.text("name", from)
		p.assumed(w, "feed")
		w.value("level", p.feed, "m", 3)
	}
	w.line("")
	p.assumed(w, "to")
	if p.outfall {
		to = "Outfall"
		w.line("[[outfall]]")
		w.text("name", to)
		return from, to
	}
	to = "Terminal tank"
	w.line("[[tank]]")
	w.text("name", to)
	p.assumed(w, "end")
	w.value("level", p.end, "m", 3)
	return from, to
}

// writePumps writes the pumps of the tables, or the one that was reckoned.
func (p *composer) writePumps(w *documentWriter) {
	if len(p.pumps) == 0 {
		w.line("")
		w.line("[[station.pump]]")
		w.text("name", "Pump")
		p.assumed(w, "flow")
		p.assumed(w, "curve")
		curve := [][2]float64{{0, 2}, {0.001, 1}} // stands until the duty is reckoned
		if p.duty != nil {
			curve = p.duty.curve()
		}
		w.line("curve = " + curveText(curve, "m"))
		return
	}
	names := map[string]bool{}
	for i, x := range p.pumps {
		w.line("")
		w.line("[[station.pump]]")
		name := free(x.Name, "Pump", names)
		p.origin("pump", name, p.pumpFiles[i], x.Origin.Row)
		w.text("name", name)
		if x.Alike > 1 {
			w.line(fmt.Sprintf("alike = %d", x.Alike))
		}
		if x.HasAxisLevel {
			w.value("axis_level", x.AxisLevel, "m", 3)
		}
		w.line("curve = " + curveText(x.Curve, "m"))
		if len(x.Efficiency) > 0 {
			w.line("efficiency = " + curveText(x.Efficiency, "%"))
		}
		if len(x.NPSH) > 0 {
			w.line("npsh = " + curveText(x.NPSH, "m"))
		}
	}
}

// curveText writes the points of a curve over flow.
func curveText(curve [][2]float64, unit string) string {
	rows := make([]string, len(curve))
	for i, q := range curve {
		rows[i] = "[" + document.Quote(valueText(q[0], "L/s", 3)) + ", " + document.Quote(valueText(q[1], unit, 2)) + "]"
	}
	return "[" + strings.Join(rows, ", ") + "]"
}

// writeSeats writes the usual height of seats where an air valve has none of its own.
func (p *composer) writeSeats(w *documentWriter) {
	if _, wanted := p.notes["seat"]; wanted {
		p.assumed(w, "seat")
		w.value("seat_height", usualSeat, "m", 3)
	}
}

func (p *composer) writeSections(w *documentWriter) {
	for i, s := range p.sections {
		w.line("")
		if s.note != "" {
			p.assumed(w, s.note)
		}
		w.line("[[run.section]]")
		if i+1 < len(p.sections) {
			w.text("to", chainageText(s.To))
		}
		if s.Size != "" {
			w.text("size", s.Size)
		}
		if s.Material != "" && s.Size == "" {
			w.text("material", plainName(s.Material))
		}
		if s.Bore > 0 {
			w.value("bore", s.Bore, "mm", 2)
		}
		if s.Wall > 0 {
			w.value("wall", s.Wall, "mm", 2)
		}
		switch {
		case s.HazenWilliams > 0:
			w.line("hazen_williams = " + strconv.FormatFloat(s.HazenWilliams, 'f', -1, 64))
		case s.Roughness > 0:
			w.value("roughness", s.Roughness, "mm", 4)
		}
		if s.Rating > 0 {
			w.value("rating", s.Rating, "bar", 2)
		}
	}
}

func (p *composer) writeFittings(w *documentWriter) {
	for _, f := range p.fittings {
		w.line("")
		w.line("[[run.equipment]]")
		w.text("kind", f.Kind.String())
		if f.Name != "" {
			w.text("name", f.Name)
		}
		w.text("at", chainageText(f.Chainage))
		if f.Kind == line.Scour && f.Bore > 0 {
			w.value("bore", f.Bore, "mm", 2)
		}
		if f.Kind == line.SustainingValve || f.Kind == line.ReducingValve {
			w.value("setting", f.Setting, "m", 3)
		}
		if f.Kind == line.FlowControlValve {
			w.value("flow", f.Flow, "L/s", 3)
		}
		if f.HasLoss && f.Kind != line.Scour {
			w.line("loss = " + strconv.FormatFloat(f.Loss, 'f', -1, 64))
		}
		if f.Closed && f.Kind == line.IsolatingValve {
			w.line("closed = true")
		}
		if f.Remark != "" {
			w.comment(plainName(f.Remark))
		}
	}
}

func (p *composer) writeValves(w *documentWriter) {
	for _, v := range p.valves {
		w.line("")
		w.line("[[run.valve]]")
		w.text("name", v.Name)
		w.text("at", chainageText(v.Chainage))
		if v.Type != "" {
			w.text("type", v.Type)
		}
		if v.HasHeight {
			w.value("height", v.Height, "m", 3)
		}
		if s := plainName(v.Remark); s != "" {
			w.text("remark", s)
		}
	}
}

// writeSurvey writes how well the levels are known, where the kind of source tells.
func (p *composer) writeSurvey(w *documentWriter) {
	if p.track.Noise <= 0 {
		return
	}
	w.line("")
	w.comment("What a level of this kind of source is worth: a standard uncertainty.")
	w.line("[survey]")
	w.value("levels", math.Min(p.track.Noise, 100), "m", 3)
}
