package survey

import (
	"bytes"
	"strings"
	"unicode/utf8"

	"obvert/document"
	"obvert/line"
	"obvert/quantity"
)

// MostBytes is the size of the largest file that is read, in bytes.
const MostBytes = line.MaxSurveyBytes

// format is a form of file: its name, the endings it usually has, its reader.
type format struct {
	name    string
	endings []string
	read    Reader
}

// The formats that are read.
var (
	formatText = &format{"CSV", []string{"csv", "tsv", "txt", "tab", "asc", "xyz", "dat", "prn", "text"}, delimited}
	known      = []*format{formatText, {"XLSX", []string{"xlsx", "xlsm"}, Workbook}, {"LandXML", []string{"landxml", "xml"}, LandXML}, {"DXF", []string{"dxf"}, DXF},
		{"GeoJSON", []string{"geojson", "json"}, GeoJSON}, {"GPX", []string{"gpx"}, GPX}}
)

// delimited reads text with columns: a table of equipment, or a survey.
func delimited(file string, data []byte, o Options) (Reading, document.Faults) {
	if IsEquipment(file, data, o) {
		return Equipment(file, data, o)
	}
	r, faults := Text(file, data, o)
	if faults.Err() != nil {
		if f, ok := unplaced(file, data, o); ok {
			return Reading{}, document.Faults{f}
		}
	}
	return r, faults
}

// Formats are the names of the formats that are read.
func Formats() []string {
	var out []string
	for _, f := range known {
		out = append(out, f.name)
	}
	return out
}

// Read reads a survey or a table of equipment in whatever form it comes: the form is found by what the bytes hold, not
// by the ending of the name. A name that says something else is warned of.
func Read(file string, data []byte, o Options) (Reading, document.Faults) {
	f, fault := detect(data)
	if fault != nil {
		fault.File = file
		return Reading{}, document.Faults{*fault}
	}
	r, faults := f.read(file, data, o)
	if ending, other := otherEnding(file, f); other {
		faults = append(document.Faults{{File: file, ID: "survey.ending", Severity: document.WarningSeverity, What: "the ending of the name says " + ending + ", and the file is " + f.name,
			Understood: "read as " + f.name}}, faults...)
	}
	return r, faults
}

// otherEnding reports a name whose ending is that of another form.
func otherEnding(file string, f *format) (string, bool) {
	i := strings.LastIndexByte(file, '.')
	if i < 0 {
		return "", false
	}
	ending := strings.ToLower(file[i+1:])
	for _, e := range f.endings {
		if e == ending {
			return "", false
		}
	}
	for _, k := range known {
		for _, e := range k.endings {
			if e == ending {
				return "." + ending, true
			}
		}
	}
	return "", false
}

// sniffed is how many bytes of a file are looked at to tell its form.
const sniffed = 64 << 10

// detect finds the form of a file by its bytes.
func detect(data []byte) (*format, *document.Fault) {
	if len(bytes.TrimSpace(data[:min(len(data), sniffed)])) == 0 && len(data) <= sniffed {
		return nil, &document.Fault{What: "the file is empty", Hint: "was it saved, or copied whole?"}
	}
	if len(data) > MostBytes {
		return nil, &document.Fault{What: "the file is too large", Understood: megabytes(len(data)), Hint: "the limit is " + megabytes(MostBytes) + "; split it or leave out points that no pipe bends at"}
	}
	cannot := func(what, hint string) (*format, *document.Fault) {
		return nil, &document.Fault{What: "the file cannot be read", Understood: what, Hint: hint}
	}
	head := data[:min(len(data), sniffed)]
	begins := func(s string) bool { return bytes.HasPrefix(data, []byte(s)) }
	switch {
	case begins("PK\x03\x04"):
		if f := byName("XLSX"); f != nil && bytes.Contains(data, []byte("xl/")) {
			return f, nil
		}
		if bytes.Contains(head, []byte("mimetypeapplication/vnd.oasis.opendocument")) {
			return cannot("an OpenDocument file (.ods, .odt)", "save the sheet as .xlsx or as CSV")
		}
		return cannot("an archive (zip) that is no workbook", "unpack it and name the file inside")
	case begins("\xd0\xcf\x11\xe0"):
		switch {
		case bytes.Contains(data, utf16Of("EncryptedPackage")):
			return cannot("a workbook that is kept by a password", "take the password off and save it as .xlsx, or save the sheet as CSV")
		case bytes.Contains(data, utf16Of("Workbook")), bytes.Contains(data, utf16Of("Book")):
			return cannot("a workbook of the old binary kind (.xls)", "save it as .xlsx, or the sheet as CSV")
		}
		return cannot("a workbook of the old binary kind, or one that is kept by a password", "save it as .xlsx without a password, or the sheet as CSV")
	case begins("%PDF"):
		return cannot("a PDF", "ask for the table as CSV or XLSX, or the drawing as DXF")
	case begins("\x1f\x8b"):
		return cannot("a compressed file (gzip)", "unpack it")
	case begins("7z\xbc\xaf\x27\x1c"), begins("Rar!\x1a\x07"), begins("\xfd7zXZ\x00"), begins("\x28\xb5\x2f\xfd"):
		return cannot("a compressed file or an archive", "unpack it and name the file inside")
	case begins("\x89PNG"), begins("\xff\xd8\xff"), begins("GIF8"), begins("II*\x00"), begins("MM\x00*"):
		return cannot("a picture", "ask for the table as CSV or XLSX, or the drawing as DXF: no figure is read off a picture")
	case begins("AC10") && bytes.IndexByte(head, 0) >= 0:
		return cannot("a drawing of the binary kind (DWG)", "save it as DXF in ASCII")
	case begins("SQLite format 3\x00"):
		return cannot("a data base (SQLite, GeoPackage)", "export the line as GeoJSON, or the table as CSV")
	case begins("\x00\x00\x27\x0a"):
		return cannot("a shape file", "export the line as GeoJSON with heights")
	case begins("{\\rtf"):
		return cannot("a text document (RTF)", "save the table alone as CSV or XLSX")
	}
	if f := byName("DXF"); f != nil && bytes.Contains(head[:min(len(head), 64)], []byte(" Binary DXF\r\n\x1a")) {
		return f, nil
	}
	text := strings.TrimLeft(line.DecodeText(head), " \t\r\n\ufeff")
	switch {
	case strings.HasPrefix(text, "<"):
		return detectXML(text)
	case strings.HasPrefix(text, "{"):
		if f := byName("GeoJSON"); f != nil {
			return f, nil
		}
		return cannot("a JSON file", readable())
	case isDrawing(text):
		if f := byName("DXF"); f != nil {
			return f, nil
		}
		return cannot("a drawing (DXF)", readable())
	}
	return formatText, nil
}

func byName(name string) *format {
	for _, f := range known {
		if f.name == name {
			return f
		}
	}
	return nil
}

func readable() string { return "read are " + strings.Join(Formats(), ", ") }

// utf16Of is a name as folders of old binary documents hold it.
func utf16Of(name string) []byte {
	out := make([]byte, 0, 2*len(name))
	for i := range len(name) {
		out = append(out, name[i], 0)
	}
	return out
}

// detectXML finds the form of an XML file by its root element.
func detectXML(text string) (*format, *document.Fault) {
	if i := strings.Index(text, "<!ENTITY"); i >= 0 && strings.Contains(text[:i], "<!DOCTYPE") {
		return nil, &document.Fault{Line: 1 + strings.Count(text[:i], "\n"), What: "the file declares entities of XML", Understood: "a small file could grow by them without bound, so that none is read",
			Hint: "delete the declaration <!DOCTYPE …>: no form that is read here needs one"}
	}
	root := rootElement(text)
	for _, f := range known {
		if strings.EqualFold(f.name, root) {
			return f, nil
		}
	}
	switch {
	case root == "":
		return nil, &document.Fault{What: "the file cannot be read", Understood: "it begins as XML does and has no root element near its beginning", Hint: readable()}
	case strings.EqualFold(root, "html"):
		return nil, &document.Fault{What: "the file cannot be read", Understood: "a page of the web (HTML)", Hint: "was it saved in place of the file itself? Fetch it again"}
	}
	return nil, &document.Fault{What: "the file cannot be read", Understood: "XML of another kind, <" + root + ">", Hint: readable()}
}

// rootElement is the local name of the first element of a text, behind declaration, comments and document type.
func rootElement(text string) string {
	for {
		text = strings.TrimLeft(text, " \t\r\n")
		var end string
		switch {
		case strings.HasPrefix(text, "<?"):
			end = "?>"
		case strings.HasPrefix(text, "<!--"):
			end = "-->"
		case strings.HasPrefix(text, "<!"):
			end = ">"
		case strings.HasPrefix(text, "<"):
			name := text[1:]
			if i := strings.IndexAny(name, " \t\r\n/>"); i >= 0 {
				name = name[:i]
			}
			name = name[strings.LastIndexByte(name, ':')+1:]
			if len(name) > 60 || !utf8.ValidString(name) {
				return ""
			}
			return name
		default:
			return ""
		}
		i := strings.Index(text, end)
		if i < 0 {
			return ""
		}
		text = text[i+len(end):]
	}
}

// isDrawing tells a drawing by its first group: code 0 and the word SECTION, or comments before it (code 999).
func isDrawing(text string) bool {
	for range 20 {
		code, rest, ok := strings.Cut(text, "\n")
		if !ok {
			return false
		}
		var value string
		value, text, _ = strings.Cut(rest, "\n")
		switch strings.TrimSpace(code) {
		case "999":
		case "0":
			return strings.TrimSpace(value) == "SECTION"
		default:
			return false
		}
	}
	return false
}

func megabytes(n int) string { return quantity.Number(float64(n)/1e6, 0) + " MB" }
