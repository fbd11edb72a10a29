package dxf

import (
	"bytes"
	"fmt"
	"sort"
	"strings"
	"unicode/utf8"

	"golang.org/x/text/encoding"
	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/japanese"
	"golang.org/x/text/encoding/korean"
	"golang.org/x/text/encoding/simplifiedchinese"
	"golang.org/x/text/encoding/traditionalchinese"

	"obvert/document"
)

// Vertex is a point of a chain.
type Vertex struct {
	X, Y, Z float64
	Line    int32 // in the file, of its x; from 1
}

// Chain is a LINE, POLYLINE or LWPOLYLINE as read.
type Chain struct {
	Kind   string // "LINE", "POLYLINE", "LWPOLYLINE"
	Layer  string
	Points []Vertex
	Closed bool
	Space  bool // its points have heights of their own: a line, or a polyline in space
	Arcs   int  // segments that are arcs; they come as short chords
	Line   int  // in the file where it begins
}

// Label is a TEXT or MTEXT as read.
type Label struct {
	Layer  string
	X, Y   float64 // its base point: the alignment point where it is aligned
	Height float64
	Turn   float64 // degrees
	Text   string
	Line   int
}

// Count is how many entities of a kind on a layer were left.
type Count struct {
	Kind, Layer string
	N           int
	Why         string // "in paper space", "in a plane of its own", …; empty: the kind is not taken
}

// File is what Read took of a drawing.
type File struct {
	Version string // as $ACADVER has it, "AC1009"; empty where the file does not say
	Units   Unit   // by $INSUNITS
	HasUnit bool   // the file says its unit
	Layers  []string
	Chains  []Chain
	Labels  []Label
	Left    []Count  // by kind and layer
	Notes   []string // plain sentences on how it was read
}

// Release is the release of a version of the format, in words.
func (f *File) Release() string {
	releases := map[string]string{"AC1006": "R10", "AC1009": "R11/R12", "AC1012": "R13", "AC1014": "R14", "AC1015": "R2000", "AC1018": "R2004", "AC1021": "R2007", "AC1024": "R2010", "AC1027": "R2013", "AC1032": "R2018"}
	if r, ok := releases[f.Version]; ok {
		return r
	}
	if f.Version == "" {
		return "of a release it does not state"
	}
	return f.Version
}

// reader takes entities.
type reader struct {
	scanner
	f        *File
	codec    encoding.Encoding
	codepage string
	names    map[string]string // layer as in the file → as text
	left     map[Count]int
	vertices int
	full     bool
}

// Read reads an ASCII DXF. All faults come in one pass, each with its line; with any the File is not to be used. Texts are
// taken as UTF-8 from R2007 on and by $DWGCODEPAGE before.
func Read(file string, data []byte) (*File, document.Faults) {
	data = bytes.TrimPrefix(data, []byte("\xEF\xBB\xBF"))
	r := &reader{scanner: scanner{file: file, data: data}, f: &File{}, names: map[string]string{}, left: map[Count]int{}}
	if refused(&r.scanner) {
		return nil, r.faults
	}
	sections := 0
	ended := false
	for r.next() {
		switch {
		case r.is(0, "SECTION"):
			sections++
			r.section()
		case r.is(0, "EOF"):
			ended = true
			r.ended = true
		}
	}
	if sections == 0 && len(r.faults) == 0 {
		r.fault(0, "this is no DXF drawing", "no section begins in it", "give a drawing saved as ASCII DXF")
	}
	if !ended && len(r.faults) == 0 {
		r.fault(r.line, "the drawing is cut off", "the file ends without EOF", "copy or export it again")
	}
	if r.more > 0 {
		r.faults = append(r.faults, document.Fault{File: file, What: fmt.Sprintf("%d more faults of the same kinds", r.more)})
	}
	if len(r.faults) > 0 {
		return nil, r.faults
	}
	r.finish()
	return r.f, nil
}

// refused tells and says why a file is no ASCII DXF.
func refused(s *scanner) bool {
	head := s.data[:min(len(s.data), 32)]
	switch {
	case len(bytes.TrimSpace(s.data)) == 0:
		s.fault(0, "the file is empty", "", "give a drawing saved as ASCII DXF")
	case bytes.Contains(head, []byte("Binary DXF")):
		s.fault(0, "this is a binary DXF", "only the ASCII kind is read", "save the drawing as ASCII DXF")
	case len(head) > 6 && bytes.HasPrefix(head, []byte("AC10")) && head[4] >= '0' && head[4] <= '9' && bytes.IndexByte(head, 0) >= 0:
		s.fault(0, "this is a DWG drawing, not DXF", "the two hold the same things; only DXF is open", "save the drawing as ASCII DXF")
	case bytes.HasPrefix(head, []byte("\xFF\xFE")) || bytes.HasPrefix(head, []byte("\xFE\xFF")):
		s.fault(0, "the drawing is in UTF-16", "DXF is ASCII, a code page or UTF-8", "save it as ASCII DXF")
	case bytes.IndexByte(head, 0) >= 0:
		s.fault(0, "this is no DXF drawing", "it holds bytes that are no text", "give a drawing saved as ASCII DXF")
	}
	return len(s.faults) > 0
}

// section reads one section up to its end.
func (r *reader) section() {
	if !r.next() {
		return
	}
	name := ""
	if r.code == 2 {
		name = string(r.value)
	}
	switch name {
	case "HEADER":
		r.header()
	case "TABLES":
		r.layers()
	case "ENTITIES":
		r.entities()
	default:
		r.skipSection()
	}
}

// skipSection passes over a section: what stands in a block is drawn only where INSERT sets it, and INSERT is left.
func (r *reader) skipSection() {
	for r.next() && !r.is(0, "ENDSEC") {
	}
}

func (r *reader) header() {
	variable := ""
	for r.next() && !r.is(0, "ENDSEC") {
		switch {
		case r.code == 9:
			variable = string(r.value)
		case variable == "$ACADVER" && r.code == 1:
			r.f.Version = string(r.value)
		case variable == "$DWGCODEPAGE" && r.code == 3:
			r.codepage = strings.ToLower(string(r.value))
		case variable == "$INSUNITS" && r.code == 70:
			if v, ok := r.integer(); ok && v != 0 {
				r.f.Units, r.f.HasUnit = Unit(v), true
			}
		}
	}
	r.codec = codec(r.codepage)
}

// codec is the encoding of a code page as DXF names it; Windows-1252 where it is not known.
func codec(page string) encoding.Encoding {
	page = strings.NewReplacer("ansi", "", "_", "", "dos", "", "cp", "").Replace(page)
	if e, ok := map[string]encoding.Encoding{"874": charmap.Windows874, "1250": charmap.Windows1250, "1251": charmap.Windows1251, "1253": charmap.Windows1253, "1254": charmap.Windows1254,
		"1255": charmap.Windows1255, "1256": charmap.Windows1256, "1257": charmap.Windows1257, "1258": charmap.Windows1258, "850": charmap.CodePage850, "437": charmap.CodePage437,
		"852": charmap.CodePage852, "866": charmap.CodePage866, "932": japanese.ShiftJIS, "936": simplifiedchinese.GBK, "949": korean.EUCKR, "950": traditionalchinese.Big5}[page]; ok {
		return e
	}
	return charmap.Windows1252
}

// text is the group's value as text.
func (r *reader) text() string { return r.decoded(r.value) }

func (r *reader) decoded(b []byte) string {
	plain := true
	for _, c := range b {
		if c >= 0x80 {
			plain = false
			break
		}
	}
	if plain {
		return decode(string(b))
	}
	if r.f.Version >= "AC1021" && utf8.Valid(b) {
		return decode(string(b))
	}
	if r.f.Version >= "AC1021" {
		return decode(strings.ToValidUTF8(string(b), "?"))
	}
	c := r.codec
	if c == nil {
		c = charmap.Windows1252
	}
	s, err := c.NewDecoder().Bytes(b)
	if err != nil {
		return decode(strings.ToValidUTF8(string(b), "?"))
	}
	return decode(string(s))
}

// layer is a layer's name, decoded once.
func (r *reader) layer(b []byte) string {
	if name, ok := r.names[string(b)]; ok {
		return name
	}
	if len(r.names) >= mostLayers {
		return "(one of many layers)"
	}
	raw := string(b)
	name := clip(r.decoded(b))
	r.names[raw] = name
	return name
}

func clip(s string) string {
	if utf8.RuneCountInString(s) > mostText {
		return string([]rune(s)[:mostText]) + "…"
	}
	return s
}

// layers reads the layer table's names.
func (r *reader) layers() {
	in := false
	for r.next() && !r.is(0, "ENDSEC") {
		switch {
		case r.code == 0:
			in = r.is(0, "LAYER")
		case in && r.code == 2 && len(r.f.Layers) < mostLayers:
			r.f.Layers = append(r.f.Layers, r.layer(r.value))
		}
	}
}

func (r *reader) leave(kind, layer, why string) {
	if len(kind) > 40 {
		kind = kind[:40]
	}
	k := Count{Kind: kind, Layer: layer, Why: why}
	if _, known := r.left[k]; !known && len(r.left) >= mostLayers {
		k = Count{Kind: "others"}
	}
	r.left[k]++
}

// finish sorts what was left.
func (r *reader) finish() {
	for k, n := range r.left {
		k.N = n
		r.f.Left = append(r.f.Left, k)
	}
	sort.Slice(r.f.Left, func(i, j int) bool {
		a, b := r.f.Left[i], r.f.Left[j]
		if a.Kind != b.Kind {
			return a.Kind < b.Kind
		}
		if a.Layer != b.Layer {
			return a.Layer < b.Layer
		}
		return a.Why < b.Why
	})
	if r.full {
		r.f.Notes = append(r.f.Notes, fmt.Sprintf("The drawing holds more than %d points or %d chains; those beyond were left.", mostVertices, mostChains))
	}
}
