package survey

import (
	"bytes"
	"fmt"
	"io/fs"
	"path"
	"slices"
	"strings"
	"time"

	"obvert/document"
	"obvert/line"
	"obvert/physics/valve"
)

// Choices are what the user says about the line that is made. The zero value says nothing: then what is needed is assumed,
// and said, or is a fault where nothing may be assumed (of what levels are; how deep the pipe lies under the ground).
type Choices struct {
	Name         string // of the line and its run
	Take         string // name of the track to take; empty: the best
	Turn         bool   // let chainage count from the other end
	LevelKind    *line.LevelKind
	LevelUnit    bool    // the user stated the unit of levels: what they imply is meant
	Cover        float64 `unit:"m"` // from the ground to the obvert, where HasCover
	HasCover     bool
	Tolerance    float64 `unit:"m"` // of thinning, where HasTolerance; else as ThinAbove and UsualTolerance say
	HasTolerance bool
	Pipe         string  // standard size of the whole run
	From         string  // what feeds the line: "tank" or "station"
	To           string  // where it ends: "tank" or "outfall"
	FromLevel    float64 `unit:"m"` // of the water that feeds the line, where HasFromLevel
	HasFromLevel bool
	ToLevel      float64 `unit:"m"` // of the tank at the end, where HasToLevel
	HasToLevel   bool
	Flow         float64        `unit:"m³/s"` // design flow; 0: not said
	Rack         []valve.Record // records that air valves may be of
	By           string         // the command that makes the folder, as its text names it; empty: "import"
}

// File is one file of a folder, by its path with slashes.
type File struct {
	Name string
	Data []byte
}

// Folder is a line's folder before it is written.
type Folder struct {
	Files   []File
	Line    *line.Line // as read back from the files
	File    string     // the file whose track was taken
	Track   Track      // taken, in the order of chainage, without its thinned points
	Points  int        `unit:"1"` // of the track before it was thinned
	Took    []string   // plain sentences: what was taken from the readings and how
	Left    []string   // what was not, with the reason
	Assumed []string   // what the files do not say and the user did not
}

// Compose makes the text of a line's folder of one or more readings: a profile, and tables of equipment where there are any.
// The folder is read back before it is returned: what it holds is an ordinary line without a fault, which studies at once.
// All faults come in one pass; then the folder is empty. Warnings may come with a folder.
func Compose(readings []Reading, c Choices) (Folder, document.Faults) {
	if c.By == "" {
		c.By = "import"
	}
	p := &composer{readings: readings, c: c}
	if !p.checkChoices() || !p.choose() || !p.settle() {
		return Folder{}, p.faults.Sorted()
	}
	p.takeEquipment()
	if p.faults.Err() != nil {
		return Folder{}, p.faults.Sorted()
	}
	p.takePipe()
	p.takeEnds()
	if p.faults.Err() != nil {
		return Folder{}, p.faults.Sorted()
	}
	p.write()
	if p.faults.Err() != nil {
		return Folder{}, p.faults.Sorted()
	}
	return p.folder, p.faults.Sorted()
}

// composer holds what is known of the line while it is made.
type composer struct {
	readings []Reading
	c        Choices
	faults   document.Faults
	folder   Folder

	from    int // the reading that the track is of
	track   Track
	kind    line.LevelKind
	ends    [2]float64 // first and last chainage of the track
	run     string     // name of line and run
	profile string     // path of the profile

	sections  []section
	pumps     []Pump
	origins   []origin
	pumpFiles []string // of each pump
	valves    []Valve
	fittings  []Fitting
	station   bool // what feeds the line
	outfall   bool // where it ends
	feed      float64
	end       float64
	duty      *duty
	notes     map[string]string // comments of assumed values, by what they are of
}

// assume records a value that nobody gave, and gives the comment to stand above it in the document.
func (p *composer) assume(of, text string) {
	p.folder.Assumed = append(p.folder.Assumed, text)
	if p.notes == nil {
		p.notes = map[string]string{}
	}
	p.notes[of] = text
}

func (p *composer) took(format string, args ...any) {
	p.folder.Took = append(p.folder.Took, fmt.Sprintf(format, args...))
}

func (p *composer) left(format string, args ...any) {
	p.folder.Left = append(p.folder.Left, fmt.Sprintf(format, args...))
}

// fault adds a fault of the reading that the track is of.
func (p *composer) fault(where int, what, understood, hint string) {
	p.faults = append(p.faults, document.Fault{File: p.readings[p.from].File, Line: where, What: what, Understood: understood, Hint: hint})
}

func (p *composer) warn(id string, where int, what, understood, hint string) {
	p.faults = append(p.faults, document.Fault{ID: id, Severity: document.WarningSeverity, File: p.readings[p.from].File, Line: where,
		What: what, Understood: understood, Hint: hint})
}

// checkChoices refuses words that stand for nothing.
func (p *composer) checkChoices() bool {
	word := func(flag, text string, words ...string) {
		if text != "" && !slices.Contains(words, text) {
			p.faults = append(p.faults, document.Fault{Key: flag, What: fmt.Sprintf("%q is none of the words for it", text), Hint: "say " + strings.Join(words, " or ")})
		}
	}
	word("--from", p.c.From, "tank", "station")
	word("--to-end", p.c.To, "tank", "outfall")
	if p.c.HasToLevel && p.c.To == "outfall" {
		p.faults = append(p.faults, document.Fault{Key: "--to-level", What: "a water level at a free outfall", Hint: "say --to-end tank, or leave the level out"})
	}
	if !(p.c.Tolerance >= 0) {
		p.faults = append(p.faults, document.Fault{Key: "--tolerance", What: "a tolerance below nothing", Hint: "write a length, such as \"50 mm\", or \"0 mm\" to keep every point"})
	}
	return p.faults.Err() == nil
}

// readBack reads the folder as a line.
func readBack(files []File, rack []valve.Record) (*line.Line, document.Faults) {
	return line.Read(inMemory(files), rack)
}

// inMemory is a folder that is not on any disk: plain files by their path, nothing else.
type inMemory []File

// Open opens a file.
func (m inMemory) Open(name string) (fs.File, error) {
	for _, f := range m {
		if f.Name == name {
			return &openFile{f, bytes.NewReader(f.Data)}, nil
		}
	}
	return nil, &fs.PathError{Op: "open", Path: name, Err: fs.ErrNotExist}
}

// openFile is an opened file and what there is to know about it.
type openFile struct {
	File
	*bytes.Reader
}

func (f *openFile) Stat() (fs.FileInfo, error) { return f, nil }
func (f *openFile) Close() error               { return nil }
func (f *openFile) Name() string               { return path.Base(f.File.Name) }
func (f *openFile) Size() int64                { return int64(len(f.Data)) }
func (f *openFile) Mode() fs.FileMode          { return 0o444 }
func (f *openFile) ModTime() time.Time         { return time.Time{} }
func (f *openFile) IsDir() bool                { return false }
func (f *openFile) Sys() any                   { return nil }
