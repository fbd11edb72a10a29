package main

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"obvert/document"
	"obvert/line"
	"obvert/physics/valve"
	"obvert/study"
)

// guarded is a folder in which nothing but plain files up to a size is opened: a
// pipe could make the program wait for ever.
type guarded struct{ fs.FS }

// sizeLimit is the largest file that is read at all, in bytes. Documents have a
// smaller limit of their own.
const sizeLimit = line.ProfileLimit

// Open opens a folder or a plain file.
func (g guarded) Open(name string) (fs.File, error) {
	refuse := func(why string) (fs.File, error) {
		return nil, &fs.PathError{Op: "open", Path: name, Err: errors.New(why)}
	}
	info, err := fs.Stat(g.FS, name)
	if err != nil {
		return nil, err
	}
	switch mode := info.Mode(); {
	case mode.IsDir():
	case mode&fs.ModeNamedPipe != 0:
		return refuse("it is a pipe, not a file; save what it delivers to a file first")
	case !mode.IsRegular():
		return refuse("it is not a plain file")
	case info.Size() > sizeLimit:
		return refuse(fmt.Sprintf("it is larger than %d MB", sizeLimit>>20))
	}
	return g.FS.Open(name)
}

// ReadDir lists a folder.
func (g guarded) ReadDir(name string) ([]fs.DirEntry, error) { return fs.ReadDir(g.FS, name) }

// Stat tells about a file without opening it.
func (g guarded) Stat(name string) (fs.FileInfo, error) { return fs.Stat(g.FS, name) }

// one is a single fault about a path.
func one(path, what, hint string) document.Faults {
	return document.Faults{{File: path, What: what, Hint: hint}}
}

// openFolder opens a folder out of which no link leads. what says what it should
// be: "a line is a folder with line.toml".
func openFolder(path, what string) (fs.FS, func(), error) {
	info, err := os.Stat(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil, nil, one(path, "there is nothing of this name", what+". Check the spelling")
	case errors.Is(err, fs.ErrPermission):
		return nil, nil, one(path, "may not be read", "allow it to be read")
	case err != nil:
		return nil, nil, one(path, "cannot be read: "+reason(err), what)
	case !info.IsDir():
		return nil, nil, one(path, "is a file, not a folder", what)
	}
	root, err := os.OpenRoot(path)
	if err != nil {
		return nil, nil, one(path, "cannot be opened: "+reason(err), "allow it to be read")
	}
	return guarded{root.FS()}, func() { root.Close() }, nil
}

// reason is an error's own words without the path it repeats.
func reason(err error) string {
	var p *fs.PathError
	if errors.As(err, &p) {
		return p.Err.Error()
	}
	return err.Error()
}

// within gives the files that faults name their path from the caller's folder,
// except those of records that come from elsewhere and have theirs already.
func within(folder string, faults document.Faults, elsewhere ...valve.Record) document.Faults {
	placed := map[string]bool{"": true}
	for _, r := range elsewhere {
		placed[r.Source] = true
	}
	for i := range faults {
		if !placed[faults[i].File] {
			faults[i].File = filepath.ToSlash(filepath.Join(folder, faults[i].File))
		}
	}
	return faults
}

// loadRack reads the records of a folder; none for an empty path.
func loadRack(path string) ([]valve.Record, document.Faults) {
	if path == "" {
		return nil, nil
	}
	folder, done, err := openFolder(path, "a rack is a folder of valve records, one .toml each")
	if err != nil {
		return nil, asFaults(err)
	}
	defer done()
	records, faults := study.LoadRack(folder)
	for i := range records {
		records[i].Source = filepath.ToSlash(filepath.Join(path, filepath.Base(records[i].Source)))
	}
	return records, within(path, faults)
}

// asFaults is an error that openFolder returned.
func asFaults(err error) document.Faults {
	var faults document.Faults
	if errors.As(err, &faults) {
		return faults
	}
	return document.Faults{{What: err.Error()}}
}

// stock says which valves stand beside a line's own rack.
type stock struct {
	rack    string // folder of records
	typical bool   // the generic classes too
}

// load reads a line with the stock beside it. Remarks and warnings come with the
// source; faults are the error.
func (s stock) load(path string) (study.Source, error) {
	records, faults := loadRack(s.rack)
	if s.typical {
		records = append(records, valve.Typical()...)
	}
	if strings.EqualFold(filepath.Base(path), line.DocumentName) {
		if info, err := os.Stat(path); err == nil && info.Mode().IsRegular() {
			path = filepath.Dir(path) // the document was named rather than its folder
		}
	}
	folder, done, err := openFolder(path, "a line is a folder with "+line.DocumentName)
	if err != nil {
		return study.Source{}, append(faults, asFaults(err)...)
	}
	defer done()
	src, more := study.Load(folder, records)
	more = within(path, more, records...)
	src.Faults = append(faults.Only(document.WarningSeverity), append(faults.Only(document.RemarkSeverity), more...)...)
	if all := append(faults, more...); all.Err() != nil {
		return study.Source{}, all
	}
	return src, nil
}

// output is one file to be written.
type output struct {
	name string
	data []byte
}

// writeAll writes files into a folder, each whole or not at all: first beside
// their places under other names, then all renamed. A new folder appears only
// when it is complete.
func writeAll(dir string, files []output) (err error) {
	if err := mayWrite(dir); err != nil {
		return err
	}
	return writeInto(dir, files)
}

// writeInto writes files as writeAll does, into a folder that was looked at. Names may hold folders.
func writeInto(dir string, files []output) (err error) {
	_, statErr := os.Stat(dir)
	fresh := errors.Is(statErr, fs.ErrNotExist)
	parent := dir
	if fresh {
		parent = filepath.Dir(filepath.Clean(dir))
		if err := os.MkdirAll(parent, 0o777); err != nil {
			return one(dir, "cannot be made: "+reason(err), "choose another folder")
		}
	}
	temp, err := os.MkdirTemp(parent, ".obvert-")
	if err != nil {
		return one(dir, "cannot be written to: "+reason(err), "choose another folder")
	}
	defer func() {
		if left := os.RemoveAll(temp); err == nil && left != nil {
			err = left
		}
	}()
	for _, f := range files {
		err := os.MkdirAll(filepath.Dir(filepath.Join(temp, f.name)), 0o777)
		if err == nil {
			err = writeFile(filepath.Join(temp, f.name), f.data)
		}
		if err != nil {
			return one(filepath.Join(dir, f.name), "cannot be written: "+reason(err), "is the disk full?")
		}
	}
	if fresh {
		if err := os.Chmod(temp, 0o755); err != nil {
			return err
		}
		if err := os.Rename(temp, dir); err != nil {
			return one(dir, "cannot be made: "+reason(err), "choose another folder")
		}
		return nil
	}
	for _, f := range files {
		err := os.MkdirAll(filepath.Dir(filepath.Join(dir, f.name)), 0o777)
		if err == nil {
			err = os.Rename(filepath.Join(temp, f.name), filepath.Join(dir, f.name))
		}
		if err != nil {
			return one(filepath.Join(dir, f.name), "cannot be replaced: "+reason(err), "is it open in another program?")
		}
	}
	return nil
}

// mayWrite refuses places where results must not go.
func mayWrite(dir string) error {
	if strings.TrimSpace(dir) == "" {
		return usageError{errors.New("the folder to write into has no name; give one with --out")}
	}
	info, err := os.Stat(dir)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil
	case err != nil:
		return one(dir, "cannot be used: "+reason(err), "choose another folder")
	case !info.IsDir():
		return one(dir, "is a file, not a folder", "name a folder for the results; it is made if it is not there")
	}
	if _, err := os.Stat(filepath.Join(dir, line.DocumentName)); err == nil {
		return one(dir, "is the folder of a line", "choose another folder, so that nothing of the line is overwritten")
	}
	return nil
}

// writeFile writes a file and waits until it is on the disk.
func writeFile(path string, data []byte) error {
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
	if err != nil {
		return err
	}
	_, err = f.Write(data)
	return errors.Join(err, f.Sync(), f.Close())
}
