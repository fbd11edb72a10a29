package survey

import (
	"bytes"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"obvert/document"
	"obvert/physics/pipe"
	"obvert/quantity"
)

// Equipment reads a table of pumps, pipes, air valves or other equipment from delimited text. It is a [Reader].
func Equipment(file string, data []byte, o Options) (Reading, document.Faults) {
	t, faults := gridOfText(file, data, o)
	if faults.Err() != nil {
		return Reading{}, faults
	}
	g := &document.Gather{File: file}
	for _, f := range faults {
		g.Add(f)
	}
	r := Reading{File: file, Format: "CSV"}
	e := findEquipment(&t, o)
	if e == nil {
		g.Add(document.Fault{What: "no table of equipment", Understood: "no head of pumps, pipes, air valves or other equipment among the first rows",
			Hint: `head the columns of pumps "Pump", "Flow [L/s]", "Head [m]"; of pipes "From", "To", "Size"; of air valves "Air valve", "Chainage", "Type"; of other equipment "Kind", "Chainage"`})
		return Reading{}, g.All()
	}
	e.read(g, &r)
	if g.Fatal {
		return Reading{}, g.All()
	}
	return r, g.All()
}

// lookedAt is how many bytes of a text are looked at to tell what it is.
const lookedAt = 1 << 16

// IsEquipment tells whether delimited text is a table of equipment rather than a survey.
func IsEquipment(file string, data []byte, o Options) bool {
	if len(data) > lookedAt { // up to a line's end, so that no letter is cut in two
		data = data[:1+max(0, bytes.LastIndexByte(data[:lookedAt], '\n'))]
	}
	t, faults := gridOfText(file, data, o)
	return faults.Err() == nil && findEquipment(&t, o) != nil
}

// read reads the table's rows.
func (e *equipmentTable) read(g *document.Gather, r *Reading) {
	e.g, e.skipped = g, map[string]int{}
	if n := len(e.rows) - e.first; n > mostEquipment {
		g.Add(document.Fault{Key: e.columnKey(-1, -1, ""), What: "too many rows for a table of equipment", Understood: fmt.Sprintf("%d, and at most %d are read", n, mostEquipment)})
		return
	}
	var rows []int
	for i := e.first; i < len(e.rows); i++ {
		if e.wanted(i) {
			rows = append(rows, i)
		}
	}
	table := Table{Name: e.name, Kind: e.kind}
	for _, h := range e.heads {
		table.Head = append(table.Head, h.role)
	}
	for _, i := range rows {
		table.Rows = append(table.Rows, e.rows[i])
		table.From = append(table.From, e.places[i])
	}
	if len(rows) == 0 {
		g.Add(document.Fault{Line: e.places[e.headRow], Key: e.columnKey(-1, -1, ""), What: "a table of " + e.kind + " without a row", Hint: "leave it out, or write its rows"})
		return
	}
	what := ""
	switch e.kind {
	case kindPumps:
		n := len(r.Pumps)
		e.readPumps(r, rows)
		what = plural(len(r.Pumps)-n, "pump", "pumps")
	case kindPipes:
		n := len(r.Pipes)
		e.readPipes(r, rows)
		what = plural(len(r.Pipes)-n, "stretch of pipe", "stretches of pipe")
	default:
		v, f := len(r.Valves), len(r.Fittings)
		e.readPlaced(r, rows)
		v, f = len(r.Valves)-v, len(r.Fittings)-f
		what = plural(v, "air valve", "air valves")
		switch {
		case v == 0:
			what = plural(f, "piece of equipment", "pieces of equipment")
		case f > 0:
			what += " and " + plural(f, "piece of other equipment", "pieces of other equipment")
		}
	}
	r.Tables = append(r.Tables, table)
	e.tell(r, what)
}

// totalsWords begin a row of sums, folded.
var totalsWords = strings.Fields("total totals sum summe gesamt somme totaux suma totale somma soma totaal som average mean mittel mittelwert moyenne promedio media min max minimum maximum subtotal zwischensumme")

// wanted tells a row that is a record from totals, words and the head once more.
func (e *equipmentTable) wanted(i int) bool {
	first, figures, same, used := "", 0, 0, 0
	for c := range e.rows[i] {
		text := e.cell(i, c)
		if text == "" {
			continue
		}
		if first == "" {
			first = text
		}
		if beginsFigure(text) {
			figures++
		}
		if c < len(e.heads) {
			if text == e.heads[c].text {
				same++
			}
			if e.heads[c].role != "" {
				used++
			}
		}
	}
	words := headWords(first)
	switch {
	case first == "":
		return false
	case len(words) > 0 && len(words) <= 3 && slices.Contains(totalsWords, words[0]) && !strings.ContainsAny(first, "0123456789"):
		e.skipped["totals"]++
		return false
	case same >= 2:
		e.skipped["repeated head"]++
		return false
	case used == 0, used == 1 && figures == 0 && len(e.heads) > 2:
		e.skipped["words alone"]++
		return false
	}
	return true
}

// fault tells what is wrong with a cell, or with a row where column is −1.
func (e *equipmentTable) fault(row, column int, what, understood, hint string) {
	head := ""
	if column >= 0 {
		head = e.heads[column].text
	}
	e.g.Repeated(fmt.Sprint(e.name, "\x00", column, "\x00", understood), e.places[row], document.FaultSeverity, func() document.Fault {
		return document.Fault{Line: e.places[row], Key: e.columnKey(row, column, head), What: what, Understood: understood, Hint: hint}
	})
}

// blankMarks stand in cells that have no value.
var blankMarks = []string{"", "-", "–", "—", "--", "n/a", "na", "n.a.", "none", "/", "?"}

// word is the text in a row under a role; empty where there is none.
func (e *equipmentTable) word(row int, role string) string {
	text := e.cell(row, e.column(role))
	if slices.Contains(blankMarks, strings.ToLower(text)) {
		return ""
	}
	if strings.HasPrefix(text, "#") && strings.HasSuffix(text, "!") || text == "#N/A" || text == "#NAME?" {
		e.fault(row, e.column(role), quantity.Quote(text)+" is no value", "an error of the spreadsheet", "put the cell right in the workbook")
		return ""
	}
	return strings.Join(strings.Fields(text), " ")
}

// figure is a role's figure in SI; given is false where the cell is empty. A fault is told, and then given is false as well.
func (e *equipmentTable) figure(row int, role string) (v float64, given bool) {
	c := e.column(role)
	if c < 0 {
		return 0, false
	}
	return e.figureAt(row, c, roleUnits[role])
}

// figureAt reads the figure in a cell.
func (e *equipmentTable) figureAt(row, c int, k quantity.Kind) (v float64, given bool) {
	text := e.cell(row, c)
	if slices.Contains(blankMarks, strings.ToLower(text)) {
		return 0, false
	}
	h := e.heads[c]
	unit := h.unit
	if unit == "" && k == quantity.Chainage {
		unit = e.o.PlanUnit
	}
	_, bare := strconv.ParseFloat(text, 64)
	if bare == nil && (unit == "-" || unit == "–" || unit == "1") && k == quantity.Ratio {
		x, _ := strconv.ParseFloat(text, 64)
		v, err := quantity.Parse(k, strconv.FormatFloat(100*x, 'g', 15, 64)+" %")
		if err == nil {
			return v, true
		}
	}
	full := text
	if bare == nil && unit != "" {
		full = text + " " + unit
	}
	var err error
	if k == quantity.Chainage {
		if full != text && !strings.Contains(text, "+") {
			v, err = quantity.Parse(k, full)
		} else {
			v, err = quantity.ParseChainage(full, e.o.Stakes)
		}
	} else {
		v, err = quantity.Parse(k, full)
	}
	if err != nil {
		e.refuse(row, c, text, k, unit, err)
		return 0, false
	}
	if bare != nil && h.unit != "" && !e.agrees(k, text, h.unit) {
		e.fault(row, c, quantity.Quote(text)+" under a head in "+h.unit, "two units for one figure", "write one unit in both places")
		return 0, false
	}
	return v, true
}

// agrees tells whether the unit written in a cell is the head's.
func (e *equipmentTable) agrees(k quantity.Kind, text, unit string) bool {
	if strings.Contains(text, "+") {
		return true // stakes have a unit of their own
	}
	own := unitTail(text)
	a, err1 := quantity.Parse(k, "1 "+own)
	b, err2 := quantity.Parse(k, "1 "+unit)
	return err1 != nil || err2 != nil || a == b
}

// unitTail is what stands behind a figure.
func unitTail(text string) string {
	i := 0
	for i < len(text) && strings.IndexByte("+-.,0123456789", text[i]) >= 0 {
		i++
	}
	return strings.TrimSpace(strings.TrimLeft(text[i:], "\u00a0\u202f "))
}

// refuse tells why a cell is not the figure that is wanted.
func (e *equipmentTable) refuse(row, c int, text string, k quantity.Kind, unit string, err error) {
	what, understood, hint := quantity.Quote(text)+" is not "+k.String(), err.Error(), ""
	var q *quantity.Error
	if errors.As(err, &q) {
		understood, hint = q.Understood, q.Hint
	}
	switch {
	case strings.HasPrefix(text, "#"):
		understood, hint = "an error of the spreadsheet", "put the cell right in the workbook"
	case text == "formula without a value":
		what, understood, hint = "no value in the cell", "a formula that was stored without its result", "open the workbook in a spreadsheet program and save it"
	case isDate(text):
		understood, hint = "a date: the spreadsheet took a figure for one", "type the figure again into a cell formatted as a number"
	case understood == "no unit":
		hint += ", or put the unit into the head, such as " + quantity.Quote(e.heads[c].text+" ["+exampleUnit(k)+"]")
	}
	e.fault(row, c, what, understood, hint)
}

// exampleUnit is a usual unit of a kind.
func exampleUnit(k quantity.Kind) string {
	switch k {
	case quantity.Flow:
		return "L/s"
	case quantity.Ratio:
		return "%"
	case quantity.GaugePressure:
		return "bar"
	}
	return "m"
}

// isDate tells a text such as "2026-05-12".
func isDate(text string) bool {
	if len(text) < 10 || text[4] != '-' || text[7] != '-' {
		return false
	}
	return strings.Trim(text[:10], "0123456789-") == ""
}

// positive refuses a figure that is not above zero.
func (e *equipmentTable) positive(row int, role string) (v float64, given bool) {
	v, given = e.figure(row, role)
	if given && !(v > 0) {
		e.fault(row, e.column(role), quantity.Quote(e.cell(row, e.column(role)))+" is not above zero", "", "write the "+role+", or leave the cell empty")
		return 0, false
	}
	return v, given
}

// plainNumber reads a number without a unit.
func (e *equipmentTable) plainNumber(row int, role string, least, most float64) (v float64, given bool) {
	text := e.word(row, role)
	if text == "" {
		return 0, false
	}
	v, err := strconv.ParseFloat(text, 64)
	if err != nil || !(v >= least && v <= most) {
		e.fault(row, e.column(role), quantity.Quote(text)+" is not a "+role, "", fmt.Sprintf("write a number from %g to %g", least, most))
		return 0, false
	}
	return v, true
}

func (e *equipmentTable) origin(row int) Origin {
	return Origin{Table: e.name, Row: e.places[row]}
}

// readPipes reads a table of pipes: a stretch a row.
func (e *equipmentTable) readPipes(r *Reading, rows []int) {
	var rest []string
	for _, i := range rows {
		p := Pipe{Run: e.word(i, roleRun), Size: e.word(i, roleSize), Material: e.word(i, roleMaterial), Origin: e.origin(i)}
		var from, to bool
		p.From, from = e.figure(i, roleFrom)
		p.To, to = e.figure(i, roleTo)
		for _, end := range []struct {
			role string
			ok   bool
		}{{roleFrom, from}, {roleTo, to}} {
			if !end.ok && e.word(i, end.role) == "" {
				e.fault(i, e.column(end.role), "the chainage at which this pipe "+map[string]string{roleFrom: "begins", roleTo: "ends"}[end.role]+" is missing", "", "write the chainages of its two ends")
			}
		}
		if from && to && !(p.To > p.From) {
			e.fault(i, e.column(roleTo), "a stretch of pipe that ends where it begins or before", quantity.Quote(e.cell(i, e.column(roleFrom)))+" to "+quantity.Quote(e.cell(i, e.column(roleTo))),
				"write the smaller chainage first")
		}
		p.Bore, _ = e.positive(i, roleBore)
		p.Wall, _ = e.positive(i, roleWall)
		p.Roughness, _ = e.positive(i, roleRoughness)
		p.HazenWilliams, _ = e.plainNumber(i, roleHazen, 20, 200)
		p.Rating = e.rating(i)
		if p.Size != "" {
			size, err := pipe.Lookup(p.Size)
			switch {
			case err == nil:
				p.Size = size.Name
			case p.Bore > 0:
				rest = append(rest, quantity.Quote(p.Size))
				p.Size = ""
			default:
				_, hint, _ := strings.Cut(err.Error(), ": ")
				e.fault(i, e.column(roleSize), "no standard size "+quantity.Quote(p.Size)+" is known", "no bore is given either", hint)
			}
		} else if p.Bore == 0 && e.word(i, roleBore) == "" {
			e.fault(i, -1, "neither size nor bore of this pipe is given", "", `write a standard size, such as "EN 545 C40 DN 200", or the bore`)
		}
		r.Pipes = append(r.Pipes, p)
	}
	if len(rest) > 0 {
		slices.Sort(rest)
		rest = slices.Compact(rest)
		r.Left = append(r.Left, e.title()+": the sizes "+strings.Join(rest[:min(len(rest), 10)], ", ")+more(len(rest)-10)+" are no standard ones; the bore beside them is taken.")
	}
}

// rating reads a pressure, or a PN: a number of bar (EN 1333 names them so; that it is the pressure allowed is common practice).
func (e *equipmentTable) rating(row int) float64 {
	c := e.column(roleRating)
	text := strings.ToUpper(strings.ReplaceAll(e.cell(row, c), " ", ""))
	number, pn := strings.CutPrefix(text, "PN")
	if !pn && c >= 0 && strings.Join(headWords(e.heads[c].text), " ") == "pn" && e.heads[c].unit == "" {
		number, pn = text, true
	}
	if pn {
		if n, err := strconv.ParseFloat(number, 64); err == nil && n > 0 && n <= 1000 {
			return n * 1e5
		}
	}
	v, _ := e.positive(row, roleRating)
	return v
}
