package line

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"path"
	"slices"
	"strings"

	"obvert/document"
	"obvert/physics/valve"
)

// DocumentName is the name of the document in the root of a line's folder.
const DocumentName = "line.toml"

// RackFolder is the folder inside a line's folder that holds valve records of its own.
const RackFolder = "rack"

// Read reads a line's folder: line.toml, the profiles it names and the valve records under rack/. rack holds records
// from outside the folder; together with the folder's own they are the line's rack, and no name may come twice.
//
// Whatever is wrong comes back in one pass, by file and line, together with warnings and remarks. The line is nil where
// any of it is a fault. No file outside fsys is read; hand in the file system of an os.Root, and links cannot lead out
// of the folder either.
func Read(fsys fs.FS, rack []valve.Record) (*Line, document.Faults) {
	r := newReader(fsys)
	r.read(rack)
	faults := r.faults.Sorted()
	if faults.Err() != nil {
		return nil, faults
	}
	return r.line, faults
}

// reader holds what is known of a line while it is read.
type reader struct {
	fsys   fs.FS
	line   *Line
	doc    *document.Doc
	faults document.Faults
	told   map[document.Fault]bool
	print  *fingerprint

	nodes, runs, things, types, caseNames, routeNames, dayNames *names

	eventForms  []eventForm
	vague       map[*TankData]bool // tanks of which a level could not be read
	nodeForms   []form             // by node index
	runForms    []*runInput
	thingPlaces []thingPlace // of equipment and air valves, by their index in things
	pumpsOf     map[*StationData]*names

	pumpCount    int
	profileBytes int64             // read so far, each use counted
	badSizes     map[string]string // standard sizes that are not known, with the nearest

	asked map[string]map[string]bool // by kind of table, by key; nil where nobody wants to know
}

// thingPlace finds a thing on a run by its name.
type thingPlace struct {
	run       int
	equipment int // index into the run's equipment, −1 for an air valve
}

func newReader(fsys fs.FS) *reader {
	return &reader{
		fsys: fsys, line: &Line{}, told: map[document.Fault]bool{}, print: newFingerprint(),
		nodes: newNames("node"), runs: newNames("run"), things: newNames("equipment or air valve"), types: newNames("valve type on the rack"),
		caseNames: newNames("case"), routeNames: newNames("route"), dayNames: newNames("day"), pumpsOf: map[*StationData]*names{},
		vague:    map[*TankData]bool{},
		badSizes: map[string]string{},
	}
}

// read runs the steps one after another. Every step works on what the ones before it could make sense of.
func (r *reader) read(rack []valve.Record) {
	data, fault := openFile(r.fsys, DocumentName, DocumentLimit)
	if fault != nil {
		fault.File = DocumentName
		if strings.HasPrefix(fault.What, "there is no file") {
			fault.What = "there is no line.toml in the folder"
			fault.Hint = "name the folder of a line, or begin one by writing line.toml there"
		}
		r.faults = append(r.faults, *fault)
		return
	}
	r.print.add(DocumentName, data)
	doc, faults := document.Parse(DocumentName, data)
	r.doc, r.faults = doc, faults
	root := form{doc.Root(), "", r}

	r.readHead(root)
	r.readSite(root)
	r.readRack(rack)
	r.readNodes(root)
	r.readRuns(root)
	r.readSurvey(root)
	r.readPractice(root)
	r.readPrices(root)
	r.readBench(root)
	r.readCases(root)
	r.readRoutes(root)
	r.readEvents()
	r.readDays(root)
	r.checkGraph()
	for _, v := range rack {
		r.print.addRecord(v)
	}

	doc.Root().Finish()
	r.faults = append(r.faults, doc.Faults()...)
	r.line.Hash = r.print.String()
}

// assume records a value that the document did not give.
func (r *reader) assume(id, where, text string) {
	r.line.Assumed = append(r.line.Assumed, Assumption{ID: id, Where: where, Text: text})
}

// readHead reads [line].
func (r *reader) readHead(root form) {
	f, ok := root.sub("line", "line")
	if !ok {
		if !root.t.Has("line") {
			root.fault("line", "is missing", "", "begin with [line] and name = \"…\"")
		}
		return
	}
	r.line.Name, _ = f.name("name", true)
	r.line.Description, _ = f.text("description", false)
	r.line.Version, _ = f.text("version", false)
	r.line.Date = f.date("date")
	r.line.Author, _ = f.text("author", false)
	r.line.Bench, _ = f.texts("bench")
	stated, _ := f.texts("assumed")
	for _, text := range stated {
		r.assume("line.stated", "stated in the document", text)
	}
}

// file reads a file that a key names. What keeps it from being read is reported at the key.
func (r *reader) file(f form, key, name string, limit int64) ([]byte, bool) {
	clean, fault := insidePath(name)
	if fault == nil {
		var data []byte
		if data, fault = openFile(r.fsys, clean, limit); fault == nil {
			r.print.add(clean, data)
			return data, true
		}
	}
	f.t.Report(key, *fault)
	return nil, false
}

// readBench checks the bench runs that are to be shown with the answer. Reading them is the work of package bench.
func (r *reader) readBench(root form) {
	if len(r.line.Bench) == 0 {
		return
	}
	head, _ := root.sub("line", "line")
	for i, name := range r.line.Bench {
		if data, ok := r.file(head, fmt.Sprintf("bench[%d]", i+1), name, DocumentLimit); ok {
			r.printSeries(name, data)
		}
	}
}

// printSeries adds the series that a bench run names to the fingerprint. Whatever is wrong with it package bench tells.
func (r *reader) printSeries(name string, data []byte) {
	doc, _ := document.Parse(name, data)
	series, ok := doc.Root().Sub("series", false)
	if !ok {
		return
	}
	file, _ := series.Text("file", false)
	clean, fault := insidePath(path.Join(path.Dir(name), file))
	if file == "" || fault != nil {
		return
	}
	if data, fault := openFile(r.fsys, clean, MaxProfileBytes); fault == nil {
		r.print.add(clean, data)
	}
}

// readRack joins the folder's own valve records with those handed in.
func (r *reader) readRack(outside []valve.Record) {
	entries, err := fs.ReadDir(r.fsys, RackFolder)
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		fault := document.Fault{File: RackFolder, What: "the rack's folder cannot be read", Hint: "make it a folder of valve records"}
		if info, statErr := fs.Stat(r.fsys, RackFolder); statErr == nil && !info.IsDir() {
			fault.What = "\"rack\" is a file, not a folder"
			fault.Hint = "make a folder of that name and put each valve record into it as a file of its own"
		}
		r.faults = append(r.faults, fault)
	}
	from := map[string]string{}
	for _, e := range entries { // by name, as fs.ReadDir sorts them
		if !strings.HasSuffix(strings.ToLower(e.Name()), ".toml") || strings.HasPrefix(e.Name(), ".") {
			continue
		}
		name := RackFolder + "/" + e.Name()
		data, fault := openFile(r.fsys, name, DocumentLimit)
		if fault != nil {
			fault.File = name
			r.faults = append(r.faults, *fault)
			continue
		}
		r.print.add(name, data)
		record, faults := valve.Parse(name, data)
		r.faults = append(r.faults, faults...)
		r.putOnRack(record, name, from)
	}
	own := len(r.line.Rack)
	for _, record := range outside {
		same := func(o valve.Record) bool {
			return o.Name == record.Name && bytes.Equal(valve.Format(o), valve.Format(record))
		}
		if slices.ContainsFunc(r.line.Rack[:own], same) {
			continue // the line has a copy of it
		}
		r.putOnRack(record, record.Source, from)
	}
}

// putOnRack adds a record. A record with faults is kept by its name, so that the valves of its type are not reported too.
func (r *reader) putOnRack(record valve.Record, file string, from map[string]string) {
	if record.Name == "" {
		return // its reader has told
	}
	if first, taken := from[record.Name]; taken {
		r.faults = append(r.faults, document.Fault{
			File: file, Key: "name", What: fmt.Sprintf("two valve types have the name %q", record.Name),
			Understood: "the other comes from " + ownRack(first), Hint: "give each type a name of its own, or keep one of the two",
		})
		return
	}
	from[record.Name] = file
	r.types.put(record.Name, len(r.line.Rack))
	r.line.Rack = append(r.line.Rack, record)
}

// ownRack says where a record comes from: the line's own rack, another folder, or none that has a name.
func ownRack(file string) string {
	switch {
	case file == "":
		return "outside the folder"
	case strings.HasPrefix(file, RackFolder+"/"):
		return file + " in the line's folder"
	}
	return file
}
