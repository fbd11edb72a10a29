package study

import (
	"errors"
	"fmt"
	"io/fs"
	"path"
	"sort"
	"strings"

	"obvert/bench"
	"obvert/document"
	"obvert/line"
	"obvert/physics/valve"
)

// Source is a line as read, with the bench runs that are to be shown beside its answer.
type Source struct {
	Line   *line.Line
	Bench  []bench.Result
	Faults document.Faults // remarks and warnings that stop nothing
}

// Load reads a line's folder: line.toml, its profiles, its rack and its bench runs. The rack given is joined to the folder's own. All faults
// come in one pass; with any, the Source is not to be used.
func Load(fsys fs.FS, rack []valve.Record) (Source, document.Faults) {
	l, faults := line.Read(fsys, rack)
	if l == nil {
		return Source{}, faults
	}
	src := Source{Line: l}
	for _, name := range l.Bench {
		r, bad := LoadBench(fsys, name)
		faults = append(faults, bad...)
		if bad.Err() == nil {
			src.Bench = append(src.Bench, r)
		}
	}
	src.Faults = faults
	return src, faults
}

// LoadBench reads and reduces one bench run; the series beside it must lie in the same folder.
func LoadBench(fsys fs.FS, name string) (bench.Result, document.Faults) {
	data, err := fs.ReadFile(fsys, name)
	if err != nil {
		return bench.Result{}, document.Faults{{File: name, What: "cannot be read: " + cause(err), Hint: "Give the path of a bench run inside the folder."}}
	}
	run, faults := bench.Parse(name, data, func(sibling string) ([]byte, error) {
		p := path.Join(path.Dir(name), sibling)
		if !fs.ValidPath(p) {
			return nil, fmt.Errorf("%s leaves the folder", sibling)
		}
		data, err := fs.ReadFile(fsys, p)
		if err != nil {
			return nil, fmt.Errorf("%s: %s", sibling, cause(err))
		}
		return data, nil
	})
	if faults.Err() != nil {
		return bench.Result{}, faults
	}
	r, err := bench.Reduce(run)
	var told document.Faults
	if errors.As(err, &told) {
		return bench.Result{}, append(faults, told...)
	}
	if err != nil {
		return bench.Result{}, append(faults, document.Fault{File: name, What: err.Error()})
	}
	return r, faults
}

// LoadRack reads every valve record (*.toml) in a folder.
func LoadRack(fsys fs.FS) ([]valve.Record, document.Faults) {
	entries, err := fs.ReadDir(fsys, ".")
	if err != nil {
		return nil, document.Faults{{File: ".", What: "the rack cannot be read: " + cause(err), Hint: "Give a folder of valve records, one .toml each."}}
	}
	var rack []valve.Record
	var faults document.Faults
	where := map[string]string{}
	sort.Slice(entries, func(i, j int) bool { return entries[i].Name() < entries[j].Name() })
	for _, e := range entries {
		if e.IsDir() || !strings.HasSuffix(e.Name(), ".toml") {
			continue
		}
		data, err := fs.ReadFile(fsys, e.Name())
		if err != nil {
			faults = append(faults, document.Fault{File: e.Name(), What: "cannot be read: " + cause(err)})
			continue
		}
		r, bad := valve.Parse(e.Name(), data)
		faults = append(faults, bad...)
		if bad.Err() != nil {
			continue
		}
		if first, twice := where[r.Name]; twice {
			faults = append(faults, document.Fault{File: e.Name(), Key: "name", What: fmt.Sprintf("%q is also the name of the record in %s", r.Name, first), Hint: "Give every record of a rack its own name."})
			continue
		}
		where[r.Name] = e.Name()
		rack = append(rack, r)
	}
	return rack, faults
}

// cause is what keeps a file from being read, in plain words, without the path.
func cause(err error) string {
	var p *fs.PathError
	switch errors.As(err, &p); {
	case errors.Is(err, fs.ErrNotExist):
		return "there is no such file"
	case errors.Is(err, fs.ErrPermission):
		return "it may not be read"
	case p == nil:
		return err.Error()
	case strings.Contains(p.Err.Error(), "escapes"):
		return "it is a link that leads out of the folder"
	case strings.Contains(p.Err.Error(), "is a directory"):
		return "it is a folder, not a file"
	}
	return p.Err.Error()
}
