package line

import (
	"bytes"
	"math"
	"regexp"
	"strings"

	"obvert/document"
	"obvert/quantity"
)

// surveyRow is one row of the survey in SI, as the file gives it.
type surveyRow struct {
	s, z, g float64 // m: chainage, level read, ground kept beside it
	x, y    float64 // of a survey: m on the plan, or degrees of longitude and latitude
	line    int32
	hasG    bool
	noZ     bool // of a survey: the level is missing
}

// findDecimal settles the decimal sign by the figures of the columns in use.
func (p *profileReader) findDecimal() bool {
	p.decimal = '.'
	switch p.options.Decimal {
	case "comma":
		p.decimal = ','
		return true
	case "point":
		return true
	}
	if bytes.IndexByte(p.text[p.header.end:], ',') < 0 || p.sep == ',' && bytes.IndexByte(p.text[p.header.end:], '"') < 0 {
		if p.sep != ',' {
			return p.onlyPoints()
		}
		return true
	}
	s := p.lookAtSigns()
	switch {
	case s.comma.count > s.point.count:
		p.decimal = ','
	case s.point.count > 0:
	case s.vagueComma.count > 0:
		p.faults.Add(document.Fault{Line: s.vagueComma.line, What: "the comma may be the decimal sign or part thousands",
			Understood: quantity.Quote(s.example) + ", and no other figure of the file tells which",
			Hint:       "write " + keyDecimal + " = \"comma\" (or \"point\") in the run"})
		return false
	}
	if p.decimal == ',' {
		p.faults.Remark("profile.decimal-comma", s.comma.line, "the decimal sign of this file is the comma",
			counted(s.comma.count, "figure tells", "figures tell")+" so, the first in this line", "")
	}
	return true
}

// onlyPoints handles a file without a comma: its points are decimal signs, unless figures with two of them show that
// they part thousands.
func (p *profileReader) onlyPoints() bool {
	if s := p.lookAtSigns(); s.comma.count > s.point.count {
		p.decimal = ','
	}
	return true
}

// lookAtSigns goes through all figures of the columns in use.
func (p *profileReader) lookAtSigns() signs {
	var s signs
	largest := func(u cellUnit, limit float64) float64 {
		if u.unit.known() {
			return limit / u.unit.factor
		}
		return math.Inf(1)
	}
	chainage, level, ground := largest(p.chainage, farthestChainage), largest(p.level, highestLevel), largest(p.ground, highestLevel)
	r := p.rowsBelow()
	for r.read() {
		s.look(r.cell(p.columns.chainage), r.line, chainage)
		s.look(r.cell(p.columns.level), r.line, level)
		if p.columns.x >= 0 {
			s.look(r.cell(p.columns.x), r.line, math.Inf(1))
			s.look(r.cell(p.columns.y), r.line, math.Inf(1))
		}
		if p.columns.ground >= 0 {
			s.look(r.cell(p.columns.ground), r.line, ground)
		}
	}
	return s
}

// readRows reads every row under the header by read, telling the faults of each.
func (p *profileReader) readRows(read func(*records) (surveyRow, bool)) []surveyRow {
	r := p.rowsBelow()
	rows := make([]surveyRow, 0, min(len(p.text)/16+1, 1<<16))
	for r.read() {
		row, ok := read(r)
		if !ok {
			continue
		}
		if len(rows) == p.mostPoints {
			p.faults.Add(document.Fault{Line: r.line, What: "too many points", Understood: "more than " + itoa(p.mostPoints),
				Hint: "leave out points that no pipe bends at"})
			break
		}
		rows = append(rows, row)
	}
	return rows
}

// readRow reads one row. The first lines are the way of nearly every row; the rest sorts out what is no plain row.
func (p *profileReader) readRow(r *records) (surveyRow, bool) {
	row := surveyRow{line: int32(r.line)}
	s, okS := p.plainChainage(r.cell(p.columns.chainage))
	z, okZ := p.plainLevel(&p.level, r.cell(p.columns.level))
	row.s, row.z = s, z
	if !okS || !okZ || len(r.cells) > len(p.header.columns) && p.clash(r) || p.totalInFront(r) {
		if p.noRow(r, okS, okZ) {
			return row, false
		}
		if !okS {
			row.s, okS = p.anyChainage(r)
		}
		if !okZ {
			row.z, okZ = p.anyLevel(r, &p.level)
		}
		if !okS || !okZ {
			return row, false
		}
	}
	ok := p.within(r, &row)
	if p.result.LevelKind == LevelGround {
		row.g, row.hasG = row.z, true
	} else if cell := r.cell(p.columns.ground); len(cell) > 0 {
		okG := p.readGround(r, cell, &row)
		ok = ok && okG
	}
	return row, ok
}

// readGround reads the ground's level beside the pipe's; it may be missing.
func (p *profileReader) readGround(r *records, cell []byte, row *surveyRow) bool {
	g, ok := p.plainLevel(&p.ground, cell)
	if !ok {
		if missing[strings.ToLower(string(cell))] {
			return true
		}
		g, ok = p.anyLevel(r, &p.ground)
	}
	row.g, row.hasG = g, true
	return ok && p.levelWithin(r, p.columns.ground, g)
}

// plainChainage reads a bare figure in the column's unit, or a bare stake.
func (p *profileReader) plainChainage(cell []byte) (float64, bool) {
	if v, ok := plainFigure(cell, p.decimal); ok {
		return v * p.chainage.unit.factor, p.chainage.unit.known() || v == 0
	}
	return p.stakes.plain(cell, p.decimal)
}

// plainLevel reads a bare figure in the column's unit.
func (p *profileReader) plainLevel(u *cellUnit, cell []byte) (float64, bool) {
	v, ok := plainFigure(cell, p.decimal)
	return v * u.unit.factor, ok && (u.unit.known() || v == 0)
}

// noRow sorts out rows that hold no point: blank ones, comments, titles, totals, the header once more.
func (p *profileReader) noRow(r *records, okS, okZ bool) bool {
	chainage, level := r.cell(p.columns.place()), r.cell(p.columns.level)
	switch {
	case r.blank():
	case r.comment():
		p.drop("comment", r.line)
	case (!okS || !okZ) && p.isTotals(r), p.totalInFront(r):
		p.drop("totals", r.line)
	case p.isHeaderAgain(chainage, level):
		p.drop("repeated header", r.line)
	case len(chainage) == 0 && len(level) == 0:
		p.drop("no figures", r.line)
	case !okS && !okZ && p.onlyText(r):
		p.drop("no figures", r.line)
	case len(r.cells) > len(p.header.columns) && p.clash(r):
		p.faults.repeated("clash", r.line, document.FaultSeverity, func() document.Fault {
			return document.Fault{What: itoa(len(r.cells)) + " figures under a header of " + counted(len(p.header.columns), "column", "columns"),
				Understood: "the comma is both the separator and the decimal sign",
				Hint:       "save the table with semicolons or tabs between the columns, or with decimal points"}
		})
	default:
		return false
	}
	return true
}

// clash reports a row parted by commas that has more figures than the header has columns.
func (p *profileReader) clash(r *records) bool {
	if p.sep != ',' {
		return false
	}
	figures := 0
	for i := range r.cells {
		if looksLikeFigure(r.cell(i)) {
			figures++
		}
	}
	return figures > len(p.header.columns)
}

// onlyText reports a row with a single cell filled, and that with words.
func (p *profileReader) onlyText(r *records) bool {
	filled := 0
	for i := range r.cells {
		if cell := r.cell(i); len(cell) > 0 {
			low := strings.ToLower(string(cell))
			if filled++; looksLikeFigure(cell) || missing[low] || isNotFinite(low) || isSheetError(low) || isDigit(cell[0]) {
				return false
			}
		}
	}
	return filled == 1
}

// isHeaderAgain reports the header, or its units, on the top of a further page.
func (p *profileReader) isHeaderAgain(chainage, level []byte) bool {
	if len(chainage) == 0 || len(level) == 0 || looksLikeFigure(chainage) || looksLikeFigure(level) || len(chainage)+len(level) > 200 {
		return false
	}
	same := func(cell []byte, column int) bool {
		text := p.header.columns[column].text
		return text != "" && (string(cell) == text || strings.Contains(text, string(cell)))
	}
	return same(chainage, p.columns.place()) && same(level, p.columns.level)
}

// totalWords begin a row of totals (folded as headers are).
var totalWords = map[string]bool{"total": true, "totals": true, "sum": true, "summe": true, "gesamt": true, "gesamtlange": true, "gesamtlaenge": true,
	"somme": true, "totaux": true, "suma": true, "totale": true, "totali": true, "somma": true, "soma": true, "totaal": true, "som": true, "razem": true, "ogolem": true,
	"toplam": true, "celkem": true, "celkom": true, "osszesen": true, "ukupno": true, "итого": true, "всего": true, "totalt": true, "yhteensa": true, "συνολο": true,
	"average": true, "mean": true, "mittel": true, "mittelwert": true, "moyenne": true, "promedio": true, "media": true, "srednia": true, "ortalama": true,
	"min": true, "max": true, "minimum": true, "maximum": true, "subtotal": true, "zwischensumme": true}

// isTotals reports a row whose first cell with words is one for a total, with a word or two behind it at most ("Total length:").
// It is asked of rows in which chainage or level is no figure.
func (p *profileReader) isTotals(r *records) bool {
	for i := range r.cells {
		cell := r.cell(i)
		if len(cell) > 60 {
			return false
		}
		if len(cell) == 0 || looksLikeFigure(cell) {
			continue // "1250,00; Summe"
		}
		words := foldWords(string(cell))
		return len(words) > 0 && len(words) <= 3 && totalWords[words[0]]
	}
	return false
}

// totalInFront reports a row that has figures for both chainage and level, and a word for a total in a first column of names.
func (p *profileReader) totalInFront(r *records) bool {
	if p.columns.place() == 0 || p.columns.level == 0 {
		return false
	}
	cell := r.cell(0)
	if len(cell) < 3 || len(cell) > 13 || cell[0]|0x20 < 'a' || cell[0]|0x20 > 'z' {
		return false
	}
	var low [13]byte
	for i, c := range cell {
		if c >= 'A' && c <= 'Z' {
			c |= 0x20
		}
		low[i] = c
	}
	return totalWords[string(bytes.TrimRight(low[:len(cell)], ":. "))]
}

// anyChainage reads every other spelling of a chainage, or tells what is wrong.
func (p *profileReader) anyChainage(r *records) (float64, bool) {
	c := p.columns.chainage
	cell := r.cell(c)
	if isStake(cell) && len(cell) <= longestFigure {
		v, err := p.stakes.read(string(cell), p.decimal)
		if err != nil {
			hint := err.Hint
			if p.options.Stakes == (quantity.Stakes{}) {
				hint += ", or say what one stake is with the key " + keyStakes
			}
			p.badCell(r, c, "stake", err.Understood, hint)
		}
		return v, err == nil
	}
	return p.cellFigure(r, c, &p.chainage, []byte(bareStake(string(cell))))
}

// anyLevel reads every other spelling of a level, or tells what is wrong.
func (p *profileReader) anyLevel(r *records, u *cellUnit) (float64, bool) {
	return p.cellFigure(r, u.column, u, r.cell(u.column))
}

// cellFigure reads a figure with thousands separators, a unit of its own, an exponent.
func (p *profileReader) cellFigure(r *records, column int, u *cellUnit, cell []byte) (float64, bool) {
	f, trouble := readFigure(cell, p.decimal)
	if trouble != "" {
		p.badCell(r, column, trouble, trouble, hintFor(trouble))
		return 0, false
	}
	if f.grouped != 0 && !p.grouped[f.grouped] {
		p.grouped[f.grouped] = true
		p.faults.Remark("profile.thousands", r.line, "thousands are parted by the "+signName(f.grouped),
			quantity.Quote(string(cell))+" is read as "+quantity.Number(f.value, decimalsOf(f.value)), "")
	}
	unit := u.unit
	if f.unit != "" {
		own, known := u.lookUp(f.unit)
		switch {
		case !known && looksLikeDate(string(cell)):
			p.badCell(r, column, "date", "a date or a time of day, which spreadsheets make of figures such as 1-2 or 12:30", "format the column as a number or as text in the spreadsheet, write the figures again and save it once more")
			return 0, false
		case !known:
			p.badCell(r, column, "unit", quantity.Quote(f.unit)+" is not a unit of length", "write the figure alone, or with m, km, cm, mm, ft or ftUS behind it")
			return 0, false
		case u.header && own != unit:
			p.badCell(r, column, "other unit", "a figure in "+own.name+" in a column that is headed "+unit.name, "write one unit in both places")
			return 0, false
		}
		unit = own
	}
	if !unit.known() && f.value != 0 && !p.partial {
		p.badCell(r, column, "no unit", "no unit in the header, the line's document or the cell", "put the unit into the header")
		return 0, false
	}
	v := f.value * unit.factor
	if math.IsInf(v, 0) {
		p.badCell(r, column, "too large a number", "too large a number", "")
		return 0, false
	}
	return v, true
}

// lookUp finds the unit written in a cell; the same one usually comes again.
func (u *cellUnit) lookUp(text string) (lengthUnit, bool) {
	if u.last == text {
		return u.lastOf, u.lastOf.known()
	}
	u.last = text
	u.lastOf, _ = unitOfText(text)
	return u.lastOf, u.lastOf.known()
}

func decimalsOf(v float64) int {
	if v == math.Trunc(v) {
		return 0
	}
	return 3
}

func hintFor(trouble string) string {
	switch trouble {
	case "no value":
		return "write the figure, or leave the whole row out"
	case "a spreadsheet's error value":
		return "put the cell right in the spreadsheet it came from"
	}
	return "write a figure such as 101.35"
}

// badCell tells of a cell that cannot be read.
func (p *profileReader) badCell(r *records, column int, sort, understood, hint string) {
	p.faults.repeated(sort+" in "+itoa(column), r.line, document.FaultSeverity, func() document.Fault {
		what := "not a " + p.roleOf(column)
		if cell := r.cell(column); len(cell) > 0 {
			what = quantity.Quote(string(cell)) + " is " + what
		} else {
			what = "no " + p.roleOf(column)
		}
		if understood == "no value" {
			understood = ""
			what = "the " + p.roleOf(column) + " is missing"
		}
		return document.Fault{Column: r.column(column), Key: columnKey(p.header.columns[column].text), What: what, Understood: understood, Hint: hint}
	})
}

// roleOf is the word for what a column in use holds.
func (p *profileReader) roleOf(column int) string {
	switch column {
	case p.columns.chainage:
		return "chainage"
	case p.columns.ground:
		return "ground level"
	case p.columns.x, p.columns.y:
		return p.header.columns[column].role.String()
	}
	return "level"
}

// within reports figures that no pipe and no land has.
func (p *profileReader) within(r *records, row *surveyRow) bool {
	if p.partial {
		return true
	}
	ok := true
	if math.Abs(row.s) > farthestChainage {
		ok = false
		p.badCell(r, p.columns.chainage, "far", metres(row.s)+", beyond the largest that is read, "+metres(farthestChainage), "see whether the unit or the decimal sign is another")
	}
	return p.levelWithin(r, p.columns.level, row.z) && ok
}

// levelWithin reports a level below the lowest shore or above the highest summit.
func (p *profileReader) levelWithin(r *records, column int, z float64) bool {
	if z >= lowestLevel && z <= highestLevel || p.partial {
		return true
	}
	p.badCell(r, column, "height", metres(z)+", outside "+metres(lowestLevel)+" to "+metres(highestLevel),
		"see whether the unit or the decimal sign is another")
	return false
}

// dates and times of day as spreadsheets write them: 01/02/2024, 2024-02-01, 1.2.2024, 1-Jan, Jan-24, 12:30.
var dates = regexp.MustCompile(`(?i)^\d{1,4}([/.-])\d{1,2}([/.-])\d{1,4}( .*)?$|^\d{1,2}[ .-]*(jan|feb|mar|mär|apr|may|mai|jun|jul|aug|sep|oct|okt|nov|dec|dez)[a-zé]*[ .-]*\d{0,4}$|^\d{1,2}:\d{2}(:\d{2})?( ?[ap]m)?$`)

func looksLikeDate(text string) bool {
	return len(text) < 40 && dates.MatchString(strings.TrimSpace(text))
}
