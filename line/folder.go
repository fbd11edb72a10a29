package line

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"hash"
	"io"
	"io/fs"
	"path"
	"strings"

	"obvert/document"
	"obvert/physics/valve"
)

// The largest files that are read, in bytes.
const (
	DocumentLimit = 4 << 20
	ProfileLimit  = 64 << 20
)

// openFile reads a file of the folder. What keeps it from being read comes back as a fault without a place. Nothing but
// a plain file is ever opened, since opening a pipe could wait for ever.
func openFile(fsys fs.FS, name string, limit int64) ([]byte, *document.Fault) {
	info, err := fs.Stat(fsys, name)
	if err != nil {
		return nil, statFault(name, err)
	}
	switch mode := info.Mode(); {
	case mode.IsDir():
		return nil, &document.Fault{What: fmt.Sprintf("%q is a folder, not a file", name), Hint: "name the file inside it"}
	case mode&fs.ModeNamedPipe != 0:
		return nil, &document.Fault{What: fmt.Sprintf("%q is a pipe, not a file", name), Hint: "save what it delivers to a file first"}
	case !mode.IsRegular():
		return nil, &document.Fault{What: fmt.Sprintf("%q is not a plain file", name), Hint: "put a plain file in its place"}
	case info.Size() > limit:
		return nil, tooLarge(name, limit, info.Size())
	}
	file, err := fsys.Open(name)
	if err != nil {
		return nil, statFault(name, err)
	}
	defer file.Close()
	data, err := io.ReadAll(io.LimitReader(file, limit+1))
	if err != nil {
		return nil, statFault(name, err)
	}
	if int64(len(data)) > limit {
		return nil, tooLarge(name, limit, int64(len(data)))
	}
	return data, nil
}

func tooLarge(name string, limit, size int64) *document.Fault {
	return &document.Fault{
		What:       fmt.Sprintf("%q is larger than %d MB", name, limit/1_000_000),
		Understood: fmt.Sprintf("%d bytes or more", size),
		Hint:       "is it the right file? thin it out or split it",
	}
}

func statFault(name string, err error) *document.Fault {
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return &document.Fault{What: fmt.Sprintf("there is no file %q in the line's folder", name), Hint: "check the spelling; capitals count"}
	case errors.Is(err, fs.ErrPermission):
		return &document.Fault{What: fmt.Sprintf("%q may not be read", name), Hint: "allow it to be read"}
	}
	// The system's own words carry paths of the machine; only the cause is passed on.
	var pe *fs.PathError
	if errors.As(err, &pe) {
		err = pe.Err
	}
	return &document.Fault{What: fmt.Sprintf("%q cannot be read: %v", name, err), Hint: "check the file"}
}

// insidePath checks that a path as written stays in the folder, and gives it in plain form.
func insidePath(name string) (string, *document.Fault) {
	const inside = "copy the file into the line's folder and name it from there, such as \"profiles/main.csv\""
	switch {
	case name == "":
		return "", &document.Fault{What: "the path is empty", Hint: inside}
	case strings.ContainsRune(name, '\\'):
		return "", &document.Fault{What: fmt.Sprintf("the path %q holds a backslash", name), Hint: "part folders by / on every machine"}
	case strings.HasPrefix(name, "/") || strings.HasPrefix(name, "~") || strings.Contains(name, ":"):
		return "", &document.Fault{What: fmt.Sprintf("the path %q leaves the line's folder", name), Hint: inside}
	}
	clean := path.Clean(name)
	if clean == ".." || strings.HasPrefix(clean, "../") {
		return "", &document.Fault{What: fmt.Sprintf("the path %q leaves the line's folder", name), Hint: inside}
	}
	if !fs.ValidPath(clean) || strings.ContainsFunc(clean, hidden) {
		return "", &document.Fault{What: fmt.Sprintf("%q is not a path", name), Hint: inside}
	}
	return clean, nil
}

// fingerprint gathers the inputs' bytes. Their order is: line.toml; the profiles in the order in which the runs name
// them, each file once; the rack files of the folder by name; the bench runs in the order in which they are named, each
// with its series; the records handed in from outside, as JSON. Before each stand its name and its length, so that no two sets of files run
// together to the same bytes.
type fingerprint struct {
	sum  hash.Hash
	seen map[string]bool
}

func newFingerprint() *fingerprint { return &fingerprint{sha256.New(), map[string]bool{}} }

func (p *fingerprint) add(name string, data []byte) {
	if p.seen[name] {
		return
	}
	p.seen[name] = true
	fmt.Fprintf(p.sum, "%d:%s %d:", len(name), name, len(data))
	p.sum.Write(data)
}

// addRecord takes a record from outside the folder.
func (p *fingerprint) addRecord(v valve.Record) {
	data, err := json.Marshal(v)
	if err != nil { // a figure that JSON cannot carry
		data = fmt.Appendf(nil, "%+v", v)
	}
	p.add("record "+v.Name, data)
}

func (p *fingerprint) String() string { return hex.EncodeToString(p.sum.Sum(nil)) }
