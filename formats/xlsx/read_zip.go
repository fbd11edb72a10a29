package xlsx

import (
	"archive/zip"
	"bytes"
	"errors"
	"fmt"
	"io"
	"strings"

	"obvert/document"
)

// archive is a workbook's zip file, looked through and not yet unpacked.
type archive struct {
	file    string
	parts   map[string]*zip.File // by name in small letters
	size    int64                // of the file
	read    int64                // bytes unpacked so far
	pending bool                 // a formula without a value was met
	cells   int
	text    int // bytes of text kept
	styles  []*Format
	shared  []string
	epoch   bool // dates count from 1904
}

// saveAs is what to do with a file of another kind.
const saveAs = "open it in a spreadsheet program and save it as .xlsx"

// other tells a file that is no archive at all, or a container of another kind.
func other(data []byte) (what, understood, hint string) {
	utf16 := func(s string) []byte {
		var b []byte
		for i := range len(s) {
			b = append(b, s[i], 0)
		}
		return b
	}
	start := bytes.TrimLeft(bytes.TrimPrefix(data[:min(len(data), 512)], []byte("\xef\xbb\xbf")), " \t\r\n")
	switch {
	case len(data) == 0:
		return "an empty file", "", "was it saved?"
	case len(data) > MaxBytes:
		return "a file too large to be read as a workbook", fmt.Sprintf("%d MB, and at most %d MB are read", len(data)/1_000_000, MaxBytes/1_000_000),
			"save the sheet with the survey as CSV, or leave out pictures"
	case bytes.HasPrefix(data, []byte("\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1")): // compound file, [MS-CFB] 2.2
		switch {
		case bytes.Contains(data, utf16("EncryptedPackage")): // [MS-OFFCRYPTO] 2.3.4.4
			return "a workbook protected by a password", "its content is encrypted", "open it with its password and save it without one"
		case bytes.Contains(data, utf16("Workbook")), bytes.Contains(data, utf16("Book")): // [MS-XLS] 2.1.2
			return "a workbook in the old binary format (.xls)", "only .xlsx is read", saveAs
		}
		return "a file of an old office program, not a workbook", "a compound file without a workbook in it", saveAs
	case bytes.HasPrefix(data, []byte("PK")):
		return "", "", ""
	case bytes.HasPrefix(start, []byte("<")):
		return "not a workbook", "a page of XML or HTML under the name of one", saveAs
	case bytes.HasPrefix(data, []byte("%PDF")):
		return "not a workbook", "a PDF", "take the table from the program that printed it"
	case bytes.IndexByte(data[:min(len(data), 4096)], 0) < 0:
		return "not a workbook", "a text file under the name of one", "rename it to .csv"
	}
	return "not a workbook", "no zip archive, which every .xlsx is", saveAs
}

// open looks at the archive's directory.
func open(file string, data []byte) (*archive, *document.Fault) {
	bad := func(what, understood, hint string) (*archive, *document.Fault) {
		return nil, &document.Fault{File: file, What: what, Understood: understood, Hint: hint}
	}
	if what, understood, hint := other(data); what != "" {
		return bad(what, understood, hint)
	}
	z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		return bad("a damaged workbook", "the archive's directory, at the end of the file, is missing or broken: the file may be cut off",
			"copy or download it again")
	}
	if len(z.File) > maxParts {
		return bad("a workbook of more parts than can be meant", fmt.Sprintf("%d entries in the archive, and at most %d are read", len(z.File), maxParts),
			"save the sheet alone, as .xlsx or CSV")
	}
	a := &archive{file: file, parts: map[string]*zip.File{}, size: int64(len(data))}
	var declared uint64
	for _, f := range z.File {
		name := strings.ToLower(strings.TrimPrefix(strings.ReplaceAll(f.Name, "\\", "/"), "/"))
		if f.Flags&1 != 0 {
			return bad("a workbook protected by a password", "the archive's entry "+short(f.Name)+" is encrypted", "save it without a password")
		}
		if _, twice := a.parts[name]; twice {
			return bad("a damaged workbook", "the archive holds "+short(f.Name)+" twice", saveAs+" again")
		}
		a.parts[name] = f
		if f.UncompressedSize64 > maxUnpacked {
			declared = maxUnpacked + 1
		}
		if declared <= maxUnpacked {
			declared += f.UncompressedSize64
		}
	}
	if err := a.tooBig(int64(min(declared, maxUnpacked+1))); err != nil {
		return nil, a.broken("", err)
	}
	return a.kind()
}

// kind refuses archives of other sorts.
func (a *archive) kind() (*archive, *document.Fault) {
	has := func(name string) bool { return a.parts[name] != nil }
	f := document.Fault{File: a.file, What: "not a workbook", Hint: saveAs}
	switch {
	case has("_rels/.rels") && has("xl/workbook.xml"), a.mainPart() != "":
		return a, nil
	case has("xl/workbook.bin"):
		f.What, f.Understood = "a workbook in the binary format (.xlsb)", "only .xlsx is read"
	case has("mimetype"):
		f.Understood = "an archive of another kind"
		if r, err := a.parts["mimetype"].Open(); err == nil {
			word := make([]byte, 200)
			n, _ := io.ReadFull(r, word)
			_ = r.Close()
			if bytes.Contains(word[:n], []byte("opendocument.spreadsheet")) {
				f.What, f.Understood = "an OpenDocument spreadsheet (.ods)", "only .xlsx is read"
			}
		}
	case has("word/document.xml"):
		f.Understood, f.Hint = "a text document (.docx)", "copy its table into a spreadsheet and save that as .xlsx"
	case has("index/document.iwa"), has("index.zip"):
		f.Understood = "a spreadsheet of another program (.numbers)"
	default:
		f.Understood = "a zip archive without a workbook in it"
	}
	return nil, &f
}

// What can be wrong with a part of the archive.
var (
	errTooLarge = errors.New("too large")
	errDense    = errors.New("too dense")
	errDoctype  = errors.New("a DOCTYPE")
	errEntity   = errors.New("an entity")
	errMarkup   = errors.New("broken markup")
	errDepth    = errors.New("too deep")
	errEncoding = errors.New("not in UTF-8")
	errCells    = errors.New("too many cells")
	errStrings  = errors.New("too much text")
	errOrder    = errors.New("rows or cells out of order")
	errMerges   = errors.New("too many merged ranges")
	errAbsent   = errors.New("missing")
)

// tooBig judges a number of bytes unpacked, or said to be.
func (a *archive) tooBig(n int64) error {
	switch {
	case n > maxUnpacked:
		return errTooLarge
	case n > ratioFrom && n > maxRatio*a.size:
		return errDense
	}
	return nil
}

// broken is the fault for a part that could not be read.
func (a *archive) broken(part string, err error) *document.Fault {
	f := document.Fault{File: a.file, What: "a damaged workbook", Hint: saveAs + " again"}
	if part != "" {
		f.Key = "part " + short(part)
	}
	switch {
	case errors.Is(err, errTooLarge):
		f.What, f.Understood, f.Hint = "a workbook that unpacks to more than can be meant",
			fmt.Sprintf("more than %d MB", maxUnpacked/1_000_000), "save the sheet with the survey alone, as .xlsx or CSV"
	case errors.Is(err, errDense):
		f.What, f.Understood, f.Hint = "a workbook that unpacks to more than can be meant",
			fmt.Sprintf("more than %d times its size: no sheet shrinks so far", maxRatio), "do not open it unless you know where it comes from"
	case errors.Is(err, errDoctype):
		f.What, f.Understood = "a workbook with a document type or entities of its own", "no spreadsheet program writes such"
		f.Hint = "do not open it unless you know where it comes from"
	case errors.Is(err, errEntity):
		f.Understood = "an unknown entity in its text"
	case errors.Is(err, errDepth):
		f.Understood = fmt.Sprintf("elements more than %d deep", maxDepth)
	case errors.Is(err, errEncoding):
		f.What, f.Understood = "a workbook whose text is not in UTF-8", ""
	case errors.Is(err, errCells):
		f.What, f.Understood = "a workbook of more cells than are read", fmt.Sprintf("more than %d cells with something in them", maxCells)
		f.Hint = "save the sheet with the survey alone, or as CSV"
	case errors.Is(err, errStrings):
		f.What, f.Understood = "a workbook of more text than is read", fmt.Sprintf("more than %d MB", maxStrings/1_000_000)
		f.Hint = "save the sheet with the survey alone, or as CSV"
	case errors.Is(err, errMerges):
		f.What, f.Understood = "a sheet of more merged cells than are read", fmt.Sprintf("more than %d ranges", maxMerges)
		f.Hint = "unmerge the cells"
	case errors.Is(err, errOrder):
		f.Understood = "its rows or cells stand out of order"
	case errors.Is(err, errAbsent):
		f.Understood = "the part is missing"
	case errors.Is(err, io.ErrUnexpectedEOF):
		f.Understood, f.Hint = "the part is cut off", "copy or download it again"
	case errors.Is(err, zip.ErrChecksum):
		f.Understood, f.Hint = "its checksum does not match", "copy or download it again"
	case errors.Is(err, zip.ErrAlgorithm):
		f.Understood = "packed in a way that is not read"
	case errors.Is(err, errMarkup):
		f.Understood = "its markup is broken"
	default:
		f.Understood, f.Hint = "the part cannot be unpacked", "copy or download it again"
	}
	return &f
}

// short keeps a name from a file short.
func short(name string) string {
	if len(name) > 80 {
		name = name[:80] + "…"
	}
	return fmt.Sprintf("%q", strings.ToValidUTF8(name, "?"))
}

// counted is a part being unpacked: what comes is counted, whatever the directory says.
type counted struct {
	a *archive
	r io.ReadCloser
}

func (c counted) Read(p []byte) (int, error) {
	n, err := c.r.Read(p)
	c.a.read += int64(n)
	if big := c.a.tooBig(c.a.read); big != nil {
		return 0, big
	}
	return n, err
}

// part opens a part for reading through its XML.
func (a *archive) part(name string) (*scanner, error) {
	f := a.parts[strings.ToLower(strings.TrimPrefix(name, "/"))]
	if f == nil {
		return nil, errAbsent
	}
	r, err := f.Open()
	if err != nil {
		return nil, err
	}
	return newScanner(counted{a, r}, r), nil
}
