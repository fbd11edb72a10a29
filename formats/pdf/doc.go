// Package pdf writes documents of text and drawings as PDF (ISO 32000-1:2008): pages, embedded fonts, bookmarks, links,
// and SVG drawings (W3C Recommendation "Scalable Vector Graphics 1.1", 2011) painted as native vectors.
//
// Lengths are points (1/72 inch) from the page's upper left corner, y downwards. The same calls give the same bytes.
package pdf

import (
	"bytes"
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"codeberg.org/go-pdf/fpdf"
)

// Options are a document's faces and metadata.
type Options struct {
	Regular, Semibold []byte        // TrueType fonts; a nil Semibold is the regular one
	Fallback          func() []byte // a TrueType font for the characters that the others lack, asked for when one turns up
	Title, Author     string
	Subject, Creator  string
	Language          string    // as RFC 5646 has it, "en"
	Date              time.Time // of the document; zero: the document bears none
}

// Colour is an sRGB colour.
type Colour struct{ R, G, B uint8 }

// Type is how a text is set.
type Type struct {
	Size   float64 // pt
	Bold   bool
	Colour Colour
}

// Doc is a document being written.
type Doc struct {
	o       Options
	f       *fpdf.Fpdf
	faces   [3]*face // regular, semibold, fallback
	size    [][2]float64
	at      int // page, from 1
	set     string
	mark    []bookmark
	buf     []byte // of the path being painted
	missing map[rune]bool
	err     error
}

type bookmark struct {
	page, level int
	text        string
	y           float64
}

// New begins a document. A font that cannot be read is an error.
func New(o Options) (*Doc, error) {
	d := &Doc{o: o, missing: map[rune]bool{}}
	if o.Semibold == nil {
		d.o.Semibold = o.Regular
	}
	d.f = fpdf.NewCustom(&fpdf.InitType{UnitStr: "pt", Size: fpdf.SizeType{Wd: 595.28, Ht: 841.89}})
	d.f.SetCatalogSort(true)
	d.f.SetAutoPageBreak(false, 0)
	d.f.SetCompression(true)
	d.f.SetTitle(o.Title, true)
	d.f.SetAuthor(o.Author, true)
	d.f.SetSubject(o.Subject, true)
	d.f.SetCreator(o.Creator, true)
	d.f.SetProducer(o.Creator, true)
	d.f.SetLang(o.Language)
	date := o.Date
	if date.IsZero() {
		date = time.Unix(0, 0).UTC() // the library wants one; Bytes takes it out again
	}
	d.f.SetCreationDate(date)
	d.f.SetModificationDate(date)
	for i, raw := range [][]byte{d.o.Regular, d.o.Semibold} {
		if err := d.add(i, raw); err != nil {
			return nil, err
		}
	}
	return d, d.f.Error()
}

var faceName = [...]string{"regular", "semibold", "fallback"}

func (d *Doc) add(i int, raw []byte) error {
	f, err := readFace(raw)
	if err != nil {
		return fmt.Errorf("pdf: the %s font: %w", faceName[i], err)
	}
	d.faces[i] = f
	d.f.AddUTF8FontFromBytes(faceName[i], "", raw)
	return d.f.Error()
}

// Page begins a page of w × h pt and returns its number, from 1.
func (d *Doc) Page(w, h float64) int {
	d.f.AddPageFormat("P", fpdf.SizeType{Wd: w, Ht: h})
	d.size = append(d.size, [2]float64{w, h})
	d.at, d.set = len(d.size), ""
	return d.at
}

// Pages is how many pages there are.
func (d *Doc) Pages() int { return len(d.size) }

// PageSize is the size of a page.
func (d *Doc) PageSize(n int) (w, h float64) { return d.size[n-1][0], d.size[n-1][1] }

// Turn goes to a page that exists, to write more on it.
func (d *Doc) Turn(n int) {
	d.f.SetPage(n)
	d.at, d.set = n, ""
}

// up turns a y of the current page into one from its foot.
func (d *Doc) up(y float64) float64 { return d.size[d.at-1][1] - y }

// Bookmark adds an entry of level 0, 1, … to the outline, for a place on the current page. A level more than one below the
// entry before is raised to it.
func (d *Doc) Bookmark(level int, text string, y float64) {
	if n := len(d.mark); n == 0 {
		level = 0
	} else {
		level = min(level, d.mark[n-1].level+1)
	}
	d.mark = append(d.mark, bookmark{d.at, level, text, y})
}

// Bookmarks is how many there are.
func (d *Doc) Bookmarks() int { return len(d.mark) }

// Link makes a rectangle of the current page lead to a place on a page.
func (d *Doc) Link(x, y, w, h float64, page int, to float64) {
	_, have := d.f.GetPageSize()
	l := d.f.AddLink()
	d.f.SetLink(l, to, page)
	d.f.Link(x, have-d.up(y), w, h, l)
}

// Width is the width of a text, pt.
func (d *Doc) Width(s string, t Type) float64 {
	sum := 0.0
	for _, r := range clean(s) {
		f := d.faces[d.faceOf(r, t.Bold)]
		sum += f.advance(r)
	}
	return sum * t.Size
}

// faceOf is the face that sets a character.
func (d *Doc) faceOf(r rune, bold bool) int {
	i := 0
	if bold {
		i = 1
	}
	if d.faces[i].has(r) || d.o.Fallback == nil {
		return i
	}
	if d.faces[2] == nil {
		if err := d.add(2, d.o.Fallback()); err != nil {
			d.err, d.o.Fallback = err, nil
			return i
		}
	}
	if !d.faces[2].has(r) {
		d.missing[r] = true
	}
	return 2
}

// Missing are the characters that no font holds, in order: they are set as the fallback's box.
func (d *Doc) Missing() []rune { return sortedRunes(d.missing) }

// clean takes out what a line of text cannot hold.
func clean(s string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case r == '\n' || r == '\t' || r == '\r':
			return ' '
		case r < 0x20 || r == 0x7F || r == 0x00AD || r == 0x200B || r == 0xFEFF:
			return -1
		case r == 0x00A0 || r == 0x202F || r == 0x2009: // spaces that do not break or are thin
			return ' '
		case r > 0xFFFF: // beyond the two bytes that the fonts are addressed by
			return 0xFFFD
		}
		return r
	}, s)
}

// Text sets a line of text with its base line's start at (x, y).
func (d *Doc) Text(x, y float64, s string, t Type) { d.text(x, d.up(y), 0, s, t, 0) }

// text sets a line of text from (x, up) turned anticlockwise by a turn in radians, stroked with a rim where rim > 0.
func (d *Doc) text(x, up, turn float64, s string, t Type, rim float64) {
	s = clean(s)
	for s != "" {
		i, n := -1, len(s)
		w := 0.0
		for at, r := range s {
			k := d.faceOf(r, t.Bold)
			if i >= 0 && k != i {
				n = at
				break
			}
			i = k
			w += d.faces[k].advance(r) * t.Size
		}
		d.piece(x, up, turn, s[:n], i, t, rim)
		x, up = x+w*math.Cos(turn), up+w*math.Sin(turn)
		s = s[n:]
	}
}

func (d *Doc) piece(x, up, turn float64, s string, i int, t Type, rim float64) {
	if strings.TrimSpace(s) == "" {
		return
	}
	if set := faceName[i] + strconv.FormatFloat(t.Size, 'f', 2, 64); set != d.set {
		d.f.SetFont(faceName[i], "", t.Size)
		d.set = set
	}
	d.f.SetTextColor(int(t.Colour.R), int(t.Colour.G), int(t.Colour.B))
	_, have := d.f.GetPageSize()
	if rim > 0 { // under the text, and not read out a second time
		d.f.RawWriteStr("q 1 Tr 1 j " + number(rim) + " w " + rgb(t.Colour) + " RG /Span<</ActualText()>>BDC")
	}
	if turn != 0 {
		c, n := math.Cos(turn), math.Sin(turn)
		d.f.RawWriteStr(fmt.Sprintf("q %.5f %.5f %.5f %.5f %.2f %.2f cm", c, n, -n, c, x, up))
		d.f.Text(0, have, s)
		d.f.RawWriteStr("Q")
	} else {
		d.f.Text(x, have-up, s)
	}
	if rim > 0 {
		d.f.RawWriteStr("EMC Q")
	}
}

// Line draws a line of a width in pt; a dash pattern, where given, is in pt.
func (d *Doc) Line(x1, y1, x2, y2, width float64, c Colour, dash ...float64) {
	s := "q " + number(width) + " w " + rgb(c) + " RG "
	if len(dash) > 0 {
		s += "["
		for _, v := range dash {
			s += number(v) + " "
		}
		s += "]0 d "
	}
	d.f.RawWriteStr(s + number(x1) + " " + number(d.up(y1)) + " m " + number(x2) + " " + number(d.up(y2)) + " l S Q")
}

// Fill paints a rectangle.
func (d *Doc) Fill(x, y, w, h float64, c Colour) {
	d.f.RawWriteStr("q " + rgb(c) + " rg " + number(x) + " " + number(d.up(y+h)) + " " + number(w) + " " + number(h) + " re f Q")
}

// Frame draws a rectangle's outline.
func (d *Doc) Frame(x, y, w, h, width float64, c Colour) {
	d.f.RawWriteStr("q " + number(width) + " w " + rgb(c) + " RG " + number(x) + " " + number(d.up(y+h)) + " " + number(w) + " " + number(h) + " re S Q")
}

// number writes a length to a hundredth of a point.
func number(v float64) string { return string(appendNumber(nil, v)) }

func appendNumber(b []byte, v float64) []byte {
	n := len(b)
	b = strconv.AppendFloat(b, v, 'f', 2, 64)
	for b[len(b)-1] == '0' {
		b = b[:len(b)-1]
	}
	if b[len(b)-1] == '.' {
		b = b[:len(b)-1]
	}
	if string(b[n:]) == "-0" {
		b = append(b[:n], '0')
	}
	return b
}

func rgb(c Colour) string {
	f := func(v uint8) string {
		return strings.TrimSuffix(strconv.FormatFloat(float64(v)/255, 'f', 3, 64), ".000")
	}
	return f(c.R) + " " + f(c.G) + " " + f(c.B)
}

// Bytes ends the document.
func (d *Doc) Bytes() ([]byte, error) {
	if d.err != nil {
		return nil, d.err
	}
	if len(d.size) == 0 {
		return nil, errors.New("pdf: the document has no page")
	}
	for _, m := range d.mark {
		d.Turn(m.page)
		d.f.SetFont(faceName[0], "", 10) // bookmarks are written in Unicode while a Unicode font is set
		_, have := d.f.GetPageSize()
		d.f.Bookmark(clean(m.text), m.level, have-d.up(m.y))
	}
	d.Turn(len(d.size))
	var b bytes.Buffer
	if err := d.f.Output(&b); err != nil {
		return nil, fmt.Errorf("pdf: %w", err)
	}
	out := b.Bytes()
	if d.o.Date.IsZero() {
		for _, key := range []string{"/CreationDate (D:19700101000000)", "/ModDate (D:19700101000000)"} {
			if i := bytes.LastIndex(out, []byte(key)); i >= 0 { // blanks in its place keep every offset
				copy(out[i:], strings.Repeat(" ", len(key)))
			}
		}
	}
	return out, nil
}
