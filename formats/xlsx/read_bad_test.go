package xlsx

import (
	"archive/zip"
	"bytes"
	"encoding/binary"
	"fmt"
	"io"
	"runtime"
	"strings"
	"testing"
	"time"

	"github.com/xuri/excelize/v2"
)

// The parts of a smallest workbook, to be spoilt one by one.
const (
	relsPart  = `<Relationships xmlns="p"><Relationship Id="a" Type="x/officeDocument" Target="xl/workbook.xml"/></Relationships>`
	bookPart  = `<workbook xmlns:r="r"><sheets><sheet name="S" sheetId="1" r:id="r1"/></sheets></workbook>`
	brelsPart = `<Relationships><Relationship Id="r1" Type="x/worksheet" Target="worksheets/sheet1.xml"/>` +
		`<Relationship Id="r2" Type="x/sharedStrings" Target="/xl/sharedStrings.xml"/></Relationships>`
	stringsPart = `<sst><si><t>shared</t></si></sst>`
	sheetPart   = `<worksheet><sheetData><row r="1"><c r="A1"><v>1.5</v></c><c r="B1" t="s"><v>0</v></c></row></sheetData></worksheet>`
)

// part is an entry of an archive; its text comes piece by piece, so that a bomb needs no memory.
type entry struct {
	name string
	head string
	unit string // repeated
	n    int
	tail string
}

// archived packs entries.
func archived(t testing.TB, entries ...entry) []byte {
	t.Helper()
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	for _, e := range entries {
		w, err := z.Create(e.name)
		if err != nil {
			t.Fatal(err)
		}
		io.WriteString(w, e.head)
		block := []byte(strings.Repeat(e.unit, min(e.n, 4096)))
		for left := e.n; left > 0 && len(e.unit) > 0; left -= min(left, 4096) {
			w.Write(block[:min(left, 4096)*len(e.unit)])
		}
		io.WriteString(w, e.tail)
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// with is the smallest workbook with one part replaced, or added.
func with(t testing.TB, name, text string) []byte {
	return withEntry(t, entry{name: name, head: text})
}

func withEntry(t testing.TB, other entry) []byte {
	entries := []entry{{name: "_rels/.rels", head: relsPart}, {name: "xl/workbook.xml", head: bookPart}, {name: "xl/_rels/workbook.xml.rels", head: brelsPart},
		{name: "xl/sharedStrings.xml", head: stringsPart}, {name: "xl/worksheets/sheet1.xml", head: sheetPart}}
	for i := range entries {
		if entries[i].name == other.name {
			entries[i] = other
			return archived(t, entries...)
		}
	}
	return archived(t, append(entries, other)...)
}

// said fails unless reading gives one fault that holds a text, and no book.
func said(t *testing.T, name string, data []byte, want string) {
	t.Helper()
	book, faults := Read("f.xlsx", data)
	if len(faults) != 1 || len(book.Sheets) > 0 {
		t.Errorf("%s: %d sheets, faults %v", name, len(book.Sheets), faults)
		return
	}
	if got := faults[0].String(); !strings.Contains(got, want) || faults[0].Hint == "" {
		t.Errorf("%s: %s\nwant %q and a hint", name, got, want)
	}
}

// declare rewrites the sizes that a central directory gives for an entry.
func declare(t *testing.T, data []byte, name string, size uint32) []byte {
	t.Helper()
	out := bytes.Clone(data)
	for at := 0; ; {
		i := bytes.Index(out[at:], []byte("PK\x01\x02"))
		if i < 0 {
			t.Fatal("no such entry")
		}
		at += i
		n := int(binary.LittleEndian.Uint16(out[at+28:]))
		if string(out[at+46:at+46+n]) == name {
			binary.LittleEndian.PutUint32(out[at+24:], size)
			return out
		}
		at += 4
	}
}

// TestRefusedForms says what a file is that is no workbook this package reads.
func TestRefusedForms(t *testing.T) {
	wide := func(s string) string { return strings.Join(strings.Split(s, ""), "\x00") + "\x00" }
	ole := "\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + strings.Repeat("\x00", 600)
	for _, c := range []struct{ name, data, want string }{
		{"empty", "", "an empty file"},
		{"password", ole + wide("EncryptionInfo") + wide("EncryptedPackage"), "a workbook protected by a password"},
		{"xls", ole + wide("Workbook"), "the old binary format (.xls)"},
		{"doc", ole + wide("WordDocument"), "not a workbook"},
		{"html", "\ufeff \n<html><table>", "a page of XML or HTML"},
		{"csv", "Chainage;Level\n0;10\n", "a text file under the name of one"},
		{"pdf", "%PDF-1.7", "a PDF"},
		{"binary", "\x00\x01\x02", "no zip archive"},
		{"cut zip", "PK\x03\x04 and no more", "cut off"},
		{"ods", string(archived(t, entry{name: "mimetype", head: "application/vnd.oasis.opendocument.spreadsheet"}, entry{name: "content.xml"})), "an OpenDocument spreadsheet (.ods)"},
		{"docx", string(archived(t, entry{name: "word/document.xml"})), "a text document"},
		{"xlsb", string(archived(t, entry{name: "xl/workbook.bin"})), "the binary format (.xlsb)"},
		{"numbers", string(archived(t, entry{name: "Index/Document.iwa"})), "another program"},
		{"zip", string(archived(t, entry{name: "readme.txt", head: "hello"})), "a zip archive without a workbook in it"},
		{"too large", strings.Repeat("x", MaxBytes+1), "too large to be read as a workbook"},
	} {
		said(t, c.name, []byte(c.data), c.want)
	}
}

// TestEncryptedByAnotherLibrary reads a workbook that excelize encrypted: its bytes, not those of this test, are recognised.
func TestEncryptedByAnotherLibrary(t *testing.T) {
	f := excelize.NewFile()
	defer f.Close()
	var b bytes.Buffer
	if err := f.Write(&b, excelize.Options{Password: "secret"}); err != nil {
		t.Fatal(err)
	}
	said(t, "encrypted", b.Bytes(), "protected by a password: its content is encrypted. Open it with its password and save it without one")
}

// TestSmallest reads the workbook that the others are spoilt from.
func TestSmallest(t *testing.T) {
	book, faults := Read("f.xlsx", with(t, "docProps/app.xml", "<x/>"))
	if len(faults) > 0 || len(book.Sheets) != 1 || len(book.Sheets[0].Rows) != 1 {
		t.Fatal(faults, book)
	}
	if row := book.Sheets[0].Rows[0]; row.At(1).Value != 1.5 || row.At(2).Text != "shared" || row.At(3).Kind != Blank {
		t.Errorf("%+v", row)
	}
}

// TestBombs refuses what unpacks to more than can be meant, whatever the directory says, within a bounded memory and time.
func TestBombs(t *testing.T) {
	rows := entry{name: "xl/worksheets/sheet1.xml", head: "<worksheet><sheetData>", unit: `<row><c><v>1</v></c></row>`, n: 1_500_000, tail: "</sheetData></worksheet>"}
	bomb := withEntry(t, rows)
	blanks := withEntry(t, entry{name: "xl/sharedStrings.xml", head: "<sst>", unit: "          ", n: 5_000_000, tail: "</sst>"})
	media := withEntry(t, entry{name: "xl/media/image1.png", unit: "0000000000", n: 4_000_000})
	var before, after runtime.MemStats
	runtime.GC()
	runtime.ReadMemStats(&before)
	start := time.Now()
	said(t, "said to be large", declare(t, with(t, "xl/styles.xml", "<x/>"), "xl/styles.xml", maxUnpacked), "unpacks to more than can be meant: more than 600 MB")
	said(t, "said to be endless", declare(t, with(t, "xl/styles.xml", "<x/>"), "xl/styles.xml", 1<<32-2), "unpacks to more than can be meant: more than 600 MB")
	said(t, "said so", bomb, "unpacks to more than can be meant")
	said(t, "not said so", declare(t, bomb, rows.name, 1000), "a damaged workbook") // Go's own reader stops at the size declared
	said(t, "a picture", media, "unpacks to more than can be meant")
	said(t, "blanks", blanks, "unpacks to more than can be meant")
	said(t, "blanks, declared small", declare(t, blanks, "xl/sharedStrings.xml", 100), "a damaged workbook")
	runtime.ReadMemStats(&after)
	t.Logf("%d bytes, %v, %d MB allocated in all", len(bomb), time.Since(start), (after.TotalAlloc-before.TotalAlloc)/1_000_000)
	if used := after.TotalAlloc - before.TotalAlloc; used > 100_000_000 {
		t.Errorf("%d MB were allocated to refuse bombs", used/1_000_000)
	}

	many := make([]entry, maxParts+1)
	for i := range many {
		many[i].name = fmt.Sprint("xl/", i)
	}
	said(t, "many entries", archived(t, many...), "of more parts than can be meant: 10001 entries")
	said(t, "one long text", withEntry(t, entry{name: "xl/sharedStrings.xml", head: "<sst><si><t>", unit: "ab", n: maxText, tail: "</t></si></sst>"}), "a damaged workbook")
	said(t, "one long tag", withEntry(t, entry{name: "xl/sharedStrings.xml", head: "<sst><si ", unit: "a", n: 4 * maxTag, tail: "/></sst>"}), "its markup is broken")
	said(t, "deep", with(t, "xl/sharedStrings.xml", strings.Repeat("<a>", maxDepth+1)+strings.Repeat("</a>", maxDepth+1)), "elements more than 64 deep")
	said(t, "merges", withEntry(t, entry{name: "xl/worksheets/sheet1.xml", head: "<worksheet><mergeCells>", unit: `<mergeCell ref="A1:B2"/>`, n: maxMerges + 1, tail: "</mergeCells></worksheet>"}),
		"more merged cells than are read")
	said(t, "sheets", withEntry(t, entry{name: "xl/workbook.xml", head: `<workbook xmlns:r="r"><sheets>`, unit: `<sheet name="S" r:id="r1"/>`, n: maxSheets + 1, tail: "</sheets></workbook>"}),
		"more sheets than are read")
}

// TestCounted counts what comes out of an archive that lies about its sizes in both of its places: the reader of the
// standard library is not alone on guard.
func TestCounted(t *testing.T) {
	a := &archive{size: 1000}
	c := counted{a, io.NopCloser(zeros{})}
	n, err := io.Copy(io.Discard, c)
	if err != errDense || n > ratioFrom+1<<20 {
		t.Errorf("%d bytes, %v", n, err)
	}
	a = &archive{size: MaxBytes}
	n, err = io.Copy(io.Discard, counted{a, io.NopCloser(zeros{})})
	if err != errTooLarge || n > maxUnpacked {
		t.Errorf("%d bytes, %v", n, err)
	}
}

// zeros never ends.
type zeros struct{}

func (zeros) Read(p []byte) (int, error) { return len(p), nil }

// TestEmptyRows reads a sheet of as many rows as there can be, with nothing in them: nothing is kept.
func TestEmptyRows(t *testing.T) {
	data := withEntry(t, entry{name: "xl/worksheets/sheet1.xml", head: "<worksheet><sheetData>", unit: "<row/>", n: mostRows, tail: "</sheetData></worksheet>"})
	book, faults := Read("f.xlsx", data)
	if len(faults) > 0 || len(book.Sheets) != 1 || len(book.Sheets[0].Rows) != 0 {
		t.Errorf("%v", faults)
	}
	said(t, "one more", withEntry(t, entry{name: "xl/worksheets/sheet1.xml", head: "<worksheet><sheetData>", unit: "<row/>", n: mostRows + 1, tail: "</sheetData></worksheet>"}), "out of order")
}

// TestDamaged tells what is wrong with the parts.
func TestDamaged(t *testing.T) {
	sheet := "xl/worksheets/sheet1.xml"
	for _, c := range []struct{ name, part, text, want string }{
		{"document type", sheet, `<!DOCTYPE x [<!ENTITY a "aaaaaaaa"><!ENTITY b "&a;&a;&a;&a;">]><worksheet>&b;</worksheet>`, "a document type or entities of its own"},
		{"outside entity", "xl/sharedStrings.xml", `<!DOCTYPE x SYSTEM "file:///etc/passwd"><sst/>`, "a document type or entities of its own"},
		{"document type in the workbook", "xl/workbook.xml", `<?xml version="1.0"?><!DOCTYPE workbook><workbook/>`, "a document type"},
		{"unknown entity", "xl/sharedStrings.xml", `<sst><si><t>&nbsp;</t></si></sst>`, "an unknown entity"},
		{"no such letter", "xl/sharedStrings.xml", `<sst><si><t>&#x110000;</t></si></sst>`, "an unknown entity"},
		{"wide text", "xl/sharedStrings.xml", "\xff\xfe<\x00s\x00", "not in UTF-8"},
		{"other encoding", "xl/sharedStrings.xml", `<?xml version="1.0" encoding="ISO-8859-1"?><sst/>`, "not in UTF-8"},
		{"not closed", sheet, `<worksheet><sheetData><row r="1">`, "its markup is broken"},
		{"crossed", sheet, `<worksheet><sheetData></worksheet></sheetData>`, "its markup is broken"},
		{"two roots", sheet, `<worksheet/><worksheet/>`, "its markup is broken"},
		{"nothing", sheet, ``, "its markup is broken"},
		{"rows fall", sheet, `<worksheet><sheetData><row r="2"/><row r="1"/></sheetData></worksheet>`, "out of order"},
		{"cells fall", sheet, `<worksheet><sheetData><row r="1"><c r="B1"><v>1</v></c><c r="A1"><v>1</v></c></row></sheetData></worksheet>`, "out of order"},
		{"cell in another row", sheet, `<worksheet><sheetData><row r="1"><c r="A2"><v>1</v></c></row></sheetData></worksheet>`, "out of order"},
		{"far row", sheet, `<worksheet><sheetData><row r="1048577"/></sheetData></worksheet>`, "out of order"},
		{"far column", sheet, `<worksheet><sheetData><row r="1"><c r="XFE1"><v>1</v></c></row></sheetData></worksheet>`, "out of order"},
		{"no such text", sheet, `<worksheet><sheetData><row r="1"><c r="A1" t="s"><v>7</v></c></row></sheetData></worksheet>`, "its markup is broken"},
		{"no such part", "xl/_rels/workbook.xml.rels", `<Relationships><Relationship Id="r1" Type="x/worksheet" Target="../../../etc/passwd"/></Relationships>`, "the part is missing"},
	} {
		said(t, c.name, with(t, c.part, c.text), c.want)
	}
	whole := kinds(t)
	for _, n := range []int{len(whole) - 1, len(whole) / 2, 100, 30} {
		said(t, fmt.Sprint("cut at ", n), whole[:n], "a damaged workbook")
	}
	bent := bytes.Clone(with(t, sheet, sheetPart))
	i := bytes.Index(bent, []byte("PK\x01\x02"))
	for k := range bent[:i] {
		if bent[k] == 'P' && bytes.HasPrefix(bent[k:], []byte("PK\x03\x04")) && bytes.Contains(bent[k:k+80], []byte("sheet1")) {
			bent[k+30+len(sheet)+4] ^= 0x55
		}
	}
	said(t, "a bit turned", bent, "a damaged workbook")
	twice := archived(t, entry{name: "xl/workbook.xml", head: bookPart}, entry{name: "XL/Workbook.xml", head: bookPart}, entry{name: "_rels/.rels", head: relsPart})
	said(t, "a part twice", twice, "twice")
}

// TestTolerated reads what programs write beside the usual: prefixes, CDATA, runs of text, cells without references, spoken forms.
func TestTolerated(t *testing.T) {
	text := `<?xml version="1.0" encoding="UTF-8" standalone="yes"?>` + "\n<!-- a comment with > and -- in it --><x:worksheet xmlns:x='m'><x:sheetData>" +
		`<x:row><x:c t="inlineStr"><x:is><x:r><x:rPr><x:b/></x:rPr><x:t xml:space="preserve">two </x:t></x:r><x:r><x:t>runs &amp; &#x3a9;</x:t></x:r><x:rPh><x:t>spoken</x:t></x:rPh></x:is></x:c>` +
		`<x:c><x:v><![CDATA[2.5]]></x:v></x:c><x:c t="str"><x:f>"a"&amp;"b"</x:f><x:v>a_x0041_b</x:v></x:c><x:c/><x:c><x:v> 1E2 </x:v></x:c><x:c><x:v>NaN</x:v></x:c></x:row>` +
		`<x:row r="5" hidden="1"><x:c r="C5" t="b"><x:v>1</x:v></x:c><x:c r="XFD5"><x:v>1</x:v></x:c></x:row></x:sheetData></x:worksheet>`
	book, faults := Read("f.xlsx", with(t, "xl/worksheets/sheet1.xml", text))
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	s := book.Sheets[0]
	got := ""
	for _, row := range s.Rows {
		for _, c := range row.Cells {
			got += fmt.Sprintf("%s %s %q; ", Ref(int(c.Column), row.Number), c.Kind, c.String())
		}
	}
	want := `A1 text "two runs & Ω"; B1 a number "2.5"; C1 text "aAb"; E1 a number "100"; F1 text "NaN"; C5 a truth value "TRUE"; `
	if got != want {
		t.Errorf("%s\nwant\n%s", got, want)
	}
	if s.Beyond != 1 || !s.Rows[1].Hidden || s.Columns != 6 {
		t.Errorf("beyond %d, columns %d, hidden %v", s.Beyond, s.Columns, s.Rows[1].Hidden)
	}
}

// TestCostlyFormulas leaves formulas that would cost more than they are worth, and rings, in bounded time.
func TestCostlyFormulas(t *testing.T) {
	start := time.Now()
	f := func(formulas ...string) Book {
		var b strings.Builder
		b.WriteString("<worksheet><sheetData>")
		for i, x := range formulas {
			fmt.Fprintf(&b, `<row r="%d"><c r="A%d"><f>%s</f></c></row>`, i+1, i+1, x)
		}
		b.WriteString("</sheetData></worksheet>")
		book, faults := Read("f.xlsx", with(t, "xl/worksheets/sheet1.xml", b.String()))
		if len(faults) > 0 {
			t.Fatal(faults)
		}
		return book
	}
	for _, x := range []string{"REPT(&quot;x&quot;,32767)", "A2&amp;A2", "SUM(A:A)", "SUM(B1:XFD1048576)", "MUNIT(9000)", "RAND()", "A1", "Name+1", "[1]Other!A1", "Nowhere!A1", "1+", "((((", "1/0"} {
		c := f(x).Sheets[0].Rows[0].Cells[0]
		if x == "1/0" {
			if c.Kind != Error || c.Text != "#DIV/0!" {
				t.Errorf("%s: %s %q", x, c.Kind, c)
			}
			continue
		}
		if c.Kind != Pending {
			t.Errorf("%s: %s %q", x, c.Kind, c)
		}
	}
	chain := make([]string, maxPending)
	for i := range chain {
		chain[i] = fmt.Sprintf("A%d+A%d", i+2, i+2) // each twice the one below: 2⁴⁹⁹⁹ were none reckoned but once
	}
	chain[len(chain)-1] = "1"
	book := f(chain...)
	if c := book.Sheets[0].Rows[maxPending-11].Cells[0]; c.Kind != Number || c.Value != 1024 {
		t.Errorf("a chain: %s %v", c.Kind, c)
	}
	if c := f(append(chain, "1")...).Sheets[0].Rows[0].Cells[0]; c.Kind != Pending {
		t.Errorf("one formula more than are worked out: %v", c)
	}
	if d := time.Since(start); d > 20*time.Second {
		t.Errorf("took %v", d)
	} else {
		t.Log(d)
	}
}

// TestFormats reads units out of number formats.
func TestFormats(t *testing.T) {
	for _, c := range []struct {
		code string
		v    float64
		want string
	}{
		{`General`, 12.3456, "12.3456"},
		{`0.00" m"`, 12.3456, "12.3456 m"},
		{`#,##0.0\ "L/s"`, 1234.5, "1234.5 L/s"},
		{`0.0_)" mm";[Red]-0.0" in"`, -3, "-3 mm"},
		{`0.0%`, 0.07, "7 %"},
		{`0.00%`, 0.285, "28.5 %"},
		{`0+000.00`, 1250.4, "1+250.4"},
		{`0"+"000`, 50, "0+050"},
		{`0\+00`, -1250, "-12+50"},
		{`#,##0,`, 1250, "1.25"},
		{`0.0,," Mm"`, 2.5e6, "2.5 Mm"},
		{`[$€-407] #,##0.00`, 3, "3"},
		{`"km "0.000`, 1.25, "1.25"},
		{`0.00E+00`, 1.5e-9, "1.5e-09"},
		{`0 "m`, 4, "4 m"},
		{`[h]:mm`, 4, ""},
		{`dd\.mm\.yyyy`, 4, ""},
		{`h:mm AM/PM`, 4, ""},
	} {
		f := parseFormat(c.code, false)
		if f.Date != (c.want == "") {
			t.Errorf("%s: date %v", c.code, f.Date)
		}
		if got := f.figure(c.v); c.want != "" && got != c.want {
			t.Errorf("%s of %v: %q, want %q", c.code, c.v, got, c.want)
		}
	}
	// Dates on both sides of the day that never was, and of the other beginning of time (ECMA-376 part 1, 18.17.4.1).
	for _, c := range []struct {
		v     float64
		epoch bool
		want  string
	}{{1, false, "1900-01-01"}, {59, false, "1900-02-28"}, {61, false, "1900-03-01"}, {44197.75, false, "2021-01-01 18:00:00"}, {0.5, false, "12:00:00"}, {0, true, "1904-01-01"}, {2958465, false, "9999-12-31"}, {-1, false, "-1"}} {
		if got := (&Format{Date: true, epoch: c.epoch}).date(c.v); got != c.want {
			t.Errorf("day %v: %s, want %s", c.v, got, c.want)
		}
	}
}
