package xlsx

import (
	"fmt"
	"maps"
	"path"
	"slices"
	"strings"

	"obvert/document"
)

// relation is a line of a part's table of relations.
type relation struct{ kind, target string }

// relations reads the table beside a part: identifiers and what they point at, as full names of parts.
func (a *archive) relations(of string) (map[string]relation, error) {
	dir, base := path.Split(of)
	s, err := a.part(dir + "_rels/" + base + ".rels")
	if err != nil {
		return nil, err
	}
	defer s.close.Close()
	out := map[string]relation{}
	for {
		t, err := s.next()
		if err != nil || t == eof {
			return out, err
		}
		if t != startTag || string(s.name) != "Relationship" || len(out) > maxParts {
			continue
		}
		target, err := s.attrText("Target")
		if err != nil {
			return nil, err
		}
		kind := string(s.attr("Type"))
		kind = kind[strings.LastIndexByte(kind, '/')+1:]
		if strings.HasPrefix(target, "/") {
			target = strings.TrimPrefix(path.Clean(target), "/")
		} else {
			target = path.Join(dir, target)
		}
		out[string(s.attr("Id"))] = relation{kind, target}
	}
}

// mainPart is the name of the workbook's own part, "" where there is none.
func (a *archive) mainPart() string {
	if a.parts["xl/workbook.xml"] != nil {
		return "xl/workbook.xml"
	}
	all, err := a.relations("")
	if err != nil {
		return ""
	}
	for _, id := range slices.Sorted(maps.Keys(all)) {
		r := all[id]
		if r.kind == "officeDocument" && a.parts[strings.ToLower(r.target)] != nil && strings.Contains(strings.ToLower(r.target), "workbook") &&
			strings.HasSuffix(strings.ToLower(r.target), ".xml") {
			return r.target
		}
	}
	return ""
}

// listed is a sheet as the workbook lists it.
type listed struct {
	name, id string
	hidden   bool
}

// book reads the workbook: its list of sheets, what they share, and each sheet.
func (a *archive) book() (Book, *document.Fault) {
	main := a.mainPart()
	list, err := a.list(main)
	if err != nil {
		return Book{}, a.broken(main, err)
	}
	related, err := a.relations(main)
	if err != nil {
		return Book{}, a.broken(main, err)
	}
	if len(list) > maxSheets {
		return Book{}, &document.Fault{File: a.file, What: "a workbook of more sheets than are read", Understood: fmt.Sprintf("%d sheets, and at most %d are read", len(list), maxSheets),
			Hint: "save the sheet with the survey alone"}
	}
	for _, id := range slices.Sorted(maps.Keys(related)) {
		r := related[id]
		var err error
		switch r.kind {
		case "styles":
			err = a.readStyles(r.target)
		case "sharedStrings":
			err = a.readShared(r.target)
		}
		if err != nil {
			return Book{}, a.broken(r.target, err)
		}
	}
	var b Book
	for _, l := range list {
		r := related[l.id]
		if r.kind != "worksheet" {
			b.Left = append(b.Left, fmt.Sprintf("Sheet %q holds no cells (a chart or a dialogue).", l.name))
			continue
		}
		sheet, err := a.readSheet(r.target)
		if err != nil {
			f := a.broken(r.target, err)
			f.Key = fmt.Sprintf("sheet %q", l.name)
			return Book{}, f
		}
		sheet.Name, sheet.Hidden = l.name, l.hidden
		b.Sheets = append(b.Sheets, sheet)
	}
	if a.parts["xl/vbaproject.bin"] != nil {
		b.Left = append(b.Left, "The workbook has macros; none is run.")
	}
	for _, r := range related {
		if r.kind == "externalLink" {
			b.Left = append(b.Left, "The workbook links to other files; what was last taken from them is read as it is stored.")
			break
		}
	}
	if a.pending {
		a.workOut(&b)
	}
	return b, nil
}

// list reads the workbook's own part.
func (a *archive) list(main string) ([]listed, error) {
	s, err := a.part(main)
	if err != nil {
		return nil, err
	}
	defer s.close.Close()
	var out []listed
	for {
		t, err := s.next()
		if err != nil || t == eof {
			return out, err
		}
		if t != startTag {
			continue
		}
		switch string(s.name) {
		case "workbookPr":
			a.epoch = s.flag("date1904")
		case "sheet":
			name, err := s.attrText("name")
			if err != nil {
				return nil, err
			}
			if len(name) > maxName || len(out) > maxParts {
				return nil, errMarkup
			}
			state := string(s.attr("state"))
			out = append(out, listed{strings.ToValidUTF8(name, "?"), string(s.attr("id")), state == "hidden" || state == "veryHidden"})
		}
	}
}

// readStyles reads the number formats that cells point at.
func (a *archive) readStyles(part string) error {
	s, err := a.part(part)
	if err != nil {
		return err
	}
	defer s.close.Close()
	codes, formats := map[int]string{}, map[int]*Format{}
	within := false
	for {
		t, err := s.next()
		if err != nil || t == eof {
			return err
		}
		switch {
		case t == endTag && string(s.name) == "cellXfs":
			within = false
		case t != startTag:
		case string(s.name) == "cellXfs":
			within = true
		case string(s.name) == "numFmt":
			code, err := s.attrText("formatCode")
			if err != nil {
				return err
			}
			if len(codes) < maxStyles {
				codes[s.number("numFmtId")] = code
			}
		case within && string(s.name) == "xf":
			id := s.number("numFmtId")
			f := formats[id]
			if f == nil {
				code, own := codes[id]
				if !own {
					code = builtIn(id)
				}
				f = parseFormat(code, a.epoch)
				formats[id] = f
			}
			if len(a.styles) < maxStyles {
				a.styles = append(a.styles, f)
			}
		}
	}
}

// style is the format with a number.
func (a *archive) style(n int) *Format {
	if n < 0 || n >= len(a.styles) {
		return general
	}
	return a.styles[n]
}

// readShared reads the texts that cells point at.
func (a *archive) readShared(part string) error {
	s, err := a.part(part)
	if err != nil {
		return err
	}
	defer s.close.Close()
	for {
		t, err := s.next()
		if err != nil || t == eof {
			return err
		}
		if t != startTag || string(s.name) != "si" {
			continue
		}
		word, err := a.richText(s)
		if err != nil {
			return err
		}
		if len(a.shared) >= maxCells {
			return errStrings
		}
		a.shared = append(a.shared, word)
	}
}

// richText joins the text of the element just opened, in one piece or in runs of several looks; how it is spoken is left out.
func (a *archive) richText(s *scanner) (string, error) {
	depth := s.depth()
	var out []byte
	within, spoken := 0, 0
	for {
		t, err := s.next()
		if err != nil {
			return "", err
		}
		switch t {
		case eof:
			return "", errMarkup
		case startTag:
			switch string(s.name) {
			case "t":
				within++
			case "rPh":
				spoken++
			}
		case endTag:
			switch string(s.name) {
			case "t":
				within--
			case "rPh":
				spoken--
			}
			if s.depth() < depth {
				return a.keep(out)
			}
		case text:
			if within > 0 && spoken == 0 {
				if out = append(out, s.body...); len(out) > maxText {
					return "", errStrings
				}
			}
		}
	}
}

// keep makes a cell's text of bytes, and counts it.
func (a *archive) keep(b []byte) (string, error) {
	if a.text += len(b); a.text > maxStrings {
		return "", errStrings
	}
	return strings.ToValidUTF8(controls(string(b)), "?"), nil
}

// controls replaces signs written as _x000D_ (ECMA-376 part 1, 22.9.2.19).
func controls(s string) string {
	if !strings.Contains(s, "_x") {
		return s
	}
	var b strings.Builder
	for {
		i := strings.Index(s, "_x")
		if i < 0 || len(s) < i+7 {
			break
		}
		v, ok := hex(s[i+2 : i+6])
		if !ok || s[i+6] != '_' {
			b.WriteString(s[:i+2])
			s = s[i+2:]
			continue
		}
		b.WriteString(s[:i])
		b.WriteRune(v)
		s = s[i+7:]
	}
	b.WriteString(s)
	return b.String()
}

func hex(s string) (rune, bool) {
	v := rune(0)
	for _, c := range []byte(s) {
		switch {
		case c >= '0' && c <= '9':
			v = v<<4 | rune(c-'0')
		case c|0x20 >= 'a' && c|0x20 <= 'f':
			v = v<<4 | rune(c|0x20-'a'+10)
		default:
			return 0, false
		}
	}
	return v, true
}
